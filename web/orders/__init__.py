"""The order book's forms: one line at a time, or a sheet with a look at what it would change."""

from __future__ import annotations

from web.orders.views import blueprint

__all__ = ["blueprint"]
