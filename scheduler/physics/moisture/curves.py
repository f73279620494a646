"""Curves of moisture through time, as drawings."""

from __future__ import annotations

import numpy as np

from scheduler.physics.chart import Band, Chart, Line, Mark
from scheduler.physics.moisture.coil import Around, stage
from scheduler.physics.moisture.polymer import Polymer
from scheduler.physics.moisture.strand import Strand

POINTS = 80


def course(
    polymer: Polymer, spool: Strand, around: Around, hours: float, lag_min: float = 0.0
) -> list[tuple[float, float]]:
    """(hours, mean moisture) through constant conditions that are felt after ``lag_min``, denser at first."""
    times = hours * np.linspace(0, 1, POINTS + 1) ** 2
    conditions = stage(polymer, around, spool.radius_m * 2e3, spool.mean_pct)
    means = spool.means(conditions, np.maximum(0, times * 60 - lag_min))
    return [(float(time), float(mean)) for time, mean in zip(times, means, strict=True)]


def drying_chart(
    polymer: Polymer, spool: Strand, around: Around, hours: float, goal_pct: float, title: str
) -> Chart:
    """A spool in a dryer: the mean, the range of its diffusivity, and the limit."""
    lag = around.coil.warm_through_min
    mean = course(polymer, spool, around, hours, lag)
    band = Band(
        "what the range of the diffusivity leaves open",
        course(polymer.faster(), spool, around, hours, lag),
        course(polymer.slower(), spool, around, hours, lag),
    )
    return Chart(
        title=title,
        tells=f"Moisture falls from {mean[0][1]:.3g} % to {mean[-1][1]:.3g} % in {hours:g} hours;"
        f" the limit is {goal_pct:.3g} %.",
        x_label="hours in the dryer",
        y_label="water, % of dry mass",
        lines=[Line("the spool", mean)],
        bands=[band],
        limits=[Mark(f"limit {goal_pct:.3g} %", goal_pct)],
    )


def open_chart(
    polymer: Polymer,
    spool: Strand,
    wound: Around,
    bare: Around,
    hours: float,
    limit_pct: float,
    title: str,
) -> Chart:
    """A dry spool in a room: the wound spool and a single strand, and the limit."""
    mean = course(polymer, spool, wound, hours)
    return Chart(
        title=title,
        tells=f"Moisture rises from {mean[0][1]:.3g} % to {mean[-1][1]:.3g} % in {hours:.3g} hours;"
        f" the limit is {limit_pct:.3g} %.",
        x_label="hours in the room",
        y_label="water, % of dry mass",
        lines=[Line("wound spool", mean), Line("outermost strand", course(polymer, spool, bare, hours))],
        bands=[
            Band(
                "what the range of the diffusivity leaves open",
                course(polymer.slower(), spool, wound, hours),
                course(polymer.faster(), spool, wound, hours),
            )
        ],
        limits=[Mark(f"limit {limit_pct:.3g} %", limit_pct)],
    )
