"""Many operators at once: `python -m tests.bench.floor_load --minutes 5 [--postgresql] [--operators 50]`.

Serves a made-up shop of size L in a process of its own, and lets operators, each with a browser's
cookies and forms, pull and step jobs
with a pause of some seconds between two touches. One touch in six is sent twice; the
server is killed (kill -9) and started again several times. Afterwards the record is looked at: every
answered touch has its one event, no job is on two machines, and the state worked out from the events is
that of the tables. With ``--viewers 200``, so many streams are open meanwhile; how long an event takes to
reach them is told, and what the server needs. Exit code 1 if anything was lost or doubled.
"""

from __future__ import annotations

import argparse
import contextlib
import http.client
import json
import os
import random
import re
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.parse import urlencode

from demo_fleet import generate
from scheduler.model import Scenario
from scheduler.model.codec import decode_scenario, encode_scenario, scenario_hash, to_json
from scheduler.office.floor import rebuilt
from scheduler.planning import make_plan
from scheduler.store import Record
from tests.floor.life import on_two_machines
from tests.services import own_postgresql

#: Seconds between two kills of the server.
KILL_EVERY_S = 40.0
FORM = re.compile(r'<form[^>]*action="/floor/do"[^>]*>(.*?)</form>', re.DOTALL)
INPUT = re.compile(r'<input type="hidden" name="([^"]+)" value="([^"]*)"')
CODE = re.compile(r'<b class="code">([A-Z0-9]+)</b>')


@dataclass
class Tally:
    """What the operators saw."""

    taken: dict[str, int] = field(default_factory=dict)
    kinds: Counter[str] = field(default_factory=Counter)
    pull_ms: list[float] = field(default_factory=list)
    answered: dict[int, float] = field(default_factory=dict)
    errors: Counter[str] = field(default_factory=Counter)
    lock: threading.Lock = field(default_factory=threading.Lock)


class Served:
    """The server, in a process of its own, that can be killed and started again."""

    def __init__(self, url: str) -> None:
        self.url = url
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.process: subprocess.Popen[bytes] | None = None
        self.cpu_s = 0.0
        self.peak_mib = 0.0

    def start(self) -> None:
        environment = os.environ | {
            "SOAKLINE_DATABASE_URL": self.url,
            "SOAKLINE_PORT": str(self.port),
            "SOAKLINE_SECRET_KEY": "the bench's own",
            "SOAKLINE_REDIS_URL": "",
        }
        command = [sys.executable, "-c", "from scheduler.cli import main; main()", "serve"]
        self.process = subprocess.Popen(
            command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        until = time.monotonic() + 60
        while time.monotonic() < until:
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", self.port), 1):
                return
            time.sleep(0.1)
        raise RuntimeError("the server did not begin to listen within a minute")

    def note(self) -> None:
        """Take down what the process has used."""
        assert self.process is not None
        with contextlib.suppress(OSError):
            fields = Path(f"/proc/{self.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
            self._now_s = (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
            status = Path(f"/proc/{self.process.pid}/status").read_text()
            found = re.search(r"VmHWM:\s+(\d+)", status)
            if found:
                self.peak_mib = max(self.peak_mib, int(found[1]) / 1024)

    def kill(self) -> None:
        assert self.process is not None
        self.note()
        self.cpu_s += getattr(self, "_now_s", 0.0)
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()


class Operator(threading.Thread):
    """Goes from machine to machine and presses what the page offers."""

    def __init__(
        self, served: Served, machines: list[str], tally: Tally, until: float, seed: int, pause_s: float
    ) -> None:
        super().__init__(daemon=True)
        self.served, self.machines, self.tally, self.until = served, machines, tally, until
        self.rng = random.Random(seed)
        self.cookie = ""
        self.number = 0
        self.seed = seed
        self.pause_s = pause_s

    def run(self) -> None:
        while time.monotonic() < self.until:
            with contextlib.suppress(OSError, http.client.HTTPException):
                self._one(self.rng.choice(self.machines))
            time.sleep(self.rng.uniform(0.5, 1.5) * self.pause_s)

    def _ask(self, method: str, path: str, body: str = "") -> tuple[int, str]:
        connection = http.client.HTTPConnection("127.0.0.1", self.served.port, timeout=30)
        try:
            headers = {"Cookie": self.cookie, "Accept": "text/html"}
            if method == "POST":
                headers |= {"Content-Type": "application/x-www-form-urlencoded", "Accept": "application/json"}
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            for name, value in answer.getheaders():
                if name.lower() == "set-cookie":
                    self.cookie = value.split(";")[0]
            return answer.status, answer.read().decode()
        finally:
            connection.close()

    def _one(self, machine: str) -> None:
        status, page = self._ask("GET", f"/floor/machines/{machine}")
        if status != 200:
            with self.tally.lock:
                self.tally.errors[f"GET {status}"] += 1
            return
        forms = [dict(INPUT.findall(form)) for form in FORM.findall(page)]
        offered = [
            form
            for form in forms
            if form.get("do") in ("pull", "mount", "heat", "begin", "ended", "off", "cleared")
        ]
        failing = [form for form in forms if form.get("do") == "failed"]
        if not offered:
            return
        fields = offered[0]
        if failing and self.rng.random() < 0.05:
            fields = failing[0] | {"cause": "came off the plate", "good": "0", "again": "yes"}
        if fields["do"] == "mount":
            found = CODE.search(page)
            fields["code"] = found[1] if found else ""
        self.number += 1
        fields |= {"key": f"{self.seed}-{self.number}", "override": "the bench waits for no oven"}
        self._send(fields)
        if self.rng.random() < 1 / 6:
            self._send(fields)

    def _send(self, fields: dict[str, str]) -> None:
        """Send until the server has answered, as a tablet does."""
        while True:
            begun = time.monotonic()
            try:
                status, text = self._ask("POST", "/floor/do", urlencode(fields))
            except (OSError, http.client.HTTPException):
                time.sleep(0.3)
                if time.monotonic() > self.until + 30:
                    return
                continue
            took = (time.monotonic() - begun) * 1000
            with self.tally.lock:
                if status == 200:
                    told = json.loads(text)
                    self.tally.taken[fields["key"]] = told["event"]
                    # From the touch, not from the answer: what a person waits for.
                    self.tally.answered.setdefault(told["event"], begun)
                    self.tally.kinds[f"{fields['do']} {told['kind']}"] += 1
                    if fields["do"] == "pull" and told["kind"] == "taken":
                        self.tally.pull_ms.append(took)
                elif status == 409:
                    self.tally.kinds[f"{fields['do']} refused"] += 1
                else:
                    self.tally.errors[f"POST {status}"] += 1
            return


class Viewer(threading.Thread):
    """An open page's stream; notes when it heard of which event."""

    def __init__(self, served: Served, until: float, seen: list[tuple[int, float]]) -> None:
        super().__init__(daemon=True)
        self.served, self.until, self.seen = served, until, seen

    def run(self) -> None:
        while time.monotonic() < self.until:
            with contextlib.suppress(OSError, ValueError):
                self._listen()
            time.sleep(0.5)

    def _listen(self) -> None:
        with socket.create_connection(("127.0.0.1", self.served.port), 10) as line:
            line.sendall(b"GET /live HTTP/1.1\r\nHost: 127.0.0.1\r\nAccept: text/event-stream\r\n\r\n")
            line.settimeout(15)
            reader = line.makefile("rb")
            while time.monotonic() < self.until:
                text = reader.readline()
                if not text:
                    return
                if text.startswith(b"data: {"):
                    self.seen.append((int(json.loads(text[6:])["mark"].rsplit(".", 1)[1]), time.monotonic()))


@contextlib.contextmanager
def database(postgresql: bool, folder: Path) -> Iterator[str]:
    """A fresh database's address."""
    if not postgresql:
        yield f"sqlite:///{folder / 'load.sqlite3'}"
        return
    with own_postgresql() as address:
        yield address


def main() -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0)
    parser.add_argument("--operators", type=int, default=50)
    parser.add_argument("--pause", type=float, default=2.0, help="seconds between two touches of one person")
    parser.add_argument("--viewers", type=int, default=0)
    parser.add_argument("--postgresql", action="store_true")
    parser.add_argument("--size", default="L")
    parser.add_argument("--kills", action=argparse.BooleanOptionalAction, default=True)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, database(asked.postgresql, Path(folder)) as url:
        return _run(asked, url)


def _run(asked: argparse.Namespace, url: str) -> int:
    record = Record(url)
    record.migrate()
    scenario = _of_today(generate(asked.size, 1))
    plan = make_plan(scenario, scenario_hash=scenario_hash(scenario), made_at=scenario.site.plan_start)
    with record.writing() as unit:
        unit.fleet.replace(scenario)
        unit.plans.publish(unit.plans.add(plan))
    served, tally = Served(url), Tally()
    served.start()
    until = time.monotonic() + asked.minutes * 60
    seen: list[tuple[int, float]] = []
    viewers = [Viewer(served, until, seen) for _ in range(asked.viewers)]
    machines = [printer.id for printer in scenario.printers]
    operators = [
        Operator(served, machines, tally, until, seed, asked.pause) for seed in range(asked.operators)
    ]
    for thread in (*viewers, *operators):
        thread.start()
    kills, last = 0, time.monotonic()
    while time.monotonic() < until:
        time.sleep(0.5)
        served.note()
        if asked.kills and time.monotonic() - last > KILL_EVERY_S and until - time.monotonic() > 15:
            served.kill()
            served.start()
            kills, last = kills + 1, time.monotonic()
    for operator in operators:
        operator.join(timeout=60)
    served.kill()
    wrong = _judge(record, tally)
    record.close()
    delays = [at - tally.answered[event] for event, at in seen if event in tally.answered]
    _tell(asked, tally, delays, served, kills, wrong)
    return 1 if wrong else 0


def _of_today(scenario: Scenario) -> Scenario:
    """The scenario moved so that its plan began an hour ago."""
    hour_ago = datetime.now(UTC).replace(second=0, microsecond=0) - timedelta(hours=1)
    by = hour_ago - scenario.site.plan_start

    def moved(found: re.Match[str]) -> str:
        return (datetime.fromisoformat(found[0]) + by).isoformat()

    text = to_json(encode_scenario(scenario))
    return decode_scenario(re.sub(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d", moved, text))


def _judge(record: Record, tally: Tally) -> list[str]:
    """What was lost, doubled or bent."""
    with record.reading() as unit:
        touched, again, facts = unit.floor.touched(), rebuilt(unit), unit.floor.facts()
        keyed = {key: unit.floor.taken(key) for key in tally.taken}
    numbers = [fact.number for fact in facts]
    wrong = on_two_machines(touched)
    there = set(numbers)
    for key, event in tally.taken.items():
        if keyed[key] != event:
            wrong.append(f"touch {key} was answered with event {event}, on record is {keyed[key]}")
        if event not in there:
            wrong.append(f"event {event} of touch {key} is not on record")
    for event, count in Counter(tally.taken.values()).items():
        if count > 1:
            wrong.append(f"event {event} stands for {count} touches")
    if dict(touched.things) != dict(again.things):
        wrong.append("the state worked out from the events is not that of the tables")
    pulls = Counter(str(fact.data["job"]) for fact in facts if fact.kind == "job pulled")
    lets = Counter(str(fact.data["job"]) for fact in facts if fact.kind == "job let go")
    wrong += [f"{job} was pulled {count} times" for job, count in pulls.items() if count > 1 + lets[job]]
    return wrong


def _spread(values_ms: list[float]) -> str:
    """Median and 95th percentile for a line."""
    ordered = sorted(values_ms)
    p95 = ordered[int(0.95 * (len(ordered) - 1))]
    return f"median {statistics.median(ordered):.0f} ms, p95 {p95:.0f} ms"


def _tell(
    asked: argparse.Namespace, tally: Tally, delays: list[float], served: Served, kills: int, wrong: list[str]
) -> None:
    name = "PostgreSQL" if asked.postgresql else "SQLite"
    print(
        f"{name}, size {asked.size}, {asked.operators} operators, {asked.minutes:g} min, {kills} kills,"
        f" {asked.pause:g} s between touches"
    )
    for kind, count in sorted(tally.kinds.items()):
        print(f"{count:7d}  {kind}")
    if tally.pull_ms:
        print(f"pull: {len(tally.pull_ms)}, {_spread(tally.pull_ms)}")
    print(f"errors: {dict(tally.errors) or 'none'}")
    if delays:
        told = _spread([1000 * delay for delay in delays])
        print(f"{asked.viewers} viewers: {len(delays)} marks, touch to stream {told}")
    print(f"server: {served.cpu_s:.0f} s of processor, at most {served.peak_mib:.0f} MiB")
    for line in wrong[:20]:
        print(line)
    print(f"{len(wrong)} lost, doubled or bent")


if __name__ == "__main__":
    sys.exit(main())
