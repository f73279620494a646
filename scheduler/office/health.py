"""What Soakline stands on, looked at."""

from __future__ import annotations

import importlib
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass

from scheduler.model.errors import SoaklineError
from scheduler.office.config import Config
from scheduler.store import NoShop, Record, wal_is_safe


@dataclass(frozen=True, slots=True)
class Finding:
    """One sentence on one thing; ``fine`` is false where a person has to do something."""

    fine: bool
    text: str


def examine(environment: Mapping[str, str]) -> tuple[Finding, ...]:
    """Look at settings, database, tables, queue and compiled parts; changes nothing."""
    try:
        config = Config.from_env(environment)
    except SoaklineError as error:
        return (Finding(False, str(error)),)
    return (*_database(config), *_queue(config), *_compiled())


def _database(config: Config) -> list[Finding]:
    try:
        record = Record(config.database_url)
    except SoaklineError as error:
        return [Finding(False, str(error))]
    try:
        if record.url.get_backend_name() == "sqlite":
            found = _sqlite(record)
            if not record.exists():
                text = f"There is no record at {record.place} yet; `soakline import SCENARIO` makes one."
                return [*found, Finding(False, text)]
        else:
            found = []
        return [*found, *_tables(record)]
    finally:
        record.close()


def _sqlite(record: Record) -> list[Finding]:
    version = sqlite3.sqlite_version
    if wal_is_safe(sqlite3.sqlite_version_info[:3]):
        text = f"SQLite {version}: the write-ahead log is safe in it and is used."
    else:
        text = (
            f"SQLite {version}: its write-ahead log can lose data, so a rollback journal is used"
            " (slower when many write at once; nothing to do)."
        )
    return [Finding(True, text)]


def _tables(record: Record) -> list[Finding]:
    try:
        schema = record.schema_state()
    except SoaklineError as error:
        return [Finding(False, str(error))]
    found = [Finding(True, f"The database {record.place} answers.")]
    if schema.present is None:
        return [*found, Finding(False, "It has no tables yet; `soakline import SCENARIO` makes them.")]
    if not schema.current:
        text = (
            f"Its tables are at revision {schema.present}, this Soakline needs {schema.wanted};"
            " any command that opens the record moves them forward. Make a copy first."
        )
        return [*found, Finding(False, text)]
    found.append(Finding(True, f"Its tables are up to date (revision {schema.present})."))
    try:
        with record.reading() as unit:
            scenario = unit.fleet.load()
    except NoShop:
        return [*found, Finding(False, "No shop is recorded yet; `soakline import SCENARIO` records one.")]
    except SoaklineError as error:
        return [*found, Finding(False, str(error))]
    text = (
        f"The shop {scenario.site.name} is recorded: {len(scenario.printers)} printers,"
        f" {len(scenario.jobs)} jobs."
    )
    return [*found, Finding(True, text)]


def _queue(config: Config) -> list[Finding]:
    if not config.redis_url:
        return [Finding(True, "No queue is set (SOAKLINE_REDIS_URL); the server plans by itself.")]
    import redis

    try:
        client = redis.Redis.from_url(config.redis_url, socket_connect_timeout=5, socket_timeout=5)
        client.ping()
        policy = str(client.config_get("maxmemory-policy").get("maxmemory-policy", ""))
        client.close()
    except (redis.RedisError, ValueError, OSError) as error:
        return [Finding(False, f"The queue of SOAKLINE_REDIS_URL does not answer: {error}.")]
    found = [Finding(True, "The queue of SOAKLINE_REDIS_URL answers.")]
    if policy and policy != "noeviction":
        text = (
            f"Its memory policy is {policy}: it may forget planning runs when memory is short;"
            " set maxmemory-policy to noeviction."
        )
        found.append(Finding(False, text))
    return found


def _compiled() -> list[Finding]:
    try:
        numpy = importlib.import_module("numpy")
    except ImportError as error:
        return [
            Finding(False, f"The compiled library numpy does not load ({error}); install Soakline again.")
        ]
    return [Finding(True, f"The compiled library numpy {numpy.__version__} loads.")]
