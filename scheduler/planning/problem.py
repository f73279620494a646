"""From a scenario to the decoder's arrays, and the names to come back with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import accumulate

from scheduler.matching import Matcher
from scheduler.model import Job, Plan, PlannedJob, Printer, Scenario
from scheduler.physics import cooldown, cooldown_c, whole_minutes
from scheduler.planning.fits import Fits
from scheduler.planning.kernel.tables import BATCH, NEVER, OVEN, ROLLING, Problem
from scheduler.planning.people import People, people_of
from scheduler.planning.recipes import DryingClasses
from scheduler.planning.stock import (
    crowd,
    group_members,
    history_room,
    least_draws,
    least_stay,
    lot_groups,
    open_of,
    twins,
)

#: How long after the last shift a job without a place counts as done, minutes.
WEEK_MIN = 7 * 24 * 60
#: What a first layer at another time costs, of what a move to another printer does.
SHIFT_PART = 0.25


@dataclass(frozen=True)
class Names:
    """Positions in the arrays for the ids of a scenario, and back."""

    jobs: dict[str, int]
    printers: dict[str, int]
    spools: dict[str, int]
    machines: dict[str, int]
    materials: dict[str, int]
    lots: dict[str, int]
    head_of: list[tuple[str, str]]
    nozzle_of: list[list[str]]


@dataclass(frozen=True)
class Task:
    """Everything that planning needs beside the arrays themselves."""

    scenario: Scenario
    matcher: Matcher
    names: Names
    people: People
    problem: Problem

    def end_c(self, job: Job, p: int, minutes: int) -> float:
        """Chamber of printer ``p`` after cooling for ``minutes`` from the job's setpoint, °C."""
        printer, by_id = self.scenario.printers[p], {m.id: m for m in self.scenario.materials}
        caps = [by_id[feed.material].max_cool_c_per_min for feed in job.feeds]
        given = [cap for cap in caps if cap is not None]
        ambient_c = self.scenario.site.ambient_c
        return cooldown_c(
            self.matcher.setpoint_c(job.id, printer.id),
            minutes,
            min(given) if given else None,
            printer.cool_tau_min,
            ambient_c,
        )


def _flat(groups: list[list[tuple[int, int]]]) -> tuple[list[int], list[int], list[int]]:
    offsets, starts, ends = [0], [], []
    for group in groups:
        for start, end in sorted(group):
            starts.append(start)
            ends.append(end)
        offsets.append(len(starts))
    return offsets, starts, ends


def _printer_kind(printer: Printer) -> tuple[float | None, float | None, float, float, int]:
    return (
        printer.chamber_max_c,
        printer.chamber_reach_c,
        printer.heat_tau_min,
        printer.cool_tau_min,
        printer.bed_cool_min,
    )


def make_task(
    scenario: Scenario,
    previous: Plan | None = None,
    matcher: Matcher | None = None,
    stays: Mapping[str, PlannedJob] | None = None,
) -> Task:
    """Turn a scenario into arrays.

    Parameters
    ----------
    previous : Plan or None
        The plan that the new one replaces: moving its jobs costs.
    stays : mapping from job id to PlannedJob, optional
        Jobs that are wanted nowhere but where a plan has them, of which the caller knows that they fit
        there: the matcher is not asked, which saves most of the time that a task takes.
    """
    stays = stays or {}
    matcher = matcher or Matcher(scenario)
    site, minute = scenario.site, scenario.site.minute
    people = people_of(scenario)
    materials = {m.id: i for i, m in enumerate(scenario.materials)}
    printers = {p.id: i for i, p in enumerate(scenario.printers)}
    spools = {s.id: i for i, s in enumerate(scenario.spools)}
    jobs = {j.id: i for i, j in enumerate(scenario.jobs)}
    lots: dict[str, int] = {}
    machines: dict[str, int] = {}
    for machine in [d.id for d in scenario.dryers] + [o.id for o in scenario.ovens]:
        machines.setdefault(machine, len(machines))
    nm = len(materials)
    n_mach = len(machines)

    purge = [site.purge_min] * (nm * nm)
    for i in range(nm):
        purge[i * nm + i] = 0
    for entry in site.purges:
        purge[materials[entry.source] * nm + materials[entry.target]] = entry.minutes

    # Printers, heads, nozzles
    kinds: dict[tuple[object, ...], int] = {}
    kind_sample: list[Printer] = []
    p_kind: list[int] = []
    head_off = [0]
    head_of: list[tuple[str, str]] = []
    nozzle_of: list[list[str]] = []
    h_dry, h_spool, h_mat, h_noz = [], [], [], []  # type: list[int], list[int], list[int], list[int]
    nozzle_index: dict[tuple[str, str, str], int] = {}
    for printer in scenario.printers:
        key = _printer_kind(printer)
        if key not in kinds:
            kinds[key] = len(kinds)
            kind_sample.append(printer)
        p_kind.append(kinds[key])
        for head in printer.heads:
            head_of.append((printer.id, head.id))
            nozzle_of.append([n.id for n in head.nozzles])
            for at, nozzle in enumerate(head.nozzles):
                nozzle_index[(printer.id, head.id, nozzle.id)] = at
            mounted = head.mounted
            h_dry.append(int(head.dry_feed))
            h_spool.append(-1 if mounted.spool is None else spools[mounted.spool])
            h_mat.append(-1 if mounted.material is None else materials[mounted.material])
            h_noz.append(
                -1 if mounted.nozzle is None else nozzle_index.get((printer.id, head.id, mounted.nozzle), -1)
            )
        head_off.append(len(head_of))
    p_down = _flat([[(minute(d.start), minute(d.end)) for d in p.downtime] for p in scenario.printers])

    # Recipes
    recipes: dict[tuple[str, ...], int] = {}
    recipe_job: list[str] = []
    j_recipe: list[int] = []
    for job in scenario.jobs:
        feeds = tuple(feed.material for feed in job.feeds)
        if feeds not in recipes:
            recipes[feeds] = len(recipes)
            recipe_job.append(job.id)
        j_recipe.append(recipes[feeds])
    by_id = {m.id: m for m in scenario.materials}
    n_kinds = len(kind_sample)
    r_soak, r_highest = [], []  # type: list[int], list[float]
    k_set, k_heated, k_cool, k_end = [], [], [], []  # type: list[float], list[int], list[int], list[float]
    for feeds in recipes:
        mats = [by_id[m] for m in feeds]
        lo, hi = max(m.chamber_c.lo for m in mats), min(m.chamber_c.hi for m in mats)
        if lo > hi:
            # Only begun work can have windows that lie apart; its part's material rules.
            lo, hi = mats[0].chamber_c.lo, mats[0].chamber_c.hi
        r_soak.append(max(m.soak_min for m in mats))
        r_highest.append(hi)
        caps = [m.max_cool_c_per_min for m in mats if m.max_cool_c_per_min is not None]
        for printer in kind_sample:
            if printer.chamber_max_c is None:
                set_c = site.ambient_c
            else:
                set_c = max(
                    site.ambient_c, min(max(lo, min(mats[0].chamber_set_c, hi)), printer.chamber_max_c)
                )
            cool = cooldown(
                set_c, min(m.release_c for m in mats), min(caps) if caps else None, printer, site.ambient_c
            )
            k_set.append(set_c)
            k_heated.append(int(printer.chamber_max_c is not None and set_c > site.ambient_c))
            k_cool.append(cool.minutes)
            k_end.append(cool.end_c)

    # Which printers fit, and how
    fits = Fits(scenario, matcher)
    fit_memo: dict[int, int] = {}
    j_fit: list[int] = []
    for job in scenario.jobs:
        if job.id in stays:
            planned = stays[job.id]
            p = printers[planned.printer]
            heads = [head.id for head in scenario.printers[p].heads]
            way = [
                (heads.index(c.head), nozzle_index[planned.printer, c.head, c.nozzle]) for c in planned.feeds
            ]
            j_fit.append(fits.known(p, way))
            continue
        of_class = matcher.job_class(job.id)
        if of_class not in fit_memo:
            fit_memo[of_class] = fits.of(job.id)
        j_fit.append(fit_memo[of_class])

    # Jobs
    programs: dict[tuple[float, float], int] = {}
    j_anneal: list[int] = []
    bound_by: list[list[int]] = [[] for _ in scenario.jobs]
    j_same: list[int] = []
    j_material, j_grams = [], []  # type: list[int], list[float]
    cand_lo, cand_hi, cand = [], [], []  # type: list[int], list[int], list[int]
    cand_memo: dict[tuple[str, tuple[str, ...]], tuple[int, int]] = {}
    for (material, certs), (_, job_id, f) in least_draws(scenario).items():
        first = len(cand)
        cand += sorted(spools[s] for s in matcher.spools(job_id, f))
        cand_memo[material, certs] = (first, len(cand))
    for i, job in enumerate(scenario.jobs):
        program = by_id[job.feeds[0].material].anneal
        if job.anneal and program is not None:
            j_anneal.append(programs.setdefault((program.temp_c, program.hours), len(programs)))
        else:
            j_anneal.append(-1)
        # A begun job asks for nobody's lot; others may ask for its.
        partner = -1 if job.same_lot_as is None or job.progress is not None else jobs[job.same_lot_as]
        j_same.append(partner)
        if partner >= 0:
            bound_by[partner].append(i)
        for f in range(2):
            if f < len(job.feeds):
                feed = job.feeds[f]
                j_material.append(materials[feed.material])
                j_grams.append(feed.grams)
                first, last = cand_memo[feed.material, feed.certs]
            else:
                first, last = 0, 0
                j_material.append(-1)
                j_grams.append(0.0)
            cand_lo.append(first)
            cand_hi.append(last)
    bound_off, bound = [0], []  # type: list[int], list[int]
    for group in bound_by:
        bound.extend(group)
        bound_off.append(len(bound))

    # Spools and dryers
    drying = DryingClasses(scenario, machines)
    begun_in: dict[str, int] = {}
    for run in scenario.under_way.dryer_runs:
        if minute(run.end) < 0:
            for sid in run.spools:
                begun_in[sid] = begun_in.get(sid, 0) + 1
    s_first, s_next = [], []  # type: list[int], list[int]
    for spool in scenario.spools:
        rows_of = by_id[spool.material].drying
        s_next.append(drying.of(rows_of, spool))
        s_first.append(drying.of(spool.drying, spool) if spool.drying is not None else s_next[-1])
    b_kind = [OVEN] * n_mach
    b_slots, b_oven_slots = [0] * n_mach, [0] * n_mach
    stops: list[list[tuple[int, int]]] = [[] for _ in range(n_mach)]
    for dryer in scenario.dryers:
        b = machines[dryer.id]
        b_kind[b] = BATCH if dryer.kind == "batch" else ROLLING
        b_slots[b] = dryer.slots
        stops[b] += [(minute(d.start), minute(d.end)) for d in dryer.downtime]
    for oven in scenario.ovens:
        b = machines[oven.id]
        b_oven_slots[b] = oven.slots
        stops[b] += [(minute(d.start), minute(d.end)) for d in oven.downtime]
    b_down = _flat(stops)
    an_off, an_machine = [0], []  # type: list[int], list[int]
    for temp_c, _ in programs:
        an_machine += [machines[o.id] for o in scenario.ovens if o.max_c >= temp_c]
        an_off.append(len(an_machine))

    s_lot = [lots.setdefault(s.lot, len(lots)) for s in scenario.spools]
    of_lot: list[list[int]] = [[] for _ in lots]
    for s, lot in enumerate(s_lot):
        of_lot[lot].append(s)
    lot_off = [0, *accumulate(len(members) for members in of_lot)]

    n_jobs = len(scenario.jobs)
    bakers = max(1, n_mach)
    machine_cap = (
        min(3 * n_jobs, max(64, 16 * (3 * n_jobs) // bakers)) + 8 + len(scenario.under_way.dryer_runs)
    )
    kept = {planned.job: planned for planned in previous.jobs} if previous is not None else {}
    j_group = lot_groups(j_same)
    g_off, g_job = group_members(j_group)
    problem = Problem(
        jobs=n_jobs,
        printers=len(printers),
        materials=nm,
        machines=n_mach,
        printer_kinds=n_kinds,
        horizon=people.horizon,
        left_out_at=max(minute(shift.end) for shift in scenario.shifts) + WEEK_MIN,
        machine_cap=machine_cap,
        run_cap=3 * n_jobs + len(scenario.under_way.dryer_runs) + len(scenario.under_way.oven_runs) + 4,
        ambient_c=site.ambient_c,
        dry_storage=int(site.dry_storage),
        start_min=site.start_min,
        unload_min=site.unload_min,
        plate_min=site.plate_min,
        spool_swap_min=site.spool_swap_min,
        nozzle_swap_min=site.nozzle_swap_min,
        dryer_load_min=site.dryer_load_min,
        oven_load_min=site.oven_load_min,
        least_stay=least_stay(scenario),
        purge_min=purge,
        staffed_next=people.staffed_next,
        stretch_start=people.stretch_start,
        stretch_end=people.stretch_end,
        p_kind=p_kind,
        p_free=[minute(p.free_at) for p in scenario.printers],
        p_heated=[int(p.chamber_max_c is not None) for p in scenario.printers],
        p_unattended=[int(p.unattended) for p in scenario.printers],
        p_bed_heat=[p.bed_heat_min for p in scenario.printers],
        p_now_c=[p.chamber_now_c for p in scenario.printers],
        p_reach_c=[p.chamber_reach_c or 0.0 for p in scenario.printers],
        p_heat_tau=[p.heat_tau_min for p in scenario.printers],
        p_cool_tau=[p.cool_tau_min for p in scenario.printers],
        p_speed=[p.speed_factor for p in scenario.printers],
        p_crowd=crowd(scenario, j_fit, fits.off, fits.printer),
        p_head_off=head_off,
        p_down_off=p_down[0],
        down_start=p_down[1],
        down_end=p_down[2],
        h_dry_feed=h_dry,
        h_spool=h_spool,
        h_material=h_mat,
        h_nozzle=h_noz,
        j_release=[minute(j.release) for j in scenario.jobs],
        j_due=[NEVER if j.due is None else minute(j.due) for j in scenario.jobs],
        j_weight=[float(j.weight) for j in scenario.jobs],
        j_print=[j.print_min for j in scenario.jobs],
        j_finish=[j.finish_min for j in scenario.jobs],
        j_recipe=j_recipe,
        j_feeds=[len(j.feeds) for j in scenario.jobs],
        j_material=j_material,
        j_grams=j_grams,
        j_anneal=j_anneal,
        j_fit=j_fit,
        j_same_lot=j_same,
        j_group=j_group,
        g_off=g_off,
        g_job=g_job,
        j_keep=[printers.get(kept[j.id].printer, -1) if j.id in kept else -1 for j in scenario.jobs],
        j_begin=[
            minute(kept[j.id].steps[2].start) if j.id in kept and j.progress is None else -1
            for j in scenario.jobs
        ],
        move_cost=float(site.move_cost_h),
        shift_cost=SHIFT_PART * site.move_cost_h,
        j_bound_off=bound_off,
        bound=bound,
        r_soak=r_soak,
        r_highest_c=r_highest,
        k_set_c=k_set,
        k_heated=k_heated,
        k_cool_min=k_cool,
        k_end_c=k_end,
        cand_lo=cand_lo,
        cand_hi=cand_hi,
        cand=cand,
        fit_off=fits.off,
        fit_printer=fits.printer,
        fit_ways=fits.way_set,
        way_off=fits.way_off,
        way_head=fits.head,
        way_nozzle=fits.nozzle,
        chain_off=history_room(scenario),
        s_material=[materials[s.material] for s in scenario.spools],
        s_lot=s_lot,
        lot_off=lot_off,
        lot_spool=[s for members in of_lot for s in members],
        s_certs=[len(s.certs) for s in scenario.spools],
        s_twin=twins(scenario),
        s_grams=[float(s.grams) for s in scenario.spools],
        s_from=[max(0, minute(s.available_from)) for s in scenario.spools],
        s_dried=[int(s.dried) for s in scenario.spools],
        s_exposed=[s.exposed_min for s in scenario.spools],
        s_needs_drying=[int(bool(by_id[s.material].drying)) for s in scenario.spools],
        s_open=[open_of(by_id[s.material].open_time_min) for s in scenario.spools],
        s_runs_before=[begun_in.get(s.id, 0) for s in scenario.spools],
        s_dry_first=s_first,
        s_dry_next=s_next,
        dry_off=drying.off,
        dry_to=drying.off[1:],
        dry_machine=drying.machine,
        dry_set_c=drying.set_c,
        dry_min=drying.minutes,
        b_kind=b_kind,
        b_slots=b_slots,
        b_oven_slots=b_oven_slots,
        b_down_off=b_down[0],
        b_down_start=b_down[1],
        b_down_end=b_down[2],
        an_temp_c=[temp for temp, _ in programs],
        an_min=[whole_minutes(60 * hours) for _, hours in programs],
        an_off=an_off,
        an_machine=an_machine,
    )
    names = Names(jobs, printers, spools, machines, materials, lots, head_of, nozzle_of)
    return Task(scenario, matcher, names, people, problem)
