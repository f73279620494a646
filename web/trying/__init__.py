"""Trying things on the plan: what would save a job, other machines for it, what if something happens."""

from __future__ import annotations

from web.trying.views import blueprint

__all__ = ["blueprint"]
