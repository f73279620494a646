"""Between the shop's concepts and their rows, one module a concept."""

from __future__ import annotations
