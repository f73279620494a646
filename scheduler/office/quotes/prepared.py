"""A quote made ready to be put into the plan of its ground."""

from __future__ import annotations

from dataclasses import dataclass, replace

from scheduler.model import Job, Spool
from scheduler.office.clock import Clock
from scheduler.office.quotes.drafts import asked
from scheduler.office.quotes.expiry import expire_holds
from scheduler.office.quotes.ground import Ground, ground_of
from scheduler.office.refused import Refused
from scheduler.quoting.applied import as_planned, planned_jobs, varied
from scheduler.quoting.ask import Ask
from scheduler.quoting.openings import Request
from scheduler.quoting.plates import jobs_of, missing_spools
from scheduler.quoting.variation import Variation
from scheduler.store import Quote, Record


@dataclass(frozen=True)
class Prepared:
    """What is put into the plan.

    Parameters
    ----------
    ask : Ask
        With its print times as they are planned.
    spools : tuple of Spool
        To be bought for it.
    variation : Variation
        Of the shop with its jobs.
    """

    ask: Ask
    jobs: tuple[Job, ...]
    spools: tuple[Spool, ...]
    variation: Variation


def prepared(ground: Ground, quote: Quote, ask: Ask) -> Prepared:
    """The plates of a quote, and what is to be bought for them.

    Raises
    ------
    Refused
        If its jobs are in the plan already.
    """
    scenario, order = ground.scenario, quote.name
    if quote.state in ("held", "accepted") and order in {job.order for job in scenario.jobs}:
        raise Refused(f"{quote.name} is {quote.state}: its jobs are in the plan already")
    ask = as_planned(ask, ground.factors)
    jobs = jobs_of(ask, order, scenario.site.instant(ground.sheet.office_min), scenario)
    spools: tuple[Spool, ...] = ()
    if ask.buy_days is not None:
        drawn: dict[str, float] = {}
        grams = {job.id: [feed.grams for feed in job.feeds] for job in scenario.jobs}
        for planned in ground.plan.jobs:
            for choice, amount in zip(planned.feeds, grams.get(planned.job, ()), strict=False):
                drawn[choice.spool] = drawn.get(choice.spool, 0.0) + amount
        spools = missing_spools(jobs, scenario, drawn, ask.buy_days, order)
    by_order = {(order, material): factor for material, factor in ground.factors.items()}
    return Prepared(ask, jobs, spools, varied(ground.variation, planned_jobs(jobs, by_order)))


def request_of(record: Record, clock: Clock, number: int, chance: float) -> tuple[Ground, Request]:
    """A quote for trials of what would give it a place, or an earlier one; nothing is stored.

    Raises
    ------
    Refused
        If its jobs are in the plan already, or no plan is published.
    """
    expire_holds(record, clock)
    ground = ground_of(record, clock)
    with record.reading() as unit:
        quote, ask = unit.quotes.get(number), asked(unit, number)
    made = prepared(ground, quote, ask)
    return ground, Request(
        scenario=ground.scenario,
        plan=ground.plan,
        ask=replace(made.ask, wanted=ask.wanted),
        factors=ground.factors,
        order=quote.name,
        release=ground.scenario.site.instant(ground.sheet.office_min),
        spools=made.spools,
        variation=made.variation,
        chance=chance,
        matched=ground.matched,
        limits=ground.limits,
    )
