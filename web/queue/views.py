"""The queue's list of orders."""

from __future__ import annotations

from urllib.parse import urlencode

from flask import Blueprint, render_template, request

from scheduler.model import Job
from web.explaining import reason
from web.jobs.standing import STANDING_WORDS, JobStand, stand
from web.queue.book import order_heads
from web.queue.rows import SORTS, Asked, counts, order_rows
from web.services import services
from web.shop import Shop

blueprint = Blueprint("queue", __name__)

#: Orders on one page.
ORDERS_A_PAGE = 60


@blueprint.get("/queue")
def show() -> str:
    """Orders and jobs with due, promised finish, lateness and reason."""
    here = services()
    shop = here.shop()
    if shop is None:
        return render_template("queue/no_shop.html")
    asked = Asked.of(request.args)
    now = here.clock()
    stands = tuple(stand(shop, job, now) for job in shop.scenario.jobs)
    rows = order_rows(stands, order_heads(shop), asked)
    count = max(1, -(-len(rows) // ORDERS_A_PAGE))
    number = min(max(request.args.get("page", 1, type=int), 1), count)
    return render_template(
        "queue/show.html",
        shop=shop,
        asked=asked,
        rows=rows[(number - 1) * ORDERS_A_PAGE : number * ORDERS_A_PAGE],
        orders=len({job.order for job in shop.scenario.jobs}),
        found=sum(len(row.jobs) for row in rows),
        counts=counts(stands),
        standings=STANDING_WORDS,
        materials=sorted({feed.material for job in shop.scenario.jobs for feed in job.feeds}),
        machines=sorted({planned.printer for planned in shop.planned.values()}),
        sorts=SORTS,
        why=lambda one: _why(shop, one),
        page_number=number,
        page_count=count,
        page_address=lambda page: _address(page=page),
        address=_address,
    )


def _why(shop: Shop, one: JobStand) -> str:
    """The reason of a job that wants one; "" where there is nothing to explain."""
    if one.standing in ("late", "cannot", "no-place"):
        return reason(shop, one.job.id)
    return ""


def _address(**changes: object) -> str:
    """The queue's address with some of what it asks for changed; "" leaves a thing out."""
    asked = {
        name: request.args[name]
        for name in ("q", "show", "material", "machine", "sort")
        if request.args.get(name)
    }
    asked.update({name: str(value) for name, value in changes.items()})
    asked = {name: value for name, value in asked.items() if value}
    return "/queue?" + urlencode(asked) if asked else "/queue"


def job_material(job: Job) -> str:
    """The materials of a job's feeds: "PPSU with SUP"."""
    return " with ".join(feed.material for feed in job.feeds)
