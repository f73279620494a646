"""MATERIALS.md and the code agree: every figure lies inside its range, every row names its sources."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import demo_fleet
from demo_fleet.materials import MATERIALS
from demo_fleet.stock import BODIES
from scheduler.model import Material, Span
from scheduler.physics.moisture.polymers import POLYMERS, polymer_of
from scheduler.physics.moisture.table import SOURCES

PAGE = (Path(demo_fleet.__file__).parent / "MATERIALS.md").read_text("utf-8")
#: Hours of drying in a vacuum against those without, as the page says.
VACUUM_SHARE = 0.6


def rows(section: str) -> dict[str, list[str]]:
    """The cells of a section's table by material."""
    text = PAGE.split(f"## {section}")[1].split("\n## ")[0]
    found = [line.strip("| \n").split(" | ") for line in text.splitlines() if line.startswith("| ")]
    return {cells[0]: cells[1:] for cells in found[1:]}


def span(cell: str) -> Span:
    lo, hi = cell.split("–")
    return Span(float(lo), float(hi))


WINDOWS = rows("Windows, °C")
TIMES = rows("Drying, open time, annealing")


def test_every_material_has_both_rows_and_no_row_is_left_over() -> None:
    names = [material.id for material in MATERIALS]
    assert list(WINDOWS) == names and list(TIMES) == names


@pytest.mark.parametrize("material", MATERIALS, ids=lambda material: material.id)
def test_windows_lie_inside_their_ranges(material: Material) -> None:
    for cell, window in zip(
        WINDOWS[material.id], (material.nozzle_c, material.bed_c, material.chamber_c), strict=False
    ):
        given = span(cell)
        assert given.lo <= window.lo <= window.hi <= given.hi
    assert material.chamber_c.lo <= material.chamber_set_c <= material.chamber_c.hi


@pytest.mark.parametrize("material", MATERIALS, ids=lambda material: material.id)
def test_drying_open_time_and_annealing_lie_inside_their_ranges(material: Material) -> None:
    temperature, hours, _, open_h, anneal_c, anneal_h, *_ = TIMES[material.id]
    assert material.drying
    for row in material.drying:
        given, least = span(hours), 1.0
        if row.vacuum:
            least = VACUUM_SHARE
        assert span(temperature).lo <= row.temp_c <= span(temperature).hi
        assert given.lo * least <= row.hours <= given.hi
    assert (material.open_time_min is None) == (open_h == "–")
    if material.open_time_min is not None:
        assert span(open_h).lo <= material.open_time_min / 60 <= span(open_h).hi
    assert (material.anneal is None) == (anneal_c == "–")
    if material.anneal is not None:
        assert span(anneal_c).lo <= material.anneal.temp_c <= span(anneal_c).hi
        assert span(anneal_h).lo <= material.anneal.hours <= span(anneal_h).hi


WATER = rows("Water in the polymers")


def test_water_has_a_row_for_each_polymer_and_every_material_has_one() -> None:
    assert list(WATER) == list(POLYMERS)
    assert all(polymer_of(material) is not None for material in MATERIALS)


@pytest.mark.parametrize("name", POLYMERS)
def test_the_figures_of_water_are_those_of_the_model(name: str) -> None:
    polymer = POLYMERS[name]
    five = (polymer.diffusivity, polymer.activation, polymer.saturated, polymer.exponent, polymer.limit)
    for cell, known, scale in zip(WATER[name], five, (1e12, 1, 1, 1, 1), strict=False):
        value, least, most = (float(each) for each in re.findall(r"[\d.e+-]+", cell))
        assert (value, least, most) == pytest.approx(
            (known.value * scale, known.least * scale, known.most * scale), rel=5e-3
        )
    assert WATER[name][-2].split() == [known.sure for known in five]
    first = min(int(number) for number in re.findall(r"^(\d+)\. Kempe, Sol", PAGE, re.MULTILINE))
    named = {int(number) - first + 1 for number in re.findall(r"\[(\d+)\]", WATER[name][-1])}
    assert named == {number for known in five for number in known.sources} <= set(SOURCES)


def test_every_row_says_how_sure_it_is_and_names_sources_that_are_there() -> None:
    sources = {int(number) for number in re.findall(r"^(\d+)\. ", PAGE, re.MULTILINE)}
    assert sources == set(range(1, len(sources) + 1))
    for table in (WINDOWS, TIMES, WATER):
        for name, cells in table.items():
            assert re.search(r"\b[SPE]\b", cells[-2]), name
            named = {int(number) for number in re.findall(r"\[(\d+)\]", cells[-1])}
            assert named and named <= sources, name
    cited = {int(number) for number in re.findall(r"\[(\d+)\]", PAGE)}
    assert cited == sources


def test_spool_bodies_are_those_of_the_page() -> None:
    said = re.search(r"Spool bodies bear: ([^|]+) °C", PAGE)
    assert said
    assert {name.lower(): float(limit) for name, limit in re.findall(r"(\w+) (\d+)", said[1])} == BODIES
