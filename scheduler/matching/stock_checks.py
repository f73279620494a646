"""The checks that no printer changes: a spool for every feed (11) and an oven (12)."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from scheduler.matching.answers import Finding
from scheduler.matching.words import figure, listed
from scheduler.model import Dryer, DryingRow, Feed, Material, Oven, Scenario, Spool


def row_usable(row: DryingRow, dryer: Dryer, body_max_c: float) -> bool:
    """Whether a dryer can run a recipe for a spool on a body that bears ``body_max_c`` °C."""
    return (
        row.temp_c <= dryer.max_c
        and row.temp_c <= body_max_c
        and (dryer.vacuum or not row.vacuum)
        and (dryer.kind != "rolling" or row.temp_c == dryer.fixed_c)
    )


class SpoolStock:
    """The spools of a scenario, ready to be asked which serve a feed.

    Parameters
    ----------
    scenario : Scenario
        Grams and dryness as given, that is at ``plan_start``.
    """

    def __init__(self, scenario: Scenario) -> None:
        self._materials = {m.id: m for m in scenario.materials}
        self._dryers = scenario.dryers
        self._in_run = {spool for run in scenario.under_way.dryer_runs for spool in run.spools}
        self._dryable: dict[tuple[tuple[DryingRow, ...], float], bool] = {}
        self._of_material: dict[str, list[Spool]] = {}
        for spool in scenario.spools:
            self._of_material.setdefault(spool.material, []).append(spool)
        self._usable = {spool.id for spool in scenario.spools if self.dry_or_dryable(spool)}
        self._by_grams: dict[tuple[str, tuple[str, ...]], tuple[list[float], list[Spool]]] = {}

    def rows(self, spool: Spool) -> tuple[DryingRow, ...]:
        """The recipes for the next run of a spool: its own count for its first run only."""
        if spool.drying is not None and spool.id not in self._in_run:
            return spool.drying
        return self._materials[spool.material].drying

    def dry_or_dryable(self, spool: Spool) -> bool:
        """Whether a spool needs no drying, is dry, is in a begun run, or can be dried here."""
        material = self._materials[spool.material]
        if not material.drying or spool.id in self._in_run:
            return True
        limit = material.open_time_min
        if spool.dried and (limit is None or spool.exposed_min <= limit):
            return True
        key = (self.rows(spool), spool.body_max_c)
        if key not in self._dryable:
            self._dryable[key] = any(
                row_usable(row, dryer, spool.body_max_c) for row in key[0] for dryer in self._dryers
            )
        return self._dryable[key]

    def _ranked(self, feed: Feed) -> tuple[list[float], list[Spool]]:
        """Usable spools of a feed's material and certificates, least grams first, and their grams."""
        key = (feed.material, feed.certs)
        if key not in self._by_grams:
            spools = [
                s
                for s in self._of_material.get(feed.material, ())
                if s.id in self._usable and all(tag in s.certs for tag in feed.certs)
            ]
            spools.sort(key=lambda s: s.grams)
            self._by_grams[key] = ([s.grams for s in spools], spools)
        return self._by_grams[key]

    def for_feed(self, feed: Feed) -> tuple[Spool, ...]:
        """Every spool that serves one feed taken alone, in the scenario's order."""
        return tuple(
            s
            for s in self._of_material.get(feed.material, ())
            if s.id in self._usable and s.grams >= feed.grams and all(tag in s.certs for tag in feed.certs)
        )

    def check(self, feeds: Sequence[Feed]) -> tuple[Finding, ...]:
        """Check 11: a spool for each feed, no spool for two; one finding for each feed without."""
        counts = []
        for feed in feeds:
            grams, _ = self._ranked(feed)
            counts.append(len(grams) - bisect_left(grams, feed.grams))
        if 0 in counts:
            return tuple(self._missing(feed) for feed, count in zip(feeds, counts, strict=True) if not count)
        if len(feeds) == 2 and counts == [1, 1]:
            only = [self._ranked(feed)[1][-1] for feed in feeds]
            if only[0].id == only[1].id:
                text = f"both feeds need a spool of their own, only {only[0].id} serves either"
                return (Finding("spool", 2, 1, text),)
        return ()

    def _missing(self, feed: Feed) -> Finding:
        """Why no spool serves a feed: the first hurdle that none of them takes."""
        draw = f"the job draws {figure(feed.grams)} g"
        spools = self._of_material.get(feed.material, [])
        if not spools:
            return Finding("spool", feed.grams, 0, f"no spool of {feed.material} is in stock, {draw}")
        if feed.certs:
            wanted = listed(feed.certs)
            spools = [s for s in spools if all(tag in s.certs for tag in feed.certs)]
            if not spools:
                text = f"no spool of {feed.material} carries all of: {wanted}"
                return Finding("spool", wanted, "none", text)
            kind = f"{feed.material} with {wanted}"
        else:
            kind = feed.material
        fullest = max(s.grams for s in spools)
        if fullest < feed.grams:
            text = f"the fullest spool of {kind} holds {figure(fullest)} g, {draw}"
            return Finding("spool", feed.grams, fullest, text)
        return self._undryable(kind, [s for s in spools if s.grams >= feed.grams])

    def _undryable(self, kind: str, spools: Sequence[Spool]) -> Finding:
        """Spools with enough on them, none dry, and no dryer with a recipe that they bear."""
        rows = list(dict.fromkeys(row for spool in spools for row in self.rows(spool)))
        recipes = listed(
            (f"{figure(r.temp_c)} °C{' in vacuum' if r.vacuum else ''}" for r in rows), "no recipe"
        )
        bodies = figure(max(spool.body_max_c for spool in spools))
        dryers = listed((_described(dryer) for dryer in self._dryers), "no dryer")
        text = (
            f"no spool of {kind} with enough on it is dry or can be dried here: asked is {recipes}; "
            f"spool bodies bear up to {bodies} °C; there is {dryers}"
        )
        return Finding("spool", recipes, f"bodies {bodies} °C; {dryers}", text)


def _described(dryer: Dryer) -> str:
    if dryer.kind == "rolling" and dryer.fixed_c is not None:
        reach = f"always at {figure(dryer.fixed_c)} °C"
    else:
        reach = f"up to {figure(dryer.max_c)} °C"
    return f"{dryer.id} {reach}{' with vacuum' if dryer.vacuum else ''}"


def oven(anneals: bool, first: Material, ovens: Sequence[Oven]) -> Finding | None:
    """Check 12: if the job anneals, its first material says how, and an oven stands that heat."""
    if not anneals:
        return None
    if first.anneal is None:
        text = f"job asks for annealing, {first.id} has no oven program"
        return Finding("oven", "oven program", "none", text)
    asked = first.anneal.temp_c
    if not ovens:
        return Finding("oven", asked, "none", f"{first.id} anneals at {figure(asked)} °C, there is no oven")
    hottest = max(oven.max_c for oven in ovens)
    if asked <= hottest:
        return None
    text = f"the hottest oven reaches {figure(hottest)} °C, {first.id} anneals at {figure(asked)} °C"
    return Finding("oven", asked, hottest, text)
