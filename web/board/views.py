"""The board's page, and the few figures that keep an open one fresh."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, jsonify, render_template, request

from web.board import reported
from web.board.drawing import Drawing, draw_group, draw_head, lanes, staffed
from web.board.hands import AHEAD, Task, coming
from web.board.late import late_ids, late_jobs, placeless_hours, placeless_jobs
from web.board.rows import STEP_LETTERS, STEP_WORDS, Group, Row, machine_groups
from web.board.wall import Tile, tiles
from web.board.window import DEFAULT_RANGE, RANGES, Window, find_window, plan_ends
from web.floor.desk import desk_of
from web.people import may_see_names
from web.queue.book import part_name
from web.services import services
from web.shop import Shop
from web.times import local, when

blueprint = Blueprint("board", __name__)

#: Machines on one page of the board.
ROWS_A_PAGE = 60
#: Lines and machines that have room on the wall.
WALL_TASKS = 7
WALL_TILES = 40
#: The wall turns to its next machines so often, if they don't all have room, seconds.
WALL_TURN_S = 20
#: Drawings of groups that are kept for the next look.
DRAWINGS_KEPT = 200
#: What the board's address may ask for.
ASKED = ("range", "from", "machines", "page")
#: Tasks that the list shows unfolded.
FIRST_TASKS = 11


@dataclass(frozen=True, slots=True)
class DrawnGroup:
    """A group with its drawing and how many lanes each of its rows has."""

    group: Group
    drawing: Drawing
    lanes: tuple[int, ...]


@blueprint.get("/")
def show() -> str:
    """The week of every machine, what is late, what cannot be made, what waits for hands."""
    here = services()
    shop = here.shop()
    if shop is None:
        return render_template("board/no_shop.html")
    now = here.clock()
    window = _asked_window(shop)
    names = may_see_names()
    groups = _groups(shop, names)
    asked_group = request.args.get("machines", "")
    shown = [group for group in groups if group.key == asked_group] or list(groups)
    pages = _pages(shown)
    number = min(max(request.args.get("page", 1, type=int), 1), len(pages))
    zone = ZoneInfo(shop.scenario.site.timezone)
    drawn = [_drawn(shop, group, window, names) for group in pages[number - 1]]
    return render_template(
        "board/show.html",
        shop=shop,
        window=window,
        ranges=RANGES,
        head=draw_head(window, shop.scenario.shifts, zone),
        groups=groups,
        asked_group=asked_group,
        drawn=drawn,
        page_number=number,
        page_count=len(pages),
        address=_address,
        page_address=lambda page: _address(page=page),
        earlier=window.first - timedelta(days=window.days),
        later=window.first + timedelta(days=window.days),
        now_percent=window.percent(now) if window.start <= now < window.end else None,
        words=STEP_WORDS,
        letters=STEP_LETTERS,
        tasks=_standing(shop, now, names)[1],
        first_tasks=FIRST_TASKS,
        ahead_hours=int(AHEAD.total_seconds() // 3600),
        late=late_jobs(shop, names),
        late_count=len(late_ids(shop)),
        placeless=placeless_jobs(shop, names),
        placeless_hours=placeless_hours(shop),
        people=_people(shop, now),
    )


@blueprint.get("/wall")
def wall() -> str:
    """The board for the wall: few things, large."""
    here = services()
    shop = here.shop()
    if shop is None:
        return render_template("board/no_shop.html")
    now = here.clock()
    # Whoever walks by reads it, so a part under non-disclosure has no name here, whoever is signed in.
    shown, tasks, reports = _standing(shop, now, names=False)
    turns = max(1, -(-len(shown) // WALL_TILES))
    # Asked for by number, or by the clock: a screen that looks every so often sees each in its turn.
    asked = request.args.get("page", type=int)
    turn = (asked - 1 if asked else int(now.timestamp() // WALL_TURN_S)) % turns
    return render_template(
        "board/wall.html",
        shop=shop,
        tasks=tasks[:WALL_TASKS],
        reports=reports,
        tiles=shown[turn * WALL_TILES : (turn + 1) * WALL_TILES],
        machines=len(shown),
        turn=turn + 1,
        turns=turns,
        turn_s=WALL_TURN_S,
        late=[
            (
                id,
                shop.planned[id].late_min,
                part_name(shop, id, names=False),
            )
            for id in late_ids(shop)
            if id in shop.jobs
        ],
        placeless_count=len(shop.unplaced),
        people=_people(shop, now),
    )


def _standing(shop: Shop, now: datetime, names: bool) -> tuple[tuple[Tile, ...], tuple[Task, ...], bool]:
    """Machines and what waits for hands: as reported, or by the plan while nobody reports."""
    here = services()
    planned = coming(shop, now, names)
    with here.record.reading() as unit:
        reports = unit.floor.state() is not None
    if not reports:
        return tiles(_groups(shop, names), now), planned, False
    with here.desk.looking() as (unit, ground, things):
        touched = here.desk.touched(unit)
        desks = [desk_of(ground, things, machine, now) for machine in ground.scenario.printers]
    runs = [
        (kind, run)
        for kind in ("dryer run", "oven run")
        for run in touched.runs(kind)
        if run.ended_at is None and run.members
    ]
    late = set(late_ids(shop))
    return reported.tiles(desks, now, late), reported.touches(desks, runs, planned, now), True


@blueprint.get("/live")
def live() -> Response:
    """A stream (server-sent events) that tells when anything has happened."""
    # Waitress tells so if it looks ahead (channel_request_lookahead); other servers end it themselves.
    gone = request.environ.get("waitress.client_disconnected", lambda: False)
    lines = services().live.stream(gone)
    if lines is None:
        return Response("Too many streams are open; ask /live.json every few seconds.\n", 503)
    return Response(lines, mimetype="text/event-stream", headers={"Cache-Control": "no-store"})


@blueprint.get("/live.json")
def live_mark() -> Response:
    """The mark of now, for pages that have no stream."""
    return jsonify(mark=services().live.mark())


@blueprint.get("/board.json")
def fresh() -> Response:
    """What an open board asks for: has anything changed, and what time is it."""
    here = services()
    shop = here.shop()
    stored = shop.stored if shop else None
    now = here.clock()
    return jsonify(
        version=f"{shop.version if shop else 0}-{stored.number if stored else 0}",
        now=now.isoformat(),
        words=when(now),
    )


def _asked_window(shop: Shop) -> Window:
    try:
        first = date.fromisoformat(request.args.get("from", ""))
    except ValueError:
        first = None
    return find_window(
        request.args.get("range", DEFAULT_RANGE),
        first,
        services().clock(),
        shop.scenario.site.plan_start,
        plan_ends(shop.plan) if shop.plan else None,
        shop.scenario.shifts,
        ZoneInfo(shop.scenario.site.timezone),
    )


def _people(shop: Shop, now: datetime) -> int:
    return next((hands for start, end, hands in staffed(shop.scenario.shifts) if start <= now < end), 0)


def _today() -> date:
    return local(services().clock()).date()


def _groups(shop: Shop, names: bool) -> tuple[Group, ...]:
    # The titles name weekdays near today and dates far from it, so they hold for one day.
    key = ("machines", _today(), names)
    if key not in shop.memo:
        shop.memo[key] = machine_groups(shop, names)
    found = shop.memo[key]
    assert isinstance(found, tuple)
    return found


def _drawn(shop: Shop, group: Group, window: Window, names: bool) -> DrawnGroup:
    key = (_today(), group.key, group.rows[0].id, len(group.rows), window, names)
    kept = shop.memo.setdefault("drawings", {})
    assert isinstance(kept, dict)
    if key not in kept:
        # Days can be leafed through without end; what is kept must not grow with it.
        if len(kept) >= DRAWINGS_KEPT:
            kept.clear()
        zone = ZoneInfo(shop.scenario.site.timezone)
        drawing = draw_group(group, window, shop.scenario.shifts, zone)
        kept[key] = DrawnGroup(group, drawing, tuple(lanes(row) for row in group.rows))
    found = kept[key]
    assert isinstance(found, DrawnGroup)
    return found


def _pages(groups: Sequence[Group]) -> list[list[Group]]:
    """The groups cut into pages; a group that crosses a page's end goes on on the next."""
    pages: list[list[Group]] = [[]]
    room = ROWS_A_PAGE
    for group in groups:
        rows: tuple[Row, ...] = group.rows
        while rows:
            if room == 0:
                pages.append([])
                room = ROWS_A_PAGE
            pages[-1].append(Group(group.key, group.title, group.note, rows[:room]))
            taken = len(pages[-1][-1].rows)
            room -= taken
            rows = rows[taken:]
    return pages


def _address(**changes: object) -> str:
    """The board's address with some of what it asks for changed; ``None`` leaves a thing out."""
    asked = {
        name: request.args[name] for name in ("range", "from", "machines", "page") if name in request.args
    }
    asked.update({name.rstrip("_"): str(value) for name, value in changes.items() if value is not None})
    for name, value in changes.items():
        if value is None:
            asked.pop(name.rstrip("_"), None)
    return "/?" + urlencode(asked) if asked else "/"
