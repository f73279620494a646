"""A large shop and its plan are recorded in few statements."""

from __future__ import annotations

import time
from dataclasses import replace

from sqlalchemy import event

from scheduler.store import Record
from tests.builders import a_job, a_plan, a_planned_job, a_printer, a_scenario

JOBS = 4000


def test_a_large_shop_and_its_plan_take_seconds_and_few_statements(record: Record) -> None:
    job, printer, planned = a_job(), a_printer(), a_planned_job()
    scenario = a_scenario(
        printers=[replace(printer, id=f"P{i}") for i in range(JOBS // 10)],
        jobs=[replace(job, id=f"J{i}", order=f"o{i // 3}") for i in range(JOBS)],
    )
    plan = a_plan(jobs=tuple(replace(planned, job=f"J{i}", printer=f"P{i // 10}") for i in range(JOBS)))
    counted = 0

    def count(*_: object) -> None:
        nonlocal counted
        counted += 1

    begun = time.monotonic()
    with record.writing() as unit:
        event.listen(unit.connection, "before_cursor_execute", count)
        unit.fleet.replace(scenario)
        unit.plans.publish(unit.plans.add(plan))
    with record.reading() as unit:
        event.listen(unit.connection, "before_cursor_execute", count)
        assert unit.fleet.load() == scenario
        stored = unit.plans.published()
    assert stored is not None and stored.plan == plan
    # A fifth of the largest shop, and a fifth of the minute that it may take.
    assert time.monotonic() - begun < 12
    assert counted < 200
