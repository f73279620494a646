"""One plan from one order of jobs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from scheduler.model import Forced, Plan, PlannedJob
from scheduler.planning.begun import Begun, unload_at, unloads_sooner
from scheduler.planning.compiled import Kernels
from scheduler.planning.kernel.choose import REFUSED_MOST, place_best
from scheduler.planning.kernel.tables import STAYS, State
from scheduler.planning.pins import Held, put_pinned
from scheduler.planning.problem import Task
from scheduler.planning.repair import place_left_over, unplaced_reasons
from scheduler.planning.replay import Rows, put_back, rows_of, within_freeze
from scheduler.planning.result import Draft
from scheduler.planning.state import empty_state


@dataclass(frozen=True)
class Taste:
    """How a choice among printers, spools and gaps is weighed; see `scheduler.planning.kernel.choose`.

    Parameters
    ----------
    finish, crowd, idle, effort, certificate : float
        Late hours that a later finish, an hour on a crowded printer, an idle hour, an hour of
        people and a certificate not asked for are worth.
    most : int
        Printers looked at for each job.
    gaps : bool
        Whether jobs may go into gaps between placed ones; else only behind the last of a machine.
    """

    finish: float = 0.05
    crowd: float = 0.02
    idle: float = 0.01
    effort: float = 0.02
    certificate: float = 0.5
    most: int = 24
    gaps: bool = True

    def weights(self) -> list[float]:
        """In the order of the decoder's constants."""
        return [self.finish, self.crowd, self.idle, self.effort, self.certificate]


@dataclass
class Base:
    """What every plan of a task begins with: begun work, pinned and frozen jobs.

    ``steady`` keeps the rest of begun jobs where ``previous`` has it; else it comes as early as it can.
    """

    task: Task
    previous: Plan | None = None
    steady: bool = False
    forced: list[Forced] = field(default_factory=list)
    held: dict[str, Held] = field(default_factory=dict)
    run_ids: dict[int, str] = field(default_factory=dict)
    #: What `bound.late_alone` has found; it costs seconds in a very large shop.
    alone: list[float] | None = None
    _rows_of: tuple[Rows, Rows, Rows] | None = None
    _sooner: dict[int, int] = field(default_factory=dict)

    def begun_state(self) -> State:
        """A plan with only the work under way in it."""
        state = empty_state(self.task.problem, self.task.people.hands)
        begun = Begun(self.task, state, self.previous if self.steady else None)
        begun.put_all()
        self.forced, self.run_ids = begun.forced, begun.run_ids
        for j, minute in self._sooner.items():
            unload_at(self.task.problem, state, j, minute)
        return state

    def state(self) -> State:
        """A plan with work under way, pinned and frozen jobs in it."""
        state = self.begun_state()
        pinned, frozen, _ = self._rows()
        put_back(self.task, state, pinned)
        self.held = put_pinned(self.task, state)
        put_back(self.task, state, frozen)
        for j in frozen.jobs:
            if state.printer[j] >= 0:
                state.fixed[j] = STAYS
        return state

    def as_before(self, state: State, kernels: Kernels | None = None) -> State:
        """The state with every other job of the plan before put back where that still holds."""
        _, _, free = self._rows()
        return put_back(self.task, state, free, kernels)[0]

    def hurry(self, kernels: Kernels | None) -> None:
        """From now on let begun jobs come off sooner than ``previous`` has it, where what stays allows it."""
        if self.previous is None or not self.steady:
            return
        # What came off sooner already stays so: a search by Python alone is followed by the compiled one.
        self._sooner |= unloads_sooner(self.task, self.as_before(self.state(), kernels))

    def _rows(self) -> tuple[Rows, Rows, Rows]:
        """Of the plan before: pinned jobs, those within the freeze window, the others."""
        if self._rows_of is None:
            task, jobs = self.task, {job.id: job for job in self.task.scenario.jobs}

            def is_pinned(planned: PlannedJob) -> bool:
                pin = jobs[planned.job].pinned
                return (
                    pin is not None
                    and pin.printer == planned.printer
                    and pin.print_start == planned.steps[3].start
                )

            def is_frozen(planned: PlannedJob) -> bool:
                return jobs[planned.job].pinned is None and within_freeze(task, planned)

            def is_free(planned: PlannedJob) -> bool:
                return jobs[planned.job].pinned is None and not within_freeze(task, planned)

            if self.previous is None:
                self._rows_of = (Rows(), Rows(), Rows())
            else:
                wanted = (is_pinned, is_frozen, is_free)
                pinned, frozen, free = (rows_of(task, self.previous, which) for which in wanted)
                self._rows_of = (pinned, frozen, free)
        return self._rows_of


def construct(
    base: Base,
    order: Sequence[int],
    taste: Taste,
    stop: Callable[[int], bool] = lambda placed: False,
) -> State | None:
    """Place the jobs one by one in the given order, each where it scores best.

    Parameters
    ----------
    stop : callable
        Asked after every job with how many were looked at; True gives up.

    Returns
    -------
    State or None
        ``None`` if it was stopped.
    """
    task = base.task
    P, S = task.problem, base.as_before(base.state())
    weights = taste.weights()
    left = []
    for count, j in enumerate(order):
        if S.printer[j] >= 0 or P.fit_off[P.j_fit[j]] == P.fit_off[P.j_fit[j] + 1]:
            continue
        if task.scenario.jobs[j].id in base.held:
            continue
        if not place_best(P, S, j, weights, taste.most, int(taste.gaps), REFUSED_MOST):
            left.append(j)
        if stop(count):
            return None
    for j in left:
        place_best(P, S, j, weights, P.printers, 0, REFUSED_MOST)
    return S


def finish(base: Base, state: State, kernels: Kernels | None = None) -> Draft:
    """Settle what found no place, with its reasons; by the compiled kernels if they are given."""
    state = place_left_over(base.task, state, base.held, kernels)
    return Draft(
        base.task,
        state,
        base.run_ids,
        tuple(base.forced),
        unplaced_reasons(base.task, state, base.held),
    )
