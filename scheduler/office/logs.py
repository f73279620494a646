"""The one place where logging is set up."""

from __future__ import annotations

import logging
import sys

FORMAT = "%(asctime)s %(levelname)-7s %(name)s: %(message)s"


def set_up_logging(level: str = "INFO") -> None:
    """Log to standard error from ``level`` on; a second call changes the level alone.

    Raises
    ------
    ValueError
        If there is no such level.
    """
    root = logging.getLogger()
    root.setLevel(level.upper())
    if not any(getattr(handler, "soakline", False) for handler in root.handlers):
        handler = logging.StreamHandler(sys.stderr)
        handler.setFormatter(logging.Formatter(FORMAT))
        handler.soakline = True  # type: ignore[attr-defined]  # marks our handler for the next call
        root.addHandler(handler)
    # Each migration step would be a line of no use to a shop.
    logging.getLogger("alembic").setLevel(logging.WARNING)
