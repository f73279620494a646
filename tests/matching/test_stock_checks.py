"""Check 11 (spools) and check 12 (ovens) with hand-computed figures."""

from __future__ import annotations

from typing import Any

import pytest

from scheduler.matching import Matcher
from scheduler.model import Anneal, Scenario, Spool, UnderWay
from tests.builders import (
    a_dryer,
    a_dryer_run,
    a_drying_row,
    a_feed,
    a_head,
    a_job,
    a_material,
    a_printer,
    a_scenario,
    a_spool,
    an_oven,
)
from tests.matching.test_machine_checks import failing, only


def shop(*spools: Spool, certs: tuple[str, ...] = (), **parts: Any) -> Scenario:
    """A job that draws 50 g of ABS, which is dried at 80 °C and may lie open for 300 minutes."""
    material = a_material(drying=(a_drying_row(80.0),), open_time_min=300)
    job = a_job(feeds=(a_feed(certs=certs),))
    return a_scenario(**{"materials": [material], "jobs": [job], "spools": spools} | parts)


class TestRightSpool:
    def test_grams_equal_pass(self) -> None:
        assert failing(shop(a_spool(grams=50.0))) == []

    def test_too_few_grams(self) -> None:
        reason = only(shop(a_spool(grams=49.9), a_spool("s2", grams=10.0)))
        assert (reason.check, reason.printer, reason.head) == ("spool", "P1", None)
        assert (reason.asked, reason.there) == (50, 49.9)
        assert reason.text == "the fullest spool of ABS holds 49.9 g, the job draws 50 g"

    def test_none_of_the_material(self) -> None:
        reason = only(shop())
        assert (reason.asked, reason.there) == (50, 0)
        assert reason.text == "no spool of ABS is in stock, the job draws 50 g"

    def test_every_certificate(self) -> None:
        certs = ("food", "lot")
        assert failing(shop(a_spool(certs=("lot", "x", "food")), certs=certs)) == []
        reason = only(shop(a_spool(certs=("lot",)), a_spool("s2", certs=("food",)), certs=certs))
        assert (reason.asked, reason.there) == ("food, lot", "none")

    def test_certificate_and_grams_on_one_spool(self) -> None:
        reason = only(shop(a_spool(certs=("lot",), grams=20.0), a_spool("s2"), certs=("lot",)))
        assert reason.text == "the fullest spool of ABS with lot holds 20 g, the job draws 50 g"

    def test_spools_in_the_scenarios_order(self) -> None:
        scenario = shop(a_spool("z", grams=50.0), a_spool("b", grams=40.0), a_spool("a", grams=900.0))
        assert Matcher(scenario).spools("J1", 0) == ("z", "a")


class TestDryness:
    @pytest.mark.parametrize(("exposed_min", "fits"), [(0, True), (300, True), (301, False)])
    def test_dry_now(self, exposed_min: int, fits: bool) -> None:
        spool = a_spool(dried=True, exposed_min=exposed_min)
        assert [r.check for r in failing(shop(spool, dryers=[]))] == ([] if fits else ["spool"])

    def test_dried_without_a_limit(self) -> None:
        material = a_material(drying=(a_drying_row(),), open_time_min=None)
        spool = a_spool(dried=True, exposed_min=9_999)
        assert failing(shop(spool, dryers=[], materials=[material])) == []

    def test_a_material_without_rows_needs_none(self) -> None:
        assert failing(shop(a_spool(), dryers=[], materials=[a_material()])) == []

    def test_exposed_too_long_but_dryable(self) -> None:
        assert failing(shop(a_spool(dried=True, exposed_min=301))) == []

    def test_in_a_begun_run(self) -> None:
        run = a_dryer_run(spools=("s1",))
        spool = a_spool(body_max_c=10.0, drying=(a_drying_row(500.0),))
        assert failing(shop(spool, under_way=UnderWay((run,), ()))) == []

    def test_words(self) -> None:
        reason = only(shop(a_spool(body_max_c=70.0)))
        assert reason.asked == "80 °C"
        assert reason.text == (
            "no spool of ABS with enough on it is dry or can be dried here: asked is 80 °C; "
            "spool bodies bear up to 70 °C; there is D1 up to 120 °C"
        )


class TestDryable:
    @pytest.mark.parametrize(
        ("row", "dryer", "body_max_c", "fits"),
        [
            ({}, {"max_c": 80.0}, 80.0, True),
            ({}, {"max_c": 79.0}, 80.0, False),
            ({}, {"max_c": 80.0}, 79.0, False),
            ({"vacuum": True}, {}, 100.0, False),
            ({"vacuum": True}, {"vacuum": True}, 100.0, True),
            ({"vacuum": False}, {"vacuum": True}, 100.0, True),
            ({}, {"kind": "rolling", "fixed_c": 80.0}, 100.0, True),
            ({}, {"kind": "rolling", "fixed_c": 85.0}, 100.0, False),
            ({}, {"kind": "rolling", "fixed_c": 75.0}, 100.0, False),
        ],
    )
    def test_usable_row(
        self, row: dict[str, Any], dryer: dict[str, Any], body_max_c: float, fits: bool
    ) -> None:
        material = a_material(drying=(a_drying_row(**{"temp_c": 80.0} | row),))
        scenario = shop(a_spool(body_max_c=body_max_c), materials=[material], dryers=[a_dryer(**dryer)])
        assert [r.check for r in failing(scenario)] == ([] if fits else ["spool"])

    def test_any_row_in_any_dryer(self) -> None:
        rows = (a_drying_row(200.0), a_drying_row(60.0))
        dryers = [a_dryer(max_c=50.0), a_dryer("R", kind="rolling", max_c=60.0, fixed_c=60.0)]
        material = a_material(drying=rows)
        assert failing(shop(a_spool(), materials=[material], dryers=dryers)) == []

    def test_own_rows_count_instead_of_the_materials(self) -> None:
        cool = (a_drying_row(60.0),)
        assert failing(shop(a_spool(body_max_c=65.0, drying=cool))) == []
        assert only(shop(a_spool(drying=(a_drying_row(110.0),)))).asked == "110 °C"

    def test_own_rows_that_are_none_allow_no_first_run(self) -> None:
        assert only(shop(a_spool(drying=()))).asked == "no recipe"


class TestTwoFeeds:
    @staticmethod
    def shop(*spools: Spool, grams: tuple[float, float] = (50.0, 50.0), **second: Any) -> Scenario:
        feeds = (a_feed(grams=grams[0]), a_feed(**{"grams": grams[1]} | second))
        return a_scenario(
            printers=[a_printer(heads=(a_head("H1"), a_head("H2")))],
            spools=spools,
            jobs=[a_job(feeds=feeds)],
        )

    def test_two_feeds_need_two_spools(self) -> None:
        reason = only(self.shop(a_spool(grams=500.0)))
        assert (reason.asked, reason.there) == (2, 1)
        assert failing(self.shop(a_spool(), a_spool("s2"))) == []

    def test_the_bigger_draw_takes_the_fuller_spool(self) -> None:
        spools = (a_spool("small", grams=60.0), a_spool("big", grams=600.0))
        assert failing(self.shop(*spools, grams=(50.0, 400.0))) == []
        assert failing(self.shop(*spools, grams=(400.0, 50.0))) == []
        assert only(self.shop(*spools, grams=(400.0, 400.0))).there == 1

    def test_a_certified_spool_is_left_to_the_feed_that_needs_it(self) -> None:
        spools = (a_spool("plain"), a_spool("certified", certs=("lot",)))
        assert failing(self.shop(*spools, certs=("lot",))) == []
        assert only(self.shop(spools[1], certs=("lot",))).there == 1

    def test_each_feed_without_a_spool_has_its_reason(self) -> None:
        reasons = failing(self.shop(a_spool(grams=10.0)))
        assert [r.check for r in reasons] == ["spool", "spool"]


class TestOven:
    @staticmethod
    def shop(anneal: Anneal | None, *ovens_max_c: float) -> Scenario:
        return a_scenario(
            materials=[a_material(anneal=anneal)],
            ovens=[an_oven(f"O{place}", max_c=max_c) for place, max_c in enumerate(ovens_max_c)],
            jobs=[a_job(anneal=True)],
        )

    def test_equal_passes(self) -> None:
        assert failing(self.shop(Anneal(95.0, 2.0), 90.0, 95.0)) == []

    def test_too_cool(self) -> None:
        reason = only(self.shop(Anneal(95.0, 2.0), 90.0, 94.0))
        assert (reason.check, reason.asked, reason.there) == ("oven", 95, 94)
        assert reason.text == "the hottest oven reaches 94 °C, ABS anneals at 95 °C"

    def test_no_oven_and_no_program(self) -> None:
        assert only(self.shop(Anneal(95.0, 2.0))).text == "ABS anneals at 95 °C, there is no oven"
        assert only(self.shop(None, 200.0)).asked == "oven program"

    def test_the_first_feeds_program_counts(self) -> None:
        materials = [a_material("A", anneal=Anneal(100.0, 1.0)), a_material("B", anneal=None)]
        scenario = a_scenario(
            materials=materials,
            printers=[a_printer(heads=(a_head("H1"), a_head("H2")))],
            spools=[a_spool("sa", "A"), a_spool("sb", "B")],
            jobs=[
                a_job(anneal=True, feeds=(a_feed("A"), a_feed("B"))),
                a_job("J2", anneal=True, feeds=(a_feed("B"), a_feed("A"))),
            ],
        )
        matcher = Matcher(scenario)
        assert matcher.fits_something("J1")
        assert [r.check for r in matcher.failures("J2", "P1")] == ["oven"]

    def test_a_job_that_asks_for_no_annealing_needs_no_oven(self) -> None:
        assert failing(a_scenario(ovens=[])) == []
