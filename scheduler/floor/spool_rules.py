"""Whether a spool may go on a head for a job now; and codes short enough to type with gloves on."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from scheduler.floor.refusals import FloorRefused
from scheduler.floor.scene import Scene
from scheduler.floor.things import FloorSpool
from scheduler.model import Job, Printer

#: Letters and figures that can't be taken for one another, read or heard.
_LETTERS = "ACDEFHJKLMNPRTUVWXY34679"
CODE_LENGTH = 5
#: What stays on every body: the last turns can't be printed, grams.
LAST_TURNS_G = 20.0


def short_code(spool_id: str) -> str:
    """A spool's short code: five letters and figures that follow from its id."""
    number = int.from_bytes(hashlib.sha256(spool_id.encode()).digest()[:8], "big")
    letters = []
    for _ in range(CODE_LENGTH):
        number, letter = divmod(number, len(_LETTERS))
        letters.append(_LETTERS[letter])
    return "".join(letters)


def by_code(typed: str, ids: Iterable[str]) -> str:
    """The spool that somebody scanned or typed, by its id or its short code.

    Raises
    ------
    FloorRefused
        If none has it, or more than one.
    """
    text = typed.strip()
    known = list(ids)
    if text in known:
        return text
    code = text.upper().replace(" ", "")
    found = [id for id in known if short_code(id) == code or id.upper() == code]
    if not found:
        raise FloorRefused(f"no spool has the code {text or '(nothing)'}")
    if len(found) > 1:
        raise FloorRefused(f"the code {text} stands for {' and '.join(found)}; type the whole number")
    return found[0]


def bound_lot(scene: Scene, job: Job) -> str | None:
    """The lot that a job's first feed must have; ``None`` if any will do."""
    if job.same_lot_as is None:
        return None
    other = scene.things.job(job.same_lot_as) if job.same_lot_as in scene.ground.jobs else None
    spool = other.feeds[0].spool if other and other.feeds else None
    return scene.ground.spools[spool].lot if spool in scene.ground.spools else None


def hard_reasons(scene: Scene, job: Job, feed: int, spool: FloorSpool, printer: str | None) -> list[str]:
    """Why a spool can't be used for a feed at all, whoever says so."""
    asked = job.feeds[feed]
    stock = scene.ground.spools[spool.id]
    reasons = []
    if stock.material != asked.material:
        reasons.append(f"spool {spool.id} is {stock.material}; {job.id} asks for {asked.material}")
    if spool.state == "empty":
        reasons.append(f"spool {spool.id} is empty")
    if spool.place == "dryer":
        reasons.append(f"spool {spool.id} is in {spool.place_id}; take it out there first")
    if spool.place == "printer" and spool.place_id != printer:
        reasons.append(f"spool {spool.id} is on {spool.place_id}")
    if stock.available_from > scene.asked.at:
        reasons.append(f"spool {spool.id} comes on {scene.clock(stock.available_from)}")
    return reasons


def soft_reasons(
    scene: Scene, job: Job, feed: int, spool: FloorSpool, machine: Printer, head: str, minutes_to_end: int
) -> list[str]:
    """What speaks against a spool for a feed, though somebody may answer for it.

    Parameters
    ----------
    minutes_to_end : int
        From now to the print's end, minutes.
    """
    asked = job.feeds[feed]
    stock = scene.ground.spools[spool.id]
    material = scene.ground.materials[stock.material]
    reasons = []
    if spool.state == "quarantined":
        reasons.append(f"spool {spool.id} is in quarantine: {spool.note or 'no reason noted'}")
    lot = bound_lot(scene, job) if feed == 0 else None
    if lot is not None and stock.lot != lot:
        reasons.append(
            f"spool {spool.id} is of lot {stock.lot}; {job.id} must be of lot {lot}, as {job.same_lot_as} is"
        )
    missing = [tag for tag in asked.certs if tag not in stock.certs]
    if missing:
        reasons.append(f"spool {spool.id} came without {', '.join(missing)}")
    if spool.grams < asked.grams:
        reasons.append(f"{spool.grams:.0f} g are left on {spool.id}; the print draws {asked.grams:.0f} g")
    if material.drying and not spool.dried:
        reasons.append(f"spool {spool.id} has not been dried")
    elif material.drying and material.open_time_min is not None:
        dry_feed = next((each.dry_feed for each in machine.heads if each.id == head), False)
        at_end = scene.exposed_min(spool) + (0 if dry_feed else minutes_to_end)
        if at_end > material.open_time_min:
            reasons.append(
                f"spool {spool.id} would have stood open {at_end / 60:.1f} h at the print's end;"
                f" {material.id} bears {material.open_time_min / 60:.1f} h"
            )
    return reasons
