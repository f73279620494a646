"""Every request is asked who sends it, before anything else looks at it."""

from __future__ import annotations

import ipaddress
from urllib.parse import quote, urlsplit

from flask import Flask, g, redirect, request
from flask.typing import ResponseReturnValue
from werkzeug.exceptions import SecurityError

from scheduler.office import people
from web.cookies import seat_token
from web.errors import answer, wants_json
from web.people import NOBODY_YET, Current, may
from web.permissions import ASKED
from web.security import is_loopback
from web.services import services

#: What an open page asks by itself: it keeps nobody's sign-in from idling, but a screen's.
ASKED_BY_PAGES = frozenset(
    {"board.wall", "board.fresh", "board.live", "board.live_mark", "plan.progress", "plan.moves_of"}
)
#: A page that fetches itself anew says so with this header.
RENEWAL = "X-Soakline-Renewal"
#: Longest address that is returned to after signing in, characters.
LONGEST_NEXT = 500


def watch(app: Flask) -> None:
    """Ask before each request of ``app``; to be called before anything else hooks in."""
    app.before_request(look_at_request)


def look_at_request() -> ResponseReturnValue | None:
    """Find the person and refuse what they may not; ``None`` lets the request pass."""
    g.person = None
    if isinstance(request.routing_exception, SecurityError):
        # A strange host: nobody to ask, and an answer of its own.
        return None
    asked = ASKED.get(request.endpoint or "")
    if request.endpoint == "static":
        return None
    g.person = _person()
    if asked == "anyone":
        return None
    if g.person is None:
        return _not_signed_in()
    if request.endpoint is None or (asked is not None and may(asked)):
        # An address that leads nowhere gets the usual answer.
        return None
    return answer(403, "That is not yours to do", _refusal(g.person, asked))


def _person() -> Current | None:
    here = services()
    token = seat_token()
    if token:
        found = people.find_sign_in(here.record, here.clock, token, counts=_counts())
        if found is not None and found.person.role == "display" and not _counts():
            # A screen has nobody to touch it, so what its page asks is its use.
            found = people.find_sign_in(here.record, here.clock, token)
        if found is not None:
            person = found.person
            return Current(person.id, person.name, person.role, found.way)
    return NOBODY_YET if _nobody_on_record() else None


def _counts() -> bool:
    return request.endpoint not in ASKED_BY_PAGES and RENEWAL not in request.headers


def _nobody_on_record() -> bool:
    """True for the shop's own machine while nobody could sign in; never again after the first person."""
    here = services()
    if here.memory.get("people") or here.config.names or not is_loopback(here.config.host):
        return False
    try:
        near = ipaddress.ip_address(request.remote_addr or "").is_loopback
    except ValueError:
        near = False
    if not near:
        return False
    if people.has_people(here.record):
        here.memory["people"] = True
        return False
    return True


def _not_signed_in() -> ResponseReturnValue:
    if wants_json() or request.endpoint == "board.live":
        return answer(401, "Nobody is signed in here", "Sign in, then try again. Nothing was changed.")
    back = request.full_path.rstrip("?") if request.method == "GET" else _page_before()
    return redirect(f"/sign-in?next={quote(back)}" if back != "/" else "/sign-in", 303)


def _page_before() -> str:
    """The page whose form was sent, so that it can be opened again after signing in."""
    parts = urlsplit(request.referrer or "")
    return safe_next(parts.path) if parts.netloc == request.host else "/"


def safe_next(text: str) -> str:
    """An address of this server to go on to; ``/`` for anything else."""
    if not text.startswith("/") or text[1:2] in ("/", "\\") or len(text) > LONGEST_NEXT:
        return "/"
    if not text.isprintable() or "\\" in text:
        return "/"
    parts = urlsplit(text)
    return "/" if parts.scheme or parts.netloc else text


def _refusal(person: Current, permission: str | None) -> str:
    if person.way == "pin" and permission in ("people", "prices"):
        return (
            "A PIN does not open this page. Sign in with your password or a one-time link. "
            "Nothing was changed."
        )
    return (
        f"{person.name} is signed in as {person.role_words}, and this is not among that role's work. "
        "Nothing was changed. A manager can give another role on the people page."
    )
