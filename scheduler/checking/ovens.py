"""Oven runs: program, length, places, and jobs that name them and are named by them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.dryers import SAME_C
from scheduler.checking.thermal import hours_as_minutes
from scheduler.checking.view import Annealing, View


def check_runs(view: View) -> Iterator[Breach]:
    """Each run by itself: temperature, length, number of jobs, and that they are printed before."""
    for annealing in view.annealings:
        run, oven = annealing.run, annealing.oven
        if annealing.begun:
            continue
        if not run.jobs:
            yield Breach("ovens", annealing.who, "it anneals no job")
        if len(set(run.jobs)) < len(run.jobs):
            yield Breach("ovens", annealing.who, "it names a job twice", run.jobs)
        if len(run.jobs) > oven.slots:
            text = f"{len(run.jobs)} jobs are in it, oven {oven.id} takes {oven.slots}"
            yield Breach("ovens", annealing.who, text, run.jobs)
        if run.temp_c > oven.max_c:
            text = f"it is at {run.temp_c:g} °C, oven {oven.id} reaches {oven.max_c:g} °C"
            yield Breach("ovens", annealing.who, text, run.jobs)
        for job_id in run.jobs:
            yield from _check_job(view, annealing, job_id)


def _check_job(view: View, annealing: Annealing, job_id: str) -> Iterator[Breach]:
    job, stint, who = view.jobs.get(job_id), view.stints.get(job_id), annealing.who
    if job is None:
        return
    program = view.materials[job.feeds[0].material].anneal if job.anneal else None
    if program is None:
        yield Breach("ovens", who, f"job {job_id} asks for no anneal", (job_id,))
        return
    if abs(program.temp_c - annealing.run.temp_c) > SAME_C:
        text = f"it is at {annealing.run.temp_c:g} °C, job {job_id} asks for {program.temp_c:g} °C"
        yield Breach("ovens", who, text, (job_id,))
    asked, there = hours_as_minutes(program.hours), annealing.end - annealing.start
    if there != asked:
        text = f"it lasts {there} min, job {job_id} asks for {asked} min"
        yield Breach("ovens", who, text, (job_id,))
    if job_id not in view.named:
        yield Breach("ovens", who, f"job {job_id} is not placed", (job_id,))
    elif stint is not None and annealing.start < stint.last:
        unloaded = f"job {job_id} is unloaded only at {view.when(stint.last)}"
        text = f"it starts {view.when(annealing.start)}, {unloaded}"
        yield Breach("ovens", who, text, (job_id,))


def check_turns(view: View) -> Iterator[Breach]:
    """Runs in an oven one after another."""
    by_oven: dict[str, list[Annealing]] = defaultdict(list)
    for annealing in view.annealings:
        by_oven[annealing.oven.id].append(annealing)
    for oven_id, annealings in by_oven.items():
        before: Annealing | None = None
        for annealing in sorted(annealings, key=lambda item: (item.start, item.end)):
            begun = before is not None and before.begun and annealing.begun
            if before is not None and annealing.start < before.end and not begun:
                text = (
                    f"it starts {view.when(annealing.start)}, oven {oven_id} is busy with "
                    f"{before.run.id} until {view.when(before.end)}"
                )
                yield Breach("ovens", annealing.who, text, annealing.run.jobs + before.run.jobs)
            if before is None or annealing.end > before.end:
                before = annealing


def check_named(view: View) -> Iterator[Breach]:
    """``oven_run`` names the one run that the job is in, where it anneals, and none where it does not."""
    for stint in view.stints.values():
        job_id, named = stint.job.id, stint.planned.oven_run
        runs = sorted({annealing.run.id for annealing in view.annealing_of.get(job_id, ())})
        # Begun work escapes the matcher: its material may have no anneal to give.
        anneals = stint.job.anneal and view.materials[stint.job.feeds[0].material].anneal is not None
        asked = "one" if anneals else "none"
        there = ", ".join(runs) or "none"
        wanted = runs == [named] if anneals else named is None and not runs
        # A job put into an oven that asks for none is reported at the run.
        if not wanted and (anneals or named is not None):
            text = f"oven_run is {named or 'null'}, the runs with this job: {there}; asked for: {asked}"
            yield Breach("ovens", stint.who, text, (job_id,))
