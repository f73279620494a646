"""Listening and serving, on this machine alone."""

from __future__ import annotations

import os
import signal
import socket
from collections.abc import Callable
from datetime import datetime
from types import FrameType

import click
import waitress

from scheduler.model.errors import SoaklineError
from scheduler.office.config import Config
from scheduler.store import Record
from web.app import create_app
from web.security import is_loopback
from workers import EndingHolds, Improving, make_runner, make_timers
from workers.asking import AskingChild

#: Requests answered at once.
THREADS = 6


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
        If the host is not loopback, or the port is taken and must not be replaced.
    """
    if not is_loopback(host):
        raise CannotListen(
            f"SOAKLINE_HOST is {host}: Soakline has no sign-in yet, so it listens on this machine alone "
            "(127.0.0.1, ::1 or localhost)"
        )
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
) -> None:
    """Serve until somebody presses Ctrl+C or ends the process; runs that go on are ended with it.

    Parameters
    ----------
    improve_when : callable or None
        Once it says True, plan once more and publish what is less late.
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
    timers = make_timers(config, record, clock)
    timers.start()
    ending = EndingHolds(record, clock)
    ending.start()
    click.echo(f"Soakline is at {address(listening)}   (Ctrl+C ends it)")
    try:
        # Waitress returns at Ctrl+C and at SystemExit.
        waitress.serve(app, sockets=[listening], threads=THREADS, ident=None)
    finally:
        timers.close()
        asking.close()
        ending.close()
        if improving is not None:
            improving.close()
        runner.close()
        record.close()
    click.echo("Soakline has ended.")
