"""Checks 1, 5, 6 and 13 with hand-computed figures, and which heads and nozzles count as best."""

from __future__ import annotations

from typing import Any

import pytest

from scheduler.matching import Matcher
from scheduler.model import Head, Scenario, Span
from tests.builders import (
    a_drying_row,
    a_feed,
    a_head,
    a_job,
    a_material,
    a_nozzle,
    a_printer,
    a_scenario,
    a_spool,
)
from tests.matching.test_machine_checks import failing, only


def shop(*heads: Head, **material: Any) -> Scenario:
    return a_scenario(materials=[a_material(**material)], printers=[a_printer(heads=heads)])


class TestHotEnd:
    @pytest.mark.parametrize(("head_c", "nozzle_c"), [(230.0, 450.0), (300.0, 230.0), (230.0, 230.0)])
    def test_equal_passes(self, head_c: float, nozzle_c: float) -> None:
        assert failing(shop(a_head(max_c=head_c, nozzles=(a_nozzle(max_c=nozzle_c),)))) == []

    def test_the_head_limits(self) -> None:
        reason = only(shop(a_head(max_c=229.0)))
        assert (reason.check, reason.head, reason.nozzle) == ("hot_end", "H1", "n04")
        assert (reason.asked, reason.there) == (230, 229)
        assert reason.text == "head H1 reaches 229 °C, ABS asks for at least 230 °C"

    def test_the_nozzle_limits(self) -> None:
        reason = only(shop(a_head(nozzles=(a_nozzle(max_c=200.0),))))
        assert (reason.check, reason.there) == ("hot_end", 200)
        assert reason.text == "nozzle n04 on head H1 bears 200 °C, ABS asks for at least 230 °C"


def test_filament_diameters_are_equal() -> None:
    reason = only(shop(a_head(filament_mm=2.85)))
    assert (reason.check, reason.head, reason.asked, reason.there) == ("filament", "H1", 1.75, 2.85)
    assert reason.text == "head H1 takes 2.85 mm filament, ABS is 1.75 mm"


class TestNozzle:
    def test_finest_equal_passes(self) -> None:
        assert failing(shop(a_head(), min_nozzle_mm=0.4)) == []

    def test_too_fine_for_the_material(self) -> None:
        reason = only(shop(a_head(), min_nozzle_mm=0.5))
        assert (reason.check, reason.asked, reason.there) == ("nozzle", "at least 0.5 mm", "0.4 mm")
        assert reason.text == "nozzle n04 on head H1 is 0.4 mm, ABS passes no finer than 0.5 mm"

    def test_not_a_bore_that_the_job_allows(self) -> None:
        reason = only(a_scenario(jobs=[a_job(feeds=(a_feed(nozzle_mm=(0.25, 0.6)),))]))
        assert (reason.asked, reason.there) == ("0.25 or 0.6 mm", "0.4 mm")

    @pytest.mark.parametrize(
        ("material", "metal"), [("abrasive", "hardened"), ("corrosive", "corrosion_proof")]
    )
    def test_metal(self, material: str, metal: str) -> None:
        asks = {material: True}
        assert failing(shop(a_head(nozzles=(a_nozzle(**{metal: True}),)), **asks)) == []
        other = {"hardened": metal != "hardened", "corrosion_proof": metal == "hardened"}
        reason = only(shop(a_head(nozzles=(a_nozzle(**other),)), **asks))
        assert (reason.check, reason.asked) == ("nozzle", metal.replace("_", "-"))

    def test_all_that_is_wrong_makes_one_reason(self) -> None:
        reason = only(shop(a_head(), min_nozzle_mm=0.6, abrasive=True, corrosive=True))
        assert reason.asked == "at least 0.6 mm, hardened, corrosion-proof"
        assert reason.there == "0.4 mm, not hardened, not corrosion-proof"

    def test_a_head_without_a_nozzle(self) -> None:
        reason = only(shop(a_head(nozzles=())))
        assert (reason.check, reason.head, reason.nozzle) == ("nozzle", "H1", None)


class TestOpenTime:
    # Plate 4, bed 10, soak 10, start 5, print 60.
    EXPOSURE_MIN = 89

    @staticmethod
    def shop(open_time_min: int | None, head: Head | None = None, drying: int = 1) -> Scenario:
        rows = (a_drying_row(),) * drying
        return shop(head or a_head(), drying=rows, open_time_min=open_time_min)

    def test_equal_passes(self) -> None:
        assert failing(self.shop(self.EXPOSURE_MIN)) == []

    def test_a_minute_short(self) -> None:
        reason = only(self.shop(self.EXPOSURE_MIN - 1))
        assert (reason.check, reason.head) == ("open_time", "H1")
        assert (reason.asked, reason.there) == (89, 88)
        assert "89 min" in reason.text and "88 min" in reason.text

    def test_a_dry_feed_exposes_nothing(self) -> None:
        assert failing(self.shop(10, a_head(dry_feed=True))) == []

    def test_no_limit(self) -> None:
        assert failing(self.shop(None)) == []

    def test_a_material_that_needs_no_drying(self) -> None:
        assert failing(self.shop(10, drying=0)) == []

    def test_the_longest_soak_of_the_feeds_counts_for_each(self) -> None:
        wet = a_material("A", soak_min=0, drying=(a_drying_row(),), open_time_min=98)
        dry = a_material("B", soak_min=20)
        scenario = a_scenario(
            materials=[wet, dry],
            printers=[a_printer(heads=(a_head("H1"), a_head("H2")))],
            spools=[a_spool("sa", "A"), a_spool("sb", "B")],
            jobs=[a_job(feeds=(a_feed("A"), a_feed("B")))],
        )
        assert only(scenario).asked == 4 + 10 + 20 + 5 + 60


class TestBestHeads:
    @staticmethod
    def two(*heads: Head, a: dict[str, Any] | None = None, b: dict[str, Any] | None = None) -> Scenario:
        return a_scenario(
            materials=[a_material("A", **(a or {})), a_material("B", **(b or {}))],
            printers=[a_printer(heads=heads)],
            spools=[a_spool("sa", "A"), a_spool("sb", "B")],
            jobs=[a_job(feeds=(a_feed("A", nozzle_mm=(0.4, 0.6)), a_feed("B", nozzle_mm=(0.4, 0.6))))],
        )

    def test_every_way_in_the_order_of_heads_and_nozzles(self) -> None:
        both = (a_nozzle("n4"), a_nozzle("n6", 0.6))
        scenario = self.two(a_head("H1", nozzles=both), a_head("H2", nozzles=both[:1]))
        found = Matcher(scenario).assignments("J1", "P1")
        assert [tuple((f.head, f.nozzle) for f in way.feeds) for way in found] == [
            (("H1", "n4"), ("H2", "n4")),
            (("H1", "n6"), ("H2", "n4")),
            (("H2", "n4"), ("H1", "n4")),
            (("H2", "n4"), ("H1", "n6")),
        ]

    def test_feeds_swap_heads_where_only_that_passes(self) -> None:
        scenario = self.two(
            a_head("H1", max_c=250.0), a_head("H2", max_c=400.0), a={"nozzle_c": Span(300, 350)}
        )
        (way,) = Matcher(scenario).assignments("J1", "P1")
        assert [f.head for f in way.feeds] == ["H2", "H1"]

    def test_one_check_failing_twice_beats_two_checks(self) -> None:
        # On n4 both feeds fail the bore (one check, two reasons); hot ends and diameters are right.
        # H1's n6 has the bore but not the heat, so it would bring in a second check.
        heads = (
            a_head("H1", nozzles=(a_nozzle("cold", 0.6, max_c=200.0), a_nozzle("n4"))),
            a_head("H2", nozzles=(a_nozzle("n4"),)),
        )
        scenario = self.two(*heads, a={"min_nozzle_mm": 0.6}, b={"min_nozzle_mm": 0.6})
        reasons = failing(scenario)
        assert [(r.check, r.head, r.nozzle) for r in reasons] == [
            ("nozzle", "H1", "n4"),
            ("nozzle", "H2", "n4"),
        ]

    def test_of_equally_many_checks_the_fewest_reasons(self) -> None:
        heads = (
            a_head("H1", nozzles=(a_nozzle("n4"), a_nozzle("n6", 0.6))),
            a_head("H2", nozzles=(a_nozzle("n4"),)),
        )
        scenario = self.two(*heads, a={"min_nozzle_mm": 0.6}, b={"min_nozzle_mm": 0.6})
        assert [(r.check, r.head, r.nozzle) for r in failing(scenario)] == [("nozzle", "H2", "n4")]

    def test_of_equal_ways_the_first(self) -> None:
        heads = (a_head("H1", nozzles=(a_nozzle("a", 0.3), a_nozzle("b", 0.2))),)
        assert [r.nozzle for r in failing(shop(*heads))] == ["a"]
