"""Rows of bars as SVG. Places are percentages, so one drawing fits every width without bending letters."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from markupsafe import Markup, escape

from scheduler.model import ATTENDED_STEPS, Shift
from web.board.rows import STEP_LETTERS, Bar, Block, Group, Row
from web.board.window import Window
from web.times import MONTHS, WEEKDAYS

ROW_PX = 26
#: Overlapping runs lie in lanes, side by side.
LANE_PX = 11
MOST_LANES = 12
#: Free strip above and below the bars of a row, px.
INSET_PX = 3
#: Bars narrower than this are left out, unless somebody has to be there, px at the least width.
SEEN_PX = 0.7
#: A step by hand is drawn at least this wide, so that the eye finds it, px.
TICK_PX = 1.6
LETTER_PX = 10.0
#: Bars lower than this get small letters or none, px.
FULL_LETTER_PX = 14
#: Room that the name of a day takes at the beginning of it, px.
DAY_NAME_PX = 96
#: Mean width of a letter of the narrow face at the size used, px, rounded up.
CHARACTER_PX = 6.6

HEAD_PX = 44


def lanes(row: Row) -> int:
    """Lanes that a row is drawn with: up to twelve, which share a place beyond that."""
    return min(row.lanes, MOST_LANES)


def row_height(row: Row) -> int:
    """Height of a row, px; the style sheet gives its name the same."""
    return ROW_PX if row.lanes <= 2 else lanes(row) * LANE_PX + 2 * INSET_PX


@dataclass(frozen=True, slots=True)
class Drawing:
    """The inside of an SVG and its height, px."""

    height_px: int
    content: Markup


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _rect(kind: str, x: float, width: float, y: float, height: float, title: str) -> str:
    fill = "" if kind in ATTENDED_STEPS or kind == "print" else f' fill="url(#t-{kind})"'
    inside = f"<title>{escape(title)}</title>" if title else ""
    return (
        f'<rect class="s-{kind}"{fill} x="{_number(x)}%" y="{_number(y)}" '
        f'width="{_number(width)}%" height="{_number(height)}">{inside}</rect>'
    )


def _text(words: str, css: str, x: float, dx: float, y: float, late: bool = False) -> str:
    mark = '<tspan class="late">▲ </tspan>' if late else ""
    place = f'x="{_number(x)}%" dx="{_number(dx)}" y="{_number(y)}"'
    return f'<text class="{css}" {place}>{mark}{escape(words)}</text>'


def _cut(window: Window, start: datetime, end: datetime) -> tuple[float, float] | None:
    """Left edge and width in %, cut at the window; ``None`` if nothing of it is shown."""
    left, right = max(0.0, window.percent(start)), min(100.0, window.percent(end))
    return (left, right - left) if right > left else None


def _fitting(block: Block, room_px: float) -> str:
    """As much of a block's name as there is room for."""
    long = f"{block.label} {block.text}".strip()
    if len(long) * CHARACTER_PX + 8 <= room_px:
        return long
    return block.label if len(block.label) * CHARACTER_PX + 6 <= room_px else ""


def _bars(block: Block, window: Window, y: float, height: float) -> list[str]:
    per_px = 100 / window.width_px
    under: list[str] = []
    over: list[str] = []
    letters: list[str] = []
    for bar in block.bars:
        cut = _cut(window, bar.start, bar.end)
        if cut is None:
            continue
        left, width = cut
        wide_px = width / per_px
        attended = bar.kind in ATTENDED_STEPS
        if attended:
            over.append(_rect(bar.kind, left, max(width, TICK_PX * per_px), y, height, bar.title))
        elif wide_px >= SEEN_PX:
            under.append(_rect(bar.kind, left, width, y, height, bar.title))
        named = bar.kind in ("print", "dry", "anneal")
        late = named and block.late_min > 0
        name = _fitting(block, wide_px - 4 - (LETTER_PX if late else 0)) if named else ""
        middle = y + height / 2 + 4
        if name:
            size = "name" if height >= FULL_LETTER_PX else "name small"
            letters.append(_text(name, size, left, 4, middle - (height < FULL_LETTER_PX), late))
        elif wide_px >= LETTER_PX and height >= FULL_LETTER_PX:
            css = "letter on" if attended else "letter" if bar.kind == "print" else "letter over"
            letters.append(_text(STEP_LETTERS[bar.kind], css, left + width / 2, 0, middle))
    return under + over + letters


def _block(block: Block, window: Window, top: float, height: float) -> str:
    cut = _cut(window, block.start, block.end)
    if cut is None:
        return ""
    left, width = cut
    parts = [
        f'<rect class="s-wait" x="{_number(left)}%" y="{_number(top)}" width="{_number(width)}%" '
        f'height="{_number(height)}"><title>{escape(block.title)}</title></rect>'
    ]
    if width * window.width_px / 100 >= 1.5:
        parts += _bars(block, window, top, height)
    if block.late_min > 0:
        parts.append(
            f'<rect class="s-late" x="{_number(left)}%" y="{_number(top + height - 1)}" '
            f'width="{_number(width)}%" height="4"/>'
        )
    inside = "".join(parts)
    if block.href is None:
        return f'<g role="img" aria-label="{escape(block.title)}">{inside}</g>'
    return f'<a href="{escape(block.href)}" aria-label="{escape(block.title)}">{inside}</a>'


def _down(bar: Bar, window: Window, top: float, height: float) -> str:
    cut = _cut(window, bar.start, bar.end)
    if cut is None:
        return ""
    letter = ""
    if cut[1] * window.width_px / 100 >= LETTER_PX:
        letter = _text(STEP_LETTERS["down"], "letter over", cut[0] + cut[1] / 2, 0, top + height / 2 + 4)
    return _rect("down", *cut, top, height, bar.title) + letter


def staffed(shifts: tuple[Shift, ...]) -> tuple[tuple[datetime, datetime, int], ...]:
    """Stretches with the number of hands in each, overlapping windows added up, in time order."""
    edges: dict[datetime, int] = {}
    for shift in shifts:
        edges[shift.start] = edges.get(shift.start, 0) + shift.hands
        edges[shift.end] = edges.get(shift.end, 0) - shift.hands
    stretches: list[tuple[datetime, datetime, int]] = []
    hands, since = 0, None
    for edge in sorted(edges):
        if edges[edge] == 0:
            continue
        if since is not None and hands > 0:
            stretches.append((since, edge, hands))
        hands, since = hands + edges[edge], edge
    return tuple(stretches)


def _ground(window: Window, shifts: tuple[Shift, ...], zone: tzinfo, height: int) -> str:
    """Staffed hours light, the others dark, and a line at each midnight."""
    parts = []
    for start, end, _ in staffed(shifts):
        cut = _cut(window, start, end)
        if cut:
            parts.append(
                f'<rect class="staffed" x="{_number(cut[0])}%" y="0" '
                f'width="{_number(cut[1])}%" height="{height}"/>'
            )
    for midnight in window.midnights(zone)[1:-1]:
        x = _number(window.percent(midnight))
        parts.append(f'<line class="midnight" x1="{x}%" x2="{x}%" y1="0" y2="{height}"/>')
    return "".join(parts)


def draw_group(group: Group, window: Window, shifts: tuple[Shift, ...], zone: tzinfo) -> Drawing:
    """The rows of one group, one under the other."""
    total = sum(row_height(row) for row in group.rows)
    parts = [_ground(window, shifts, zone, total)]
    top = 0
    for row in group.rows:
        high = row_height(row)
        if top:
            parts.append(f'<line class="between" x1="0" x2="100%" y1="{top}" y2="{top}"/>')
        inside_px = high - 2 * INSET_PX
        lane_px = inside_px / lanes(row)
        shown = "".join(_down(bar, window, top + INSET_PX, inside_px) for bar in row.downtime)
        for block in row.blocks:
            lane_top = top + INSET_PX + block.lane % lanes(row) * lane_px
            shown += _block(block, window, lane_top, lane_px - (1 if row.lanes > 1 else 0))
        parts.append(shown)
        top += high
    return Drawing(total, Markup("".join(parts)))


def _hour_step(window: Window) -> int:
    """Hours between two marks of the scale: as many as have room."""
    for hours in (2, 3, 6, 12):
        if window.px(hours * 60) >= 34:
            return hours
    return 24


def draw_head(window: Window, shifts: tuple[Shift, ...], zone: tzinfo) -> Drawing:
    """Days with their dates, hours, and how many hands there are when."""
    parts = ['<rect class="band" x="0" y="0" width="100%" height="22"/>']
    for start, end, _ in staffed(shifts):
        cut = _cut(window, start, end)
        if cut:
            place = f'x="{_number(cut[0])}%" y="22" width="{_number(cut[1])}%"'
            parts.append(f'<rect class="staffed" {place} height="22"/>')
    step = _hour_step(window)
    for at, after in zip(window.midnights(zone), window.midnights(zone)[1:], strict=False):
        x = window.percent(at)
        name = f"{WEEKDAYS[at.weekday()]} {at.day} {MONTHS[at.month - 1]}"
        parts.append(_text(name, "day", x, 6, 16))
        if x > 0:
            parts.append(f'<line class="midnight" x1="{_number(x)}%" x2="{_number(x)}%" y1="22" y2="44"/>')
        for hour in range(step, 24, step):
            # Wall-clock hours, so that the marks are right on days when clocks change.
            mark = (at.replace(tzinfo=None) + timedelta(hours=hour)).replace(tzinfo=zone)
            clear_px = (window.percent(mark) - x) * window.width_px / 100
            if mark < after and clear_px > DAY_NAME_PX:
                parts.append(_text(f"{hour:02d}", "hour", window.percent(mark), 3, 16))
    for start, end, hands in staffed(shifts):
        cut = _cut(window, start, end)
        if cut is None:
            continue
        room_px = cut[1] * window.width_px / 100
        words = f"{hands} people" if hands != 1 else "1 person"
        if room_px >= len(words) * CHARACTER_PX + 6:
            parts.append(_text(words, "hands", cut[0] + cut[1] / 2, 0, 38))
        elif room_px >= 8:
            parts.append(_text(str(hands), "hands", cut[0] + cut[1] / 2, 0, 38))
    return Drawing(HEAD_PX, Markup("".join(parts)))
