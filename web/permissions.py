"""Which permission each address asks for, and which role has which; :mod:`web.guard` refuses by it."""

from __future__ import annotations

from scheduler.people import Role

#: Endpoint to permission. A new route gets its line here; a test fails until it has.
ASKED: dict[str, str] = {
    "static": "anyone",
    **dict.fromkeys(
        [f"signing.{name}" for name in ("show", "sign_in", "sign_out", "link", "use_link")], "anyone"
    ),
    **dict.fromkeys(
        [f"signing.{name}" for name in ("screen", "open_screen", "switch", "switch_to")], "anyone"
    ),
    **dict.fromkeys([f"signing.{name}" for name in ("own", "store_password", "store_pin")], "own"),
    **dict.fromkeys(
        [f"staff.{name}" for name in ("show", "add", "change", "screen", "share", "forget")], "people"
    ),
    "board.show": "look",
    **dict.fromkeys([f"board.{name}" for name in ("wall", "fresh", "live", "live_mark")], "wall"),
    "queue.show": "look",
    "jobs.show": "look",
    "words.show": "look",
    "orders.show": "look",
    **dict.fromkeys([f"orders.{name}" for name in ("add", "store_new", "edit", "store", "remove")], "orders"),
    **dict.fromkeys([f"orders.{name}" for name in ("template", "upload", "look")], "orders"),
    **dict.fromkeys([f"trace.{name}" for name in ("job", "lot", "spool")], "look"),
    **dict.fromkeys([f"floor.{name}" for name in ("index", "machine", "dryer", "oven", "judge")], "floor"),
    **dict.fromkeys([f"floor.{name}" for name in ("spools", "labels", "handover", "do")], "floor"),
    **dict.fromkeys(["fleet.index", "fleet.show"], "machines"),
    **dict.fromkeys([f"fleet.{name}" for name in ("add", "edit", "store_new", "store", "remove")], "fleet"),
    **dict.fromkeys(
        [f"bench.{name}" for name in ("ask", "spools", "air", "dryer", "printer", "material")], "bench"
    ),
    **dict.fromkeys([f"bench.store_{name}" for name in ("readings", "weighing", "log")], "bench"),
    **dict.fromkeys([f"bench.store_{name}" for name in ("air", "dryer_air", "limits")], "fleet"),
    **dict.fromkeys(
        [
            f"plan.{name}"
            for name in ("show", "begin", "progress", "stop", "limits", "publish", "discard", "moves_of")
        ],
        "plan",
    ),
    **dict.fromkeys(
        [f"quotes.{name}" for name in ("index", "ask", "store_new", "edit", "store", "answer", "show")],
        "quotes",
    ),
    **dict.fromkeys([f"quotes.{name}" for name in ("show", "send", "hold", "accept", "decline")], "quotes"),
    **dict.fromkeys(
        [
            f"quotes.{name}"
            for name in ("paper", "pdf", "link", "revoke", "dates", "learning", "answer_figures", "openings")
        ],
        "quotes",
    ),
    "quotes.try_for_openings": "quotes",
    **dict.fromkeys([f"quotes.{name}" for name in ("prices", "store_prices", "reset", "use")], "prices"),
    # The customer's own link: its signature is what lets in.
    "quotes.progress": "anyone",
    **dict.fromkeys([f"trying.{name}" for name in ("job", "try_it", "ask", "begin", "situation")], "plan"),
}

PERMISSIONS = frozenset(
    {"look", "wall", "orders", "machines", "fleet", "bench", "plan", "floor", "override", "quotes", "prices"}
    | {"own", "people"}
)
GRANTED: dict[Role, frozenset[str]] = {
    "manager": PERMISSIONS,
    "operator": frozenset({"look", "wall", "machines", "bench", "floor", "own"}),
    "front_desk": frozenset({"look", "wall", "orders", "quotes", "own"}),
    "display": frozenset({"wall"}),
}


#: What a sign-in by PIN does not open: four digits are too few for it.
BEYOND_PIN = frozenset({"people", "prices"})


def may(role: Role, endpoint: str) -> bool:
    """True if a role may use an endpoint; one that the table doesn't know is nobody's."""
    asked = ASKED.get(endpoint)
    return asked == "anyone" or asked in GRANTED[role]
