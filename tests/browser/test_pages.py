"""What only a real browser can tell: layout, keyboard, contrast, scripts and their absence."""

from __future__ import annotations

import os
import re
from importlib.util import find_spec
from pathlib import Path

import pytest

from tests.browser.conftest import Open
from tests.browser.running import Running

if find_spec("playwright") is None and os.environ.get("SOAKLINE_REQUIRE_SERVICES") == "1":
    pytest.fail("Playwright is not installed, though SOAKLINE_REQUIRE_SERVICES asks for it", pytrace=False)
expect = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed").expect

CONTRAST = (Path(__file__).parent / "contrast.js").read_text("utf-8")
PAGES = (
    "/",
    "/?range=day",
    "/queue",
    "/fleet",
    "/bench?polymer=PC&body=80&recipe_c=110&recipe_h=6",
    "/bench/air",
    "/bench/spools",
    "/plan",
    "/plan/whatif",
    "/words",
    "/wall",
    "/nowhere",
)
SIZES = ((1920, 1080), (1280, 800), (800, 1280), (390, 844))

#: Everything that is pressed, apart from links within a sentence or a table's cell, which may be as
#: high as their line (WCAG 2.2, 2.5.8, inline exception).
SMALL_TARGETS = """() => [...document.querySelectorAll(
  'button, select, summary, input:not([type=hidden]), nav a, .switch a, .button, .plate[href], .names a'
)].filter((it) => {
  const box = it.getBoundingClientRect();
  return box.width > 0 && box.right > 0 && (box.width < 24 || box.height < 24);
}).map((it) => it.outerHTML.slice(0, 90))"""


OUTLINED = """(it) => {
  const style = getComputedStyle(it);
  return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0;
}"""


def quiet_404(path: str) -> bool:
    """A browser notes the missing page itself on its console."""
    return path == "/nowhere"


@pytest.mark.parametrize("path", [path for path in PAGES if not quiet_404(path)])
@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}")
def test_no_page_is_wider_than_its_window(
    demo: Running, open_page: Open, path: str, size: tuple[int, int]
) -> None:
    page = open_page(demo.url + path, *size)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    assert page.evaluate(SMALL_TARGETS) == []


@pytest.mark.parametrize("path", [path for path in PAGES if not quiet_404(path)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_its_ground(demo: Running, open_page: Open, path: str, scheme: str) -> None:
    page = open_page(demo.url + path, color_scheme=scheme)
    assert page.evaluate(CONTRAST) == []


def test_board_draws_every_machine_and_names_its_bars(demo: Running, open_page: Open) -> None:
    page = open_page(demo.url + "/", 1920, 1080)
    with demo.record.reading() as unit:
        scenario = unit.fleet.load()
        published = unit.plans.published()
    assert published is not None
    machines = {one.id for one in (*scenario.printers, *scenario.dryers, *scenario.ovens)}
    assert set(page.locator(".names a").all_inner_texts()) == machines
    expect(page.locator("svg.time a[href^='/jobs/']").first).to_be_visible()
    titles = page.locator("svg.time a[href^='/jobs/'] > rect > title")
    assert titles.count() > len(published.plan.jobs)
    expect(page.locator("line.now-line").first).to_be_attached()


def test_names_stay_in_sight_while_the_drawing_scrolls(demo: Running, open_page: Open) -> None:
    page = open_page(demo.url + "/?range=all", 800, 1280)
    chart = page.locator(".chart")
    chart.evaluate("(it) => it.scrollTo(400, 0)")
    assert chart.evaluate("(it) => it.scrollLeft") > 0
    name = page.locator(".names a").first.bounding_box()
    edge = chart.bounding_box()
    assert name and edge and name["x"] >= edge["x"]


def test_phones_get_lists_instead_of_the_drawing(demo: Running, open_page: Open) -> None:
    page = open_page(demo.url + "/", 390, 844)
    expect(page.locator(".chart")).to_be_hidden()
    page.locator(".by-machine summary").first.click()
    expect(page.locator(".by-machine .machine").first).to_be_visible()


def test_everything_is_reached_by_keyboard(demo: Running, open_page: Open) -> None:
    page = open_page(demo.url + "/")
    page.keyboard.press("Tab")
    expect(page.locator(":focus")).to_have_text("Skip to the content")
    page.keyboard.press("Enter")
    expect(page.locator("#main")).to_be_focused()
    page.goto(demo.url + "/")
    walked = []
    for _ in range(16):
        page.keyboard.press("Tab")
        focused = page.locator(":focus")
        walked.append(focused.inner_text().strip() or focused.get_attribute("aria-label") or "")
        assert focused.evaluate(OUTLINED), f"nothing shows that {walked[-1]!r} has the focus"
    assert walked[:6] == ["Skip to the content", "Soakline", "Board", "Floor", "Queue", "Quotes"]
    assert "Whole plan" in walked


def test_plan_now_then_publish(fresh_demo: Running, open_page: Open) -> None:
    page = open_page(fresh_demo.url + "/plan")
    page.get_by_role("button", name="Plan now").press("Enter")
    expect(page.get_by_role("heading", name="Planning")).to_be_visible()
    expect(page.get_by_role("button", name="Stop and keep the best")).to_be_visible()
    publish = page.get_by_role("button", name=re.compile(r"Publish plan \d+"))
    expect(publish).to_be_visible(timeout=90_000)
    expect(page.locator("table.versus")).to_contain_text("Late hours")
    number = int(publish.inner_text().split()[-1])
    publish.press("Enter")
    expect(page.get_by_role("status")).to_contain_text(f"Plan {number} is published")
    page.get_by_role("link", name="Board").click()
    expect(page.locator(".plan-state")).to_contain_text(f"Plan {number}")
    with fresh_demo.record.reading() as unit:
        published = unit.plans.published()
    assert published is not None and published.number == number


def test_pages_work_without_scripts(fresh_demo: Running, open_page: Open) -> None:
    page = open_page(fresh_demo.url + "/", java_script_enabled=False)
    expect(page.locator("svg.time a").first).to_be_visible()
    page.goto(fresh_demo.url + "/plan")
    page.get_by_role("button", name="Plan now").click()
    # The page looks again by itself until the proposal is there.
    expect(page.get_by_role("button", name=re.compile("Publish plan"))).to_be_visible(timeout=90_000)


def test_open_board_fetches_a_new_plan_by_itself(fresh_demo: Running, open_page: Open) -> None:
    page = open_page(fresh_demo.url + "/")
    page.clock.install()
    page.reload()
    expect(page.locator(".plan-state")).to_contain_text("Plan 1")
    page.wait_for_load_state("networkidle")
    with fresh_demo.record.writing() as unit:
        published = unit.plans.published()
        assert published is not None
        unit.plans.publish(unit.plans.add(published.plan))
    page.clock.run_for(25_000)
    expect(page.locator(".plan-state")).to_contain_text("Plan 2")
