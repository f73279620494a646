"""Nothing starts too early, and nothing runs on a machine that is down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.view import View
from scheduler.model import PRINTER_STEPS, Downtime, Dryer, Oven


def check_not_before(view: View) -> Iterator[Breach]:
    """Not before ``plan_start``, the printer's ``free_at``, the job's ``release``, a spool's delivery."""
    site = view.scenario.site
    for stint in view.stints.values():
        if stint.under_way:
            for step in range(stint.begun, len(PRINTER_STEPS)):
                if stint.starts[step] < 0:
                    text = f"{PRINTER_STEPS[step]} starts {view.when(stint.starts[step])}, before plan_start"
                    yield Breach("not before", stint.who, text, (stint.job.id,))
                    break
            continue
        bounds = [
            (0, "plan_start"),
            (site.minute(stint.printer.free_at), f"printer {stint.printer.id} is free"),
            (site.minute(stint.job.release), "its release"),
        ]
        bounds += [
            (site.minute(spool.available_from), f"spool {spool.id} is there") for spool in stint.spools
        ]
        yield from _early(view, stint.who, "changeover", stint.first, bounds, (stint.job.id,))
    for drying in view.dryings:
        if drying.begun:
            continue
        bounds = [(0, "plan_start")]
        bounds += [
            (site.minute(spool.available_from), f"spool {spool.id} is there") for spool in drying.spools
        ]
        yield from _early(view, drying.who, "it", drying.start, bounds, ())
    for annealing in view.annealings:
        if not annealing.begun:
            yield from _early(
                view, annealing.who, "it", annealing.start, [(0, "plan_start")], annealing.run.jobs
            )


def _early(
    view: View, who: str, what: str, start: int, bounds: list[tuple[int, str]], jobs: tuple[str, ...]
) -> Iterator[Breach]:
    for bound, name in bounds:
        if start < bound:
            text = f"{what} starts {view.when(start)}, {bound - start} min before {name} ({view.when(bound)})"
            yield Breach("not before", who, text, jobs)


def check_downtime(view: View) -> Iterator[Breach]:
    """No step or run lies in its machine's downtime; the gaps between steps may."""
    for stint in view.stints.values():
        if not stint.printer.downtime:
            continue
        for step, kind in enumerate(PRINTER_STEPS):
            if step >= stint.begun and not stint.must_follow(step):
                start, end = stint.starts[step], stint.ends[step]
                name = f"printer {stint.printer.id}"
                yield from _down(
                    view, stint.who, kind, start, end, name, stint.printer.downtime, (stint.job.id,)
                )
    # A dryer and an oven with one id are one machine, whichever of the two its downtime is written at.
    down: dict[str, list[Downtime]] = {}
    machines: list[Dryer | Oven] = [*view.scenario.dryers, *view.scenario.ovens]
    for machine in machines:
        down.setdefault(machine.id, []).extend(machine.downtime)
    for drying in view.dryings:
        if not drying.begun:
            machine_id = drying.dryer.id
            name = f"dryer {machine_id}"
            yield from _down(view, drying.who, "it", drying.start, drying.end, name, down[machine_id], ())
    for annealing in view.annealings:
        if not annealing.begun:
            machine_id = annealing.oven.id
            name, jobs = f"oven {machine_id}", annealing.run.jobs
            start, end = annealing.start, annealing.end
            yield from _down(view, annealing.who, "it", start, end, name, down[machine_id], jobs)


def _down(
    view: View,
    who: str,
    what: str,
    start: int,
    end: int,
    machine: str,
    downtimes: Iterable[Downtime],
    jobs: tuple[str, ...],
) -> Iterator[Breach]:
    site = view.scenario.site
    for downtime in downtimes:
        down_from, down_to = site.minute(downtime.start), site.minute(downtime.end)
        if start < end and max(start, down_from) < min(end, down_to):
            text = (
                f"{what}, {view.between(start, end)}, lies in the downtime of {machine}, "
                f"{view.between(down_from, down_to)} ({downtime.reason})"
            )
            yield Breach("downtime", who, text, jobs)
