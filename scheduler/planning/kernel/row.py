"""Place jobs one after the other."""

from __future__ import annotations

from scheduler.planning.kernel.choose import REFUSED_MOST, place_best
from scheduler.planning.kernel.tables import BARRED, Problem, State


def place_row(P: Problem, S: State, start: int, end: int, most: int, gaps: int) -> int:
    """Place the jobs ``order[start:end]`` that can be and are not placed; how many found no place.

    ``most`` and ``gaps`` are those of `place_best`.
    """
    left = 0
    for k in range(start, end):
        j = S.order[k]
        if S.printer[j] >= 0 or S.fixed[j] == BARRED or P.fit_off[P.j_fit[j]] == P.fit_off[P.j_fit[j] + 1]:
            continue
        if place_best(P, S, j, S.weights, most, gaps, REFUSED_MOST) == 0:
            left += 1
    return left
