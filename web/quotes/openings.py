"""What would give a quote a place, or one by the wish: begun by a button, tried beside the server."""

from __future__ import annotations

from flask import abort, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from scheduler.model.errors import SoaklineError
from scheduler.office.quotes.prepared import request_of
from scheduler.quoting.ways import CHANCES
from scheduler.store import Quote
from web.quotes.views import blueprint, chance_of, quote_of
from web.services import services
from workers.trials import try_openings

#: What each kind of change asks of somebody.
KIND_WORDS = {
    "promise": "Another job waits",
    "plates": "Smaller plates",
    "later": "More weeks",
    "overtime": "Overtime",
    "hand": "One more person",
    "spool": "Filament bought",
    "downtime": "A machine kept up",
    "nozzle": "A nozzle bought",
    "dryer": "A dryer more",
    "machine": "A machine more",
}


@blueprint.get("/quotes/<int:number>/openings")
def openings(number: int) -> str:
    """What was tried, or that it is being tried."""
    here = services()
    quote, asked = quote_of(number)
    chance = chance_of(request.args.get("chance", ""))
    answer = here.asking.answer(_key(quote, chance))
    return render_template(
        "quotes/openings.html",
        quote=quote,
        ask=asked,
        chance=chance,
        answer=answer,
        found=answer.value if answer is not None and answer.state == "done" else None,
        kind_words=KIND_WORDS,
    )


@blueprint.post("/quotes/<int:number>/openings")
def try_for_openings(number: int) -> BaseResponse:
    """Begin the trials."""
    here = services()
    quote, _ = quote_of(number)
    chance = chance_of(request.form.get("chance", ""))
    try:
        ground, asked = request_of(here.record, here.clock, number, chance)
    except SoaklineError as refusal:
        abort(409, str(refusal))
    here.asking.ask(_key(quote, chance), ground.scenario.site.plan_start, try_openings, asked)
    return redirect(url_for("quotes.openings", number=number, chance=f"{chance:g}"), 303)


def _key(quote: Quote, chance: float) -> tuple[object, ...]:
    """Other figures when the shop, its plan or what is asked for is another."""
    shop = services().shop()
    published = shop.published.number if shop is not None and shop.published else 0
    version = 0 if shop is None else shop.version
    return "quote", quote.number, quote.version, version, published, CHANCES.index(chance)
