"""The rooms of the site, in the order in which they are walked."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """One entry of the navigation: its word, its address and the permission that it asks for."""

    word: str
    path: str
    asks: str

    def here(self, path: str) -> bool:
        """True if ``path`` lies in this room."""
        return path == self.path or (self.path != "/" and path.startswith(self.path + "/"))


PLACES = (
    Place("Board", "/", "look"),
    Place("Floor", "/floor", "floor"),
    Place("Queue", "/queue", "look"),
    Place("Quotes", "/quotes", "quotes"),
    Place("Fleet", "/fleet", "machines"),
    Place("Bench", "/bench", "bench"),
    Place("Plan", "/plan", "plan"),
)
