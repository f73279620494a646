"""The pages on which things are tried, and their buttons."""

from __future__ import annotations

from flask import Blueprint, Flask, abort, current_app, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from scheduler.model.errors import SoaklineError
from scheduler.office.trying import Ground, ground
from scheduler.planning.moves.words import chain_words
from scheduler.planning.whatif.words import KIND_WORDS, summary, won
from web.plan.views import MOVED_WORDS
from web.services import services
from web.shop import Shop
from web.trying.asked import Situations
from web.trying.form import JOBS_OFFERED, changed_shop, offered_shifts
from workers.trials import try_job, try_situation

blueprint = Blueprint("trying", __name__)

EXTENSION = "soakline-situations"
#: Jobs of an outcome that are told.
MOVES_LISTED = 50


@blueprint.record_once
def _keep(state: object) -> None:
    app = getattr(state, "app", None)
    assert isinstance(app, Flask)
    app.extensions[EXTENSION] = Situations()


def _situations() -> Situations:
    found = current_app.extensions[EXTENSION]
    assert isinstance(found, Situations)
    return found


# ---- one job --------------------------------------------------------------------------------------


@blueprint.get("/jobs/<path:id>/whatif")
def job(id: str) -> str:
    """What would save a job, and what other machines would cost, as far as it was tried."""
    shop = _shop_with(id)
    here = services()
    number = shop.published.number if shop.published else 0
    answer = here.asking.answer(("job", id, shop.version, number))
    saving, others = answer.value if answer is not None and answer.state == "done" else (None, None)
    return render_template(
        "trying/job.html",
        shop=shop,
        job=shop.jobs[id],
        planned=shop.planned.get(id),
        answer=answer,
        saving=saving,
        others=others,
        summary=summary,
        won=won,
        kind_words=KIND_WORDS,
    )


@blueprint.post("/jobs/<path:id>/whatif")
def try_it(id: str) -> BaseResponse | tuple[str, int]:
    """Begin the trials for a job."""
    shop = _shop_with(id)
    here = services()
    try:
        stands = ground(here.record, here.clock)
    except SoaklineError as refusal:
        abort(409, str(refusal))
    key = ("job", id, shop.version, stands.published.number)
    start = stands.scenario.site.plan_start
    here.asking.ask(key, start, try_job, stands.scenario, stands.published.plan, id)
    return redirect(url_for("trying.job", id=id), 303)


def _shop_with(id: str) -> Shop:
    shop = services().shop()
    if shop is None or id not in shop.jobs:
        abort(404, f"There is no job {id}. It may have been removed with its order.")
    return shop


# ---- the whole plan -------------------------------------------------------------------------------


@blueprint.get("/plan/whatif")
def ask() -> str:
    """The three questions, and what was asked before."""
    return _form()


@blueprint.post("/plan/whatif")
def begin() -> BaseResponse | tuple[str, int]:
    """Begin to work a question out."""
    here = services()
    try:
        stands: Ground = ground(here.record, here.clock)
        words, changed = changed_shop(stands.scenario, request.form)
    except SoaklineError as refusal:
        return _form(str(refusal)), 422
    start = stands.scenario.site.plan_start
    asked = _situations().add(words, stands.published.number, start)
    here.asking.ask(asked.key, start, try_situation, stands.scenario, stands.published.plan, changed)
    return redirect(url_for("trying.situation", number=asked.number), 303)


@blueprint.get("/plan/whatif/<int:number>")
def situation(number: int) -> str:
    """What a situation would do to the plan, or that it is being worked out."""
    here = services()
    asked = _situations().get(number)
    answer = here.asking.answer(asked.key) if asked is not None else None
    if asked is None or answer is None:
        abort(404, f"What was tried as number {number} is kept no longer. Ask again.")
    outcome = answer.value if answer.state == "done" else None
    found = outcome.found if outcome is not None else None
    return render_template(
        "trying/situation.html",
        shop=here.shop(),
        asked=asked,
        answer=answer,
        outcome=outcome,
        found=found,
        totals=[(found.count(kind), words) for kind, words in MOVED_WORDS] if found else [],
        why=chain_words,
        listed=MOVES_LISTED,
    )


def _form(refused: str | None = None) -> str:
    here = services()
    shop = here.shop()
    if shop is None:
        return render_template("plan/no_shop.html")
    asked = [(one, here.asking.answer(one.key)) for one in _situations().newest()]
    return render_template(
        "trying/ask.html",
        shop=shop,
        shifts=offered_shifts(shop.scenario, here.clock()),
        jobs=[one.id for one in shop.scenario.jobs[:JOBS_OFFERED]],
        heaviest=max((one.weight for one in shop.scenario.jobs), default=1.0),
        asked=[(one, answer) for one, answer in asked if answer is not None],
        refused=refused,
        form=request.form,
    )
