"""Setups: what each head had before says how long a changeover is; the chamber, how long a preheat."""

from __future__ import annotations

from collections import defaultdict

from ortools.sat.python import cp_model

from scheduler.planning.kernel.heat import chamber_at, last_heat, preheat_need
from tests.bench.complete.shop import EDGES_MIN, Shop
from tests.bench.complete.spools import Spools
from tests.bench.complete.visits import Lit, Visit, Visits

#: Idle minutes after which a chamber counts as cold when edges are exact.
LONGEST_MIN = 2_000

Mount = tuple[int, int]


def bind_changeovers(shop: Shop, visits: Visits, spools: Spools) -> None:
    """Each changeover lasts exactly as long as plate, spools, purges and nozzles ask for."""
    P, m = shop.P, shop.model
    for p in range(P.printers):
        for head in range(P.p_head_off[p], P.p_head_off[p + 1]):
            _bind_head(shop, visits, spools, p, head)
    for v in visits.of.values():
        m.add(v.length == P.plate_min + sum(v.added.values()))


def _bind_head(shop: Shop, visits: Visits, spools: Spools, p: int, head: int) -> None:
    P, m = shop.P, shop.model
    uses: dict[Mount, list[tuple[int, Lit]]] = defaultdict(list)
    for v in visits.of.values():
        for way in v.ways:
            for f, g in enumerate(way.heads):
                if g == head:
                    uses[v.j, f].append((way.nozzles[f], way.taken))
    here = list(uses)
    used: dict[Mount, Lit] = {}
    for j, f in here:
        lits = [lit for _, lit in uses[j, f]]
        used[j, f] = m.new_bool_var(f"{j} {f} on head {head}")
        m.add(sum(lits) == used[j, f])
    then: list[tuple[Mount | None, Mount, Lit]] = []
    if P.p_head_off[p + 1] - P.p_head_off[p] == 1:
        # One head: who was there before is who was on the printer before.
        then = [(None if i < 0 else (i, 0), (j, 0), lit) for i, j, lit in visits.next[p]]
    elif here:
        arcs = [(0, 0, m.new_bool_var(f"head {head} idle"))]
        for a, mount in enumerate(here, 1):
            first, last = (
                m.new_bool_var(f"{mount} first on {head}"),
                m.new_bool_var(f"{mount} last on {head}"),
            )
            arcs += [(a, a, used[mount].negated()), (0, a, first), (a, 0, last)]
            then.append((None, mount, first))
            for b, other in enumerate(here, 1):
                if other[0] != mount[0]:
                    lit = m.new_bool_var(f"{mount} then {other} on head {head}")
                    arcs.append((a, b, lit))
                    then.append((mount, other, lit))
                    before, after = visits.of[mount[0]], visits.of[other[0]]
                    m.add(after.change >= before.unload_end).only_enforce_if(lit)
        m.add_circuit(arcs)
    spool, material, nozzle, since = last_on(shop, head)
    purges: dict[Mount, list[object]] = defaultdict(list)
    kept: dict[Mount, list[Lit]] = defaultdict(list)
    swapped: dict[Mount, Lit] = {mount: m.new_bool_var(f"{mount} nozzle {head}") for mount in here}
    for mount in here:
        m.add_implication(swapped[mount], used[mount])
    for before, mount, lit in then:
        to = P.j_material[2 * mount[0] + mount[1]]
        was = material if before is None else P.j_material[2 * before[0] + before[1]]
        if was >= 0 and P.purge_min[was * P.materials + to]:
            purges[mount].append(P.purge_min[was * P.materials + to] * lit)
        keep = spools.stays(before, mount, lit, spool, since)
        if keep is not None:
            kept[mount].append(keep)
        for number, takes in uses[mount]:
            if before is None:
                m.add(swapped[mount] == int(nozzle != number)).only_enforce_if(lit, takes)
            else:
                for other, took in uses[before]:
                    m.add(swapped[mount] == int(other != number)).only_enforce_if(lit, takes, took)
    for mount in here:
        j, f = mount
        swap = P.spool_swap_min * (used[mount] - sum(kept[mount]))
        more = swap + sum(purges[mount]) + P.nozzle_swap_min * swapped[mount]
        visits.of[j].added[f] = more + visits.of[j].added.get(f, 0)


def last_on(shop: Shop, head: int) -> tuple[int, int, int, int]:
    """Spool, material and nozzle last on a head, -1 unknown, and since when it may have been elsewhere."""
    P, S = shop.P, shop.S
    found = (P.h_spool[head], P.h_material[head], P.h_nozzle[head], 0)
    latest = -1
    for ref, g in enumerate(S.head):
        j = ref // 2
        if g == head and S.printer[j] >= 0 and S.unload_end[j] > max(0, latest):
            latest = S.unload_end[j]
            found = (S.spool[ref], P.j_material[ref], S.nozzle[ref], latest)
    return found


def bind_preheats(shop: Shop, visits: Visits) -> None:
    """Each preheat is as long as the chamber asks for that the job before left so many minutes ago."""
    P, m = shop.P, shop.model
    for v in visits.of.values():
        left: dict[tuple[int, float, int], list[tuple[int, Lit]]] = defaultdict(list)
        for p in v.on:
            for i, j, lit in visits.next[p]:
                if j != v.j:
                    continue
                if i < 0:
                    left_c, since = last_heat(P, shop.S, p, shop.S.last[p])
                    left[p, left_c, since].append((-1, lit))
                else:
                    cell = P.j_recipe[i] * P.printer_kinds + P.p_kind[p]
                    left[p, P.k_end_c[cell], 0].append((i, lit))
        _bind_preheat(shop, visits, v, left)
    for v in visits.of.values():
        m.add(v.begin >= v.heat)


def need_after(shop: Shop, j: int, p: int, left_c: float, idle: int) -> int:
    """Minutes of the preheat of a job whose chamber was left so warm so many minutes ago."""
    return preheat_need(shop.P, p, shop.P.j_recipe[j], chamber_at(shop.P, p, left_c, 0, idle))


def _bind_preheat(
    shop: Shop, visits: Visits, v: Visit, left: dict[tuple[int, float, int], list[tuple[int, Lit]]]
) -> None:
    m = shop.model
    edges = {0, LONGEST_MIN}
    if shop.exact:
        for p, left_c, _ in left:
            asked = [need_after(shop, v.j, p, left_c, idle) for idle in range(LONGEST_MIN)]
            edges |= {idle for idle in range(1, LONGEST_MIN) if asked[idle] != asked[idle - 1]}
    else:
        edges |= set(EDGES_MIN)
    cuts = sorted(edges)
    within = [m.new_bool_var(f"idle {v.j} from {cut}") for cut in cuts]
    m.add_exactly_one(within)
    for (p, left_c, since), by in left.items():
        any_of = by[0][1] if len(by) == 1 else m.new_bool_var(f"{v.j} on {p} after {left_c}")
        if len(by) > 1:
            m.add(sum(lit for _, lit in by) == any_of)
        needs = []
        for k, cut in enumerate(cuts):
            last = cuts[k + 1] - 1 if k + 1 < len(cuts) else 10 * LONGEST_MIN
            needs.append(max(need_after(shop, v.j, p, left_c, end) for end in (cut, last)))
            m.add(v.begin >= v.heat + needs[k]).only_enforce_if(any_of, within[k])
        for k, cut in enumerate(cuts):
            # A stretch binds on the side on which the chamber would ask for more.
            for i, lit in by:
                cool_end: cp_model.LinearExprT = since if i < 0 else visits.of[i].cool_end
                if k + 1 < len(cuts) and max(needs[k + 1 :]) > needs[k]:
                    m.add(v.heat <= cool_end + cuts[k + 1] - 1).only_enforce_if(lit, within[k])
                if k and max(needs[:k]) > needs[k]:
                    m.add(v.heat >= cool_end + cut).only_enforce_if(lit, within[k])
