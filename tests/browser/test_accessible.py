"""An axe-core run over the pages that people work at (WCAG 2.2 AA), in light and in dark."""

from __future__ import annotations

import pytest

from tests.browser.conftest import Open
from tests.browser.running import Running

PAGES = (
    "/",
    "/wall",
    "/floor",
    "/floor/spools",
    "/floor/handover",
    "/queue",
    "/quotes",
    "/quotes/new",
    "/fleet",
    "/bench",
    "/plan",
    "/plan/whatif",
    "/people",
    "/me",
    "/words",
)
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]}}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing(demo: Running, open_page: Open, scheme: str) -> None:
    axe = pytest.importorskip(
        "axe_playwright_python.sync_playwright", reason="axe-playwright-python is not installed"
    )
    page = open_page(demo.url, width=1280, height=800, color_scheme=scheme)
    machine = "/floor/machines/" + demo_printer(demo)
    wrong = []
    for path in (*PAGES, machine):
        answer = page.goto(demo.url + path)
        assert answer is not None and answer.ok, path
        # The policy of the pages lets no script in that is not theirs, so axe comes in by the debugger.
        found = axe.Axe().run(page, options=RULES)
        for violation in found.response["violations"]:
            nodes = [node["html"][:120] for node in violation["nodes"][:3]]
            wrong.append(f"{path}: {violation['id']} – {violation['help']}: {nodes}")
    assert wrong == []


def demo_printer(demo: Running) -> str:
    """A machine of the demo."""
    with demo.record.reading() as unit:
        return unit.fleet.load().printers[0].id
