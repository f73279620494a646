"""Checks over all printer classes at once, each figure judged once and remembered."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.matching import machine_checks, stock_checks
from scheduler.matching.answers import CHECK_RANK, Finding
from scheduler.matching.demands import Demand
from scheduler.matching.fleet import BoolRow, Fleet, FloatRow
from scheduler.matching.seats import SEAT_CHECKS, Seating, Seats, failing_bits
from scheduler.matching.staffing import staffed_stretches
from scheduler.matching.together import Together
from scheduler.model import Scenario
from scheduler.physics import whole_minutes
from scheduler.physics.heat import ROUNDING


@dataclass(frozen=True, slots=True)
class HeatRows:
    """What a set of materials meets on every printer class; ``holds`` by the check's name."""

    holds: dict[str, BoolRow]
    every: BoolRow
    cooldown_min: FloatRow


def _bit(check: str) -> int:
    return 1 << CHECK_RANK[check]


class Tables:
    """The remembered tables of one scenario."""

    def __init__(self, scenario: Scenario) -> None:
        self.site = scenario.site
        self.fleet = Fleet(scenario.printers)
        self.seats = Seats(self.fleet.kinds)
        self.stock = stock_checks.SpoolStock(scenario)
        self.ovens = scenario.ovens
        stretches = staffed_stretches(scenario)
        self.longest_staffed_min = max((end - start for start, end in stretches), default=0)
        self._heat: dict[tuple[str, ...], HeatRows] = {}
        self._qualified: dict[tuple[str, ...], BoolRow] = {}
        self._seatings: dict[tuple[tuple[str, tuple[float, ...]], ...], Seating] = {}

    def stock_findings(self, demand: Demand) -> tuple[Finding, ...]:
        """Checks 11 and 12, which are the same for every printer."""
        job = demand.job
        oven = stock_checks.oven(job.anneal, demand.together.materials[0], self.ovens)
        return self.stock.check(job.feeds) + ((oven,) if oven else ())

    def heat(self, together: Together) -> HeatRows:
        """Checks 2, 3, 4 and 8 and the cool-down of a set of materials."""
        key = tuple(material.id for material in together.materials)
        rows = self._heat.get(key)
        if rows is None:
            rows = self._heat_rows(together)
            self._heat[key] = rows
        return rows

    def _heat_rows(self, together: Together) -> HeatRows:
        fleet, ambient_c = self.fleet, self.site.ambient_c
        holds = {
            "bed": fleet.bed.holds(lambda p: machine_checks.bed(together, p.bed_max_c) is None),
            "chamber": fleet.chamber.holds(
                lambda p: machine_checks.chamber(together, p.chamber_max_c, ambient_c) is None
            ),
            "surface": fleet.surface.holds(lambda p: machine_checks.surface(together, p.surfaces) is None),
            "extraction": fleet.extraction.holds(
                lambda p: machine_checks.extraction(together, p.extraction) is None
            ),
        }
        cooldown = fleet.cooling.figures(lambda p: together.cooldown(p, ambient_c).minutes)
        return HeatRows(holds, np.logical_and.reduce(list(holds.values())), cooldown)

    def qualified(self, tags: tuple[str, ...]) -> BoolRow:
        """Check 9 for a job's tags."""
        row = self._qualified.get(tags)
        if row is None:
            row = self.fleet.qualified.holds(
                lambda p: machine_checks.qualification(tags, p.qualified) is None
            )
            self._qualified[tags] = row
        return row

    def seating(self, demand: Demand) -> Seating:
        """Every way of seating the job's feeds on every head set-up."""
        key = tuple((feed.material, feed.nozzle_mm) for feed in demand.job.feeds)
        seating = self._seatings.get(key)
        if seating is None:
            seating = self.seats.seating(demand.together.materials, demand.job.feeds)
            self._seatings[key] = seating
        return seating

    def exposure_row(self, demand: Demand) -> FloatRow:
        """Least exposure of the job's spools, minutes."""
        prints = np.ceil(demand.job.print_min * self.fleet.speed_factor - ROUNDING)
        fixed = self.site.plate_min + demand.together.soak_min + self.site.start_min
        return np.asarray(self.fleet.bed_heat_min + prints + fixed)

    def exposure_min(self, demand: Demand, kind: int) -> int:
        """Least exposure of the job's spools on one printer class, minutes."""
        printer = self.fleet.kinds[kind]
        prints = whole_minutes(demand.job.print_min * printer.speed_factor)
        soak = demand.together.soak_min
        return self.site.plate_min + printer.bed_heat_min + soak + self.site.start_min + prints

    def occupied_min(self, demand: Demand, kind: int) -> int:
        """Minutes for which a printer class is hot with the job: bed, soak, start, print, cool-down."""
        cooling = demand.together.cooldown(self.fleet.kinds[kind], self.site.ambient_c).minutes
        return self.exposure_min(demand, kind) - self.site.plate_min + cooling

    def _staffed_row(self, demand: Demand, exposure: FloatRow, heat: HeatRows) -> BoolRow:
        occupied = exposure - self.site.plate_min + heat.cooldown_min
        return np.asarray(self.fleet.alone | (occupied <= self.longest_staffed_min))

    def fits(self, demand: Demand) -> BoolRow:
        """Whether all fourteen checks hold, for every printer class."""
        if self.stock_findings(demand):
            return np.zeros(len(self.fleet.kinds), dtype=np.bool_)
        heat = self.heat(demand.together)
        exposure = self.exposure_row(demand)
        longest = self.seating(demand).longest_min[self.seats.setup_of]
        return np.asarray(
            heat.every
            & self.qualified(demand.job.needs_qualified)
            & self.fleet.volume_row(demand.job.size_mm)
            & (exposure <= longest)
            & self._staffed_row(demand, exposure, heat)
        )

    def failing(self, demand: Demand) -> NDArray[np.int32]:
        """Bits (by rank in the order of the checks) that fail in the best way on every class."""
        job, heat = demand.job, self.heat(demand.together)
        exposure = self.exposure_row(demand)
        rows = dict(heat.holds)
        rows["qualification"] = self.qualified(job.needs_qualified)
        rows["volume"] = self.fleet.volume_row(job.size_mm)
        enough_heads = self.fleet.head_count >= len(job.feeds)
        rows["heads"] = enough_heads
        if demand.together.chamber_c is not None:
            rows["staffed"] = self._staffed_row(demand, exposure, heat)
        everywhere = sum({_bit(finding.check) for finding in self.stock_findings(demand)})
        failing = np.full(len(self.fleet.kinds), everywhere, dtype=np.int32)
        for check, holds in rows.items():
            failing[~holds] |= _bit(check)
        seated = np.flatnonzero(enough_heads)
        if len(seated):
            bits = failing_bits(self.seating(demand), self.seats.setup_of[seated], exposure[seated])
            for place, check in enumerate(SEAT_CHECKS):
                failing[seated[(bits >> place) & 1 > 0]] |= _bit(check)
        return failing
