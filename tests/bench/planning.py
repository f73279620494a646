"""Seconds, memory, validity and lateness of plans, as a table.

``python -m tests.bench.planning demo S1-10 M1-5 L1`` plans each made-up shop in a process of its
own and judges the plan; the table compares its lateness with plain earliest-due dispatch and with
the bound, and sums over each size. ``--seconds`` sets the search's time, ``--markdown FOLDER``
writes the table there too.
"""

from __future__ import annotations

import argparse
import json
import re
import resource
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path

DAY = date(2031, 3, 3)
COLUMNS = ("shop", "method", "seconds", "peak MiB", "late hours", "late jobs", "bound", "people min", "valid")


def shops(words: list[str]) -> Iterator[str]:
    """``S1-3`` as S1, S2, S3."""
    for word in words:
        found = re.fullmatch(r"(S|M|L|XL)(\d+)-(\d+)", word)
        if found:
            yield from (f"{found[1]}{seed}" for seed in range(int(found[2]), int(found[3]) + 1))
        else:
            yield word


def measure(shop: str, method: str, seconds: float) -> dict[str, object]:
    """One plan, in this process."""
    from demo_fleet import demo_shop, generate
    from scheduler.checking import check
    from scheduler.model.codec import scenario_hash
    from scheduler.planning import make_plan
    from scheduler.planning.compiled import compiled_kernels
    from tests.bench.dispatch import earliest_due

    found = re.fullmatch(r"(S|M|L|XL)(\d+)", shop)
    scenario = generate(found[1], int(found[2])) if found else demo_shop(DAY)
    hashed, start = scenario_hash(scenario), scenario.site.plan_start
    # Loaded, or compiled once on this machine, apart from the planning.
    compiled_kernels()
    began = time.monotonic()
    if method == "earliest due":
        plan = earliest_due(scenario, hashed, start)
    else:
        plan = make_plan(scenario, scenario_hash=hashed, made_at=start, seconds=seconds)
    spent = time.monotonic() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    breaches = check(scenario, plan, hashed)
    return {
        "shop": shop,
        "method": method,
        "seconds": round(spent, 2),
        "peak MiB": round(peak),
        "late hours": round(plan.late_cost, 1),
        "late jobs": sum(1 for job in plan.jobs if job.late_min > 0),
        "bound": None if plan.lower_bound is None else round(plan.lower_bound, 1),
        "people min": plan.attended_min,
        "valid": "yes" if not breaches else f"no: {breaches[0]}",
    }


def apart(shop: str, method: str, seconds: float) -> dict[str, object]:
    """The same in a process of its own, so that memory is its own too."""
    command = [sys.executable, "-m", "tests.bench.planning", shop, "--one", method, "--seconds", str(seconds)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    row = json.loads(done.stdout)
    assert isinstance(row, dict)
    return row


def line(row: dict[str, object]) -> str:
    """A row of the table."""
    cells = ["–" if row[column] is None else str(row[column]) for column in COLUMNS]
    return "| " + " | ".join(cells) + " |"


def sums(rows: list[dict[str, object]]) -> list[str]:
    """Lateness by size and method, beside earliest due and as excess over the bound."""
    found = []
    for size in dict.fromkeys(re.sub(r"\d", "", str(row["shop"])) for row in rows):
        of = [row for row in rows if re.sub(r"\d", "", str(row["shop"])) == size]
        due = sum(float(str(row["late hours"])) for row in of if row["method"] == "earliest due")
        for method in dict.fromkeys(str(row["method"]) for row in of):
            mine = [row for row in of if row["method"] == method]
            late = sum(float(str(row["late hours"])) for row in mine)
            bound = sum(float(str(row["bound"] or 0)) for row in mine)
            ratio = f"{late / due:.2f} of earliest due" if due else ""
            excess = f", excess {(late - bound) / (due - bound):.3f}" if due > bound else ""
            found.append(f"{size}, {len(mine)} shops, {method}: {late:.1f} late hours, {ratio}{excess}")
    return found


def main() -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("shops", nargs="+", help="demo, S1, M1-5, L1, XL1, ...")
    parser.add_argument("--seconds", type=float, nargs="+", default=[2.0])
    parser.add_argument("--markdown", type=Path, help="folder for planning.md")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        print(json.dumps(measure(asked.shops[0], asked.one, asked.seconds[0])))
        return 0
    lines = ["| " + " | ".join(COLUMNS) + " |", "|" + "---|" * len(COLUMNS)]
    print("\n".join(lines))
    rows = []
    for shop in shops(asked.shops):
        for method, seconds in [("earliest due", 0.0)] + [(f"ours, {s:g} s", s) for s in asked.seconds]:
            rows.append(apart(shop, method, seconds))
            lines.append(line(rows[-1]))
            print(lines[-1], flush=True)
    told = sums(rows)
    print("\n".join(["", *told]))
    if asked.markdown:
        asked.markdown.mkdir(parents=True, exist_ok=True)
        (asked.markdown / "planning.md").write_text("\n".join([*lines, "", *(f"- {t}" for t in told)]) + "\n")
    return 0 if all(row["valid"] == "yes" for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
