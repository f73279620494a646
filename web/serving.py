"""Listening and serving: on this machine alone, until somebody is on record who can sign in."""

from __future__ import annotations

import os
import signal
import socket
from collections.abc import Callable, Sequence
from datetime import datetime
from types import FrameType

import click
import waitress

from scheduler.model.errors import SoaklineError
from scheduler.office import people
from scheduler.office.config import Config
from scheduler.store import Record
from web.app import create_app
from web.demo_later import DemoQuotes
from web.live import MOST_STREAMS
from web.security import EVERYWHERE, is_loopback
from web.services import services_of
from workers import EndingHolds, Improving, Keeping, make_runner, make_timers
from workers.asking import AskingChild

#: Requests answered at once; an open page's stream keeps one of them, asleep, as long as it is open.
THREADS = MOST_STREAMS + 12
#: How the first person comes on record.
FIRST_MANAGER = 'soakline people add mara "Mara Lind" --role manager'


class CannotListen(SoaklineError):
    """The address is taken, or is not one that may be listened on."""


def listen(host: str, port: int, fall_back: bool = False) -> socket.socket:
    """A socket that listens on ``host`` and ``port``.

    Parameters
    ----------
    fall_back : bool
        Take any free port where ``port`` is taken.

    Raises
    ------
    CannotListen
        If the port is taken and must not be replaced.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    for asked in (port, 0) if fall_back else (port,):
        listening = socket.socket(family, socket.SOCK_STREAM)
        if os.name == "posix":
            # A port of a server that just ended is free at once; elsewhere this would share it.
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((host.strip("[]"), asked))
            # From here on a browser waits rather than being turned away.
            listening.listen(128)
        except (OSError, OverflowError) as error:
            listening.close()
            refusal = error
            continue
        return listening
    raise CannotListen(f"port {port} of {host} can't be used: {refusal}")


def must_ask_people(config: Config, record: Record) -> None:
    """Refuse to be reached from elsewhere while nobody could sign in.

    Raises
    ------
    CannotListen
        With the way to begin.
    """
    if people.has_people(record):
        if config.host in EVERYWHERE and not config.names:
            raise CannotListen(
                f"SOAKLINE_HOST is {config.host}, every network of this machine: SOAKLINE_NAMES must say "
                "by which names or addresses browsers reach it, such as shop.example,192.0.2.10"
            )
        return
    if not is_loopback(config.host) or config.names:
        asked = (
            f"SOAKLINE_NAMES is {','.join(config.names)}"
            if config.names
            else f"SOAKLINE_HOST is {config.host}"
        )
        raise CannotListen(
            f"{asked}: others could reach this server, but nobody is on record who could sign in. "
            f"Add the first manager, then serve again:\n    {FIRST_MANAGER}"
        )


def address(listening: socket.socket) -> str:
    """The address to type into a browser."""
    host, port = listening.getsockname()[:2]
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def serve_pages(
    config: Config,
    record: Record,
    clock: Callable[[], datetime],
    listening: socket.socket,
    improve_when: Callable[[], bool] | None = None,
    told: Sequence[str] = (),
    later: DemoQuotes | None = None,
) -> None:
    """Serve until somebody presses Ctrl+C or ends the process; runs that go on are ended with it.

    Parameters
    ----------
    improve_when : callable or None
        Once it says True, plan once more and publish what is less late.
    told : sequence of str
        Lines to print in place of the plain address.
    later : DemoQuotes or None
        What a demo makes once it is served.
    """
    runner = make_runner(config, record, clock)
    runner.reconcile()
    asking = AskingChild()
    app = create_app(config, record, clock, runner, asking)

    def end(_signal: int, _frame: FrameType | None) -> None:
        raise SystemExit(0)

    signal.signal(signal.SIGTERM, end)
    improving = Improving(record, clock, runner, improve_when) if improve_when else None
    if improving is not None:
        improving.start()
    keeping = Keeping(record, clock, runner)
    keeping.start()
    timers = make_timers(config, record, clock)
    timers.start()
    ending = EndingHolds(record, clock)
    ending.start()
    if later is not None:
        later.start(asking)
    if not people.has_people(record):
        click.echo(
            "Nobody is on record, so whoever sits at this machine may do everything. "
            f"The first manager is added by\n    {FIRST_MANAGER}\nFrom then on everybody signs in."
        )
    for line in told or (f"Soakline is at {address(listening)}   (Ctrl+C ends it)",):
        click.echo(line)
    try:
        # Waitress returns at Ctrl+C and at SystemExit.
        waitress.serve(
            app,
            sockets=[listening],
            threads=THREADS,
            connection_limit=4 * THREADS,
            asyncore_use_poll=True,
            channel_request_lookahead=1,
            ident=None,
        )
    finally:
        services_of(app).live.close()
        keeping.close()
        timers.close()
        if later is not None:
            later.close()
        asking.close()
        ending.close()
        if improving is not None:
            improving.close()
        runner.close()
        record.close()
    click.echo("Soakline has ended.")
