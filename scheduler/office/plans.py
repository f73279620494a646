"""Plans: asked for, made by a worker, looked at, published or put aside."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from threading import Event as Signal
from threading import Thread
from typing import TYPE_CHECKING, Any

from scheduler.model.errors import SoaklineError
from scheduler.office.clock import Clock
from scheduler.office.quotes.expiry import expire_holds
from scheduler.office.refused import Refused
from scheduler.office.run_ends import asked_to_keep
from scheduler.office.run_progress import Reporter, Stopped, still_wanted
from scheduler.office.shop import OFFICE, way_to
from scheduler.store import Event, NoShop, Record, Unit

if TYPE_CHECKING:
    from scheduler.planning.parts.crew import Crew

#: A worker gives a sign of life so often even while the planner has nothing to tell, seconds.
HEARTBEAT_S = 10.0
#: A working run without a sign of life for so long has lost its worker.
LOST_AFTER = timedelta(seconds=60)
#: A run that nobody took up for so long never will be.
FORGOTTEN_AFTER = timedelta(minutes=15)
#: Breaches that a failed run's message shows.
SHOWN_BREACHES = 5
#: Who is named in events for what the planner did.
PLANNER = "planner"

log = logging.getLogger(__name__)


class AlreadyPlanning(Refused):
    """A plan is being made; one at a time is enough."""

    def __init__(self, run_id: int) -> None:
        super().__init__(f"a plan is being made already (run {run_id}); wait for it or stop it")
        self.run_id = run_id


def request_plan(record: Record, clock: Clock, who: str = OFFICE) -> int:
    """Ask for a plan of the shop of now; a worker carries it out.

    Returns
    -------
    int
        The run's id.

    Raises
    ------
    NoShop
        If nothing is recorded to plan.
    AlreadyPlanning
        If a run has not ended yet.
    """
    with record.writing() as unit:
        if unit.fleet.version() == 0:
            raise NoShop
        _close_lost_runs(unit, clock)
        for run in unit.runs.open():
            raise AlreadyPlanning(run.id)
        run_id = unit.runs.create(clock())
        unit.events.append(Event(clock(), "plan asked for", who, "run", str(run_id)))
        return run_id


def reconcile_runs(record: Record, clock: Clock) -> tuple[int, ...]:
    """Fail every run whose worker is gone, with a plain message; their ids."""
    with record.writing() as unit:
        return _close_lost_runs(unit, clock)


def carry_out(
    record: Record, clock: Clock, run_id: int, seconds: float, seed: int, crew: Crew | None = None
) -> int | None:
    """Make the plan that a run asks for, check it, and record it as a proposal.

    Whatever goes wrong is recorded with the run, in words; a plan that breaks a rule is never
    stored.

    Parameters
    ----------
    seconds : float
        How long the plan may be improved.
    seed : int
        Of the planner's random choices.
    crew : Crew or None
        Who works on parts of a very large shop; threads of this process if not given.

    Returns
    -------
    int or None
        The proposal's number; ``None`` if the run failed or was stopped.

    Raises
    ------
    Refused
        If the run does not wait for a worker.
    """
    _take_up(record, clock, run_id)
    expire_holds(record, clock)
    try:
        with _sign_of_life(record, clock, run_id):
            return _make(record, clock, run_id, seconds, seed, crew)
    except Stopped:
        log.info("planning run %d was stopped", run_id)
    except SoaklineError as error:
        log.warning("planning run %d failed: %s", run_id, error)
        _fail(record, clock, run_id, str(error))
    except Exception as error:
        # The run must not look as if it still went on; the log keeps the whole story.
        log.exception("planning run %d broke", run_id)
        _fail(
            record,
            clock,
            run_id,
            f"The planner broke off ({type(error).__name__}: {error})."
            " Nothing was changed; the log says more.",
        )
    return None


def publish(record: Record, clock: Clock, number: int, who: str = OFFICE) -> None:
    """Make a proposal the plan that the floor works to.

    Raises
    ------
    Refused
        If it is no proposal, or the shop was changed since it was made: it could break a rule.
    """
    with record.writing() as unit:
        stored = next((plan for plan in unit.plans.list() if plan.number == number), None)
        if stored is None:
            raise Refused(f"there is no plan {number}")
        if stored.state != "proposal":
            raise Refused(f"plan {number} is {stored.state}, not a proposal")
        version = unit.fleet.version()
        if stored.scenario_version != version:
            raise Refused(
                f"the shop was changed since plan {number} was made (version {stored.scenario_version},"
                f" now {version}); plan again, then publish the new plan"
            )
        _still_so(unit, number)
        unit.plans.publish(number, clock())
        unit.events.append(Event(clock(), "plan published", who, "plan", str(number)))


def _still_so(unit: Unit, number: int) -> None:
    """Refuse a plan that something on the floor has overtaken."""
    floor, basis = unit.floor.state(), unit.plans.basis(number)
    if floor is None:
        return
    known = basis[1] if basis else 0
    if floor.strayed_event > known:
        raise Refused(
            f"the floor has gone another way since plan {number} was made ({floor.strayed_why});"
            " plan again, then publish the new plan"
        )


def discard(record: Record, clock: Clock, number: int, who: str = OFFICE) -> None:
    """Put a proposal aside; :class:`Refused` if it is none."""
    with record.writing() as unit:
        stored = next((plan for plan in unit.plans.list() if plan.number == number), None)
        if stored is None:
            raise Refused(f"there is no plan {number}")
        if stored.state != "proposal":
            raise Refused(f"plan {number} is {stored.state}, not a proposal")
        unit.plans.discard(number)
        unit.events.append(Event(clock(), "plan discarded", who, "plan", str(number)))


def _take_up(record: Record, clock: Clock, run_id: int) -> None:
    with record.writing() as unit:
        run = unit.runs.get(run_id)
        if run is None:
            raise Refused(f"there is no planning run {run_id}")
        if run.state != "waiting":
            raise Refused(f"planning run {run_id} does not wait for a worker: it is {run.state}")
        unit.runs.update(run_id, state="working", heartbeat_at=clock(), doing="reading the shop")


def _make(record: Record, clock: Clock, run_id: int, seconds: float, seed: int, crew: Crew | None) -> int:
    # Loaded here because a planner takes its time to load and only workers need one.
    from scheduler.checking import check
    from scheduler.model.codec import scenario_hash
    from scheduler.office.measured import surroundings
    from scheduler.physics.derive import derive
    from scheduler.planning import make_plan

    with record.reading() as unit:
        version = unit.fleet.version()
        floor = unit.floor.state()
        way = way_to(unit, clock())
        published = unit.plans.published()
        told = surroundings(unit, way.scenario, clock()) if unit.water.room_air().plan_with_model else None
        promised = unit.quotes.planned_dates()
    # Outside of the unit: a reader keeps the writers of a file waiting.
    scenario = planned_for = way.end()
    if told is not None:
        scenario = derive(scenario, told).scenario
    hashed = scenario_hash(scenario)
    enough = Signal()
    plan = make_plan(
        scenario,
        scenario_hash=hashed,
        made_at=clock(),
        seconds=seconds,
        seed=seed,
        previous=published.plan if published else None,
        on_progress=Reporter(record, clock, run_id, enough),
        stop=enough.is_set,
        crew=crew,
        aims={job.id: promised[job.order] for job in scenario.jobs if job.order in promised},
    )
    breaches = check(scenario, plan, hashed)
    if breaches:
        lines = [f"{breach.rule} – {breach.who}: {breach.text}" for breach in breaches[:SHOWN_BREACHES]]
        if len(breaches) > SHOWN_BREACHES:
            lines.append(f"and {len(breaches) - SHOWN_BREACHES} more")
        raise SoaklineError(
            "The plan broke rules and was not stored; this is a fault of the planner.\n" + "\n".join(lines)
        )
    with record.writing() as unit:
        still_wanted(unit, run_id)
        number = unit.plans.add(
            plan,
            created_at=clock(),
            scenario_version=version,
            planned_from=scenario.site.plan_start,
        )
        unit.plans.keep_basis(number, planned_for, floor.last_event if floor else 0)
        unit.runs.update(
            run_id,
            state="done",
            heartbeat_at=clock(),
            ended_at=clock(),
            seconds=plan.seconds,
            placed=len(plan.jobs),
            jobs=len(scenario.jobs),
            late_cost=plan.late_cost,
            doing="",
            message="",
            plan_number=number,
        )
        figures: dict[str, Any] = {"run": run_id, "late_cost": plan.late_cost, "unplaced": len(plan.unplaced)}
        if enough.is_set():
            figures["ended_by"] = asked_to_keep(unit, run_id)
        unit.events.append(Event(clock(), "plan proposed", PLANNER, "plan", str(number), figures))
    log.info("planning run %d made plan %d", run_id, number)
    return number


@contextmanager
def _sign_of_life(record: Record, clock: Clock, run_id: int) -> Iterator[None]:
    """Record that the worker lives, from a thread, as long as the work goes on."""
    over = Signal()

    def beat() -> None:
        while not over.wait(HEARTBEAT_S):
            try:
                with record.writing() as unit:
                    unit.runs.update(run_id, heartbeat_at=clock())
            except SoaklineError as error:
                # One missed beat does no harm; the work itself reports what stays broken.
                log.warning("planning run %d could not record a sign of life: %s", run_id, error)

    thread = Thread(target=beat, name=f"run-{run_id}-alive", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def _fail(record: Record, clock: Clock, run_id: int, message: str) -> None:
    with record.writing() as unit:
        run = unit.runs.get(run_id)
        if run is not None and run.state == "working":
            unit.runs.update(run_id, state="failed", ended_at=clock(), message=message)
            unit.events.append(Event(clock(), "plan failed", PLANNER, "run", str(run_id), {"why": message}))


def _close_lost_runs(unit: Unit, clock: Clock) -> tuple[int, ...]:
    now = clock()
    closed = []
    for run in unit.runs.open():
        silent = now - run.heartbeat_at
        if run.state == "working" and silent > LOST_AFTER:
            message = (
                "The worker that made this plan is gone: no sign of life for"
                f" {silent // timedelta(seconds=1)} s. Nothing was changed; plan again."
            )
        elif run.state == "waiting" and silent > FORGOTTEN_AFTER:
            message = (
                "No worker took this run up within"
                f" {FORGOTTEN_AFTER // timedelta(minutes=1)} min. Nothing was changed; plan again."
            )
        else:
            continue
        unit.runs.update(run.id, state="failed", ended_at=now, message=message)
        unit.events.append(Event(now, "plan failed", PLANNER, "run", str(run.id), {"why": message}))
        closed.append(run.id)
    return tuple(closed)
