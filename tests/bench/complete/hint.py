"""A plan as the place where the solver begins: printers, order, spools and minutes."""

from __future__ import annotations

from itertools import pairwise

from ortools.sat.python import cp_model

from scheduler.model import Plan
from tests.bench.complete.shop import Shop
from tests.bench.complete.spools import Mount, Spools
from tests.bench.complete.visits import Visits


def give_hint(shop: Shop, visits: Visits, spools: Spools, plan: Plan, seconds: float) -> None:
    """Let the solver begin with a plan.

    The model is narrower than the contract, so the plan itself may be none of its plans: its printers, order
    and spools are kept, its minutes are where they are looked for, and the solver may take ``seconds`` to
    find them. If it finds none, the plan is only a hint.
    """
    _name(shop, visits, spools, plan)
    model = shop.model.clone()
    hinted = model.proto.solution_hint
    for index, value in zip(hinted.vars, hinted.values, strict=True):
        variable = model.get_int_var_from_proto_index(index)
        if list(model.proto.variables[index].domain) == [0, 1]:
            model.add(variable == value)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 0
    solver.parameters.stop_after_first_solution = True
    if solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        shop.model.clear_hints()
        for index, value in enumerate(solver.response_proto.solution):
            shop.model.add_hint(shop.model.get_int_var_from_proto_index(index), value)


def _name(shop: Shop, visits: Visits, spools: Spools, plan: Plan) -> None:
    """Hint at what the plan says."""
    m, names, minute = shop.model, shop.task.names, shop.task.scenario.site.minute
    hinted: dict[int, int] = {}

    def hint(var: cp_model.IntVar, value: int) -> None:
        # Twice hinted is refused; a choice and its opposite are one variable.
        if var.index >= 0 and var.index not in hinted:
            hinted[var.index] = value
            m.add_hint(var, value)

    starts: dict[int, int] = {}
    at: dict[int, int] = {}
    spool_of: dict[Mount, int] = {}
    for planned in plan.jobs:
        visit = visits.of.get(names.jobs[planned.job])
        if visit is None:
            continue
        steps = [(minute(step.start), minute(step.end)) for step in planned.steps]
        starts[visit.j], at[visit.j] = steps[0][0], names.printers[planned.printer]
        for f, feed in enumerate(planned.feeds):
            spool_of[visit.j, f] = names.spools[feed.spool]
        heads = tuple(names.head_of.index((planned.printer, feed.head)) for feed in planned.feeds)
        nozzles = tuple(
            names.nozzle_of[head].index(feed.nozzle) for head, feed in zip(heads, planned.feeds, strict=True)
        )
        for way in visit.ways:
            hint(way.taken, int((way.printer, way.heads, way.nozzles) == (at[visit.j], heads, nozzles)))
        for var, value in (
            (visit.change, steps[0][0]),
            (visit.length, steps[0][1] - steps[0][0]),
            (visit.changed, steps[0][1]),
            (visit.heat, steps[1][0]),
            (visit.begin, steps[2][0]),
            (visit.print_end, steps[3][1]),
            (visit.cool_end, steps[4][1]),
            (visit.unload, steps[5][0]),
        ):
            hint(var, value)
    for j, visit in visits.of.items():
        if visit.out is not None:
            hint(visit.out, int(j not in starts))
    for p, choices in visits.next.items():
        row = [-1, *sorted((j for j, there in at.items() if there == p), key=lambda j: starts[j])]
        taken = set(pairwise(row))
        for i, j, lit in choices:
            hint(lit, int((i, j) in taken))
    for (mount, s), lit in spools.has.items():
        hint(lit, int(spool_of.get(mount) == s))
    mounted = sorted(spool_of, key=lambda mount: starts[mount[0]])
    chains = {s: [mount for mount in mounted if spool_of[mount] == s] for s in set(spool_of.values())}
    followed = {pair for chain in chains.values() for pair in pairwise(chain)}
    for (s, mount), lit in spools.first.items():
        hint(lit, int(chains.get(s, [None])[0] == mount))
    for pair, lit in spools.then.items():
        hint(lit, int(pair in followed))
    runs = [(run.spools, minute(run.start), minute(run.end)) for run in plan.dryer_runs]
    for mount, s in spool_of.items():
        chain = chains[s]
        place = chain.index(mount)
        since = starts[chain[place - 1][0]] if place else 0
        spool = shop.task.scenario.spools[s].id
        dried = [(a, b) for ids, a, b in runs if spool in ids and since <= a and b <= starts[mount[0]]]
        if mount in spools.dry:
            hint(spools.dry[mount], int(bool(dried)))
            if dried:
                hint(spools.dry_start[mount], dried[-1][0])
                hint(spools.dry_end[mount], dried[-1][1])
