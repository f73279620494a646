"""The record that the environment names, as commands open it."""

from __future__ import annotations

import os

import click

from scheduler.office.config import Config
from scheduler.office.logs import set_up_logging
from scheduler.store import NoShop, Record


def open_record(*, create: bool = False) -> Record:
    """The record of ``SOAKLINE_DATABASE_URL``, its tables in order.

    Raises
    ------
    NoShop
        If there is none and ``create`` does not ask to make one.
    """
    config = Config.from_env(os.environ)
    # A command says what matters itself; the log keeps to warnings unless asked for more.
    set_up_logging(config.log_level if "SOAKLINE_LOG_LEVEL" in os.environ else "WARNING")
    record = Record(config.database_url)
    click.get_current_context().call_on_close(record.close)
    if not create and not record.exists():
        raise NoShop
    record.migrate()
    return record
