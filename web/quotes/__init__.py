"""The quote desk: a date that the shop will keep, its reasons and its alternatives."""

from __future__ import annotations

from web.quotes import books, openings
from web.quotes.views import blueprint

__all__ = ["blueprint", "books", "openings"]
