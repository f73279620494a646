"""The planning page and its buttons."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Response, abort, flash, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from scheduler.model.errors import SoaklineError
from scheduler.office import plans, run_ends
from scheduler.planning.moves.words import chain_words
from scheduler.store import PlanningRun
from web.people import who
from web.plan.course import course_of, words_of
from web.plan.moved import Moved, late_jobs, moved
from web.services import services
from workers.closing import OPEN_STATES

blueprint = Blueprint("plan", __name__, url_prefix="/plan")

#: How many of the past plans the page lists, and how many jobs under one heading.
LISTED = 30
JOBS_LISTED = 100

STATE_WORDS = {
    "proposal": "proposal",
    "published": "published",
    "replaced": "replaced",
    "discarded": "discarded",
}

#: The totals above the list of what would move.
MOVED_WORDS = (
    ("lost", "without a place"),
    ("late", "late only then"),
    ("saved", "no longer late"),
    ("printer", "to another machine"),
    ("later", "done later"),
    ("earlier", "done earlier"),
    ("new", "newly placed"),
)


@blueprint.get("")
def show() -> str:
    """The newest run, the proposal beside the published plan, and the plans so far."""
    here = services()
    shop = here.shop()
    if shop is None:
        return render_template("plan/no_shop.html")
    with here.record.reading() as unit:
        run = unit.runs.latest()
        ended_by = run_ends.asked_to_keep(unit, run.id) if run else None
        looked = unit.water.humid_check()
        floor = unit.floor.state()
        knows = unit.plans.basis(shop.proposal.number) if shop.proposal else None
        summaries = sorted(unit.plans.list(), key=lambda summary: -summary.number)
    published, proposal = shop.published, shop.proposal
    if looked is not None and not (
        published and looked.plan_number == published.number and (looked.late_humid or looked.late_today)
    ):
        # Another plan stands, or nothing turned late: no news for whoever decides here.
        looked = None
    compared = moved(here, shop)
    return render_template(
        "plan/show.html",
        shop=shop,
        run=run,
        ended_by=ended_by,
        told=words_of(run, here.config.plan_seconds, ended_by) if run else {},
        course=course_of(run, here.config.plan_seconds) if run else None,
        looked=looked,
        running=run is not None and run.state in OPEN_STATES,
        published=published,
        proposal=proposal,
        compared=compared,
        **_told_moves(compared),
        late_jobs=late_jobs,
        stale=proposal is not None and proposal.scenario_version != shop.version,
        overtaken=floor.strayed_why
        if floor and proposal and floor.strayed_event > (knows[1] if knows else 0)
        else None,
        floor=floor,
        summaries=summaries[:LISTED],
        summary_count=len(summaries),
        state_words=STATE_WORDS,
        plan_seconds=here.config.plan_seconds,
    )


def _told_moves(compared: Moved) -> dict[str, Any]:
    """What the list of moves needs."""
    found = compared.moves
    return {
        "found": found,
        "totals": [(found.count(kind), words) for kind, words in MOVED_WORDS] if found else [],
        "why": chain_words,
        "listed": JOBS_LISTED,
    }


@blueprint.get("/<int:number>/moves")
def moves_of(number: int) -> str | tuple[str, int]:
    """What a proposal would move, for a page that was opened before that was known; 202: not yet."""
    here = services()
    shop = here.shop()
    if shop is None or shop.proposal is None or shop.proposal.number != number:
        abort(404, f"There is no proposal {number}.")
    compared = moved(here, shop)
    if compared.state == "waiting":
        return "", 202
    return render_template("plan/compared.html", compared=compared, **_told_moves(compared))


@blueprint.post("/now")
def begin() -> BaseResponse:
    """Ask for a plan, unless one is being made."""
    here = services()
    with here.record.reading() as unit:
        run = unit.runs.latest()
    if run is not None and run.state in OPEN_STATES:
        flash("A plan is being made already; this is its progress.", "soon")
    else:
        run_id = plans.request_plan(here.record, here.clock, who())
        here.runner.start(run_id)
    return redirect(url_for("plan.show"), 303)


@blueprint.get("/runs/<int:run_id>.json")
def progress(run_id: int) -> Response:
    """How far a run is, in figures and in the words that the page shows."""
    here = services()
    with here.record.reading() as unit:
        run, ended_by = unit.runs.get(run_id), run_ends.asked_to_keep(unit, run_id)
    if run is None:
        abort(404, f"There is no planning run {run_id}.")
    if run.state == "done" and (shop := here.shop()) is not None:
        # The page that is opened next wants it.
        moved(here, shop)
    limit_s = here.config.plan_seconds
    course = course_of(run, limit_s)
    return jsonify(
        id=run.id,
        state=run.state,
        running=run.state in OPEN_STATES,
        seconds=run.seconds,
        placed=run.placed,
        jobs=run.jobs,
        late_cost=run.late_cost,
        lower_bound=run.lower_bound,
        trail=run.trail,
        ended_by=ended_by,
        doing=run.doing,
        plan_number=run.plan_number,
        message=run.message,
        line=course.line,
        bound_y=course.bound_y,
        words={
            **words_of(run, limit_s, ended_by),
            "top": course.top_words,
            "end": course.end_words,
        },
    )


@blueprint.post("/runs/<int:run_id>/stop")
def stop(run_id: int) -> BaseResponse:
    """End a run: with its best plan as the proposal, or with nothing."""
    here = services()
    with here.record.reading() as unit:
        if unit.runs.get(run_id) is None:
            abort(404, f"There is no planning run {run_id}.")
    what = request.form.get("what")
    try:
        if what == "keep":
            run_ends.keep_best(here.record, here.clock, run_id, who())
        elif what == "throw away":
            run_ends.throw_away(here.record, here.clock, run_id, who())
            here.runner.stop(run_id)
        else:
            abort(400, "Say whether the best plan is to be kept or thrown away.")
    except run_ends.EndedAlready as late:
        flash(_came_too_late(late.run), "soon")
    return redirect(url_for("plan.show"), 303)


def _came_too_late(run: PlanningRun) -> str:
    """What somebody reads who wanted to end a run that was over."""
    if run.plan_number is not None:
        return f"That run had just ended by itself: its plan is number {run.plan_number}."
    return f"That run was over already. {run.message}".strip()


@blueprint.post("/limits")
def limits() -> BaseResponse:
    """Set when a plan made after a surprise may be published by itself."""
    here = services()
    try:
        later_min = int(request.form.get("later_min", ""))
    except ValueError:
        abort(400, "The limit is a whole number of minutes.")
    here.desk.set_limits(request.form.get("publish_alone") == "yes", later_min, who())
    flash("The limits are set.", "notice")
    return redirect(url_for("plan.show"), 303)


@blueprint.post("/<int:number>/publish")
def publish(number: int) -> BaseResponse:
    """Make a proposal the plan that the floor works to."""
    return _decide(number, "publish")


@blueprint.post("/<int:number>/discard")
def discard(number: int) -> BaseResponse:
    """Put a proposal away."""
    return _decide(number, "discard")


def _decide(number: int, what: str) -> BaseResponse:
    here = services()
    with here.record.reading() as unit:
        if unit.plans.get(number) is None:
            abort(404, f"There is no plan {number}.")
    try:
        if what == "publish":
            plans.publish(here.record, here.clock, number, who())
            flash(f"Plan {number} is published. The board shows it.", "done")
        else:
            plans.discard(here.record, here.clock, number, who())
            flash(f"Plan {number} is discarded.", "done")
    except SoaklineError as refusal:
        flash(str(refusal), "error")
    return redirect(url_for("plan.show"), 303)
