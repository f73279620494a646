"""Servers that some tests need: a PostgreSQL and a Redis, given by the environment or started here.

``SOAKLINE_TEST_DATABASE_URL`` and ``SOAKLINE_TEST_REDIS_URL`` name servers to use; else the
programs on this machine serve from a folder of their own. Where there are none, a test is skipped,
or fails if ``SOAKLINE_REQUIRE_SERVICES=1`` asks for them.
"""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path

import pytest
from sqlalchemy import Engine, create_engine, make_url, text
from sqlalchemy.exc import OperationalError
from sqlalchemy.pool import NullPool

from scheduler.store import Record
from scheduler.store.tables import Base

_START_S = 30


def missing(what: str) -> None:
    """Skip the test for want of a service, or fail it where services are required."""
    if os.environ.get("SOAKLINE_REQUIRE_SERVICES") == "1":
        pytest.fail(f"{what}, though SOAKLINE_REQUIRE_SERVICES asks for it", pytrace=False)
    pytest.skip(what)


def bench_installed() -> None:
    """Skip the test where the extra ``bench`` is missing, or fail it where services are required."""
    for library in ("ortools", "pyjobshop"):
        if find_spec(library) is None:
            missing(f"{library} of the extra bench is not installed")


@pytest.fixture(scope="session")
def postgresql_server() -> Iterator[str]:
    """The address of a PostgreSQL server whose user may make databases."""
    given = os.environ.get("SOAKLINE_TEST_DATABASE_URL")
    if given:
        yield given
        return
    programs = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    found = programs[-1] if programs else shutil.which("initdb")
    if not found:
        missing("PostgreSQL is not installed")
    with _cluster(Path(str(found)).parent) as url:
        yield url


@contextmanager
def own_postgresql() -> Iterator[str]:
    """An empty database of a server that is started for it, for commands outside of tests."""
    program = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))[-1]
    with _cluster(program.parent) as server, _database(server) as url:
        yield url


@pytest.fixture
def postgresql_database(postgresql_server: str) -> Iterator[str]:
    """The address of an empty database that is dropped after the test."""
    with _database(postgresql_server) as url:
        yield url


@pytest.fixture(scope="session")
def postgresql_kept_database(postgresql_server: str) -> Iterator[str]:
    """The address of a database with the record's tables, for all tests of the session."""
    with _database(postgresql_server) as url:
        record = Record(url)
        record.migrate()
        record.close()
        yield url


@pytest.fixture
def postgresql_record_database(postgresql_kept_database: str) -> str:
    """The address of a database with the record's tables, all empty; quicker than making them anew."""
    names = ", ".join(f'"{name}"' for name in Base.metadata.tables)
    with _administrator(postgresql_kept_database).connect() as connection:
        # What is recorded for good is kept by triggers; a test's leftovers are not.
        for name in Base.metadata.tables:
            connection.execute(text(f'ALTER TABLE "{name}" DISABLE TRIGGER USER'))
        connection.execute(text(f"TRUNCATE {names}"))
        for name in Base.metadata.tables:
            connection.execute(text(f'ALTER TABLE "{name}" ENABLE TRIGGER USER'))
    return postgresql_kept_database


@pytest.fixture(scope="session")
def redis_url() -> Iterator[str]:
    """The address of a Redis server that tests may empty."""
    given = os.environ.get("SOAKLINE_TEST_REDIS_URL")
    if given:
        yield given
        return
    program = shutil.which("redis-server")
    if program is None:
        missing("redis-server is not installed")
    from redis import Redis
    from redis.exceptions import RedisError

    folder = Path(tempfile.mkdtemp(prefix="redis-"))
    socket = folder / "redis.sock"
    options = ["--port", "0", "--unixsocket", str(socket), "--save", "", "--dir", str(folder)]
    server = subprocess.Popen([str(program), *options], stdout=subprocess.DEVNULL)
    try:
        with Redis(unix_socket_path=str(socket)) as connection:
            _until(connection.ping, RedisError, "redis-server does not answer")
        yield f"unix://{socket}"
    finally:
        server.terminate()
        server.wait(timeout=_START_S)
        shutil.rmtree(folder)


@contextmanager
def _database(server_url: str) -> Iterator[str]:
    name = f"soakline_test_{uuid.uuid4().hex}"
    server = _administrator(server_url)
    with server.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    yield make_url(server_url).set(database=name).render_as_string(hide_password=False)
    with server.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))


def _administrator(url: str) -> Engine:
    address = make_url(url).set(drivername="postgresql+psycopg")
    return create_engine(address, poolclass=NullPool, isolation_level="AUTOCOMMIT")


@contextmanager
def _cluster(programs: Path) -> Iterator[str]:
    """A cluster on a socket in a folder of its own; PostgreSQL refuses to run as root."""
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    as_user: dict[str, object] = {"cwd": folder}
    if os.geteuid() == 0:
        try:
            account = pwd.getpwnam("postgres")
        except KeyError:
            shutil.rmtree(folder)
            missing("PostgreSQL can't run as root, and there is no user postgres")
            return
        os.chown(folder, account.pw_uid, account.pw_gid)
        as_user |= {"user": account.pw_uid, "group": account.pw_gid, "extra_groups": []}
    data = folder / "data"
    make = [programs / "initdb", "-D", data, "-U", "tester", "-A", "trust", "--no-sync", "-E", "UTF8"]
    try:
        subprocess.run(make, check=True, capture_output=True, **as_user)
        serve = [
            programs / "postgres",
            "-D",
            data,
            "-k",
            folder,
            "-c",
            "listen_addresses=",
            "-c",
            "fsync=off",
        ]
        with open(folder / "log", "wb") as log:
            server = subprocess.Popen(serve, stdout=log, stderr=log, **as_user)
        try:
            url = f"postgresql://tester@/postgres?host={folder}"
            _until(
                lambda: _administrator(url).connect().close(), OperationalError, "PostgreSQL does not answer"
            )
            yield url
        finally:
            server.terminate()
            server.wait(timeout=_START_S)
    finally:
        shutil.rmtree(folder)


def _until(attempt: Callable[[], object], not_yet: type[Exception], failure: str) -> None:
    deadline = time.monotonic() + _START_S
    while True:
        try:
            attempt()
            return
        except not_yet:
            if time.monotonic() > deadline:
                raise RuntimeError(failure) from None
            time.sleep(0.05)
