"""What the floor's reports teach the quote desk: what prints took, which failed, which orders are done."""

from __future__ import annotations

from datetime import datetime

from scheduler.floor import ENDED, Fact, FloorJob, Ground
from scheduler.store import PrintEnd, Unit


def learn_from(unit: Unit, ground: Ground, fact: Fact) -> None:
    """Note what a fact teaches, in the transaction of the fact."""
    data = fact.data
    printed = fact.kind == "part taken off" or (fact.kind == "job failed" and data.get("was") == "printing")
    if printed and data["estimated_min"] > 0:
        failed = fact.kind == "job failed"
        # What was planned longer because prints taught so is no estimate; learning from it would unlearn.
        order, material = ground.jobs[data["job"]].order, data["material"]
        factor = unit.quotes.planned_times(order).get((order, material), 1.0)
        unit.quotes.add_print_end(
            PrintEnd(
                fact.at,
                data["job"],
                data["printer"],
                material,
                data["estimated_min"] / factor,
                float(data["actual_min"]),
                failed,
            )
        )


def close_order(unit: Unit, ground: Ground, fact: Fact, now: datetime) -> None:
    """Note that a promised order is done, once each of its jobs has ended and nothing is printed again."""
    if fact.kind != "part inspected" or fact.data["result"] != "pass":
        return
    order = ground.jobs[fact.data["job"]].order
    if unit.quotes.of_order(order) is None:
        return
    for job in ground.scenario.jobs:
        if job.order != order:
            continue
        state = unit.floor.read("job", job.id)
        if not isinstance(state, FloorJob) or state.state not in ENDED:
            return
    # Loaded here because it draws in the forecast, which no touch needs.
    from scheduler.office.quotes.promises import note_order_done

    note_order_done(unit, order, fact.at, now, fact.who)
