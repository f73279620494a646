"""Signing in and out, switching by PIN, one's own password and PIN."""

from __future__ import annotations

from web.signing.views import blueprint

__all__ = ["blueprint"]
