"""The two cookies of sign-in: who sits here, and that people may share this tablet."""

from __future__ import annotations

from datetime import datetime

from flask import Response, request, session
from werkzeug.wrappers import Response as BaseResponse

from web.services import services

SEAT = "soakline_seat"
TABLET = "soakline_tablet"


def seat_token() -> str:
    """The token of this browser's sign-in; empty without one."""
    return request.cookies.get(SEAT, "")


def tablet_token() -> str:
    """The token of this browser as a shared tablet; empty without one."""
    return request.cookies.get(TABLET, "")


def give(response: Response | BaseResponse, name: str, token: str, ends_at: datetime) -> None:
    """Put a token into a cookie that no script reads and that ends when the token does."""
    here = services()
    response.set_cookie(
        name,
        token,
        max_age=int((ends_at - here.clock()).total_seconds()),
        httponly=True,
        samesite="Lax",
        secure=here.config.https,
    )


def begin_anew() -> None:
    """Forget what the last person's forms and notices left in this browser's session."""
    session.clear()
