"""A curve drawn as SVG: axes with units, limits, a band for what is unsure, each line named at its end.

Lines differ by dashes and by the name beside them, never by colour alone. The drawing carries its own
colours as attributes, so that it stands alone as a file; a page's stylesheet may overrule them by class.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Format:
    """How wide a drawing is, its margins, and whether names stand beside the axes or within them.

    ``ticks`` and ``names`` are how many figures, or names, an axis has at the most.
    """

    name: str
    width: int
    left: int
    right: int
    beside: bool
    ticks: int
    names: int


#: For desks and tablets, and for a screen that is no wider than a hand.
WIDE = Format("wide", 760, 64, 150, True, 6, 8)
NARROW = Format("narrow", 380, 64, 14, False, 4, 3)

HEIGHT = 330
TOP, BOTTOM = 16, 46
INK, QUIET, RULE, WARN, WASH = "#1d1e20", "#4d4e52", "#c8c3b5", "#a31d16", "#e8e5db"
#: Lines by their place: how they are dashed.
DASHES = ("", "7 4", "2 3", "11 3 2 3")
FONT = "Source Sans 3, Segoe UI, Liberation Sans, Arial, sans-serif"


@dataclass(frozen=True, slots=True)
class Line:
    """A curve with its name; ``dots`` draws readings instead of a line."""

    name: str
    points: Sequence[Point]
    dots: bool = False


@dataclass(frozen=True, slots=True)
class Band:
    """What lies between two curves over the same x."""

    name: str
    low: Sequence[Point]
    high: Sequence[Point]


@dataclass(frozen=True, slots=True)
class Mark:
    """A limit (at a y) or an instant (at an x) with its name."""

    name: str
    at: float


@dataclass(frozen=True, slots=True)
class Chart:
    """A whole drawing.

    Parameters
    ----------
    title, tells : str
        Its name, and a sentence that says what it shows to who can't see it.
    x_label, y_label : str
        With units.
    limits : sequence of Mark
        Horizontal lines, such as the moisture to print at.
    instants : sequence of Mark
        Vertical lines, such as now.
    zero : bool
        True if the y axis begins at zero.
    ticks : sequence of (float, str), optional
        Names for places on the x axis; else numbers.
    """

    title: str
    tells: str
    x_label: str
    y_label: str
    lines: Sequence[Line]
    bands: Sequence[Band] = ()
    limits: Sequence[Mark] = ()
    instants: Sequence[Mark] = ()
    zero: bool = True
    ticks: Sequence[tuple[float, str]] = ()

    def svg(self, form: Format = WIDE) -> str:
        """The drawing as an SVG element, complete as a file."""
        return "\n".join(_Drawing(self, form).parts())

    def for_page(self) -> str:
        """A wide and a narrow drawing; the stylesheet shows the one that fits the screen."""
        return self.svg(WIDE) + "\n" + self.svg(NARROW)


class _Drawing:
    def __init__(self, chart: Chart, form: Format) -> None:
        self.chart = chart
        self.form = form
        self.left, self.right = form.left, form.width - form.right
        #: Heights of the names at the right margin.
        self.taken: list[float] = []
        points = [point for line in chart.lines for point in line.points]
        points += [point for band in chart.bands for point in (*band.low, *band.high)]
        xs = [x for x, _ in points] or [0.0, 1.0]
        ys = [y for _, y in points] + [mark.at for mark in chart.limits] or [0.0, 1.0]
        self.x_low, self.x_high = _room(min(xs), max(xs))
        low = 0.0 if chart.zero else min(ys)
        self.y_low, self.y_high = _room(low, max(ys) + 0.04 * (max(ys) - low))

    def parts(self) -> list[str]:
        chart = self.chart
        return [
            f'<svg xmlns="http://www.w3.org/2000/svg" class="curve {self.form.name}"'
            f' viewBox="0 0 {self.form.width} {HEIGHT}" role="img"'
            f' font-family="{FONT}" font-size="13">',
            f"<title>{escape(chart.title)}</title><desc>{escape(chart.tells)}</desc>",
            *self._axes(),
            *(self._band(band) for band in chart.bands),
            *self._limits(),
            *self._instants(),
            *self._lines(),
            "</svg>",
        ]

    def x(self, value: float) -> float:
        share = (value - self.x_low) / (self.x_high - self.x_low)
        return self.left + share * (self.right - self.left)

    def y(self, value: float) -> float:
        share = (value - self.y_low) / (self.y_high - self.y_low)
        return HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)

    def _axes(self) -> list[str]:
        left, right, floor = self.left, self.right, HEIGHT - BOTTOM
        drawn = []
        for value in ticks(self.y_low, self.y_high):
            y = self.y(value)
            drawn.append(
                f'<path class="curve-rule" d="M{left} {y:.1f}H{right}" stroke="{RULE}" stroke-width="1"/>'
                f'<text class="curve-tick" x="{left - 8}" y="{y + 4:.1f}" text-anchor="end" fill="{QUIET}">'
                f"{plain(value)}</text>"
            )
        named = self.chart.ticks[:: math.ceil(len(self.chart.ticks) / self.form.names) or 1] or [
            (value, plain(value)) for value in ticks(self.x_low, self.x_high, self.form.ticks)
        ]
        for value, name in named:
            x = self.x(value)
            # A name that would run out of the drawing ends at its place.
            anchor = "end" if x + 3.5 * len(name) > self.form.width else "middle"
            drawn.append(
                f'<path class="curve-rule" d="M{x:.1f} {floor}v5" stroke="{QUIET}" stroke-width="1"/>'
                f'<text class="curve-tick" x="{x:.1f}" y="{floor + 19}" text-anchor="{anchor}"'
                f' fill="{QUIET}">{escape(name)}</text>'
            )
        drawn.append(
            f'<path class="curve-axis" d="M{left} {TOP}V{floor}H{right}" fill="none" stroke="{INK}"/>'
            f'<text class="curve-tick" x="{(left + right) / 2:.0f}" y="{HEIGHT - 8}" text-anchor="middle"'
            f' fill="{QUIET}">{escape(self.chart.x_label)}</text>'
            f'<text class="curve-tick" transform="translate(15 {(TOP + floor) / 2:.0f}) rotate(-90)"'
            f' text-anchor="middle" fill="{QUIET}">{escape(self.chart.y_label)}</text>'
        )
        return drawn

    def _band(self, band: Band) -> str:
        way = [*band.low, *reversed(band.high)]
        return (
            f'<path class="curve-band" d="{self._path(way)}Z" fill="{WASH}" stroke="none">'
            f"<title>{escape(band.name)}</title></path>"
        )

    def _limits(self) -> list[str]:
        return [self._limit(mark) for mark in self.chart.limits]

    def _limit(self, mark: Mark) -> str:
        y = self.y(mark.at)
        x, label = (self.right + 6, y + 4) if self.form.beside else (self.right - 4, y - 5)
        return (
            f'<path class="curve-limit" d="M{self.left} {y:.1f}H{self.right}" stroke="{WARN}"'
            f' stroke-width="1.6" stroke-dasharray="9 5"/><text class="curve-limit-name"{self._anchor()}'
            f' x="{x}" y="{self._free(label):.1f}" fill="{WARN}">{escape(mark.name)}</text>'
        )

    def _anchor(self) -> str:
        return "" if self.form.beside else ' text-anchor="end"'

    def _instants(self) -> list[str]:
        """Marks inside of the axis; names that would touch go one row down."""
        drawn = []
        ends: list[float] = []
        for mark in sorted(self.chart.instants, key=lambda mark: mark.at):
            if not self.x_low <= mark.at <= self.x_high:
                continue
            x = self.x(mark.at)
            long = 8 + 8 * len(mark.name)
            # Where it would run out of the drawing, the name stands before its line.
            before = x + long > self.form.width
            begins = x - long if before else x
            row = next((row for row, end in enumerate(ends) if end < begins), len(ends))
            ends[row : row + 1] = [begins + long]
            drawn.append(self._instant(mark, x, row, before))
        return drawn

    def _instant(self, mark: Mark, x: float, row: int, before: bool) -> str:
        place = f'x="{x - 5:.1f}" text-anchor="end"' if before else f'x="{x + 5:.1f}"'
        return (
            f'<path class="curve-instant" d="M{x:.1f} {TOP}V{HEIGHT - BOTTOM}" stroke="{INK}"'
            f' stroke-width="1.2"/><text class="curve-name" {place} y="{TOP + 11 + 15 * row}"'
            f' fill="{INK}">{escape(mark.name)}</text>'
        )

    def _lines(self) -> list[str]:
        drawn: list[str] = []
        for place, line in enumerate(self.chart.lines):
            if not line.points:
                continue
            if line.dots:
                dots = "".join(
                    f'<circle cx="{self.x(x):.1f}" cy="{self.y(y):.1f}" r="2.2"/>' for x, y in line.points
                )
                drawn.append(f'<g class="curve-dots" fill="{QUIET}">{dots}</g>')
            else:
                dash = DASHES[place % len(DASHES)]
                drawn.append(
                    f'<path class="curve-line" d="{self._path(line.points)}" fill="none" stroke="{INK}"'
                    f' stroke-width="2.2" stroke-linejoin="round"'
                    + (f' stroke-dasharray="{dash}"' if dash else "")
                    + "/>"
                )
            end_x, end_y = self.x(line.points[-1][0]), self.y(line.points[-1][1])
            if line.name:
                drawn.append(self._line_name(line.name, end_x, end_y))
        return drawn

    def _line_name(self, name: str, end_x: float, end_y: float) -> str:
        x, y = (end_x + 6, end_y + 4) if self.form.beside else (end_x - 4, end_y - 6)
        label = self._free(y) if end_x > self.right - 60 else end_y + 18
        return (
            f'<text class="curve-name"{self._anchor()} x="{x:.1f}" y="{label:.1f}" fill="{INK}">'
            f"{escape(name)}</text>"
        )

    def _free(self, y: float) -> float:
        """A height at the right margin near ``y`` where no name stands yet."""
        while any(abs(y - other) < 15 for other in self.taken):
            y -= 15
        self.taken.append(y)
        return y

    def _path(self, points: Sequence[Point]) -> str:
        steps = [f"{self.x(x):.1f} {self.y(y):.1f}" for x, y in points]
        return "M" + "L".join(steps)


def _room(low: float, high: float) -> tuple[float, float]:
    return (low, high) if high > low else (low - 0.5, low + 0.5)


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values from ``low`` to ``high``, at most ``most`` or one more."""
    raw = (high - low) / most
    size = 10.0 ** math.floor(math.log10(raw))
    step = next(size * factor for factor in (1, 2, 5, 10) if size * factor >= raw - 1e-12)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [number * step for number in range(first, last + 1)]


def plain(value: float) -> str:
    """A figure as people write it, without an exponent while it is short without."""
    if value == 0:
        return "0"
    if abs(value) >= 1000:
        return f"{value:,.0f}".replace(",", " ")
    return f"{value:.4g}"
