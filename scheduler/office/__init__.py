"""What people do with the shop's record, one module a desk; pages, workers and commands call the same."""

from __future__ import annotations
