"""Windows of time and the drawing in them."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from scheduler.model import Shift
from tests.builders import PLAN_START, a_printer, a_shift, at
from web.board.drawing import draw_group, draw_head, row_height, staffed
from web.board.groups import grouped, span_words
from web.board.rows import Bar, Block, Group, Row, _in_lanes
from web.board.window import Window, find_window

BERLIN = ZoneInfo("Europe/Berlin")


def window(key: str = "day", first: date | None = None, zone: ZoneInfo | None = None) -> Window:
    return find_window(key, first, at(10), PLAN_START, at(3000), (a_shift(),), zone or ZoneInfo("UTC"))


def block(*bars: tuple[str, int, int], label: str = "J1", late: int = 0, text: str = "") -> Block:
    made = tuple(Bar(kind, at(start), at(end), f"{kind} title") for kind, start, end in bars)
    return Block("/jobs/J1", label, text, f"{label} title", made[0].start, made[-1].end, late, made)


def drawn(*blocks: Block, key: str = "day") -> str:
    row = Row("P1", "/fleet/printers/P1", "", blocks, ())
    return str(draw_group(Group("open", "Open", "", (row,)), window(key), (), UTC).content)


def test_today_is_a_whole_local_day() -> None:
    # 3 March 2031, 06:00 UTC is 07:00 in Berlin; that day begins at 23:00 UTC of the day before.
    today = window(zone=BERLIN)
    assert today.start == datetime(2031, 3, 2, 23, 0, tzinfo=UTC)
    assert today.minutes == 24 * 60
    assert today.percent(PLAN_START) == pytest.approx(100 * 7 / 24)


def test_days_on_which_clocks_change_are_as_long_as_they_are() -> None:
    assert window("day", date(2031, 3, 30), BERLIN).minutes == 23 * 60
    assert window("day", date(2031, 10, 26), BERLIN).minutes == 25 * 60
    week = window("week", date(2031, 3, 27), BERLIN)
    assert week.minutes == (7 * 24 - 1) * 60
    # Noon of the Sunday whose clocks went forward, counted in real hours: three days and eleven.
    noon = datetime(2031, 3, 30, 12, 0, tzinfo=BERLIN)
    assert week.percent(noon) == pytest.approx(100 * (3 * 24 + 11) / (7 * 24 - 1))


def test_whole_plan_runs_to_its_last_moment() -> None:
    whole = window("all")
    # From Monday 06:00, minute 3000 is Wednesday 08:00.
    assert (whole.first, whole.days) == (date(2031, 3, 3), 3)


def test_board_of_another_year_shows_the_plans_first_day() -> None:
    late = find_window(
        "week", None, datetime(2040, 1, 1, tzinfo=UTC), PLAN_START, at(3000), (), ZoneInfo("UTC")
    )
    assert late.first == date(2031, 3, 3)


def test_bars_lie_where_their_time_is() -> None:
    # 06:00 plus 60 minutes is 07:00, a print of six hours a quarter of the day.
    found = re.search(
        r'<rect class="s-print" x="([\d.]+)%" y="3" width="([\d.]+)%"', drawn(block(("print", 60, 420)))
    )
    assert found
    assert float(found[1]) == pytest.approx(100 * 7 / 24, abs=0.001)
    assert float(found[2]) == pytest.approx(25.0)


def test_bars_are_cut_at_the_edges() -> None:
    svg = drawn(block(("print", -720, 24 * 60 * 3)))
    assert '<rect class="s-print" x="0%" y="3" width="100%"' in svg


def test_what_lies_outside_is_not_drawn() -> None:
    assert "s-print" not in drawn(block(("print", 5000, 5100)))


def test_steps_by_hand_are_seen_at_any_scale_and_other_slivers_are_not() -> None:
    svg = drawn(block(("changeover", 0, 1), ("preheat", 1, 3), ("print", 3, 900)), key="week")
    assert 's-changeover"' in svg
    assert 's-preheat"' not in svg


def test_letters_and_names_stand_only_where_they_fit() -> None:
    wide = drawn(block(("preheat", 0, 60), ("print", 60, 600), label="J-17", text="duct bracket"))
    assert ">J-17 duct bracket</text>" in wide
    assert ">H</text>" in wide
    narrow = drawn(block(("preheat", 0, 10), ("print", 10, 40), label="J-17", text="duct bracket"))
    assert "J-17</text>" not in narrow
    assert ">H</text>" not in narrow
    assert ">P</text>" in narrow


def test_lateness_is_a_bar_and_a_mark() -> None:
    assert "s-late" not in drawn(block(("print", 0, 600)))
    late = drawn(block(("print", 0, 600), late=5))
    assert "s-late" in late and "▲" in late


def test_names_are_escaped() -> None:
    svg = drawn(block(("print", 0, 600), label="<b>&", text='"x"'))
    assert "<b>" not in svg
    assert "&lt;b&gt;&amp;" in svg


def test_overlapping_runs_lie_side_by_side() -> None:
    placed = _in_lanes([block(("dry", 0, 60)), block(("dry", 30, 90)), block(("dry", 60, 120))])
    assert [one.lane for one in placed] == [0, 1, 0]
    rows = [Row("R1", "/", "", placed, ()), Row("R2", "/", "", _in_lanes([block(("dry", 0, 9))] * 4), ())]
    assert [row_height(row) for row in rows] == [26, 50]


def test_people_add_up_where_shifts_overlap() -> None:
    shifts = (a_shift(0, 600, 2), a_shift(300, 900, 1), a_shift(900, 1000, 1), a_shift(2000, 2100, 3))
    assert staffed(shifts) == (
        (at(0), at(300), 2),
        (at(300), at(600), 3),
        (at(600), at(1000), 1),
        (at(2000), at(2100), 3),
    )


def test_a_shift_without_people_is_not_staffed() -> None:
    assert staffed((Shift(at(0), at(60), 0),)) == ()


def test_head_names_days_and_people() -> None:
    shifts = (a_shift(0, 480, 2), a_shift(480, 960, 1))
    head = str(draw_head(window("day"), shifts, ZoneInfo("UTC")).content)
    assert ">Mon 3 Mar</text>" in head
    assert ">2 people</text>" in head and ">1 person</text>" in head
    assert ">12</text>" in head


def test_printers_fall_into_classes_by_their_chamber() -> None:
    printers = [
        a_printer("a", chamber_max_c=None, chamber_reach_c=None),
        a_printer("b", chamber_max_c=90.0, chamber_reach_c=120.0),
        a_printer("c", chamber_max_c=91.0, chamber_reach_c=120.0),
        a_printer("d", chamber_max_c=230.0, chamber_reach_c=260.0),
        a_printer("e", chamber_max_c=60.0, chamber_reach_c=120.0),
    ]
    found = [(thermal.key, [printer.id for printer in group]) for thermal, group in grouped(printers)]
    assert found == [("open", ["a"]), ("warm", ["b", "e"]), ("hot", ["c"]), ("very-hot", ["d"])]
    assert span_words(printers[1:2]) == "up to 90 °C"
    assert span_words([printers[1], printers[4]]) == "up to 60–90 °C"
    assert span_words(printers[:1]) == "no heated chamber"
