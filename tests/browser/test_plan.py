"""A planning run in a real browser: watched, ended with its best plan, thrown away."""

from __future__ import annotations

import re
from pathlib import Path

from playwright.sync_api import expect

from tests.browser.conftest import Open
from tests.browser.running import demo_running
from tests.browser.test_pages import CONTRAST, SIZES, SMALL_TARGETS

PATIENCE_MS = 120_000


def test_a_run_is_watched_and_ended_by_hand(tmp_path: Path, open_page: Open) -> None:
    with demo_running(tmp_path, plan_seconds=600, planned=False) as running:
        page = open_page(running.url + "/plan")
        page.get_by_role("button", name="Plan now").click()
        expect(page.locator("[data-word=late_cost]")).to_contain_text(" h", timeout=PATIENCE_MS)
        # The page draws the line by itself, as the run goes on.
        expect(page.locator("[data-line]")).to_have_attribute(
            "points", re.compile(r"\d,"), timeout=PATIENCE_MS
        )
        for size in SIZES:
            other = open_page(running.url + "/plan", *size)
            assert other.evaluate("document.documentElement.scrollWidth") <= size[0], size
            assert other.evaluate(SMALL_TARGETS) == [], size
            other.close()
        for scheme in ("light", "dark"):
            other = open_page(running.url + "/plan", color_scheme=scheme)
            assert other.evaluate(CONTRAST) == [], scheme
            other.close()
        page.get_by_role("button", name="Stop and keep the best").press("Enter")
        # The page that follows finds the end by itself.
        expect(page.get_by_role("heading", name="Proposal 1")).to_be_visible(timeout=PATIENCE_MS)
        expect(page.locator("body")).to_contain_text("Mia Testa ended the planning after")
        page.get_by_role("button", name="Publish plan 1").press("Enter")
        page.get_by_role("button", name="Plan now").click()
        page.get_by_role("button", name="Throw away").press("Enter")
        expect(page.locator("body")).to_contain_text("Mia Testa threw it away.", timeout=PATIENCE_MS)
        expect(page.get_by_role("button", name="Plan now")).to_be_enabled()
