"""A job's own steps in pieces: what the machine does with it, and the gaps between."""

from __future__ import annotations

from collections.abc import Callable

from scheduler.model import Job, PlannedJob, Printer
from scheduler.physics import chamber_minutes, decayed_c, whole_minutes
from scheduler.physics.heat import cooldown_c
from scheduler.planning.explain.index import Bake, PlanIndex
from scheduler.planning.explain.pieces import LinkKind, Piece
from scheduler.planning.explain.waits import Block, Waits
from scheduler.planning.explain.words import Clockwork, lasts, listed


class OwnSteps:
    """Tells a planned job from its changeover's start to the instant that it is done."""

    def __init__(self, index: PlanIndex, clock: Clockwork, waits: Waits) -> None:
        self._index = index
        self._clock = clock
        self._waits = waits

    def pieces(self, job: Job, planned: PlannedJob) -> list[Piece]:
        """Pieces from the first step's start to ``done``, without gaps."""
        minute = self._index.site.minute
        spans = {step.kind: (minute(step.start), minute(step.end)) for step in planned.steps}
        printer = self._index.printers[planned.printer]
        changeover, preheat, start = spans["changeover"], spans["preheat"], spans["start"]
        printing, cooling, unload = spans["print"], spans["cooldown"], spans["unload"]
        end_c = self._end_c(job, planned, cooling[1] - cooling[0])
        cools = f"cooling from {planned.chamber_c:g} °C to {end_c:.0f} °C takes {_length(cooling)}"
        if end_c >= planned.chamber_c:
            cools = f"the plate cools for {_length(cooling)}"
        pieces = [
            _piece("changeover", changeover, f"the changeover on {printer.id} takes {_length(changeover)}"),
            *self._heating(job, planned, printer, changeover[1], preheat, start),
            _piece("start", start, f"someone watches the first layer for {_length(start)}"),
            _piece("print", printing, f"the print takes {_length(printing)}"),
            _piece("cooldown", cooling, cools),
            *self._waits.gap(
                cooling[1], unload[0], unload[1] - unload[0], f"unload {job.id}", self._rest(job, printer)
            ),
            _piece("unload", unload, f"the unload takes {_length(unload)}"),
            *self._anneal(job, planned, unload[1]),
        ]
        ended = pieces[-1].end
        done = minute(planned.done)
        if done > ended:
            pieces.append(_piece("finish", (ended, done), f"finishing work takes {lasts(done - ended)}"))
        return [piece for piece in pieces if piece.minutes > 0]

    # ---- preheat ----------------------------------------------------------------------------

    def _heating(
        self,
        job: Job,
        planned: PlannedJob,
        printer: Printer,
        changed: int,
        preheat: tuple[int, int],
        start: tuple[int, int],
    ) -> list[Piece]:
        setpoint = f"{planned.chamber_c:g} °C"
        if preheat[0] < 0:
            return [_piece("heating", preheat, f"heating to {setpoint} takes {_length(preheat)}")]
        soak = max(self._index.materials[feed.material].soak_min for feed in job.feeds)
        kind, needs, words = self._warm_up(job, planned, printer, preheat[0])
        hot = min(preheat[0] + needs, preheat[1])
        soaked = min(hot + soak, preheat[1])
        held = self._held(job, printer, changed + soaked - preheat[0], start)
        pieces = []
        if preheat[0] > changed:
            pieces.append(held(changed, preheat[0], f"so {printer.id} begins to heat only {{time}}"))
        pieces.append(_piece(kind, (preheat[0], hot), words))
        if soaked > hot:
            at = f"at {setpoint}" if planned.chamber_c > self._index.site.ambient_c else "with the plate hot"
            pieces.append(_piece("soak", (hot, soaked), f"the soak {at} takes {lasts(soaked - hot)}"))
        if preheat[1] > soaked:
            holding = held(soaked, preheat[1], f"so {printer.id} is kept hot until {{time}}")
            pieces.append(holding)
        return pieces

    def _warm_up(self, job: Job, planned: PlannedJob, printer: Printer, at: int) -> tuple[LinkKind, int, str]:
        """How long a preheat at minute ``at`` needs before the soak, and its words."""
        ambient = self._index.site.ambient_c
        from_c = self._chamber_c(planned, printer, at)
        highest = min(self._index.materials[feed.material].chamber_c.hi for feed in job.feeds)
        chamber = chamber_minutes(from_c, planned.chamber_c, highest, printer, ambient)
        needs = whole_minutes(max(chamber, printer.bed_heat_min))
        if from_c > highest and chamber > 0:
            words = f"the chamber falls from {from_c:.0f} °C to {highest:g} °C in {lasts(needs)}"
            return "falling", needs, words
        if whole_minutes(chamber) > printer.bed_heat_min:
            words = f"heating from {from_c:.0f} °C to {planned.chamber_c:g} °C takes {lasts(needs)}"
        else:
            words = f"heating the plate takes {lasts(needs)}"
        return "heating", needs, words

    def _chamber_c(self, planned: PlannedJob, printer: Printer, at: int) -> float:
        """The chamber's temperature at minute ``at``, after whatever ran there before, °C."""
        index = self._index
        ambient = index.site.ambient_c
        if printer.chamber_max_c is None:
            return ambient
        before = index.previous_stay(index.stays[planned.job])
        if before is None or before.cooled <= 0 or before.job not in index.jobs:
            return decayed_c(printer.chamber_now_c, at, printer.cool_tau_min, ambient)
        earlier = index.planned[before.job]
        lasted = before.cooled - index.site.minute(earlier.steps[4].start)
        end_c = self._end_c(index.jobs[before.job], earlier, lasted)
        return decayed_c(end_c, at - before.cooled, printer.cool_tau_min, ambient)

    def _end_c(self, job: Job, planned: PlannedJob, minutes: int) -> float:
        """Chamber temperature at the end of a job's cool-down of ``minutes``, °C."""
        caps = [self._index.materials[feed.material].max_cool_c_per_min for feed in job.feeds]
        cap = min((cap for cap in caps if cap is not None), default=None)
        tau = self._index.printers[planned.printer].cool_tau_min
        return cooldown_c(planned.chamber_c, minutes, cap, tau, self._index.site.ambient_c)

    def _held(
        self, job: Job, printer: Printer, ready: int, start: tuple[int, int]
    ) -> Callable[[int, int, str], Piece]:
        """Why a print that could have begun at ``ready`` begins later: pieces of one reason."""
        hot = self._index.stays[job.id].cooled - start[0]
        rest = self._rest(job, printer, hot)
        reason = max(
            self._waits.gap(ready, start[0], start[1] - start[0], "start the print", rest),
            key=lambda piece: piece.minutes,
            default=Piece("choice", ready, start[0], "the plan holds it", "choice"),
        )

        def told(begin: int, end: int, then: str) -> Piece:
            words = f"{reason.phrase}, {then.format(time=self._clock.when(end))}"
            return Piece(reason.kind, begin, end, words, reason.cause, reason.named)

        return told

    def _rest(self, job: Job, printer: Printer, hot: int = 0) -> Callable[[int, int], Piece]:
        """What else can hold a step back, behind which the machine is hot for ``hot`` minutes."""
        index, clock = self._index, self._clock

        def rest(start: int, end: int) -> Piece:
            if job.pinned is not None and index.site.minute(job.pinned.print_start) >= end:
                at = clock.when(index.site.minute(job.pinned.print_start))
                return Piece("pinned", start, end, f"its print is pinned to {at}", "pinned")
            for row in printer.downtime:
                down = index.minute(row)
                if start < down[1] and down[0] < end:
                    phrase = f"{printer.id} is out of use until {clock.when(down[1])} ({row.reason})"
                    return Piece("downtime", start, end, phrase, printer.id, named=True)
            if hot > 0 and not printer.unattended and start + hot > index.hands.last_leaves(start):
                phrase = f"{printer.id} may only be hot with somebody there"
                return Piece("night", start, end, phrase, "night", named=True)
            phrase = f"the plan lets it wait {lasts(end - start)} though no rule asks for that"
            return Piece("choice", start, end, phrase, "choice")

        return rest

    # ---- annealing --------------------------------------------------------------------------

    def _anneal(self, job: Job, planned: PlannedJob, off: int) -> list[Piece]:
        bake = self._index.oven_bakes.get(planned.oven_run or "")
        if bake is None:
            return []
        load = min(self._index.site.oven_load_min, bake.end - bake.start)
        blocks = [*self._waits.machine_blocks(bake, off), *self._sharing(job, bake, off)]
        begin = max(bake.start, off)
        beside = [other for other in bake.what if other != job.id]
        shared = f" beside {listed(beside)}" if beside else ""
        phrase = (
            f"annealing in {bake.machine} at {bake.temp_c:g} °C takes {lasts(bake.end - bake.start)}{shared}"
        )
        return [
            *self._waits.chain(blocks, off, begin, load, f"load {bake.machine}"),
            _piece("anneal", (begin, bake.end), phrase),
        ]

    def _sharing(self, job: Job, bake: Bake, off: int) -> list[Block]:
        """The last of the other parts of its oven load to come off a printer."""
        stays = [self._index.stays[other] for other in bake.what if other in self._index.stays]
        later = [stay for stay in stays if stay.job != job.id and off < stay.end <= bake.start]
        if not later:
            return []
        last = max(later, key=lambda stay: stay.end)
        phrase = (
            f"it waits to share an oven load with {last.job}, which is off at {self._clock.when(last.end)}"
        )
        return [Block(last.end, lambda since: [Piece("sharing", since, last.end, phrase, bake.machine)])]


def _piece(kind: LinkKind, span: tuple[int, int], phrase: str) -> Piece:
    return Piece(kind, span[0], span[1], phrase)


def _length(span: tuple[int, int]) -> str:
    return lasts(span[1] - span[0])
