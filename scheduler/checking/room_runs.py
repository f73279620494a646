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

    def dry(self, spool: Spool, ceiling: int, beside: list[DryerRun]) -> DryerRun | None:
        """The run with ``spool`` alone that ends last by ``ceiling``, since it was last used."""
        best: DryerRun | None = None
        stays = [mount.end for mount in self.view.mounts[spool.id]]
        stays += [drying.end for drying in self.view.dryings_of[spool.id]]
        there = max(0, self.view.scenario.site.minute(spool.available_from))
        floor = max([there, *(end for end in stays if end <= ceiling)])
        for dryer, setpoint, minutes in self._programs(spool):
            start = ceiling - minutes
            while start >= floor and (best is None or start + minutes > self._minute(best)):
                if self._dryer_is_free(dryer, start, start + minutes, beside):
                    instant = self.view.scenario.site.instant
                    name = f"(for {spool.id})"
                    best = DryerRun(
                        name, dryer.id, setpoint, instant(start), instant(start + minutes), (spool.id,)
                    )
                    break
                start -= 1
        return best

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
        stays = [(drying.start, drying.end) for drying in view.dryings if drying.dryer.id == dryer.id]
        stays += [(minute(run.start), minute(run.end)) for run in beside if run.dryer == dryer.id]
        room = dryer.slots if dryer.kind == "rolling" else 1
        met = [stay for stay in stays if max(stay[0], start) < min(stay[1], end)]
        instants = {start, *(stay[0] for stay in met if stay[0] > start)}
        crowded = any(sum(a <= at < b for a, b in met) >= room for at in instants)
        return not crowded and not any(
            max(bake.start, start) < min(bake.end, end)
            for bake in view.annealings
            if bake.oven.id == dryer.id
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
            stays = [(bake.start, bake.end) for bake in view.annealings if bake.oven.id == oven.id]
            stays += [(drying.start, drying.end) for drying in view.dryings if drying.dryer.id == oven.id]
            for start in range(floor, min(best, self.hands.length)):
                end = start + minutes
                if (
                    self.hands.free(start, min(end, start + site.oven_load_min))
                    and all(max(start, a) >= min(end, b) for a, b in stays)
                    and clear_of(view, self._downtimes(oven.id), start, end)
                ):
                    best = start
                    name = f"(for {job.id})"
                    found = OvenRun(
                        name, oven.id, program.temp_c, site.instant(start), site.instant(end), (job.id,)
                    )
                    break
        return found
