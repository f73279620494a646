"""A plan in the pools as rows of figures that can travel, and back."""

from __future__ import annotations

import hashlib
import zlib
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduler.planning.compiled import Kernels, Pool
from scheduler.planning.compiled.layout import fields
from scheduler.planning.kernel.again import G_ROW, G_RUNS, G_TIMES

Whole = npt.NDArray[np.int32]
Real = npt.NDArray[np.float64]

#: The figures of a job's minutes, in the order of a row.
TIMES = (
    "change",
    "change_end",
    "heat",
    "begin",
    "print_start",
    "print_end",
    "cool_end",
    "unload",
    "unload_end",
    "done",
)


def array(pool: Pool, owner: str, name: str) -> Any:
    """One array of a pool, of int32 or float64, in place."""
    at, length = pool.spans[owner, name]
    from_pool = pool.real if fields()[owner, name].real else pool.whole
    return from_pool[at : at + length]


def figure(pool: Pool, name: str) -> int:
    """One whole figure of the problem."""
    return int(pool.whole[fields()["P", name].slot])


@dataclass(frozen=True)
class Rows:
    """Every job's place, or none.

    Attributes
    ----------
    whole : int32 array of shape (jobs, `G_ROW`)
        As `State.given` has them; the first figure is -1 for a job that has no row: it has no place,
        or has begun.
    celsius : float64 array of shape (jobs, 3)
        Setpoints of its runs.
    """

    whole: Whole
    celsius: Real

    @property
    def name(self) -> str:
        """What these rows are called: the same only for the same rows."""
        mark = hashlib.blake2b(self.whole.tobytes(), digest_size=16)
        mark.update(self.celsius.tobytes())
        return mark.hexdigest()

    def changed_from(self, other: Rows) -> Whole:
        """The jobs whose rows differ, ascending."""
        differ = (self.whole != other.whole).any(axis=1) | (self.celsius != other.celsius).any(axis=1)
        return np.flatnonzero(differ).astype(np.int32)

    def packed(self) -> bytes:
        """For a message."""
        return zlib.compress(self.whole.tobytes() + self.celsius.tobytes(), 1)

    @staticmethod
    def unpacked(message: bytes) -> Rows:
        """The rows of `packed`."""
        flat = zlib.decompress(message)
        jobs = len(flat) // (4 * G_ROW + 24)
        whole = np.frombuffer(flat, np.int32, jobs * G_ROW).reshape(jobs, G_ROW)
        celsius = np.frombuffer(flat, np.float64, 3 * jobs, jobs * G_ROW * 4).reshape(jobs, 3)
        return Rows(whole, celsius)


class Ways:
    """Finds the way of each placed job: the heads and nozzles that it has on its printer.

    Parameters
    ----------
    pool : Pool
        With every printer and way of the whole shop.
    """

    def __init__(self, pool: Pool) -> None:
        off, printer = array(pool, "P", "fit_off"), array(pool, "P", "fit_printer")
        self.printers = figure(pool, "printers")
        sets = np.repeat(np.arange(len(off) - 1, dtype=np.int64), np.diff(off))
        self.keys = sets * self.printers + printer
        self.fit_ways = array(pool, "P", "fit_ways").copy()
        self.j_fit = array(pool, "P", "j_fit").copy()
        self.feeds = array(pool, "P", "j_feeds").copy()
        self.head_off = array(pool, "P", "p_head_off").copy()
        self.way_off = array(pool, "P", "way_off").tolist()
        self.heads = array(pool, "P", "way_head").reshape(-1, 2).tolist()
        self.nozzles = array(pool, "P", "way_nozzle").reshape(-1, 2).tolist()
        self._known: dict[tuple[int, ...], int] = {}

    def of(self, pool: Pool, jobs: npt.NDArray[np.int64]) -> Whole:
        """The way of each of the jobs."""
        printer = array(pool, "S", "printer")[jobs]
        at = np.searchsorted(self.keys, self.j_fit[jobs].astype(np.int64) * self.printers + printer)
        refs = np.stack([2 * jobs, 2 * jobs + 1], axis=1)
        heads = array(pool, "S", "head")[refs] - self.head_off[printer][:, None]
        nozzles = array(pool, "S", "nozzle")[refs]
        asked = np.column_stack([self.fit_ways[at], self.feeds[jobs], heads, nozzles])
        distinct, which = np.unique(asked, axis=0, return_inverse=True)
        return np.array([self._way(*row) for row in distinct.tolist()], np.int32)[which.reshape(-1)]

    def _way(self, ways: int, feeds: int, *places: int) -> int:
        key = (ways, feeds, *places)
        if key not in self._known:
            self._known[key] = next(
                way
                for way in range(self.way_off[ways], self.way_off[ways + 1])
                if all(
                    self.heads[way][f] == places[f] and self.nozzles[way][f] == places[2 + f]
                    for f in range(feeds)
                )
            )
        return self._known[key]


@dataclass(frozen=True)
class Settled:
    """What every plan of a shop has in it: work under way, pinned and frozen jobs.

    Attributes
    ----------
    jobs : bool array
        Those jobs; they have no row.
    runs : int64 array
        Each spool's stay in a dryer that was for one of them, as `_visits` numbers it.
    """

    jobs: npt.NDArray[np.bool_]
    runs: npt.NDArray[np.int64]


def settled_in(pool: Pool) -> Settled:
    """What is in the pool, if it has nothing else in it."""
    run, begun = array(pool, "S", "run"), array(pool, "S", "run_begun")
    refs = np.flatnonzero(run >= 0)
    refs = refs[begun[run[refs]] == 0]
    visits = _visits(pool, array(pool, "S", "spool")[refs], run[refs])
    return Settled(array(pool, "S", "printer") >= 0, visits)


def _visits(pool: Pool, spools: npt.NDArray[np.int64], runs: npt.NDArray[np.int32]) -> npt.NDArray[np.int64]:
    """A number for each spool's stay in a run, the same in every plan."""
    machines, horizon = figure(pool, "machines"), figure(pool, "left_out_at") + 1
    machine = array(pool, "S", "run_machine")[runs].astype(np.int64)
    start = array(pool, "S", "run_start")[runs]
    stays: npt.NDArray[np.int64] = (spools.astype(np.int64) * machines + machine) * horizon + start
    return stays


def rows_of_pool(pool: Pool, ways: Ways, settled: Settled) -> Rows:
    """The rows of the plan in the pool."""
    n = len(settled.jobs)
    whole = np.full((n, G_ROW), 0, np.int32)
    whole[:, 0] = -1
    celsius = np.zeros((n, 3))
    jobs = np.flatnonzero((array(pool, "S", "printer") >= 0) & ~settled.jobs)
    two = ways.feeds[jobs] == 2
    whole[jobs, 0] = jobs
    whole[jobs, 1] = array(pool, "S", "printer")[jobs]
    whole[jobs, 2] = ways.of(pool, jobs)
    spool = array(pool, "S", "spool")
    whole[jobs, 3] = spool[2 * jobs]
    whole[jobs, 4] = np.where(two, spool[2 * jobs + 1], -1)
    for k, name in enumerate(TIMES):
        whole[jobs, G_TIMES + k] = array(pool, "S", name)[jobs]
    run = runs_before(pool, 2 * n, settled)
    first, second = run[2 * jobs], np.where(two, run[2 * jobs + 1], -1)
    baked = array(pool, "S", "oven_run")[jobs]
    machine, start = array(pool, "S", "run_machine"), array(pool, "S", "run_start")
    end, set_c = array(pool, "S", "run_end"), array(pool, "S", "run_set_c")
    for k, runs in enumerate((first, second, baked)):
        at = G_RUNS + 4 * k
        there = runs >= 0
        whole[jobs, at] = np.where(there, machine[runs], -1)
        whole[jobs, at + 1] = np.where(there, start[runs], 0)
        whole[jobs, at + 2] = np.where(there, end[runs], 0)
        if k < 2:
            celsius[jobs, k] = np.where(there, set_c[runs], 0.0)
    whole[jobs, G_RUNS + 7] = (second >= 0) & (second == first)
    return Rows(whole, celsius)


def runs_before(pool: Pool, feeds: int, settled: Settled) -> Whole:
    """For each feed the drying run right before its mount in its spool's history, -1 for none.

    Not `State.run`, which names the feed that a run was made for: another may have come in between.
    Runs of what is settled are not told.
    """
    off, n = array(pool, "P", "chain_off"), array(pool, "S", "chain_n")
    ref = array(pool, "S", "chain_ref")
    place = np.arange(len(ref), dtype=np.int64)
    spool = np.repeat(np.arange(len(n)), np.diff(off))
    used = place < (off[:-1] + n)[spool]
    followed = used.copy()
    followed[:-1] &= used[1:] & (spool[1:] == spool[:-1])
    followed[-1:] = False
    runs = np.flatnonzero(followed & (ref < 0))
    runs = runs[ref[runs + 1] >= 0]
    runs = runs[array(pool, "S", "run_begun")[-1 - ref[runs]] == 0]
    runs = runs[~np.isin(_visits(pool, spool[runs], -1 - ref[runs]), settled.runs)]
    found = np.full(feeds, -1, np.int32)
    found[ref[runs + 1]] = -1 - ref[runs]
    return found


def put_rows(pool: Pool, kernels: Kernels, rows: Rows) -> int:
    """Put every row back into a pool, first layer by first layer; how many stand as they were.

    What does not hold beside what came before it keeps its first layer if it can; else it has no place.
    """
    there = np.flatnonzero(rows.whole[:, 0] >= 0)
    begin = rows.whole[there, G_TIMES + 3]
    order = there[np.lexsort((there, begin))]
    array(pool, "S", "given")[: G_ROW * len(order)] = rows.whole[order].reshape(-1)
    array(pool, "S", "given_c")[: 3 * len(order)] = rows.celsius[order].reshape(-1)
    return int(kernels.put_all_given(pool.whole, pool.real, len(order)))
