"""How well the physics agrees and how fast it is: `python -m tests.bench.physics [PART …]`.

Parts: ``analytic`` (rings, batch and conduction beside exact solutions), ``published`` (figures and
curves from open literature), ``speed`` (spool histories a second). Without a part, all three.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Sequence

import numpy as np

from scheduler.physics.conduction import Substance, soak
from scheduler.physics.moisture import series
from scheduler.physics.moisture.batch import Histories, run
from scheduler.physics.moisture.strand import Stage, Strand
from tests.bench.published_curves import curves
from tests.bench.published_water import points

FOURIERS = np.array([1e-5, 1e-4, 1e-3, 0.01, 0.0631, 0.197, 0.334, 0.733, 1.5])
BIOTS = (0.01, 0.1, 1.0, 10.0, 100.0, math.inf)


def table(rows: Sequence[Sequence[str]]) -> None:
    """Print rows in columns."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        print("  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)))


def rings_off(biot: float) -> float:
    """Largest deviation of the rings from the cylinder's series."""
    strand, stage = Strand.even(1.75, 1.0), Stage(1e-12, 0.0, biot)
    minutes = FOURIERS * strand.radius_m**2 / 1e-12 / 60
    return float(np.abs(1 - strand.means(stage, minutes) - series.cylinder_share(FOURIERS, biot)).max())


def batch_off(biot: float) -> tuple[float, float]:
    """Largest deviation of the batch from the series, and of its mass."""
    count = len(FOURIERS)
    ones = np.ones((count, 1))
    minutes = (FOURIERS * 0.875e-3**2 / 1e-12 / 60)[:, None]
    done = run(
        Histories(np.full(count, 0.875e-3), np.ones(count), ones * 1e-12, ones * 0, ones * biot, minutes)
    )
    lost = 1 - done.means_pct[:, 0]
    off = float(np.abs(lost - series.cylinder_share(FOURIERS, biot)).max())
    return off, float(np.abs(lost - done.given_off_pct).max())


def analytic() -> None:
    """Rings and batch beside the series; the series beside its limits; conduction beside the series."""
    print("Long cylinder, share of the way to equilibrium, Fourier numbers 1e-5 to 1.5:")
    rows = [("Biot", "rings − series", "batch − series", "batch's mass")]
    for biot in BIOTS:
        batch, mass = batch_off(biot)
        rows.append((f"{biot:g}", f"{rings_off(biot):.1e}", f"{batch:.1e}", f"{mass:.1e}"))
    table(rows)
    print("\nSeries beside its limits and Crank's tables:")
    rows = [("what", "series", "limit or table", "off")]
    small = np.array([10.0, 50.0, 150.0])
    for fourier, exact, lump in zip(
        small, series.cylinder_share(small, 0.01), series.lumped_share(small, 0.01), strict=True
    ):
        rows.append(
            (f"lumped, Bi 0.01, Fo {fourier:g}", f"{exact:.5f}", f"{lump:.5f}", f"{exact - lump:+.1e}")
        )
    short = np.array([1e-6, 1e-5, 1e-4])
    for fourier, exact, half in zip(
        short, series.cylinder_share(short), series.half_space_share(short), strict=True
    ):
        rows.append((f"semi-infinite, Fo {fourier:g}", f"{exact:.5f}", f"{half:.5f}", f"{exact - half:+.1e}"))
    for share, cylinder, sheet in ((0.5, 0.0631, 0.197), (0.9, 0.334, 0.848), (0.99, 0.733, 1.78)):
        for name, found in (
            (f"cylinder, Fo {cylinder}", float(series.cylinder_share(cylinder)[0])),
            (f"sheet, Fo {sheet}", float(series.sheet_share(sheet)[0])),
        ):
            rows.append((name, f"{found:.4f}", f"{share:.4f}", f"{found - share:+.1e}"))
    table(rows)
    print("\nSoak of a sheet (0.2 W/(m K), 1200 kg/m³, 1400 J/(kg K)) from 22 to 190 °C within 5 K:")
    rows = [("mm", "Biot", "minutes", "left by the series, K")]
    what = Substance("edge", 0.2, 1200, 1400)
    for thickness in (4.0, 12.0, 40.0):
        found = soak(what, thickness, 22, 190)
        fourier = what.diffusivity * found.minutes * 60 / (thickness / 2e3) ** 2
        left = 168 * float(series.sheet_left(fourier, 0.0, found.biot)[0])
        rows.append((f"{thickness:g}", f"{found.biot:.2f}", str(found.minutes), f"{left:.2f}"))
    table(rows)


def published() -> None:
    """Each published figure beside the model's, and two curves."""
    print("Published figures (a range where sources differ; 'set' where a constant was set by it):")
    rows = [("polymer", "what", "published", "model", "off", "", "source")]
    for point in points():
        told = f"{point.low:.3g}" if point.low == point.high else f"{point.low:.3g}–{point.high:.3g}"
        rows.append(
            (
                point.polymer,
                point.what,
                f"{told} {point.unit}",
                f"{point.model:.3g}",
                f"{point.off:+.0%}",
                "set" if point.set_by_it else "",
                point.source,
            )
        )
    table(rows)
    found = curves()
    for curve in found:
        print(f"\n{curve.polymer}, {curve.title} ({curve.source})")
        print(f"left open: {curve.left_open}; fitted: {curve.fitted}")
        lines = [(curve.x_unit, f"published, {curve.y_unit}", "library", "off", "fitted", "off")]
        for x, told, own, fitted in curve.rows:
            offs = (f"{own / told - 1:+.0%}", f"{fitted / told - 1:+.0%}")
            lines.append((f"{x:g}", f"{told:.3g}", f"{own:.3g}", offs[0], f"{fitted:.3g}", offs[1]))
        table(lines)
    print("\nTypical deviation of each curve (root mean square of the logarithms):")
    lines = [("polymer", "curve", "library's constants", "one figure fitted")]
    for curve in found:
        lines.append((curve.polymer, curve.title, f"{curve.own_off:.0%}", f"{curve.fitted_off:.0%}"))
    table(lines)


def histories_a_second(count: int = 20_000, stages: int = 4) -> float:
    """Spool histories of four stages a second, after the first call has compiled."""
    dice = np.random.default_rng(1)
    shape = (count, stages)
    histories = Histories(
        np.full(count, 0.875e-3),
        dice.uniform(0, 2, count),
        10 ** dice.uniform(-13, -10, shape),
        dice.uniform(0, 2, shape),
        10 ** dice.uniform(-1, 3, shape),
        dice.uniform(10, 2000, shape),
    )
    run(Histories(*(getattr(histories, name)[:1] for name in Histories.__dataclass_fields__)))
    begun = time.perf_counter()
    run(histories)
    return count / (time.perf_counter() - begun)


def speed() -> None:
    """Histories a second on one processor, and how far the batch is off at that speed."""
    off, mass = (max(found) for found in zip(*(batch_off(biot) for biot in BIOTS), strict=True))
    print(f"{histories_a_second():,.0f} spool histories of four stages a second, one processor")
    print(f"batch beside the series at most {off:.1e} of a full change, its mass {mass:.1e}")


PARTS = {"analytic": analytic, "published": published, "speed": speed}


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the parts asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("parts", nargs="*", choices=[*PARTS, []], metavar="PART")
    for number, name in enumerate(parser.parse_args(arguments).parts or PARTS):
        if number:
            print()
        PARTS[name]()


if __name__ == "__main__":
    main()
