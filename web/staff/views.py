"""The people page and what its buttons do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue

from scheduler.model.errors import SoaklineError
from scheduler.office import people
from scheduler.office.people.addresses import link_address, screen_address
from scheduler.people import ROLE_WORDS, WAY_WORDS
from web.cookies import TABLET, give, tablet_token
from web.people import current_person, who
from web.services import services

blueprint = Blueprint("staff", __name__, url_prefix="/people")


@dataclass(frozen=True, slots=True)
class Given:
    """A link that is shown this once."""

    name: str
    address: str
    screen: bool


@blueprint.get("")
def show() -> ResponseReturnValue:
    """Everybody on record, the tablets and the screens."""
    return _page()


@blueprint.post("/add")
def add() -> ResponseReturnValue:
    """Record a person, and show the link by which they come in first."""
    here, form = services(), request.form
    try:
        person = people.add_person(
            here.record, here.clock, form.get("id", ""), form.get("name", ""), _role(), who()
        )
        token = people.make_link(here.record, here.clock, person.id, who())
    except SoaklineError as refused:
        return _page(str(refused), typed=form), 422
    return _page(given=Given(person.name, link_address(_server(), token), False))


@blueprint.post("/<id>/change")
def change(id: str) -> ResponseReturnValue:
    """One change to one person, by the button that was pressed."""
    here, form = services(), request.form
    record, clock, name = here.record, here.clock, who()
    done: dict[str, tuple[Callable[[], object], str]] = {
        "role": (lambda: people.change_role(record, clock, id, _role(), name), "The role is changed."),
        "pin": (lambda: people.set_pin(record, clock, id, form.get("pin", ""), name), "The PIN is set."),
        "no-pin": (lambda: people.set_pin(record, clock, id, None, name), "The PIN is taken away."),
        "shut-out": (lambda: people.deactivate(record, clock, id, name), "Shut out and signed out."),
        "let-in": (lambda: people.activate(record, clock, id, name), "Let in again."),
        "end": (lambda: people.end_sign_ins(record, clock, id, name), "Signed out everywhere."),
    }
    asked = form.get("do", "")
    try:
        if asked == "link":
            token = people.make_link(record, clock, id, name)
            return _page(given=Given(id, link_address(_server(), token), False))
        if asked not in done:
            abort(400, f"There is nothing called {asked[:40]!r} to be done with a person.")
        work, told = done[asked]
        work()
    except SoaklineError as refused:
        return _page(str(refused)), 422
    flash(f"{id}: {told}", "done")
    return redirect(url_for("staff.show"), 303)


@blueprint.post("/screen")
def screen() -> ResponseReturnValue:
    """A link that shows the wall on a screen; one that the screen had before ends."""
    here, name = services(), request.form.get("name", "")
    try:
        token = people.make_display_link(here.record, here.clock, name, who())
    except SoaklineError as refused:
        return _page(str(refused)), 422
    return _page(given=Given(name, screen_address(_server(), token), True))


@blueprint.post("/tablets")
def share() -> ResponseReturnValue:
    """Let people switch by PIN on the tablet that this request comes from."""
    here, person = services(), current_person()
    with here.record.reading() as unit:
        found = unit.people.get(person.id) if person else None
    if found is None:
        return _page("Nobody is on record yet; add a manager first."), 422
    token, ends_at = people.trust_device(here.record, here.clock, found, request.form.get("name", ""))
    flash("People who have a PIN can now take over this tablet with it.", "done")
    response = redirect(url_for("staff.show"), 303)
    give(response, TABLET, token, ends_at)
    return response


@blueprint.post("/tablets/<int:number>/forget")
def forget(number: int) -> ResponseReturnValue:
    """No PIN works on a tablet any more."""
    here = services()
    try:
        people.forget_device(here.record, here.clock, number, who())
    except SoaklineError as refused:
        return _page(str(refused)), 404
    flash(f"Tablet {number} is forgotten: PINs no longer work there.", "done")
    return redirect(url_for("staff.show"), 303)


def _server() -> str:
    """The server's address as the manager's browser knows it, so that the link works from there."""
    return f"https://{request.host}" if services().config.https else request.host_url


def _role() -> str:
    role = request.form.get("role", "")
    return "" if role == "display" else role


def _page(told: str = "", given: Given | None = None, typed: object = None) -> str:
    here = services()
    seen = people.everyone(here.record, here.clock)
    tablet = people.find_device(here.record, here.clock, tablet_token()) if tablet_token() else None
    return render_template(
        "staff/show.html",
        people=[each for each in seen if each.person.role != "display"],
        screens=[each for each in seen if each.person.role == "display"],
        devices=people.known_devices(here.record),
        this_tablet=tablet,
        roles=[(role, words) for role, words in ROLE_WORDS.items() if role != "display"],
        role_words=ROLE_WORDS,
        way_words=WAY_WORDS,
        told=told,
        given=given,
        typed=typed or {},
    )
