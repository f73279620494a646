"""Which permission each address asks for, and which role has which. Nothing is refused by it yet."""

from __future__ import annotations

from scheduler.people import Role

#: Endpoint to permission. A new route gets its line here; a test fails until it has.
ASKED: dict[str, str] = {
    "static": "anyone",
    "board.show": "look",
    "board.wall": "wall",
    "board.fresh": "wall",
    "queue.show": "look",
    "jobs.show": "look",
    "words.show": "look",
    "orders.show": "look",
    **dict.fromkeys([f"orders.{name}" for name in ("add", "store_new", "edit", "store", "remove")], "orders"),
    **dict.fromkeys([f"orders.{name}" for name in ("template", "upload", "look")], "orders"),
    **dict.fromkeys(["fleet.index", "fleet.show"], "machines"),
    **dict.fromkeys([f"fleet.{name}" for name in ("add", "edit", "store_new", "store", "remove")], "fleet"),
    **dict.fromkeys(
        [f"bench.{name}" for name in ("ask", "spools", "air", "dryer", "printer", "material")], "bench"
    ),
    **dict.fromkeys([f"bench.store_{name}" for name in ("readings", "weighing", "log")], "bench"),
    **dict.fromkeys([f"bench.store_{name}" for name in ("air", "dryer_air", "limits")], "fleet"),
    **dict.fromkeys(
        [f"plan.{name}" for name in ("show", "begin", "progress", "stop", "publish", "discard")], "plan"
    ),
    **dict.fromkeys([f"trying.{name}" for name in ("job", "try_it", "ask", "begin", "situation")], "plan"),
}

PERMISSIONS = frozenset(
    {"look", "wall", "orders", "machines", "fleet", "bench", "plan", "floor", "override", "quotes", "prices"}
    | {"people"}
)
GRANTED: dict[Role, frozenset[str]] = {
    "manager": PERMISSIONS,
    "operator": frozenset({"look", "wall", "machines", "bench", "floor"}),
    "front_desk": frozenset({"look", "wall", "orders", "quotes"}),
    "display": frozenset({"wall"}),
}


def may(role: Role, endpoint: str) -> bool:
    """True if a role may use an endpoint; one that the table doesn't know is nobody's."""
    asked = ASKED.get(endpoint)
    return asked == "anyone" or asked in GRANTED[role]
