"""Very large shops improved by several processes: late hours, excess, memory, processor seconds, as a table.

``python -m tests.bench.scale XL1 --seconds 120 600 --processes 1 2`` plans each made-up shop once for each
pair, in a process of its own, judges the plan, and compares it with plain earliest-due dispatch and with
the bound. After the table: when several processes had what one had at its end.
"""

from __future__ import annotations

import argparse
import json
import re
import resource
import subprocess
import sys
import time

COLUMNS = (
    "shop",
    "processes",
    "seconds asked",
    "seconds",
    "first plan s",
    "late hours",
    "excess",
    "peak MiB of all",
    "processor s",
    "valid",
)


def measure(shop: str, processes: int, seconds: float) -> dict[str, object]:
    """One plan, this process and its workers; with ``processes`` 0 that of earliest-due dispatch."""
    from demo_fleet import generate
    from scheduler.checking import check
    from scheduler.model.codec import scenario_hash
    from scheduler.planning import Progress, make_plan
    from scheduler.planning.compiled import compiled_kernels
    from scheduler.planning.parts.processes import Processes
    from tests.bench.dispatch import earliest_due

    found = re.fullmatch(r"(S|M|L|XL)(\d+)", shop)
    if found is None:
        raise SystemExit(f"{shop} is no made-up shop such as XL1")
    scenario = generate(found[1], int(found[2]))
    hashed, start = scenario_hash(scenario), scenario.site.plan_start
    # Loaded, or compiled once on this machine, apart from the planning.
    compiled_kernels()
    told: list[tuple[float, float]] = []

    def note(progress: Progress) -> None:
        if progress.late_cost is not None:
            told.append((round(progress.seconds, 1), progress.late_cost))

    began, cpu = time.monotonic(), _cpu_s()
    if processes == 0:
        plan = earliest_due(scenario, hashed, start)
    else:
        crew = Processes(processes)
        plan = make_plan(
            scenario,
            scenario_hash=hashed,
            made_at=start,
            seconds=seconds,
            on_progress=note,
            crew=crew,
            in_parts=True,
        )
    spent, cpu = time.monotonic() - began, _cpu_s() - cpu
    # A child's peak is that of the largest; all of them at their peaks at once is the worst that can be.
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    each = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    breaches = check(scenario, plan, hashed)
    return {
        "shop": shop,
        "processes": processes,
        "seconds asked": seconds,
        "seconds": round(spent, 1),
        "first plan s": told[0][0] if told else round(spent, 1),
        "late hours": round(plan.late_cost, 1),
        "bound": plan.lower_bound,
        "peak MiB of all": round((own + processes * each) / 1024),
        "processor s": round(cpu, 1),
        "valid": "yes" if not breaches else f"no: {breaches[0]}",
        "told": told,
    }


def _cpu_s() -> float:
    """Processor seconds of this process and of its children that have ended."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(usage.ru_utime + usage.ru_stime for usage in used)


def apart(shop: str, processes: int, seconds: float) -> dict[str, object]:
    """The same in a process of its own, so that memory is its own too."""
    command = [sys.executable, "-m", "tests.bench.scale", shop, "--one"]
    command += ["--processes", str(processes), "--seconds", str(seconds)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    row = json.loads(done.stdout)
    assert isinstance(row, dict)
    return row


def reached(told: list[list[float]], hours: float) -> float | None:
    """When late hours were down to a figure, seconds; ``None`` if they never were."""
    return next((at for at, late in told if late <= hours), None)


def main() -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("shops", nargs="+", help="XL1, L1, ...")
    parser.add_argument("--seconds", type=float, nargs="+", default=[120.0])
    parser.add_argument("--processes", type=int, nargs="+", default=[1, 2])
    parser.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        print(json.dumps(measure(asked.shops[0], asked.processes[0], asked.seconds[0])))
        return 0
    print("| " + " | ".join(COLUMNS) + " |\n|" + "---|" * len(COLUMNS))
    valid = True
    for shop in asked.shops:
        rows: dict[tuple[float, int], dict[str, object]] = {}
        due = apart(shop, 0, 0.0)
        print(_line(due | {"excess": 1.0}), flush=True)
        for seconds in asked.seconds:
            for processes in asked.processes:
                row = rows[seconds, processes] = apart(shop, processes, seconds)
                bound = float(str(row["bound"]))
                late, most = float(str(row["late hours"])), float(str(due["late hours"]))
                row["excess"] = round((late - bound) / (most - bound), 3)
                valid &= row["valid"] == "yes"
                print(_line(row), flush=True)
        for (seconds, processes), row in rows.items():
            one = rows.get((seconds, 1))
            if processes == 1 or one is None:
                continue
            told = row["told"]
            assert isinstance(told, list)
            at = reached(told, float(str(one["late hours"])))
            firsts = [float(str(each["first plan s"])) for each in (row, one)]
            when = "never had"
            if at is not None:
                apart_from_first = (at - firsts[0]) / max(0.1, seconds - firsts[1])
                when = f"had after {at:g} s, {apart_from_first:.2f} of the time after the first plan,"
            print(f"\n{shop}: {processes} processes {when} what one had after {seconds:g} s")
    return 0 if valid else 1


def _line(row: dict[str, object]) -> str:
    return "| " + " | ".join(str(row[column]) for column in COLUMNS) + " |"


if __name__ == "__main__":
    sys.exit(main())
