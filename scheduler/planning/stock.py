"""What jobs ask of stock and machines as a whole: draws, lots, alike spools, crowding."""

from __future__ import annotations

from scheduler.model import Scenario
from scheduler.physics import whole_minutes
from scheduler.planning.kernel.tables import NEVER


def least_draws(scenario: Scenario) -> dict[tuple[str, tuple[str, ...]], tuple[float, str, int]]:
    """For every material and set of certificates asked for: the smallest draw, its job and feed.

    A spool that would do for any of them would do for that one; what is left on it is looked at later.
    """
    least: dict[tuple[str, tuple[str, ...]], tuple[float, str, int]] = {}
    for job in scenario.jobs:
        for f, feed in enumerate(job.feeds):
            key, draw = (feed.material, feed.certs), (feed.grams, job.id, f)
            least[key] = min(least.get(key, draw), draw)
    return least


def lot_groups(same: list[int]) -> list[int]:
    """Number the jobs that are tied to one lot, directly or through others."""
    root = list(range(len(same)))

    def top(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    tied = set()
    for i, partner in enumerate(same):
        if partner >= 0:
            root[top(i)] = top(partner)
            tied |= {i, partner}
    return [top(i) if i in tied else -1 for i in range(len(same))]


def group_members(groups: list[int]) -> tuple[list[int], list[int]]:
    """Offsets by group, and the jobs of every group one behind the other."""
    members: list[list[int]] = [[] for _ in groups]
    for i, group in enumerate(groups):
        if group >= 0:
            members[group].append(i)
    offsets = [0]
    for jobs in members:
        offsets.append(offsets[-1] + len(jobs))
    return offsets, [i for jobs in members for i in jobs]


def twins(scenario: Scenario) -> list[int]:
    """Number the spools that are alike in all but id, lot and grams."""
    known: dict[tuple[object, ...], int] = {}
    minute = scenario.site.minute
    return [
        known.setdefault(
            (
                s.material,
                s.body_max_c,
                s.certs,
                max(0, minute(s.available_from)),
                s.dried,
                s.exposed_min,
                s.drying,
            ),
            len(known),
        )
        for s in scenario.spools
    ]


def history_room(scenario: Scenario) -> list[int]:
    """Offsets with room for every spool's history: each draw that its grams allow, and a run for each."""
    fewest: dict[str, float] = {}
    uses: dict[str, int] = {}
    begun: dict[str, int] = {}
    for job in scenario.jobs:
        for feed in job.feeds:
            uses[feed.material] = uses.get(feed.material, 0) + 1
            fewest[feed.material] = min(feed.grams, fewest.get(feed.material, feed.grams))
        for choice in job.progress.feeds if job.progress is not None else ():
            begun[choice.spool] = begun.get(choice.spool, 0) + 1
    for run in scenario.under_way.dryer_runs:
        for spool_id in run.spools:
            begun[spool_id] = begun.get(spool_id, 0) + 1
    offsets = [0]
    for spool in scenario.spools:
        draws, least = uses.get(spool.material, 0), fewest.get(spool.material, 0.0)
        if least > 0:
            draws = min(draws, int(spool.grams / least) + 1)
        offsets.append(offsets[-1] + 2 * min(draws, 500) + begun.get(spool.id, 0) + 2)
    return offsets


def crowd(scenario: Scenario, j_fit: list[int], off: list[int], printer: list[int]) -> list[float]:
    """Print minutes that the jobs ask of each printer, spread evenly over those that fit; mean 1."""
    per_set: dict[int, float] = {}
    for job, fit in zip(scenario.jobs, j_fit, strict=True):
        per_set[fit] = per_set.get(fit, 0.0) + job.print_min
    asked = [0.0] * len(scenario.printers)
    for fit, minutes in per_set.items():
        members = printer[off[fit] : off[fit + 1]]
        for p in members:
            asked[p] += minutes / len(members)
    mean = sum(asked) / max(1, len(asked))
    return [a / mean if mean > 0 else 0.0 for a in asked]


def least_stay(scenario: Scenario) -> int:
    """Minutes, from changeover to unload, that no job on any printer can go under."""
    site = scenario.site
    quickest = min((job.print_min for job in scenario.jobs), default=0)
    return (
        site.plate_min
        + min((p.bed_heat_min for p in scenario.printers), default=0)
        + min((m.soak_min for m in scenario.materials), default=0)
        + site.start_min
        + whole_minutes(quickest * min((p.speed_factor for p in scenario.printers), default=0))
        + min((p.bed_cool_min for p in scenario.printers), default=0)
        + site.unload_min
    )


def open_of(open_time_min: int | None) -> int:
    return NEVER if open_time_min is None else open_time_min
