"""What all parts of the model share: the shop's figures, the model, who is wanted when."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from ortools.sat.python import cp_model

from scheduler.planning.construct import Base
from scheduler.planning.kernel.tables import NEVER, Problem, State
from scheduler.planning.problem import Task

#: Runs of one temperature in one dryer or of one program in one oven, at most.
RUNS = 4
#: Idle minutes of a chamber between which a preheat is as long as the worst asks for.
EDGES_MIN = (45, 90, 180)
#: Everything is over so long after the last due date, if the shop is not exact.
BEHIND_MIN = 7 * 24 * 60


@dataclass
class Shop:
    """One task's figures and its model as far as it is written.

    Parameters
    ----------
    exact : bool
        Preheats to the minute and as many runs as could be wanted; for tiny shops.
    """

    task: Task
    base: Base
    exact: bool
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    #: Attended steps.
    attended: list[cp_model.IntervalVar] = field(default_factory=list)
    #: What each dryer or oven does, where it does one thing at a time.
    turns: dict[int, list[cp_model.IntervalVar]] = field(default_factory=lambda: defaultdict(list))

    def __post_init__(self) -> None:
        self.S: State = self.base.begun_state()
        beside = Base(self.task)
        beside.state()
        self.held = beside.held
        P, jobs = self.P, self.task.scenario.jobs
        self.todo = [
            j
            for j in range(P.jobs)
            if self.S.printer[j] < 0
            and P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1]
            and jobs[j].id not in self.held
        ]

        dues = [due for due in P.j_due if due < NEVER]
        begun = max(self.S.unload_end, default=0)
        until = max([begun, *dues]) + BEHIND_MIN
        #: No step lies behind this minute.
        self.until = P.horizon if self.exact else min(P.horizon, until)

    @property
    def P(self) -> Problem:
        """The figures."""
        return self.task.problem

    def when_staffed(self, length: int, floor: int = 0) -> cp_model.Domain:
        """Minutes from which somebody is there for so long."""
        P = self.P
        if length <= 0:
            return cp_model.Domain(floor, max(floor, self.until))
        t = np.arange(self.until)
        stretch = np.asarray(P.stretch_end[: self.until])
        good = (np.asarray(P.staffed_next[: self.until]) == t) & (stretch - t >= length) & (t >= floor)
        return marked(good)

    def fixed(self, start: int, end: int, name: str) -> cp_model.IntervalVar:
        """Minutes taken by what is no choice."""
        return self.model.new_fixed_size_interval_var(start, end - start, name)

    def bind_hands(self) -> None:
        """In no minute do more attended steps run than hands are free beside begun work."""
        P = self.P
        free = np.maximum(0, np.array(self.S.hands[: self.until + 1]))
        free[self.until :] = 0
        most = int(free.max(initial=0))
        edges = [0, *(np.flatnonzero(np.diff(free)) + 1).tolist(), self.until]
        taken = [(a, b, most - int(free[a])) for a, b in pairwise(edges) if b > a and free[a] < most]
        far = (self.until, P.left_out_at + 1, most)
        intervals = [self.fixed(a, b, f"taken {a}") for a, b, _ in [*taken, far]]
        demands = [1] * len(self.attended) + [less for _, _, less in [*taken, far]]
        self.model.add_cumulative([*self.attended, *intervals], demands, most)

    def bind_turns(self) -> None:
        """Batch dryers and ovens do one thing at a time, beside begun runs and downtime."""
        P, S = self.P, self.S
        for b, chosen in self.turns.items():
            there = [self.fixed(start, end, f"stop {b}") for start, end in self.stops(b)]
            for k in range(S.machine_n[b]):
                run = S.machine_run[b * P.machine_cap + k]
                if S.run_end[run] > 0:
                    there.append(self.fixed(max(0, S.run_start[run]), S.run_end[run], f"begun {b}"))
            self.model.add_no_overlap([*chosen, *there])

    def stops(self, b: int) -> list[tuple[int, int]]:
        """Downtime of a dryer or oven still to come."""
        P = self.P
        lo, hi = P.b_down_off[b], P.b_down_off[b + 1]
        stops = zip(P.b_down_start[lo:hi], P.b_down_end[lo:hi], strict=True)
        return [(max(0, start), end) for start, end in stops if end > max(0, start)]


def marked(good: np.ndarray) -> cp_model.Domain:
    """The marked minutes."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], good.astype(int), [0]))))
    return cp_model.Domain.from_intervals([[int(a), int(b) - 1] for a, b in edges.reshape(-1, 2)])
