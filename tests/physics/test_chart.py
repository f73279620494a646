"""Drawings: nothing runs out of them, wide or narrow."""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest

from scheduler.physics.chart import NARROW, WIDE, Chart, Format, Line, Mark

TEXT = re.compile(r'<text class="[^"]*"([^>]*)>([^<]*)</text>')
PLACE = re.compile(r' x="([-\d.]+)"')


def chart(ticks: Sequence[tuple[float, str]] = ()) -> Chart:
    curve = [(float(hour), 0.01 + 0.002 * hour) for hour in range(49)]
    return Chart(
        title="Moisture",
        tells="It rises.",
        x_label="hours",
        y_label="water, %",
        lines=[Line("the spool", curve)],
        limits=[Mark("limit 0.02 %", 0.02)],
        instants=[Mark("print J-1017", 3.0), Mark("print J-1018", 47.5), Mark("now", 3.5)],
        ticks=ticks,
    )


@pytest.mark.parametrize("form", [WIDE, NARROW])
@pytest.mark.parametrize("named", [False, True])
def test_no_name_runs_out_of_the_drawing(form: Format, named: bool) -> None:
    ticks = [(6.0 * n, f"Wed {6 * n % 24:02d}:00") for n in range(9)] if named else []
    drawn = chart(ticks=ticks).svg(form)
    assert f'viewBox="0 0 {form.width} ' in drawn
    texts = [(rest, text) for rest, text in TEXT.findall(drawn) if "rotate" not in rest]
    assert {"the spool", "limit 0.02 %", "print J-1018"} <= {text for _, text in texts}
    for rest, text in texts:
        found = PLACE.search(rest)
        assert found is not None, rest
        # Plain figures of the font at this size are some 7 units wide.
        long = 6.5 * len(text)
        share = 1.0 if 'anchor="end"' in rest else 0.5 if 'anchor="middle"' in rest else 0.0
        begins = float(found[1]) - share * long
        assert begins >= -1 and begins + long <= form.width + 1, text


def test_a_narrow_drawing_has_fewer_names_on_its_axis() -> None:
    ticks = [(6.0 * n, f"day {n}") for n in range(9)]
    wide, narrow = (chart(ticks=ticks).svg(form).count(">day ") for form in (WIDE, NARROW))
    assert 2 <= narrow <= NARROW.names < wide


def test_a_page_carries_both() -> None:
    drawn = chart().for_page()
    assert drawn.count('class="curve wide"') == drawn.count('class="curve narrow"') == 1
