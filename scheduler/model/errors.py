"""The root of every error that the tool expects and answers with a message."""

from __future__ import annotations


class SoaklineError(Exception):
    """Something a person can mend: the message names the place and the figure."""
