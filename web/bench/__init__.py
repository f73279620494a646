"""The bench: how long water and heat take, worked out and measured."""

from web.bench.views import blueprint

__all__ = ["blueprint"]
