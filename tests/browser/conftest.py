"""A browser, a served demo, and pages whose console is watched."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.browser.running import Running, demo_running, seat_of

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

    Open = Callable[..., Page]
else:
    Open = Callable


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    # Playwright is no part of what users install; tests that need it skip without it.
    from tests.browser.chromium import CHROMIUM, chromium

    if not CHROMIUM.exists():
        if os.environ.get("SOAKLINE_REQUIRE_SERVICES") == "1":
            pytest.fail(f"there is no {CHROMIUM}, though SOAKLINE_REQUIRE_SERVICES asks for it")
        pytest.skip(f"there is no {CHROMIUM}")
    with chromium() as opened:
        yield opened


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """The demo shop with a published plan, for tests that only look."""
    with demo_running(tmp_path_factory.mktemp("demo")) as running:
        yield running


@pytest.fixture
def fresh_demo(tmp_path: Path) -> Iterator[Running]:
    """The demo shop for a test that changes it."""
    with demo_running(tmp_path) as running:
        yield running


@pytest.fixture
def open_page(browser: Browser) -> Iterator[Open]:
    """Open an address in a window of its own; anything on its console fails the test at its end."""
    complaints: list[str] = []
    contexts = []

    def opened(
        url: str,
        width: int = 1280,
        height: int = 800,
        strict: bool = True,
        signed_in: bool = True,
        **options: object,
    ) -> Page:
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        if signed_in:
            context.add_cookies(seat_of(url))
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(30_000)
        if strict:  # A test that breaks the connection hears of it on the console.
            page.on("console", lambda message: complaints.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: complaints.append(f"error: {error}"))
        page.goto(url)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []
