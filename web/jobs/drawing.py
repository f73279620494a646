"""A job's steps, its drying runs and its oven run as one small SVG, drawn to time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from markupsafe import Markup, escape

from scheduler.model import ATTENDED_STEPS
from web.times import WEEKDAYS

ROW_PX = 34
BAR_PX = 24
SCALE_PX = 24
#: Hours between marks of the scale; the first that gives no more than MOST_MARKS is taken.
HOUR_STEPS = (1, 2, 3, 6, 12, 24, 48, 96, 168)
MOST_MARKS = 7
#: Least share of the width that gives a bar room for its letter, %.
LETTER_PERCENT = 3.0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A stretch on one row: its texture, its letter and its words."""

    kind: str
    letter: str
    start: datetime
    end: datetime
    title: str


@dataclass(frozen=True, slots=True)
class Lane:
    """A named row of strokes."""

    name: str
    strokes: tuple[Stroke, ...]


@dataclass(frozen=True, slots=True)
class JobDrawing:
    """The inside of the SVG and its height, px, with the names of its rows."""

    names: tuple[str, ...]
    height_px: int
    content: Markup


def draw(
    lanes: Sequence[Lane], zone: tzinfo, now: datetime, due: datetime | None, due_word: str = "due"
) -> JobDrawing:
    """The lanes under each other below a scale of local hours."""
    strokes = [stroke for lane in lanes for stroke in lane.strokes]
    start, end = min(stroke.start for stroke in strokes), max(stroke.end for stroke in strokes)
    margin = max((end - start) / 50, timedelta(minutes=2))
    start, end = start - margin, end + margin
    if due is not None and end < due < end + (end - start) / 4:
        end = due + margin
    seconds = (end - start).total_seconds()

    def x(instant: datetime) -> float:
        return 100 * (instant - start).total_seconds() / seconds

    height = SCALE_PX + ROW_PX * len(lanes)
    parts = _scale(start, end, zone, x, height)
    for row, lane in enumerate(lanes):
        top = SCALE_PX + row * ROW_PX
        if row:
            parts.append(f'<line class="between" x1="0" x2="100%" y1="{top}" y2="{top}"/>')
        parts += [_bar(stroke, x(stroke.start), x(stroke.end), top) for stroke in lane.strokes]
    for instant, css, words in ((due, "due-line", due_word), (now, "now-line", "now")):
        if instant is not None and start < instant < end:
            parts.append(_mark(x(instant), css, words, height))
    return JobDrawing(tuple(lane.name for lane in lanes), height, Markup("".join(parts)))


def _bar(stroke: Stroke, left: float, right: float, top: float) -> str:
    y = top + (ROW_PX - BAR_PX) / 2
    width = max(right - left, 0.25)
    plain = stroke.kind in (*ATTENDED_STEPS, "print")
    fill = "" if plain else f' fill="url(#t-{stroke.kind})"'
    drawn = (
        f'<rect class="s-{stroke.kind}"{fill} x="{left:.2f}%" y="{y:g}" width="{width:.2f}%" '
        f'height="{BAR_PX}"><title>{escape(stroke.title)}</title></rect>'
    )
    if right - left >= LETTER_PERCENT:
        css = "letter on" if stroke.kind in ATTENDED_STEPS else "letter"
        drawn += f'<text class="{css}" x="{(left + right) / 2:.2f}%" y="{y + 17:g}">{stroke.letter}</text>'
    return drawn


def _mark(x: float, css: str, words: str, height: int) -> str:
    anchor = "end" if x > 50 else "start"
    shift = -4 if x > 50 else 4
    return (
        f'<line class="{css}" x1="{x:.2f}%" x2="{x:.2f}%" y1="{SCALE_PX}" y2="{height}"/>'
        f'<text class="mark-word" text-anchor="{anchor}" x="{x:.2f}%" dx="{shift}" y="{height - 4}">'
        f"{words}</text>"
    )


def _scale(start: datetime, end: datetime, zone: tzinfo, x: object, height: int) -> list[str]:
    assert callable(x)
    hours = (end - start).total_seconds() / 3600
    step = next((step for step in HOUR_STEPS if hours / step <= MOST_MARKS), HOUR_STEPS[-1])
    first = start.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0, tzinfo=None)
    parts: list[str] = []
    at, day = first, None
    while True:
        # Wall-clock hours, so that the marks are right on days when clocks change.
        mark = at.replace(tzinfo=zone)
        if mark >= end:
            return parts
        place = x(mark)
        if mark > start and 1 < place < 94:
            words = f"{at:%H:%M}" if day == at.date() else f"{WEEKDAYS[at.weekday()]} {at:%H:%M}"
            day = at.date()
            parts.append(
                f'<line class="midnight" x1="{place:.2f}%" x2="{place:.2f}%" '
                f'y1="{SCALE_PX - 6}" y2="{height}"/>'
                f'<text class="hour" x="{place:.2f}%" y="{SCALE_PX - 9}">{words}</text>'
            )
        at += timedelta(hours=step)
