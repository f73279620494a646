"""One job: its steps to time, why it is done when it is, and which machines suit it."""

from __future__ import annotations

from web.jobs.views import blueprint

__all__ = ["blueprint"]
