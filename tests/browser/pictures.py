"""Pictures of every page of a running demo: ``python -m tests.browser.pictures FOLDER [--dark]``.

``--readme`` writes the board's picture for the README to ``web/static/board.png`` instead.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Browser

import web
from scheduler.office import people
from tests.browser.asked import two_quotes
from tests.browser.chromium import chromium
from tests.browser.running import SEATS, Running, demo_running, seat_of
from web.cookies import TABLET

SIZES = ((1920, 1080), (1280, 800), (800, 1280), (390, 844))
README_PICTURE = Path(web.__file__).parent / "static" / "board.png"


def pages(running: Running) -> Iterator[tuple[str, str]]:
    """A name and an address for each kind of page, with things of the demo that are worth a look."""
    with running.record.reading() as unit:
        scenario = unit.fleet.load()
        published = unit.plans.published()
    assert published is not None
    late = max(published.plan.jobs, key=lambda job: job.late_min).job
    two_feeds = next((job.id for job in scenario.jobs if len(job.feeds) == 2), scenario.jobs[0].id)
    yield "board", "/"
    yield "board-day", "/?range=day"
    yield "board-three-days", "/?range=3"
    yield "board-whole-plan", "/?range=all"
    yield "wall", "/wall"
    yield "queue", "/queue"
    yield "queue-new", "/orders/new"
    yield "queue-upload", "/orders/upload"
    yield "job-late", f"/jobs/{late}"
    yield "job-two-feeds", f"/jobs/{two_feeds}"
    if published.plan.unplaced:
        yield "job-without-place", f"/jobs/{published.plan.unplaced[0].job}"
    yield "fleet", "/fleet"
    yield "bench", "/bench?polymer=PC&body=80&recipe_c=110&recipe_h=6&humidity=50&room=22&filament=1.75"
    yield "bench-air", "/bench/air"
    yield "bench-spools", "/bench/spools"
    yield "bench-dryer", f"/bench/dryers/{scenario.dryers[0].id}"
    yield "bench-printer", f"/bench/printers/{scenario.printers[-1].id}"
    yield "bench-material", f"/bench/materials/{scenario.materials[0].id}"
    for kind, things in (
        ("printers", scenario.printers),
        ("dryers", scenario.dryers),
        ("ovens", scenario.ovens),
        ("materials", scenario.materials),
        ("spools", scenario.spools),
    ):
        yield f"fleet-{kind}-one", f"/fleet/{kind}/{things[0].id}"
        yield f"fleet-{kind}-edit", f"/fleet/{kind}/{things[0].id}/edit"
    yield "order", f"/orders/{scenario.jobs[0].order}"
    yield "order-line", f"/queue/lines/{scenario.jobs[0].id}"
    yield "job-whatif", f"/jobs/{late}/whatif"
    yield "plan", "/plan"
    yield "plan-whatif", "/plan/whatif"
    yield "words", "/words"
    drafted, held = two_quotes(running)
    yield "quotes", "/quotes"
    yield "quote-ask", "/quotes/new"
    yield "quote-answer", f"/quotes/{drafted}/answer"
    yield "quote-held", f"/quotes/{held}"
    yield "quote-paper", f"/quotes/{held}/paper"
    yield "quote-dates", "/quotes/dates?all=yes"
    yield "quote-prices", "/quotes/prices"
    yield "quote-learning", "/quotes/learning"
    people.set_pin(running.record, running.now, "oto", "2749")
    people.make_display_link(running.record, running.now, "Hall")
    with running.record.reading() as unit:
        mia = unit.people.get("mia")
    assert mia is not None
    SEATS[running.url][TABLET] = people.trust_device(running.record, running.now, mia, "by the ovens")[0]
    yield "people", "/people"
    yield "me", "/me"
    yield "switch", "/switch"
    yield "switch-pin", "/switch?to=oto"
    yield "sign-in", "/sign-in"
    link = people.make_link(running.record, running.now, "fee")
    yield "sign-in-link", f"/sign-in/link/{link}"
    yield "missing", "/nowhere"


def shoot(
    browser: Browser,
    url: str,
    file: Path,
    size: tuple[int, int],
    dark: bool,
    whole: bool,
    signed_in: bool = True,
) -> None:
    """One picture; ``whole`` takes the page down to its foot."""
    context = browser.new_context(
        viewport={"width": size[0], "height": size[1]}, color_scheme="dark" if dark else "light"
    )
    if signed_in:
        context.add_cookies(seat_of(url))
    page = context.new_page()
    answer = page.goto(url, wait_until="networkidle")
    assert answer is not None
    if answer.status != 200:
        print(f"{answer.status} {url}")
    page.screenshot(path=str(file), full_page=whole)
    context.close()


def main() -> None:
    """Serve the demo, look at it, put the pictures away."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path, nargs="?", help="where the pictures go")
    parser.add_argument("--dark", action="store_true", help="the dark colours")
    parser.add_argument("--readme", action="store_true", help="only the README's picture")
    parser.add_argument("--only", default="", help="only pages whose name begins with this")
    parser.add_argument("--whole", action="store_true", help="whole pages, not just the first screen")
    asked = parser.parse_args()
    if not asked.readme and asked.folder is None:
        parser.error("FOLDER is missing")
    with (
        tempfile.TemporaryDirectory() as temporary,
        demo_running(Path(temporary), plan_seconds=4.0) as running,
        chromium() as browser,
    ):
        if asked.readme:
            shoot(browser, running.url + "/", README_PICTURE, (1600, 1000), asked.dark, False)
            print(README_PICTURE)
            return
        asked.folder.mkdir(parents=True, exist_ok=True)
        for name, path in pages(running):
            if not name.startswith(asked.only):
                continue
            for size in SIZES:
                file = asked.folder / f"{name}-{size[0]}{'-dark' if asked.dark else ''}.png"
                shoot(
                    browser,
                    running.url + path,
                    file,
                    size,
                    asked.dark,
                    asked.whole,
                    not path.startswith("/sign"),
                )
            print(name)


if __name__ == "__main__":
    main()
