"""Fifty finishes as dots, each as likely as the next, with the promise among them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from markupsafe import Markup, escape

from web.times import WEEKDAYS

WIDTH_PX, DOT_PX, FOOT_PX, HEAD_PX = 640, 12, 28, 22
COLUMNS = 24
MARKS = 5


@dataclass(frozen=True, slots=True)
class DotPlot:
    """The inside of an SVG, its height, px, and the same in a sentence."""

    height_px: int
    content: Markup
    told: str


def plot(dots: Sequence[datetime], promise: datetime, zone: tzinfo, moved: float = 0.0) -> DotPlot:
    """Dots piled up over their time; those after the promise are rings.

    Parameters
    ----------
    moved : float
        By how much past promises moved the chance at which the date was read; what can be seen is said.

    Fifty dots were read better than an interval (Fernandes 2018).
    """
    first, last = min(*dots, promise), max(*dots, promise)
    wide = max((last - first), timedelta(hours=2))
    start = first - wide / 20
    seconds = (wide * 1.1).total_seconds()

    def x(at: datetime) -> float:
        return 10 + (WIDTH_PX - 20) * (at - start).total_seconds() / seconds

    piles: Counter[int] = Counter()
    placed = []
    width = (WIDTH_PX - 20) / COLUMNS
    for dot in dots:
        column = int((x(dot) - 10) // width)
        placed.append((column, piles[column], dot))
        piles[column] += 1
    tall = max(piles.values())
    step = DOT_PX if tall <= 16 else max(4, 16 * DOT_PX // tall)
    floor = HEAD_PX + step * tall + 4
    parts = [f'<line class="curve-axis" x1="0" x2="{WIDTH_PX}" y1="{floor}" y2="{floor}"/>']
    for column, level, dot in placed:
        late = dot > promise
        css = "dot-late" if late else "dot-kept"
        cx, cy = 10 + (column + 0.5) * width, floor - 3 - step * (level + 0.5)
        parts.append(f'<circle class="{css}" cx="{cx:.1f}" cy="{cy:.1f}" r="{0.42 * step:.1f}"/>')
    px = x(promise)
    anchor, aside = ("end", -5) if px > WIDTH_PX / 2 else ("start", 5)
    words = "promise"
    parts.append(f'<line class="dot-promise" x1="{px:.1f}" x2="{px:.1f}" y1="6" y2="{floor}"/>')
    parts.append(
        f'<text class="curve-name" text-anchor="{anchor}" x="{px + aside:.1f}" y="14">{escape(words)}</text>'
    )
    for mark in range(MARKS):
        at = start + timedelta(seconds=seconds * (mark + 0.5) / MARKS)
        there = at.astimezone(zone)
        parts.append(
            f'<text class="curve-tick" text-anchor="middle" x="{x(at):.1f}" y="{floor + 18}">'
            f"{WEEKDAYS[there.weekday()]} {there.day}. {there:%H:%M}</text>"
        )
    kept = sum(dot <= promise for dot in dots)
    told = (
        f"{kept} of {len(dots)} equally likely finishes lie before the promise, {len(dots) - kept} after it."
    )
    if abs(moved) * len(dots) >= 1:
        word, where = ("less", "later") if moved > 0 else ("more", "sooner")
        told += f" Past promises were kept {word} often than they said, so this one lies {where}."
    return DotPlot(int(floor + FOOT_PX), Markup("".join(parts)), told)
