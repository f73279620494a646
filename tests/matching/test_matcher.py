"""Classes, verdicts and the shop's edges."""

from __future__ import annotations

import pytest

from scheduler.matching import Matcher, Verdict, staffed_stretches
from scheduler.model import Span
from tests.bench.match import measure, table
from tests.builders import a_feed, a_head, a_job, a_material, a_printer, a_scenario, a_shift, at


def test_staffed_stretches_are_joined_and_cut_off_at_plan_start() -> None:
    shifts = [
        a_shift(300, 400),
        a_shift(-100, 50),
        a_shift(50, 60),
        a_shift(40, 80),
        a_shift(100, 110, hands=0),
        a_shift(-90, -10),
        a_shift(310, 320),
    ]
    assert staffed_stretches(a_scenario(shifts=shifts)) == ((0, 80), (300, 400))
    assert staffed_stretches(a_scenario(shifts=[])) == ()


def test_what_no_check_looks_at_makes_no_class() -> None:
    scenario = a_scenario(
        printers=[
            a_printer("P1"),
            a_printer("P2", chamber_now_c=80.0, heat_tau_min=99.0, free_at=at(50)),
            a_printer("P3", speed_factor=1.1),
            a_printer("P4", heads=(a_head("other"),)),
        ],
        jobs=[
            a_job("J1"),
            a_job("J2", due=at(500), weight=3.0, quantity=9, release=at(10)),
            a_job("J3", print_min=61),
            a_job("J4", feeds=(a_feed(grams=51.0),)),
        ],
    )
    matcher = Matcher(scenario)
    assert [matcher.printer_class(p.id) for p in scenario.printers] == [0, 0, 1, 2]
    assert [matcher.job_class(j.id) for j in scenario.jobs] == [0, 0, 1, 2]
    assert matcher.assignments("J2", "P2") == matcher.assignments("J1", "P1")


def test_an_id_that_the_scenario_lacks_is_refused() -> None:
    matcher = Matcher(a_scenario())
    with pytest.raises(KeyError):
        matcher.fits_something("nobody")
    with pytest.raises(KeyError):
        matcher.failures("J1", "nobody")


def test_without_printers_nothing_fits_and_nothing_is_near() -> None:
    matcher = Matcher(a_scenario(printers=[]))
    assert matcher.fitting_printers("J1") == ()
    assert matcher.verdict("J1") == Verdict(False, (), None)


def test_nearest_is_the_fewest_distinct_checks_then_the_id() -> None:
    scenario = a_scenario(
        printers=[
            a_printer("P3", bed_max_c=1.0),
            a_printer("P1", bed_max_c=1.0, chamber_max_c=30.0),
            a_printer("P10", chamber_max_c=30.0),
            a_printer("P2", volume_mm=(1.0, 1.0, 1.0)),
        ]
    )
    verdict = Matcher(scenario).verdict("J1")
    assert verdict.nearest == "P10"
    assert [(r.printer, r.check) for r in verdict.reasons] == [
        ("P3", "bed"),
        ("P1", "bed"),
        ("P1", "chamber"),
        ("P10", "chamber"),
        ("P2", "volume"),
    ]


def test_of_fifty_printers_all_are_told_of_fifty_one_twenty_and_counts() -> None:
    def verdict(printers: int) -> Verdict:
        fleet = [
            a_printer(f"P{n:02}", bed_max_c=1.0, **({} if n % 2 else {"chamber_max_c": 30.0}))
            for n in range(printers)
        ]
        return Matcher(a_scenario(printers=fleet)).verdict("J1")

    assert len(verdict(50).reasons) == 25 + 2 * 25
    told = verdict(51)
    # Odd numbers (25) fail one check: the first 20 are told. 5 odd and 26 even ones are counted.
    assert [r.printer for r in told.reasons[:20]] == [f"P{n:02}" for n in range(1, 41, 2)]
    rest = told.reasons[20:]
    assert [(r.check, r.there) for r in rest] == [("bed, chamber", 26), ("bed", 5)]
    assert all(r.printer is r.head is r.nozzle is None for r in rest)
    assert rest[0].text == "26 more printers fail in: bed, chamber"
    assert told.nearest == "P01"


def test_helpers_of_a_job_and_printer() -> None:
    materials = [
        a_material("A", chamber_c=Span(30, 70), bed_c=Span(60, 90), soak_min=5, release_c=50.0),
        a_material("B", chamber_c=Span(40, 90), bed_c=Span(80, 99), soak_min=25, release_c=45.0),
        a_material("C", chamber_c=Span(100, 120)),
    ]
    jobs = [
        a_job(feeds=(a_feed("A"), a_feed("B")), print_min=61),
        a_job("J2", feeds=(a_feed("A"), a_feed("C"))),
    ]
    printers = [a_printer(speed_factor=1.25)]
    matcher = Matcher(a_scenario(materials=materials, printers=printers, spools=[], jobs=jobs))
    assert matcher.bed_window("J1") == Span(80, 90)
    assert matcher.chamber_window("J1") == matcher.window("J1") == Span(40, 70)
    assert matcher.soak_min("J1") == 25
    assert matcher.setpoint_c("J1", "P1") == 70
    assert matcher.print_minutes("J1", "P1") == 77  # 76.25, rounded up
    assert matcher.cooldown("J1", "P1").minutes == 32  # 45·ln(50/25) = 31.19
    # Windows apart: there is none in common, and a begun job heats into that of the part.
    assert matcher.chamber_window("J2") is None
    assert matcher.window("J2") == Span(30, 70)


def test_the_benchmark_measures_a_small_shop() -> None:
    timing = measure(printers=60, jobs=120)
    assert (timing.printers, timing.jobs) == (60, 120)
    assert 0 < timing.unfit < 120 and 0 < timing.fitting_share < 1
    assert "120" in table([timing])
