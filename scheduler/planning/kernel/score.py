"""What a place is worth, and what no place on a machine can be better than."""

from __future__ import annotations

from scheduler.planning.kernel.hands import stop_overlap
from scheduler.planning.kernel.heat import print_minutes
from scheduler.planning.kernel.tables import NEVER, TOLL_MIN, Floats, Problem, State
from scheduler.planning.kernel.timing import BEGIN, CHANGE, CHANGE_END, DONE, HEAT, UNLOAD_END

#: Weights of a choice, all in late hours: an hour of finishing later; an hour on a crowded printer;
#: an hour that the printer stands idle before; an hour of people; a certificate not asked for.
FINISH, CROWD, IDLE, EFFORT, CERTIFICATE = range(5)
#: In `State.weights` behind them: a machine other than the one that the job came from is looked at only if
#: it could be better by so much.
STICK = 5
#: Chance that a step which nothing waits for leaves its minutes to others.
YIELD = 6
#: How much of the price of a machine's minutes a choice pays.
TOLL = 7
#: What a machine may seem to cost at most beyond what it does, by chance, late hours.
WHIM = 8


def least_on(P: Problem, S: State, j: int, p: int) -> int:
    """Least minutes from a changeover's start to its unload's end on printer ``p``."""
    recipe = P.j_recipe[j]
    return (
        P.plate_min
        + P.p_bed_heat[p]
        + P.r_soak[recipe]
        + P.start_min
        + print_minutes(P, j, p)
        + P.k_cool_min[recipe * P.printer_kinds + P.p_kind[p]]
        + P.unload_min
    )


def staffed_from(P: Problem, minute: int, work: int) -> int:
    """First minute at or after ``minute`` at which somebody is there; the end of the shifts if none is.

    Work of no minutes needs nobody. What a begun job left before the plan's start counts as left at it.
    """
    if minute < 0:
        minute = 0
    if work <= 0:
        return minute
    return P.staffed_next[minute] if minute < P.horizon else minute


def soonest_unload(P: Problem, j: int, p: int, start: int) -> int:
    """No unload on printer ``p`` ends before this if the changeover begins at ``start`` or later."""
    recipe = P.j_recipe[j]
    ready = staffed_from(P, start, P.plate_min) + P.plate_min + P.p_bed_heat[p] + P.r_soak[recipe]
    length = P.start_min + print_minutes(P, j, p) + P.k_cool_min[recipe * P.printer_kinds + P.p_kind[p]]
    begin = staffed_from(P, ready, P.start_min)
    if P.p_unattended[p] == 0:
        while begin < P.horizon and begin + length > P.stretch_end[begin]:
            begin = staffed_from(P, P.stretch_end[begin], 1)
    stop = stop_overlap(P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, begin, begin + length)
    if stop >= 0:
        begin = staffed_from(P, stop, P.start_min)
    return staffed_from(P, begin + length, P.unload_min) + P.unload_min


def late_hours(P: Problem, j: int, done: int) -> float:
    """Weighted late hours of a job done at ``done``."""
    if done <= P.j_due[j]:
        return 0.0
    return P.j_weight[j] * (done - P.j_due[j]) / 60.0


def soonest_on(P: Problem, S: State, j: int, p: int, gaps: int, least: int) -> int:
    """No place on printer ``p`` is left before this; gaps between placed jobs count if ``gaps`` is 1."""
    start = max(0, P.j_release[j], P.p_free[p])
    last = S.last[p]
    if last >= 0 and S.unload_end[last] > start:
        found = -1
        if gaps == 1 and S.idle[p] >= least:
            since, after = start, S.first[p]
            while after >= 0 and found < 0:
                if S.change_end[after] - since >= least:
                    found = since
                if S.unload_end[after] > since:
                    since = S.unload_end[after]
                after = S.after[after]
        start = found if found >= 0 else S.unload_end[last]
    return soonest_unload(P, j, p, start)


def late_least(P: Problem, S: State, j: int) -> float:
    """Weighted late minutes that job ``j`` has at least beside the plan at hand, alone or not."""
    fit = P.j_fit[j]
    fewest = 1e300
    for i in range(P.fit_off[fit], P.fit_off[fit + 1]):
        p = P.fit_printer[i]
        done = soonest_on(P, S, j, p, 1, least_on(P, S, j, p)) + P.j_finish[j]
        if P.j_anneal[j] >= 0:
            done += P.an_min[P.j_anneal[j]]
        late = 0.0
        if done > P.j_due[j]:
            late = P.j_weight[j] * (done - P.j_due[j])
        if late < fewest:
            fewest = late
            if fewest <= S.alone[j]:
                return S.alone[j]
    return fewest if fewest < 1e300 else S.alone[j]


def unload_by(P: Problem, j: int, done: float) -> int:
    """Last minute of an unload with which job ``j`` can be done at ``done``."""
    at = done - P.j_finish[j]
    if P.j_anneal[j] >= 0:
        at -= P.an_min[P.j_anneal[j]]
    if at < 0.0:
        return 0
    if at >= NEVER:
        return NEVER
    return int(at)


def last_unload(P: Problem, j: int, late: float) -> int:
    """Last minute of an unload with which job ``j`` has no more than ``late`` weighted late minutes."""
    if late < 0.0:
        return 0
    if P.j_weight[j] <= 0.0 or P.j_due[j] >= NEVER:
        return NEVER
    return unload_by(P, j, P.j_due[j] + late / P.j_weight[j] + 1e-6)


def least_score(P: Problem, j: int, p: int, unloaded: int, least: int, W: Floats) -> float:
    """No place on printer ``p`` scores below this if the job is not unloaded before ``unloaded``."""
    done = unloaded + P.j_finish[j]
    if P.j_anneal[j] >= 0:
        done += P.an_min[P.j_anneal[j]]
    score = late_hours(P, j, done) + W[FINISH] * done / 60.0 + W[CROWD] * P.p_crowd[p] * least / 60.0
    if P.j_keep[j] >= 0 and P.j_keep[j] != p:
        score += P.move_cost
    return score


def deadline(P: Problem, j: int, p: int, least: int, certificates: int, best: float, W: Floats) -> int:
    """Last minute of an unload with which a place on printer ``p`` can still score below ``best``."""
    if best >= 1e300 or W[FINISH] <= 0.0:
        return NEVER
    room = 60.0 * (best - W[CERTIFICATE] * certificates) - W[CROWD] * P.p_crowd[p] * least
    room -= W[EFFORT] * P.plate_min
    if P.j_keep[j] >= 0 and P.j_keep[j] != p:
        room -= 60.0 * P.move_cost
    done = room / W[FINISH]
    if done > P.j_due[j]:
        done = P.j_due[j] + (room - W[FINISH] * P.j_due[j]) / (P.j_weight[j] + W[FINISH])
    return unload_by(P, j, done)


def toll_edges(P: Problem) -> int:
    """At how many minutes, `TOLL_MIN` apart from 0 on, `State.toll` has figures for each printer."""
    return P.horizon // TOLL_MIN + 2


def paid_by(P: Problem, S: State, p: int, minute: int) -> float:
    """What all minutes of printer ``p`` before this one cost, late hours."""
    n = toll_edges(P)
    k = max(0, minute) // TOLL_MIN
    if k >= n - 1:
        return S.toll[p * n + n - 1]
    before, by = S.toll[p * n + k], S.toll[p * n + k + 1]
    return before + (by - before) * float(max(0, minute) - TOLL_MIN * k) / TOLL_MIN


def score_of(P: Problem, S: State, j: int, p: int, prev: int, s0: int, s1: int, W: Floats) -> float:
    """Score of the timing in the scratch, in late hours."""
    t = S.t
    since = S.unload_end[prev] if prev >= 0 else max(0, P.p_free[p])
    score = late_hours(P, j, t[DONE]) + W[FINISH] * t[DONE] / 60.0
    score += W[CROWD] * P.p_crowd[p] * (t[UNLOAD_END] - t[CHANGE]) / 60.0
    if t[CHANGE] > since:
        score += W[IDLE] * (t[CHANGE] - since) / 60.0
    score += W[EFFORT] * (t[CHANGE_END] - t[CHANGE] + 0.1 * (t[BEGIN] - t[HEAT])) / 60.0
    if S.weights[TOLL] > 0.0:
        score += S.weights[TOLL] * (paid_by(P, S, p, t[UNLOAD_END]) - paid_by(P, S, p, t[CHANGE]))
    if S.weights[WHIM] > 0.0:
        score += S.whim[p]
    score += W[CERTIFICATE] * P.s_certs[s0]
    if s1 >= 0:
        score += W[CERTIFICATE] * P.s_certs[s1]
    if P.j_keep[j] >= 0 and P.j_keep[j] != p:
        score += P.move_cost
    return score
