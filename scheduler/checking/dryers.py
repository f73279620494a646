"""Dryer runs: recipe, length, places."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.thermal import hours_as_minutes
from scheduler.checking.view import Annealing, Drying, View
from scheduler.model import DryingRow, Spool

#: Setpoint and recipe are the same temperature within this, °C.
SAME_C = 1e-9


def recipe(view: View, drying: Drying, spool: Spool) -> DryingRow | None:
    """The shortest row by which this run dries the spool; ``None``: no row does."""
    rows = view.materials[spool.material].drying
    # Its own rows are for its first run, begun ones counted.
    if spool.drying is not None and view.dryings_of[spool.id][0] is drying:
        rows = spool.drying
    usable = [
        row
        for row in rows
        if abs(row.temp_c - drying.run.setpoint_c) <= SAME_C and (drying.dryer.vacuum or not row.vacuum)
    ]
    return min(usable, key=lambda row: row.hours, default=None)


def check_runs(view: View) -> Iterator[Breach]:
    """Each run by itself: setpoint, bodies, recipes, length, number of spools."""
    for drying in view.dryings:
        if not drying.begun:
            yield from _check_setpoint(drying)
            yield from _check_load(drying)
            yield from _check_length(view, drying)


def _check_setpoint(drying: Drying) -> Iterator[Breach]:
    dryer, setpoint = drying.dryer, drying.run.setpoint_c
    if setpoint > dryer.max_c:
        text = f"its setpoint is {setpoint:g} °C, dryer {dryer.id} reaches {dryer.max_c:g} °C"
        yield Breach("dryers", drying.who, text)
    if dryer.fixed_c is not None and abs(setpoint - dryer.fixed_c) > SAME_C:
        text = f"its setpoint is {setpoint:g} °C, rolling dryer {dryer.id} stands at {dryer.fixed_c:g} °C"
        yield Breach("dryers", drying.who, text)
    for spool in drying.spools:
        if setpoint > spool.body_max_c:
            body = f"the body of spool {spool.id} stands {spool.body_max_c:g} °C"
            text = f"its setpoint is {setpoint:g} °C, {body}"
            yield Breach("dryers", drying.who, text)


def _check_load(drying: Drying) -> Iterator[Breach]:
    count, slots = len(drying.spools), 1 if drying.dryer.kind == "rolling" else drying.dryer.slots
    if count == 0:
        yield Breach("dryers", drying.who, "it dries no spool")
    if count > slots:
        text = f"{count} spools are in it, a run in {drying.dryer.kind} dryer {drying.dryer.id} takes {slots}"
        yield Breach("dryers", drying.who, text)


def _check_length(view: View, drying: Drying) -> Iterator[Breach]:
    recipes = []
    for spool in drying.spools:
        row = recipe(view, drying, spool)
        if row is None:
            vacuum = "with" if drying.dryer.vacuum else "without"
            text = f"spool {spool.id} has no recipe at {drying.run.setpoint_c:g} °C {vacuum} vacuum"
            yield Breach("dryers", drying.who, text)
        else:
            recipes.append(hours_as_minutes(row.hours))
    if not recipes or len(recipes) < len(drying.spools):
        return
    minutes, longest = drying.end - drying.start, max(recipes)
    if drying.dryer.kind == "rolling":
        if minutes < longest:
            yield Breach("dryers", drying.who, f"it lasts {minutes} min, asked for: at least {longest} min")
    elif minutes != drying.dryer.warmup_min + longest:
        asked = drying.dryer.warmup_min + longest
        text = (
            f"it lasts {minutes} min, asked for: {asked} min "
            f"(warm-up {drying.dryer.warmup_min}, longest recipe {longest})"
        )
        yield Breach("dryers", drying.who, text)


def check_places(view: View) -> Iterator[Breach]:
    """Batch runs one after another, rolling runs within the slots, dryer and oven in turn."""
    by_dryer: dict[str, list[Drying]] = defaultdict(list)
    by_oven: dict[str, list[Annealing]] = defaultdict(list)
    for drying in view.dryings:
        by_dryer[drying.dryer.id].append(drying)
    for annealing in view.annealings:
        by_oven[annealing.oven.id].append(annealing)
    for dryer_id, dryings in by_dryer.items():
        dryings.sort(key=lambda drying: (drying.start, drying.end))
        if dryings[0].dryer.kind == "rolling":
            yield from _check_slots(view, dryings)
        else:
            yield from _check_turns(view, dryings)
        for drying in dryings:
            for annealing in by_oven.get(dryer_id, ()):
                apart = drying.end <= annealing.start or annealing.end <= drying.start
                if not apart and not (drying.begun and annealing.begun):
                    text = (
                        f"it overlaps oven run {annealing.run.id}, "
                        f"{view.between(annealing.start, annealing.end)}, in machine {dryer_id}"
                    )
                    yield Breach("dryers", drying.who, text, annealing.run.jobs)


def _check_turns(view: View, dryings: list[Drying]) -> Iterator[Breach]:
    before: Drying | None = None
    for drying in dryings:
        if before is not None and drying.start < before.end and not (drying.begun and before.begun):
            text = (
                f"it starts {view.when(drying.start)}, dryer {drying.dryer.id} is busy with "
                f"{before.run.id} until {view.when(before.end)}"
            )
            yield Breach("dryers", drying.who, text)
        if before is None or drying.end > before.end:
            before = drying


def _check_slots(view: View, dryings: list[Drying]) -> Iterator[Breach]:
    for drying in dryings:
        beside = [other for other in dryings if other.start <= drying.start < other.end]
        slots = drying.dryer.slots
        # Of the runs that crowd it, one that has not begun is the one that had the choice.
        late = drying if not drying.begun else next((run for run in beside if not run.begun), None)
        if len(beside) > slots and late is not None:
            there = f"{len(beside)} runs are in dryer {drying.dryer.id}"
            text = f"{there} at {view.when(drying.start)}, slots: {slots}"
            yield Breach("dryers", late.who, text)
