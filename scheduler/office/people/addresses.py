"""The addresses of links, as they are printed for people."""

from __future__ import annotations

from scheduler.office.config import Config

#: Where the pages take a one-time link and a screen's link.
LINK_PATH = "/sign-in/link/"
SCREEN_PATH = "/screen/"


def server_address(config: Config) -> str:
    """The server's address by its settings, without a path: the first name that it goes by."""
    host = config.names[0] if config.names else config.host
    if ":" in host and not host.startswith("[") and not config.names:
        host = f"[{host}]"
    if config.https:
        return f"https://{host}"
    return f"http://{host}" if ":" in host.rpartition("]")[2] else f"http://{host}:{config.port}"


def link_address(server: str, token: str) -> str:
    """The address of a one-time link."""
    return f"{server.rstrip('/')}{LINK_PATH}{token}"


def screen_address(server: str, token: str) -> str:
    """The address of a screen's link."""
    return f"{server.rstrip('/')}{SCREEN_PATH}{token}"
