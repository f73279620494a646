"""Temperatures that must stand in an order, or the heat formulas mean nothing."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.model.codec.offences import Found, shown
from scheduler.model.codec.rules.lens import child, entries, number


def temperatures(raw: object) -> Iterator[Found]:
    """Chambers that can't cool to a release, or can't approach their own maximum, dryers' fixed heat."""
    ambient = next((number(site, "ambient_c") for _, site in child(raw, "site")), None)
    if ambient is not None:
        yield from _above_ambient(raw, ambient)
    yield from _reaches(raw)
    for path, dryer in entries(raw, "dryers"):
        kind, fixed = dryer.get("kind"), dryer.get("fixed_c")
        if "fixed_c" not in dryer:
            continue
        if kind == "batch" and fixed is not None:
            yield (*path, "fixed_c"), f"a batch dryer has no fixed temperature, yet {shown(fixed)} is given"
        elif kind == "rolling" and fixed is None:
            yield (*path, "fixed_c"), "a rolling dryer needs its fixed temperature, null is given"


def _above_ambient(raw: object, ambient: float) -> Iterator[Found]:
    for path, material in entries(raw, "materials"):
        release = number(material, "release_c")
        if release is not None and release <= ambient:
            yield (
                (*path, "release_c"),
                f"a release at {shown(release)} °C is not above the room's {shown(ambient)} °C",
            )
        window = material.get("chamber_c")
        if isinstance(window, list) and len(window) == 2:
            highest = number({"hi": window[1]}, "hi")
            if highest is not None and highest <= ambient:
                yield (
                    (*path, "chamber_c"),
                    f"the window's upper end of {shown(highest)} °C "
                    f"is not above the room's {shown(ambient)} °C",
                )


def _reaches(raw: object) -> Iterator[Found]:
    for path, printer in entries(raw, "printers"):
        if "chamber_max_c" not in printer or "chamber_reach_c" not in printer:
            continue
        highest, reach = number(printer, "chamber_max_c"), number(printer, "chamber_reach_c")
        if printer["chamber_max_c"] is None and reach is not None:
            yield (
                (*path, "chamber_max_c"),
                f"null says that the chamber is not heated, yet its reach is given as {shown(reach)} °C",
            )
        elif printer["chamber_reach_c"] is None and highest is not None:
            yield (
                (*path, "chamber_reach_c"),
                f"null is given, yet the chamber is heated to at most {shown(highest)} °C",
            )
        elif highest is not None and reach is not None and reach <= highest:
            yield (
                (*path, "chamber_reach_c"),
                f"a reach of {shown(reach)} °C is not above the chamber's maximum of {shown(highest)} °C",
            )
