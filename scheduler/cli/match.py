"""`soakline match`: which printer fits which job, and why the others don't.

With ``--json`` it writes one object (each job on a line of its own)::

    {"schema": "soakline.match/1", "scenario_hash": …, "jobs": [
      {"job", "fits": true|false, "printers": [id of each that fits, in the scenario's order],
       "nearest": null|printer id, "reasons": [{"check", "printer", "head", "nozzle", "asked",
       "there", "text"}]}]}

``nearest`` and ``reasons`` speak only of a job that nothing fits; above 50 printers the reasons are
those of the 20 nearest, then one for each set of failing checks with ``printer`` null and the number
of printers as ``there``. With ``--job`` the one job has ``"machines"`` as well: for every printer
``{"printer", "fits", "ways": [[{"head", "nozzle"} for each feed]], "reasons"}``.
"""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import click

from scheduler.matching import Assignment, Matcher
from scheduler.model import Figure, Job, Reason, Scenario
from scheduler.model.codec import read_scenario_file
from scheduler.model.errors import SoaklineError

MATCH_SCHEMA = "soakline.match/1"
#: So many printers are named on a line of the table, the others counted.
NAMED = 8


class UnknownJob(SoaklineError):
    """A job id that the scenario lacks."""


def _find(scenario: Scenario, job_id: str, path: Path) -> Job:
    for job in scenario.jobs:
        if job.id == job_id:
            return job
    alike = difflib.get_close_matches(job_id, [job.id for job in scenario.jobs], n=3)
    hint = f"; near it: {', '.join(alike)}" if alike else ""
    raise UnknownJob(f"{path}: no job has the id {job_id!r} among {len(scenario.jobs)}{hint}")


def _counted(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def _names(ids: Sequence[str]) -> str:
    named = ", ".join(ids[:NAMED])
    return named + (f" and {len(ids) - NAMED:,} more" if len(ids) > NAMED else "")


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows as lines with columns under one another; the last column runs free."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]) - 1)]
    return [
        "  ".join([*(cell.ljust(width) for cell, width in zip(row, widths, strict=False)), row[-1]]).rstrip()
        for row in rows
    ]


def _grouped(reasons: Iterable[Reason]) -> list[str]:
    """One line for each sentence, with the printers for which it holds."""
    where: dict[tuple[str, str], list[str]] = {}
    for reason in reasons:
        places = where.setdefault((reason.check, reason.text), [])
        if reason.printer is not None:
            places.append(reason.printer)
    return [
        f"    {_names(places)}: {text}" if places else f"    {text}" for (_, text), places in where.items()
    ]


def _unfit(matcher: Matcher, job: Job) -> list[str]:
    """Why nothing fits a job, nearest miss first."""
    verdict = matcher.verdict(job.id)
    lines = [f"{job.id} ({job.part}): nothing fits."]
    if verdict.nearest is None:
        return [*lines, "    There is no printer."]
    checks = dict.fromkeys(reason.check for reason in matcher.failures(job.id, verdict.nearest))
    said = ", ".join(checks).replace("_", " ")
    lines.append(f"    Nearest miss: {verdict.nearest}, which fails in {said}.")
    return lines + _grouped(verdict.reasons)


def _overview(scenario: Scenario, matcher: Matcher) -> Iterable[str]:
    """The table of all jobs, then the reasons of those that nothing fits."""
    jobs, printers = _counted(len(scenario.jobs), "job"), _counted(len(scenario.printers), "printer")
    yield f"{scenario.site.name}: {jobs}, {printers}"
    yield ""
    rows = [("JOB", "MATERIALS", "FIT", "PRINTERS")]
    unfit = []
    for job in scenario.jobs:
        fitting = matcher.fitting_printers(job.id)
        if not fitting:
            unfit.append(job)
        materials = " + ".join(feed.material for feed in job.feeds)
        rows.append((job.id, materials, str(len(fitting)), _names(fitting) or "nothing fits, see below"))
    yield from _aligned(rows)
    yield ""
    if not unfit:
        yield "Every job fits something."
    for job in unfit:
        yield from _unfit(matcher, job)


def _ways(assignments: Sequence[Assignment]) -> str:
    """The first ways in words, the others counted."""
    said = [" + ".join(f"{s.head} with {s.nozzle}" for s in way.feeds) for way in assignments[:NAMED]]
    more = len(assignments) - len(said)
    return "; ".join(said) + (f" and {_counted(more, 'more way')}" if more else "")


def _one_job(scenario: Scenario, matcher: Matcher, job: Job) -> Iterable[str]:
    """The full table of one job: every machine, and each failed check with its figures."""
    materials = " + ".join(feed.material for feed in job.feeds)
    yield f"{job.id} ({job.part}), {materials}, order {job.order}"
    yield ""
    rows = [("PRINTER", "CHECK", "ASKED", "THERE", "IN WORDS")]
    fitting = 0
    for printer in scenario.printers:
        reasons = matcher.failures(job.id, printer.id)
        if not reasons:
            fitting += 1
            ways = _ways(matcher.assignments(job.id, printer.id))
            rows.append((printer.id, "all pass", "", "", f"fits: {ways}"))
        for reason in reasons:
            check = reason.check.replace("_", " ")
            rows.append((printer.id, check, _said(reason.asked), _said(reason.there), reason.text))
    yield from _aligned(rows)
    yield ""
    yield f"{fitting:,} of {_counted(len(scenario.printers), 'printer')} fit{'s' if fitting == 1 else ''}."
    if not fitting:
        yield from (line.strip() for line in _unfit(matcher, job)[1:2])


def _plain(value: Figure) -> Figure:
    """A figure as JSON has it: whole numbers without a fraction."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _said(value: Figure) -> str:
    return "" if value is None else str(_plain(value))


def _reason(reason: Reason) -> dict[str, Any]:
    return {
        "check": reason.check,
        "printer": reason.printer,
        "head": reason.head,
        "nozzle": reason.nozzle,
        "asked": _plain(reason.asked),
        "there": _plain(reason.there),
        "text": reason.text,
    }


def _machine(matcher: Matcher, job: Job, printer_id: str) -> dict[str, Any]:
    ways = matcher.assignments(job.id, printer_id)
    return {
        "printer": printer_id,
        "fits": bool(ways),
        "ways": [[{"head": seat.head, "nozzle": seat.nozzle} for seat in way.feeds] for way in ways],
        "reasons": [_reason(reason) for reason in matcher.failures(job.id, printer_id)],
    }


def _entry(matcher: Matcher, job: Job) -> dict[str, Any]:
    verdict = matcher.verdict(job.id)
    return {
        "job": job.id,
        "fits": verdict.fits,
        "printers": list(matcher.fitting_printers(job.id)),
        "nearest": verdict.nearest,
        "reasons": [_reason(reason) for reason in verdict.reasons],
    }


def _json_lines(entries: Iterable[dict[str, Any]], digest: str) -> Iterable[str]:
    """The object job by job: all printers of all jobs of a large shop need not be held at once."""
    yield f'{{"schema": "{MATCH_SCHEMA}", "scenario_hash": "{digest}", "jobs": ['
    before = None
    for entry in entries:
        if before is not None:
            yield before + ","
        before = json.dumps(entry, ensure_ascii=False)
    if before is not None:
        yield before
    yield "]}"


@click.command()
@click.argument("scenario", type=click.Path(path_type=Path))
@click.option(
    "--job", "job_id", metavar="ID", help="Only this job, with every machine and each failed check."
)
@click.option("--json", "as_json", is_flag=True, help="Write JSON (soakline.match/1) instead of a table.")
def match(scenario: Path, job_id: str | None, as_json: bool) -> None:
    """Say which printer fits which job, and why the others don't.

    SCENARIO is a scenario file. A printer fits a job when all fourteen checks hold for some head
    and nozzle for each feed. A job that nothing fits is listed with its reasons and its nearest
    miss; that is no error, and the exit code is 0.
    """
    shop, digest = read_scenario_file(scenario)
    chosen = shop.jobs if job_id is None else (_find(shop, job_id, scenario),)
    matcher = Matcher(shop)
    lines: Iterable[str]
    if as_json:
        entries = (_entry(matcher, job) for job in chosen)
        if job_id is not None:
            machines = [_machine(matcher, chosen[0], printer.id) for printer in shop.printers]
            entries = (_entry(matcher, job) | {"machines": machines} for job in chosen)
        lines = _json_lines(entries, digest)
    elif job_id is None:
        lines = _overview(shop, matcher)
    else:
        lines = _one_job(shop, matcher, chosen[0])
    for line in lines:
        click.echo(line)
