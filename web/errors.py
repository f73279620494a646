"""Pages for what went wrong: plain words, a way on, never a traceback."""

from __future__ import annotations

import logging
from http import HTTPStatus

from flask import Flask, current_app, jsonify, render_template, request
from flask.typing import ResponseReturnValue
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException, SecurityError

from scheduler.model.errors import SoaklineError
from web.security import MAX_REQUEST_BYTES

log = logging.getLogger(__name__)

WORDS = {
    400: ("That request can't be read", "Something in it is missing or misspelt. Nothing was changed."),
    401: ("Nobody is signed in here", "Sign in, then try again. Nothing was changed."),
    403: ("That is not yours to do", "Nothing was changed."),
    404: ("There is no such page", "The address may be old: a job or machine can have been removed since."),
    405: ("That page can't be used this way", "Go to the page itself and use its buttons."),
    413: (
        "That is too large",
        f"A file or form may have up to {MAX_REQUEST_BYTES // 1024 // 1024} MB. Nothing was stored. "
        "Split the file and send the parts one by one.",
    ),
    500: (
        "Something broke on our side",
        "Nothing half done was stored. The server's log says more. Going back and trying again is safe.",
    ),
}


def wants_json() -> bool:
    """True if the request comes from a script that reads JSON."""
    return request.path.endswith(".json") or request.accept_mimetypes.best == "application/json"


def answer(status: int, title: str, text: str) -> ResponseReturnValue:
    """The page (or JSON) for one kind of failure."""
    if wants_json():
        return jsonify(status=status, title=title, text=text), status
    return render_template("error.html", status=status, title=title, text=text), status


def register(app: Flask) -> None:
    """Hand every failure of ``app`` to a page of ours."""

    @app.errorhandler(CSRFError)
    def stale_form(error: CSRFError) -> ResponseReturnValue:
        return answer(
            400,
            "That form is out of date",
            "Its safety token is missing or belongs to another session. Nothing was changed: "
            "open the page again and send it once more.",
        )

    @app.errorhandler(SoaklineError)
    def refused(error: SoaklineError) -> ResponseReturnValue:
        return answer(409, "That can't be done", str(error))

    @app.errorhandler(SecurityError)
    def strange_host(error: SecurityError) -> ResponseReturnValue:
        # No page: there is no telling who asks, and no address of ours to build links from.
        known = ", ".join(current_app.config["TRUSTED_HOSTS"])
        text = f"This server answers as {known} alone; SOAKLINE_NAMES adds a name.\n"
        return text, 400, {"Content-Type": "text/plain; charset=utf-8"}

    @app.errorhandler(HTTPException)
    def plain(error: HTTPException) -> ResponseReturnValue:
        status = error.code or 500
        known = WORDS.get(status, (HTTPStatus(status).phrase, "Nothing was changed."))
        # A view's own abort(404, "There is no job J-7") says more than the general words.
        own = error.description if error.description != type(error).description else None
        text = own if own and status < 500 else known[1]
        return answer(status, known[0], text)

    @app.errorhandler(Exception)
    def broken(error: Exception) -> ResponseReturnValue:
        log.exception("a page broke: %s %s", request.method, request.path)
        return answer(500, *WORDS[500])
