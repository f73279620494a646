"""Codes to scan, drawn as one path."""

from __future__ import annotations

from functools import lru_cache

import segno


@lru_cache(maxsize=10_000)
def qr_path(text: str) -> tuple[str, int]:
    """A QR code (ISO/IEC 18004) as an SVG path of unit squares, and its width in squares."""
    code = segno.make(text, error="m", micro=False)
    rows = list(code.matrix)
    parts = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            run = x
            while run < len(row) and row[run]:
                run += 1
            if run > x:
                parts.append(f"M{x} {y}h{run - x}v1h-{run - x}z")
                x = run
            else:
                x += 1
    return "".join(parts), len(rows)
