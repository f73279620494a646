"""Seconds, memory, validity and lateness of plans, as a table.

``python -m tests.bench.planning demo S1-10 M1-5 L1`` plans each made-up shop in a process of its
own and judges the plan; the table compares its lateness with plain earliest-due dispatch, with the bound
of each job's own earliest finish (``alone``) and with the best bound that any row found, and sums over each
size. ``--methods`` says which:

- ``edd``, ``atc``: dispatch by due date, by apparent tardiness cost with setups;
- ``pyjobshop``: the order that a modelling library finds on what it can say of the shop, decoded;
- ``cpsat``: the order of a general solver on a relaxation, decoded; its bound holds for every plan;
- ``solver``, ``hinted``: a general solver on the whole contract, its solution taken as the plan; hinted, it
  begins with the earliest-due plan;
- ``ours``: the search;
- ``hands``: the search on the same shop with people without number: what more of them could win, and so about
  what no plan with those that there are can go under.

``--seconds`` says the search's times, ``--solver-seconds`` those of libraries and solvers; what finds no
plan in time has no lateness. ``--markdown FOLDER`` writes the table and a chart of late hours against seconds
there.
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
from dataclasses import replace
from datetime import date
from pathlib import Path

from scheduler.model import Plan, Scenario
from tests.bench.chart import chart

DAY = date(2031, 3, 3)
COLUMNS = (
    "size",
    "seed",
    "method",
    "seconds",
    "cpu s",
    "late hours",
    "late jobs",
    "alone",
    "bound",
    "people min",
    "peak MiB",
    "valid",
)
#: What the command line calls the methods of dispatch.
DISPATCH = {"edd": "earliest due", "atc": "tardiness cost"}
#: What it calls those of other makers, which get ``--solver-seconds``.
OTHERS = {"pyjobshop": "pyjobshop", "cpsat": "relaxed", "solver": "solver", "hinted": "solver hinted"}
#: What the search is called, and that with people without number.
OURS, HANDS = "ours", "ours, hands without number"
#: More people than all steps at once could want.
MANY = 1000
#: Seconds that they get unless told.
SOLVER_S = 60.0
#: A plan that is within this of its bound is proven to be best, late hours.
PROVEN_H = 0.005


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
    from scheduler.planning.bound import bound_alone
    from scheduler.planning.compiled import compiled_kernels
    from scheduler.planning.construct import Base
    from scheduler.planning.problem import make_task
    from tests.bench.dispatch import earliest_due
    from tests.bench.tardiness_costs import by_tardiness_cost

    found = re.fullmatch(r"(S|M|L|XL)(\d+)", shop)
    scenario = generate(found[1], int(found[2])) if found else demo_shop(DAY)
    alone = bound_alone(task := make_task(scenario), Base(task))
    if method.startswith(HANDS):
        scenario = replace(scenario, shifts=tuple(replace(shift, hands=MANY) for shift in scenario.shifts))
    hashed, start = scenario_hash(scenario), scenario.site.plan_start
    # Loaded, or compiled once on this machine, apart from the planning.
    compiled_kernels()
    began = time.monotonic()
    used = resource.getrusage(resource.RUSAGE_SELF)
    before = used.ru_utime + used.ru_stime
    plan: Plan | None
    if method == "earliest due":
        plan = earliest_due(scenario, hashed, start)
    elif method == "tardiness cost":
        plan = by_tardiness_cost(scenario, hashed, start)
    elif method.startswith(tuple(OTHERS.values())):
        plan = by_others(scenario, hashed, method, seconds)
    else:
        plan = make_plan(scenario, scenario_hash=hashed, made_at=start, seconds=seconds)
    spent = time.monotonic() - began
    used = resource.getrusage(resource.RUSAGE_SELF)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    row: dict[str, object] = {
        "shop": shop,
        "size": found[1] if found else shop,
        "seed": int(found[2]) if found else None,
        "method": method,
        "seconds": round(spent, 2),
        "cpu s": round(used.ru_utime + used.ru_stime - before, 1),
        "peak MiB": round(peak),
        "alone": None if alone is None else round(alone, 3),
    }
    if plan is None:
        return row | dict.fromkeys(("late hours", "late jobs", "bound", "people min")) | {"valid": "no plan"}
    breaches = check(scenario, plan, hashed)
    return row | {
        "late hours": round(plan.late_cost, 3),
        "late jobs": sum(1 for job in plan.jobs if job.late_min > 0),
        "bound": None if plan.lower_bound is None else round(plan.lower_bound, 3),
        "people min": plan.attended_min,
        "valid": "yes" if not breaches else f"no: {breaches[0]}",
    }


def by_others(scenario: Scenario, hashed: str, method: str, seconds: float) -> Plan | None:
    """The plan of a library or a solver of others; needs the extra ``bench``."""
    start = scenario.site.plan_start
    if method.startswith("pyjobshop"):
        from tests.bench.by_pyjobshop import by_pyjobshop

        return by_pyjobshop(scenario, hashed, start, seconds)
    if method.startswith("relaxed"):
        from tests.bench.exact import by_solver

        return by_solver(scenario, hashed, start, seconds)
    from tests.bench.complete import by_complete_solver
    from tests.bench.dispatch import earliest_due

    hint = earliest_due(scenario, hashed, start) if "hinted" in method else None
    return by_complete_solver(scenario, hashed, start, seconds, hint=hint).plan


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
    """Lateness by size and method, beside earliest due, as excess over the bound and as a gap to it."""
    found = []
    bounds = best_bounds(rows)
    for size in dict.fromkeys(row["size"] for row in rows):
        of = [row for row in rows if row["size"] == size and row["late hours"] is not None]
        tried = [row for row in rows if row["size"] == size]
        all_shops = {row["shop"] for row in tried}
        due_of = {str(row["shop"]): late(row) for row in of if row["method"] == "earliest due"}
        for method in dict.fromkeys(str(row["method"]) for row in tried):
            mine = [row for row in of if row["method"] == method]
            if not mine:
                found.append(f"{size}, {method}: no plan for {len(all_shops)} shops")
                continue
            hours = sum(late(row) for row in mine)
            # Beside earliest due on the same shops, for one that found no plan for some.
            due = sum(due_of.get(str(row["shop"]), 0.0) for row in mine)
            bound = sum(bounds[str(row["shop"])] for row in mine)
            gaps = [(late(row) - bounds[str(row["shop"])]) / late(row) for row in mine if late(row) > 0]
            proven = sum(late(row) - bounds[str(row["shop"])] < PROVEN_H for row in mine)
            ratio = f", {hours / due:.2f} of earliest due" if due else ""
            alone = sum(float(str(row["alone"] or 0)) for row in mine)
            excess = f", excess over jobs alone {(hours - alone) / (due - alone):.3f}" if due > alone else ""
            excess += f", over the bound {(hours - bound) / (due - bound):.3f}" if due > bound else ""
            gap = f", mean gap {sum(gaps) / len(gaps):.3f}" if gaps else ""
            best = f", {proven} proven best"
            none = f", no plan for {lacking} shops" if (lacking := len(all_shops) - len(mine)) else ""
            found.append(
                f"{size}, {len(mine)} shops, {method}: {hours:.1f} late hours{ratio}{excess}{gap}{best}{none}"
            )
    return found


def late(row: dict[str, object]) -> float:
    """Late hours of a row."""
    return float(str(row["late hours"]))


def best_bounds(rows: list[dict[str, object]]) -> dict[str, float]:
    """For each shop the highest bound of its rows, late hours; each holds for every plan of the shop."""
    found: dict[str, float] = {}
    for row in rows:
        found[str(row["shop"])] = max(found.get(str(row["shop"]), 0.0), float(str(row["bound"] or 0)))
    return found


def main() -> int:
    """Run as a command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("shops", nargs="+", help="demo, S1, M1-5, L1, XL1, ...")
    parser.add_argument("--seconds", type=float, nargs="+", default=[2.0])
    known = [*DISPATCH, *OTHERS, "ours", "hands"]
    parser.add_argument("--methods", nargs="+", choices=known, default=["edd", "ours"])
    parser.add_argument("--solver-seconds", type=float, nargs="+", default=[SOLVER_S])
    parser.add_argument("--markdown", type=Path, help="folder for planning.md and planning.svg")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.one:
        print(json.dumps(measure(asked.shops[0], asked.one, asked.seconds[0])))
        return 0
    lines = ["| " + " | ".join(COLUMNS) + " |", "|" + "---|" * len(COLUMNS)]
    print("\n".join(lines))
    rows = []
    methods = [(DISPATCH[name], 0.0) for name in asked.methods if name in DISPATCH]
    others = [OTHERS[name] for name in asked.methods if name in OTHERS]
    methods += [(f"{name}, {s:g} s", s) for name in others for s in asked.solver_seconds]
    methods += [(f"{OURS}, {s:g} s", s) for s in asked.seconds if "ours" in asked.methods]
    methods += [(f"{HANDS}, {s:g} s", s) for s in asked.seconds if "hands" in asked.methods]
    for shop in shops(asked.shops):
        for method, seconds in methods:
            rows.append(apart(shop, method, seconds))
            lines.append(line(rows[-1]))
            print(lines[-1], flush=True)
    told = sums(rows)
    print("\n".join(["", *told]))
    if asked.markdown:
        asked.markdown.mkdir(parents=True, exist_ok=True)
        (asked.markdown / "planning.svg").write_text(chart(rows))
        (asked.markdown / "planning.md").write_text("\n".join([*lines, "", *(f"- {t}" for t in told)]) + "\n")
    return 0 if all(row["valid"] in ("yes", "no plan") for row in rows) else 1


if __name__ == "__main__":
    sys.exit(main())
