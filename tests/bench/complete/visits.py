"""Jobs on printers: where, in which order, and the minutes of their steps."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
from ortools.sat.python import cp_model

from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.tables import NEVER
from tests.bench.complete.shop import Shop

Lit = cp_model.IntVar
Linear = cp_model.LinearExprT

#: Weights of jobs are whole multiples of 1 / SCALE.
SCALE = 100


@dataclass
class Way:
    """A printer with a head and a nozzle for each feed, and whether the job takes it."""

    printer: int
    heads: tuple[int, ...]
    nozzles: tuple[int, ...]
    taken: Lit


@dataclass
class Visit:
    """One job's stay: its choices and minutes."""

    j: int
    ways: list[Way]
    on: dict[int, Lit]
    #: Left out for want of stock; ``None`` where stock can't run out.
    out: Lit | None
    change: cp_model.IntVar
    length: cp_model.IntVar
    changed: cp_model.IntVar
    heat: cp_model.IntVar
    begin: cp_model.IntVar
    print_end: cp_model.IntVar
    cool_end: cp_model.IntVar
    unload: cp_model.IntVar
    unload_end: Linear
    #: Minutes of the changeover for each feed beside the plate.
    added: dict[int, Linear] = field(default_factory=dict)
    oven_end: cp_model.IntVar | None = None


class Visits:
    """All jobs that are to be placed, by number, and which follows which on each printer."""

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self.of = {j: self._visit(j) for j in shop.todo}
        #: For each printer, jobs (or -1 for what was there before) with their next and the choice of it.
        self.next: dict[int, list[tuple[int, int, Lit]]] = {}
        for p in range(shop.P.printers):
            self._row(p, [v for v in self.of.values() if p in v.on])
            self._stops(p, [v for v in self.of.values() if p in v.on])

    def _visit(self, j: int) -> Visit:
        shop, P, m = self.shop, self.shop.P, self.shop.model
        fit, ways = P.j_fit[j], list[Way]()
        for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
            p, found = P.fit_printer[i], P.fit_ways[i]
            for w in range(P.way_off[found], P.way_off[found + 1]):
                feeds = range(P.j_feeds[j])
                heads = tuple(P.p_head_off[p] + P.way_head[2 * w + f] for f in feeds)
                nozzles = tuple(P.way_nozzle[2 * w + f] for f in feeds)
                ways.append(Way(p, heads, nozzles, m.new_bool_var(f"{j} way {p} {w}")))
        out = m.new_bool_var(f"{j} left out") if self._may_lack(j) else None
        m.add_exactly_one([way.taken for way in ways] + ([] if out is None else [out]))
        by_printer: dict[int, list[Lit]] = defaultdict(list)
        for way in ways:
            by_printer[way.printer].append(way.taken)
        on: dict[int, Lit] = {}
        for p, lits in by_printer.items():
            on[p] = lits[0] if len(lits) == 1 else m.new_bool_var(f"{j} on {p}")
            if len(lits) > 1:
                m.add(sum(lits) == on[p])
        floor = max(0, P.j_release[j])
        change = m.new_int_var_from_domain(shop.when_staffed(P.plate_min, floor), f"change {j}")
        each = P.spool_swap_min + P.nozzle_swap_min + max(P.purge_min, default=0)
        length = m.new_int_var(P.plate_min, P.plate_min + P.j_feeds[j] * each, f"length {j}")
        heat = m.new_int_var(floor, shop.until, f"heat {j}")
        begin = m.new_int_var_from_domain(shop.when_staffed(P.start_min, floor), f"begin {j}")
        unload = m.new_int_var_from_domain(shop.when_staffed(P.unload_min, floor), f"unload {j}")
        prints = {p: P.start_min + print_minutes(P, j, p) for p in on}
        cools = {p: P.k_cool_min[P.j_recipe[j] * P.printer_kinds + P.p_kind[p]] for p in on}
        print_end = m.new_int_var(0, P.left_out_at, f"printed {j}")
        cool_end = m.new_int_var(0, P.left_out_at, f"cool {j}")
        m.add(print_end == begin + sum(prints[p] * lit for p, lit in on.items()))
        m.add(cool_end == print_end + sum(cools[p] * lit for p, lit in on.items()))
        changed = m.new_int_var(0, shop.until, f"changed {j}")
        m.add(changed == change + length)
        unload_end = unload + P.unload_min
        visit = Visit(
            j, ways, on, out, change, length, changed, heat, begin, print_end, cool_end, unload, unload_end
        )
        m.add(heat >= changed)
        m.add(unload >= cool_end)
        pin = shop.task.scenario.jobs[j].pinned
        if pin is not None:
            m.add(begin == shop.task.scenario.site.minute(pin.print_start) - P.start_min)
            m.add(on[shop.task.names.printers[pin.printer]] == 1)
        here = m.new_constant(1) if out is None else out.negated()
        shop.attended.append(m.new_optional_interval_var(change, length, changed, here, f"c {j}"))
        for at, minutes, name in ((begin, P.start_min, "s"), (unload, P.unload_min, "u")):
            shop.attended.append(m.new_optional_fixed_size_interval_var(at, minutes, here, f"{name} {j}"))
        return visit

    def _may_lack(self, j: int) -> bool:
        """Whether the others could use up every spool that would do for some feed of the job."""
        P, S = self.shop.P, self.shop.S
        if self.shop.task.scenario.jobs[j].pinned is not None:
            return False
        for ref in range(2 * j, 2 * j + P.j_feeds[j]):
            fit = set(P.cand[P.cand_lo[ref] : P.cand_hi[ref]])
            over = [S.left_g[s] - P.j_grams[ref] for s in fit]
            others = sum(
                P.j_grams[other]
                for k in self.shop.todo
                for other in range(2 * k, 2 * k + P.j_feeds[k])
                if k != j and fit & set(P.cand[P.cand_lo[other] : P.cand_hi[other]])
            )
            if others >= sum(more for more in over if more >= 0):
                return True
        return False

    def _row(self, p: int, here: list[Visit]) -> None:
        """One job after the other, the first not before the printer is free."""
        shop, P, S, m = self.shop, self.shop.P, self.shop.S, self.shop.model
        floor = max(0, P.p_free[p], S.unload_end[S.last[p]] if S.last[p] >= 0 else 0)
        arcs, self.next[p] = [], []
        if not here:
            return
        arcs.append((0, 0, m.new_bool_var(f"nothing on {p}")))
        for a, v in enumerate(here, 1):
            arcs.append((a, a, v.on[p].negated()))
            first, last = m.new_bool_var(f"first {v.j} {p}"), m.new_bool_var(f"last {v.j} {p}")
            arcs += [(0, a, first), (a, 0, last)]
            self.next[p].append((-1, v.j, first))
            m.add(v.change >= floor).only_enforce_if(v.on[p])
            for b, w in enumerate(here, 1):
                if w is not v:
                    lit = m.new_bool_var(f"{v.j} then {w.j} on {p}")
                    arcs.append((a, b, lit))
                    self.next[p].append((v.j, w.j, lit))
                    m.add(w.change >= v.unload_end).only_enforce_if(lit)
        m.add_circuit(arcs)
        stays = []
        for v in here:
            size = m.new_int_var(0, shop.until, f"stay {v.j} {p}")
            stays.append(m.new_optional_interval_var(v.change, size, v.unload_end, v.on[p], f"{v.j} {p}"))
        m.add_no_overlap(stays)

    def _stops(self, p: int, here: list[Visit]) -> None:
        """No step in downtime; heat, print and cool-down watched where the printer asks for it."""
        shop, P, m = self.shop, self.shop.P, self.shop.model
        lo, hi = P.p_down_off[p], P.p_down_off[p + 1]
        stops = [
            (max(0, a), b)
            for a, b in zip(P.down_start[lo:hi], P.down_end[lo:hi], strict=True)
            if b > max(0, a)
        ]
        staffed = np.asarray(P.staffed_next[: shop.until]) == np.arange(shop.until)
        edges = np.flatnonzero(np.diff(np.concatenate(([0], (~staffed).astype(int), [0])))).reshape(-1, 2)
        nights = [(int(a), int(b)) for a, b in edges] + [(shop.until, P.left_out_at + 1)]
        hot = []
        for v in here:
            size = m.new_int_var(0, P.left_out_at, f"hot {v.j} {p}")
            hot.append(m.new_optional_interval_var(v.heat, size, v.cool_end, v.on[p], f"hot {v.j} {p}"))
        if P.p_unattended[p] == 0:
            m.add_no_overlap([*hot, *(shop.fixed(a, b, f"night {a}") for a, b in nights)])
        if not stops:
            return
        down = [shop.fixed(a, b, f"down {p}") for a, b in stops]
        hands = []
        for v in here:
            size = v.length
            name = f"change {v.j} {p}"
            hands.append(m.new_optional_interval_var(v.change, size, v.changed, v.on[p], name))
            hands.append(
                m.new_optional_fixed_size_interval_var(v.unload, P.unload_min, v.on[p], f"unload {v.j} {p}")
            )
        m.add_no_overlap([*hot, *hands, *down])

    def lateness(self) -> list[Linear]:
        """Weighted late minutes of each job, times `SCALE`."""
        P, m, out = self.shop.P, self.shop.model, []
        for j, v in self.of.items():
            if P.j_due[j] >= NEVER or P.j_weight[j] <= 0:
                continue
            late = m.new_int_var(0, 2 * P.left_out_at + abs(P.j_due[j]), f"late {j}")
            end = v.unload_end if v.oven_end is None else v.oven_end
            done = m.add(late >= end + P.j_finish[j] - P.j_due[j])
            if v.out is not None:
                done.only_enforce_if(v.out.negated())
                m.add(late >= P.left_out_at - P.j_due[j]).only_enforce_if(v.out)
            out.append(round(P.j_weight[j] * SCALE) * late)
        return out
