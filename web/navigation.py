"""The rooms of the site, in the order in which they are walked."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """One entry of the navigation: its word and its address."""

    word: str
    path: str

    def here(self, path: str) -> bool:
        """True if ``path`` lies in this room."""
        return path == self.path or (self.path != "/" and path.startswith(self.path + "/"))


PLACES = (
    Place("Board", "/"),
    Place("Floor", "/floor"),
    Place("Queue", "/queue"),
    Place("Quotes", "/quotes"),
    Place("Fleet", "/fleet"),
    Place("Bench", "/bench"),
    Place("Plan", "/plan"),
)
