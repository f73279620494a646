"""Which printer fits which job, and why not."""

from __future__ import annotations

from collections.abc import Hashable

import numpy as np
from numpy.typing import NDArray

from scheduler.matching.answers import Assignment, HeadNozzle, Verdict
from scheduler.matching.demands import Demand, Demands
from scheduler.matching.nearest import nearest_first, verdict_reasons
from scheduler.matching.reasons import reasons_at
from scheduler.matching.seats import passing_on, passing_ways, ways
from scheduler.matching.tables import Tables
from scheduler.model import Printer, Reason, Scenario, Span
from scheduler.physics import Cooldown, whole_minutes


class Matcher:
    """Answers for the jobs and printers of one scenario.

    Making one is cheap: jobs and printers are grouped by all that the checks look at, and each
    table is filled when it is first needed. Methods take ids of the scenario and raise ``KeyError``
    for others. Jobs under way are answered for like any other.

    Parameters
    ----------
    scenario : Scenario
        A scenario that the codec accepted.
    """

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario
        self._demands = Demands(scenario)
        self._tables = Tables(scenario)
        self._fleet = self._tables.fleet
        self._printer_of = {printer.id: printer for printer in scenario.printers}
        self._packed: dict[int, NDArray[np.uint8]] = {}
        self._ways: dict[Hashable, tuple[Assignment, ...]] = {}

    def fits_something(self, job_id: str) -> bool:
        """Whether some printer fits the job."""
        return bool(self._class_row(job_id).any())

    def fitting_printers(self, job_id: str) -> tuple[str, ...]:
        """Ids of the printers on which all fourteen checks hold, in the scenario's order."""
        return tuple(self._fleet.ids[self.fitting_row(job_id)].tolist())

    def fitting_row(self, job_id: str) -> NDArray[np.bool_]:
        """One truth value for each printer, in the scenario's order: whether it fits the job."""
        return self._class_row(job_id)[self._fleet.class_of]

    def _class_row(self, job_id: str) -> NDArray[np.bool_]:
        demand = self._demands.of(job_id)
        packed = self._packed.get(demand.job_class)
        if packed is None:
            row = self._tables.fits(demand)
            self._packed[demand.job_class] = np.packbits(row)
            return row
        return np.unpackbits(packed, count=len(self._fleet.kinds)).view(np.bool_)

    def assignments(self, job_id: str, printer_id: str) -> tuple[Assignment, ...]:
        """Every head and nozzle for each feed with which the printer fits, in their order."""
        demand = self._demands.of(job_id)
        kind = self._fleet.class_of_id[printer_id]
        if not self._class_row(job_id)[kind]:
            return ()
        setup = int(self._tables.seats.setup_of[kind])
        exposure = self._tables.exposure_min(demand, kind)
        passing = passing_ways(self._tables.seating(demand), setup, exposure)
        every = self._all_ways(kind, len(demand.job.feeds))
        return tuple(every[way] for way in passing)

    def passing(self, job_id: str) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """The printer classes that fit, ascending, and for each which of its ways do.

        Jobs of as many feeds with the same answer have the same `assignments` everywhere.
        """
        demand = self._demands.of(job_id)
        kinds = np.flatnonzero(self._class_row(job_id))
        exposure = self._tables.exposure_row(demand)[kinds]
        setups = self._tables.seats.setup_of[kinds]
        return kinds, passing_on(self._tables.seating(demand), setups, exposure)

    def _all_ways(self, kind: int, feeds: int) -> tuple[Assignment, ...]:
        """Every way on a printer class; a place without a nozzle passes nothing and is never asked."""
        key = (kind, feeds)
        if key not in self._ways:
            heads = self._fleet.kinds[kind].heads
            self._ways[key] = tuple(
                Assignment(
                    tuple(
                        HeadNozzle(heads[h].id, "" if n is None else heads[h].nozzles[n].id)
                        for h, n in places
                    )
                )
                for places in ways(heads, feeds)
            )
        return self._ways[key]

    def failures(self, job_id: str, printer_id: str) -> tuple[Reason, ...]:
        """What fails with the best heads and nozzles, in the order of the checks; () if it fits.

        The best are those with the fewest distinct failing checks, then the fewest reasons, then
        the first in the order of heads and nozzles. A check that fails for both feeds gives a
        reason for each.
        """
        return reasons_at(self._demands.of(job_id), self._printer_of[printer_id], self._tables)

    def verdict(self, job_id: str) -> Verdict:
        """Whether something fits the job; if nothing does, why, and what comes nearest."""
        if self.fits_something(job_id):
            return Verdict(True, (), None)
        demand = self._demands.of(job_id)
        failing = self._tables.failing(demand)[self._fleet.class_of]
        order = nearest_first(self._fleet.printers, failing)
        reasons = verdict_reasons(
            self._fleet.printers,
            failing,
            order,
            lambda printer: reasons_at(demand, printer, self._tables),
        )
        return Verdict(False, reasons, self._fleet.printers[order[0]].id if order else None)

    def spools(self, job_id: str, feed: int) -> tuple[str, ...]:
        """Spools that pass check 11 for one feed (from 0) taken alone, in the scenario's order."""
        job = self._demands.of(job_id).job
        return tuple(spool.id for spool in self._tables.stock.for_feed(job.feeds[feed]))

    def job_class(self, job_id: str) -> int:
        """A number from 0; jobs with the same one get the same answers."""
        return self._demands.of(job_id).job_class

    def printer_class(self, printer_id: str) -> int:
        """A number from 0; printers with the same one get the same answers."""
        return self._fleet.class_of_id[printer_id]

    def bed_window(self, job_id: str) -> Span | None:
        """Common plate window of the feeds, °C; ``None`` where their windows lie apart."""
        return self._demands.of(job_id).together.bed_c

    def chamber_window(self, job_id: str) -> Span | None:
        """Common chamber window of the feeds, °C; ``None`` where their windows lie apart."""
        return self._demands.of(job_id).together.chamber_c

    def window(self, job_id: str) -> Span:
        """The chamber window to heat into, °C: the common one, or the first feed's if there is none."""
        return self._demands.of(job_id).together.heating_window

    def soak_min(self, job_id: str) -> int:
        """The longest soak of the feeds, minutes."""
        return self._demands.of(job_id).together.soak_min

    def setpoint_c(self, job_id: str, printer_id: str) -> float:
        """The chamber's setpoint for the job on a printer, °C."""
        demand, printer = self._pair(job_id, printer_id)
        return demand.together.setpoint_c(printer, self.scenario.site.ambient_c)

    def cooldown(self, job_id: str, printer_id: str) -> Cooldown:
        """The cool-down after the job's print on a printer."""
        demand, printer = self._pair(job_id, printer_id)
        return demand.together.cooldown(printer, self.scenario.site.ambient_c)

    def print_minutes(self, job_id: str, printer_id: str) -> int:
        """Whole minutes of the job's print on a printer."""
        demand, printer = self._pair(job_id, printer_id)
        return whole_minutes(demand.job.print_min * printer.speed_factor)

    def _pair(self, job_id: str, printer_id: str) -> tuple[Demand, Printer]:
        return self._demands.of(job_id), self._printer_of[printer_id]
