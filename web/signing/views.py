"""The pages of signing in and out, of a shared tablet, and of one's own password and PIN."""

from __future__ import annotations

from flask import Blueprint, flash, redirect, render_template, request, url_for
from flask.typing import ResponseReturnValue
from werkzeug.wrappers import Response as BaseResponse

from scheduler.model.errors import SoaklineError
from scheduler.office import people
from scheduler.office.people import Opened, SignInRefused
from scheduler.office.people.signing_in import proven
from scheduler.people import Person, hash_of_token
from web.cookies import SEAT, begin_anew, give, seat_token, tablet_token
from web.guard import safe_next
from web.people import Current, current_person
from web.services import services

blueprint = Blueprint("signing", __name__)


@blueprint.get("/sign-in")
def show() -> ResponseReturnValue:
    """The form for name and password."""
    return _form()


@blueprint.post("/sign-in")
def sign_in() -> ResponseReturnValue:
    """Take a name and a password."""
    here = services()
    name = request.form.get("name", "")
    try:
        opened = people.sign_in_by_password(
            here.record, here.clock, name, request.form.get("password", ""), _client()
        )
    except SignInRefused as refused:
        return _form(name, str(refused)), 403
    return _seat(opened, _next())


@blueprint.post("/sign-out")
def sign_out() -> BaseResponse:
    """End this browser's sign-in; a shared tablet goes on to the next person."""
    here = services()
    people.sign_out(here.record, here.clock, seat_token())
    begin_anew()
    response = redirect(url_for("signing.switch") if _tablet() else url_for("signing.show"), 303)
    response.delete_cookie(SEAT)
    return response


@blueprint.get("/sign-in/link/<token>")
def link(token: str) -> ResponseReturnValue:
    """Whom a one-time link signs in; looking at it does not spend it."""
    here = services()
    try:
        person = people.read_link(here.record, here.clock, token)
    except SignInRefused as refused:
        if _is_person(current_person()):
            # Opened once more by whoever it has let in already.
            return redirect(safe_next("/"), 303)
        return _form(told=str(refused)), 403
    return render_template("signing/link.html", invited=person, token=token)


@blueprint.post("/sign-in/link/<token>")
def use_link(token: str) -> ResponseReturnValue:
    """Spend a one-time link."""
    here = services()
    try:
        opened = people.use_link(here.record, here.clock, token, _client())
    except SignInRefused as refused:
        return _form(told=str(refused)), 403
    response = _seat(opened, "/")
    if not opened.person.has_password:
        flash("You have no password yet. Choose one under your name, so that you can come back.", "soon")
    return response


@blueprint.get("/screen/<token>")
def screen(token: str) -> ResponseReturnValue:
    """Turn this browser into a screen for the wall; a signed-in person is asked first."""
    person = current_person()
    if _is_person(person):
        return render_template("signing/screen.html", token=token)
    if person is not None and person.way == "display":
        return redirect(url_for("board.wall"), 303)
    return open_screen(token)


@blueprint.post("/screen/<token>")
def open_screen(token: str) -> ResponseReturnValue:
    """The wall on this browser, until the link is withdrawn."""
    here = services()
    try:
        opened = people.open_display(here.record, here.clock, token)
    except SignInRefused as refused:
        return _form(told=str(refused)), 403
    return _seat(opened, url_for("board.wall"))


@blueprint.get("/switch")
def switch() -> ResponseReturnValue:
    """Who takes over this tablet: a list of people, then the PIN."""
    return _switch()


@blueprint.post("/switch")
def switch_to() -> ResponseReturnValue:
    """Take a PIN."""
    here = services()
    name = request.form.get("name", "")
    try:
        opened = people.sign_in_by_pin(
            here.record, here.clock, name, request.form.get("pin", ""), _client(), tablet_token()
        )
    except SignInRefused as refused:
        return _switch(name, str(refused)), 403
    return _seat(opened, _next())


@blueprint.get("/me")
def own() -> ResponseReturnValue:
    """One's own password and PIN."""
    return _own()


@blueprint.post("/me/password")
def store_password() -> ResponseReturnValue:
    """Set one's own password."""
    here = services()
    found = _found()
    if found is None:
        return _own("Nobody is on record yet: there is no password to set."), 422
    password, again = request.form.get("password", ""), request.form.get("again", "")
    try:
        if password != again:
            return _own("The two new passwords differ."), 422
        _prove(found)
        people.set_password(
            here.record, here.clock, found.id, password, found.name, keep=hash_of_token(seat_token())
        )
    except SoaklineError as refused:
        return _own(str(refused)), 422
    flash("Your password is set. Everywhere else you are signed out.", "done")
    return redirect(url_for("signing.own"), 303)


@blueprint.post("/me/pin")
def store_pin() -> ResponseReturnValue:
    """Set one's own PIN."""
    here = services()
    found = _found()
    if found is None:
        return _own("Nobody is on record yet: there is no PIN to set."), 422
    try:
        _prove(found)
        people.set_pin(here.record, here.clock, found.id, request.form.get("pin", ""), found.name)
    except SoaklineError as refused:
        return _own(str(refused)), 422
    flash("Your PIN is set. It works on shared tablets.", "done")
    return redirect(url_for("signing.own"), 303)


# ---- parts ----------------------------------------------------------------------------------------


def _client() -> str:
    return request.remote_addr or "unknown"


def _next() -> str:
    return safe_next(request.form.get("next", ""))


def _is_person(person: Current | None) -> bool:
    return person is not None and bool(person.id) and person.role != "display"


def _tablet() -> bool:
    here = services()
    token = tablet_token()
    return bool(token) and people.find_device(here.record, here.clock, token) is not None


def _seat(opened: Opened, onward: str) -> BaseResponse:
    """Seat a person at this browser in place of whoever sat there."""
    here = services()
    people.sign_out(here.record, here.clock, seat_token())
    begin_anew()
    response = redirect("/wall" if opened.person.role == "display" else onward, 303)
    give(response, SEAT, opened.token, opened.ends_at)
    return response


def _form(name: str = "", told: str = "") -> str:
    onward = request.form.get("next", "") or request.args.get("next", "")
    return render_template(
        "signing/sign_in.html", name=name, told=told, onward=safe_next(onward), tablet=_tablet()
    )


def _switch(name: str = "", told: str = "") -> str:
    here = services()
    name = name or request.args.get("to", "")
    onward = safe_next(request.form.get("next", "") or request.args.get("next", ""))
    tablet = _tablet()
    known = people.people_with_pin(here.record) if tablet else ()
    chosen = next((person for person in known if person.id == name), None)
    return render_template(
        "signing/switch.html", tablet=tablet, known=known, chosen=chosen, told=told, onward=onward
    )


def _found() -> Person | None:
    """The recorded person behind the request."""
    person = current_person()
    if person is None or not person.id:
        return None
    with services().record.reading() as unit:
        return unit.people.get(person.id)


def _must_prove(found: Person | None) -> bool:
    """Whoever has a password says it again, unless a one-time link let them in to set another."""
    person = current_person()
    way = person.way if person else None
    return found is not None and way != "link" and (found.has_password or way == "pin")


def _prove(found: Person) -> None:
    here = services()
    if _must_prove(found):
        proven(here.record, here.clock, found, request.form.get("present", ""), _client())


def _own(told: str = "") -> str:
    found = _found()
    return render_template("signing/own.html", found=found, told=told, must_prove=_must_prove(found))
