"""A second judge of plans, slow and plain, written from the contract alone.

It walks minute by minute, shares no code with `scheduler.checking`, `scheduler.matching` or
`scheduler.physics`, and reads only plans whose ids and step kinds are those of the scenario.
"""

from tests.checking.twin.judge import disagreements, found

__all__ = ["disagreements", "found"]
