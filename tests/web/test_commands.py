"""``soakline demo`` and ``soakline serve`` as a newcomer runs them: in a process of their own."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.parse
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from importlib.metadata import entry_points
from pathlib import Path

import pytest

from scheduler.store import Record
from tests.web.conftest import TOKEN

#: The project is found from any working folder, installed or not.
ROOT = os.pathsep.join(filter(None, (str(Path(__file__).parents[2]), os.environ.get("PYTHONPATH"))))
#: From a cold start, on a slow machine.
PATIENCE_S = 90.0

pytestmark = pytest.mark.skipif(
    not entry_points(group="soakline.commands"), reason="soakline is not installed (pip install -e .)"
)


@dataclass
class Command:
    """A running command with what it has said so far."""

    process: subprocess.Popen[str]
    said: str = ""

    def address(self) -> str:
        """Wait for the address that it prints."""
        assert self.process.stdout is not None
        deadline = time.monotonic() + PATIENCE_S
        while time.monotonic() < deadline:
            line = self.process.stdout.readline()
            self.said += line
            found = re.search(r"http://\S+", line)
            if found:
                return found[0]
            assert line or self.process.poll() is None, f"it ended: {self.said}"
        raise AssertionError(f"no address: {self.said}")

    def end(self) -> int:
        """End it as an operating system does; its exit code."""
        self.process.send_signal(signal.SIGTERM)
        rest, _ = self.process.communicate(timeout=30)
        self.said += rest
        return self.process.returncode


Run = Callable[..., Command]


@pytest.fixture
def run(tmp_path: Path) -> Iterator[Run]:
    running: list[Command] = []

    def begin(*arguments: str, **settings: str) -> Command:
        clean = {name: value for name, value in os.environ.items() if not name.startswith("SOAKLINE_")}
        process = subprocess.Popen(
            [sys.executable, "-c", "from scheduler.cli import main; main()", *arguments],
            env=clean
            | {"SOAKLINE_PLAN_SECONDS": "0", "PYTHONUNBUFFERED": "1", "PYTHONPATH": ROOT}
            | settings,
            cwd=tmp_path,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        running.append(Command(process))
        return running[-1]

    yield begin
    for command in running:
        if command.process.poll() is None:
            command.process.kill()
            command.process.wait()


def get(url: str) -> str:
    with urllib.request.urlopen(url, timeout=30) as answer:
        return str(answer.read().decode("utf-8"))


def press(url: str) -> str:
    """Open a one-time link and press its one button, as a browser does; the page that follows."""
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    with browser.open(url, timeout=30) as answer:
        token = TOKEN.search(answer.read().decode("utf-8"))
    assert token
    form = urllib.parse.urlencode({"csrf_token": token[1]}).encode()
    with browser.open(url, form, timeout=30) as answer:
        return str(answer.read().decode("utf-8"))


def test_demo_shows_a_published_plan_and_keeps_it(run: Run, tmp_path: Path) -> None:
    file = tmp_path / "kept.sqlite3"
    first = run("demo", "--database", str(file), SOAKLINE_DATABASE_URL="sqlite:///never-touched.sqlite3")
    link = first.address()
    assert "Sign in as Mara Lind" in get(link)
    board = press(link)
    assert "published" in board and "Mara Lind" in board
    assert 'class="s-print"' in board
    assert first.end() == 0
    assert "Making the demo shop" in first.said and "Soakline has ended." in first.said
    assert not (tmp_path / "never-touched.sqlite3").exists()
    with Record(f"sqlite:///{file}").reading() as unit:
        published = unit.plans.published()
        assert published is not None
        # Quotes may have been made meanwhile, or not.
        orders = [order for order in unit.orders.list() if not order.id.startswith("Q-")]
        assert len(orders) == 40 and all(order.customer and order.note for order in orders)
        assert any(order.confidential for order in orders)
    second = run("demo", "--database", str(file))
    assert "published" in press(second.address())
    assert "Making the demo shop" not in second.said and "password" not in second.said
    second.end()


def test_demo_takes_another_port_where_its_own_is_taken(run: Run) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        command = run("demo", SOAKLINE_PORT=str(port))
        assert f":{port}/" not in command.address()
        assert "/sign-in/link/" in command.said
        command.end()
        refused = run("demo", "--port", str(port))
        said, _ = refused.process.communicate(timeout=PATIENCE_S)
    assert refused.process.returncode == 2
    assert f"port {port} of 127.0.0.1 can't be used" in said
    assert "Traceback" not in said


def test_serve_shows_the_recorded_shop_of_its_database(run: Run, tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'shop.sqlite3'}"
    command = run("serve", SOAKLINE_DATABASE_URL=url, SOAKLINE_PORT=str(free_port()))
    address = command.address()
    assert "No shop is recorded yet" in get(address)
    assert command.end() == 0
    assert "Nobody is on record" in command.said and "soakline people add" in command.said


def test_serve_asks_to_sign_in_once_somebody_is_on_record(run: Run, tmp_path: Path) -> None:
    url, port = f"sqlite:///{tmp_path / 'shop.sqlite3'}", str(free_port())
    settings = {"SOAKLINE_DATABASE_URL": url, "SOAKLINE_PORT": port}
    added = run("people", "add", "ulla", "Ulla Grau", "--role", "manager", **settings)
    said, _ = added.process.communicate(timeout=PATIENCE_S)
    link = re.search(rf"http://127\.0\.0\.1:{port}/sign-in/link/\S+", said)
    assert added.process.returncode == 0 and link
    command = run("serve", **settings)
    assert "Sign in" in get(command.address()) and "Nobody is on record" not in command.said
    assert "No shop is recorded yet" in press(link[0])
    assert command.end() == 0


def test_serve_refuses_to_be_seen_from_elsewhere(run: Run) -> None:
    command = run("serve", SOAKLINE_HOST="0.0.0.0")
    said, _ = command.process.communicate(timeout=PATIENCE_S)
    assert command.process.returncode == 2
    assert "0.0.0.0" in said and "soakline people add" in said
    assert "Traceback" not in said


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
