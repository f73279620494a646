"""One plan carried out many times by a fast dispatcher, in machine code.

The shop does what the plan says in the plan's order on every machine; what comes late pushes what waits
for it, and each step waits for a free pair of hands, for daylight where a machine needs people, and for
the end of a downtime. A job may begin early by as much as its machine came free early, and a wait that
the plan has between two steps is never made longer than planned. Without any chance the plan comes out.

Loading this module loads the compiler, about a second; import it where it is used.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit

from scheduler.quoting.network import JOB

#: Phases of a node, the low bits of an event.
BEGIN, HEATED, COOLED = range(3)
#: An event is ``(minute * nodes + node) * PHASES + phase``, so that events sort by time.
PHASES = 4
#: Of a begun print at least this part of what is left, one in so many, is still to come.
OVERDUE = 10


@njit(cache=True)
def _push(heap: Any, size: int, value: int) -> int:
    place = size
    while place > 0:
        above = (place - 1) >> 1
        if heap[above] <= value:
            break
        heap[place] = heap[above]
        place = above
    heap[place] = value
    return size + 1


@njit(cache=True)
def _pop(heap: Any, size: int) -> int:
    """Take the first event away; the caller has read it."""
    size -= 1
    value, place = heap[size], 0
    while 2 * place + 1 < size:
        below = 2 * place + 1
        if below + 1 < size and heap[below + 1] < heap[below]:
            below += 1
        if heap[below] >= value:
            break
        heap[place] = heap[below]
        place = below
    heap[place] = value
    return size


@njit(cache=True)
def _with_hands(net: Any, crew: Any, hands: Any, machine: int, minute: int, load: int, length: int) -> int:
    """The first minute from which ``load`` minutes have a free hand and ``length`` no downtime."""
    while True:
        moved = False
        for down in range(net.down_at[machine], net.down_at[machine + 1]):
            if length > 0 and minute < net.down_end[down] and net.down_start[down] < minute + length:
                minute, moved = net.down_end[down], True
        if moved:
            continue
        if minute + load > hands.shape[0]:
            return minute
        at = minute
        while at < minute + load and hands[at] > 0:
            at += 1
        if at == minute + load:
            return minute
        minute = max(at + 1, crew.next_staffed[at])


@njit(cache=True)
def _block(
    net: Any, crew: Any, hands: Any, machine: int, minute: int, heat: int, start: int, rest: int
) -> int:
    """The first minute for a start: a hand, no downtime, and people throughout where the machine needs them.

    ``heat`` minutes before it and ``start + rest`` minutes from it on belong to the block.
    """
    whole = heat + start + rest
    guarded = net.attended_machine[machine] and 0 < whole <= crew.longest
    while True:
        minute = _with_hands(net, crew, hands, machine, minute, start, start)
        begins, moved = minute - heat, False
        for down in range(net.down_at[machine], net.down_at[machine + 1]):
            if begins < net.down_end[down] and net.down_start[down] < begins + whole:
                begins, moved = net.down_end[down], True
        if not moved and guarded and begins >= 0 and begins + whole <= hands.shape[0]:
            until = crew.stretch_end[begins]
            if until < begins + whole:
                # From within a stretch that is too short on to the next; from outside to its beginning.
                begins, moved = max(crew.next_staffed[min(until, hands.shape[0] - 1)], begins + 1), True
        if not moved:
            return minute
        minute = begins + heat


@njit(cache=True)
def _preheat(net: Any, node: int, machine: int, chamber_c: float, minutes_since: int) -> int:
    """Least preheat from a chamber that was at ``chamber_c`` so many minutes ago; see `physics.heat`."""
    ambient, goal = net.ambient_c, net.setpoint_c[node]
    now = ambient + (chamber_c - ambient) * math.exp(-minutes_since / net.cool_tau[machine])
    chamber = 0.0
    if net.heated[machine] and goal > ambient and now < goal:
        reach = net.reach_c[machine]
        chamber = net.heat_tau[machine] * math.log((reach - now) / (reach - goal))
    elif now > net.highest_c[node]:
        chamber = net.cool_tau[machine] * math.log((now - ambient) / (net.highest_c[node] - ambient))
    heated: int = math.ceil(max(chamber, float(net.bed_heat_min[node])) - 1e-6) + net.soak_min[node]
    return heated


@njit(cache=True)
def replay(net: Any, crew: Any, draw: Any, ended: Any) -> None:
    """Carry the plan out once.

    Parameters
    ----------
    net : Net
    crew : Calendar
    draw : Draw
        The replication's chance; its ``hands`` are used up by what is done.
    ended : array of shape (nodes,)
        Filled in: the minute at which each node ends.
    """
    count, hands = net.kind.shape[0], draw.hands
    heap, size = np.empty(count + 1, dtype=np.int64), 0
    waits = net.waits.copy()
    ready = net.floor.copy()
    tried = np.zeros(count, dtype=np.int64)
    failed = np.zeros(count, dtype=np.bool_)
    heat_from = np.zeros(count, dtype=np.int64)
    heat_least = np.zeros(count, dtype=np.int64)
    chamber_c = net.chamber_now_c.copy()
    chamber_at = np.zeros(chamber_c.shape[0], dtype=np.int64)
    free_at = np.zeros(chamber_c.shape[0], dtype=np.int64)
    next_rush = draw.rush_at[:-1].copy()
    # Begun nodes follow the others, so that what waits for them is counted before they end.
    for turn in range(2 * count):
        node = turn % count
        if (turn < count) != (net.begun[node] == 0):
            continue
        if turn < count:
            if waits[node] == 0:
                minute = max(ready[node], net.starts[node, 0])
                size = _push(heap, size, (minute * count + node) * PHASES + BEGIN)
            continue
        begun, machine = net.begun[node], net.machine[node]
        if net.kind[node] != JOB or begun == 6:
            ended[node] = net.ends[node, 5]
            if net.kind[node] == JOB:
                free_at[machine] = max(free_at[machine], ended[node])
                if net.ends[node, 4] > 0:
                    chamber_c[machine], chamber_at[machine] = net.cooled_c[node], net.ends[node, 4]
            for link in range(net.after_at[node], net.after_at[node + 1]):
                other = net.after[link]
                ready[other] = max(ready[other], ended[node])
                waits[other] -= 1
                if waits[other] == 0 and net.begun[other] == 0:
                    minute = max(ready[other], net.starts[other, 0])
                    size = _push(heap, size, (minute * count + other) * PHASES + BEGIN)
        elif begun == 1:
            changed = net.ends[node, 0]
            heat_from[node] = max(changed, net.starts[node, 1])
            since = heat_from[node] - chamber_at[machine]
            heat_least[node] = _preheat(net, node, machine, chamber_c[machine], since)
            minute = max(heat_from[node] + heat_least[node], net.starts[node, 2])
            size = _push(heap, size, (minute * count + node) * PHASES + HEATED)
        elif begun == 2:
            size = _push(heap, size, (net.starts[node, 2] * count + node) * PHASES + HEATED)
        elif begun == 5:
            if net.ends[node, 4] > 0:
                chamber_c[machine], chamber_at[machine] = net.cooled_c[node], net.ends[node, 4]
            size = _push(heap, size, (net.starts[node, 5] * count + node) * PHASES + COOLED)
        else:
            # A start or a print has begun: it goes on from now.
            begins = net.ends[node, 2] if begun == 3 else 0
            left = net.ends[node, 3] - max(net.starts[node, 3], 0)
            all_of_it = max(1, net.ends[node, 3] - net.starts[node, 3])
            size = _print(
                net, draw, node, begins, left, net.gone[node], left / all_of_it, tried, failed, chamber_c,
                chamber_at, heap, size,
            )  # fmt: skip
    while size > 0:
        event = heap[0]
        size = _pop(heap, size)
        phase, code = event % PHASES, event // PHASES
        node, minute = code % count, code // count
        machine, excused = net.machine[node], net.excused[node]
        if net.kind[node] != JOB:
            length = net.ends[node, 0] - net.starts[node, 0]
            at = minute
            if not excused:
                at = _with_hands(net, crew, hands, machine, minute, net.load[node], length)
            _use(hands, at, net.load[node])
            ended[node] = at + length
        elif phase == BEGIN:
            came = minute
            while (
                next_rush[machine] < draw.rush_at[machine + 1]
                and draw.rush_start[next_rush[machine]] <= minute
            ):
                rush = next_rush[machine]
                free_at[machine] = max(free_at[machine], draw.rush_start[rush]) + draw.rush_min[rush]
                minute = max(minute, free_at[machine])
                next_rush[machine] += 1
            if minute > came:
                size = _push(heap, size, (minute * count + node) * PHASES + BEGIN)
                continue
            first = tried[node] == 0
            length = net.ends[node, 0] - net.starts[node, 0] if first else net.reprint_change_min[node]
            at = minute
            if not excused:
                at = _with_hands(net, crew, hands, machine, minute, length, length)
            _use(hands, at, length)
            changed = at + length
            heat_from[node] = changed
            if first:
                heat_from[node] = _kept(net, node, 1, changed)
            since = heat_from[node] - chamber_at[machine]
            heat_least[node] = _preheat(net, node, machine, chamber_c[machine], since)
            minute = heat_from[node] + heat_least[node]
            if first:
                planned = heat_from[node] + net.ends[node, 1] - net.starts[node, 1]
                if net.fixed[node] or planned > net.starts[node, 2]:
                    planned = net.starts[node, 2]
                minute = max(minute, planned)
            size = _push(heap, size, (minute * count + node) * PHASES + HEATED)
            continue
        elif phase == HEATED:
            length = net.ends[node, 2] - net.starts[node, 2]
            printing = net.ends[node, 3] - net.starts[node, 3]
            rest = printing + net.ends[node, 4] - net.starts[node, 4]
            at = minute
            if not excused:
                at = _block(net, crew, hands, machine, minute, heat_least[node], length, rest)
            _use(hands, at, length)
            size = _print(
                net, draw, node, at + length, printing, 0, 1.0, tried, failed, chamber_c, chamber_at,
                heap, size,
            )  # fmt: skip
            continue
        else:
            length, at = net.ends[node, 5] - net.starts[node, 5], minute
            if not excused:
                at = _with_hands(net, crew, hands, machine, minute, length, length)
            _use(hands, at, length)
            if failed[node]:
                failed[node] = False
                tried[node] += 1
                size = _push(heap, size, ((at + length) * count + node) * PHASES + BEGIN)
                continue
            ended[node] = at + length
            free_at[machine] = ended[node]
        for link in range(net.after_at[node], net.after_at[node + 1]):
            other = net.after[link]
            ready[other] = max(ready[other], ended[node])
            waits[other] -= 1
            if waits[other] == 0 and net.begun[other] == 0:
                minute = net.starts[other, 0]
                before = net.before[other]
                if before >= 0 and not net.fixed[other] and ended[before] < net.ends[before, 5]:
                    minute -= net.ends[before, 5] - ended[before]
                minute = max(minute, ready[other])
                size = _push(heap, size, (minute * count + other) * PHASES + BEGIN)


@njit(cache=True)
def _use(hands: Any, start: int, length: int) -> None:
    for minute in range(max(0, start), min(start + length, hands.shape[0])):
        hands[minute] -= 1


@njit(cache=True)
def _kept(net: Any, node: int, step: int, since: int) -> int:
    """When a step begins whose planned wait is kept, but never beyond its planned minute."""
    planned: int = net.starts[node, step]
    if net.fixed[node]:
        return max(since, planned)
    wait: int = planned - net.ends[node, step - 1]
    return max(since, min(planned, since + wait))


@njit(cache=True)
def _print(
    net: Any, draw: Any, node: int, begins: int, left: int, gone: int, share: float, tried: Any, failed: Any,
    chamber_c: Any, chamber_at: Any, heap: Any, size: int,
) -> int:  # fmt: skip
    """Print what is ``left`` and cool down; the unload comes next.

    ``gone`` minutes of a begun print are over, ``share`` of it is still to be done.
    """
    turn = tried[node]
    lasts = int((left + gone) * draw.factor[node] + 0.5) - gone
    if left > 0:
        # A print that is still going has not ended yet, however quick the draw.
        lasts = max(1, left // OVERDUE, lasts)
    mended, failing = 0, draw.failing[node] * share
    if turn < draw.outcome.shape[1] and draw.outcome[node, turn] < failing + draw.breaking[node] * share:
        failed[node] = True
        lasts = int(lasts * draw.where[node, turn])
        if draw.outcome[node, turn] >= failing:
            mended = draw.repair[node, turn]
    machine = net.machine[node]
    cooled = begins + lasts + net.ends[node, 4] - net.starts[node, 4]
    if cooled > 0:
        chamber_c[machine], chamber_at[machine] = net.cooled_c[node], cooled
    taken_off = max(cooled, begins + lasts + mended) if failed[node] else _kept(net, node, 5, cooled)
    event: int = (taken_off * net.kind.shape[0] + node) * PHASES + COOLED
    return _push(heap, size, event)
