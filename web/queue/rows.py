"""The queue's rows: orders with their jobs, searched, filtered and sorted."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

from web.jobs.standing import JobStand, Standing
from web.queue.book import OrderHead

#: Sort orders by the word in the address.
SORTS = {
    "due": "Due, soonest first",
    "done": "Done, soonest first",
    "late": "Longest late first",
    "order": "Order",
    "part": "Part",
}
FAR = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Asked:
    """What a visitor asked the queue for."""

    words: str = ""
    standing: str = ""
    material: str = ""
    machine: str = ""
    sort: str = "due"

    @classmethod
    def of(cls, args: Mapping[str, str]) -> Asked:
        """From an address; what it misspells counts as not asked."""
        sort = args.get("sort", "due")
        return cls(
            args.get("q", "").strip()[:100],
            args.get("show", ""),
            args.get("material", ""),
            args.get("machine", ""),
            sort if sort in SORTS else "due",
        )

    @property
    def narrowed(self) -> bool:
        return bool(self.words or self.standing or self.material or self.machine)


@dataclass(frozen=True, slots=True)
class OrderRow:
    """An order with those of its jobs that are shown, and how many it has in all."""

    id: str
    head: OrderHead
    jobs: tuple[JobStand, ...]
    of: int

    @property
    def due(self) -> datetime | None:
        return min((one.job.due for one in self.jobs if one.job.due), default=None)


def order_rows(
    stands: tuple[JobStand, ...], heads: Mapping[str, OrderHead], asked: Asked
) -> tuple[OrderRow, ...]:
    """The orders that have a job which answers to ``asked``."""
    every: defaultdict[str, int] = defaultdict(int)
    shown: defaultdict[str, list[JobStand]] = defaultdict(list)
    for one in stands:
        every[one.job.order] += 1
        if _answers(one, heads.get(one.job.order, OrderHead()), asked):
            shown[one.job.order].append(one)
    key = _key(asked.sort)
    rows = [
        OrderRow(order, heads.get(order, OrderHead()), tuple(sorted(jobs, key=key)), every[order])
        for order, jobs in shown.items()
    ]
    return tuple(sorted(rows, key=lambda row: key(row.jobs[0])))


def counts(stands: tuple[JobStand, ...]) -> dict[Standing, int]:
    """How many jobs stand how."""
    found: dict[Standing, int] = {"late": 0, "cannot": 0, "no-place": 0, "on-time": 0, "unplanned": 0}
    for one in stands:
        found[one.standing] += 1
    return found


def _answers(one: JobStand, head: OrderHead, asked: Asked) -> bool:
    job = one.job
    if asked.standing and one.standing != asked.standing:
        return False
    if asked.material and asked.material not in {feed.material for feed in job.feeds}:
        return False
    if asked.machine and (one.planned is None or one.planned.printer != asked.machine):
        return False
    known = [job.id, job.order, job.part, *(feed.material for feed in job.feeds), head.searched]
    text = " ".join(known).casefold()
    return all(word in text for word in asked.words.casefold().split())


def _key(sort: str) -> Callable[[JobStand], tuple[object, ...]]:
    keys: dict[str, Callable[[JobStand], tuple[object, ...]]] = {
        "due": lambda one: (one.job.due or FAR, one.job.order, one.job.id),
        "done": lambda one: (one.done or FAR, one.job.order, one.job.id),
        # Without a place counts as later than any that has one.
        "late": lambda one: (one.standing == "on-time", one.planned is not None, -one.late_min, one.job.id),
        "order": lambda one: (one.job.order, one.job.id),
        "part": lambda one: (one.job.part.casefold(), one.job.id),
    }
    return keys[sort]
