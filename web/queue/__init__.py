"""The queue: orders and their jobs, what is promised, and the order book's forms."""

from __future__ import annotations

from web.queue.views import blueprint

__all__ = ["blueprint"]
