"""What would save a late job, and what another machine would cost it, each by trying."""

from scheduler.planning.whatif.trying import (
    ROUNDS,
    CannotTry,
    Trial,
    Tried,
    late_hours,
    other_machines,
    what_would_save,
)

__all__ = ["ROUNDS", "CannotTry", "Trial", "Tried", "late_hours", "other_machines", "what_would_save"]
