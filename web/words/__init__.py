"""The shop's words: a glossary that the labels of every page follow."""

from __future__ import annotations

from web.words.views import blueprint

__all__ = ["blueprint"]
