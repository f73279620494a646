"""Runs in dryers and ovens: find room for one, put it in, take it out."""

from __future__ import annotations

from scheduler.planning.kernel.hands import give, slot_after, stop_overlap, take
from scheduler.planning.kernel.tables import ATTENDED, BATCH, NEVER, ROLLING, Problem, State

#: Scratch: no hand is free for so many minutes from `KNOWN` on before `KNOWN_AT`.
KNOWN, KNOWN_AT, KNOWN_LOAD = 69, 70, 71
#: Scratch: whether what `find_drying` finds is remembered, how many answers are, and those: class, ready,
#: end after, found, then as it writes them. Nothing in the plan may change meanwhile.
MEMO_ON, MEMO_N, MEMO, MEMO_STEP, MEMO_MOST = 72, 73, 74, 9, 8
#: Scratch: likewise for `find_anneal`: how many answers, and those: ready, then as it writes them.
BAKED_N, BAKED, BAKED_STEP, BAKED_MOST = 152, 153, 6, 4


def blocked_until(P: Problem, S: State, b: int, oven: int, start: int, end: int) -> int:
    """Where machine ``b`` can't run over ``[start, end)``: a minute before which it is useless to try again.

    Returns -1 if it can. ``oven`` is 1 for an anneal, 0 for a drying run.
    """
    stop = stop_overlap(P.b_down_off[b], P.b_down_off[b + 1], P.b_down_start, P.b_down_end, start, end)
    if stop >= 0:
        return stop
    rolling = 1 if (oven == 0 and P.b_kind[b] == ROLLING) else 0
    together = 0
    soonest = NEVER
    for k in range(S.machine_n[b]):
        run = S.machine_run[b * P.machine_cap + k]
        if S.run_start[run] >= end:
            break
        if S.run_end[run] > start:
            if rolling == 1 and S.run_oven[run] == 0:
                together += 1
                if S.run_end[run] < soonest:
                    soonest = S.run_end[run]
            else:
                return S.run_end[run]
    if rolling == 1 and together >= P.b_slots[b]:
        # Not all of them need overlap each other; count the fullest minute.
        if most_together(P, S, b, start, end) >= P.b_slots[b]:
            return soonest
    return -1


def most_together(P: Problem, S: State, b: int, start: int, end: int) -> int:
    """Most runs that overlap in one minute of ``[start, end)`` on a rolling dryer."""
    most = 0
    base = b * P.machine_cap
    for k in range(S.machine_n[b]):
        run = S.machine_run[base + k]
        if S.run_start[run] >= end:
            break
        if S.run_end[run] <= start:
            continue
        at = S.run_start[run] if S.run_start[run] > start else start
        count = 0
        for m in range(S.machine_n[b]):
            other = S.machine_run[base + m]
            if S.run_start[other] <= at and S.run_end[other] > at:
                count += 1
        if count > most:
            most = count
    return most


def slot_known(P: Problem, S: State, minute: int, load: int) -> int:
    """`slot_after`, out of the scratch where the last look for as many minutes has the answer."""
    t = S.t
    if t[KNOWN_LOAD] == load and minute >= t[KNOWN] and minute <= t[KNOWN_AT]:
        return t[KNOWN_AT]
    at = slot_after(P, S, minute, load)
    if at >= 0:
        if t[KNOWN_LOAD] != load or t[KNOWN_AT] != at or minute < t[KNOWN]:
            t[KNOWN] = minute
        t[KNOWN_AT] = at
        t[KNOWN_LOAD] = load
    return at


def new_run_after(
    P: Problem, S: State, b: int, oven: int, slot: int, length: int, end_after: int, best_end: int
) -> int:
    """First start of a run of ``length`` from ``slot`` on that ends at or after ``end_after``.

    ``slot`` is a minute with a hand free for the loading. A rolling run may stay in longer instead of
    starting later. Returns -1 if there is none that ends before ``best_end``.
    """
    load = P.oven_load_min if oven == 1 else P.dryer_load_min
    if load > length:
        load = length
    rolling = 1 if (oven == 0 and P.b_kind[b] == ROLLING) else 0
    at = slot
    if rolling == 0 and at + length < end_after:
        at = slot_known(P, S, end_after - length, load)
    while True:
        if at < 0 or at + length >= best_end:
            return -1
        end = at + length
        if end < end_after:
            end = end_after
        again = blocked_until(P, S, b, oven, at, end)
        if again < 0:
            return at
        at = slot_known(P, S, again if again > at else at + 1, load)


def find_drying(
    P: Problem, S: State, dry_class: int, ready: int, end_after: int, slot: int, before: int
) -> int:
    """Soonest ending run that dries a spool of ``dry_class`` taken up at or after ``ready``.

    Writes to the scratch from ``slot`` on: the run to join (-1: a new one), machine, start, end,
    and the index of the recipe. Runs that end after ``before`` don't count. Returns 1 if one is found.
    """
    best = before + 1
    found = 0
    hand = -2
    S.t[KNOWN_LOAD] = -1
    for d in range(P.dry_off[dry_class], P.dry_to[dry_class]):
        b = P.dry_machine[d]
        length = P.dry_min[d]
        if ready + length >= best:
            continue
        if P.b_kind[b] == BATCH:
            # Runs lie in the order of their starts: those from `ready` on, until none can end sooner.
            k = S.machine_n[b]
            while k > 0 and S.run_start[S.machine_run[b * P.machine_cap + k - 1]] >= ready:
                k -= 1
            while k < S.machine_n[b]:
                run = S.machine_run[b * P.machine_cap + k]
                k += 1
                if S.run_start[run] + length >= best:
                    break
                if (
                    S.run_begun[run] == 0
                    and S.run_oven[run] == 0
                    and S.run_set_c[run] == P.dry_set_c[d]
                    and S.run_n[run] < P.b_slots[b]
                    and S.run_end[run] - S.run_start[run] >= length
                    and S.run_end[run] >= end_after
                    and S.run_end[run] < best
                ):
                    best = S.run_end[run]
                    found = 1
                    S.t[slot] = run
                    S.t[slot + 1] = b
                    S.t[slot + 2] = S.run_start[run]
                    S.t[slot + 3] = best
                    S.t[slot + 4] = d
        if length < P.dryer_load_min:
            hand = slot_after(P, S, ready, length)
        elif hand == -2 or P.dry_min[d - 1] < P.dryer_load_min:
            # One look for a hand serves every dryer with a run longer than the loading.
            hand = slot_known(P, S, ready, P.dryer_load_min)
        if hand < 0 or hand + length >= best:
            continue
        at = new_run_after(P, S, b, 0, hand, length, end_after, best)
        if at >= 0:
            end = at + length
            if end < end_after:
                end = end_after
            if end < best:
                best = end
                found = 1
                S.t[slot] = -1
                S.t[slot + 1] = b
                S.t[slot + 2] = at
                S.t[slot + 3] = end
                S.t[slot + 4] = d
    return found


def find_drying_again(
    P: Problem, S: State, dry_class: int, ready: int, end_after: int, slot: int, before: int
) -> int:
    """As `find_drying`; what was found is remembered while `MEMO_ON` is 1.

    For one job the same spool is tried on machine after machine, each time with the same drying.
    """
    t = S.t
    if t[MEMO_ON] == 0:
        return find_drying(P, S, dry_class, ready, end_after, slot, before)
    first = P.dry_off[dry_class]
    if first == P.dry_to[dry_class] or ready + P.dry_min[first] > before:
        return 0
    at = -1
    for k in range(min(t[MEMO_N], MEMO_MOST)):
        base = MEMO + MEMO_STEP * k
        if t[base] != dry_class or t[base + 1] > ready or t[base + 2] > end_after:
            continue
        # What is soonest for who comes sooner is so for this spool too, if it begins and ends late enough.
        if t[base + 3] == 0 or (t[base + 6] >= ready and t[base + 7] >= end_after):
            at = base
            break
    if at < 0:
        found = find_drying(P, S, dry_class, ready, end_after, slot, NEVER)
        at = MEMO + MEMO_STEP * (t[MEMO_N] % MEMO_MOST)
        t[MEMO_N] += 1
        t[at] = dry_class
        t[at + 1] = ready
        t[at + 2] = end_after
        t[at + 3] = found
        for k in range(5):
            t[at + 4 + k] = t[slot + k]
    if t[at + 3] == 0 or t[at + 7] > before:
        return 0
    for k in range(5):
        t[slot + k] = t[at + 4 + k]
    return 1


def dried_no_sooner(S: State, dry_class: int, ready: int) -> int:
    """No run of ``dry_class`` that begins at or after ``ready`` ends before this, by those looked for."""
    t = S.t
    least = 0
    for k in range(min(t[MEMO_N], MEMO_MOST)):
        base = MEMO + MEMO_STEP * k
        if t[base] == dry_class and t[base + 1] <= ready and t[base + 2] == 0:
            if t[base + 3] == 0:
                return NEVER
            if t[base + 7] > least:
                least = t[base + 7]
    return least


def dried_by(S: State, dry_class: int, ready: int) -> int:
    """When a spool of ``dry_class`` free at ``ready`` is dry, by those looked for; `NEVER` if unknown."""
    t = S.t
    for k in range(min(t[MEMO_N], MEMO_MOST)):
        base = MEMO + MEMO_STEP * k
        if t[base] == dry_class and t[base + 1] <= ready and t[base + 2] == 0 and t[base + 3] == 1:
            if t[base + 6] >= ready:
                return t[base + 7]
    return NEVER


def find_anneal(P: Problem, S: State, program: int, ready: int, slot: int) -> int:
    """Soonest ending anneal at or after ``ready``; scratch as in `find_drying`. 1 if one is found."""
    best = NEVER
    found = 0
    length = P.an_min[program]
    S.t[KNOWN_LOAD] = -1
    hand = slot_known(P, S, ready, P.oven_load_min if P.oven_load_min < length else length)
    for a in range(P.an_off[program], P.an_off[program + 1]):
        b = P.an_machine[a]
        for k in range(S.machine_n[b]):
            run = S.machine_run[b * P.machine_cap + k]
            if (
                S.run_begun[run] == 0
                and S.run_oven[run] == 1
                and S.run_start[run] >= ready
                and S.run_set_c[run] == P.an_temp_c[program]
                and S.run_end[run] - S.run_start[run] == length
                and S.run_n[run] < P.b_oven_slots[b]
                and S.run_end[run] < best
            ):
                best = S.run_end[run]
                found = 1
                S.t[slot] = run
                S.t[slot + 1] = b
                S.t[slot + 2] = S.run_start[run]
                S.t[slot + 3] = best
                S.t[slot + 4] = -1
        if hand < 0 or hand + length >= best:
            continue
        at = new_run_after(P, S, b, 1, hand, length, 0, best)
        if at >= 0 and at + length < best:
            best = at + length
            found = 1
            S.t[slot] = -1
            S.t[slot + 1] = b
            S.t[slot + 2] = at
            S.t[slot + 3] = best
            S.t[slot + 4] = -1
    return found


def anneal_no_sooner(S: State, ready: int) -> int:
    """No anneal of the job at hand from ``ready`` on ends before this, by those looked for."""
    t = S.t
    least = 0
    for k in range(min(t[BAKED_N], BAKED_MOST)):
        base = BAKED + BAKED_STEP * k
        if t[base] <= ready and t[base + 4] > least:
            least = t[base + 4]
    return least


def find_anneal_again(P: Problem, S: State, program: int, ready: int, slot: int) -> int:
    """As `find_anneal`; what was found is remembered while `MEMO_ON` is 1.

    What is soonest for who comes sooner is so for the job too, if it begins late enough.
    """
    t = S.t
    if t[MEMO_ON] == 0:
        return find_anneal(P, S, program, ready, slot)
    for k in range(min(t[BAKED_N], BAKED_MOST)):
        base = BAKED + BAKED_STEP * k
        if t[base] <= ready and t[base + 3] >= ready:
            for m in range(5):
                t[slot + m] = t[base + 1 + m]
            return 1
    if find_anneal(P, S, program, ready, slot) == 0:
        return 0
    base = BAKED + BAKED_STEP * (t[BAKED_N] % BAKED_MOST)
    t[BAKED_N] += 1
    t[base] = ready
    for m in range(5):
        t[base + 1 + m] = t[slot + m]
    return 1


def enlist(P: Problem, S: State, b: int, run: int) -> None:
    """Put a run among those of machine ``b``, by its start."""
    base = b * P.machine_cap
    k = S.machine_n[b]
    while k > 0 and S.run_start[S.machine_run[base + k - 1]] > S.run_start[run]:
        S.machine_run[base + k] = S.machine_run[base + k - 1]
        k -= 1
    S.machine_run[base + k] = run
    S.machine_n[b] += 1


def unlist(P: Problem, S: State, b: int, run: int) -> None:
    """Undo `enlist`."""
    base = b * P.machine_cap
    n = S.machine_n[b]
    k = 0
    while S.machine_run[base + k] != run:
        k += 1
    while k < n - 1:
        S.machine_run[base + k] = S.machine_run[base + k + 1]
        k += 1
    S.machine_n[b] = n - 1


def open_run(P: Problem, S: State, b: int, oven: int, start: int, end: int, set_c: float, begun: int) -> int:
    """Put an empty run on machine ``b``, its hands bound unless it has begun; its id, -1 if full."""
    n = S.machine_n[b]
    if n >= P.machine_cap or S.free_run[0] == 0:
        return -1
    run = S.free_run[S.free_run[0]]
    S.free_run[0] -= 1
    S.run_machine[run] = b
    S.run_oven[run] = oven
    S.run_set_c[run] = set_c
    S.run_start[run] = start
    S.run_end[run] = end
    S.run_n[run] = 0
    S.run_begun[run] = begun
    enlist(P, S, b, run)
    if begun == 0:
        load = load_minutes(P, oven, start, end)
        take(S, start, load)
        S.total[ATTENDED] += float(load)
    return run


def close_run(P: Problem, S: State, run: int) -> None:
    """Take an empty run out again."""
    unlist(P, S, S.run_machine[run], run)
    if S.run_begun[run] == 0:
        load = load_minutes(P, S.run_oven[run], S.run_start[run], S.run_end[run])
        give(S, S.run_start[run], load)
        S.total[ATTENDED] -= float(load)
    S.run_machine[run] = -1
    S.free_run[0] += 1
    S.free_run[S.free_run[0]] = run


def load_minutes(P: Problem, oven: int, start: int, end: int) -> int:
    """Minutes of a person at a run's beginning."""
    load = P.oven_load_min if oven == 1 else P.dryer_load_min
    if load > end - start:
        return end - start
    return load


def tie_run(S: State, ref: int, run: int) -> None:
    """Note that the spool of feed ``ref`` is dried in ``run``; its places are counted elsewhere."""
    S.run[ref] = run
    S.run_next[ref] = S.run_first[run]
    S.run_first[run] = ref


def untie_run(S: State, ref: int) -> None:
    """Undo `tie_run`."""
    run = S.run[ref]
    other = S.run_first[run]
    if other == ref:
        S.run_first[run] = S.run_next[ref]
    else:
        while S.run_next[other] != ref:
            other = S.run_next[other]
        S.run_next[other] = S.run_next[ref]
    S.run[ref] = -1
    S.run_next[ref] = -1
