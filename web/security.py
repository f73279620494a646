"""What the application refuses, and the headers that keep a browser strict."""

from __future__ import annotations

import ipaddress

from flask import Flask, Response, request
from flask_wtf.csrf import CSRFProtect

from scheduler.office.config import Config

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
#: Addresses that mean every network of this machine.
EVERYWHERE = ("0.0.0.0", "::", "[::]")


def is_loopback(host: str) -> bool:
    """True if ``host`` can be reached from this machine alone."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def trusted_names(config: Config) -> list[str]:
    """Names and addresses under which the server answers; a request for another one is a trick."""
    names = ["localhost", "127.0.0.1", "[::1]", *config.names]
    if config.host not in EVERYWHERE:
        names.append(f"[{config.host}]" if ":" in config.host and "[" not in config.host else config.host)
    return list(dict.fromkeys(names))


def protect(app: Flask, config: Config) -> None:
    """Limits, trusted hosts, tokens in forms and headers for ``app``."""
    app.config.update(
        MAX_CONTENT_LENGTH=MAX_REQUEST_BYTES,
        MAX_FORM_MEMORY_SIZE=MAX_FORM_BYTES,
        MAX_FORM_PARTS=MAX_FORM_PARTS,
        TRUSTED_HOSTS=trusted_names(config),
        SESSION_COOKIE_SECURE=config.https,
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
        # What one person saw must not come out of the browser's store for the next.
        if request.endpoint != "static":
            response.headers.setdefault("Cache-Control", "no-store")
        return response
