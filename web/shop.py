"""The recorded shop and its plan as pages read them, kept until a newer version is recorded."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from scheduler.model import Job, Material, Plan, PlannedJob, Printer, Scenario, Spool, Unplaced
from scheduler.store import NoShop, Record, StoredPlan


@dataclass(frozen=True)
class Shop:
    """A shop at one version of its record, with the plans that stand.

    Parameters
    ----------
    version : int
        The record's version of fleet and orders; it grows at each change.
    published : StoredPlan or None
        The plan that the floor works to.
    proposal : StoredPlan or None
        The newest plan that nobody has published or discarded, where it is newer than ``published``.
    """

    version: int
    scenario: Scenario
    published: StoredPlan | None
    proposal: StoredPlan | None
    #: What pages have worked out from this version, by their own names.
    memo: dict[object, object] = field(default_factory=dict, compare=False, repr=False)

    @cached_property
    def stored(self) -> StoredPlan | None:
        """The plan that pages show: the published one, else the newest proposal."""
        return self.published or self.proposal

    @property
    def plan(self) -> Plan | None:
        """The content of :attr:`stored`."""
        return self.stored.plan if self.stored else None

    @cached_property
    def jobs(self) -> Mapping[str, Job]:
        return {job.id: job for job in self.scenario.jobs}

    @cached_property
    def printers(self) -> Mapping[str, Printer]:
        return {printer.id: printer for printer in self.scenario.printers}

    @cached_property
    def materials(self) -> Mapping[str, Material]:
        return {material.id: material for material in self.scenario.materials}

    @cached_property
    def spools(self) -> Mapping[str, Spool]:
        return {spool.id: spool for spool in self.scenario.spools}

    @cached_property
    def planned(self) -> Mapping[str, PlannedJob]:
        """The jobs of the shown plan that have a place in it, by id."""
        return {job.job: job for job in self.plan.jobs} if self.plan else {}

    @cached_property
    def unplaced(self) -> Mapping[str, Unplaced]:
        """The jobs of the shown plan that have none, by id."""
        return {job.job: job for job in self.plan.unplaced} if self.plan else {}


class ShopReader:
    """Reads the shop from its record, and again only when the record has changed.

    A request asks for the version and the numbers of the plans, which is cheap, and gets the shop
    that an earlier request read unless one of them is new.
    """

    def __init__(self, record: Record) -> None:
        self._record = record
        self._lock = threading.Lock()
        self._shop: Shop | None = None

    def read(self) -> Shop | None:
        """The shop of now; ``None`` while no shop is recorded."""
        with self._lock:
            self._shop = self._fresh(self._shop)
            return self._shop

    def last_read_parts(self) -> tuple[int, Scenario, int | None, Plan | None] | None:
        """Version, shop, number and published plan, as some request read them last."""
        shop = self._shop
        if shop is None:
            return None
        stored = shop.published
        return shop.version, shop.scenario, stored.number if stored else None, stored.plan if stored else None

    def _fresh(self, known: Shop | None) -> Shop | None:
        with self._record.reading() as unit:
            version = unit.fleet.version()
            published = proposal = None
            for summary in unit.plans.list():
                if summary.state == "published":
                    published = summary.number
                elif summary.state == "proposal":
                    proposal = max(proposal or 0, summary.number)
            if published and proposal and proposal < published:
                proposal = None
            if known and known.version == version and _numbers(known) == (published, proposal):
                return known
            same_fleet = known is not None and known.version == version
            try:
                scenario = known.scenario if same_fleet and known else unit.fleet.load()
            except NoShop:
                return None
            return Shop(
                version,
                scenario,
                unit.plans.get(published) if published else None,
                unit.plans.get(proposal) if proposal else None,
            )


def _numbers(shop: Shop) -> tuple[int | None, int | None]:
    return (
        shop.published.number if shop.published else None,
        shop.proposal.number if shop.proposal else None,
    )
