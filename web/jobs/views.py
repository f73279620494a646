"""The page of one job."""

from __future__ import annotations

from flask import Blueprint, abort, render_template

from scheduler.model import Figure
from scheduler.planning.explain.pieces import AVOIDABLE
from web.explaining import explain, matcher
from web.jobs import page
from web.jobs.cautions import cautions
from web.jobs.drawing import draw
from web.jobs.standing import stand
from web.queue.book import order_head
from web.services import services
from web.times import figure, lasts

blueprint = Blueprint("jobs", __name__)

#: The matcher's checks in words.
CHECK_WORDS = {
    "hot_end": "Hot end",
    "bed": "Plate",
    "chamber": "Chamber",
    "surface": "Surface",
    "filament": "Filament diameter",
    "nozzle": "Nozzle",
    "volume": "Size",
    "extraction": "Extraction",
    "qualification": "Qualification",
    "heads": "Heads",
    "spool": "Spool",
    "oven": "Oven",
    "open_time": "Open time",
    "staffed": "Staffed hours",
}
#: Links of a chain that are waits.
WAITS = AVOIDABLE | {"release"}


@blueprint.get("/jobs/<path:id>")
def show(id: str) -> str:
    """A job's steps, spools, reasons and machines."""
    here = services()
    shop = here.shop()
    job = shop.jobs.get(id) if shop else None
    if shop is None or job is None:
        abort(404, f"There is no job {id}. It may have been removed with its order.")
    now = here.clock()
    one = stand(shop, job, now)
    planned = one.planned
    feeds = page.feed_rows(shop, job, planned)
    materials = [shop.materials[feed.material] for feed in job.feeds]
    machines, left_out = page.machine_lines(shop, job.id)
    vacuum = {dryer.id for dryer in shop.scenario.dryers if dryer.vacuum}
    return render_template(
        "jobs/show.html",
        shop=shop,
        job=job,
        one=one,
        head=order_head(shop, job.order),
        siblings=[
            other.id for other in shop.scenario.jobs if other.order == job.order and other.id != job.id
        ],
        waits=WAITS,
        check_words=CHECK_WORDS,
        figure_words=_figure,
        spools_for=lambda feed: matcher(shop).spools(job.id, feed),
        told=explain(shop, job.id) if shop.plan else None,
        steps=page.step_rows(shop, job, planned) if planned else (),
        drawing=draw(page.lanes(shop, job, planned), here.zone(), now, job.due) if planned else None,
        feeds=feeds,
        run=page.oven_run(shop, planned),
        machines=machines,
        left_out=left_out,
        fitting=sum(1 + line.more for line in machines if not line.failures),
        cautions=cautions(
            job,
            materials,
            planned.chamber_c if planned else None,
            alone=planned is not None and page.runs_alone(shop, planned),
            vacuum=any(feed.run is not None and feed.run.dryer in vacuum for feed in feeds),
        ),
    )


#: Units of checks whose figures have one; minutes are told as durations.
UNITS = {"hot_end": "°C", "bed": "°C", "chamber": "°C", "oven": "°C", "filament": "mm"}
MINUTES = ("open_time", "staffed")


def _figure(value: Figure, check: str) -> str:
    """A figure of a reason as the table shows it, with its unit."""
    if value is None:
        return "–"
    if isinstance(value, str):
        return value
    if check in MINUTES:
        return lasts(value)
    return f"{figure(value, 2)} {UNITS[check]}" if check in UNITS else figure(value, 2)
