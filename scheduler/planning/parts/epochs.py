"""Improve a plan in parts, epoch by epoch: draw, let a crew work, put together, draw anew."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from scheduler.planning.compiled import Kernels
from scheduler.planning.engine import Engine
from scheduler.planning.kernel.tables import State
from scheduler.planning.parts.crew import Crew, Threads
from scheduler.planning.parts.draw import Draw, draw
from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.merge import Merger
from scheduler.planning.parts.part import Errand
from scheduler.planning.parts.rows import Rows

#: Seconds of an epoch, and the rounds of each worker in it where rounds decide.
EPOCH_S, EPOCH_ROUNDS = 2.0, 4000
#: How long beyond its time an answer is waited for: seconds, and as a part of that time.
GRACE_S, GRACE = 1.0, 0.5


@dataclass
class Epochs:
    """The work on one shop.

    Parameters
    ----------
    ground : Ground
        The shop.
    engine : Engine
        Its temperatures and its tuning hold for the parts.
    rows : Rows
        The plan to begin with.
    crew : Crew
        Who works; it has begun with the ground.
    seed : int
        Of the drawing and of every part's search.
    """

    ground: Ground
    kernels: Kernels
    engine: Engine
    rows: Rows
    crew: Crew
    seed: int
    how: Draw = field(default_factory=Draw)
    rounds: int = 0
    cpu_s: float = 0.0
    answered: int = 0
    merger: Merger = field(init=False)
    _epoch: int = 0
    _sent: int = 0

    def __post_init__(self) -> None:
        self.merger = Merger(self.ground, self.kernels, self.rows)
        self.merger.make_room()

    def run(
        self,
        over: float,
        over_then: float,
        seconds: float,
        rounds: int | None,
        give_up: Callable[[], bool],
    ) -> None:
        """One epoch.

        Parameters
        ----------
        over, over_then : float
            How much of the whole search is over before and after it, 0 to 1.
        seconds : float
            How long each worker works.
        rounds : int or None
            How many rounds each works instead.
        give_up : callable
            True ends it early, without what was not yet answered.
        """
        if self.crew.size < 1:
            # Everybody has died, and so have those who came after them.
            self.crew = Threads(1, self.kernels)
            self.crew.begin(self.ground)
        seed = [self.seed, self._epoch]
        parts = draw(self.ground, self.merger.rows, self.how, self.crew.size, seed)
        self._epoch += 1
        if not parts:
            self.rounds += rounds or 0
            return
        packed, base = self.merger.rows.packed(), self.merger.base
        errands = []
        for part in parts:
            self._sent += 1
            errands.append(
                Errand(
                    self._sent,
                    self.ground.name,
                    base,
                    packed,
                    part,
                    1 + (self.seed * 7919 + self._sent * 104729) % 2000000000,
                    self.engine.heat(over),
                    self.engine.heat(over_then),
                    seconds,
                    rounds,
                    self.engine.tune(),
                )
            )
        wait_s = None if rounds is not None else seconds + max(GRACE_S, GRACE * seconds)
        answers = self.crew.work(errands, wait_s, give_up)
        done = sum(answer.rounds for answer in answers)
        # Where rounds decide, those of a lost answer count too: the work must come to an end.
        self.rounds += done if rounds is None else max(done, rounds * len(parts))
        self.cpu_s += sum(answer.cpu_s for answer in answers)
        self.answered += len(answers)
        self.merger.take(answers)

    def figures(self) -> tuple[int, float]:
        """Jobs placed in, and late hours of, the plan."""
        pool = self.merger.pool()
        return self.engine.figures_of(pool)

    def state(self, like: State) -> State:
        """The plan as lists; ``like`` gives what lies in no pool."""
        return self.merger.pool().state(like)
