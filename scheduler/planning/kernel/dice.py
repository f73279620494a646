"""Random numbers that are the same compiled or not, on any machine.

Two multiplicative generators combined (P. L'Ecuyer, "Efficient and portable combined random number
generators", Communications of the ACM 31, 1988), all within 64-bit whole numbers.
"""

from __future__ import annotations

from scheduler.planning.kernel.tables import State

FIRST, SECOND = 2147483563, 2147483399


def roll(S: State, sides: int) -> int:
    """A whole number from 0 to ``sides - 1``; 0 if there is but one."""
    S.dice[0] = 40014 * S.dice[0] % FIRST
    S.dice[1] = 40692 * S.dice[1] % SECOND
    mixed = S.dice[0] - S.dice[1]
    if mixed < 1:
        mixed += FIRST - 1
    if sides <= 1:
        return 0
    return mixed % sides


def chance(S: State) -> float:
    """A real number in (0, 1)."""
    return (roll(S, FIRST) + 1.0) / (FIRST + 1.0)
