"""What a job waits for before its changeover: the printer, a spool, its drying, people."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from scheduler.model import Downtime, DryingRow, Job, Spool
from scheduler.physics import whole_minutes
from scheduler.planning.explain.index import Bake, PlanIndex, Stay, Use
from scheduler.planning.explain.pieces import LinkKind, Piece
from scheduler.planning.explain.words import Clockwork, lasts, listed

#: So many earlier jobs (or runs) of a machine are told one by one, those before in one piece.
TOLD_ONE_BY_ONE = 3
#: A wait of a cooled part for its unload that is shorter is not worth a piece of its own, minutes.
WORTH_TELLING_MIN = 10


@dataclass(frozen=True, slots=True)
class Block:
    """Something without which the job could not begin before ``until``, and how to tell it.

    ``tell(since)`` gives the pieces of ``[since, until)``. ``least`` is how early it could have ended
    beside the rest of the plan: a drying run that was begun late, so as to end just in time, is not
    what a job waits for.
    """

    until: int
    tell: Callable[[int], list[Piece]]
    least: int | None = None

    @property
    def binds_until(self) -> int:
        return self.until if self.least is None else self.least


class Waits:
    """Tells what filled the time before attended work began."""

    def __init__(self, index: PlanIndex, clock: Clockwork) -> None:
        self._index = index
        self._clock = clock

    def before_changeover(self, job: Job, since: int) -> list[Piece]:
        """Pieces from ``since`` to the job's changeover, without gaps."""
        stay = self._index.stays[job.id]
        if stay.start <= since:
            return []
        doing = f"do the changeover on {stay.printer}"
        blocks = [*self._printer_blocks(job, stay), *self._spool_blocks(job, stay)]
        rest = self._rest_of(job, stay)
        return self._chain(blocks, since, stay.start, stay.changed - stay.start, doing, rest)

    def gap(
        self, ready: int, start: int, length: int, doing: str, rest: Callable[[int, int], Piece]
    ) -> list[Piece]:
        """Pieces of the wait ``[ready, start)`` of attended work for people; ``rest`` tells what is left."""
        pieces = []
        for stretch in self._index.hands.stretches(ready, start, length):
            if stretch.why == "night":
                pieces.append(self._night(stretch.start, stretch.end, doing))
            elif stretch.why == "hands":
                pieces.append(self._busy(stretch.start, stretch.end, doing))
            else:
                pieces.append(rest(stretch.start, stretch.end))
        return pieces

    def downtimes(
        self, machine: str, rows: Iterable[Downtime], since: int, until: int, needs: int
    ) -> list[Block]:
        """The downtimes that kept work of ``needs`` minutes from beginning in ``[since, until)``."""
        blocks = []
        for row in rows:
            start, end = self._index.minute(row)
            if since < end <= until and start < since + needs:
                blocks.append(Block(end, self._down(machine, row.reason, start, end)))
        return blocks

    def chain(self, blocks: list[Block], since: int, start: int, length: int, doing: str) -> list[Piece]:
        """Pieces of ``[since, start)`` for attended work that nothing else held back."""
        return self._chain(blocks, since, start, length, doing, self._chosen)

    # ---- the pieces -------------------------------------------------------------------------

    def _chain(
        self,
        blocks: list[Block],
        since: int,
        start: int,
        length: int,
        doing: str,
        rest: Callable[[int, int], Piece],
    ) -> list[Piece]:
        ready = since
        pieces: list[Piece] = []
        for block in sorted(blocks, key=lambda block: -block.binds_until):
            if block.until > ready:
                pieces += _fill(block.tell(ready), ready, min(block.until, start))
                ready = min(block.until, start)
        return [*pieces, *self.gap(ready, start, length, doing, rest)]

    def _night(self, start: int, end: int, doing: str) -> Piece:
        clock = self._clock
        until = clock.time(end) if clock.same_day(start, end) else clock.when(end)
        return Piece("night", start, end, f"nobody is there to {doing} before {until}", "night")

    def _busy(self, start: int, end: int, doing: str) -> Piece:
        who = listed(self._index.hands.busy_with(start, end))
        people = max(self._index.hands.people(start), self._index.hands.people(end - 1))
        few = {1: "the only person there is", 2: "both people there are"}
        crew = few.get(people, f"all {people} people there are")
        phrase = f"{crew} busy until {self._clock.when(end)} ({who}), so nobody can {doing}"
        return Piece("hands", start, end, phrase, "hands")

    def _chosen(self, start: int, end: int) -> Piece:
        phrase = f"the plan lets it wait {lasts(end - start)} though no rule asks for that"
        return Piece("choice", start, end, phrase, "choice")

    def _rest_of(self, job: Job, stay: Stay) -> Callable[[int, int], Piece]:
        """What else can hold a changeover back: a pin, or a machine that nobody may leave alone."""
        index, clock = self._index, self._clock

        def rest(start: int, end: int) -> Piece:
            if job.pinned is not None:
                at = clock.when(index.site.minute(job.pinned.print_start))
                return Piece("pinned", start, end, f"its print is pinned to {at}", "pinned")
            printer = index.printers[stay.printer]
            leaves = index.hands.last_leaves(start)
            shift = stay.cooled - stay.start
            steps = index.planned[job.id].steps
            # Set up in one shift and heated in a later one, it is not the heat that asks for this minute.
            heats_at_once = index.site.minute(steps[1].start) - stay.start < leaves - start
            if not printer.unattended and heats_at_once and start + shift > leaves:
                phrase = (
                    f"{printer.id} may only be hot with somebody there, and this job's {lasts(shift)} "
                    f"fit a shift first from {clock.when(end)}"
                )
                return Piece("night", start, end, phrase, "night", named=True)
            until_start = index.site.minute(steps[2].start) - stay.start
            if index.hands.people(start + until_start) == 0:
                phrase = f"its first layer would fall at {clock.when(start + until_start)}, with nobody there"
                return Piece("night", start, end, phrase, "night")
            return self._chosen(start, end)

        return rest

    # ---- the printer ------------------------------------------------------------------------

    def _printer_blocks(self, job: Job, stay: Stay) -> list[Block]:
        index = self._index
        printer = index.printers[stay.printer]
        blocks = []
        previous = index.previous_stay(stay)
        if previous is not None:
            blocks.append(Block(previous.end, lambda since: self._taken(previous, since)))
        ready = max(previous.end if previous else 0, 0)
        free_at = index.site.minute(printer.free_at)
        if 0 < free_at <= stay.start:
            blocks.append(Block(free_at, self._not_free(printer.id, free_at)))
        needs = stay.end - stay.start
        blocks += self.downtimes(printer.id, printer.downtime, ready, stay.start, needs)
        return blocks

    def _not_free(self, printer: str, free_at: int) -> Callable[[int], list[Piece]]:
        phrase = f"{printer} takes nothing new before {self._clock.when(free_at)}"
        return lambda since: [Piece("machine", since, free_at, phrase, printer, named=True)]

    def _down(self, machine: str, reason: str, start: int, end: int) -> Callable[[int], list[Piece]]:
        why = f" ({reason})" if reason else ""
        phrase = f"{machine} is out of use from {self._clock.when(start)} to {self._clock.when(end)}{why}"
        return lambda since: [Piece("downtime", since, end, phrase, machine, named=True)]

    def _taken(self, stay: Stay, since: int) -> list[Piece]:
        """The printer's earlier jobs back to ``since``, the last one first told whole."""
        pieces: list[Piece] = []
        told = 0
        cursor: Stay | None = stay
        while cursor is not None and cursor.end > since:
            if told == TOLD_ONE_BY_ONE:
                pieces = [*self._earlier(cursor, since), *pieces]
                break
            pieces = [*self._one_stay(cursor), *pieces]
            told += 1
            before = self._index.previous_stay(cursor)
            free_from = max(since, before.end if before else since)
            if free_from < cursor.start:
                begins = self._clock.when(cursor.start)
                phrase = f"{cursor.printer} is kept for {cursor.job}, which begins {begins}"
                kept = Piece("machine", free_from, cursor.start, phrase, cursor.printer, named=True)
                pieces = [kept, *pieces]
            cursor = before
        return pieces

    def _one_stay(self, stay: Stay) -> list[Piece]:
        clock = self._clock
        phrase = f"{stay.printer} is taken by {stay.job} until {clock.when(stay.end)}"
        if stay.unload - stay.cooled < WORTH_TELLING_MIN:
            return [Piece("machine", stay.start, stay.end, phrase, stay.printer, named=True)]
        printing = f"{stay.printer} is taken by {stay.job}, cooled {clock.when(stay.cooled)}"
        waits = self.gap(
            stay.cooled,
            stay.unload,
            stay.end - stay.unload,
            f"unload {stay.job}",
            lambda start, end: Piece("machine", start, end, phrase, stay.printer, named=True),
        )
        return [
            Piece("machine", stay.start, stay.cooled, printing, stay.printer, named=True),
            *waits,
            Piece("machine", stay.unload, stay.end, phrase, stay.printer, named=True),
        ]

    def _earlier(self, last: Stay, since: int) -> list[Piece]:
        row = self._index.on_printer[last.printer]
        names = [stay.job for stay in row[: row.index(last) + 1] if stay.end > since]
        phrase = f"{last.printer} first runs {listed(names)}"
        return [Piece("machine", since, last.end, phrase, last.printer, named=True)]

    # ---- spools and dryers ------------------------------------------------------------------

    def _spool_blocks(self, job: Job, stay: Stay) -> list[Block]:
        index = self._index
        blocks = []
        for choice in index.planned[job.id].feeds:
            spool = index.spools[choice.spool]
            arrives = index.site.minute(spool.available_from)
            uses = [use for use in index.uses[spool.id] if use.end <= stay.start]
            last = uses[-1] if uses else None
            if last is None:
                if arrives > 0:
                    blocks.append(Block(arrives, self._delivery(spool, arrives)))
            elif last.run is not None:
                blocks.append(self._drying_block(spool, index.bakes[last.run], job))
            else:
                blocks.append(Block(last.end, self._in_use(spool, last)))
        return blocks

    def _delivery(self, spool: Spool, arrives: int) -> Callable[[int], list[Piece]]:
        phrase = f"spool {spool.id} is delivered only {self._clock.when(arrives)}"
        return lambda since: [Piece("delivery", since, arrives, phrase, spool.id)]

    def _in_use(self, spool: Spool, use: Use) -> Callable[[int], list[Piece]]:
        where = self._index.stays[use.job].printer if use.job else ""
        until = self._clock.when(use.end)
        phrase = f"spool {spool.id} is on {where} for {use.job} until {until}"
        return lambda since: [Piece("spool", since, use.end, phrase, spool.id)]

    def _drying_block(self, spool: Spool, bake: Bake, job: Job) -> Block:
        """The run that dries the job's spool."""
        blocks = self.machine_blocks(bake, 0) + self._run_spool_blocks(bake)
        load = min(self._index.site.dryer_load_min, bake.end - bake.start)
        ready = max([0, *(block.until for block in blocks)])
        held = self._index.hands.stretches(ready, bake.start, load)
        spare = sum(stretch.end - stretch.start for stretch in held if stretch.why == "free")
        least = bake.end if bake.start < 0 else bake.start - spare + self._drying_minutes(bake)

        def tell(since: int) -> list[Piece]:
            phrase = self._drying_phrase(spool, bake)
            own = Piece("drying", bake.start, bake.end, phrase, spool.id)
            if bake.start <= since:
                return [own]
            doing = f"load {bake.machine}"
            return [*self._chain(blocks, since, bake.start, load, doing, self._chosen), own]

        return Block(bake.end, tell, least)

    def _drying_minutes(self, bake: Bake) -> int:
        """A batch run's length; for a rolling dryer what its spool needs at least."""
        dryer = self._index.dryers[bake.machine]
        if dryer.kind == "batch":
            return bake.end - bake.start
        rows = [
            row
            for name in bake.what
            for row in self._drying_rows(name, bake)
            if row.temp_c == bake.temp_c and (dryer.vacuum or not row.vacuum)
        ]
        needed = min((whole_minutes(row.hours * 60) for row in rows), default=bake.end - bake.start)
        return min(needed, bake.end - bake.start)

    def _drying_rows(self, name: str, bake: Bake) -> tuple[DryingRow, ...]:
        """The rows that hold for a spool in a run: its own for its first one, else its material's."""
        spool = self._index.spools[name]
        first = next(use.run for use in self._index.uses[name] if use.run is not None)
        own = spool.drying if first == bake.id else None
        return self._index.materials[spool.material].drying if own is None else own

    def _drying_phrase(self, spool: Spool, bake: Bake) -> str:
        others = [one for one in bake.what if one != spool.id]
        beside = f" beside {listed(others)}" if others else ""
        return (
            f"spool {spool.id} dries in {bake.machine} at {bake.temp_c:g} °C{beside} "
            f"until {self._clock.when(bake.end)} (run {bake.id})"
        )

    def _run_spool_blocks(self, bake: Bake) -> list[Block]:
        """What the spools of a run were doing before it."""
        blocks = []
        for name in bake.what:
            spool = self._index.spools[name]
            uses = [use for use in self._index.uses[name] if use.end <= bake.start]
            arrives = self._index.site.minute(spool.available_from)
            if uses and uses[-1].end > 0:
                last = uses[-1]
                tell = self._in_use(spool, last) if last.job else self._earlier_run(last)
                blocks.append(Block(last.end, tell))
            elif 0 < arrives <= bake.start:
                blocks.append(Block(arrives, self._delivery(spool, arrives)))
        return blocks

    def _earlier_run(self, use: Use) -> Callable[[int], list[Piece]]:
        bake = self._index.bakes[use.run or ""]
        return lambda since: [self._busy_machine(bake, since)]

    def machine_blocks(self, bake: Bake, since: int) -> list[Block]:
        """What filled the machine of a run before it, and its downtimes."""
        index = self._index
        row = index.in_machine[bake.machine]
        earlier = [
            other for other in row if other is not bake and other.end <= bake.start and other.end > since
        ]
        blocks = []
        if earlier and self._was_full(bake, row):
            last = max(earlier, key=lambda other: other.end)
            blocks.append(Block(last.end, lambda begin: self._busy_runs(last, earlier, begin)))
        machine = index.dryers.get(bake.machine) if bake.kind == "dryer" else index.ovens.get(bake.machine)
        if machine is not None:
            ready = max([since, *(block.until for block in blocks)])
            blocks += self.downtimes(bake.machine, machine.downtime, ready, bake.start, bake.end - bake.start)
        return blocks

    def _was_full(self, bake: Bake, row: list[Bake]) -> bool:
        """True if a run just before ended held the place that this one takes."""
        dryer = self._index.dryers.get(bake.machine)
        if bake.kind == "oven" or dryer is None or dryer.kind == "batch":
            return True
        just_before = bake.start - 1
        there = sum(1 for other in row if other is not bake and other.start <= just_before < other.end)
        return there >= dryer.slots

    def _busy_runs(self, last: Bake, earlier: list[Bake], since: int) -> list[Piece]:
        pieces = [self._busy_machine(last, since)]
        if last.start > since:
            names = [bake.id for bake in earlier if bake is not last and bake.end > since]
            if names:
                more = f"run {names[0]}" if len(names) == 1 else f"runs {listed(names)}"
                phrase = f"{last.machine} is kept for other loads ({more})"
            else:
                phrase = (
                    f"{last.machine} is kept for run {last.id}, which begins {self._clock.when(last.start)}"
                )
            kind: LinkKind = "dryer" if last.kind == "dryer" else "oven"
            pieces.insert(0, Piece(kind, since, last.start, phrase, last.machine, named=True))
        return pieces

    def _busy_machine(self, bake: Bake, since: int) -> Piece:
        kind = "spool" if bake.kind == "dryer" else "job"
        load = f"{kind}{'s' if len(bake.what) > 1 else ''} {listed(bake.what)}"
        phrase = f"{bake.machine} is taken by run {bake.id} ({load}) until {self._clock.when(bake.end)}"
        link_kind: LinkKind = "dryer" if bake.kind == "dryer" else "oven"
        return Piece(link_kind, max(since, bake.start), bake.end, phrase, bake.machine, named=True)


def _fill(pieces: list[Piece], since: int, until: int) -> list[Piece]:
    """The pieces clipped to ``[since, until)``, each reaching to the next one's start."""
    kept = [piece for one in pieces if (piece := one.clipped(since, until))]
    filled: list[Piece] = []
    cursor = since
    for piece in kept:
        filled.append(Piece(piece.kind, cursor, piece.end, piece.phrase, piece.cause, piece.named))
        cursor = piece.end
    return [piece for piece in filled if piece.end > piece.start]
