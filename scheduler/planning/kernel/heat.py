"""Preheats from the chamber's true temperature; twin of `scheduler.physics.heat` on arrays."""

from __future__ import annotations

import math

from scheduler.planning.kernel.tables import Problem, State


def chamber_at(P: Problem, p: int, from_c: float, since: int, minute: int) -> float:
    """Temperature of an idle chamber that was at ``from_c`` at ``since``, °C."""
    if P.p_heated[p] == 0:
        return P.ambient_c
    return P.ambient_c + (from_c - P.ambient_c) * math.exp(-(minute - since) / P.p_cool_tau[p])


def preheat_need(P: Problem, p: int, recipe: int, now_c: float) -> int:
    """Least minutes of a preheat that begins at ``now_c``."""
    cell = recipe * P.printer_kinds + P.p_kind[p]
    chamber = 0.0
    if P.k_heated[cell] == 1 and now_c < P.k_set_c[cell]:
        chamber = P.p_heat_tau[p] * math.log((P.p_reach_c[p] - now_c) / (P.p_reach_c[p] - P.k_set_c[cell]))
    elif now_c > P.r_highest_c[recipe]:
        chamber = P.p_cool_tau[p] * math.log((now_c - P.ambient_c) / (P.r_highest_c[recipe] - P.ambient_c))
    if chamber < P.p_bed_heat[p]:
        chamber = float(P.p_bed_heat[p])
    return math.ceil(chamber - 1e-6) + P.r_soak[recipe]


def heat_from(P: Problem, p: int, recipe: int, from_c: float, since: int, floor: int, begin: int) -> int:
    """A late minute, not before ``floor``, at which a preheat may begin so as to be over at ``begin``.

    The latest but for what the chamber cools meanwhile. Returns -1 if even ``floor`` is too late. ``from_c``
    is the chamber at ``since``.
    """
    now_c = chamber_at(P, p, from_c, since, floor)
    least = preheat_need(P, p, recipe, now_c)
    if now_c > P.r_highest_c[recipe] or now_c < P.ambient_c:
        # What must cool first takes less the later it begins.
        heat = begin - P.p_bed_heat[p] - P.r_soak[recipe]
    elif begin - floor <= least:
        # Colder by the minute, it never takes less than now.
        return floor if begin - floor == least else -1
    else:
        heat = begin - least
    while heat >= floor:
        need = preheat_need(P, p, recipe, chamber_at(P, p, from_c, since, heat))
        if begin - heat >= need:
            return heat
        lower = begin - need
        heat = lower if lower < heat - 1 else heat - 1
    return floor if begin - floor >= least else -1


def last_heat(P: Problem, S: State, p: int, prev: int) -> tuple[float, int]:
    """Where the chamber was left by the job before (or at the plan's start): °C and minute."""
    if prev >= 0 and S.cool_end[prev] > 0:
        return S.end_c[prev], S.cool_end[prev]
    return P.p_now_c[p], 0


def print_minutes(P: Problem, j: int, p: int) -> int:
    """Whole minutes that job ``j`` prints on printer ``p``."""
    return math.ceil(P.j_print[j] * P.p_speed[p] - 1e-6)
