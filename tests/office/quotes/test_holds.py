"""Drafts, holds, acceptance and their ends; two quotes are never promised the same hours."""

from __future__ import annotations

import math
import threading
from datetime import timedelta

import pytest

from scheduler.checking import check
from scheduler.model.codec import scenario_offences
from scheduler.office.quotes import promises
from scheduler.office.quotes.drafts import asked, decline, draft, revise
from scheduler.office.quotes.expiry import expire_holds
from scheduler.office.quotes.ground import ground_of
from scheduler.office.quotes.holds import WorldChanged, accept, answer_quote, hold, send
from scheduler.office.refused import Refused
from scheduler.office.shop import scenario_now
from scheduler.quoting.ask import Ask, AskLine, BadAsk
from scheduler.store import PrintEnd, Record
from tests.builders import at
from tests.office.conftest import StandingClock
from tests.office.quotes.conftest import an_ask


@pytest.fixture
def clock() -> StandingClock:
    return StandingClock(at(0))


def kinds(record: Record, number: int) -> list[str]:
    with record.reading() as unit:
        return [event.kind for event in unit.events.list(("quote", f"Q-{number}"))]


def jobs_there(record: Record) -> set[str]:
    with record.reading() as unit:
        return {job.id for job in unit.fleet.load().jobs}


def test_a_draft_is_kept_with_its_versions_and_found_again(record: Record, clock: StandingClock) -> None:
    number = draft(record, clock, " Marlow  Pumps ", "Ina Reyes", an_ask(2))
    assert revise(record, clock, number, "Marlow Pumps", "Ina Reyes", an_ask(3), seen=1) == 2
    with pytest.raises(Refused, match="version 1, it is now 2"):
        revise(record, clock, number, "Marlow Pumps", "Ina Reyes", an_ask(4), seen=1)
    with record.reading() as unit:
        assert [version.version for version in unit.quotes.versions(number)] == [2, 1]
        assert asked(unit, number) == an_ask(3)
        assert [quote.number for quote in unit.quotes.find("marlow bracket")] == [number]
        assert [quote.number for quote in unit.quotes.find(f"q-{number}")] == [number]
        assert unit.quotes.find("marlow 100%") == ()
    with pytest.raises(BadAsk, match="quantity 0"):
        draft(record, clock, "Marlow Pumps", "", an_ask(0))
    with pytest.raises(Refused, match="nobody is named"):
        draft(record, clock, "  ", "", an_ask(1))


def test_a_hold_is_in_plan_and_shop_and_an_accepted_one_is_an_order(
    record: Record, clock: StandingClock
) -> None:
    number = draft(record, clock, "Marlow Pumps", "Ina Reyes", an_ask())
    _, found = answer_quote(record, clock, number)
    held = hold(record, clock, number, at(30), no_later_than=found.ways[0].planned_for)
    assert (held.state, held.order, held.held_until) == ("held", f"Q-{number}", at(30))
    assert held.promised_for is not None and held.planned_for is not None
    assert held.promised_for >= held.planned_for == found.ways[0].planned_for
    assert f"Q-{number}-1" in jobs_there(record)
    with record.reading() as unit:
        stored = unit.plans.published()
        assert stored is not None
        assert {job.job for job in stored.plan.jobs} == {"J1", f"Q-{number}-1"}
        assert stored.plan.jobs[-1].done == held.planned_for
        shop = scenario_now(record, clock)
        assert check(shop, stored.plan, stored.plan.scenario_hash) == ()
        order = unit.orders.get(f"Q-{number}")
        assert order is not None and order.customer == f"held for Q-{number}"
        mine = next(job for job in unit.fleet.load().jobs if job.id == f"Q-{number}-1")
        assert (mine.due, mine.release) == (held.promised_for, at(60))
    taken = accept(record, clock, number)
    assert taken.state == "accepted"
    with record.reading() as unit:
        order = unit.orders.get(f"Q-{number}")
        assert order is not None and order.customer == "Marlow Pumps"
    assert kinds(record, number)[:3] == ["quote accepted", "quote held", "quote drafted"]
    with pytest.raises(Refused, match="accepted"):
        accept(record, clock, number)
    with pytest.raises(Refused, match="accepted"):
        decline(record, clock, number)


def test_a_hold_that_ends_gives_back_and_is_announced(record: Record, clock: StandingClock) -> None:
    first = draft(record, clock, "Marlow Pumps", "", an_ask())
    second = draft(record, clock, "Osei Optics", "", an_ask())
    alone = answer_quote(record, clock, second)[1].ways[0].planned_for
    hold(record, clock, first, at(30))
    behind = answer_quote(record, clock, second)[1].ways[0].planned_for
    assert behind > alone
    clock.now = at(29)
    assert expire_holds(record, clock) == ()
    clock.now = at(30)
    assert expire_holds(record, clock) == (first,)
    assert expire_holds(record, clock) == ()
    assert jobs_there(record) == {"J1"}
    assert kinds(record, first)[0] == "hold ended"
    free = answer_quote(record, clock, second)[1].ways[0].planned_for
    assert free <= alone + timedelta(minutes=30)
    with pytest.raises(Refused, match="is expired"):
        accept(record, clock, first)


def test_a_hold_must_end_before_work_begins_and_after_now(record: Record, clock: StandingClock) -> None:
    number = draft(record, clock, "Marlow Pumps", "", an_ask())
    with pytest.raises(Refused, match="before now"):
        hold(record, clock, number, at(-5))
    with pytest.raises(Refused, match="a hold must end by then"):
        hold(record, clock, number, at(60 * 24 * 9))
    with pytest.raises(Refused, match="chance"):
        hold(record, clock, number, at(30), chance=0.7)
    assert jobs_there(record) == {"J1"}


def test_an_offer_that_others_overtook_is_refused_with_what_changed(
    record: Record, clock: StandingClock
) -> None:
    first = draft(record, clock, "Marlow Pumps", "", an_ask(print_min=600.0))
    second = draft(record, clock, "Osei Optics", "", an_ask(print_min=600.0))
    # The median is hardly later than the plan, so another hold in between breaks it.
    offer = send(record, clock, first, "as planned", 0.5)
    assert offer.state == "sent" and offer.price_cents is not None and offer.valid_until is not None
    hold(record, clock, second, at(30))
    with pytest.raises(WorldChanged, match="has changed since"):
        accept(record, clock, first)
    assert f"Q-{first}-1" not in jobs_there(record)
    taken = accept(record, clock, first, even_later=True)
    assert taken.state == "accepted" and taken.promised_for is not None and offer.promised_for is not None
    assert taken.promised_for > offer.promised_for


def test_what_prints_taught_is_in_the_next_promise_until_it_is_begun_anew(
    record: Record, clock: StandingClock
) -> None:
    # Such a print just ends before people come back: longer ones are taken off the later for it.
    number = draft(record, clock, "Marlow Pumps", "", an_ask(print_min=900.0))
    before = answer_quote(record, clock, number)[1].ways[0]
    for n in range(40):
        end = PrintEnd(at(0), f"old-{n}", "P1", "ABS", 100.0, 130.0, False)
        promises.record_print_end(record, clock, end)
    ground, found = answer_quote(record, clock, number)
    taught = found.ways[0]
    factor = ground.factors["ABS"]
    assert 1.2 < factor <= 1.3
    planned = next(job for job in taught.insertion.scenario.jobs if job.id == f"Q-{number}-1")
    assert planned.print_min == math.ceil(900 * factor)
    assert taught.planned_for > before.planned_for
    assert taught.promise(0.8) > before.promise(0.8) + timedelta(minutes=30)
    assert taught.price.cents > before.price.cents
    clock.now = at(1)
    promises.begin_anew(record, clock)
    clock.now = at(0)
    assert answer_quote(record, clock, number)[1].ways[0].promise(0.8) == before.promise(0.8)
    with pytest.raises(Refused, match="can't be learnt from"):
        promises.record_print_end(record, clock, PrintEnd(at(0), "x", "P1", "ABS", 0.0, 1.0, False))


@pytest.mark.parametrize("grams", [60.0, 900.0])
def test_days_after_a_hold_has_ended_the_shop_goes_on(
    record: Record, clock: StandingClock, grams: float
) -> None:
    """What was held has left plan and stock, also where filament was to be bought for it."""
    line = AskLine("bracket", 6, "ABS", (40.0, 40.0, 30.0), 200.0, 3.0 * grams, nozzle_mm=(0.4,))
    number = draft(record, clock, "Marlow Pumps", "", Ask((line,), None, 1))
    _, found = answer_quote(record, clock, number)
    assert bool(found.ways[0].bought) == (grams > 100)
    hold(record, clock, number, at(30))
    for minute in (30, 900, 2 * 24 * 60, 4 * 24 * 60):
        clock.now = at(minute)
        expire_holds(record, clock)
        shop = scenario_now(record, clock)
        assert scenario_offences(shop) == ()
        assert {job.id for job in shop.jobs} <= {"J1"}
        assert all(spool.id.startswith("s") for spool in shop.spools)
        other = draft(record, clock, "Osei Optics", "", an_ask())
        assert answer_quote(record, clock, other)[1].ways


def test_an_accepted_quote_is_carried_out_minute_by_minute(record: Record, clock: StandingClock) -> None:
    line = AskLine("bracket", 6, "ABS", (40.0, 40.0, 30.0), 200.0, 2700.0, nozzle_mm=(0.4,))
    number = draft(record, clock, "Marlow Pumps", "", Ask((line,), None, 1))
    hold(record, clock, number, at(30))
    taken = accept(record, clock, number)
    assert taken.planned_for is not None
    for minute in range(0, 8 * 24 * 60, 700):
        clock.now = at(minute)
        assert scenario_offences(scenario_now(record, clock)) == ()
    assert taken.planned_for < clock.now
    assert not any(job.order == taken.order for job in scenario_now(record, clock).jobs)


def test_twenty_clients_hold_the_last_slot_and_one_gets_it(record: Record, clock: StandingClock) -> None:
    numbers = [draft(record, clock, f"Client {n}", "", an_ask()) for n in range(20)]
    date = answer_quote(record, clock, numbers[0])[1].ways[0].planned_for
    got: list[int] = []
    refused: list[int] = []
    broken: list[BaseException] = []
    ready = threading.Barrier(20)

    def client(number: int) -> None:
        own = Record(record.url.render_as_string(hide_password=False))
        ready.wait()
        try:
            hold(own, clock, number, at(30), no_later_than=date)
            got.append(number)
        except WorldChanged:
            refused.append(number)
        except BaseException as error:
            broken.append(error)
        finally:
            own.close()

    threads = [threading.Thread(target=client, args=(number,)) for number in numbers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert broken == []
    assert (len(got), len(refused)) == (1, 19)
    assert jobs_there(record) == {"J1", f"Q-{got[0]}-1"}


def test_what_lies_between_plan_and_promise_is_kept_for_who_was_promised(
    record: Record, clock: StandingClock
) -> None:
    number = draft(record, clock, "Marlow Pumps", "", an_ask())
    held = hold(record, clock, number, at(30))
    assert held.promised_for is not None and held.planned_for is not None
    assert ground_of(record, clock).limits == {f"Q-{number}-1": held.planned_for}
    accept(record, clock, number)
    assert ground_of(record, clock).limits == {f"Q-{number}-1": held.planned_for}
    with record.writing() as unit:
        promises.note_order_done(unit, f"Q-{number}", at(500), at(500))
    assert ground_of(record, clock).limits == {}


def test_print_times_as_planned_are_noted_with_the_order_and_go_with_the_hold(
    record: Record, clock: StandingClock
) -> None:
    for n in range(40):
        end = PrintEnd(at(0), f"old-{n}", "P1", "ABS", 100.0, 130.0, False)
        promises.record_print_end(record, clock, end)
    number = draft(record, clock, "Marlow Pumps", "", an_ask())
    held = hold(record, clock, number, at(30))
    factor = ground_of(record, clock).factors["ABS"]
    assert held.terms is not None and "longer than estimated, as 40 of them did." in held.terms["counted"][0]
    with record.reading() as unit:
        assert unit.quotes.planned_times(f"Q-{number}") == {(f"Q-{number}", "ABS"): factor}
    # What is planned longer already is not made longer again in the chances.
    assert ground_of(record, clock).variation.planned == {f"Q-{number}-1": factor}
    decline(record, clock, number)
    with record.reading() as unit:
        assert unit.quotes.planned_times() == {}
