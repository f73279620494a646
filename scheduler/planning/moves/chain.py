"""Who pushed whom: every moved job followed back to what began it."""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass

from scheduler.model import Plan, Scenario
from scheduler.planning.explain.hands import Hands
from scheduler.planning.moves.causes import Cause
from scheduler.planning.moves.uses import Held, Row, Use, uses

#: How far one push is taken to reach, the nearest reason first: the place itself before what stands
#: around it.
NEARNESS = {"printer": 1.0, "spool": 1.1, "dryer": 1.2, "oven": 1.3, "lot": 1.4, "before": 2.0, "hands": 3.0}
#: What became better explains a move that no push from so near explains.
BETTER = 10.0
#: Coming into room that another left is looked at only where nothing pushed.
ROOM = 20.0

SEARCH = Cause("search", "", "the search found a better place")


@dataclass(frozen=True, slots=True)
class Push:
    """One job gave way to, or came into the room of, another.

    Attributes
    ----------
    job : str
        The other one.
    by : str
        Where: ``printer``, ``spool``, ``dryer``, ``oven``, ``lot``, ``hands``, ``before`` (it now comes right
        before on the printer) or ``room``.
    thing : str
        Id of the printer, spool, dryer or oven; empty where none.
    """

    job: str
    by: str
    thing: str


#: A chain from a job back to the beginning, and the cause there.
Chain = tuple[tuple[Push, ...], Cause]
_Rows = Mapping[Held, Row]
#: For each job, pushes by others and how far each is.
_Edges = defaultdict[str, list[tuple[float, Push]]]


def traced(
    old_plan: Plan,
    new: Scenario,
    new_plan: Plan,
    touched: Collection[str],
    hit: Mapping[str, Cause],
    better: Mapping[str, Cause],
    gone: Collection[str],
) -> dict[str, Chain]:
    """For each touched job the pushes from it back to the beginning, and the cause there.

    Jobs that nothing reaches were moved by the search of its own accord, or stand behind one that was.

    Parameters
    ----------
    hit, better : mapping
        Jobs that something hit directly, and jobs that something became better for.
    gone : collection of str
        Jobs of the old plan that have left the shop as good as done.
    """
    before, after = uses(old_plan), uses(new_plan)
    moved = set(touched)
    was, now = {p.job: p for p in old_plan.jobs}, {p.job: p for p in new_plan.jobs}
    earlier = {id for id in moved & was.keys() & now.keys() if now[id].done < was[id].done}
    edges = _pushes(before, new, after, moved, earlier)
    _add_rooms(edges, before, after, moved, moved.union(gone))
    roots = [(0.0, id, cause) for id, cause in hit.items()]
    roots += [(BETTER, id, cause) for id, cause in better.items()]
    roots += [(ROOM, id, Cause("gone", id, f"{id} has left the shop")) for id in gone]
    told: dict[str, Chain] = {}
    _spread(edges, roots, told)
    left = sorted(moved.difference(told))
    # What came earlier, or has nobody in its place, went of the search's own accord.
    first = [id for id in left if not edges[id] or id in earlier]
    _spread(edges, [(0.0, id, SEARCH) for id in first], told)
    for id in left:
        if id not in told:
            _spread(edges, [(0.0, id, SEARCH)], told)
    return told


def _spread(edges: _Edges, roots: list[tuple[float, str, Cause]], told: dict[str, Chain]) -> None:
    """Give every job that the roots reach its nearest chain; those told already keep theirs."""
    onward: defaultdict[str, list[tuple[str, float, Push]]] = defaultdict(list)
    for job, pushes in edges.items():
        for far, push in pushes:
            onward[push.job].append((job, far, push))
    chains: list[Chain] = []
    queue: list[tuple[float, str, int]] = []

    def add(far: float, job: str, chain: Chain) -> None:
        heapq.heappush(queue, (far, job, len(chains)))
        chains.append(chain)

    for far, id, cause in roots:
        add(far, id, ((), cause))
    while queue:
        far, id, number = heapq.heappop(queue)
        if id in told:
            continue
        told[id] = chain, cause = chains[number]
        for job, more, push in onward[id]:
            if job not in told:
                add(far + more, job, ((push, *chain), cause))


def _pushes(before: _Rows, new: Scenario, after: _Rows, moved: set[str], earlier: set[str]) -> _Edges:
    """For each moved job the moved ones that now hold what it held, and did not beside it before.

    Hands that are taken make nobody come earlier.
    """
    edges: _Edges = defaultdict(list)
    full = _Full(new, after)
    for (by, thing), row in before.items():
        rivals = after.get((by, thing))
        for use in row.uses:
            if use.job not in moved or rivals is None or (by == "hands" and use.job in earlier):
                continue
            there = rivals.beside(use)
            if not there or not full.is_so(by, thing, use, there):
                continue
            had = {one.job for one in row.beside(use)}
            for job in sorted(({rival.job for rival in there} & moved) - had):
                edges[use.job].append((NEARNESS[by], Push(job, by, thing)))
    _add_before(edges, before, after, moved, moved - earlier)
    for job_ in new.jobs:
        lead = job_.same_lot_as
        if lead is not None and job_.id in moved and lead in moved:
            edges[job_.id].append((NEARNESS["lot"], Push(lead, "lot", "")))
    return edges


class _Full:
    """Whether those who hold a thing now leave no room for one that held it before."""

    def __init__(self, new: Scenario, after: _Rows) -> None:
        self.minute = new.site.minute
        self.slots = {dryer.id: dryer.slots for dryer in new.dryers if dryer.kind == "rolling"}
        minute = self.minute
        self.hands = Hands([(minute(s.start), minute(s.end), s.hands) for s in new.shifts], ())
        self.after = after

    def is_so(self, by: str, thing: str, use: Use, there: list[Use]) -> bool:
        if by == "hands":
            return len(there) >= self.hands.people(self.minute(use.start))
        if by in ("dryer", "oven"):
            mine = self.after[by, thing].uses
            if any(one.job == use.job and (one.start, one.end) == (use.start, use.end) for one in mine):
                return False
            return len(there) >= self.slots.get(thing, 1)
        return True


def _add_before(edges: _Edges, before: _Rows, after: _Rows, moved: set[str], behind: set[str]) -> None:
    """Whoever now comes right before a job on its printer, another one than planned or at another time."""
    had: dict[str, tuple[str, Use | None]] = {}
    for (by, thing), row in before.items():
        if by == "printer":
            had.update({use.job: (thing, row.uses[i - 1] if i else None) for i, use in enumerate(row.uses)})
    for (by, thing), row in after.items():
        if by != "printer":
            continue
        for now, use in zip(row.uses, row.uses[1:], strict=False):
            if now.job not in moved or use.job not in behind or had.get(use.job, ("", None))[0] != thing:
                continue
            if had[use.job][1] != now:
                edges[use.job].append((NEARNESS["before"], Push(now.job, "before", thing)))


def _add_rooms(edges: _Edges, before: _Rows, after: _Rows, moved: set[str], left: set[str]) -> None:
    """For each moved job those that stood where it stands now."""
    for (by, thing), row in after.items():
        had = before.get((by, thing))
        if had is None or by == "hands":
            continue
        for use in row.uses:
            if use.job in moved:
                for job in sorted({one.job for one in had.beside(use)} & left):
                    edges[use.job].append((ROOM + NEARNESS[by], Push(job, "room", thing)))
