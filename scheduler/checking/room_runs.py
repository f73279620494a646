"""Runs of their own that dryers and ovens still have room for."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.checking.calendar import Taken, clear_of
from scheduler.checking.thermal import hours_as_minutes
from scheduler.checking.view import View
from scheduler.model import Downtime, Dryer, DryerRun, Job, Oven, OvenRun, Spool

#: An anneal may end after the last shift; so long after a job's unload is looked for one, minutes.
ANNEAL_WITHIN = 14 * 24 * 60


class RoomForRuns:
    """What a plan's runs leave of dryers and ovens."""

    def __init__(self, view: View, hands: Taken) -> None:
        self.view, self.hands = view, hands
        self._dries: dict[tuple[str, int], Taken] = {}
        self._bakes: dict[tuple[str, int], Taken] = {}
        self._stays: dict[str, list[tuple[int, int]]] = {}
        for drying in view.dryings:
            self._stays.setdefault(drying.dryer.id, []).append((drying.start, drying.end))
        self._anneals: dict[str, list[tuple[int, int]]] = {}
        for bake in view.annealings:
            self._anneals.setdefault(bake.oven.id, []).append((bake.start, bake.end))

    def dry(self, spool: Spool, ceiling: int, beside: list[DryerRun]) -> DryerRun | None:
        """The run with ``spool`` alone that ends last by ``ceiling``, since it was last used."""
        best: DryerRun | None = None
        stays = [mount.end for mount in self.view.mounts[spool.id]]
        stays += [drying.end for drying in self.view.dryings_of[spool.id]]
        there = max(0, self.view.scenario.site.minute(spool.available_from))
        floor = max([there, *(end for end in stays if end <= ceiling)])
        for dryer, setpoint, minutes in self._programs(spool):
            starts = self._free_for_drying(dryer, minutes)
            start = starts.last_free(ceiling - minutes + 1)
            while start >= floor and (best is None or start + minutes > self._minute(best)):
                if not beside or self._dryer_is_free(dryer, start, start + minutes, beside):
                    instant = self.view.scenario.site.instant
                    name = f"(for {spool.id})"
                    best = DryerRun(
                        name, dryer.id, setpoint, instant(start), instant(start + minutes), (spool.id,)
                    )
                    break
                start = starts.last_free(start)
        return best

    def _free_for_drying(self, dryer: Dryer, minutes: int) -> Taken:
        """Minutes at which a run of so many could begin; worked out once, because many starts ask for it."""
        key = (dryer.id, minutes)
        if key not in self._dries:
            self._dries[key] = Taken(
                [
                    not self._dryer_is_free(dryer, start, start + minutes, [])
                    for start in range(self.hands.length)
                ]
            )
        return self._dries[key]

    def _minute(self, run: DryerRun) -> int:
        return self.view.scenario.site.minute(run.end)

    def _programs(self, spool: Spool) -> Iterator[tuple[Dryer, float, int]]:
        """Dryer, setpoint and minutes of each way to dry the spool."""
        rows = self.view.materials[spool.material].drying
        if spool.drying is not None and not self.view.dryings_of[spool.id]:
            rows = spool.drying
        for dryer in self.view.scenario.dryers:
            if dryer.slots < 1:
                continue
            for row in rows:
                heat = row.temp_c
                if heat > min(dryer.max_c, spool.body_max_c) or (row.vacuum and not dryer.vacuum):
                    continue
                if dryer.fixed_c is not None and dryer.fixed_c != heat:
                    continue
                hours = min(
                    one.hours for one in rows if one.temp_c == heat and (dryer.vacuum or not one.vacuum)
                )
                warmup = 0 if dryer.kind == "rolling" else dryer.warmup_min
                yield dryer, heat, warmup + hours_as_minutes(hours)

    def _dryer_is_free(self, dryer: Dryer, start: int, end: int, beside: list[DryerRun]) -> bool:
        view, minute = self.view, self.view.scenario.site.minute
        if not self.hands.free(start, min(end, start + view.scenario.site.dryer_load_min)):
            return False
        if not clear_of(view, self._downtimes(dryer.id), start, end):
            return False
        stays = [
            *self._stays.get(dryer.id, ()),
            *((minute(run.start), minute(run.end)) for run in beside if run.dryer == dryer.id),
        ]
        room = dryer.slots if dryer.kind == "rolling" else 1
        met = [stay for stay in stays if max(stay[0], start) < min(stay[1], end)]
        instants = {start, *(stay[0] for stay in met if stay[0] > start)}
        crowded = any(sum(a <= at < b for a, b in met) >= room for at in instants)
        return not crowded and not any(
            max(a, start) < min(b, end) for a, b in self._anneals.get(dryer.id, ())
        )

    def _downtimes(self, machine: str) -> list[Downtime]:
        scenario = self.view.scenario
        machines: list[Dryer | Oven] = [*scenario.dryers, *scenario.ovens]
        return [down for one in machines if one.id == machine for down in one.downtime]

    def anneal(self, job: Job, floor: int) -> OvenRun | None:
        """The earliest run with ``job`` alone from ``floor`` on."""
        view, site = self.view, self.view.scenario.site
        program = view.materials[job.feeds[0].material].anneal if job.anneal else None
        if program is None:
            return None
        minutes, best = hours_as_minutes(program.hours), floor + ANNEAL_WITHIN
        found: OvenRun | None = None
        for oven in view.scenario.ovens:
            if oven.max_c < program.temp_c or oven.slots < 1:
                continue
            start = self._free_for_annealing(oven, minutes).next_free(floor)
            if start < min(best, self.hands.length):
                best = start
                found = OvenRun(
                    f"(for {job.id})",
                    oven.id,
                    program.temp_c,
                    site.instant(start),
                    site.instant(start + minutes),
                    (job.id,),
                )
        return found

    def _free_for_annealing(self, oven: Oven, minutes: int) -> Taken:
        """Minutes at which an anneal of so many could begin."""
        key = (oven.id, minutes)
        if key not in self._bakes:
            load = self.view.scenario.site.oven_load_min
            stays = [*self._anneals.get(oven.id, ()), *self._stays.get(oven.id, ())]
            downtimes = self._downtimes(oven.id)
            self._bakes[key] = Taken(
                [
                    not (
                        self.hands.free(start, start + min(minutes, load))
                        and all(max(start, a) >= min(start + minutes, b) for a, b in stays)
                        and clear_of(self.view, downtimes, start, start + minutes)
                    )
                    for start in range(self.hands.length)
                ]
            )
        return self._bakes[key]
