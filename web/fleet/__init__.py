"""The fleet: what the shop has, each thing with a page and a form."""

from web.fleet.views import blueprint

__all__ = ["blueprint"]
