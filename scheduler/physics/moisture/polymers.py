"""The polymers that figures of water are known for, found by name or by a shop's material."""

from __future__ import annotations

from dataclasses import replace

from scheduler.model import Material
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.table import TABLE
from scheduler.physics.nonsense import Nonsense, within

#: The polymers by name.
POLYMERS: dict[str, Polymer] = {polymer.name: polymer for polymer in TABLE}

#: Share of a filled filament's mass that is fibre or mineral and takes up no water (estimates; makers
#: give 10–20 % carbon, 15–30 % glass).
FILLER_SHARE: dict[str, float] = {"carbon": 0.15, "glass": 0.25, "mineral": 0.2}
_FILLER_WORDS = {"CF": "carbon", "GF": "glass", "MF": "mineral"}


def known_polymer(name: str) -> Polymer:
    """A polymer by its name; a filled one as ``PA6-CF`` or ``PA6-GF``.

    Raises
    ------
    Nonsense
        If no figures are known for it.
    """
    if name.casefold() == "sup":
        return POLYMERS["soluble support"]
    base, dash, ending = name.rpartition("-")
    if dash and ending.upper() in _FILLER_WORDS:
        return filled(known_polymer(base), FILLER_SHARE[_FILLER_WORDS[ending.upper()]])
    for polymer in POLYMERS.values():
        if polymer.name.casefold() == name.casefold():
            return polymer
    raise Nonsense(
        f"no figures of water are known for {name!r}; known are {', '.join(POLYMERS)}, each also -CF, -GF"
    )


def polymer_of(material: Material) -> Polymer | None:
    """The figures for a shop's material; ``None`` where nothing is known of its polymer."""
    polymer = POLYMERS.get(material.polymer)
    if polymer is None or material.filled is None:
        return polymer
    return filled(polymer, FILLER_SHARE[material.filled])


def filled(polymer: Polymer, share: float) -> Polymer:
    """The same with ``share`` of its mass in fibres, which take up no water."""
    within("the share of fibres", share, 0, 0.9)
    held = polymer.saturated
    return replace(
        polymer,
        saturated=replace(
            held,
            value=held.value * (1 - share),
            least=held.least * (1 - share),
            most=held.most * (1 - share),
        ),
    )
