"""Small valid shops for tests: every part has good defaults, and any field can be changed.

Minute 0 is Monday 3 March 2031, 06:00 UTC; `at(90)` is 07:30. The default shop prints one
amorphous polymer that needs no drying on one heated printer, with people there around the clock
for a week.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from scheduler.model import (
    PRINTER_STEPS,
    Downtime,
    Dryer,
    DryerRun,
    DryingRow,
    Feed,
    FeedChoice,
    Head,
    Job,
    Material,
    Mounted,
    Nozzle,
    Oven,
    OvenRun,
    Pin,
    Plan,
    PlannedJob,
    Printer,
    Progress,
    Scenario,
    Shift,
    Site,
    Span,
    Spool,
    Step,
    UnderWay,
)

PLAN_START = datetime(2031, 3, 3, 6, 0, tzinfo=UTC)
WEEK_MIN = 7 * 24 * 60
WORKED_EXAMPLE = Path(__file__).parent / "data" / "worked_example"


def at(minute: int) -> datetime:
    """The instant so many minutes after the default `plan_start`."""
    return PLAN_START + timedelta(minutes=minute)


def a_site(**changes: Any) -> Site:
    return Site(
        **{
            "name": "test shop",
            "timezone": "UTC",
            "plan_start": PLAN_START,
            "ambient_c": 20.0,
            "dry_storage": False,
            "start_min": 5,
            "unload_min": 6,
            "plate_min": 4,
            "spool_swap_min": 3,
            "nozzle_swap_min": 7,
            "purge_min": 8,
            "purges": (),
            "dryer_load_min": 5,
            "oven_load_min": 5,
            "freeze_min": 60,
            "move_cost_h": 1.0,
        }
        | changes
    )


def a_shift(start: int = 0, end: int = WEEK_MIN, hands: int = 2) -> Shift:
    return Shift(at(start), at(end), hands)


def a_downtime(start: int, end: int, reason: str = "service") -> Downtime:
    return Downtime(at(start), at(end), reason)


def a_drying_row(temp_c: float = 80.0, hours: float = 4.0, vacuum: bool = False) -> DryingRow:
    return DryingRow(temp_c, hours, vacuum)


def a_material(id: str = "ABS", **changes: Any) -> Material:
    return Material(
        **{
            "id": id,
            "polymer": id,
            "filled": None,
            "filament_mm": 1.75,
            "nozzle_c": Span(230.0, 260.0),
            "bed_c": Span(90.0, 110.0),
            "chamber_c": Span(50.0, 80.0),
            "chamber_set_c": 70.0,
            "surfaces": (),
            "abrasive": False,
            "corrosive": False,
            "needs_extraction": False,
            "min_nozzle_mm": 0.25,
            "drying": (),
            "open_time_min": None,
            "soak_min": 10,
            "release_c": 45.0,
            "max_cool_c_per_min": None,
            "anneal": None,
        }
        | changes
    )


def a_nozzle(id: str = "n04", size_mm: float = 0.4, **changes: Any) -> Nozzle:
    return Nozzle(
        **{"id": id, "size_mm": size_mm, "hardened": False, "corrosion_proof": False, "max_c": 450.0}
        | changes
    )


def a_head(id: str = "H1", **changes: Any) -> Head:
    return Head(
        **{
            "id": id,
            "max_c": 300.0,
            "filament_mm": 1.75,
            "dry_feed": False,
            "mounted": Mounted(None, None, None),
            "nozzles": (a_nozzle(),),
        }
        | changes
    )


def a_printer(id: str = "P1", **changes: Any) -> Printer:
    return Printer(
        **{
            "id": id,
            "bed_max_c": 120.0,
            "chamber_max_c": 90.0,
            "chamber_reach_c": 120.0,
            "heat_tau_min": 30.0,
            "cool_tau_min": 45.0,
            "bed_heat_min": 10,
            "bed_cool_min": 8,
            "volume_mm": (300.0, 300.0, 300.0),
            "surfaces": (),
            "extraction": False,
            "unattended": True,
            "speed_factor": 1.0,
            "qualified": (),
            "chamber_now_c": 20.0,
            "free_at": PLAN_START,
            "downtime": (),
            "heads": (a_head(),),
        }
        | changes
    )


def a_dryer(id: str = "D1", **changes: Any) -> Dryer:
    """A batch dryer; give `kind="rolling"` and a `fixed_c` for the other kind."""
    return Dryer(
        **{
            "id": id,
            "kind": "batch",
            "max_c": 120.0,
            "fixed_c": None,
            "vacuum": False,
            "slots": 2,
            "warmup_min": 10,
            "downtime": (),
        }
        | changes
    )


def an_oven(id: str = "O1", **changes: Any) -> Oven:
    return Oven(**{"id": id, "max_c": 200.0, "slots": 2, "downtime": ()} | changes)


def a_spool(id: str = "s1", material: str = "ABS", **changes: Any) -> Spool:
    return Spool(
        **{
            "id": id,
            "material": material,
            "lot": "L1",
            "grams": 1000.0,
            "body_max_c": 100.0,
            "certs": (),
            "available_from": at(-WEEK_MIN),
            "dried": False,
            "exposed_min": 0,
            "drying": None,
        }
        | changes
    )


def a_feed(material: str = "ABS", **changes: Any) -> Feed:
    return Feed(**{"material": material, "grams": 50.0, "nozzle_mm": (0.4,), "certs": ()} | changes)


def a_job(id: str = "J1", **changes: Any) -> Job:
    return Job(
        **{
            "id": id,
            "order": f"o-{id}",
            "part": f"part {id}",
            "quantity": 1,
            "print_min": 60,
            "size_mm": (100.0, 100.0, 50.0),
            "needs_qualified": (),
            "anneal": False,
            "finish_min": 0,
            "release": at(-WEEK_MIN),
            "due": None,
            "weight": 1.0,
            "same_lot_as": None,
            "pinned": None,
            "feeds": (a_feed(),),
            "progress": None,
        }
        | changes
    )


def a_pin(printer: str = "P1", print_start: int = 120) -> Pin:
    return Pin(printer, at(print_start))


def steps(*edges: int) -> tuple[Step, ...]:
    """Steps without a gap: `steps(0, 4, 30)` is a changeover 0–4 and a preheat 4–30."""
    return tuple(
        Step(kind, at(start), at(end))
        for kind, start, end in zip(PRINTER_STEPS, edges, edges[1:], strict=False)
    )


def a_progress(*edges: int, printer: str = "P1", feeds: tuple[FeedChoice, ...] | None = None) -> Progress:
    """A job begun on a printer, its begun steps without a gap at these minutes."""
    return Progress(printer, feeds or (FeedChoice("H1", "n04", "s1"),), steps(*(edges or (-30, -26, 40))))


def a_dryer_run(id: str = "r1", spools: tuple[str, ...] = ("s1",), **changes: Any) -> DryerRun:
    return DryerRun(
        **{"id": id, "dryer": "D1", "setpoint_c": 80.0, "start": at(-60), "end": at(190), "spools": spools}
        | changes
    )


def an_oven_run(id: str = "v1", jobs: tuple[str, ...] = ("J1",), **changes: Any) -> OvenRun:
    return OvenRun(
        **{"id": id, "oven": "O1", "temp_c": 110.0, "start": at(-60), "end": at(60), "jobs": jobs} | changes
    )


def a_scenario(**changes: Any) -> Scenario:
    """One printer, one polymer, one spool, one job; lists or tuples replace a whole part."""
    parts: dict[str, Any] = {
        "site": a_site(),
        "shifts": (a_shift(),),
        "materials": (a_material(),),
        "printers": (a_printer(),),
        "dryers": (a_dryer(),),
        "ovens": (an_oven(),),
        "spools": (a_spool(),),
        "jobs": (a_job(),),
        "under_way": UnderWay((), ()),
    }
    for name, value in changes.items():
        parts[name] = tuple(value) if isinstance(value, list) else value
    return Scenario(**parts)


def a_planned_job(job: str = "J1", *edges: int, **changes: Any) -> PlannedJob:
    """A job on P1, its six steps without a gap at these seven minutes."""
    six = steps(*(edges or (0, 4, 60, 65, 125, 150, 156)))
    return PlannedJob(
        **{
            "job": job,
            "printer": "P1",
            "feeds": (FeedChoice("H1", "n04", "s1"),),
            "chamber_c": 70.0,
            "oven_run": None,
            "done": six[-1].end,
            "late_min": 0,
            "steps": six,
        }
        | changes
    )


def a_plan(**changes: Any) -> Plan:
    return Plan(
        **{
            "scenario_hash": "0" * 64,
            "made_at": PLAN_START,
            "late_cost": 0.0,
            "attended_min": 0,
            "preheat_min": 0,
            "lower_bound": None,
            "seconds": 0.0,
            "seed": 1,
            "jobs": (),
            "dryer_runs": (),
            "oven_runs": (),
            "forced": (),
            "unplaced": (),
        }
        | changes
    )
