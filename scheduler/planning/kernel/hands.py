"""Free hands by minute: find, take and give back."""

from __future__ import annotations

from scheduler.planning.kernel.tables import NEVER, Problem, State


def slot_after(P: Problem, S: State, minute: int, length: int) -> int:
    """First minute at or after ``minute`` with a free hand for ``length`` minutes, -1 if none."""
    if length <= 0:
        return minute
    hands = S.hands
    at = minute
    last = P.horizon - length
    while at <= last:
        # Look from the far end: a busy minute there rules out every start up to it.
        k = at + length - 1
        while k >= at and hands[k] > 0:
            k -= 1
        if k < at:
            return at
        at = P.staffed_next[k + 1]
    return -1


def slot_before(P: Problem, S: State, end: int, length: int, floor: int) -> int:
    """Last minute at or after ``floor`` with a free hand for ``length`` minutes up to ``end``, -1 if none."""
    if length <= 0:
        return end if end >= floor else -1
    hands = S.hands
    at = min(end, P.horizon) - length
    while at >= floor:
        k = at
        while k < at + length and hands[k] > 0:
            k += 1
        if k == at + length:
            return at
        at = k - length
    return -1


def is_free(P: Problem, S: State, start: int, length: int) -> int:
    """1 if a hand is free in every minute of the stretch."""
    if length <= 0:
        return 1
    if start < 0 or start + length > P.horizon:
        return 0
    for at in range(start, start + length):
        if S.hands[at] <= 0:
            return 0
    return 1


def take(S: State, start: int, length: int) -> None:
    """Bind one hand for the stretch."""
    for at in range(start, start + length):
        S.hands[at] -= 1


def give(S: State, start: int, length: int) -> None:
    """Free one hand again for the stretch."""
    for at in range(start, start + length):
        S.hands[at] += 1


def stop_overlap(off_lo: int, off_hi: int, starts: list[int], ends: list[int], start: int, end: int) -> int:
    """End of the first stop that overlaps ``[start, end)``, -1 if none does."""
    if end <= start:
        return -1
    found = NEVER
    for k in range(off_lo, off_hi):
        if starts[k] < end and ends[k] > start and starts[k] < ends[k] and ends[k] < found:
            found = ends[k]
    if found == NEVER:
        return -1
    return found


def attended_after(P: Problem, S: State, p: int, minute: int, length: int) -> int:
    """First minute at or after ``minute`` with a free hand at printer ``p`` while it is not stopped."""
    at = minute
    while True:
        at = slot_after(P, S, at, length)
        if at < 0:
            return -1
        stop = stop_overlap(P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, at, at + length)
        if stop < 0:
            return at
        at = stop


def attended_before(P: Problem, S: State, p: int, end: int, length: int, floor: int) -> int:
    """Last such minute with the work over by ``end``, -1 if none."""
    to = end
    while True:
        at = slot_before(P, S, to, length, floor)
        if at < 0:
            return -1
        stops = 0
        for k in range(P.p_down_off[p], P.p_down_off[p + 1]):
            if length > 0 and P.down_start[k] < at + length and P.down_end[k] > at:
                stops = 1
                to = P.down_start[k]
        if stops == 0:
            return at
