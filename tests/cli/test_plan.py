"""`soakline plan` in a process of its own: watched, and stopped by signals."""

from __future__ import annotations

import os
import pty
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from demo_fleet import generate
from scheduler.checking import check
from scheduler.model.codec import encode_scenario, read_plan_file, read_scenario_file, to_json

PATIENCE_S = 120.0
PROGRAM = "from scheduler.cli import main; main()"
LONG = ["--seconds", "600"]


class Child:
    """The command, with a terminal or a pipe for its standard error."""

    def __init__(self, arguments: list[str], terminal: bool) -> None:
        self.read_end, write_end = pty.openpty() if terminal else os.pipe()
        self.process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, "plan", *arguments],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=write_end,
            text=True,
            start_new_session=True,
        )
        os.close(write_end)
        self.told = ""

    def await_words(self, pattern: str) -> None:
        """Read standard error until it has said something."""
        deadline = time.monotonic() + PATIENCE_S
        while not re.search(pattern, self.told):
            assert time.monotonic() < deadline, f"never said {pattern!r}: {self.told[-300:]!r}"
            assert self._read(0.2), f"ended without saying {pattern!r}: {self.told[-300:]!r}"

    def _read(self, wait_s: float) -> bool:
        if not select.select([self.read_end], [], [], wait_s)[0]:
            return True
        try:
            data = os.read(self.read_end, 65536)
        except OSError:
            # The other end of a terminal is gone.
            return False
        self.told += data.decode()
        return bool(data)

    def send(self, number: signal.Signals) -> None:
        self.process.send_signal(number)

    def end(self) -> tuple[int, str]:
        """Exit code, and all of standard output."""
        deadline = time.monotonic() + PATIENCE_S
        while self._read(0.2):
            assert time.monotonic() < deadline, f"does not end: {self.told[-300:]!r}"
        said, _ = self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode, said

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        with self.process:
            pass
        os.close(self.read_end)


Start = Callable[..., Child]


@pytest.fixture
def start() -> Iterator[Start]:
    children: list[Child] = []

    def begin(*arguments: object, terminal: bool = False) -> Child:
        children.append(Child([str(argument) for argument in arguments], terminal))
        return children[-1]

    yield begin
    for child in children:
        child.close()


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file with a shop that keeps a search busy."""
    path = tmp_path_factory.mktemp("shops") / "small.json"
    path.write_text(to_json(encode_scenario(generate("S", 1))), encoding="utf-8")
    return path


@pytest.fixture
def out(tmp_path: Path) -> Path:
    folder = tmp_path / "plans"
    folder.mkdir()
    return folder / "plan.json"


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_ends_the_search_with_the_best_plan(
    start: Start, small: Path, out: Path, number: signal.Signals
) -> None:
    child = start(small, "--out", out, *LONG)
    child.await_words(r"h late")
    child.send(number)
    code, said = child.end()
    assert code == 3, child.told[-300:]
    assert f"Stopped early; the best plan so far is written to {out}." in child.told
    assert "jobs placed" in said
    shop, hashed = read_scenario_file(small)
    plan = read_plan_file(out, shop)
    assert check(shop, plan, hashed) == () and plan.seconds < 600
    assert [path.name for path in out.parent.iterdir()] == ["plan.json"]


def test_a_second_signal_ends_at_once_and_leaves_the_file_before_as_it_was(
    start: Start, small: Path, out: Path
) -> None:
    out.write_text("the plan of yesterday", encoding="utf-8")
    # The bound of a shop of this size keeps a thread busy, which a usual end would wait for.
    child = start(small, "--out", out, *LONG)
    child.await_words(r"h late")
    # Frozen, so that both signals are there before the first one has had its effect.
    child.send(signal.SIGSTOP)
    child.send(signal.SIGINT)
    child.send(signal.SIGTERM)
    child.send(signal.SIGCONT)
    code, said = child.end()
    assert code in (130, 143), child.told[-300:]
    assert said == ""
    assert "Stopped at once; nothing was written." in child.told
    assert out.read_text(encoding="utf-8") == "the plan of yesterday"
    assert [path.name for path in out.parent.iterdir()] == ["plan.json"]


def test_before_there_is_a_plan_nothing_is_written(start: Start, out: Path, tmp_path: Path) -> None:
    pipe = tmp_path / "shop.json"
    os.mkfifo(pipe)
    child = start(pipe, "--out", out, *LONG)
    # Opening waits for the command to read, so from here on it is at work, without a shop.
    with pipe.open("w", encoding="utf-8") as shop:
        shop.write('{"schema": ')
        shop.flush()
        child.send(signal.SIGINT)
        code, said = child.end()
    assert (code, said) == (130, ""), child.told[-300:]
    assert "Stopped before there was a first plan; nothing was written." in child.told
    assert list(out.parent.iterdir()) == []


def test_a_terminal_shows_one_line_and_stops_before_the_first_plan(
    start: Start, out: Path, tmp_path: Path
) -> None:
    large = tmp_path / "large.json"
    large.write_text(to_json(encode_scenario(generate("L", 1))), encoding="utf-8")
    child = start(large, "--out", out, *LONG, terminal=True)
    child.await_words(r"\r0\.0 s 0/1000 placed, no plan yet; looking what fits where\x1b\[K")
    child.send(signal.SIGTERM)
    code, _ = child.end()
    assert code == 143, child.told[-300:]
    assert "nothing was written" in child.told
    assert not out.exists()


def test_a_terminal_keeps_to_one_line(start: Start, small: Path, out: Path) -> None:
    child = start(small, "--out", out, "--seconds", "4", terminal=True)
    code, said = child.end()
    assert code == 0, child.told[-300:]
    steps = child.told.split("\r")[1:]
    shown = [step for step in steps if "/40 placed" in step]
    assert len(shown) > 2 and all(step.endswith("\x1b[K") and len(step) < 83 for step in shown)
    assert any(re.search(r"38/40 placed, \d+\.\d h late, bound \d+\.\d; \w+", step) for step in shown)
    # Nothing stays of the line, and the result is no part of it.
    assert steps[-1] == "\x1b[K" and "\n" not in child.told
    assert said.startswith("38 jobs placed")


def test_a_log_gets_few_lines(start: Start, small: Path, out: Path) -> None:
    child = start(small, "--out", out, "--seconds", "4")
    code, _ = child.end()
    assert code == 0
    (line,) = child.told.splitlines()
    assert re.fullmatch(r"\d+\.\d s \d+/40 placed, \d+\.\d h late, bound \d+\.\d; .+", line)
