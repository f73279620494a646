"""The checks that ask nothing of a head: one function each, ``None`` where the check holds.

Each looks at as few of a printer's figures as it can, so that printers which share a figure share
the answer.
"""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.matching.answers import Finding
from scheduler.matching.together import Together
from scheduler.matching.words import duration, figure, listed, millimetres
from scheduler.model import Material, Span


def _apart(check: str, what: str, windows: Sequence[tuple[Material, Span]]) -> Finding:
    """Two materials that want temperatures of one thing which never meet."""
    (hot, hot_window), (cool, cool_window) = sorted(windows, key=lambda pair: -pair[1].lo)
    asked, there = hot_window.lo, cool_window.hi
    text = (
        f"{hot.id} asks for a {what} of at least {figure(asked)} °C, {cool.id} bears at most "
        f"{figure(there)} °C: no temperature suits both"
    )
    return Finding(check, asked, there, text)


def bed(together: Together, bed_max_c: float) -> Finding | None:
    """Check 2: the feeds' plate windows meet, and the plate reaches their common lower end."""
    materials = together.materials
    if together.bed_c is None:
        return _apart("bed", "bed", [(m, m.bed_c) for m in materials])
    asked = together.bed_c.lo
    if asked <= bed_max_c:
        return None
    hottest = max(materials, key=lambda m: m.bed_c.lo)
    text = f"bed reaches {figure(bed_max_c)} °C, {hottest.id} asks for at least {figure(asked)} °C"
    return Finding("bed", asked, bed_max_c, text)


def chamber(together: Together, chamber_max_c: float | None, ambient_c: float) -> Finding | None:
    """Check 3: the feeds' chamber windows meet, and the chamber reaches their common lower end."""
    materials = together.materials
    if together.chamber_c is None:
        return _apart("chamber", "chamber", [(m, m.chamber_c) for m in materials])
    asked = together.chamber_c.lo
    there = ambient_c if chamber_max_c is None else chamber_max_c
    if asked <= there:
        return None
    hottest = max(materials, key=lambda m: m.chamber_c.lo)
    if chamber_max_c is None:
        stands = f"chamber is not heated and stands at the room's {figure(ambient_c)} °C"
    else:
        stands = f"chamber reaches {figure(chamber_max_c)} °C"
    return Finding("chamber", asked, there, f"{stands}, {hottest.id} asks for at least {figure(asked)} °C")


def surface(together: Together, surfaces: Sequence[str]) -> Finding | None:
    """Check 4: one build surface is accepted by every feed's material."""
    choosy = [m for m in together.materials if m.surfaces]
    if not choosy or any(all(tag in m.surfaces for m in choosy) for tag in surfaces):
        return None
    wishes = " and ".join(f"{m.id} asks for {' or '.join(m.surfaces)}" for m in choosy)
    accepted = [tag for tag in choosy[0].surfaces if all(tag in m.surfaces for m in choosy)]
    there = listed(surfaces)
    return Finding("surface", listed(accepted), there, f"build surfaces here: {there}; {wishes}")


def fits_turned(size_mm: Sequence[float], volume_mm: Sequence[float]) -> bool:
    """Whether a plate's content fits upright, turned by 90° about the vertical if need be."""
    (x, y, z), (across, deep, high) = size_mm, volume_mm
    return z <= high and ((x <= across and y <= deep) or (y <= across and x <= deep))


def volume(size_mm: Sequence[float], volume_mm: Sequence[float]) -> Finding | None:
    """Check 7: the plate's content fits the build volume, never tipped."""
    if fits_turned(size_mm, volume_mm):
        return None
    asked, there = millimetres(size_mm), millimetres(volume_mm)
    text = f"build volume is {there}, the plate takes {asked} and may be turned but not tipped"
    return Finding("volume", asked, there, text)


def extraction(together: Together, has_extraction: bool) -> Finding | None:
    """Check 8: there is extraction if a material needs it."""
    needing = [m.id for m in together.materials if m.needs_extraction]
    if has_extraction or not needing:
        return None
    text = f"no extraction here, {' and '.join(dict.fromkeys(needing))} must not run without"
    return Finding("extraction", "extraction", "none", text)


def qualification(needs_qualified: Sequence[str], qualified: Sequence[str]) -> Finding | None:
    """Check 9: the printer is qualified for every tag that the job names."""
    missing = [tag for tag in needs_qualified if tag not in qualified]
    if not missing:
        return None
    there = listed(qualified)
    text = f"job needs a printer qualified for {listed(missing)}; qualified here: {there}"
    return Finding("qualification", listed(needs_qualified), there, text)


def heads(feeds: int, heads_there: int) -> Finding | None:
    """Check 10: as many heads as feeds."""
    if feeds <= heads_there:
        return None
    plural = "head" if heads_there == 1 else "heads"
    text = f"printer has {heads_there} {plural}, the job has {feeds} feeds"
    return Finding("heads", feeds, heads_there, text)


def staffed(occupied_min: int, longest_min: int) -> Finding | None:
    """Check 14, for a printer that may not run alone: its hot time fits one staffed stretch.

    Parameters
    ----------
    occupied_min : int
        Heating of the plate, soak, start, print and cool-down, minutes.
    longest_min : int
        The longest staffed stretch after ``plan_start``, minutes; 0 if nobody comes.
    """
    if occupied_min <= longest_min:
        return None
    text = (
        f"printer may not run alone and would be hot for {duration(occupied_min)}, "
        f"the longest staffed stretch is {duration(longest_min)}"
    )
    return Finding("staffed", occupied_min, longest_min, text)
