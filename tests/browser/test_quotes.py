"""The quote desk in a real browser: every page at every size, and a slot held by keyboard."""

from __future__ import annotations

from playwright.sync_api import expect

from tests.browser.asked import two_quotes
from tests.browser.conftest import Open
from tests.browser.running import Running
from tests.browser.test_pages import CONTRAST, SIZES, SMALL_TARGETS


def test_quote_pages_fit_every_size_and_stand_out(fresh_demo: Running, open_page: Open) -> None:
    drafted, held = two_quotes(fresh_demo)
    paths = (
        "/quotes",
        "/quotes/new",
        f"/quotes/{drafted}/answer",
        f"/quotes/{held}",
        f"/quotes/{held}/paper",
        "/quotes/dates?all=yes",
        "/quotes/prices",
        "/quotes/learning",
    )
    for path in paths:
        for size in SIZES:
            page = open_page(fresh_demo.url + path, *size)
            assert page.evaluate("document.documentElement.scrollWidth") <= size[0], (path, size)
            assert page.evaluate(SMALL_TARGETS) == [], (path, size)
            page.close()
        for scheme in ("light", "dark"):
            page = open_page(fresh_demo.url + path, color_scheme=scheme)
            assert page.evaluate(CONTRAST) == [], (path, scheme)
            page.close()


def test_a_date_is_held_and_accepted_without_a_script(fresh_demo: Running, open_page: Open) -> None:
    drafted, _ = two_quotes(fresh_demo)
    page = open_page(fresh_demo.url + f"/quotes/{drafted}/answer", java_script_enabled=False)
    page.get_by_role("button", name="Hold this").first.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("The slot is held")
    page.get_by_role("button", name="The customer accepts").press("Enter")
    expect(page.get_by_role("status")).to_contain_text("it is an order now")
    page.get_by_role("button", name="Give a new link").press("Enter")
    link = page.locator("code.long").inner_text()
    page.goto(link)
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Progress of Q-{drafted}")
    expect(page.locator("body")).not_to_contain_text("Osei")
