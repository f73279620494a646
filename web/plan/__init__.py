"""Planning: start a run, watch it, compare its proposal, publish or discard it."""

from __future__ import annotations

from web.plan.views import blueprint

__all__ = ["blueprint"]
