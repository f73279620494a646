"""What a new plan moves of the one before it, and which event or job made each job move."""

from scheduler.planning.moves.compare import SAME_MIN, Move, Moves, Spot, moves

__all__ = ["SAME_MIN", "Move", "Moves", "Spot", "moves"]
