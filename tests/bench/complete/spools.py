"""Filament: which spool each feed has, in which order spools go round, how dry they are."""

from __future__ import annotations

from collections import defaultdict

from ortools.sat.python import cp_model

from scheduler.planning.kernel.tables import NEVER
from tests.bench.complete.shop import Shop
from tests.bench.complete.visits import Linear, Lit, Visit, Visits

Mount = tuple[int, int]
#: Grams are counted in thousandths.
FINE = 1000


class Spools:
    """The spool of every feed, and which feed had it before."""

    def __init__(self, shop: Shop, visits: Visits) -> None:
        self.shop, self.visits, self.P = shop, visits, shop.P
        P, m = shop.P, shop.model
        self.mounts: list[Mount] = [(j, f) for j in visits.of for f in range(P.j_feeds[j])]
        self.candidates = {
            mount: [
                s for s in self._of(mount) if shop.S.left_g[s] + 1e-9 >= P.j_grams[2 * mount[0] + mount[1]]
            ]
            for mount in self.mounts
        }
        self.has = {
            (mount, s): m.new_bool_var(f"{mount} has {s}")
            for mount in self.mounts
            for s in self.candidates[mount]
        }
        self.wants_dry = {mount for mount in self.mounts if any(P.s_needs_drying[s] for s in self._of(mount))}
        self.dry = {mount: m.new_bool_var(f"dry for {mount}") for mount in self.wants_dry}
        self.dry_start = {mount: m.new_int_var(0, shop.until, f"dry {mount}") for mount in self.wants_dry}
        self.dry_end = {mount: m.new_int_var(0, P.left_out_at, f"dried {mount}") for mount in self.wants_dry}
        #: First mount of a spool, and next mount after a mount.
        self.first: dict[tuple[int, Mount], Lit] = {}
        self.then: dict[tuple[Mount, Mount], Lit] = {}
        for mount in self.mounts:
            m.add_exactly_one([*(self.has[mount, s] for s in self.candidates[mount]), *self._out(mount)])
            for out in self._out(mount) if mount in self.wants_dry else []:
                m.add_implication(out, self.dry[mount].negated())
        self._chains()
        self._draws()
        self._lots()
        self._exposure()

    def _of(self, mount: Mount) -> list[int]:
        ref = 2 * mount[0] + mount[1]
        return list(self.P.cand[self.P.cand_lo[ref] : self.P.cand_hi[ref]])

    def _chains(self) -> None:
        """Each mount follows its spool's arrival or another mount; each is followed once at most."""
        m, S = self.shop.model, self.shop.S
        before: dict[Mount, list[Lit]] = defaultdict(list)
        after: dict[object, list[Lit]] = defaultdict(list)
        for mount in self.mounts:
            visit = self.visits.of[mount[0]]
            for s in self.candidates[mount]:
                lit = self.first[s, mount] = m.new_bool_var(f"{s} first for {mount}")
                before[mount].append(lit)
                after[s].append(lit)
                m.add_implication(lit, self.has[mount, s])
                self._follows(lit, mount, S.tail_rest[s])
            for other in self.mounts:
                common = [s for s in self.candidates[mount] if s in self.candidates[other]]
                if other[0] == mount[0] or not common:
                    continue
                lit = self.then[other, mount] = m.new_bool_var(f"spool of {other} then {mount}")
                before[mount].append(lit)
                after[other].append(lit)
                for s in self.candidates[mount]:
                    if s not in common:
                        m.add_implication(lit, self.has[mount, s].negated())
                    else:
                        m.add(self.has[mount, s] == self.has[other, s]).only_enforce_if(lit)
                self._follows(lit, mount, self.visits.of[other[0]].unload_end)
            if len(range(self.P.j_feeds[mount[0]])) == 2 and mount[1] == 0:
                for s in self.candidates[mount]:
                    if ((mount[0], 1), s) in self.has:
                        m.add_at_most_one(self.has[mount, s], self.has[(mount[0], 1), s])
            m.add_exactly_one([*before[mount], *self._out(mount)])
            if mount in self.wants_dry:
                m.add(self.dry_end[mount] <= visit.change).only_enforce_if(self.dry[mount])
        for lits in after.values():
            m.add_at_most_one(lits)

    def _follows(self, lit: Lit, mount: Mount, free: Linear) -> None:
        m = self.shop.model
        m.add(self.visits.of[mount[0]].change >= free).only_enforce_if(lit)
        if mount in self.wants_dry:
            m.add(self.dry_start[mount] >= free).only_enforce_if(lit, self.dry[mount])

    def _draws(self) -> None:
        m, of = self.shop.model, defaultdict(list)  # type: cp_model.CpModel, dict[int, list[tuple[int, Lit]]]
        for ((j, f), s), lit in self.has.items():
            of[s].append((-int(-self.P.j_grams[2 * j + f] * FINE // 1), lit))
        for s, draws in of.items():
            if sum(grams for grams, _ in draws) > self.shop.S.left_g[s] * FINE:
                m.add(sum(grams * lit for grams, lit in draws) <= self._stock(s))
        for j, visit in self.visits.of.items():
            if visit.out is None:
                continue
            # Left out only if no spool with enough is left for one of its feeds.
            lacks = []
            for f in range(self.P.j_feeds[j]):
                lacks.append(m.new_bool_var(f"{j} lacks {f}"))
                asked = -int(-self.P.j_grams[2 * j + f] * FINE // 1)
                for s in self.candidates[j, f]:
                    drawn = sum(grams * lit for grams, lit in of[s])
                    m.add(drawn > self._stock(s) - asked).only_enforce_if(lacks[-1])
            m.add_bool_or(*lacks, visit.out.negated())

    def _stock(self, s: int) -> int:
        return int(self.shop.S.left_g[s] * FINE + 1e-3)

    def _out(self, mount: Mount) -> list[Lit]:
        out = self.visits.of[mount[0]].out
        return [] if out is None else [out]

    def _lots(self) -> None:
        """A first feed from the same lot as its partner's."""
        P, S, m = self.P, self.shop.S, self.shop.model

        def of_lot(j: int, lot: int) -> Linear:
            return sum(self.has[(j, 0), s] for s in self.candidates[j, 0] if P.s_lot[s] == lot)

        for j in self.visits.of:
            partner = P.j_same_lot[j]
            if partner < 0:
                continue
            if S.printer[partner] >= 0:
                here = [out.negated() for out in self._out((j, 0))]
                m.add(of_lot(j, P.s_lot[S.spool[2 * partner]]) == 1).only_enforce_if(here)
            elif partner in self.visits.of:
                for lot in {P.s_lot[s] for k in (j, partner) for s in self.candidates[k, 0]}:
                    both = [out.negated() for k in (j, partner) for out in self._out((k, 0))]
                    m.add(of_lot(j, lot) == of_lot(partner, lot)).only_enforce_if(both)

    def _exposure(self) -> None:
        """Dried when mounted, and not too long in room air when the print ends."""
        P, S, m = self.P, self.shop.S, self.shop.model
        shelf = 0 if P.dry_storage else 1
        came: dict[Mount, cp_model.IntVar] = {}
        left: dict[Mount, cp_model.IntVar] = {}
        for mount in self.wants_dry:
            limit = P.s_open[self._of(mount)[0]]
            visit, air = self.visits.of[mount[0]], self._in_air(self.visits.of[mount[0]], mount[1])
            most = P.left_out_at if limit >= NEVER else limit
            came[mount] = m.new_int_var(0, most, f"open at {mount}")
            left[mount] = m.new_int_var(0, 2 * P.left_out_at, f"open after {mount}")
            if limit >= NEVER:
                continue
            m.add(came[mount] + visit.print_end - visit.change <= limit).only_enforce_if(air)
            m.add(left[mount] >= came[mount] + visit.unload_end - visit.change).only_enforce_if(air)
            m.add(left[mount] >= came[mount])
            m.add(came[mount] >= shelf * (visit.change - self.dry_end[mount])).only_enforce_if(
                self.dry[mount]
            )
        for (s, mount), lit in self.first.items():
            if mount not in self.wants_dry:
                continue
            if S.tail_exposed[s] < 0:
                m.add_implication(lit, self.dry[mount])
            elif P.s_open[s] < NEVER:
                shelved = shelf * (self.visits.of[mount[0]].change - S.tail_rest[s])
                wet = self.dry[mount].negated()
                m.add(came[mount] >= S.tail_exposed[s] + shelved).only_enforce_if(lit, wet)
        for (other, mount), lit in self.then.items():
            if mount in self.wants_dry and P.s_open[self._of(mount)[0]] < NEVER:
                before, visit = self.visits.of[other[0]], self.visits.of[mount[0]]
                shelved = shelf * (visit.change - before.unload_end)
                m.add(came[mount] >= left[other] + shelved).only_enforce_if(lit, self.dry[mount].negated())

    def _in_air(self, visit: Visit, feed: int) -> Lit:
        m = self.shop.model
        air = m.new_bool_var(f"{visit.j} {feed} in room air")
        m.add(sum(way.taken for way in visit.ways if self.P.h_dry_feed[way.heads[feed]] == 0) == air)
        return air

    def stays(self, before: Mount | None, mount: Mount, lit: Lit, spool: int, since: int) -> Lit | None:
        """Whether the spool last on a head is mounted again and was nowhere else; ``None`` if it can't be.

        Parameters
        ----------
        lit : Lit
            Whether ``mount`` follows ``before`` on the head.
        spool, since : int
            What was on the head before all mounts of the plan, and until when.
        """
        m = self.shop.model
        if before is None:
            follows = self.first.get((spool, mount)) if self._untouched(spool, since) else None
        else:
            follows = self.then.get((before, mount))
        if follows is None:
            return None
        keep = m.new_bool_var(f"{mount} keeps its spool after {before}")
        conditions = [lit, follows]
        if mount in self.wants_dry:
            conditions.append(self.dry[mount].negated())
        for condition in conditions:
            m.add_implication(keep, condition)
        m.add_bool_or(keep, *(condition.negated() for condition in conditions))
        return keep

    def _untouched(self, s: int, since: int) -> bool:
        """Whether begun work has the spool nowhere after ``since``."""
        P, S = self.P, self.shop.S
        if s < 0:
            return False
        first = P.chain_off[s]
        return all(S.chain_end[k] <= max(0, since) for k in range(first, first + S.chain_n[s]))
