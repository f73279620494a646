"""From a decoded plan to a view of it: what names nothing that exists is reported and left aside."""

from __future__ import annotations

from scheduler.checking.breach import Breach
from scheduler.checking.view import Annealing, Drying, Stint, View, zone_of
from scheduler.model import PRINTER_STEPS, FeedChoice, Job, Plan, PlannedJob, Printer, Scenario

RULE = "names"


def read(scenario: Scenario, plan: Plan) -> tuple[View, list[Breach]]:
    """The view of a plan, and a breach for each part that could not become part of it."""
    view = View(
        scenario,
        plan,
        zone_of(scenario.site.timezone),
        {job.id: job for job in scenario.jobs},
        {material.id: material for material in scenario.materials},
        {spool.id: spool for spool in scenario.spools},
    )
    breaches: list[Breach] = []
    _read_jobs(view, breaches)
    _read_dryer_runs(view, breaches)
    _read_oven_runs(view, breaches)
    view.index()
    return view, breaches


def _read_jobs(view: View, breaches: list[Breach]) -> None:
    printers = {printer.id: printer for printer in view.scenario.printers}
    for planned in view.plan.jobs:
        job, printer = view.jobs.get(planned.job), printers.get(planned.printer)
        who = f"job {planned.job}"
        if job is None:
            breaches.append(Breach(RULE, who, "the scenario has no such job"))
            continue
        if planned.job in view.named:
            breaches.append(Breach("complete", who, "it is placed more than once"))
            continue
        view.named.add(planned.job)
        if printer is None:
            breaches.append(Breach(RULE, who, f"the scenario has no printer {planned.printer}"))
            continue
        stint = _stint(view, job, planned, printer, breaches)
        if stint is not None:
            view.stints[job.id] = stint


def _stint(
    view: View, job: Job, planned: PlannedJob, printer: Printer, breaches: list[Breach]
) -> Stint | None:
    who, site = f"job {job.id}", view.scenario.site
    kinds = tuple(step.kind for step in planned.steps)
    if kinds != PRINTER_STEPS:
        there = ", ".join(kinds) or "none"
        breaches.append(Breach("steps", who, f"its steps are {there}; asked for: {', '.join(PRINTER_STEPS)}"))
        return None
    if len(planned.feeds) != len(job.feeds):
        breaches.append(
            Breach("match", who, f"{len(planned.feeds)} feeds are chosen, the job has {len(job.feeds)}")
        )
        return None
    unknown = [text for choice in planned.feeds for text in _unknown(view, printer, choice)]
    breaches.extend(Breach(RULE, who, text) for text in unknown)
    if unknown:
        return None
    heads = {head.id: head for head in printer.heads}
    return Stint(
        job,
        planned,
        printer,
        tuple(heads[choice.head] for choice in planned.feeds),
        tuple(choice.nozzle for choice in planned.feeds),
        tuple(view.spools[choice.spool] for choice in planned.feeds),
        tuple(view.materials[feed.material] for feed in job.feeds),
        tuple(site.minute(step.start) for step in planned.steps),
        tuple(site.minute(step.end) for step in planned.steps),
        len(job.progress.steps) if job.progress else 0,
    )


def _unknown(view: View, printer: Printer, choice: FeedChoice) -> list[str]:
    texts = []
    head = next((head for head in printer.heads if head.id == choice.head), None)
    if head is None:
        texts.append(f"printer {printer.id} has no head {choice.head}")
    elif all(nozzle.id != choice.nozzle for nozzle in head.nozzles):
        texts.append(f"head {head.id} of printer {printer.id} has no nozzle {choice.nozzle}")
    if choice.spool not in view.spools:
        texts.append(f"the scenario has no spool {choice.spool}")
    return texts


def _read_dryer_runs(view: View, breaches: list[Breach]) -> None:
    site = view.scenario.site
    dryers = {dryer.id: dryer for dryer in view.scenario.dryers}
    given = {run.id: run for run in view.scenario.under_way.dryer_runs}
    seen: set[str] = set()
    for run in view.plan.dryer_runs:
        who = f"dryer run {run.id}"
        if run.id in seen:
            breaches.append(Breach("dryers", who, "another dryer run has the same id"))
            continue
        seen.add(run.id)
        if run.dryer not in dryers:
            breaches.append(Breach(RULE, who, f"the scenario has no dryer {run.dryer}"))
            continue
        breaches.extend(
            Breach(RULE, who, f"the scenario has no spool {spool}")
            for spool in run.spools
            if spool not in view.spools
        )
        spools = tuple(view.spools[spool] for spool in run.spools if spool in view.spools)
        if not spools and run.spools:
            continue
        start, end = site.minute(run.start), site.minute(run.end)
        view.dryings.append(Drying(run, dryers[run.dryer], spools, start, end, run.id in given))
    # A begun run that the plan forgets is reported by its own rule, and still holds its dryer.
    for run in given.values():
        if run.id not in seen and run.dryer in dryers:
            spools = tuple(view.spools[spool] for spool in run.spools if spool in view.spools)
            start, end = site.minute(run.start), site.minute(run.end)
            view.dryings.append(Drying(run, dryers[run.dryer], spools, start, end, True))


def _read_oven_runs(view: View, breaches: list[Breach]) -> None:
    site = view.scenario.site
    ovens = {oven.id: oven for oven in view.scenario.ovens}
    given = {run.id: run for run in view.scenario.under_way.oven_runs}
    seen: set[str] = set()
    for run in view.plan.oven_runs:
        who = f"oven run {run.id}"
        if run.id in seen:
            breaches.append(Breach("ovens", who, "another oven run has the same id"))
            continue
        seen.add(run.id)
        if run.oven not in ovens:
            breaches.append(Breach(RULE, who, f"the scenario has no oven {run.oven}"))
            continue
        breaches.extend(
            Breach(RULE, who, f"the scenario has no job {job}") for job in run.jobs if job not in view.jobs
        )
        start, end = site.minute(run.start), site.minute(run.end)
        view.annealings.append(Annealing(run, ovens[run.oven], start, end, run.id in given))
    for run in given.values():
        if run.id not in seen and run.oven in ovens:
            start, end = site.minute(run.start), site.minute(run.end)
            view.annealings.append(Annealing(run, ovens[run.oven], start, end, True))
