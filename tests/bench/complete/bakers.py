"""Runs of dryers and ovens: batches, rolling dryers, anneals."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from ortools.sat.python import cp_model

from scheduler.planning.kernel.tables import ROLLING
from tests.bench.complete.shop import RUNS, Shop
from tests.bench.complete.spools import Mount, Spools
from tests.bench.complete.visits import Lit, Visits


@dataclass
class Run:
    """A run that may be made: whose it is and when."""

    machine: int
    set_c: float
    used: Lit
    start: cp_model.IntVar
    length: cp_model.IntVar | int
    spools: dict[Mount, Lit]
    jobs: dict[int, Lit]


class Dryings:
    """For each feed that wants a dry spool the run that dries it, if one does."""

    def __init__(self, shop: Shop, spools: Spools) -> None:
        self.shop, self.spools, self.P = shop, spools, shop.P
        self.runs: list[Run] = []
        options: dict[tuple[int, float], list[tuple[Mount, int, Lit]]] = defaultdict(list)
        for mount in sorted(spools.wants_dry):
            lits = []
            for (b, set_c, minutes), fit in self._options(mount).items():
                lit = shop.model.new_bool_var(f"{mount} in {b} at {set_c} for {minutes}")
                lits.append(lit)
                options[b, set_c].append((mount, minutes, lit))
                for s in spools.candidates[mount]:
                    if s not in fit:
                        shop.model.add_implication(lit, spools.has[mount, s].negated())
            shop.model.add(sum(lits) == spools.dry[mount])
        self.rolling: dict[int, list[cp_model.IntervalVar]] = defaultdict(list)
        for (b, set_c), here in options.items():
            if self.P.b_kind[b] == ROLLING:
                for mount, minutes, lit in here:
                    self._roll(b, set_c, mount, minutes, lit)
            else:
                self._batches(b, set_c, here)
        self._bind_rolling()

    def _options(self, mount: Mount) -> dict[tuple[int, float, int], set[int]]:
        """Runs that could dry a spool for the mount, and which spools."""
        P, spools, found = self.P, self.spools, defaultdict(set)
        for s in spools.candidates[mount]:
            own = P.s_dry_first[s] != P.s_dry_next[s] and not self._run_before(s)
            if own:
                for other in spools.mounts:
                    if (other, mount) in spools.then:
                        self.shop.model.add_bool_or(
                            spools.then[other, mount].negated(),
                            spools.has[mount, s].negated(),
                            spools.dry[mount].negated(),
                        )
            kind = P.s_dry_first[s] if own else P.s_dry_next[s]
            for d in range(P.dry_off[kind], P.dry_off[kind + 1]):
                found[P.dry_machine[d], P.dry_set_c[d], P.dry_min[d]].add(s)
        return found

    def _run_before(self, s: int) -> bool:
        P, S = self.P, self.shop.S
        first = P.chain_off[s]
        return P.s_runs_before[s] > 0 or any(S.chain_ref[k] < 0 for k in range(first, first + S.chain_n[s]))

    def _roll(self, b: int, set_c: float, mount: Mount, minutes: int, lit: Lit) -> None:
        """A run of its own in a rolling dryer."""
        P, m, spools = self.P, self.shop.model, self.spools
        start, end = spools.dry_start[mount], spools.dry_end[mount]
        most = minutes if P.dry_storage else P.left_out_at
        length = m.new_int_var(minutes, most, f"rolling {mount} {b}")
        m.add(end == start + length).only_enforce_if(lit)
        self.rolling[b].append(m.new_optional_interval_var(start, length, end, lit, f"roll {mount} {b}"))
        load = min(P.dryer_load_min, minutes)
        self.shop.attended.append(m.new_optional_fixed_size_interval_var(start, load, lit, f"load {mount}"))
        self.runs.append(Run(b, set_c, lit, start, length, {mount: lit}, {}))

    def _bind_rolling(self) -> None:
        P, S, shop = self.P, self.shop.S, self.shop
        for b, chosen in self.rolling.items():
            there = [shop.fixed(start, end, f"stop {b}") for start, end in shop.stops(b)]
            demands = [1] * len(chosen) + [P.b_slots[b]] * len(there)
            for k in range(S.machine_n[b]):
                run = S.machine_run[b * P.machine_cap + k]
                if S.run_end[run] > 0:
                    there.append(shop.fixed(max(0, S.run_start[run]), S.run_end[run], f"begun {b}"))
                    demands.append(1)
            shop.model.add_cumulative([*chosen, *there], demands, P.b_slots[b])

    def _batches(self, b: int, set_c: float, here: list[tuple[Mount, int, Lit]]) -> None:
        """Runs of one temperature in a batch dryer, each as long as its longest recipe."""
        P, shop, m, spools = self.P, self.shop, self.shop.model, self.spools
        count = len(here) if shop.exact else min(len(here), RUNS)
        shares: dict[int, list[Lit]] = defaultdict(list)
        before: Run | None = None
        for k in range(count):
            name = f"{b} {set_c} {k}"
            lengths = [minutes for _, minutes, _ in here]
            used = m.new_bool_var(f"run {name}")
            start = m.new_int_var_from_domain(shop.when_staffed(P.dryer_load_min), f"run start {name}")
            length = m.new_int_var(0, max(lengths), f"run length {name}")
            run = Run(b, set_c, used, start, length, {}, {})
            parts = []
            for n, (mount, minutes, lit) in enumerate(here):
                part = m.new_bool_var(f"{mount} {minutes} in run {name}")
                m.add_implication(part, lit)
                m.add_implication(part, used)
                shares[n].append(part)
                # A mount may have recipes of two lengths, one for each kind of spool.
                run.spools[mount] = part if mount not in run.spools else self._either(run.spools[mount], part)
                parts.append(minutes * part)
                m.add(spools.dry_start[mount] == start).only_enforce_if(part)
                m.add(spools.dry_end[mount] == start + length).only_enforce_if(part)
            m.add_max_equality(length, parts)
            m.add(sum(run.spools.values()) <= P.b_slots[b])
            m.add(sum(run.spools.values()) >= used)
            end = m.new_int_var(0, P.left_out_at, f"run end {name}")
            shop.turns[b].append(m.new_optional_interval_var(start, length, end, used, f"run {name}"))
            load = min(P.dryer_load_min, min(lengths))
            shop.attended.append(m.new_optional_fixed_size_interval_var(start, load, used, f"load {name}"))
            if before is not None:
                m.add_implication(used, before.used)
                m.add(start >= before.start).only_enforce_if(used)
            before = run
            self.runs.append(run)
        for n, (_, _, lit) in enumerate(here):
            m.add(sum(shares[n]) == lit)

    def _either(self, a: Lit, b: Lit) -> Lit:
        both = self.shop.model.new_bool_var("either")
        self.shop.model.add(a + b == both)
        return both


class Anneals:
    """For each job that anneals its run in an oven."""

    def __init__(self, shop: Shop, visits: Visits) -> None:
        P, m = shop.P, shop.model
        self.runs: list[Run] = []
        of: dict[int, list[int]] = defaultdict(list)
        for j in visits.of:
            if P.j_anneal[j] >= 0:
                of[P.j_anneal[j]].append(j)
                visits.of[j].oven_end = m.new_int_var(0, P.left_out_at, f"annealed {j}")
        for program, jobs in of.items():
            minutes, shares = P.an_min[program], defaultdict(list)
            for b in P.an_machine[P.an_off[program] : P.an_off[program + 1]]:
                before: Run | None = None
                least = -(-len(jobs) // P.b_oven_slots[b])
                for k in range(len(jobs) if shop.exact else min(len(jobs), max(RUNS, least))):
                    name = f"oven {b} {program} {k}"
                    used = m.new_bool_var(name)
                    start = m.new_int_var_from_domain(shop.when_staffed(P.oven_load_min), f"start {name}")
                    lits = {j: m.new_bool_var(f"{j} in {name}") for j in jobs}
                    run = Run(b, P.an_temp_c[program], used, start, minutes, {}, lits)
                    for j, lit in lits.items():
                        visit = visits.of[j]
                        shares[j].append(lit)
                        m.add_implication(lit, used)
                        m.add(start >= visit.unload_end).only_enforce_if(lit)
                        m.add(visit.oven_end == start + minutes).only_enforce_if(lit)
                    m.add(sum(lits.values()) <= P.b_oven_slots[b])
                    m.add(sum(lits.values()) >= used)
                    shop.turns[b].append(m.new_optional_fixed_size_interval_var(start, minutes, used, name))
                    load = min(P.oven_load_min, minutes)
                    shop.attended.append(
                        m.new_optional_fixed_size_interval_var(start, load, used, f"load {name}")
                    )
                    if before is not None:
                        m.add_implication(used, before.used)
                        m.add(start >= before.start).only_enforce_if(used)
                    before = run
                    self.runs.append(run)
            for j in jobs:
                out = visits.of[j].out
                m.add_exactly_one([*shares[j], *([] if out is None else [out])])
