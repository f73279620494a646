"""A plan as a net: what waits for what, and how long each piece takes, on flat arrays.

Nodes are jobs on their printers, dryer runs and oven runs, in order of their planned beginnings. The
order on every printer, dryer, oven and spool is the plan's; a node waits for the node before it on each.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.checking import thermal
from scheduler.checking.reading import read
from scheduler.checking.view import CHANGEOVER, PRINT, UNLOAD, Annealing, Drying, Stint, View
from scheduler.model import Downtime, Plan, Scenario
from scheduler.quoting.crew import Crew, crew_of

JOB, DRYING, ANNEALING = range(3)
#: A chamber window without an upper end that matters, °C.
NO_CAP_C = 1e9


class Net(NamedTuple):
    """The arrays that a replay reads; rows are nodes unless another name is told.

    ``kind`` is `JOB`, `DRYING` or `ANNEALING`; ``begun`` the number of steps begun before the plan's
    start (1 for a begun run); ``starts`` and ``ends`` the planned minutes of the six steps, of a run
    its own in column 0. ``machine`` counts printers first, then dryers, then ovens. ``floor`` is the
    minute before which the node may not begin in any case; ``load`` the attended minutes of a run.
    ``gone`` are the minutes of a begun print that are over, 0 where its end was told anew.
    ``fixed`` nodes (pinned) never begin early, ``excused`` ones (forced) keep no rule of hands, nights or
    downtime. ``before`` is the node before on the same printer or -1. ``after`` and ``after_at`` list the
    nodes that wait for a node; ``waits`` counts what a node waits for. ``down_*`` are downtimes by
    machine.
    """

    kind: NDArray[np.int64]
    begun: NDArray[np.int64]
    starts: NDArray[np.int64]
    ends: NDArray[np.int64]
    machine: NDArray[np.int64]
    floor: NDArray[np.int64]
    load: NDArray[np.int64]
    attended_machine: NDArray[np.bool_]
    fixed: NDArray[np.bool_]
    excused: NDArray[np.bool_]
    before: NDArray[np.int64]
    after_at: NDArray[np.int64]
    after: NDArray[np.int64]
    waits: NDArray[np.int64]
    setpoint_c: NDArray[np.float64]
    highest_c: NDArray[np.float64]
    cooled_c: NDArray[np.float64]
    bed_heat_min: NDArray[np.int64]
    soak_min: NDArray[np.int64]
    reprint_change_min: NDArray[np.int64]
    gone: NDArray[np.int64]
    heated: NDArray[np.bool_]
    reach_c: NDArray[np.float64]
    heat_tau: NDArray[np.float64]
    cool_tau: NDArray[np.float64]
    chamber_now_c: NDArray[np.float64]
    down_at: NDArray[np.int64]
    down_start: NDArray[np.int64]
    down_end: NDArray[np.int64]
    ambient_c: float


@dataclass(frozen=True, slots=True)
class Network:
    """A plan ready to be replayed.

    Parameters
    ----------
    jobs : tuple of str
        Placed jobs in the scenario's order; ``job_node`` names the node of each, ``finish_node`` the
        node with whose end it is done but for ``finish_min``.
    materials : tuple of str
        The material of each job's part.
    """

    scenario: Scenario
    net: Net
    crew: Crew
    jobs: tuple[str, ...]
    printers: tuple[str, ...]
    materials: tuple[str, ...]
    job_node: NDArray[np.int64]
    finish_node: NDArray[np.int64]
    finish_min: NDArray[np.int64]


def network_of(scenario: Scenario, plan: Plan) -> Network:
    """Lay out a plan.

    Raises
    ------
    ValueError
        The plan names what the scenario does not have (a plan that was read or checked never does).
    """
    view, breaches = read(scenario, plan)
    if breaches:
        raise ValueError("; ".join(str(breach) for breach in breaches))
    return _Builder(view).network()


class _Builder:
    def __init__(self, view: View) -> None:
        self.view = view
        nodes: list[Stint | Drying | Annealing] = [*view.stints.values(), *view.dryings, *view.annealings]
        self.nodes = sorted(nodes, key=lambda node: (_first(node), _last(node), node.who))
        self.of = {id(node): index for index, node in enumerate(self.nodes)}
        self.after: list[set[int]] = [set() for _ in self.nodes]
        scenario = view.scenario
        machines = [("printer", p.id) for p in scenario.printers]
        machines += [("dryer", d.id) for d in scenario.dryers] + [("oven", o.id) for o in scenario.ovens]
        self.machines = {name: index for index, name in enumerate(machines)}
        self.before = np.full(len(self.nodes), -1, dtype=np.int64)
        self.forced = {entry.job for entry in view.plan.forced}

    def network(self) -> Network:
        self._wait()
        last = max((_last(node) for node in self.nodes), default=0)
        placed = [job for job in self.view.scenario.jobs if job.id in self.view.stints]
        stints = [self.view.stints[job.id] for job in placed]
        finish = []
        for stint in stints:
            runs = self.view.annealing_of.get(stint.job.id, [])
            finish.append(self.of[id(runs[-1])] if runs else self.of[id(stint)])
        return Network(
            self.view.scenario,
            self._net(),
            crew_of(self.view.scenario, last),
            tuple(job.id for job in placed),
            tuple(stint.printer.id for stint in stints),
            tuple(stint.materials[0].id for stint in stints),
            _whole(self.of[id(stint)] for stint in stints),
            _whole(finish),
            _whole(job.finish_min for job in placed),
        )

    def _wait(self) -> None:
        """Who waits for whom: along printers, spools and lanes of dryers and ovens, and jobs for ovens."""
        view = self.view
        for stints in view.on_printer.values():
            for one, other in pairwise(stints):
                self._bind(one, other)
                self.before[self.of[id(other)]] = self.of[id(one)]
        stays: dict[str, list[Stint | Drying]] = defaultdict(list)
        for stint in view.stints.values():
            for spool in stint.spools:
                stays[spool.id].append(stint)
        for drying in view.dryings:
            for spool in drying.spools:
                stays[spool.id].append(drying)
        for stay in stays.values():
            stay.sort(key=lambda node: self.of[id(node)])
            for early, late in pairwise(stay):
                self._bind(early, late)
        for annealing in view.annealings:
            for job in annealing.run.jobs:
                if job in view.stints:
                    self._bind(view.stints[job], annealing)
        self._share_machines()

    def _share_machines(self) -> None:
        runs: dict[str, list[Drying | Annealing]] = defaultdict(list)
        for drying in self.view.dryings:
            runs[drying.dryer.id].append(drying)
        for annealing in self.view.annealings:
            runs[annealing.oven.id].append(annealing)
        for shared in runs.values():
            shared.sort(key=lambda node: self.of[id(node)])
            lanes: list[Drying | Annealing] = []
            for run in shared:
                if isinstance(run, Drying) and run.dryer.kind == "rolling":
                    free = [lane for lane in lanes if lane.end <= run.start]
                    if free and (len(lanes) >= run.dryer.slots or isinstance(free[0], Annealing)):
                        taken = min(free, key=lambda lane: lane.end)
                        self._bind(taken, run)
                        if not isinstance(taken, Annealing):
                            lanes.remove(taken)
                    lanes.append(run)
                else:
                    for lane in lanes:
                        self._bind(lane, run)
                    lanes = [run]

    def _bind(self, one: Stint | Drying | Annealing, other: Stint | Drying | Annealing) -> None:
        early, late = self.of[id(one)], self.of[id(other)]
        if early < late:
            self.after[early].add(late)

    def _net(self) -> Net:
        scenario, count = self.view.scenario, len(self.nodes)
        rows = [self._row(node) for node in self.nodes]
        after = [sorted(each) for each in self.after]
        waits = np.zeros(count, dtype=np.int64)
        for each in after:
            waits[each] += 1
        printers = scenario.printers
        downtimes = [printer.downtime for printer in printers]
        downtimes += [dryer.downtime for dryer in scenario.dryers]
        downtimes += [oven.downtime for oven in scenario.ovens]
        down_at, down_start, down_end = _downtimes(self.view, downtimes)
        column = {name: [row[name] for row in rows] for name in _COLUMNS}
        return Net(
            _whole(column["kind"]),
            _whole(column["begun"]),
            _whole(column["starts"]).reshape(count, 6),
            _whole(column["ends"]).reshape(count, 6),
            _whole(column["machine"]),
            _whole(column["floor"]),
            _whole(column["load"]),
            np.array([not printer.unattended for printer in printers], dtype=np.bool_),
            np.array(column["fixed"], dtype=np.bool_),
            np.array(column["excused"], dtype=np.bool_),
            self.before,
            _whole(np.cumsum([0, *(len(each) for each in after)])),
            _whole(number for each in after for number in each),
            waits,
            _real(column["setpoint_c"]),
            _real(column["highest_c"]),
            _real(column["cooled_c"]),
            _whole(column["bed_heat_min"]),
            _whole(column["soak_min"]),
            _whole(column["reprint_change_min"]),
            _whole(column["gone"]),
            np.array([printer.chamber_reach_c is not None for printer in printers], dtype=np.bool_),
            _real(printer.chamber_reach_c or 0.0 for printer in printers),
            _real(printer.heat_tau_min for printer in printers),
            _real(printer.cool_tau_min for printer in printers),
            _real(
                printer.chamber_now_c if printer.chamber_max_c is not None else scenario.site.ambient_c
                for printer in printers
            ),
            down_at,
            down_start,
            down_end,
            float(scenario.site.ambient_c),
        )

    def _row(self, node: Stint | Drying | Annealing) -> dict[str, Any]:
        site, minute = self.view.scenario.site, self.view.scenario.site.minute
        row: dict[str, Any] = dict.fromkeys(_COLUMNS, 0)
        if isinstance(node, Stint):
            heated = node.printer.chamber_max_c is not None
            floors = [node.printer.free_at, node.job.release, *(s.available_from for s in node.spools)]
            row |= {
                "kind": JOB,
                "begun": node.begun,
                "starts": node.starts,
                "ends": node.ends,
                "machine": self.machines["printer", node.printer.id],
                "floor": max(0, *(minute(floor) for floor in floors)),
                "fixed": node.job.pinned is not None,
                "setpoint_c": thermal.setpoint_c(self.view.scenario, node),
                "highest_c": thermal.window(node).hi if heated else NO_CAP_C,
                "cooled_c": thermal.after_cooldown_c(self.view.scenario, node) if heated else site.ambient_c,
                "bed_heat_min": node.printer.bed_heat_min,
                "soak_min": thermal.soak_minutes(node),
                "reprint_change_min": site.plate_min,
                "gone": _gone(node),
                "excused": node.job.id in self.forced,
            }
            return row
        drying = isinstance(node, Drying)
        name = ("dryer", node.dryer.id) if isinstance(node, Drying) else ("oven", node.oven.id)
        load = site.dryer_load_min if drying else site.oven_load_min
        spools = node.spools if isinstance(node, Drying) else ()
        row |= {
            "kind": DRYING if drying else ANNEALING,
            "begun": int(node.begun),
            "starts": (node.start,) * 6,
            "ends": (node.end,) * 6,
            "machine": self.machines[name],
            "floor": max([0, *(minute(spool.available_from) for spool in spools)]),
            "load": min(load, node.end - node.start),
            "excused": isinstance(node, Annealing) and not self.forced.isdisjoint(node.run.jobs),
        }
        return row


_COLUMNS = (
    "kind", "begun", "starts", "ends", "machine", "floor", "load", "fixed", "excused", "setpoint_c",
    "highest_c", "cooled_c", "bed_heat_min", "soak_min", "reprint_change_min", "gone",
)  # fmt: skip


def _gone(stint: Stint) -> int:
    """Minutes of a begun print that are over, if its end is the estimate's and not told anew."""
    estimated = stint.length(PRINT) == thermal.print_minutes(stint)
    return max(0, -stint.starts[PRINT]) if stint.begun == PRINT + 1 and estimated else 0


def _first(node: Stint | Drying | Annealing) -> int:
    return node.starts[CHANGEOVER] if isinstance(node, Stint) else node.start


def _last(node: Stint | Drying | Annealing) -> int:
    return node.ends[UNLOAD] if isinstance(node, Stint) else node.end


def _whole(values: Iterable[Any]) -> NDArray[np.int64]:
    return np.array(list(values), dtype=np.int64)


def _real(values: Iterable[Any]) -> NDArray[np.float64]:
    return np.array(list(values), dtype=np.float64)


def _downtimes(
    view: View, machines: list[tuple[Downtime, ...]]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    minute = view.scenario.site.minute
    rows = [sorted((minute(d.start), minute(d.end)) for d in downtimes) for downtimes in machines]
    at = np.cumsum([0, *(len(row) for row in rows)])
    return (
        _whole(at),
        _whole(start for row in rows for start, _ in row),
        _whole(end for row in rows for _, end in row),
    )


def print_minutes(network: Network) -> NDArray[np.int64]:
    """Planned print minutes of each job, in the order of ``network.jobs``."""
    nodes = network.job_node
    minutes: NDArray[np.int64] = network.net.ends[nodes, PRINT] - network.net.starts[nodes, PRINT]
    return minutes
