"""A quantity of parts dealt out to plates, with the reason."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from scheduler.matching import Matcher
from scheduler.matching.staffing import staffed_stretches
from scheduler.model import Job, Printer, Scenario, Spool
from scheduler.quoting.ask import Ask, AskLine

#: Room left between parts, mm; an estimate (5 to 10 mm are usual).
GAP_MM = 5.0
#: A spool keeps so many grams that no print may count on.
SPOOL_REST_G = 20.0
#: Filament on a spool that is bought.
BOUGHT_G = 1000.0
#: Hottest dryer that the body of a bought spool stands, °C: the shop must order it so.
BOUGHT_BODY_C = 160.0


@dataclass(frozen=True, slots=True)
class Split:
    """How a line is dealt out.

    Parameters
    ----------
    plates : tuple of int
        Parts on each plate.
    reason : str
        Why so many, in a sentence with figures.
    """

    plates: tuple[int, ...]
    reason: str


def split(line: AskLine, scenario: Scenario) -> Split:
    """Deal a line's parts out to plates.

    As many on a plate as at least half of the machines take that could print one part, as one spool feeds,
    as stay dry for the print, and as end before somebody comes back after the longest night; each plate
    then gets about as many as the next.
    """
    one = _job("one", "ask", line, 1, scenario.site.plan_start)
    matcher = Matcher(_with(scenario, one))
    printers = {printer.id: printer for printer in scenario.printers}
    fitting = [
        printers[p.id]
        for p in scenario.printers
        if {reason.check for reason in matcher.failures("one", p.id)} <= {"spool"}
    ]
    if not fitting:
        return Split((1,) * line.quantity, "one part a plate: no machine of the shop takes one as it is")
    limits: list[tuple[int, str]] = []
    rooms = sorted((_room(line, printer) for printer in fitting), reverse=True)
    by_room = rooms[(len(rooms) - 1) // 2]
    limits.append(
        (by_room, f"the plates of half of the {len(fitting)} machines that can do it hold {by_room}")
    )
    night = _longest_night(scenario)
    if night is not None:
        fits = max(1, int(night // line.print_min))
        limits.append((fits, f"{fits} are printed in the longest night of {night / 60:.1f} h"))
    whole = max(
        (spool.grams for spool in scenario.spools if spool.material == line.material), default=BOUGHT_G
    )
    fed = max(1, int((whole - SPOOL_REST_G) / line.grams))
    limits.append((fed, f"the fullest spool of {line.material} feeds {fed}"))
    material = next(m for m in scenario.materials if m.id == line.material)
    moist = [p for p in fitting if not any(head.dry_feed for head in p.heads)]
    if material.drying and material.open_time_min is not None and 2 * len(moist) > len(fitting):
        dry = max(
            1,
            int(
                (material.open_time_min - _before_print_min(scenario, material.soak_min, moist))
                / line.print_min
            ),
        )
        limits.append((dry, f"{dry} are printed within the open time of {material.open_time_min} min"))
    most, why = min(limits, key=lambda limit: limit[0])
    most = max(1, most)
    count = math.ceil(line.quantity / most)
    if count == 1:
        return Split((line.quantity,), f"one plate: {why}")
    plates = _dealt(line.quantity, most)
    return Split(plates, f"{count} plates of up to {plates[0]}: {why}")


def jobs_of(
    ask: Ask, order: str, release: datetime, scenario: Scenario, most: int | None = None
) -> tuple[Job, ...]:
    """The request as jobs of an order, a plate each: ``order-2.3`` is the third plate of its second line.

    Parameters
    ----------
    most : int or None
        Parts that a plate may hold at most, where fewer than `split` finds are wanted.
    """
    jobs: list[Job] = []
    for number, line in enumerate(ask.lines, 1):
        plates = split(line, scenario).plates
        if most is not None and plates[0] > most:
            plates = _dealt(line.quantity, most)
        first: str | None = None
        for plate, parts in enumerate(plates, 1):
            id = f"{order}-{number}.{plate}" if len(plates) > 1 else f"{order}-{number}"
            jobs.append(_job(id, order, line, parts, release, first if line.one_lot else None))
            first = first or id
    return tuple(jobs)


def missing_spools(
    jobs: Sequence[Job], scenario: Scenario, plan_grams: dict[str, float], days: int, order: str
) -> tuple[Spool, ...]:
    """Spools to be bought where stock that nobody draws on would not do.

    Parameters
    ----------
    plan_grams : dict
        What the plan draws from each spool, grams.
    days : int
        Until delivery; an estimate of the shop, counted from the plan's start.
    """
    there: dict[tuple[str, frozenset[str]], float] = {}
    for spool in scenario.spools:
        left = spool.grams - plan_grams.get(spool.id, 0.0) - SPOOL_REST_G
        key = (spool.material, frozenset(spool.certs))
        there[key] = there.get(key, 0.0) + max(0.0, left)
    missing = {}
    for (material, certs), draws in sorted(_draws(jobs).items()):
        have = sum(g for (m, tags), g in there.items() if m == material and tags >= set(certs))
        if have < 1.25 * sum(draws):
            missing[material, certs] = draws
    return _to_buy(missing, scenario, days, order)


def needed_spools(jobs: Sequence[Job], scenario: Scenario, days: int, order: str) -> tuple[Spool, ...]:
    """Spools for the whole request, as if the shop had none; ``days`` as for `missing_spools`."""
    return _to_buy(_draws(jobs), scenario, days, order)


def _draws(jobs: Sequence[Job]) -> dict[tuple[str, tuple[str, ...]], list[float]]:
    """What jobs draw, by material and certificates, grams."""
    asked: dict[tuple[str, tuple[str, ...]], list[float]] = {}
    for job in jobs:
        for feed in job.feeds:
            asked.setdefault((feed.material, tuple(sorted(feed.certs))), []).append(feed.grams)
    return asked


def _to_buy(
    asked: dict[tuple[str, tuple[str, ...]], list[float]], scenario: Scenario, days: int, order: str
) -> tuple[Spool, ...]:
    bought: list[Spool] = []
    start = scenario.site.plan_start
    for (material, certs), draws in sorted(asked.items()):
        each = max(BOUGHT_G, max(draws) + SPOOL_REST_G)
        for _ in range(max(1, math.ceil(sum(draws) / (each - SPOOL_REST_G)))):
            number = len(bought) + 1
            bought.append(
                Spool(
                    id=f"{order}-buy-{number}",
                    material=material,
                    lot=f"to be bought for {order}, {material} {'/'.join(certs)}".rstrip(),
                    grams=each,
                    body_max_c=BOUGHT_BODY_C,
                    certs=certs,
                    available_from=start + timedelta(days=days),
                    dried=False,
                    exposed_min=0,
                    drying=None,
                )
            )
    return tuple(bought)


def _dealt(quantity: int, most: int) -> tuple[int, ...]:
    """Parts on each plate: about as many as on the next, the larger ones first."""
    count = math.ceil(quantity / most)
    least, more = divmod(quantity, count)
    return (least + 1,) * more + (least,) * (count - more)


def _job(
    id: str, order: str, line: AskLine, parts: int, release: datetime, same_lot_as: str | None = None
) -> Job:
    return Job(
        id=id,
        order=order,
        part=line.part,
        quantity=parts,
        print_min=max(1, math.ceil(line.print_min * parts)),
        size_mm=_plate_size(line, parts),
        needs_qualified=line.needs_qualified,
        anneal=line.anneal,
        finish_min=line.finish_min,
        release=release,
        due=None,
        weight=1.0,
        same_lot_as=same_lot_as,
        pinned=None,
        feeds=(line.feed(parts),),
        progress=None,
    )


def _plate_size(line: AskLine, parts: int) -> tuple[float, float, float]:
    """The smallest nearly square field of so many parts, mm."""
    x, y, z = line.size_mm
    best = (math.inf, x, y)
    for columns in range(1, parts + 1):
        rows = math.ceil(parts / columns)
        wide = columns * (x + GAP_MM) - GAP_MM
        deep = rows * (y + GAP_MM) - GAP_MM
        best = min(best, (max(wide, deep), wide, deep))
    return (round(best[1], 3), round(best[2], 3), z)


def _room(line: AskLine, printer: Printer) -> int:
    """The most parts whose nearly square field the printer holds."""
    x, y, _ = line.size_mm
    across, deep, _ = printer.volume_mm
    most = int(max(1.0, (across + GAP_MM) * (deep + GAP_MM) / ((x + GAP_MM) * (y + GAP_MM))))
    for parts in range(min(most, line.quantity), 1, -1):
        wide, long, _ = _plate_size(line, parts)
        if (wide <= across and long <= deep) or (wide <= deep and long <= across):
            return parts
    return 1


def _longest_night(scenario: Scenario) -> int | None:
    """Minutes of the longest stretch without anybody up to a day; ``None`` if somebody is always there."""
    stretches = staffed_stretches(scenario)
    gaps = [b[0] - a[1] for a, b in itertools.pairwise(stretches)]
    nights = [gap for gap in gaps if 0 < gap <= 24 * 60]
    return max(nights, default=None)


def _before_print_min(scenario: Scenario, soak_min: int, printers: list[Printer]) -> int:
    site = scenario.site
    return site.plate_min + site.start_min + soak_min + max(printer.bed_heat_min for printer in printers)


def _with(scenario: Scenario, job: Job) -> Scenario:
    return replace(scenario, jobs=(job,))
