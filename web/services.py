"""What every page works with: configuration, record, clock, runner and the shop as last read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from flask import Flask, current_app

from web.live import Live
from web.shop import Shop, ShopReader

if TYPE_CHECKING:
    from scheduler.office.config import Config
    from scheduler.office.floor import FloorDesk
    from scheduler.store import Record
    from workers import Runner
    from workers.asking import Asking

EXTENSION = "soakline"


@dataclass(frozen=True, slots=True)
class Services:
    """The application's collaborators, handed to :func:`web.create_app`."""

    config: Config
    record: Record
    clock: Callable[[], datetime]
    runner: Runner
    reader: ShopReader
    desk: FloorDesk
    live: Live
    asking: Asking
    #: For comparisons, which take a second or two, so that none waits behind minutes of trials.
    comparing: Asking
    #: What holds for good once it was found, by the finder's own names.
    memory: dict[str, bool] = field(default_factory=dict)

    def shop(self) -> Shop | None:
        """The shop and its newest plan; ``None`` while nothing is recorded."""
        return self.reader.read()

    def zone(self) -> tzinfo:
        """The time zone in which pages show instants."""
        shop = self.shop()
        return ZoneInfo(shop.scenario.site.timezone) if shop else UTC

    def now(self) -> datetime:
        """The clock's instant in the shop's time zone."""
        return self.clock().astimezone(self.zone())


def attach(app: Flask, services: Services) -> None:
    """Make ``services`` reachable from the views of ``app``."""
    app.extensions[EXTENSION] = services


def services_of(app: Flask) -> Services:
    """The services of an application."""
    found = app.extensions[EXTENSION]
    assert isinstance(found, Services)
    return found


def services() -> Services:
    """The services of the application that serves this request."""
    found = current_app.extensions[EXTENSION]
    assert isinstance(found, Services)
    return found
