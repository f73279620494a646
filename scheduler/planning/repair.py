"""The last word on jobs that found no place: look everywhere, then say why."""

from __future__ import annotations

from scheduler.model import Job, Reason, Unplaced
from scheduler.planning.compiled import Kernels, pool_of
from scheduler.planning.kernel.last import place_anywhere
from scheduler.planning.kernel.spools import lot_asked
from scheduler.planning.kernel.tables import State
from scheduler.planning.pins import Held
from scheduler.planning.problem import Task


def usable_spools(task: Task, S: State, j: int, f: int) -> list[int]:
    """Spools with enough left, of the lot to which the job is bound, for one feed."""
    P, ref = task.problem, 2 * j + f
    lot = lot_asked(P, S, j) if f == 0 else -1
    return [
        s
        for s in P.cand[P.cand_lo[ref] : P.cand_hi[ref]]
        if S.left_g[s] + 1e-9 >= P.j_grams[ref] and lot != -2 and (lot < 0 or P.s_lot[s] == lot)
    ]


def place_left_over(task: Task, S: State, held: dict[str, Held], kernels: Kernels | None) -> State:
    """Give every unplaced job that something fits a last chance, until nothing changes."""
    P = task.problem
    left = [
        j
        for j, job in enumerate(task.scenario.jobs)
        if S.printer[j] < 0 and job.id not in held and P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1]
    ]
    if not left:
        return S
    pool = pool_of(P, S, 0) if kernels is not None else None

    def took(j: int) -> bool:
        if kernels is not None and pool is not None:
            return bool(kernels.place_anywhere(pool.whole, pool.real, j))
        return bool(place_anywhere(P, S, j))

    changed = True
    while changed and left:
        changed = False
        for j in list(left):
            if took(j):
                left.remove(j)
                changed = True
    return S if pool is None else pool.state(S)


def unplaced_reasons(task: Task, S: State, held: dict[str, Held]) -> tuple[Unplaced, ...]:
    """Why each job without a place has none."""
    out = []
    for j, job in enumerate(task.scenario.jobs):
        if S.printer[j] >= 0:
            continue
        if not task.matcher.fits_something(job.id):
            out.append(Unplaced(job.id, task.matcher.verdict(job.id).reasons))
        elif job.id in held:
            out.append(Unplaced(job.id, (held[job.id].reason(job),)))
        else:
            out.append(Unplaced(job.id, (_stock_or_horizon(task, S, j, job),)))
    return tuple(out)


def _stock_or_horizon(task: Task, S: State, j: int, job: Job) -> Reason:
    P = task.problem
    for f, feed in enumerate(job.feeds):
        if not usable_spools(task, S, j, f):
            ref = 2 * j + f
            lot = lot_asked(P, S, j) if f == 0 else -1
            there = max(
                (
                    S.left_g[s]
                    for s in P.cand[P.cand_lo[ref] : P.cand_hi[ref]]
                    if lot < 0 or P.s_lot[s] == lot
                ),
                default=0.0,
            )
            of_lot = f" of lot {_lot_name(task, lot)}" if lot >= 0 else ""
            asked = f"{feed.grams:g} g of {feed.material}{of_lot} on one spool asked for"
            text = f"{asked}, {there:g} g left at most"
            return Reason("stock", None, None, None, feed.grams, round(there, 6), text)
    if len(job.feeds) == 2 and usable_spools(task, S, j, 0) == usable_spools(task, S, j, 1):
        if len(usable_spools(task, S, j, 0)) == 1:
            text = "two spools asked for, one left that has enough"
            return Reason("stock", None, None, None, 2, 1, text)
    end = max(shift.end for shift in task.scenario.shifts).isoformat(timespec="minutes")
    text = f"no place is left for it before the last shift ends ({end})"
    return Reason("horizon", None, None, None, None, end, text)


def _lot_name(task: Task, lot: int) -> str:
    return next(name for name, number in task.names.lots.items() if number == lot)
