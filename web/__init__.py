"""The pages: a Flask application made by :func:`create_app`, built nowhere else."""

from __future__ import annotations

from web.app import create_app

__all__ = ["create_app"]
