"""Every stay that a job could have on a printer: when it may begin, when it then ends, how late the job is.

A stay is a printer's time from a job's changeover to its unloading. Each is the shortest of its kind: the
least changeover, the shortest preheat from any temperature that the chamber can have, no wait that the
shifts and the machine's downtime don't force. No plan can do better, so a bound over these stays holds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from scheduler.planning.kernel.alone import done_alone, spool_soonest
from scheduler.planning.kernel.heat import chamber_at, preheat_need, print_minutes
from scheduler.planning.kernel.tables import NEVER, Problem, State

Minutes = npt.NDArray[np.int64]
Marks = npt.NDArray[np.bool_]
Hours = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Stays:
    """Stays of one job on one machine of a row of like ones.

    Parameters
    ----------
    row : int
        Which row of like machines.
    start, end : array of int
        Changeover's start and unload's end, minutes.
    late : array of float
        Weighted late minutes of the job after each.
    """

    row: int
    start: Minutes
    end: Minutes
    late: Hours


def next_true(marks: Marks) -> Minutes:
    """For each minute, the first marked one at or after it; `NEVER` if none. One longer than ``marks``."""
    at = np.full(len(marks) + 1, NEVER, dtype=np.int64)
    at[:-1] = np.where(marks, np.arange(len(marks)), NEVER)
    return np.minimum.accumulate(at[::-1])[::-1]


class Shop:
    """What the stays of all jobs have in common.

    Parameters
    ----------
    P, S : Problem, State
        ``S`` holds the work under way and nothing else.
    until : int
        Stays that begin later than this are left out, the soonest apart.
    """

    def __init__(self, P: Problem, S: State, until: int) -> None:
        self.P, self.S, self.until = P, S, until
        # A step that takes no time needs nobody, so it may come after the last shift; what ends later than
        # a job without a place counts is no better than that.
        needs_nobody = min(P.plate_min, P.start_min, P.unload_min, P.oven_load_min) <= 0
        self.minutes = 1 + (P.left_out_at if needs_nobody else P.horizon)
        t = np.arange(self.minutes)
        self.staffed: Marks = np.zeros(self.minutes, dtype=bool)
        self.staffed[: P.horizon] = np.asarray(P.staffed_next[: P.horizon]) == t[: P.horizon]
        self.stretch_end: Minutes = t.copy()
        self.stretch_end[: P.horizon] = np.asarray(P.stretch_end[: P.horizon])
        self.stretch_end[~self.staffed] = t[~self.staffed]
        self.floor = [
            max(0, P.p_free[p], S.unload_end[S.last[p]] if S.last[p] >= 0 else 0) for p in range(P.printers)
        ]
        self.warmest = self._warmest()
        self._down: dict[tuple[tuple[int, int], ...], Minutes] = {}
        self._next: dict[tuple[object, ...], Minutes] = {}
        self.row_of, self.rows = self._like()
        self.with_oven = {a: next_true(self.people(min(P.oven_load_min, m))) for a, m in enumerate(P.an_min)}

    def _warmest(self) -> list[float]:
        """For each printer, the highest temperature at which a preheat could find its chamber, °C."""
        P, S = self.P, self.S
        left_c = [P.ambient_c] * P.printers
        for recipe, fit in sorted({(P.j_recipe[j], P.j_fit[j]) for j in range(P.jobs) if S.printer[j] < 0}):
            for p in P.fit_printer[P.fit_off[fit] : P.fit_off[fit + 1]]:
                left_c[p] = max(left_c[p], P.k_end_c[recipe * P.printer_kinds + P.p_kind[p]])
        out = []
        for p, end_c in enumerate(left_c):
            if S.last[p] >= 0:
                end_c = max(end_c, S.end_c[S.last[p]])
            left = chamber_at(P, p, end_c, 0, P.unload_min + P.plate_min)
            out.append(max(left, P.p_now_c[p], P.ambient_c))
        return out

    def down(self, p: int) -> Minutes:
        """How many minutes of the printer's downtime lie before each minute."""
        P = self.P
        stops = tuple(zip(P.down_start[P.p_down_off[p] : P.p_down_off[p + 1]],
                          P.down_end[P.p_down_off[p] : P.p_down_off[p + 1]], strict=True))  # fmt: skip
        if stops not in self._down:
            marks = np.zeros(self.minutes + 1, dtype=np.int64)
            for start, end in stops:
                marks[max(0, start) + 1 : max(0, end) + 1] = 1
            self._down[stops] = np.cumsum(marks)
        return self._down[stops]

    def people(self, length: int) -> Marks:
        """Minutes from which somebody is there for so long."""
        if length <= 0:
            return np.ones(self.minutes, dtype=bool)
        return self.staffed & (self.stretch_end - np.arange(self.minutes) >= length)

    def runs(self, p: int, before: int, after: int) -> Marks:
        """Minutes around which printer ``p`` is not stopped, from ``before`` earlier to ``after`` later."""
        t, down = np.arange(self.minutes), self.down(p)
        first, last = np.clip(t - before, 0, self.minutes), np.clip(t + after, 0, self.minutes)
        return np.asarray(down[last] == down[first])

    def _like(self) -> tuple[list[int], list[int]]:
        """For each printer its row of machines that print alike, the same jobs, and how many a row has."""
        P = self.P
        fits: list[list[int]] = [[] for _ in range(P.printers)]
        for fit in sorted({P.j_fit[j] for j in range(P.jobs) if self.S.printer[j] < 0}):
            for p in P.fit_printer[P.fit_off[fit] : P.fit_off[fit + 1]]:
                fits[p].append(fit)
        names: dict[tuple[object, ...], int] = {}
        row_of = []
        for p in range(P.printers):
            name = (
                tuple(fits[p]),
                P.p_kind[p],
                P.p_speed[p],
                P.p_unattended[p],
                P.p_bed_heat[p],
                P.p_heat_tau[p],
                P.p_reach_c[p],
            )
            row_of.append(names.setdefault(name, len(names)))
        return row_of, [row_of.count(row) for row in range(len(names))]

    def preheat(self, j: int, p: int) -> int:
        """Minutes of the shortest preheat of the job there, from any temperature that can be."""
        P, recipe = self.P, self.P.j_recipe[j]
        return preheat_need(P, p, recipe, min(self.warmest[p], P.r_highest_c[recipe]))

    def ends(self, j: int, p: int) -> tuple[Minutes, Minutes]:
        """For each minute from which the changeover may run, the soonest end of the stay."""
        P = self.P
        pre, cell = self.preheat(j, p), P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
        after = P.start_min + print_minutes(P, j, p) + P.k_cool_min[cell]
        place = (id(self.down(p)), P.p_unattended[p])
        key = (*place, pre, after)
        if key not in self._next:
            good = self.people(P.start_min) & self.runs(p, pre, after)
            if P.p_unattended[p] == 0:
                t = np.arange(self.minutes)
                back = np.clip(t - pre, 0, self.minutes - 1)
                good &= self.stretch_end[back] >= t + after
            self._next[key] = next_true(good)
        for name, length in (("change", P.plate_min), ("unload", P.unload_min)):
            if (*place, name) not in self._next:
                self._next[*place, name] = next_true(self.people(length) & self.runs(p, 0, length))
        change, begins, unloads = self._next[*place, "change"], self._next[key], self._next[*place, "unload"]
        start = np.flatnonzero(change[:-1] == np.arange(self.minutes))
        begin = begins[np.minimum(start + P.plate_min + pre, self.minutes)]
        cool_end = np.minimum(begin + after, self.minutes)
        end = unloads[cool_end] + P.unload_min
        kept = end < NEVER
        return start[kept], end[kept]

    def done(self, j: int, end: Minutes) -> Minutes:
        """When the job is done at the soonest after stays that end at these minutes."""
        P, program = self.P, self.P.j_anneal[j]
        if program >= 0:
            end = self.with_oven[program][np.minimum(end, self.minutes)] + P.an_min[program]
        return end + P.j_finish[j]

    def spool_at(self, j: int) -> int:
        """Soonest minute at which dry filament for each of the job's feeds could be mounted."""
        return max(spool_soonest(self.P, self.S, j, f) for f in range(self.P.j_feeds[j]))

    def fitting(self, j: int) -> list[int]:
        """The printers that fit the job."""
        P, fit = self.P, self.P.j_fit[j]
        return list(P.fit_printer[P.fit_off[fit] : P.fit_off[fit + 1]])

    def of_job(self, j: int, spool_at: int) -> Iterator[Stays]:
        """The job's stays, printers with the same ones once.

        Parameters
        ----------
        spool_at : int
            Soonest minute at which dry filament for each of its feeds can be mounted.
        """
        P, seen = self.P, set()
        soonest = {p: done_alone(P, self.S, j, p, spool_at) for p in self.fitting(j)}
        for p in soonest:
            floor = max(self.floor[p], P.j_release[j], spool_at)
            name = (self.row_of[p], floor, id(self.down(p)), soonest[p], self.preheat(j, p))
            if name in seen or floor > self.minutes:
                continue
            seen.add(name)
            start, end = self.ends(j, p)
            first = int(np.searchsorted(start, floor))
            start, end = start[first:], end[first:]
            last = int(np.searchsorted(start, self.until)) + 1
            start, end = start[:last], end[:last]
            done = np.maximum(self.done(j, end), soonest[p])
            late = P.j_weight[j] * np.maximum(0, done - P.j_due[j]).astype(float)
            if len(start):
                yield Stays(self.row_of[p], start, end, late)
