"""Improve one part of a plan, all else where it is."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduler.planning.compiled import Kernels, Pool, layout
from scheduler.planning.engine import Chain
from scheduler.planning.kernel.tables import FREE, STAYS
from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.part import Answer, Errand, Part
from scheduler.planning.parts.rows import Rows, array, put_rows, rows_of_pool

#: Seconds between two looks at the clock, and rounds of the first step.
LOOK_S, FIRST_STEP = 0.05, 16
#: Minutes after which another part has the odd one of the spare hands.
TURN_MIN = 480
#: Later than any plan, and still far from the end of the whole numbers.
EVER = 1 << 29


@dataclass
class Bench:
    """Where one worker works: a pool of its own, used again for errand after errand."""

    ground: Ground
    kernels: Kernels
    timer: Callable[[], float] = time.monotonic
    _pool: Pool | None = field(default=None)

    def laid_out(self, rows: Rows) -> Pool:
        """The pool with the plan of the rows in it, as far as it stands."""
        whole, real = self.ground.pool.whole, self.ground.pool.real
        if self._pool is None:
            self._pool = replace(self.ground.pool, whole=np.zeros_like(whole), real=np.zeros_like(real))
        kept, kept_real = int(whole[layout.KEPT_AT]), int(whole[layout.KEPT_REALS_AT])
        self._pool.whole[:kept], self._pool.real[:kept_real] = whole[:kept], real[:kept_real]
        put_rows(self._pool, self.kernels, rows)
        return self._pool

    def improve(self, errand: Errand, stop: Callable[[], bool] = lambda: False) -> Answer:
        """Carry out an errand; ``stop`` is asked now and then, True ends it early."""
        began, cpu = self.timer(), time.thread_time()
        base = Rows.unpacked(errand.rows)
        pool = self.laid_out(base)
        confine(pool, errand.part)
        array(pool, "S", "tune")[: len(errand.tuning)] = errand.tuning
        array(pool, "S", "dice")[:] = 1 + errand.seed * 7919 % 2000000000, 1 + errand.seed % 2000000000
        chain = Chain(self.kernels, pool, pool.spans["S", "told"][0], pool.spans["S", "tune"][0])
        chain.restart()
        before = chain.best
        self._anneal(chain, errand, began, stop)
        pool.restore()
        after = rows_of_pool(pool, self.ground.ways, self.ground.settled)
        jobs = after.changed_from(base)
        return Answer(
            errand.number,
            errand.base,
            jobs,
            after.whole[jobs],
            after.celsius[jobs],
            before - chain.best,
            chain.rounds,
            time.thread_time() - cpu,
        )

    def _anneal(self, chain: Chain, errand: Errand, began: float, stop: Callable[[], bool]) -> None:
        step = FIRST_STEP
        while True:
            before = self.timer()
            if errand.rounds is not None:
                over = chain.rounds / errand.rounds if errand.rounds > 0 else 1.0
                step = min(max(1, errand.rounds // 20), errand.rounds - chain.rounds)
            else:
                over = (before - began) / max(1e-9, errand.seconds)
            if over >= 1.0 or stop():
                return
            chain.run(step, errand.hot * (errand.cold / errand.hot) ** over)
            if errand.rounds is None:
                took = max(1e-4, self.timer() - before)
                step = max(1, min(4 * step, int(step * LOOK_S / took)))


def confine(pool: Pool, part: Part) -> None:
    """Let the search see nothing but a part: its jobs, printers, spools, dryers, ovens and hands."""
    narrow(pool, "fit_off", part.printers[array(pool, "P", "fit_printer")], "fit_printer", "fit_ways")
    kept = part.spools[array(pool, "P", "cand")]
    places = np.concatenate([[0], np.cumsum(kept)])
    for name in ("cand_lo", "cand_hi"):
        bounds = array(pool, "P", name)
        bounds[:] = places[bounds]
    _close_ranks(array(pool, "P", "cand"), kept)
    narrow(pool, "an_off", part.machines[array(pool, "P", "an_machine")], "an_machine")
    _own_dryers_first(pool, part.machines)
    hands = array(pool, "S", "hands")
    turn = (part.share + np.arange(len(hands)) // TURN_MIN) % part.shares
    own = hands // part.shares + (turn < hands % part.shares)
    hands[:] = np.where(hands > 0, own, hands)
    fixed = array(pool, "S", "fixed")
    mine = np.zeros(len(fixed), np.bool_)
    mine[part.jobs] = True
    fixed[(fixed == FREE) & ~mine & (array(pool, "S", "printer") >= 0)] = STAYS
    listed = array(pool, "S", "part")
    listed[0] = len(part.jobs)
    listed[1 : 1 + len(part.jobs)] = part.jobs


def narrow(pool: Pool, off: str, kept: npt.NDArray[np.bool_], *names: str) -> None:
    """Leave out of the arrays ``names`` what is not kept, their offsets with it."""
    offsets = array(pool, "P", off)
    offsets[:] = np.concatenate([[0], np.cumsum(kept)])[offsets]
    for name in names:
        _close_ranks(array(pool, "P", name), kept)


def _close_ranks(values: Any, kept: npt.NDArray[np.bool_]) -> None:
    values[: int(kept.sum())] = values[kept]


def _own_dryers_first(pool: Pool, machines: npt.NDArray[np.bool_]) -> None:
    """Order every drying class's runs, the part's own first, and let new ones be looked for among those.

    None is left out: a run on another dryer that one of the part's spools leaves must still be judged.
    """
    off, to = array(pool, "P", "dry_off"), array(pool, "P", "dry_to")
    own = machines[array(pool, "P", "dry_machine")]
    classes = np.repeat(np.arange(len(to)), np.diff(off))
    order = np.lexsort((~own, classes))
    for name in ("dry_machine", "dry_set_c", "dry_min"):
        values = array(pool, "P", name)
        values[:] = values[order]
    to[:] = off[:-1] + np.bincount(classes[own], minlength=len(to))
