"""Very large shops as several smaller ones that share nothing: each is a shop of its own to plan."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import replace
from typing import TypeVar

import numpy as np

from scheduler.matching import Matcher
from scheduler.model import Dryer, Job, Oven, Printer, Scenario, Shift, Spool, UnderWay

Thing = TypeVar("Thing", Printer, Dryer, Oven, Spool, Job)

#: Jobs that one part should have, about; and hands of the thinnest shift that it needs at least.
PART_JOBS = 1_000
PART_HANDS = 2
#: Part of a job that fits no machine, or none together with those whose lot it must share.
NOWHERE = -1


class Ties:
    """Things that must come into the same part."""

    def __init__(self) -> None:
        self._root: dict[Hashable, Hashable] = {}

    def top(self, thing: Hashable) -> Hashable:
        """What stands for the group of ``thing``."""
        self._root.setdefault(thing, thing)
        while self._root[thing] != thing:
            self._root[thing] = self._root[self._root[thing]]
            thing = self._root[thing]
        return thing

    def tie(self, one: Hashable, other: Hashable) -> None:
        """Let two things come into the same part."""
        self._root[self.top(one)] = self.top(other)


def part_count(scenario: Scenario) -> int:
    """Into how many parts a shop is best divided; 1 for not at all."""
    thinnest = min((shift.hands for shift in scenario.shifts), default=0)
    return max(1, min(len(scenario.jobs) // PART_JOBS, thinnest // PART_HANDS))


def split(scenario: Scenario, matcher: Matcher, count: int) -> tuple[Scenario, ...]:
    """Divide a shop so that every machine, spool, job and hand is in one part.

    Machines of a kind are dealt out evenly; jobs by the machines that fit them, in the order of their
    due dates; spools by what a part's jobs draw; each shift's hands by number. What is under way,
    pinned or mounted stays with its machine, jobs of one lot stay together. A plan of all parts together
    keeps every rule of the whole, but for the choices of work under way.
    """
    ties = _ties(scenario)
    part_of = _deal_machines(scenario, ties, count)
    printers = np.array([part_of[ties.top(("printer", p.id))] for p in scenario.printers])
    _deal_jobs(scenario, matcher, ties, part_of, printers, count)
    _deal_spools(scenario, matcher, ties, part_of, count)

    def mine(kind: str, things: Iterable[Thing], k: int) -> tuple[Thing, ...]:
        return tuple(thing for thing in things if part_of[ties.top((kind, thing.id))] == k)

    parts = []
    for k in range(count):
        jobs = mine("job", scenario.jobs, k)
        dryers, ovens = mine("baker", scenario.dryers, k), mine("baker", scenario.ovens, k)
        bakers = {dryer.id for dryer in dryers} | {oven.id for oven in ovens}
        parts.append(
            replace(
                scenario,
                shifts=_hands(scenario.shifts, k, count),
                printers=mine("printer", scenario.printers, k),
                dryers=dryers,
                ovens=ovens,
                spools=mine("spool", scenario.spools, k),
                jobs=jobs,
                under_way=UnderWay(
                    tuple(run for run in scenario.under_way.dryer_runs if run.dryer in bakers),
                    tuple(run for run in scenario.under_way.oven_runs if run.oven in bakers),
                ),
            )
        )
    return tuple(part for part in parts if part.jobs and part.printers and part.shifts)


def _ties(scenario: Scenario) -> Ties:
    ties = Ties()
    known = {spool.id for spool in scenario.spools}
    for printer in scenario.printers:
        for head in printer.heads:
            if head.mounted.spool in known:
                ties.tie(("spool", head.mounted.spool), ("printer", printer.id))
    for job in scenario.jobs:
        if job.progress is not None:
            ties.tie(("job", job.id), ("printer", job.progress.printer))
            for choice in job.progress.feeds:
                ties.tie(("spool", choice.spool), ("printer", job.progress.printer))
        elif job.pinned is not None:
            ties.tie(("job", job.id), ("printer", job.pinned.printer))
        if job.same_lot_as is not None:
            ties.tie(("job", job.id), ("job", job.same_lot_as))
    for run in scenario.under_way.dryer_runs:
        for spool in run.spools:
            ties.tie(("spool", spool), ("baker", run.dryer))
    for bake in scenario.under_way.oven_runs:
        for job_id in bake.jobs:
            ties.tie(("job", job_id), ("baker", bake.oven))
    return ties


def _deal_machines(scenario: Scenario, ties: Ties, count: int) -> dict[Hashable, int]:
    """Part of each group that has a machine, so that every kind of machine is spread evenly."""
    kinds: dict[Hashable, list[Hashable]] = defaultdict(list)
    for p in scenario.printers:
        hottest = max(head.max_c for head in p.heads)
        alike = ("printer", p.chamber_max_c or 0.0, hottest, len(p.heads), p.unattended)
        kinds[ties.top(("printer", p.id))].append(alike)
    for d in scenario.dryers:
        kinds[ties.top(("baker", d.id))].append(("dryer", d.kind, d.fixed_c or d.max_c, d.vacuum))
    for o in scenario.ovens:
        kinds[ties.top(("baker", o.id))].append(("oven", o.max_c))
    have: list[dict[Hashable, int]] = [defaultdict(int) for _ in range(count)]
    part_of: dict[Hashable, int] = {}
    for group, of_kinds in sorted(
        kinds.items(), key=lambda item: (-len(item[1]), str(item[1]), str(item[0]))
    ):
        k = min(
            range(count), key=lambda k: (sum(have[k][kind] for kind in of_kinds), sum(have[k].values()), k)
        )
        part_of[group] = k
        for kind in of_kinds:
            have[k][kind] += 1
    return part_of


def _deal_jobs(
    scenario: Scenario,
    matcher: Matcher,
    ties: Ties,
    part_of: dict[Hashable, int],
    printers: np.ndarray[tuple[int], np.dtype[np.int64]],
    count: int,
) -> None:
    fits = {matcher.job_class(job.id): matcher.fitting_row(job.id).nonzero()[0] for job in scenario.jobs}
    room = {kind: np.bincount(printers[row], minlength=count) for kind, row in fits.items()}
    # Minutes of print that each printer is likely to get, every job shared among the printers that fit it.
    asked = np.zeros(len(scenario.printers))
    last = max((job.due for job in scenario.jobs if job.due is not None), default=scenario.site.plan_start)
    groups: dict[Hashable, list[Job]] = defaultdict(list)
    for job in scenario.jobs:
        groups[ties.top(("job", job.id))].append(job)
    first_due = {group: min(job.due or last for job in jobs) for group, jobs in groups.items()}
    for group in sorted(
        groups, key=lambda group: (group not in part_of, first_due[group], groups[group][0].id)
    ):
        if group not in part_of:
            crowd = np.zeros(count)
            for job in groups[group]:
                kind = matcher.job_class(job.id)
                there = np.bincount(printers[fits[kind]], weights=asked[fits[kind]], minlength=count)
                crowd += np.where(room[kind] > 0, there / np.maximum(1, room[kind]), 1e12)
            part_of[group] = int(crowd.argmin()) if crowd.min() < 1e12 else NOWHERE
        for job in groups[group]:
            row = fits[matcher.job_class(job.id)]
            mine = row[printers[row] == part_of[group]]
            asked[mine] += job.print_min / max(1, len(mine))


def _deal_spools(
    scenario: Scenario, matcher: Matcher, ties: Ties, part_of: dict[Hashable, int], count: int
) -> None:
    """Scarce kinds of spools first, each spool to the part that still lacks most of its kind."""
    asked: dict[tuple[str, tuple[str, ...]], list[float]] = {}
    for job in scenario.jobs:
        for feed in job.feeds:
            wants = asked.setdefault((feed.material, feed.certs), [0.0] * count)
            k = part_of[ties.top(("job", job.id))]
            if k != NOWHERE:
                wants[k] += feed.grams
    by_material: dict[str, list[Spool]] = defaultdict(list)
    for spool in scenario.spools:
        by_material[spool.material].append(spool)
    served: dict[tuple[str, tuple[str, ...]], list[Spool]] = {}
    for material, certs in asked:
        served[material, certs] = [s for s in by_material[material] if set(certs) <= set(s.certs)]
    for kind in sorted(asked, key=lambda kind: (len(served[kind]), kind)):
        lack = list(asked[kind])
        spools = sorted(served[kind], key=lambda spool: (-spool.grams, spool.id))
        for spool in spools:
            if ties.top(("spool", spool.id)) in part_of:
                lack[part_of[ties.top(("spool", spool.id))]] -= spool.grams
        total = sum(asked[kind]) or 1.0
        for spool in spools:
            group = ties.top(("spool", spool.id))
            if group in part_of:
                continue
            if max(lack) <= 0.0 and len(kind[1]) > 0:
                break
            k = max(range(count), key=lambda k: (lack[k], -k))
            part_of[group] = k
            # What nobody lacks any more is still dealt by what is asked.
            lack[k] -= (
                spool.grams * total / max(1e-9, asked[kind][k] * count) if lack[k] <= 0.0 else spool.grams
            )
    for number, spool in enumerate(scenario.spools):
        part_of.setdefault(ties.top(("spool", spool.id)), number % count)


def _hands(shifts: tuple[Shift, ...], k: int, count: int) -> tuple[Shift, ...]:
    """Part ``k``'s share of each shift's people; odd ones go round."""
    out = []
    for number, shift in enumerate(shifts):
        hands = shift.hands // count + (1 if (number + k) % count < shift.hands % count else 0)
        if hands > 0:
            out.append(replace(shift, hands=hands))
    return tuple(out)
