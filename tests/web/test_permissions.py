"""Every address asks for a permission that some role has."""

from __future__ import annotations

from flask import Flask

from web.permissions import ASKED, GRANTED, PERMISSIONS, may


def test_every_address_asks_for_one_known_permission(app: Flask) -> None:
    assert {rule.endpoint for rule in app.url_map.iter_rules()} == set(ASKED)
    assert set(ASKED.values()) <= PERMISSIONS | {"anyone"}


def test_roles_reach_what_they_need_and_no_more() -> None:
    reached = {role: {endpoint for endpoint in ASKED if may(role, endpoint)} for role in GRANTED}
    assert reached["display"] == {
        "static",
        "board.wall",
        "board.fresh",
        "board.live",
        "board.live_mark",
        "quotes.progress",
    }
    assert reached["manager"] == set(ASKED)
    assert "plan.publish" not in reached["operator"] | reached["front_desk"]
    assert "orders.store" in reached["front_desk"] - reached["operator"]
    assert "fleet.show" in reached["operator"] and "fleet.store" not in reached["operator"]
    assert not may("manager", "nowhere.show")
