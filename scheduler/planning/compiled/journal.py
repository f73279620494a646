"""Stores that can be undone: what stood in the pools before, newest last.

A whole number's entry is its place and what stood there; a real's is ``-1 - place`` and the position
of the old value among the journal's reals. The plain twin is `scheduler.planning.kernel.undo`.
"""

from __future__ import annotations

from scheduler.planning.kernel.tables import Floats, Ints


def _put_whole(I: Ints, F: Floats, at: int, value: int) -> None:
    if I[0] == 1:
        n = I[1]
        if n + 2 > I[3]:
            I[6] = 1
        else:
            I[I[2] + n] = at
            I[I[2] + n + 1] = I[at]
            I[1] = n + 2
    I[at] = value


def _put_real(I: Ints, F: Floats, at: int, value: float) -> None:
    if I[0] == 1:
        n = I[1]
        if n + 2 > I[3]:
            I[6] = 1
        else:
            I[I[2] + n] = -1 - at
            I[I[2] + n + 1] = I[4]
            F[I[5] + I[4]] = F[at]
            I[4] += 1
            I[1] = n + 2
    F[at] = value


def _add_whole(I: Ints, F: Floats, at: int, value: int) -> None:
    _put_whole(I, F, at, I[at] + value)


def _add_real(I: Ints, F: Floats, at: int, value: float) -> None:
    _put_real(I, F, at, F[at] + value)


def mark(I: Ints, F: Floats) -> None:
    I[0] = 1
    I[1] = 0
    I[4] = 0
    I[6] = 0


def undo(I: Ints, F: Floats) -> None:
    n = I[1]
    base = I[2]
    while n > 0:
        n -= 2
        at = I[base + n]
        if at >= 0:
            I[at] = I[base + n + 1]
        else:
            F[-1 - at] = F[I[5] + I[base + n + 1]]
    I[1] = 0
    I[4] = 0


def recorded(I: Ints, F: Floats) -> int:
    if I[6] == 1:
        return -1
    return I[1]


def keep(I: Ints, F: Floats) -> None:
    for k in range(I[9]):
        I[I[10] + k] = I[I[8] + k]
    for k in range(I[12]):
        F[I[13] + k] = F[I[11] + k]
