"""Plain earliest-due dispatch under the contract's rules: what a shop does without a planner.

Jobs are taken by due date; each goes to the end of the row of the machine on which it is done
soonest, with the soonest spool. Nothing is put into gaps, nothing is weighed but the finish. The
pieces that keep the rules are the planner's own decoder, so that both are judged alike.
"""

from __future__ import annotations

from datetime import datetime

from scheduler.model import Plan, Scenario
from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.construct import Base, Taste, finish
from scheduler.planning.engine import Engine
from scheduler.planning.problem import make_task

#: Only the finish counts.
SOONEST = Taste(finish=1.0, crowd=0.0, idle=0.0, effort=0.0, certificate=0.0)


def earliest_due(scenario: Scenario, scenario_hash: str, made_at: datetime) -> Plan:
    """The plan of a shop that takes jobs by due date."""
    task = make_task(scenario)
    base, P = Base(task), task.problem
    engine = Engine(base, compiled_kernels(), 1, 1)
    order = sorted(range(P.jobs), key=lambda j: (P.j_due[j], j))
    state = engine.place_in_order(order, SOONEST, gaps=False)
    return finish(base, state).plan(scenario_hash, made_at, 0.0, 0, None)
