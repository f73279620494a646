"""Stores that can be undone: what stood in the pools before, newest last.

A whole number's entry is its place and what stood there; a real's is ``-1 - place`` and the position
of the old value among the journal's reals. The plain twin is `scheduler.planning.kernel.undo`.
"""

from __future__ import annotations

from scheduler.planning.kernel.tables import Floats, Ints


def _put_whole(N: Ints, R: Floats, at: int, value: int) -> None:
    if N[0] == 1:
        n = N[1]
        if n + 2 > N[3]:
            N[6] = 1
        else:
            N[N[2] + n] = at
            N[N[2] + n + 1] = N[at]
            N[1] = n + 2
    N[at] = value


def _put_real(N: Ints, R: Floats, at: int, value: float) -> None:
    if N[0] == 1:
        n = N[1]
        if n + 2 > N[3]:
            N[6] = 1
        else:
            N[N[2] + n] = -1 - at
            N[N[2] + n + 1] = N[4]
            R[N[5] + N[4]] = R[at]
            N[4] += 1
            N[1] = n + 2
    R[at] = value


def _add_whole(N: Ints, R: Floats, at: int, value: int) -> None:
    _put_whole(N, R, at, N[at] + value)


def _add_real(N: Ints, R: Floats, at: int, value: float) -> None:
    _put_real(N, R, at, R[at] + value)


def mark(N: Ints, R: Floats) -> None:
    N[0] = 1
    N[1] = 0
    N[4] = 0
    N[6] = 0


def undo(N: Ints, R: Floats) -> None:
    n = N[1]
    base = N[2]
    while n > 0:
        n -= 2
        at = N[base + n]
        if at >= 0:
            N[at] = N[base + n + 1]
        else:
            R[-1 - at] = R[N[5] + N[base + n + 1]]
    N[1] = 0
    N[4] = 0


def recorded(N: Ints, R: Floats) -> int:
    if N[6] == 1:
        return -1
    return N[1]


def keep(N: Ints, R: Floats) -> None:
    for k in range(N[9]):
        N[N[10] + k] = N[N[8] + k]
    for k in range(N[12]):
        R[N[13] + k] = R[N[11] + k]
    N[14] = 0


def note(N: Ints, R: Floats) -> None:
    n = N[14]
    if n < 0:
        return
    if n + N[1] // 2 > N[15]:
        N[14] = -1
        return
    base = N[2]
    into = N[7]
    for k in range(N[1] // 2):
        N[into + n + k] = N[base + 2 * k]
    N[14] = n + N[1] // 2


def keep_noted(N: Ints, R: Floats) -> None:
    if N[14] < 0:
        keep(N, R)
        return
    whole_by = N[10] - N[8]
    real_by = N[13] - N[11]
    base = N[7]
    for k in range(N[14]):
        at = N[base + k]
        if at >= 0:
            N[at + whole_by] = N[at]
        else:
            R[real_by - 1 - at] = R[-1 - at]
    N[14] = 0
