"""Pages of the quote desk: ask, answer, the list, one quote, the paper, and the customer's link."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from flask import (
    Blueprint,
    Response,
    abort,
    current_app,
    flash,
    jsonify,
    redirect,
    render_template,
    request,
    url_for,
)
from werkzeug.wrappers import Response as BaseResponse

from scheduler.office.local_time import instant_of
from scheduler.office.quotes import drafts, holds, promises
from scheduler.office.quotes.expiry import expire_holds
from scheduler.office.refused import Refused
from scheduler.quoting.applied import as_planned
from scheduler.quoting.ask import Ask, BadAsk, ask_of
from scheduler.quoting.plates import split
from scheduler.quoting.price import money
from scheduler.quoting.ways import CHANCES, WayName
from scheduler.store import NoShop, Quote, QuoteState, RecordRefused
from web.jobs import page
from web.jobs.views import CHECK_WORDS
from web.people import who
from web.quotes import form, links
from web.quotes.offer import offer_of
from web.quotes.paper import pdf_of
from web.quotes.shown import plate_states, shop_of, shown
from web.services import services
from web.shop import Shop

blueprint = Blueprint("quotes", __name__)

STATES: dict[QuoteState, str] = {
    "draft": "Draft",
    "sent": "Sent",
    "held": "Held",
    "accepted": "Accepted",
    "declined": "Declined",
    "expired": "Hold ended",
}
WAYS: tuple[WayName, ...] = ("as planned", "sooner", "later")
#: Longest hold, hours, and how long one is if nobody says.
USUAL_HOLD_H = 24


@blueprint.get("/quotes")
def index() -> str:
    """All quotes, searched and by state."""
    here, shop = services(), services().shop()
    if shop is None:
        return render_template("quotes/no_shop.html")
    expire_holds(here.record, here.clock)
    words, state = request.args.get("q", "")[:200], request.args.get("state", "")
    states = (state,) if state in STATES else ()
    with here.record.reading() as unit:
        found = unit.quotes.find(words, states)
    return render_template(
        "quotes/index.html", found=found, words=words, state=state, states=STATES, money=_money
    )


@blueprint.get("/quotes/new")
def ask() -> str:
    """An empty request."""
    return _form(None, {"buy-days": "3"}, form.lines_shown(request.args, None))


@blueprint.post("/quotes/new")
def store_new() -> BaseResponse | tuple[str, int]:
    """Record a request, and go on to its answer."""
    here, shop = services(), _shop()
    try:
        asked = form.read_ask(request.form, ZoneInfo(shop.scenario.site.timezone))
        number = drafts.draft(here.record, here.clock, *_names_typed(), asked, who())
    except (BadAsk, Refused) as error:
        return _form(None, request.form, _lines_typed(), str(error).splitlines()), 422
    return redirect(url_for("quotes.answer", number=number), 303)


@blueprint.get("/quotes/<int:number>/edit")
def edit(number: int) -> str:
    """The form of a recorded request."""
    quote, asked = quote_of(number)
    texts = form.texts_of(asked, quote.customer, quote.contact)
    return _form(quote, texts, form.lines_shown(request.args, asked))


@blueprint.post("/quotes/<int:number>/edit")
def store(number: int) -> BaseResponse | tuple[str, int]:
    """Record a changed request."""
    here, shop = services(), _shop()
    quote, _ = quote_of(number)
    seen = request.form.get("seen", type=int)
    if seen is None:
        abort(400, "The form does not say which version of the quote it shows; open it anew.")
    try:
        asked = form.read_ask(request.form, ZoneInfo(shop.scenario.site.timezone))
        drafts.revise(here.record, here.clock, number, *_names_typed(), asked, seen, who())
    except (BadAsk, Refused) as error:
        return _form(quote, request.form, _lines_typed(), str(error).splitlines()), 422
    return redirect(url_for("quotes.answer", number=number), 303)


@blueprint.get("/quotes/<int:number>/answer")
def answer(number: int) -> str | BaseResponse | tuple[str, int]:
    """The ways of a quote, worked out on the shop of now; nothing is stored."""
    here = services()
    quote, asked = quote_of(number)
    if quote.state in ("held", "accepted"):
        return redirect(url_for("quotes.show", number=number), 303)
    chance = chance_of(request.args.get("chance", ""))
    try:
        ground, found = holds.answer_quote(here.record, here.clock, number)
    except Refused as refused:
        flash(str(refused), "error")
        return redirect(url_for("quotes.show", number=number), 303)
    now, zone = here.clock(), here.zone()
    ways = [shown(way, chance, zone, now, asked.wanted) for way in found.ways]
    unplaced = None
    matching = None
    if found.ways:
        way = found.ways[0]
        matching = page.machine_lines(shop_of(way, now), way.last_job())
    elif found.unplaced is not None:
        made = found.unplaced.plan("", ground.scenario.site.plan_start)
        unplaced = [entry for entry in made.unplaced if entry.job in found.unplaced.added]
    return render_template(
        "quotes/answer.html",
        quote=quote,
        ask=asked,
        splits=[split(line, ground.scenario) for line in as_planned(asked, ground.factors).lines],
        counted=ground.counted({line.material for line in asked.lines}),
        ways=ways,
        unplaced=unplaced,
        matching=matching,
        check_words=CHECK_WORDS,
        chance=chance,
        chances=CHANCES,
        plan_number=ground.plan_number,
        sheet=ground.sheet,
        hold_until=[_usual_hold(now, holds.begins(one.way)) for one in ways],
        money=_money,
    )


@blueprint.get("/quotes/<int:number>/answer.json")
def answer_figures(number: int) -> Response | tuple[Response, int]:
    """The ways of a quote for other programs: instants with offsets, whole cents."""
    here = services()
    quote_of(number)
    try:
        ground, found = holds.answer_quote(here.record, here.clock, number)
    except Refused as refused:
        return jsonify(message=str(refused)), 409
    ways = [
        {
            "way": way.name,
            "planned_for": way.planned_for.isoformat(),
            "by": {f"{chance:g}": at.isoformat() for chance, at in zip(CHANCES, way.by, strict=True)},
            "price_cents": way.price.cents,
            "currency": ground.sheet.currency,
            "takes": list(way.takes),
            "bottleneck": way.bottleneck(),
            "jobs": [
                {"job": job.job, "printer": job.printer, "done": job.done.isoformat()} for job in way.jobs
            ],
        }
        for way in found.ways
    ]
    return jsonify(quote=f"Q-{number}", plan=ground.plan_number, ways=ways)


@blueprint.get("/quotes/<int:number>")
def show(number: int) -> str:
    """One quote: what was asked, what was offered, how it stands, its history."""
    here, shop = services(), _shop()
    expire_holds(here.record, here.clock)
    quote, asked = quote_of(number)
    with here.record.reading() as unit:
        versions = unit.quotes.versions(number)
        events = unit.events.list(("quote", quote.name), 30)
    order_jobs = [job.id for job in shop.scenario.jobs if job.order == quote.name]
    return render_template(
        "quotes/show.html",
        quote=quote,
        ask=asked,
        versions=[(version, ask_of(version.content)) for version in versions],
        events=events,
        overtime=next((event.data["overtime"] for event in events if "overtime" in event.data), []),
        states=STATES,
        jobs=order_jobs,
        link=request.args.get("link", ""),
        lasting_links=bool(here.config.secret_key),
        money=_money,
        chances=CHANCES,
    )


@blueprint.post("/quotes/<int:number>/send")
def send(number: int) -> BaseResponse:
    """Offer one of the ways."""
    here = services()
    quote_of(number)
    return _done(
        number,
        lambda: holds.send(
            here.record, here.clock, number, _way_asked(), chance_of(request.form.get("chance", "")), who()
        ),
        "The offer is recorded; nothing is held for it yet.",
    )


@blueprint.post("/quotes/<int:number>/hold")
def hold(number: int) -> BaseResponse:
    """Reserve the slot of a way."""
    here = services()
    quote_of(number)
    try:
        until = _instant(request.form.get("until", ""))
        limit = request.form.get("no-later-than", "")
        no_later_than = datetime.fromisoformat(limit) if limit else None
        if no_later_than is not None and no_later_than.tzinfo is None:
            raise ValueError
    except ValueError:
        flash("Until when it is to be held is not a day and a time.", "error")
        return redirect(url_for("quotes.answer", number=number), 303)
    return _done(
        number,
        lambda: holds.hold(
            here.record,
            here.clock,
            number,
            until,
            _way_asked(),
            chance_of(request.form.get("chance", "")),
            no_later_than,
            who(),
        ),
        "The slot is held: its jobs are in the plan.",
    )


@blueprint.post("/quotes/<int:number>/accept")
def accept(number: int) -> BaseResponse:
    """Turn a quote into an order."""
    here = services()
    quote_of(number)
    even_later = bool(request.form.get("even-later"))
    return _done(
        number,
        lambda: holds.accept(here.record, here.clock, number, even_later, who()),
        "Accepted: it is an order now.",
    )


@blueprint.post("/quotes/<int:number>/decline")
def decline(number: int) -> BaseResponse:
    """Turn a quote down."""
    here = services()
    quote_of(number)
    return _done(
        number,
        lambda: drafts.decline(here.record, here.clock, number, who()),
        "Declined; nothing is held for it.",
    )


@blueprint.get("/quotes/<int:number>/paper")
def paper(number: int) -> str:
    """The quote to be printed."""
    quote, asked = _offered(number)
    return render_template(
        "quotes/paper.html", quote=quote, offer=offer_of(quote, asked, _shop().scenario, services().clock())
    )


@blueprint.get("/quotes/<int:number>/quote.pdf")
def pdf(number: int) -> Response:
    """The quote as a PDF."""
    quote, asked = _offered(number)
    data = pdf_of(offer_of(quote, asked, _shop().scenario, services().clock()))
    name = f"inline; filename={quote.name}.pdf"
    return Response(data, content_type="application/pdf", headers={"Content-Disposition": name})


@blueprint.post("/quotes/<int:number>/link")
def link(number: int) -> BaseResponse:
    """Give a new link; those before end."""
    here = services()
    quote_of(number)
    try:
        serial = promises.new_link(here.record, here.clock, number, who())
    except Refused as refused:
        flash(str(refused), "error")
        return redirect(url_for("quotes.show", number=number), 303)
    token = links.token_of(current_app.config["SECRET_KEY"], number, serial, here.clock())
    flash("A new link is given; the ones before no longer work.", "done")
    return redirect(url_for("quotes.show", number=number, link=token), 303)


@blueprint.post("/quotes/<int:number>/link/revoke")
def revoke(number: int) -> BaseResponse:
    """End every link of a quote."""
    here = services()
    quote_of(number)
    return _done(
        number,
        lambda: promises.revoke_link(here.record, here.clock, number, who()),
        "No link to this quote works any more.",
    )


@blueprint.get("/progress/<token>")
def progress(token: str) -> str | tuple[str, int]:
    """What the customer sees: the progress of one quote and nothing else."""
    here, shop = services(), _shop()
    try:
        number, serial = links.read_token(current_app.config["SECRET_KEY"], token, here.clock())
        with here.record.reading() as unit:
            quote = unit.quotes.get(number)
        if serial != quote.link_serial:
            raise links.BadLink
    except (links.BadLink, RecordRefused):
        return render_template("quotes/ended.html"), 404
    _, asked = quote_of(number)
    now = here.clock()
    mine = {job.id: job for job in shop.scenario.jobs if job.order == quote.name}
    planned = [job for job in (shop.published.plan.jobs if shop.published else ()) if job.job in mine]
    plates = plate_states(planned, len(mine) - len(planned), now) if quote.state == "accepted" else ()
    return render_template("quotes/progress.html", quote=quote, ask=asked, plates=plates, states=STATES)


@blueprint.get("/quotes/dates")
def dates() -> str:
    """How sure the date of every order of the week is."""
    here = services()
    _shop()
    try:
        rows = promises.sure_dates(here.record, here.clock)
    except Refused as refused:
        return render_template("quotes/dates.html", rows=(), refused=str(refused), week=0)
    week = [row for row in rows if row.due is not None and (row.due - here.clock()).days < 7]
    asked = request.args.get("all") == "yes"
    return render_template(
        "quotes/dates.html", rows=rows if asked else week, refused=None, all=asked, count=len(rows)
    )


# ---- parts ----------------------------------------------------------------------------------------


def _shop() -> Shop:
    shop = services().shop()
    if shop is None:
        abort(404, "No shop is recorded yet.")
    return shop


def quote_of(number: int) -> tuple[Quote, Ask]:
    """A quote with what it asks for; ends the request with 404 if there is none."""
    _shop()
    try:
        with services().record.reading() as unit:
            quote = unit.quotes.get(number)
            return quote, drafts.asked(unit, number)
    except RecordRefused:
        abort(404, f"There is no quote Q-{number}.")


def _offered(number: int) -> tuple[Quote, Ask]:
    quote, asked = quote_of(number)
    if quote.promised_for is None or quote.terms is None:
        abort(
            404,
            f"{quote.name} is {quote.state}: nothing was offered yet. Work out a date and send or hold it.",
        )
    return quote, asked


def _done(number: int, work: Callable[[], object], text: str) -> BaseResponse:
    try:
        work()
    except holds.WorldChanged as changed:
        flash(str(changed), "error")
    except (Refused, NoShop) as refused:
        flash(str(refused), "error")
    else:
        flash(text, "done")
    return redirect(url_for("quotes.show", number=number), 303)


def _names_typed() -> tuple[str, str]:
    return request.form.get("customer", ""), request.form.get("contact", "")


def _way_asked() -> WayName:
    name = request.form.get("way", "as planned")
    if name not in WAYS:
        abort(400, f"There is no way {name!r}; asked for: {', '.join(WAYS)}.")
    return name


def chance_of(text: str) -> float:
    """The chance that a form or an address names, 80 % if it is none of those offered."""
    return next((chance for chance in CHANCES if f"{chance:g}" == text), CHANCES[1])


def _instant(text: str) -> datetime:
    return instant_of(datetime.fromisoformat(text), ZoneInfo(_shop().scenario.site.timezone))


def _usual_hold(now: datetime, begins: datetime) -> datetime:
    """A day, or half of the time that is left before work begins."""
    until = min(now + timedelta(hours=USUAL_HOLD_H), now + (begins - now) / 2)
    return until.replace(second=0, microsecond=0)


def _lines_typed() -> int:
    typed = [
        n for n in range(1, 41) if any(request.form.get(f"{name}-{n}") for name in ("part", "x", "grams"))
    ]
    return max(form.FIRST_LINES, *typed) if typed else form.FIRST_LINES


def _money(amount_cents: int | None, currency: str) -> str:
    return "–" if amount_cents is None else money(amount_cents, currency)


def _form(
    quote: Quote | None, texts: Mapping[str, str], lines: int, messages: list[str] | None = None
) -> str:
    shop = _shop()
    return render_template(
        "quotes/ask.html",
        quote=quote,
        texts=texts,
        lines=lines,
        messages=messages or [],
        materials=[material.id for material in shop.scenario.materials],
    )
