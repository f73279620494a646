"""The real browser that tests and pictures look through."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

#: Where Debian puts it; Playwright's own download is not needed.
CHROMIUM = Path("/usr/bin/chromium")
#: Containers have no user namespaces for the sandbox and little shared memory.
ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--font-render-hinting=none")


@contextmanager
def chromium() -> Iterator[Browser]:
    """A headless browser."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=list(ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()
