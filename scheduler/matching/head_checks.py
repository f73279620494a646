"""The checks that ask something of a head and a nozzle for one feed; ``None`` where it holds."""

from __future__ import annotations

import math

from scheduler.matching.answers import Finding
from scheduler.matching.words import duration, figure
from scheduler.model import Feed, Head, Material, Nozzle


def hot_end(material: Material, head: Head, nozzle: Nozzle | None) -> Finding | None:
    """Check 1: head and nozzle reach the lower end of the material's nozzle window."""
    there = head.max_c if nozzle is None else min(head.max_c, nozzle.max_c)
    asked = material.nozzle_c.lo
    if asked <= there:
        return None
    if nozzle is not None and nozzle.max_c < head.max_c:
        limit = f"nozzle {nozzle.id} on head {head.id} bears"
    else:
        limit = f"head {head.id} reaches"
    text = f"{limit} {figure(there)} °C, {material.id} asks for at least {figure(asked)} °C"
    return Finding("hot_end", asked, there, text)


def filament(material: Material, head: Head) -> Finding | None:
    """Check 5: the head takes the material's diameter."""
    asked, there = material.filament_mm, head.filament_mm
    if asked == there:
        return None
    text = f"head {head.id} takes {figure(there)} mm filament, {material.id} is {figure(asked)} mm"
    return Finding("filament", asked, there, text)


def nozzle(material: Material, feed: Feed, head: Head, fitted: Nozzle | None) -> Finding | None:
    """Check 6: bore allowed and wide enough for the material, metal that it does not eat."""
    allowed = " or ".join(figure(size) for size in feed.nozzle_mm) + " mm"
    if fitted is None:
        text = f"no nozzle lies ready for head {head.id}, the job asks for {allowed}"
        return Finding("nozzle", allowed, "none", text)
    asked: list[str] = []
    there: list[str] = []
    said: list[str] = []

    def miss(wanted: str, found: str, sentence: str) -> None:
        asked.append(wanted)
        there.append(found)
        said.append(sentence)

    bore = f"{figure(fitted.size_mm)} mm"
    if fitted.size_mm not in feed.nozzle_mm:
        miss(allowed, bore, f"is {bore}, the job allows {allowed}")
    if fitted.size_mm < material.min_nozzle_mm:
        finest = f"{figure(material.min_nozzle_mm)} mm"
        miss(f"at least {finest}", bore, f"is {bore}, {material.id} passes no finer than {finest}")
    if material.abrasive and not fitted.hardened:
        miss("hardened", "not hardened", f"is not hardened, {material.id} is abrasive")
    if material.corrosive and not fitted.corrosion_proof:
        miss("corrosion-proof", "not corrosion-proof", f"is not corrosion-proof, {material.id} is corrosive")
    if not said:
        return None
    text = f"nozzle {fitted.id} on head {head.id} " + "; ".join(said)
    return Finding("nozzle", ", ".join(asked), ", ".join(dict.fromkeys(there)), text)


def bears_min(material: Material, dry_feed: bool) -> float:
    """Longest exposure that a material bears on a head, minutes; infinite where none is counted."""
    if dry_feed or not material.drying or material.open_time_min is None:
        return math.inf
    return material.open_time_min


def open_time(material: Material, head: Head, exposure_min: int) -> Finding | None:
    """Check 13: the least exposure that the job can have stays within the material's open time.

    Parameters
    ----------
    exposure_min : int
        Plate change, heating of the plate, soak, start and print, minutes.
    """
    limit = bears_min(material, head.dry_feed)
    if exposure_min <= limit:
        return None
    there = int(limit)
    text = (
        f"{material.id} on head {head.id}, which feeds from room air, would be out for at least "
        f"{duration(exposure_min)}, its open time is {duration(there)}"
    )
    return Finding("open_time", exposure_min, there, text)
