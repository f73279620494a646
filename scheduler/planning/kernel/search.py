"""Improve a plan: cut the rows of a few machines, put their jobs back in another order, keep or undo."""

from __future__ import annotations

import math

from scheduler.planning.kernel.choose import UNTIL, place_best
from scheduler.planning.kernel.cut import close_cut, take_out
from scheduler.planning.kernel.dice import chance, roll
from scheduler.planning.kernel.place import late_weight, missing_weight
from scheduler.planning.kernel.score import STICK, TOLL, WHIM, YIELD, last_unload, late_least
from scheduler.planning.kernel.seat import LIFTED_N, lift, seat
from scheduler.planning.kernel.tables import (
    ATTENDED,
    BARRED,
    HEATED,
    LATE,
    MISSING,
    NEVER,
    Problem,
    State,
)
from scheduler.planning.kernel.undo import keep_noted, mark, note, recorded, undo

#: How the search works, in `State.tune`: temperature (weighted late minutes), jobs out at most, chance of
#: a narrow window, printers looked at, what an attended minute weighs; the rest as in `Tuning`.
HEAT_OF, MOST_OUT, WINDOW, LOOK, PEOPLE, BY_START, BY_CHANCE, MORE_ROWS, TRIES_OF, FURTHER, SPOOLS, BAKERS = (
    range(12)
)
BUSY, LOTS, LOST, STAY, LEAVE, TOLLS, PART, WHIMS, SEATS = 12, 13, 14, 15, 16, 17, 18, 19, 20
#: The job without a place that a cut is made for, in the scratch; -1 for none.
WANTED = 146
#: Who binds hands so long before, or after, the minute that a cut begins at is near it, minutes.
NEAR_BEFORE, NEAR_AFTER = 240, 120
#: Random jobs looked at for some of those.
NEAR_TRIES = 24
#: Unloads and loadings so many minutes around what is cut can be lifted.
LIFT_AROUND = 720
#: What it found, in `State.told`: cost now and of the best plan, rounds, accepted, jobs put back.
NOW, BEST, ROUNDS, ACCEPTED, PUT_BACK = range(5)


def cost_now(S: State) -> float:
    """What the search makes small: weighted late minutes, a job left out at its weight, people's minutes."""
    people = S.total[ATTENDED] + 0.1 * S.total[HEATED]
    return S.total[LATE] + S.total[MISSING] + S.tune[PEOPLE] * people


def any_job(P: Problem, S: State) -> int:
    """A random job, of the part that is searched if there is one."""
    if S.part[0] == 0:
        return roll(S, P.jobs)
    return S.part[1 + roll(S, S.part[0])]


def pick_late(P: Problem, S: State) -> int:
    """A job to begin with: of a few random ones the one that costs most beyond what it must; -1 if none."""
    pick = -1
    most = -1.0
    for _ in range(2 + roll(S, int(S.tune[TRIES_OF]))):
        j = any_job(P, S)
        if S.fixed[j] != 0 or S.printer[j] < 0:
            continue
        cost = late_weight(P, S, j) - S.alone[j]
        if cost > most:
            most = cost
            pick = j
    return pick


def pick_lost(P: Problem, S: State) -> int:
    """A job that could have a place and has none, the first from a random one on; -1 if all have theirs."""
    n = P.jobs if S.part[0] == 0 else S.part[0]
    k = roll(S, n)
    for _ in range(n):
        j = k if S.part[0] == 0 else S.part[1 + k]
        if S.printer[j] < 0 and S.fixed[j] != BARRED and P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1]:
            return j
        k = k + 1 if k + 1 < n else 0
    return -1


def another_printer(P: Problem, S: State, j: int) -> int:
    """A random printer that fits the job."""
    fit = P.j_fit[j]
    n = P.fit_off[fit + 1] - P.fit_off[fit]
    return P.fit_printer[P.fit_off[fit] + roll(S, n)]


def cut_row(P: Problem, S: State, p: int, since: int, until: int, n: int) -> int:
    """Take out the jobs of printer ``p`` with changeovers in ``[since, until)``; how many are out then."""
    j = S.last[p]
    while j >= 0 and S.change[j] >= since:
        before = S.before[j]
        if S.change[j] < until and S.fixed[j] == 0:
            if n >= int(S.tune[MOST_OUT]):
                return n
            n = take_out(P, S, j, n)
        j = before
    return n


def cut_spool(P: Problem, S: State, j: int, since: int, n: int) -> int:
    """Take out those who use, from ``since`` on, a spool that job ``j`` could have; how many are out then."""
    ref = 2 * j + roll(S, P.j_feeds[j])
    many = P.cand_hi[ref] - P.cand_lo[ref]
    if many == 0:
        return n
    s = P.cand[P.cand_lo[ref] + roll(S, many)]
    base = P.chain_off[s]
    k = S.chain_n[s] - 1
    while k >= 0 and S.chain_start[base + k] >= since and n < int(S.tune[MOST_OUT]):
        user = S.chain_ref[base + k]
        k -= 1
        if user >= 0 and S.fixed[user // 2] == 0:
            n = take_out(P, S, user // 2, n)
            if k > S.chain_n[s] - 1:
                k = S.chain_n[s] - 1
    return n


def cut_baker(P: Problem, S: State, j: int, since: int, n: int) -> int:
    """Take out some who are in an oven or a dryer from ``since`` on as job ``j`` could be."""
    for _ in range(8):
        other = any_job(P, S)
        if S.printer[other] < 0 or S.fixed[other] != 0 or n >= int(S.tune[MOST_OUT]):
            continue
        if S.change[other] < since - 720 or S.change[other] > since + 1440:
            continue
        both = P.j_anneal[j] >= 0 and P.j_anneal[other] >= 0
        if both or P.j_material[2 * j] == P.j_material[2 * other]:
            n = take_out(P, S, other, n)
    return n


def cut_busy(P: Problem, S: State, since: int, n: int) -> int:
    """Take out some who bind hands at about ``since``, on any machine; how many are out then."""
    lo, hi = since - NEAR_BEFORE, since + NEAR_AFTER
    for _ in range(NEAR_TRIES):
        other = any_job(P, S)
        if n >= int(S.tune[MOST_OUT]):
            return n
        if S.printer[other] < 0 or S.fixed[other] != 0:
            continue
        if (lo <= S.change[other] and S.change[other] <= hi) or (
            lo <= S.unload[other] and S.unload[other] <= hi
        ):
            n = take_out(P, S, other, n)
    return n


def cut_lot(P: Problem, S: State, j: int, n: int) -> int:
    """Take out all who are bound to one lot with job ``j``, so that another can be theirs."""
    for k in range(P.g_off[P.j_group[j]], P.g_off[P.j_group[j] + 1]):
        other = P.g_job[k]
        if S.printer[other] >= 0 and S.fixed[other] == 0 and n < int(S.tune[MOST_OUT]):
            n = take_out(P, S, other, n)
    return n


def cut_for_lost(P: Problem, S: State) -> int:
    """Make room for a job without a place: who uses a spool of its, and some on a machine; as `cut_some`."""
    j = pick_lost(P, S)
    if j < 0:
        return -1
    S.t[WANTED] = j
    n = cut_spool(P, S, j, -NEVER, 0)
    since = P.j_release[j] + roll(S, max(1, min(P.j_due[j], P.horizon) - P.j_release[j]))
    n = cut_row(P, S, another_printer(P, S, j), since, since + 60 * (8 + roll(S, 64)), n)
    if n == 0:
        return -1
    return close_cut(P, S, n, 3 * int(S.tune[MOST_OUT]))


def cut_some(P: Problem, S: State) -> int:
    """Cut the rows of one to three machines around a costly job; how many are out, -1 for no cut."""
    S.t[WANTED] = -1
    if S.total[MISSING] > 0.0 and chance(S) < S.tune[LOST]:
        return cut_for_lost(P, S)
    seed = pick_late(P, S)
    if seed < 0:
        return -1
    p = S.printer[seed]
    since = S.change[seed]
    j = S.before[seed]
    while j >= 0 and S.fixed[j] == 0 and chance(S) < S.tune[FURTHER]:
        since = S.change[j]
        j = S.before[j]
    until = NEVER
    if chance(S) < S.tune[WINDOW]:
        until = max(S.change[seed] + 1, since + 60 * (8 + roll(S, 64)))
    n = 0
    if P.j_group[seed] >= 0 and chance(S) < S.tune[LOTS]:
        n = cut_lot(P, S, seed, n)
    n = cut_row(P, S, p, since, until, n)
    for _ in range(1 + roll(S, int(S.tune[MORE_ROWS]))):
        if chance(S) < S.tune[SPOOLS]:
            n = cut_spool(P, S, seed, since, n)
            continue
        if chance(S) < S.tune[BAKERS]:
            n = cut_baker(P, S, seed, since, n)
            continue
        if chance(S) < S.tune[BUSY]:
            n = cut_busy(P, S, since, n)
            continue
        other = another_printer(P, S, seed)
        if roll(S, 4) == 0 and n > 0:
            other = another_printer(P, S, S.out[8 * roll(S, n)])
        n = cut_row(P, S, other, since - roll(S, 600), until, n)
    if n == 0:
        return -1
    return close_cut(P, S, n, 3 * int(S.tune[MOST_OUT]))


def when_cut(S: State, n: int) -> tuple[int, int]:
    """First and last minute at which a job that was taken out had its first layer."""
    since, until = NEVER, -NEVER
    for k in range(n):
        since = min(since, S.out[8 * k + 7])
        until = max(until, S.out[8 * k + 7])
    return since, until


def line_up(P: Problem, S: State, n: int) -> int:
    """Order the ``n`` jobs taken out, and some that had no place, for putting back; how many they are."""
    dice = chance(S)
    way = 2
    if dice < S.tune[BY_START]:
        way = 0
    elif dice < S.tune[BY_START] + S.tune[BY_CHANCE]:
        way = 1
    spread = 60.0 * (1 << (2 * roll(S, 4)))
    kappa = 60.0 * roll(S, 12)
    for k in range(n):
        S.order[k] = S.out[8 * k]
    if S.t[WANTED] >= 0:
        S.order[n] = S.t[WANTED]
        n += 1
    # A job without a place has its chance now and then.
    if S.total[MISSING] > 0.0:
        for _ in range(3):
            j = any_job(P, S)
            seen = 0
            for k in range(n):
                if S.order[k] == j:
                    seen = 1
            fits = P.fit_off[P.j_fit[j]] < P.fit_off[P.j_fit[j] + 1]
            if fits and S.printer[j] < 0 and S.fixed[j] != BARRED and seen == 0:
                S.order[n] = j
                n += 1
    for k in range(n):
        j = S.order[k]
        latest = float(P.j_due[j] - P.j_finish[j] - P.j_print[j])
        if P.j_due[j] >= NEVER:
            latest = float(P.horizon)
        if way == 0:
            S.rank[k] = float(S.begin[j]) + spread * (chance(S) - 0.5)
        elif way == 1:
            S.rank[k] = chance(S)
        else:
            S.rank[k] = latest - kappa * P.j_weight[j] + spread * (chance(S) - 0.5)
    for k in range(1, n):
        j, rank = S.order[k], S.rank[k]
        m = k
        while m > 0 and S.rank[m - 1] > rank:
            S.order[m] = S.order[m - 1]
            S.rank[m] = S.rank[m - 1]
            m -= 1
        S.order[m] = j
        S.rank[m] = rank
    return n


def new_taste(S: State) -> None:
    """Weigh choices another way than last time; the constants are those of `choose`."""
    S.weights[0] = 0.01 * (1 << roll(S, 5))
    S.weights[1] = 0.02 * roll(S, 4)
    S.weights[2] = 0.01 * roll(S, 4)
    S.weights[3] = 0.02
    S.weights[4] = 0.5
    S.weights[STICK] = 0.0
    S.weights[YIELD] = 0.0
    S.weights[TOLL] = 0.0
    S.weights[WHIM] = 0.0
    if S.tune[WHIMS] > 0.0 and chance(S) < S.tune[WHIMS]:
        # Each job for itself, so who always went to one machine goes elsewhere now and then.
        S.weights[WHIM] = 0.25 * (1 << roll(S, 6))
    if S.tune[TOLLS] > 0.0 and chance(S) < S.tune[TOLLS]:
        # Who could go elsewhere leaves dear hours to those who can't.
        S.weights[TOLL] = S.tune[PART] * (1 << roll(S, 2))
    if S.tune[LEAVE] > 0.0 and chance(S) < S.tune[LEAVE]:
        S.weights[YIELD] = 0.5
    if chance(S) < S.tune[STAY]:
        # So a machine that would suit a job better is left to others, though it has hands and spools first.
        S.weights[STICK] = 0.25 * (1 << roll(S, 8))
        if roll(S, 2) == 0:
            S.was[S.out[0]] = -1


def put_back(P: Problem, S: State, n: int, most: float) -> int:
    """Place the first ``n`` jobs of the order one by one; 0 as soon as the plan can't cost ``most`` or less.

    What is placed stays as it is while more jobs come, so a job is never less late than it could be beside
    what the cut left; who comes sooner must leave the others that much.
    """
    rest = 0.0
    for k in range(n):
        S.rank[k] = late_least(P, S, S.order[k]) - missing_weight(P, S.order[k])
        rest += S.rank[k]
    if S.total[LATE] + S.total[MISSING] + rest > most:
        return 0
    for k in range(n):
        j = S.order[k]
        rest -= S.rank[k]
        S.told[PUT_BACK] += 1.0
        spare = most - S.total[LATE] - S.total[MISSING] - rest + missing_weight(P, j)
        S.t[UNTIL] = last_unload(P, j, spare) + 1
        place_best(P, S, j, S.weights, int(S.tune[LOOK]), 1, 0)
        if S.total[LATE] + S.total[MISSING] + rest > most:
            S.t[UNTIL] = 0
            return 0
    S.t[UNTIL] = 0
    return 1


def improve(P: Problem, S: State, rounds: int) -> int:
    """Cut and put back ``rounds`` times; 1 if a plan better than every one before was found and kept."""
    found = 0
    for _ in range(rounds):
        S.told[ROUNDS] += 1.0
        mark(S)
        most = cost_now(S) - S.tune[HEAT_OF] * math.log(chance(S))
        n = cut_some(P, S)
        if n <= 0:
            undo(S)
            continue
        S.t[LIFTED_N] = 0
        if S.tune[SEATS] > 0.0 and chance(S) < S.tune[SEATS]:
            since, until = when_cut(S, n)
            lift(P, S, since - LIFT_AROUND, until + LIFT_AROUND)
        n = line_up(P, S, n)
        new_taste(S)
        good = put_back(P, S, n, most)
        if good == 1 and S.t[LIFTED_N] > 0:
            good = seat(P, S)
        if recorded(S) < 0:
            # The journal was too short: only the best plan is sure.
            return -1
        after = cost_now(S)
        if good == 0 or after > most:
            undo(S)
            continue
        note(S)
        S.told[ACCEPTED] += 1.0
        S.told[NOW] = after
        if after < S.told[BEST] - 1e-6:
            S.told[BEST] = after
            keep_noted(S)
            found = 1
    S.weights[STICK] = 0.0
    S.weights[YIELD] = 0.0
    S.weights[TOLL] = 0.0
    S.weights[WHIM] = 0.0
    return found
