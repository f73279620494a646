"""Whether a job that a plan leaves out would have found a place beside the rest.

The search looks at every printer, seat, spool and minute of print start, with changeover and drying
as late and unload and anneal as early as they can be, each in a run of its own. What it finds is put
into the plan and judged by all rules before anybody is told, so it never claims a place that is none;
it may overlook one that needs a run shared with others.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

from scheduler.checking import changeovers, dryness, heating, thermal
from scheduler.checking.calendar import Taken, clear_of, common, gaps, horizon, unstaffed, without_a_hand
from scheduler.checking.room_runs import RoomForRuns
from scheduler.checking.spools import TOLERANCE_G
from scheduler.checking.stock import grams_left, lots_asked
from scheduler.checking.view import Stint, View
from scheduler.matching import Assignment, Matcher
from scheduler.model import (
    PRINTER_STEPS,
    DryerRun,
    FeedChoice,
    Job,
    OvenRun,
    PlannedJob,
    Printer,
    Spool,
    Step,
)

#: Print starts looked at for one plan, in all, so that a shop full to the brim stays quick to judge.
MOST_LOOKS = 300_000

#: How often a changeover is put earlier so that a spool is not too long on the shelf.
PATIENCE = 5


@dataclass(frozen=True, slots=True)
class Place:
    """A job's place and the runs that it would need beside those planned."""

    planned: PlannedJob
    dryer_runs: tuple[DryerRun, ...]
    oven_runs: tuple[OvenRun, ...]


class Room:
    """What a plan leaves free."""

    def __init__(self, view: View, matcher: Matcher) -> None:
        self.view, self.matcher = view, matcher
        self.horizon = horizon(view)
        self.hands: Taken = without_a_hand(view)
        self.unstaffed: Taken = unstaffed(view)
        self.left = grams_left(view)
        self.runs = RoomForRuns(view, self.hands)
        self.looks = MOST_LOOKS
        self.preheats: dict[tuple[str, tuple[str, ...], int], int] = {}
        self.changes: dict[tuple[object, ...], int] = {}

    def places(self, job: Job) -> Iterator[Place]:
        """Places that keep the rules about this job; whether the others keep theirs is left open."""
        for printer in self.view.scenario.printers:
            if job.pinned is not None and printer.id != job.pinned.printer:
                continue
            for seats in self.matcher.assignments(job.id, printer.id):
                for spools in self._spools(job):
                    # Working out the gaps costs about as much as looking at so many minutes.
                    self.looks -= 20
                    if self.looks < 0:
                        return
                    yield from self._on(job, printer, seats, spools)

    def _spools(self, job: Job) -> Iterator[tuple[Spool, ...]]:
        lots = lots_asked(self.view, job)
        found = []
        for number, feed in enumerate(job.feeds):
            spools = [self.view.spools[name] for name in self.matcher.spools(job.id, number)]
            spools = [spool for spool in spools if self.left[spool.id] + TOLERANCE_G >= feed.grams]
            if number == 0 and lots:
                spools = [spool for spool in spools if {spool.lot} == lots]
            found.append(spools)
        for pick in product(*found):
            if len({spool.id for spool in pick}) == len(pick):
                yield pick

    def _on(
        self, job: Job, printer: Printer, seats: Assignment, spools: tuple[Spool, ...]
    ) -> Iterator[Place]:
        view, minute = self.view, self.view.scenario.site.minute
        floor = max(0, minute(printer.free_at), minute(job.release))
        free = gaps(((stint.first, stint.last) for stint in view.on_printer[printer.id]), floor, self.horizon)
        for spool in spools:
            stays = [(mount.start, mount.end) for mount in view.mounts[spool.id]]
            stays += [(drying.start, drying.end) for drying in view.dryings_of[spool.id]]
            free = common(free, gaps(stays, max(0, minute(spool.available_from)), self.horizon))
        for start, end in free:
            stint = self._draft(job, printer, seats, spools, start)
            yield from self._in_gap(stint, start, end)

    def _draft(
        self, job: Job, printer: Printer, seats: Assignment, spools: tuple[Spool, ...], start: int
    ) -> Stint:
        """The job on its machine, its minutes still open."""
        view, begins = self.view, self.view.scenario.site.instant(start)
        heads = {head.id: head for head in printer.heads}
        planned = PlannedJob(
            job.id,
            printer.id,
            tuple(
                FeedChoice(seat.head, seat.nozzle, spool.id)
                for seat, spool in zip(seats.feeds, spools, strict=True)
            ),
            0.0,
            None,
            begins,
            0,
            tuple(Step(kind, begins, begins) for kind in PRINTER_STEPS),
        )
        stint = Stint(
            job,
            planned,
            printer,
            tuple(heads[seat.head] for seat in seats.feeds),
            tuple(seat.nozzle for seat in seats.feeds),
            spools,
            tuple(view.materials[feed.material] for feed in job.feeds),
            (start,) * 6,
            (start,) * 6,
            0,
        )
        setpoint = thermal.setpoint_c(view.scenario, stint)
        return replace(stint, planned=replace(planned, chamber_c=setpoint))

    def _in_gap(self, stint: Stint, floor: int, ceiling: int) -> Iterator[Place]:
        site, printer, pin = self.view.scenario.site, stint.printer, stint.job.pinned
        prints = thermal.print_minutes(stint)
        cools = thermal.cooldown(self.view.scenario, stint).minutes
        starts, wanted, apart = range(floor + site.plate_min, ceiling), 0, 1
        if pin is not None:
            asked = site.minute(pin.print_start) - site.start_min
            starts = range(max(asked, starts.start), min(asked + 1, starts.stop))
        for start in starts:
            if start < wanted:
                continue
            self.looks -= 1
            if self.looks < 0:
                return
            ends = start + site.start_min + prints + cools
            if ends + site.unload_min > ceiling:
                return
            if not self.hands.free(start, start + site.start_min):
                continue
            if not printer.unattended and not self.unstaffed.free(start, ends):
                continue
            if not clear_of(self.view, printer.downtime, start, ends):
                continue
            # What belongs around a print start costs some times as much as to see that none can be there.
            self.looks -= 4
            place = self._around(stint, floor, ceiling, start, ends - cools, ends)
            if place is not None:
                yield place
                # Close to one that is refused, the next most often is too.
                wanted, apart = start + apart, 2 * apart

    def _around(
        self, stint: Stint, floor: int, ceiling: int, start: int, printed: int, cooled: int
    ) -> Place | None:
        """Preheat, changeover and dryings before a print start; unload and anneal after it."""
        site, printer = self.view.scenario.site, stint.printer
        unload = cooled
        while not (
            self.hands.free(unload, unload + site.unload_min)
            and clear_of(self.view, printer.downtime, unload, unload + site.unload_min)
        ):
            unload = max(unload + 1, self.hands.next_free(unload))
            if unload + site.unload_min > ceiling:
                return None
        preheat = self._preheat(stint, floor, start)
        if preheat is None or not clear_of(self.view, printer.downtime, preheat, start):
            return None
        if not printer.unattended and not self.unstaffed.free(preheat, start):
            return None
        mounted = self._mounted(stint, floor, preheat, printed)
        if mounted is None:
            return None
        (change, changed), dryer_runs = mounted
        edges = (change, preheat, start, start + site.start_min, printed, unload)
        ends = (changed, start, start + site.start_min, printed, cooled, unload + site.unload_min)
        steps = tuple(
            Step(kind, site.instant(a), site.instant(b))
            for kind, a, b in zip(PRINTER_STEPS, edges, ends, strict=True)
        )
        bake = self.runs.anneal(stint.job, ends[-1])
        if bake is None and stint.job.anneal:
            return None
        named = None if bake is None else bake.id
        planned = replace(stint.planned, steps=steps, oven_run=named)
        return Place(planned, tuple(dryer_runs), () if bake is None else (bake,))

    def _preheat(self, stint: Stint, floor: int, start: int) -> int | None:
        """Where the shortest preheat that ends at ``start`` begins: the later, the colder the chamber."""
        materials = tuple(material.id for material in stint.materials)
        least = stint.printer.bed_heat_min + thermal.soak_minutes(stint)
        for begin in range(start - least, floor - 1, -1):
            key = (stint.printer.id, materials, begin)
            if key not in self.preheats:
                warm = heating.chamber_c(self.view, stint.printer, begin)
                self.preheats[key] = thermal.preheat_minutes(self.view.scenario, stint, warm)
            if self.preheats[key] <= start - begin:
                return begin
        return None

    def _mounted(
        self, stint: Stint, floor: int, preheat: int, printed: int
    ) -> tuple[tuple[int, int], list[DryerRun]] | None:
        """The latest good changeover before ``preheat``, and the runs that dry the spools for it."""
        feeds = range(len(stint.spools))
        before, damp = preheat, list[int]()
        for _ in range(PATIENCE):
            change = self._changeover(stint, floor, before, dried=False)
            if change is None:
                break
            over = [self._over(stint, feed, change[0], printed) for feed in feeds]
            damp = damp or [feed for feed in feeds if over[feed] > 0]
            if max(over) <= 0:
                return change, []
            if not self._mounts_early(stint, over):
                break
            before = change[1] - int(max(over))
        before = preheat
        for _ in range(PATIENCE if damp else 0):
            change = self._changeover(stint, floor, before, dried=True)
            if change is None:
                return None
            runs: list[DryerRun] = []
            for feed in damp:
                run = self.runs.dry(stint.spools[feed], change[0], runs)
                if run is None:
                    return None
                runs.append(run)
            since = dict(zip(damp, runs, strict=True))
            over = [self._over(stint, feed, change[0], printed, since.get(feed)) for feed in feeds]
            if max(over) <= 0:
                return change, runs
            if not self._mounts_early(stint, over):
                return None
            before = change[1] - int(max(over))
        return None

    def _mounts_early(self, stint: Stint, over: list[float]) -> bool:
        """True if spools open too long are so on the shelf, from which an earlier changeover takes them."""
        wet = [feed for feed, minutes in enumerate(over) if minutes > 0]
        return (
            max(over) < math.inf
            and not self.view.scenario.site.dry_storage
            and all(stint.heads[feed].dry_feed for feed in wet)
        )

    def _over(self, stint: Stint, feed: int, change: int, printed: int, run: DryerRun | None = None) -> float:
        """Minutes by which a spool would be open too long; infinite if it is not dried at all."""
        material, site = stint.materials[feed], self.view.scenario.site
        if not material.drying:
            return 0
        if run is None:
            exposed = dryness.exposure_minutes(self.view, stint.spools[feed], change)
        else:
            exposed = 0 if site.dry_storage else change - site.minute(run.end)
        if exposed is None:
            return math.inf
        if material.open_time_min is None:
            return 0
        return exposed + (0 if stint.heads[feed].dry_feed else printed - change) - material.open_time_min

    def _changeover(self, stint: Stint, floor: int, preheat: int, *, dried: bool) -> tuple[int, int] | None:
        lasts, downtime = self._change_minutes(stint, floor, dried), stint.printer.downtime
        start = self.hands.latest(preheat, lasts, floor)
        while start is not None and not clear_of(self.view, downtime, start, start + lasts):
            start = self.hands.latest(start + lasts - 1, lasts, floor)
        return None if start is None else (start, start + lasts)

    def _change_minutes(self, stint: Stint, floor: int, dried: bool) -> int:
        """How long the changeover takes behind what ends before ``floor``."""
        heads = tuple(head.id for head in stint.heads)
        spools = tuple(spool.id for spool in stint.spools)
        key = (stint.job.id, stint.printer.id, heads, stint.nozzles, spools, floor, dried)
        if key not in self.changes:
            view = self.view
            lasts, parts = changeovers.changeover_minutes(
                view, replace(stint, starts=(floor, *stint.starts[1:]))
            )
            if dried:
                # A spool that was last on its head costs a swap once it has been in a dryer.
                kept = sum(1 for head in stint.heads if f"{head.id} spool" not in parts)
                lasts += view.scenario.site.spool_swap_min * kept
            self.changes[key] = lasts
        return self.changes[key]
