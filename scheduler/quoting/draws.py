"""The chance of replications, drawn from a seed before the replay runs."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.quoting.crew import DAY_MIN
from scheduler.quoting.network import Network, print_minutes
from scheduler.quoting.variation import Variation

#: A print that has failed so often succeeds in the next try.
TRIES = 3
#: Logarithm of the factor within which two in three rush plates lie of their median.
RUSH_SPREAD = 0.69


class Draw(NamedTuple):
    """The chance of one replication; rows are nodes.

    ``factor`` is actual over planned print minutes. ``outcome``, ``where`` and ``repair`` have a column
    a try: an even chance that decides whether it fails, the share of the print after which it does, and the
    minutes of a repair. ``failing`` and ``breaking`` are the chances that a print fails and that its
    machine breaks down. ``hands`` are people of each minute. ``rush_*`` are plates that come in between, by
    printer and time: ``rush_at`` says where each printer's begin.
    """

    factor: NDArray[np.float64]
    outcome: NDArray[np.float64]
    where: NDArray[np.float64]
    repair: NDArray[np.int64]
    failing: NDArray[np.float64]
    breaking: NDArray[np.float64]
    hands: NDArray[np.int64]
    rush_at: NDArray[np.int64]
    rush_start: NDArray[np.int64]
    rush_min: NDArray[np.int64]


class Dice:
    """Draws replications one by one; the same seed and number give the same draw.

    Jobs are drawn in the scenario's order, so that two plans of one scenario meet the same luck.
    """

    def __init__(self, network: Network, variation: Variation, seed: int) -> None:
        self.network, self.variation, self.seed = network, variation, seed
        nodes = len(network.net.kind)
        places = list(zip(network.printers, network.materials, strict=True))
        lucks = [variation.luck(*place) for place in places]
        # What the records do not tell apart is in doubt together.
        known = [place if place in variation.cells else None for place in places]
        numbers = {place: number for number, place in enumerate(dict.fromkeys(known))}
        self.cell = np.array([numbers[place] for place in known], dtype=np.int64)
        self.cells = len(numbers)
        planned = [variation.planned.get(job, 1.0) for job in network.jobs]
        self.middle = np.log([luck.factor for luck in lucks]) - np.log(planned) if lucks else np.zeros(0)
        self.spread = np.array([luck.spread for luck in lucks])
        self.doubt = np.array([luck.doubt for luck in lucks])
        self.failing = np.zeros(nodes)
        self.failing[network.job_node] = [luck.failing for luck in lucks]
        self.breaking = np.zeros(nodes)
        hours = print_minutes(network) / 60
        self.breaking[network.job_node] = 1 - np.exp(-hours / variation.hours_between_breakdowns)
        self.nodes = nodes
        # One replication is over before the next is drawn, so they share their arrays.
        self._factor = np.ones(nodes)
        self._outcome = np.ones((nodes, TRIES))
        self._where = np.zeros((nodes, TRIES))
        self._repair = np.zeros((nodes, TRIES), dtype=np.int64)
        self._there = network.crew.hands.copy()

    def draw(self, number: int) -> Draw:
        """The chance of replication ``number``; its arrays are written anew by the next draw."""
        rng = np.random.Generator(np.random.SFC64([self.seed, number]))
        jobs, net = len(self.network.jobs), self.network.net
        common = rng.standard_normal(self.cells)[self.cell] if jobs else np.zeros(0)
        factor, outcome, where, repair = self._factor, self._outcome, self._where, self._repair
        own = rng.standard_normal(jobs)
        factor[self.network.job_node] = np.exp(self.middle + self.doubt * common + self.spread * own)
        chances = rng.random((3, jobs, TRIES))
        outcome[self.network.job_node] = chances[0]
        where[self.network.job_node] = chances[1]
        repair[self.network.job_node] = -60 * self.variation.repair_h * np.log1p(-chances[2])
        rush_at, rush_start, rush_min = self._rush(rng, len(net.heat_tau))
        return Draw(
            factor,
            outcome,
            where,
            repair,
            self.failing,
            self.breaking,
            self._hands(rng),
            rush_at,
            rush_start,
            rush_min,
        )

    def _hands(self, rng: np.random.Generator) -> NDArray[np.int64]:
        crew = self.network.crew
        hands = self._there
        hands[:] = crew.hands
        missing = rng.binomial(crew.people, self.variation.absent)
        for shift in np.flatnonzero(missing):
            hands[crew.starts[shift] : crew.ends[shift]] -= missing[shift]
        return hands

    def _rush(
        self, rng: np.random.Generator, printers: int
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
        minutes = self.network.crew.minutes
        expected = self.variation.rush_per_machine_day * printers * minutes / DAY_MIN
        count = int(rng.poisson(expected))
        printer = rng.integers(0, max(1, printers), count)
        start = rng.integers(0, minutes, count)
        lasts = 60 * self.variation.rush_h * np.exp(RUSH_SPREAD * rng.standard_normal(count))
        order = np.lexsort((start, printer))
        at = np.searchsorted(printer[order], np.arange(printers + 1))
        return at.astype(np.int64), start[order], lasts[order].astype(np.int64)
