"""Filament in stock."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scheduler.model.materials import DryingRow


@dataclass(frozen=True, slots=True)
class Spool:
    """One spool of filament.

    Parameters
    ----------
    grams : float
        Filament left, before the draw of any print that has not ended by ``plan_start``.
    body_max_c : float
        Hottest dryer that the spool's body withstands, °C.
    certs : tuple of str
        Certificates that came with the lot; tags the shop tracks, never proofs.
    available_from : datetime
        Delivery; no run or mount before.
    dried : bool
        Dried and not yet found wet, at ``plan_start``.
    exposed_min : int
        Exposure to room air since the last run, minutes, at ``plan_start``.
    drying : tuple of DryingRow or None
        Own recipes for its first run, instead of the material's; ``None``: the material's.
    """

    id: str
    material: str
    lot: str
    grams: float
    body_max_c: float
    certs: tuple[str, ...]
    available_from: datetime
    dried: bool
    exposed_min: int
    drying: tuple[DryingRow, ...] | None
