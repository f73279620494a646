"""What the spools hold, and from when: a queue for filament counts as one for a machine does.

A job may be mounted as soon as some spool that would do is dry. Where that spool holds too little for all who
want it, some must wait for the next one, and no job can be without. So each shelf (spools that are dry at one
minute and would do for the same feeds) has its grams and, because no plate is cut in two, a number of feeds
that it can serve at most; `prices` charges for both.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from scheduler.planning.kernel.alone import mount_soonest
from scheduler.planning.kernel.spools import GRAM_TOLERANCE
from scheduler.planning.kernel.tables import NEVER, Problem, State


@dataclass(frozen=True)
class Shelf:
    """Spools alike for the bound.

    Parameters
    ----------
    ready : int
        Soonest minute at which one of them could be mounted.
    grams : float
        What they hold together.
    feeds : int
        How many feeds they can serve at most.
    ample : bool
        Whether they hold enough for all who could want them, each on one spool.
    each_g : tuple of float
        Grams of each spool.
    """

    ready: int
    grams: float
    feeds: int
    ample: bool
    each_g: tuple[float, ...]


def most_feeds(grams: Sequence[float], have: float) -> int:
    """How many of these feeds a spool of so many grams can serve at most."""
    count, used = 0, 0.0
    for asked in sorted(grams):
        used += asked
        if used > have + GRAM_TOLERANCE:
            break
        count += 1
    return count


Alike = dict[tuple[int, tuple[int, ...]], list[int]]


def deal_out(P: Problem, S: State, refs: Iterable[int], users: Mapping[int, Collection[int]]) -> bool:
    """Whether all these feeds can be dealt out to spools, by a simple rule: the largest first.

    Parameters
    ----------
    users : mapping
        For each spool the feeds that it would do for; one that few can use is used first.
    """
    left = {s: S.left_g[s] for s in users}
    narrow_first = sorted(users, key=lambda s: (len(users[s]), left[s]))
    for ref in sorted(refs, key=lambda ref: (-P.j_grams[ref], ref)):
        asked = P.j_grams[ref]
        for s in narrow_first:
            if ref in users[s] and left[s] + GRAM_TOLERANCE >= asked:
                left[s] -= asked
                break
        else:
            return False
    return True


def enough_for_all(P: Problem, S: State, alike: Alike) -> set[tuple[int, tuple[int, ...]]]:
    """The shelves that hold enough for all who want them, by themselves or with others dry at that minute."""
    out = set()
    by_minute: dict[int, list[tuple[int, ...]]] = defaultdict(list)
    for ready, refs in alike:
        by_minute[ready].append(refs)
    for ready, wanted in by_minute.items():
        together: list[tuple[set[int], list[tuple[int, ...]]]] = []
        for refs in wanted:
            if deal_out(P, S, refs, {s: set(refs) for s in alike[ready, refs]}):
                out.add((ready, refs))
            joined = [one for one in together if not one[0].isdisjoint(refs)]
            together = [one for one in together if one[0].isdisjoint(refs)]
            together.append(
                (set(refs).union(*(one[0] for one in joined)), sum((one[1] for one in joined), [refs]))
            )
        for feeds, shelves in together:
            users = {s: set(refs) for refs in shelves for s in alike[ready, refs]}
            if deal_out(P, S, feeds, users):
                out.update((ready, refs) for refs in shelves)
    return out


class Supply:
    """The shelves of one task, and for each feed those that can be its soonest.

    Parameters
    ----------
    P, S : Problem, State
        ``S`` holds the work under way and nothing else.
    """

    def __init__(self, P: Problem, S: State) -> None:
        self._P = P
        wanted: dict[int, list[int]] = defaultdict(list)
        for ref in (2 * j + f for j in range(P.jobs) if S.printer[j] < 0 for f in range(P.j_feeds[j])):
            for s in P.cand[P.cand_lo[ref] : P.cand_hi[ref]]:
                if S.left_g[s] + GRAM_TOLERANCE >= P.j_grams[ref]:
                    wanted[s].append(ref)
        alike: Alike = defaultdict(list)
        for s, users in wanted.items():
            ready = mount_soonest(P, S, s)
            if ready < NEVER:
                alike[ready, tuple(users)].append(s)
        enough = enough_for_all(P, S, alike)
        self.shelves: list[Shelf] = []
        of_feed: dict[int, list[int]] = defaultdict(list)
        for (ready, refs), spools in alike.items():
            asked, have = [P.j_grams[ref] for ref in refs], tuple(S.left_g[s] for s in spools)
            feeds = sum(most_feeds(asked, grams) for grams in have)
            shelf = Shelf(ready, math.fsum(have), feeds, (ready, refs) in enough, have)
            for ref in refs:
                of_feed[ref].append(len(self.shelves))
            self.shelves.append(shelf)
        self._of_feed = {ref: self._soonest(numbers) for ref, numbers in of_feed.items()}

    def _soonest(self, numbers: list[int]) -> tuple[int, ...]:
        """Shelves in the order in which they are dry, up to the first that has enough for all."""
        out = []
        for k in sorted(numbers, key=lambda k: (self.shelves[k].ready, not self.shelves[k].ample)):
            out.append(k)
            if self.shelves[k].ample:
                break
        return tuple(out)

    def of_feed(self, ref: int) -> tuple[int, ...]:
        """Numbers of the shelves that a feed's spool could come from; none if no spool would do."""
        return self._of_feed.get(ref, ())

    def feeds_at_most(self, numbers: Collection[int], refs: Collection[int]) -> int:
        """How many of these feeds some shelves can serve at most."""
        P, shelves = self._P, self.shelves
        out = 0
        for k in numbers:
            asked = [P.j_grams[ref] for ref in refs if k in self.of_feed(ref)]
            out += sum(most_feeds(asked, grams) for grams in shelves[k].each_g)
        return out
