"""The application factory."""

from __future__ import annotations

import importlib
import secrets
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from flask import Flask, request

from scheduler.office.floor import FloorDesk
from web import cookies, errors, guard, people, security, times
from web.live import Live
from web.navigation import PLACES
from web.services import Services, attach, services
from web.shop import ShopReader
from workers.asking import AskingChild

if TYPE_CHECKING:
    from scheduler.office.config import Config
    from scheduler.store import Record
    from workers import Runner
    from workers.asking import Asking

#: One package a desk; each has a ``blueprint``.
DESKS = (
    "web.board",
    "web.floor",
    "web.queue",
    "web.jobs",
    "web.trace",
    "web.orders",
    "web.fleet",
    "web.bench",
    "web.plan",
    "web.trying",
    "web.quotes",
    "web.words",
    "web.signing",
    "web.staff",
)


def create_app(
    config: Config,
    record: Record,
    clock: Callable[[], datetime],
    runner: Runner,
    asking: Asking | None = None,
) -> Flask:
    """An application that serves the shop of ``record``.

    Parameters
    ----------
    clock : callable
        Gives the present as an aware instant.
    runner : Runner
        Carries out planning runs outside of requests.
    asking : Asking or None
        Works out what would take a page too long; a child process does if none is given.
    """
    app = Flask(__name__)
    # Without a key of its own a server makes one, and forms left open end with it.
    app.config["SECRET_KEY"] = config.secret_key or secrets.token_hex(32)
    app.jinja_env.trim_blocks = True
    app.jinja_env.lstrip_blocks = True
    guard.watch(app)
    security.protect(app, config)
    errors.register(app)
    times.register(app)
    reader = ShopReader(record)
    attach(
        app,
        Services(
            config,
            record,
            clock,
            runner,
            reader,
            FloorDesk(record, clock, reader.last_read_parts),
            Live(record),
            asking or AskingChild(),
            asking or AskingChild(),
        ),
    )
    app.context_processor(_shell)
    # A global, so that shared template parts can ask it too.
    app.jinja_env.globals["may"] = people.may
    for desk in DESKS:
        app.register_blueprint(importlib.import_module(desk).blueprint)
    return app


def _shell() -> dict[str, Any]:
    """What the base template shows on every page."""
    here = services()
    shop = here.shop()
    person = people.current_person()
    return {
        "person": person,
        "home": people.home(),
        "shared_tablet": bool(cookies.tablet_token()),
        "places": [place for place in PLACES if people.may(place.asks)],
        "path": request.path,
        "shop_name": shop.scenario.site.name if shop else None,
        "now": here.clock(),
    }
