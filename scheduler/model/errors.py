"""The root of every error that a user is meant to read."""

from __future__ import annotations


class SoaklineError(Exception):
    """Something that a person can put right: its text says what, where and with which figure."""
