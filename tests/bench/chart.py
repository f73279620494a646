"""Late hours against seconds, as SVG: one panel a size, one line for the search, one mark a dispatch."""

from __future__ import annotations

import math
from collections import defaultdict
from html import escape

WIDE, HIGH, MARGIN = 420, 260, 52
#: Strokes and marks differ, so that nothing is said by colour alone.
DASHES = ("", "7 4", "2 4", "9 3 2 3")


def chart(rows: list[dict[str, object]]) -> str:
    """The chart of a table of `tests.bench.planning`; late hours are summed over a size's shops."""
    sizes = list(dict.fromkeys(str(row["size"]) for row in rows))
    panels = []
    for number, size in enumerate(sizes):
        of = [row for row in rows if str(row["size"]) == size]
        panels.append(f'<g transform="translate(0 {number * HIGH})">{_panel(size, of)}</g>')
    high = HIGH * max(1, len(sizes))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {high}" width="{WIDE}" height="{high}" '
        f'font-family="sans-serif" font-size="11"><rect width="100%" height="100%" fill="#fff"/>'
        f"{''.join(panels)}</svg>\n"
    )


def _panel(size: str, rows: list[dict[str, object]]) -> str:
    late: dict[str, float] = defaultdict(float)
    seconds: dict[str, float] = {}
    bounds: dict[str, float] = {}
    # A sum over fewer shops than the others' would look like a better plan.
    lacking = {str(row["method"]) for row in rows if row["late hours"] is None}
    for row in rows:
        bounds[str(row["shop"])] = max(bounds.get(str(row["shop"]), 0.0), float(str(row["bound"] or 0)))
        if row["method"] in lacking:
            continue
        method = str(row["method"])
        late[method] += float(str(row["late hours"]))
        if method.startswith("ours"):
            seconds[method] = float(method.removeprefix("ours, ").removesuffix(" s"))
    top = max(1.0, *late.values())
    longest = max([10.0, *seconds.values()])

    def across(second: float) -> float:
        return MARGIN + (WIDE - MARGIN - 14) * math.log1p(second) / math.log1p(longest)

    def up(hours: float) -> float:
        return HIGH - 38 - (HIGH - 72) * hours / top

    parts = [
        f'<text x="{MARGIN}" y="18" font-weight="bold">{escape(size)}: late hours by seconds searched</text>',
        f'<path d="M{MARGIN} 30V{HIGH - 38}H{WIDE - 14}" fill="none" stroke="#333"/>',
        f'<text x="{MARGIN - 4}" y="{up(top) + 4:.1f}" text-anchor="end">{top:.0f}</text>',
        f'<text x="{MARGIN - 4}" y="{up(0) + 4:.1f}" text-anchor="end">0</text>',
    ]
    level = [(name, hours) for name, hours in late.items() if name not in seconds]
    level.append(("bound", sum(bounds.values())))
    for number, (name, hours) in enumerate(level):
        y = up(hours)
        parts.append(
            f'<path d="M{MARGIN} {y:.1f}H{WIDE - 14}" stroke="#555" '
            f'stroke-dasharray="{DASHES[1 + number % 3]}"/>'
            f'<text x="{WIDE - 16}" y="{y - 4:.1f}" text-anchor="end">{escape(name)}, {hours:.0f}</text>'
        )
    points = sorted((second, late[name]) for name, second in seconds.items())
    if points:
        line = "L".join(f"{across(second):.1f} {up(hours):.1f}" for second, hours in points)
        parts.append(f'<path d="M{line}" fill="none" stroke="#000" stroke-width="2"/>')
    for second, hours in points:
        x, y = across(second), up(hours)
        parts.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.5"/><text x="{x:.1f}" y="{y - 8:.1f}" '
            f'text-anchor="middle">{hours:.0f}</text>'
            f'<text x="{x:.1f}" y="{HIGH - 22}" text-anchor="middle">{second:g} s</text>'
        )
    return "".join(parts)
