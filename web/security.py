"""What the application refuses, and the headers that keep a browser strict."""

from __future__ import annotations

import ipaddress

from flask import Flask, Response
from flask_wtf.csrf import CSRFProtect

#: Scripts, styles and pictures come from this server's files alone; nothing inline, nothing framed.
CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}

#: Largest request, bytes: a spreadsheet of some ten thousand order lines.
MAX_REQUEST_BYTES = 8 * 1024 * 1024
#: Largest form apart from its files, bytes.
MAX_FORM_BYTES = 512 * 1024
MAX_FORM_PARTS = 2000


def is_loopback(host: str) -> bool:
    """True if ``host`` can be reached from this machine alone.

    Pages have no sign-in yet, so the server listens nowhere else.
    """
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def protect(app: Flask) -> None:
    """Limits, trusted hosts, tokens in forms and headers for ``app``."""
    app.config.update(
        MAX_CONTENT_LENGTH=MAX_REQUEST_BYTES,
        MAX_FORM_MEMORY_SIZE=MAX_FORM_BYTES,
        MAX_FORM_PARTS=MAX_FORM_PARTS,
        TRUSTED_HOSTS=["localhost", "127.0.0.1", "[::1]"],
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Strict",
        SESSION_COOKIE_NAME="soakline",
        # A page left open over a shift must still be able to send its form.
        WTF_CSRF_TIME_LIMIT=None,
    )
    CSRFProtect(app)

    @app.after_request
    def add_headers(response: Response) -> Response:
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if response.mimetype in ("text/html", "application/json"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response
