"""The board: every machine's week drawn to time, and what wants a person."""

from __future__ import annotations

from web.board.views import blueprint

__all__ = ["blueprint"]
