"""Checks 2, 3, 4, 7, 8, 9, 10 and 14 with hand-computed figures; where both are equal, it holds."""

from __future__ import annotations

from typing import Any

import pytest

from scheduler.matching import Matcher
from scheduler.model import Reason, Scenario, Span
from tests.builders import (
    a_feed,
    a_head,
    a_job,
    a_material,
    a_printer,
    a_scenario,
    a_shift,
    a_site,
    a_spool,
)


def failing(scenario: Scenario) -> list[Reason]:
    """The reasons of the first job on the first printer, which agree with every other answer."""
    matcher = Matcher(scenario)
    job, printer = scenario.jobs[0].id, scenario.printers[0].id
    reasons = matcher.failures(job, printer)
    assert (printer in matcher.fitting_printers(job)) == (not reasons)
    assert bool(matcher.assignments(job, printer)) == (not reasons)
    if not matcher.fits_something(job) and len(scenario.printers) == 1:
        assert matcher.verdict(job).reasons == reasons
    return list(reasons)


def only(scenario: Scenario) -> Reason:
    (reason,) = failing(scenario)
    return reason


def two_materials(*, printer: dict[str, Any] | None = None, **windows: tuple[Span, Span]) -> Scenario:
    """One job with feeds of A and B, whose windows are given in pairs."""
    return a_scenario(
        materials=[
            a_material(name, **{key: pair[place] for key, pair in windows.items()})
            for place, name in enumerate("AB")
        ],
        printers=[a_printer(heads=(a_head("H1"), a_head("H2")), **(printer or {}))],
        spools=[a_spool("sa", "A"), a_spool("sb", "B")],
        jobs=[a_job(feeds=(a_feed("A"), a_feed("B")))],
    )


def test_the_default_shop_fits() -> None:
    assert failing(a_scenario()) == []


class TestBed:
    def test_equal_passes(self) -> None:
        assert failing(a_scenario(printers=[a_printer(bed_max_c=90.0)])) == []

    def test_too_cool(self) -> None:
        reason = only(a_scenario(printers=[a_printer(bed_max_c=89.5)]))
        assert (reason.check, reason.asked, reason.there) == ("bed", 90, 89.5)
        assert reason.text == "bed reaches 89.5 °C, ABS asks for at least 90 °C"

    def test_windows_that_touch_have_a_common_part(self) -> None:
        assert failing(two_materials(bed_c=(Span(60, 80), Span(80, 100)))) == []

    def test_windows_apart(self) -> None:
        reason = only(two_materials(bed_c=(Span(60, 80), Span(81, 100))))
        assert (reason.check, reason.asked, reason.there) == ("bed", 81, 80)
        assert reason.text == (
            "B asks for a bed of at least 81 °C, A bears at most 80 °C: no temperature suits both"
        )

    def test_the_common_lower_end_counts(self) -> None:
        windows = (Span(60, 110), Span(100, 120))
        assert failing(two_materials(printer={"bed_max_c": 100.0}, bed_c=windows)) == []
        reason = only(two_materials(printer={"bed_max_c": 99.0}, bed_c=windows))
        assert reason.text == "bed reaches 99 °C, B asks for at least 100 °C"


class TestChamber:
    def test_equal_passes(self) -> None:
        assert failing(a_scenario(printers=[a_printer(chamber_max_c=50.0)])) == []

    def test_too_cool(self) -> None:
        reason = only(a_scenario(printers=[a_printer(chamber_max_c=49.0)]))
        assert (reason.check, reason.asked, reason.there) == ("chamber", 50, 49)
        assert reason.text == "chamber reaches 49 °C, ABS asks for at least 50 °C"

    @pytest.mark.parametrize(("ambient_c", "fits"), [(50.0, True), (44.9, False)])
    def test_without_a_heated_chamber_the_room_counts(self, ambient_c: float, fits: bool) -> None:
        scenario = a_scenario(
            site=a_site(ambient_c=ambient_c),
            materials=[a_material(release_c=60.0)],
            printers=[a_printer(chamber_max_c=None, chamber_reach_c=None)],
        )
        assert [r.there for r in failing(scenario)] == ([] if fits else [44.9])

    def test_windows_apart_leave_staffed_unjudged(self) -> None:
        windows = (Span(20, 40), Span(41, 90))
        scenario = two_materials(printer={"unattended": False}, chamber_c=windows)
        nobody = Scenario(**{f: getattr(scenario, f) for f in scenario.__slots__} | {"shifts": ()})
        assert [r.check for r in failing(nobody)] == ["chamber"]
        assert only(nobody).text == (
            "B asks for a chamber of at least 41 °C, A bears at most 40 °C: no temperature suits both"
        )

    @pytest.mark.parametrize(
        ("preferred", "window", "maximum", "setpoint"),
        [
            (70, Span(50, 80), 90.0, 70),
            (40, Span(50, 80), 90.0, 50),
            (95, Span(50, 80), 90.0, 80),
            (70, Span(50, 80), 60.0, 60),
            (70, Span(50, 80), None, 20),
            (20, Span(10, 30), 90.0, 20),
            (12, Span(10, 30), 90.0, 20),
        ],
    )
    def test_setpoint(self, preferred: float, window: Span, maximum: float | None, setpoint: float) -> None:
        material = a_material(chamber_set_c=preferred, chamber_c=window)
        matcher = Matcher(a_scenario(materials=[material], printers=[a_printer(chamber_max_c=maximum)]))
        assert matcher.setpoint_c("J1", "P1") == setpoint


class TestSurface:
    @pytest.mark.parametrize(
        ("first", "second", "there", "fits"),
        [
            ((), (), (), True),
            ((), ("glass",), ("glass",), True),
            (("glass",), (), ("sheet",), False),
            (("glass", "sheet"), ("sheet", "film"), ("sheet",), True),
            (("glass", "sheet"), ("sheet", "film"), ("glass", "film"), False),
            (("glass",), ("glass",), (), False),
        ],
    )
    def test_one_for_all_feeds(
        self, first: tuple[str, ...], second: tuple[str, ...], there: tuple[str, ...], fits: bool
    ) -> None:
        scenario = two_materials(printer={"surfaces": there}, surfaces=(first, second))
        assert [r.check for r in failing(scenario)] == ([] if fits else ["surface"])

    def test_words(self) -> None:
        reason = only(
            two_materials(printer={"surfaces": ("film",)}, surfaces=(("glass", "sheet"), ("sheet",)))
        )
        assert (reason.asked, reason.there) == ("sheet", "film")
        assert reason.text == "build surfaces here: film; A asks for glass or sheet and B asks for sheet"


class TestVolume:
    @pytest.mark.parametrize(
        ("size_mm", "fits"),
        [
            ((300.0, 200.0, 100.0), True),
            ((200.0, 300.0, 100.0), True),
            ((200.0, 300.1, 100.0), False),
            ((100.0, 200.0, 300.0), False),
            ((250.0, 250.0, 50.0), False),
        ],
    )
    def test_turned_but_never_tipped(self, size_mm: tuple[float, float, float], fits: bool) -> None:
        scenario = a_scenario(
            printers=[a_printer(volume_mm=(300.0, 200.0, 100.0))], jobs=[a_job(size_mm=size_mm)]
        )
        assert [r.check for r in failing(scenario)] == ([] if fits else ["volume"])

    def test_words(self) -> None:
        reason = only(a_scenario(jobs=[a_job(size_mm=(300.5, 10.0, 20.0))]))
        assert (reason.asked, reason.there) == ("300.5 × 10 × 20 mm", "300 × 300 × 300 mm")
        assert reason.asked in reason.text and reason.there in reason.text


def test_extraction_is_asked_of_the_printer_only_if_a_material_needs_it() -> None:
    needing = [a_material(needs_extraction=True)]
    assert failing(a_scenario(materials=needing, printers=[a_printer(extraction=True)])) == []
    reason = only(a_scenario(materials=needing))
    assert (reason.check, reason.asked, reason.there) == ("extraction", "extraction", "none")
    assert reason.text == "no extraction here, ABS must not run without"


def test_qualification_asks_for_every_tag() -> None:
    jobs = [a_job(needs_qualified=("food", "flame"))]
    assert failing(a_scenario(jobs=jobs, printers=[a_printer(qualified=("flame", "x", "food"))])) == []
    reason = only(a_scenario(jobs=jobs, printers=[a_printer(qualified=("food",))]))
    assert (reason.check, reason.asked, reason.there) == ("qualification", "food, flame", "food")
    assert reason.text == "job needs a printer qualified for flame; qualified here: food"


def test_with_too_few_heads_nothing_is_asked_of_them() -> None:
    scenario = two_materials()
    wrong = a_printer(heads=(a_head(max_c=10.0, filament_mm=2.85, nozzles=()),))
    parts = {f: getattr(scenario, f) for f in scenario.__slots__}
    reason = only(Scenario(**parts | {"printers": (wrong,)}))
    assert (reason.check, reason.asked, reason.there, reason.head) == ("heads", 2, 1, None)
    assert reason.text == "printer has 1 head, the job has 2 feeds"


class TestStaffed:
    # Bed 10, soak 10, start 5, print 60; the cool-down from 70 to 45 °C in a room of 20 °C with a
    # time constant of 45 min takes 45·ln(50/25) = 31.19, so 32: 117 minutes in all.
    OCCUPIED_MIN = 117

    @staticmethod
    def shop(*shifts: tuple[int, int, int], **printer: Any) -> Scenario:
        return a_scenario(
            shifts=[a_shift(*shift) for shift in shifts],
            printers=[a_printer(**{"unattended": False} | printer)],
        )

    def test_equal_passes(self) -> None:
        assert failing(self.shop((0, self.OCCUPIED_MIN, 1))) == []

    def test_a_minute_short(self) -> None:
        reason = only(self.shop((0, self.OCCUPIED_MIN - 1, 1)))
        assert (reason.check, reason.asked, reason.there) == ("staffed", 117, 116)
        assert "117 min" in reason.text and "116 min" in reason.text

    def test_adjacent_and_overlapping_shifts_are_one_stretch(self) -> None:
        assert failing(self.shop((0, 60, 1), (60, 100, 1), (90, 117, 2))) == []

    def test_a_gap_parts_stretches(self) -> None:
        assert only(self.shop((0, 60, 1), (61, 130, 1))).there == 69

    def test_time_before_plan_start_is_gone(self) -> None:
        assert only(self.shop((-60, 100, 1))).there == 100

    def test_a_shift_without_hands_is_not_staffed(self) -> None:
        assert only(self.shop((0, 500, 0))).there == 0

    def test_a_printer_that_may_run_alone_asks_for_nobody(self) -> None:
        assert failing(self.shop(unattended=True)) == []

    def test_the_print_is_rounded_up_and_the_bed_cools_its_time(self) -> None:
        # 60 · 1.01 = 60.6, so 61; the plate wants 40 minutes where the chamber needs 32.
        scenario = self.shop((0, 10, 1), speed_factor=1.01, bed_cool_min=40)
        assert only(scenario).asked == 10 + 10 + 5 + 61 + 40

    def test_a_figure_that_is_whole_but_for_rounding_stays(self) -> None:
        # 60 · 1.1 is 66.00000000000001 in floating point.
        assert only(self.shop((0, 10, 1), speed_factor=1.1)).asked == 117 + 6

    def test_printers_that_cool_at_different_rates_are_told_apart(self) -> None:
        # 30·ln(50/25) = 20.79, so 21 minutes instead of 32.
        scenario = a_scenario(
            shifts=[a_shift(0, 106)],
            printers=[
                a_printer("slow", unattended=False),
                a_printer("quick", unattended=False, cool_tau_min=30.0),
            ],
        )
        matcher = Matcher(scenario)
        assert matcher.fitting_printers("J1") == ("quick",)
        assert matcher.failures("J1", "slow")[0].asked == 117
