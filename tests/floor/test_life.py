"""A job's life: each touch in its order, each refusal with its reason, each slip taken back."""

from __future__ import annotations

import threading
from datetime import timedelta

import pytest

from scheduler.checking import check
from scheduler.floor import FloorRefused, Objected, Outdated, Taken, short_code
from scheduler.floor import commands as wish
from scheduler.model.codec import scenario_hash, scenario_offences
from scheduler.office.floor import rebuilt
from scheduler.office.shop import scenario_now
from scheduler.planning import make_plan
from scheduler.store import Record
from tests.floor.conftest import Clock, FloorOf


def state_of(floor: FloorOf, job: str = "J1") -> str:
    with floor.desk.looking() as (_, _ground, things):
        return things.job(job).state


def to_printing(floor: FloorOf, clock: Clock, job: str = "J1") -> None:
    floor.touch(wish.Pull(job, "P1"))
    clock.on(7)
    floor.touch(wish.MountSpool(job, 0, short_code("S1").lower()))
    floor.touch(wish.ChamberOn(job))
    with floor.desk.looking() as (_, _ground, things):
        lengths = things.job(job).lengths
    assert lengths is not None
    clock.on(lengths.preheat_min)
    floor.touch(wish.FirstLayer(job))


def test_a_job_goes_from_the_shelf_to_the_judge(floor: FloorOf, clock: Clock) -> None:
    to_printing(floor, clock)
    assert state_of(floor) == "printing"
    clock.on(70)
    floor.touch(wish.PrintEnded("J1"))
    clock.on(60)
    floor.touch(wish.TakeOff("J1"))
    with floor.desk.looking() as (_, _ground, things):
        assert things.job("J1").state == "to inspect"
        assert things.printer("P1").job is None
        assert things.spool("S1").grams == 950.0 and things.spool("S1").place == "store"
    with floor.record.reading() as unit:
        (end,) = unit.quotes.print_ends()
    assert (end.machine, end.material, end.estimated_min, end.actual_min, end.failed) == (
        "P1",
        "ABS",
        60,
        65,
        False,
    )
    done = floor.touch(wish.Inspect("J1", "pass", 4))
    assert state_of(floor) == "passed" and done.strayed is None


def test_a_print_that_was_planned_longer_is_noted_beside_its_estimate(floor: FloorOf, clock: Clock) -> None:
    with floor.record.writing() as unit:
        order = next(job.order for job in unit.fleet.load().jobs if job.id == "J1")
        unit.quotes.note_planned_times(order, {"ABS": 1.2, "PC": 3.0})
    to_printing(floor, clock)
    clock.on(70)
    floor.touch(wish.PrintEnded("J1"))
    clock.on(60)
    floor.touch(wish.TakeOff("J1"))
    with floor.record.reading() as unit:
        (end,) = unit.quotes.print_ends()
    assert (end.estimated_min, end.actual_min) == (pytest.approx(50), 65)


def test_nobody_begins_cold_opens_hot_or_mounts_wet(floor: FloorOf, clock: Clock) -> None:
    floor.touch(wish.Pull("J1", "P1"))
    with pytest.raises(Objected, match="S2 has not been dried"):
        floor.touch(wish.MountSpool("J1", 0, "S2"))
    floor.touch(wish.MountSpool("J1", 0, "S1"))
    floor.touch(wish.ChamberOn("J1"))
    clock.on(5)
    with pytest.raises(Objected, match="a part begun cold warps"):
        floor.touch(wish.FirstLayer("J1"))
    with pytest.raises(Objected):
        floor.touch(wish.FirstLayer("J1"), override="display says it is hot", may=False)
    done = floor.touch(wish.FirstLayer("J1"), override="display says it is hot", may=True)
    assert done.data is not None and "let pass by Ada: display says" in done.data["overrides"][0]
    clock.on(66)
    floor.touch(wish.PrintEnded("J1"))
    with pytest.raises(Objected, match="hands are burnt"):
        floor.touch(wish.TakeOff("J1"))


def test_a_spool_that_stood_open_too_long_is_refused_to_the_minute(floor: FloorOf, clock: Clock) -> None:
    floor.touch(wish.Pull("J1", "P1"))
    with floor.desk.looking() as (_, _ground, things):
        lengths = things.job("J1").lengths
    assert lengths is not None
    to_end = lengths.preheat_min + lengths.start_min + lengths.print_min
    clock.on(600 - to_end + 1)
    with pytest.raises(Objected, match=r"ABS bears 10\.0 h"):
        floor.touch(wish.MountSpool("J1", 0, "S1"))
    clock.on(-1)
    floor.touch(wish.MountSpool("J1", 0, "S1"))


@pytest.mark.parametrize(
    ("command", "why"),
    [
        (wish.Pull("J9", "P1"), "no job J9"),
        (wish.Pull("J1", "P9"), "no printer P9"),
        (wish.MountSpool("J1", 0, "S1"), "can't get a spool: it is waiting"),
        (wish.PrintEnded("J1"), "can't end: it is waiting"),
        (wish.Hold("J1", " "), "needs its reason"),
        (wish.Weigh("S1", 100.0, 200.0), "less than the body's 200 g"),
        (wish.Weigh("nothing", 100.0, 20.0), "no spool has the code nothing"),
        (wish.LoadDryer("D1", 70.0, ("S1",)), "no recipe at 70 °C"),
        (wish.LoadDryer("D1", 130.0, ("S1",)), "bears 120 °C"),
        (wish.EmptyDryer("x"), "no dryer run x"),
        (wish.LoadOven("O1", ("J1",)), "can't go into the oven: it is waiting"),
        (wish.MachineUp("P1"), "in use already"),
        (wish.Undo(999), "no step that can be taken back"),
        (wish.HandOver(""), "nothing was written"),
    ],
)
def test_what_can_not_be_is_refused_and_changes_nothing(floor: FloorOf, command: object, why: str) -> None:
    with pytest.raises(FloorRefused, match=why):
        floor.touch(command)  # type: ignore[arg-type]  # one of the commands above
    with floor.record.reading() as unit:
        assert unit.floor.state() is None, "a refusal opens nothing"


def test_the_second_to_pull_sees_who_was_first(floor: FloorOf) -> None:
    floor.touch(wish.Pull("J1", "P1"), who="Ada")
    with pytest.raises(Taken, match="Ada has J1 on P1"):
        floor.touch(wish.Pull("J1", "P1"), who="Ben")
    with pytest.raises(Taken, match="P1 has J1 on it, pulled by Ada"):
        floor.touch(wish.Pull("J2", "P1"), who="Ben")


def test_two_at_once_and_one_wins(record: Record, clock: Clock) -> None:
    floor = FloorOf(record, clock)
    begun, won, lost = threading.Barrier(8), [], []

    def pull(number: int) -> None:
        begun.wait()
        try:
            won.append(floor.touch(wish.Pull("J1", "P1"), who=f"W{number}", key=f"race-{number}"))
        except FloorRefused as refused:
            lost.append(refused)

    threads = [threading.Thread(target=pull, args=(number,)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(won) == 1 and len(lost) == 7 and all(isinstance(each, Taken) for each in lost)


def test_the_same_touch_sent_twice_counts_once(floor: FloorOf) -> None:
    first = floor.touch(wish.Pull("J1", "P1"), key="tap")
    again = floor.touch(wish.Pull("J1", "P1"), key="tap")
    assert again.again and again.event == first.event
    with floor.record.reading() as unit:
        assert [event.kind for event in unit.floor.facts()] == ["floor opened", "job pulled"]


def test_an_old_page_is_told_so(floor: FloorOf) -> None:
    floor.touch(wish.MachineDown("P1", "fan", floor.clock.now + timedelta(hours=1)))
    with pytest.raises(Outdated, match="printer P1 has changed"):
        floor.touch(wish.MachineUp("P1"), seen=(("printer", "P1", 0),))
    floor.touch(wish.MachineUp("P1"), seen=(("printer", "P1", 1),))


def test_a_step_is_taken_back_while_nothing_stands_on_it(floor: FloorOf, clock: Clock) -> None:
    pulled = floor.touch(wish.Pull("J1", "P1"))
    mounted = floor.touch(wish.MountSpool("J1", 0, "S1"))
    with pytest.raises(FloorRefused, match="spool mounted"):
        floor.touch(wish.Undo(pulled.event))
    floor.touch(wish.Undo(mounted.event))
    with floor.desk.looking() as (_, _ground, things):
        assert things.job("J1").mounted == (False,) and things.spool("S1").place == "store"
    again = floor.touch(wish.MountSpool("J1", 0, "S1"))
    clock.on(31)
    with pytest.raises(FloorRefused, match="within 30 min"):
        floor.touch(wish.Undo(again.event))


def test_a_failure_prints_the_missing_ones_again_and_undoing_it_does_not(
    floor: FloorOf, clock: Clock
) -> None:
    to_printing(floor, clock)
    clock.on(35)
    failed = floor.touch(wish.Fail("J1", "came off the plate", good=1))
    assert failed.strayed == "J1 failed: came off the plate"
    with floor.record.reading() as unit:
        jobs = {job.id: job for job in unit.fleet.load().jobs}
    assert jobs["J1.2"].quantity == 3 and jobs["J1.2"].print_min == 45
    with floor.desk.looking() as (_, _ground, things):
        assert things.spool("S1").grams == 975.0, "half of 50 g is gone"
        assert things.printer("P1").to_clear
    floor.touch(wish.Undo(failed.event))
    assert state_of(floor) == "printing"
    with floor.record.reading() as unit:
        assert "J1.2" not in {job.id for job in unit.fleet.load().jobs}


def test_a_dryer_makes_dry_only_what_had_its_time(floor: FloorOf, clock: Clock) -> None:
    floor.touch(wish.LoadDryer("D1", 80.0, (short_code("S2"),)))
    with floor.desk.looking() as (_, _ground, things):
        run = things.open_runs("dryer run", "D1")[0]
    assert run.due_at == clock.now + timedelta(minutes=250)
    clock.on(249)
    early = floor.touch(wish.EmptyDryer(run.id))
    assert early.data is not None and early.data["short_min"] == 1
    floor.touch(wish.Undo(early.event))
    clock.on(1)
    floor.touch(wish.EmptyDryer(run.id))
    with floor.desk.looking() as (_, _ground, things):
        assert things.spool("S2").dried and things.spool("S2").exposed_min == 0
    with floor.record.reading() as unit:
        assert dict(unit.floor.touched().things) == dict(rebuilt(unit).things)


def test_the_shop_as_reported_can_be_planned_at_every_step(
    floor: FloorOf, clock: Clock, record: Record
) -> None:
    def planned_anew() -> None:
        shop = scenario_now(record, clock)
        assert scenario_offences(shop) == ()
        hashed = scenario_hash(shop)
        plan = make_plan(shop, scenario_hash=hashed, made_at=clock.now)
        assert check(shop, plan, hashed) == ()
        assert {job.job for job in plan.jobs} == {job.id for job in shop.jobs}

    floor.touch(wish.Pull("J1", "P1"))
    planned_anew()
    floor.touch(wish.MountSpool("J1", 0, "S1"))
    planned_anew()
    floor.touch(wish.ChamberOn("J1"))
    clock.on(300)
    planned_anew()
    floor.touch(wish.FirstLayer("J1"), override="late", may=True)
    clock.on(500)
    planned_anew()
    floor.touch(wish.PrintEnded("J1"))
    planned_anew()
    clock.on(100)
    floor.touch(wish.TakeOff("J1"))
    planned_anew()
    assert [job.id for job in scenario_now(record, clock).jobs] == ["J2"]


def test_a_machine_down_and_a_held_job_are_planned_around(
    floor: FloorOf, clock: Clock, record: Record
) -> None:
    floor.touch(wish.MachineDown("P1", "belt torn", clock.now + timedelta(hours=5)))
    floor.touch(wish.Hold("J2", "drawing"))
    shop = scenario_now(record, clock)
    assert [job.id for job in shop.jobs] == ["J1"]
    assert shop.printers[0].downtime[-1].end == clock.now + timedelta(hours=5)
    with pytest.raises(FloorRefused, match="out of use: belt torn"):
        floor.touch(wish.Pull("J1", "P1"))
