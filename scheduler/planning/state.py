"""An empty plan for a problem."""

from __future__ import annotations

from scheduler.planning.kernel.again import G_ROW
from scheduler.planning.kernel.score import toll_edges
from scheduler.planning.kernel.tables import PRICED, Problem, State
from scheduler.planning.kernel.undo import Log

SCRATCH = 224
#: Spools that are tried for one feed.
SHORT = 4


def empty_state(problem: Problem, hands: list[int]) -> State:
    """Nothing placed, every hand free."""
    n, feeds, spools = problem.jobs, 2 * problem.jobs, len(problem.s_material)
    runs = problem.run_cap
    priced = n * problem.printers <= PRICED
    return State(
        hands=list(hands),
        first=[-1] * problem.printers,
        last=[-1] * problem.printers,
        idle=[0] * problem.printers,
        printer=[-1] * n,
        before=[-1] * n,
        after=[-1] * n,
        change=[0] * n,
        change_end=[0] * n,
        heat=[0] * n,
        begin=[0] * n,
        print_start=[0] * n,
        print_end=[0] * n,
        cool_end=[0] * n,
        unload=[0] * n,
        unload_end=[0] * n,
        done=[0] * n,
        fixed=[0] * n,
        end_c=[0.0] * n,
        head=[-1] * feeds,
        nozzle=[-1] * feeds,
        spool=[-1] * feeds,
        run=[-1] * feeds,
        oven_run=[-1] * n,
        left_g=list(problem.s_grams),
        tail_exposed=[
            exposed if dried == 1 else -1
            for dried, exposed in zip(problem.s_dried, problem.s_exposed, strict=True)
        ],
        tail_rest=list(problem.s_from),
        chain_n=[0] * spools,
        chain_start=[0] * problem.chain_off[-1],
        chain_end=[0] * problem.chain_off[-1],
        chain_ref=[0] * problem.chain_off[-1],
        run_machine=[-1] * runs,
        run_oven=[0] * runs,
        run_set_c=[0.0] * runs,
        run_start=[0] * runs,
        run_end=[0] * runs,
        run_n=[0] * runs,
        run_begun=[0] * runs,
        run_first=[-1] * runs,
        run_next=[-1] * feeds,
        free_run=[runs, *range(runs - 1, -1, -1)],
        machine_n=[0] * problem.machines,
        machine_run=[-1] * (problem.machines * problem.machine_cap),
        total=[0.0] * 4,
        t=[0] * SCRATCH,
        bound=[0.0] * (problem.printers + 1),
        short=[-1] * (4 * SHORT),
        order=[0] * (n + 4),
        rank=[0.0] * (n + 4),
        out=[0] * (8 * n + 8),
        was=[-1] * n,
        weights=[0.0] * 9,
        dice=[12345, 67890],
        tune=[0.0] * 21,
        told=[0.0] * 16,
        alone=[0.0] * n,
        toll=[0.0] * (problem.printers * toll_edges(problem) if priced else 0),
        whim=[0.0] * problem.printers,
        given=[0] * (G_ROW * n),
        given_c=[0.0] * (3 * n),
        part=[0] * (n + 1),
        log=Log(),
    )
