"""Rules of what follows the machine: the oven, and the judgement of the parts."""

from __future__ import annotations

from datetime import timedelta

from scheduler.floor.commands import EmptyOven, Inspect, LoadOven
from scheduler.floor.facts import Fact
from scheduler.floor.on_machine import again_id, said
from scheduler.floor.refusals import FloorRefused, Outdated
from scheduler.floor.scene import Scene
from scheduler.physics import whole_minutes


def load(scene: Scene, command: LoadOven) -> Fact:
    """Parts of one program go into an oven."""
    oven = scene.ground.ovens.get(command.oven)
    if oven is None:
        raise FloorRefused(f"there is no oven {command.oven}")
    scene.must(bool(command.jobs), "no job was named")
    scene.must(len(set(command.jobs)) == len(command.jobs), "a job was named twice")
    for kind in ("oven run", "dryer run"):
        for run in scene.things.open_runs(kind, oven.id):
            raise FloorRefused(f"{oven.id} is in use ({run.id})")
    scene.must(len(command.jobs) <= oven.slots, f"{oven.id} holds {oven.slots} jobs, not {len(command.jobs)}")
    programs = set()
    for id in command.jobs:
        job, state = scene.job(id)
        if state.state != "off":
            raise Outdated(f"{id} can't go into the oven: it is {said(state)}")
        anneal = scene.ground.materials[job.feeds[0].material].anneal
        if anneal is None:
            raise FloorRefused(f"{job.feeds[0].material} of {id} has no oven program")
        programs.add((anneal.temp_c, anneal.hours))
    if len(programs) > 1:
        told = " and ".join(f"{hours:g} h at {temp:g} °C" for temp, hours in sorted(programs))
        raise FloorRefused(f"these jobs need different programs ({told}); bake them apart")
    temp_c, hours = programs.pop()
    scene.must(temp_c <= oven.max_c, f"{oven.id} bears {oven.max_c:g} °C, not {temp_c:g} °C")
    run_id = f"{oven.id} {scene.asked.at:%Y-%m-%d %H:%M:%S} {scene.asked.key[:4]}"
    return scene.fact(
        "oven loaded",
        ("oven", oven.id),
        [("oven run", run_id), *(("job", id) for id in command.jobs)],
        run=run_id,
        oven=oven.id,
        temp_c=temp_c,
        hours=hours,
        jobs=list(command.jobs),
        due_at=(scene.now + timedelta(minutes=whole_minutes(hours * 60))).isoformat(),
    )


def empty(scene: Scene, command: EmptyOven) -> Fact:
    """Parts come out: annealed if they had their time, else to be baked again."""
    if scene.things.get("oven run", command.run) is None:
        raise FloorRefused(f"there is no oven run {command.run}")
    run = scene.things.run("oven run", command.run)
    if run.ended_at is not None:
        raise Outdated(f"{run.id} was emptied at {scene.clock(run.ended_at)} already")
    assert run.due_at is not None
    return scene.fact(
        "oven emptied",
        ("oven", run.machine),
        [("oven run", run.id), *(("job", id) for id in run.members)],
        run=run.id,
        oven=run.machine,
        jobs=list(run.members),
        whole=scene.now >= run.due_at,
        short_min=max(0, (run.due_at - scene.now) // timedelta(minutes=1)),
    )


def inspect(scene: Scene, command: Inspect) -> Fact:
    """The parts are judged."""
    job, state = scene.job(command.job)
    if state.state not in ("to inspect", "rework"):
        raise Outdated(f"{job.id} can't be judged: it is {said(state)}")
    scene.must(
        command.result in ("pass", "scrap", "rework"),
        f"a judgement is pass, scrap or rework, not {command.result}",
    )
    if command.result == "rework":
        scene.must(bool(command.note.strip()), "rework needs a note that says what is to be done")
        return scene.fact(
            "part inspected", ("job", job.id), (), job=job.id, result="rework", note=command.note.strip()
        )
    good = command.good
    scene.must(
        0 <= good <= job.quantity, f"{good} good of {job.quantity}: there are 0 to {job.quantity} parts"
    )
    if command.result == "pass":
        scene.must(good > 0, "a pass needs at least one good part")
    else:
        scene.must(bool(command.note.strip()), "scrap needs a note that says why")
        good = 0
    missing = job.quantity - good if command.again else 0
    return scene.fact(
        "part inspected",
        ("job", job.id),
        (),
        job=job.id,
        result=command.result,
        good=good,
        scrapped=job.quantity - good,
        missing=missing,
        note=command.note.strip(),
        replaced_by=again_id(scene, job.id) if missing else None,
    )
