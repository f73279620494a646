"""Which of the usual dangers a job brings, from its materials and its plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.model import Job, Material

#: A chamber or plate at this is too hot for a bare hand, °C (ISO 13732-1 puts the burn threshold for
#: a minute's touch of any material near 51 °C, for one second on bare metal near 65 °C).
HOT_C = 50.0


@dataclass(frozen=True, slots=True)
class Caution:
    """A danger and what is usual against it."""

    title: str
    text: str


def cautions(
    job: Job, materials: Sequence[Material], chamber_c: float | None, *, alone: bool, vacuum: bool
) -> tuple[Caution, ...]:
    """The cautions of a job.

    Parameters
    ----------
    chamber_c : float or None
        The planned setpoint; ``None`` where the job has no place, and the preferred one counts.
    alone : bool
        True if the plan heats or prints for it with nobody there.
    vacuum : bool
        True if its filament is dried under vacuum.
    """
    found: list[Caution] = []
    hottest = max(material.nozzle_c.hi for material in materials)
    chamber = chamber_c if chamber_c is not None else materials[0].chamber_set_c
    plate = max(material.bed_c.lo for material in materials)
    if chamber >= HOT_C or plate >= HOT_C:
        found.append(
            Caution(
                f"Hot: chamber {chamber:g} °C, plate {plate:g} °C or more, nozzle up to {hottest:g} °C",
                "A planned cool-down is a figure, not a reading: look at the machine's own display, wear the "
                "gloves that it asks for, and let the plate cool too.",
            )
        )
    fuming = [material.id for material in materials if material.needs_extraction]
    if fuming:
        found.append(
            Caution(
                f"Fumes and fine particles: {' and '.join(fuming)}",
                "Extraction runs before the hot end does and until the chamber is clear. Printed parts go on "
                "giving off vapour: don't sit beside them.",
            )
        )
    corroding = [material.id for material in materials if material.corrosive]
    if corroding:
        found.append(
            Caution(
                f"Corrosive off-gas: {' and '.join(corroding)}",
                "It attacks plain steel and brass, and eyes and lungs before that. Nozzle and hot end must "
                "be made for it; never overheat it, and never leave it hot and still in the hot end.",
            )
        )
    filled = [f"{material.id} ({material.filled})" for material in materials if material.filled]
    if filled:
        found.append(
            Caution(
                f"Fibres and dust: {' and '.join(filled)}",
                "Cutting and sanding set free fibres: wet, or with extraction and a mask that fits.",
            )
        )
    if filled or chamber >= 100 or len(materials) > 1:
        found.append(
            Caution(
                "Brittle edges",
                "Supports, brims and stressed parts shatter or jump when they come off. Glasses on, and cut "
                "away from the hand.",
            )
        )
    if job.anneal and materials[0].anneal is not None:
        found.append(
            Caution(
                f"Annealing oven at {materials[0].anneal.temp_c:g} °C",
                "Only an oven that its maker allows for this, with its own over-temperature cut-off, "
                "nothing in it that burns, and room to set hot trays down. Let parts cool in it: they "
                "warp and crack.",
            )
        )
    if vacuum:
        found.append(
            Caution(
                "Vacuum dryer",
                "Vent it wholly before the door is touched. Never dry anything in it that gives off "
                "flammable vapour.",
            )
        )
    if alone:
        found.append(
            Caution(
                "Heat with nobody there",
                "The plan runs this job while the shop is empty. Only where the machine's maker, your "
                "insurer and local fire rules allow it, with what burns kept away.",
            )
        )
    return tuple(found)
