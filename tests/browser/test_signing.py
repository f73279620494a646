"""Signing in and switching by PIN in a real browser: with keys, with touch, without a script."""

from __future__ import annotations

import re

import pytest
from argon2 import PasswordHasher
from playwright.sync_api import Page, expect

from scheduler.office import people
from scheduler.people import hashing
from tests.browser.conftest import Open
from tests.browser.running import Running
from tests.browser.test_pages import CONTRAST, SIZES, SMALL_TARGETS

PASSWORD = "seven kettles sing"
PIN = "2749"
#: Least side of what gloves touch, CSS pixels.
GLOVED_PX = 56


@pytest.fixture
def staffed(fresh_demo: Running, monkeypatch: pytest.MonkeyPatch) -> Running:
    monkeypatch.setattr(hashing, "_HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    hashing._nobody.cache_clear()
    people.set_password(fresh_demo.record, fresh_demo.now, "oto", PASSWORD)
    people.set_pin(fresh_demo.record, fresh_demo.now, "oto", PIN)
    return fresh_demo


def shared(page: Page, running: Running) -> None:
    page.goto(running.url + "/people")
    page.get_by_label("Where it hangs").fill("by the ovens")
    page.get_by_role("button", name="Share this tablet").press("Enter")
    expect(page.get_by_role("status")).to_contain_text("can now take over this tablet")


def test_signing_in_by_keyboard_leads_to_the_page_asked_for(staffed: Running, open_page: Open) -> None:
    page = open_page(staffed.url + "/queue", signed_in=False)
    expect(page).to_have_url(re.compile("/sign-in"))
    page.get_by_label("Sign-in name").fill("oto")
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Queue")
    expect(page.locator(".seat")).to_contain_text("Oto Prov")
    rooms = page.locator(".masthead nav a").all_inner_texts()
    assert rooms == ["Board", "Floor", "Queue", "Fleet", "Bench"]
    expect(page.get_by_role("link", name="Add an order")).to_have_count(0)
    page.get_by_role("button", name="Sign out").press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")


def test_a_one_time_link_is_one_press_from_the_board(staffed: Running, open_page: Open) -> None:
    token = people.make_link(staffed.record, staffed.now, "fee")
    page = open_page(f"{staffed.url}/sign-in/link/{token}", signed_in=False, java_script_enabled=False)
    page.get_by_role("button", name="Sign in as Fee Muster").press("Enter")
    expect(page.locator("svg.time").first).to_be_visible()
    expect(page.locator(".seat")).to_contain_text("front desk")


def test_a_tablet_changes_hands_by_pin(staffed: Running, open_page: Open) -> None:
    page = open_page(staffed.url + "/people", 800, 1280, has_touch=True)
    shared(page, staffed)
    page.goto(staffed.url + "/floor")
    page.get_by_role("link", name="Switch").tap()
    face = page.get_by_role("link", name="Oto Prov")
    box = face.bounding_box()
    assert box and min(box["width"], box["height"]) >= 2 * GLOVED_PX
    face.tap()
    for digit in PIN:
        key = page.get_by_role("button", name=digit, exact=True)
        box = key.bounding_box()
        assert box and min(box["width"], box["height"]) >= GLOVED_PX
        key.tap()
    expect(page.get_by_label("PIN")).to_have_value(PIN)
    page.get_by_role("button", name="Take over").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Floor")
    expect(page.locator(".seat")).to_contain_text("Oto Prov")
    page.get_by_role("button", name="Sign out").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Who works here now?")


def test_a_pin_is_typed_without_a_script(staffed: Running, open_page: Open) -> None:
    page = open_page(staffed.url + "/people", java_script_enabled=False)
    shared(page, staffed)
    page.goto(staffed.url + "/switch?to=oto")
    expect(page.locator(".keypad")).to_be_hidden()
    page.get_by_label("PIN").fill(PIN)
    page.keyboard.press("Enter")
    expect(page.locator(".seat")).to_contain_text("Oto Prov")


def test_pages_of_people_fit_every_size_and_stand_out(staffed: Running, open_page: Open) -> None:
    tablet = open_page(staffed.url + "/people")
    shared(tablet, staffed)
    cookies = tablet.context.cookies()
    people.make_display_link(staffed.record, staffed.now, "Hall")
    token = people.make_link(staffed.record, staffed.now, "fee")
    for path in ("/sign-in", f"/sign-in/link/{token}", "/switch", "/switch?to=oto", "/me", "/people"):
        for size in SIZES:
            page = open_page(staffed.url + "/words", *size)
            page.context.add_cookies(cookies)
            page.goto(staffed.url + path)
            for each in page.locator("main details").all():
                each.evaluate("(it) => { it.open = true; }")
            assert page.evaluate("document.documentElement.scrollWidth") <= size[0], (path, size)
            assert page.evaluate(SMALL_TARGETS) == [], (path, size)
            page.close()
        for scheme in ("light", "dark"):
            page = open_page(staffed.url + "/words", color_scheme=scheme)
            page.context.add_cookies(cookies)
            page.goto(staffed.url + path)
            assert page.evaluate(CONTRAST) == [], (path, scheme)
            page.close()
