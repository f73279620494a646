"""The people page: who may sign in, shared tablets and screens; for managers."""

from __future__ import annotations

from web.staff.views import blueprint

__all__ = ["blueprint"]
