"""New jobs put into a plan that stands: as early as can be, every other job where it is."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from types import MappingProxyType

from scheduler.matching import Matcher
from scheduler.model import Job, Plan, PlannedJob, Scenario, Spool
from scheduler.planning.compiled import Kernels, compiled_kernels, is_built, pool_of
from scheduler.planning.construct import Base, finish
from scheduler.planning.engine import ready_state
from scheduler.planning.kernel.row import place_row
from scheduler.planning.kernel.tables import State
from scheduler.planning.problem import Task, make_task
from scheduler.planning.result import Draft

#: Weights of the choice of a place, as `Taste.weights`: the earliest finish above all, then little
#: people's time, few certificates spent on work that asks for none.
EARLIEST = [1.0, 0.0, 0.001, 0.02, 0.25]


@dataclass(frozen=True)
class Insertion:
    """A plan with new jobs in it.

    Attributes
    ----------
    scenario : Scenario
        The shop with the new jobs, and spools to be bought for them.
    added : tuple of str
        The new jobs.
    done : dict
        When each new job with a place is done.
    promised : dict
        When each promised job must be done at the latest: as `promises` says, or later where the shop
        can't keep that any more without the new jobs either.
    harmed : tuple of str
        Jobs that would be later than in ``promised``.
    """

    scenario: Scenario
    added: tuple[str, ...]
    done: dict[str, datetime]
    promised: dict[str, datetime]
    harmed: tuple[str, ...]
    task: Task
    base: Base
    state: State

    @property
    def whole(self) -> bool:
        """Whether every new job has a place, and no promise is broken for it."""
        return not self.harmed and len(self.done) == len(self.added)

    @property
    def date(self) -> datetime:
        """When all new jobs are done; ``ValueError`` if one has no place."""
        if len(self.done) < len(self.added):
            raise ValueError("a new job has no place")
        return max(self.done.values())

    def plan(self, scenario_hash: str, made_at: datetime) -> Plan:
        """The whole plan, jobs without a place with their reasons."""
        draft: Draft = finish(self.base, self.state, _kernels())
        return draft.plan(scenario_hash, made_at, 0.0, 0, None)


def insert(
    scenario: Scenario,
    plan: Plan,
    jobs: Sequence[Job],
    *,
    spools: Sequence[Spool] = (),
    aside: Collection[str] = (),
    matched: bool = True,
    limits: Mapping[str, datetime] = MappingProxyType({}),
) -> Insertion:
    """Find the earliest places for new jobs in a plan.

    Parameters
    ----------
    scenario : Scenario
        The shop that the plan stands for, at the plan's minute or later.
    jobs : sequence of Job
        New ones; their ``release`` is the soonest that work on them may begin.
    spools : sequence of Spool
        To be bought for them, ``available_from`` the day of delivery.
    aside : collection of str
        Jobs of the plan that may make room: they are placed anew behind the new ones.
    matched : bool
        Whether the plan's jobs are known to fit where they are, as they are if neither fleet nor orders
        have changed since the plan was made. If not, the matcher is asked about each.
    limits : mapping from job id to datetime
        As `promises` takes them.

    Returns
    -------
    Insertion
        Jobs of the plan keep their first layer and their end to the minute, those ``aside`` apart,
        as far as the shop still can; none is later than promised, else it stands in ``harmed``.

    Raises
    ------
    ValueError
        A new job or spool has an id that the shop knows already, or there is no new job.
    """
    if not jobs:
        raise ValueError("no job was asked for")
    known = {job.id for job in scenario.jobs} | {spool.id for spool in scenario.spools}
    for id in (*(job.id for job in jobs), *(spool.id for spool in spools)):
        if id in known:
            raise ValueError(f"{id} is in the shop already")
    shop = replace(scenario, jobs=(*scenario.jobs, *jobs), spools=(*scenario.spools, *spools))
    stays = (
        {job.job: job for job in plan.jobs if job.job in known and job.job not in aside} if matched else {}
    )
    ahead = replace(plan, jobs=tuple(job for job in plan.jobs if job.job not in aside))
    promised = promises(scenario, plan, limits)
    return _placed(shop, ahead, jobs, aside, stays, promised)


def standing(shop: Scenario, plan: Plan, added: tuple[str, ...], promised: dict[str, datetime]) -> Insertion:
    """A plan that holds the new jobs already, as an insertion."""
    task = make_task(shop, plan, Matcher(shop), {job.job: job for job in plan.jobs})
    base = Base(task, plan, steady=True)
    return _found(task, base, ready_state(base, _kernels()), added, promised)


def promises(
    scenario: Scenario, plan: Plan, limits: Mapping[str, datetime] = MappingProxyType({})
) -> dict[str, datetime]:
    """When each placed job with a due date must be done: by then, or as late as it is planned anyway.

    Parameters
    ----------
    limits : mapping from job id to datetime
        Jobs that must be done sooner than they are due: a date that is promised with a chance lies later
        than the plan's, and whoever moves the job up to it takes that chance away.
    """
    due = {job.id: job.due for job in scenario.jobs}
    promised = {}
    for planned in plan.jobs:
        wanted = due.get(planned.job)
        if wanted is not None:
            promised[planned.job] = max(min(wanted, limits.get(planned.job, wanted)), planned.done)
    return promised


def _placed(
    shop: Scenario,
    ahead: Plan,
    jobs: Sequence[Job],
    aside: Collection[str],
    stays: dict[str, PlannedJob],
    promised: dict[str, datetime],
) -> Insertion:
    task = make_task(shop, ahead, Matcher(shop), stays)
    base = Base(task, ahead, steady=True)
    kernels = _kernels()
    before = ready_state(base, kernels)
    # What stands comes first, in case that something of it has lost its place; then the new jobs.
    planned = {job.job for job in ahead.jobs}
    lost = [j for name, j in task.names.jobs.items() if name in planned and before.printer[j] < 0]
    lost = [j for j in lost if task.scenario.jobs[j].id not in base.held]
    moving = {task.scenario.jobs[j].id for j in lost}
    if moving.intersection(stays):
        # The plan does not stand as it was, so these jobs may go to other machines.
        still = {id: job for id, job in stays.items() if id not in moving}
        return _placed(shop, ahead, jobs, aside, still, promised)
    stood = _row(task, before, lost, kernels)
    promised = _still_kept(task, stood, promised, aside)
    best: Insertion | None = None
    for order in _orders(jobs):
        numbers = [task.names.jobs[id] for id in order]
        moved = sorted(
            (task.names.jobs[id] for id in aside if id in task.names.jobs),
            key=lambda j: (task.problem.j_due[j], j),
        )
        state = _row(task, stood, [*numbers, *moved], kernels)
        found = _found(task, base, state, tuple(job.id for job in jobs), promised)
        if best is None or _rank(found) < _rank(best):
            best = found
    assert best is not None
    return best


def _found(
    task: Task, base: Base, state: State, added: tuple[str, ...], promised: dict[str, datetime]
) -> Insertion:
    """What a state says of the new jobs and of the promises."""
    shop, numbers = task.scenario, task.names.jobs
    done = {id: shop.site.instant(state.done[numbers[id]]) for id in added if state.printer[numbers[id]] >= 0}
    harmed = tuple(
        id
        for id, by in promised.items()
        if id in numbers
        and (state.printer[numbers[id]] < 0 or state.done[numbers[id]] > shop.site.minute(by))
    )
    return Insertion(shop, added, done, promised, harmed, task, base, state)


def _still_kept(
    task: Task, stood: State, promised: dict[str, datetime], aside: Collection[str]
) -> dict[str, datetime]:
    """Promises as far as the shop without the new jobs still keeps them; one without a place is none.

    A print that takes longer than planned makes its own job late, and those behind it. That is no reason
    to refuse work on other machines.
    """
    site, numbers = task.scenario.site, task.names.jobs
    return {
        id: by if id in aside else max(by, site.instant(stood.done[numbers[id]]))
        for id, by in promised.items()
        if id in aside or (id in numbers and stood.printer[numbers[id]] >= 0)
    }


def _orders(jobs: Sequence[Job]) -> list[list[str]]:
    """Orders worth a try: as asked for, and the longest first; lots that follow another come after it."""
    asked = [job.id for job in jobs]
    longest = [job.id for job in sorted(jobs, key=lambda job: -job.print_min)]
    tied = any(job.same_lot_as is not None for job in jobs)
    return [asked] if tied or longest == asked else [asked, longest]


def _rank(found: Insertion) -> tuple[int, int, float]:
    missing = len(found.added) - len(found.done)
    return missing, len(found.harmed), max((at.timestamp() for at in found.done.values()), default=0.0)


def _row(task: Task, before: State, order: list[int], kernels: Kernels | None) -> State:
    """The jobs placed one after the other on a copy of ``before``."""
    if not order:
        return before
    P = task.problem
    if kernels is not None:
        pool = pool_of(P, before, 0)
        pool.write("order", order)
        pool.write("weights", EARLIEST)
        kernels.place_row(pool.whole, pool.real, 0, len(order), P.printers, 1)
        return pool.state(before)
    S = before._replace(
        **{
            name: list(value) if isinstance(value, list) else value
            for name, value in before._asdict().items()
        }
    )
    S.order[: len(order)] = order
    S.weights[: len(EARLIEST)] = EARLIEST
    place_row(P, S, 0, len(order), P.printers, 1)
    return S


def _kernels() -> Kernels | None:
    return compiled_kernels() if is_built() else None
