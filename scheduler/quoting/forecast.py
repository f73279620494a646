"""How sure the dates of a plan are: the plan carried out hundreds of times with chance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduler.model import Job, Plan, Scenario
from scheduler.quoting.draws import Dice
from scheduler.quoting.network import Network, network_of
from scheduler.quoting.variation import Variation

#: Replications, if nobody asks for another number.
REPLICATIONS = 200
#: The chances by which dates are told.
QUANTILES = (0.5, 0.8, 0.95)


@dataclass(frozen=True, slots=True)
class Sureness:
    """How sure one date is.

    Parameters
    ----------
    planned : datetime
        When the plan says that it is done.
    due : datetime or None
        When it should be; of an order the latest of its plates'.
    by : tuple of datetime
        Done by then with a chance of 50, 80 and 95 %, as `QUANTILES`.
    on_time : float or None
        Chance of being done by the due date, of an order all its plates by theirs; ``None``: not due.
    """

    id: str
    planned: datetime
    due: datetime | None
    by: tuple[datetime, ...]
    on_time: float | None


@dataclass(frozen=True)
class Forecast:
    """Finishes of every placed job in every replication.

    Parameters
    ----------
    jobs : tuple of str
        Placed jobs in the scenario's order.
    minutes : array of shape (replications, jobs)
        When each is done, minutes from ``plan_start``.
    """

    scenario: Scenario
    plan: Plan
    jobs: tuple[str, ...]
    minutes: NDArray[np.int64]

    @property
    def replications(self) -> int:
        return len(self.minutes)

    def finishes(self, jobs: Sequence[str]) -> NDArray[np.int64]:
        """When all of ``jobs`` are done, by replication, minutes from ``plan_start``, in order of size.

        Raises
        ------
        KeyError
            One of them has no place in the plan.
        """
        columns = [self._column[job] for job in jobs]
        finishes: NDArray[np.int64] = np.sort(self.minutes[:, columns].max(axis=1))
        return finishes

    def promise(self, jobs: Sequence[str], chance: float) -> datetime:
        """The earliest instant by which all of ``jobs`` are done with at least this chance."""
        return self.scenario.site.instant(quantile(self.finishes(jobs), chance))

    def of_jobs(self) -> tuple[Sureness, ...]:
        """How sure each placed job's date is, in the scenario's order."""
        by_id = {job.id: job for job in self.scenario.jobs}
        return tuple(self._sureness(id, (by_id[id],)) for id in self.jobs)

    def of_orders(self) -> tuple[Sureness, ...]:
        """How sure each order's date is; an order of which a plate has no place is left out."""
        orders: dict[str, list[Job]] = {}
        for job in self.scenario.jobs:
            orders.setdefault(job.order, []).append(job)
        placed = set(self.jobs)
        return tuple(
            self._sureness(order, tuple(jobs))
            for order, jobs in orders.items()
            if placed.issuperset(job.id for job in jobs)
        )

    def _sureness(self, id: str, jobs: tuple[Job, ...]) -> Sureness:
        columns = [self._column[job.id] for job in jobs]
        finishes = np.sort(self.minutes[:, columns].max(axis=1))
        site = self.scenario.site
        due = [(column, job.due) for column, job in zip(columns, jobs, strict=True) if job.due is not None]
        on_time = None
        if due:
            kept = [self.minutes[:, column] <= site.minute(instant) for column, instant in due]
            on_time = float(np.logical_and.reduce(kept).mean())
        return Sureness(
            id,
            max(self._planned[job.id] for job in jobs),
            max((instant for _, instant in due), default=None),
            tuple(site.instant(quantile(finishes, chance)) for chance in QUANTILES),
            on_time,
        )

    @cached_property
    def _column(self) -> dict[str, int]:
        return {job: column for column, job in enumerate(self.jobs)}

    @cached_property
    def _planned(self) -> dict[str, datetime]:
        return {planned.job: planned.done for planned in self.plan.jobs}


def forecast(
    scenario: Scenario,
    plan: Plan,
    variation: Variation | None = None,
    *,
    replications: int = REPLICATIONS,
    seed: int = 1,
) -> Forecast:
    """Carry a plan out many times.

    Parameters
    ----------
    variation : Variation or None
        What varies, and by how much; ``None``: the documented defaults.
    seed : int
        The same seed gives the same figures.
    """
    network = network_of(scenario, plan)
    ended = replayed(network, variation or Variation(), replications, seed)
    return Forecast(scenario, plan, network.jobs, ended[:, network.finish_node] + network.finish_min)


def replayed(network: Network, variation: Variation, replications: int, seed: int) -> NDArray[np.int64]:
    """The minute at which every node ends, an array of shape (replications, nodes)."""
    # The compiler takes a second to load; only forecasts need it.
    from scheduler.quoting.replay import replay

    dice, calendar = Dice(network, variation, seed), network.crew.calendar()
    ended = np.zeros((replications, len(network.net.kind)), dtype=np.int64)
    for number in range(replications):
        replay(network.net, calendar, dice.draw(number), ended[number])
    return ended


def quantile(finishes: NDArray[np.int64], chance: float) -> int:
    """The smallest of sorted ``finishes`` that at least this share of them does not pass."""
    return int(finishes[max(0, int(np.ceil(chance * len(finishes) - 1e-9)) - 1)])
