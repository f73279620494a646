"""The whole contract as one model for a general constraint solver (OR-Tools CP-SAT).

Every job has a printer, heads, nozzles and spools; changeovers know the spool, material and nozzle that the
head had before; preheats know the chamber that the job before left; spools are dried, shared by batches,
opened, used up and kept to one lot; ovens are shared; hands, nights, downtime, pins and releases bind.
The solution is written down as a plan as it is, no search of ours decodes it, and the judge must pass it.

Where the contract is too rich, the model is narrower than the contract, never wider:

- Every job that something fits has a place (the contract would leave out one that finds none), pins that the
  planner finds impossible beside begun work apart.
- The rest of begun jobs comes as early as it can, and nobody joins an oven run that was opened for one.
- With coarse edges (`EDGES_MIN`), a preheat is as long as the worst chamber within a stretch of idle minutes
  asks for; with exact ones, as long as the contract says.
- A spool with recipes of its own is dried for its first mount only, while these recipes wait.
- A dryer makes at most `RUNS` runs of one temperature, an oven `RUNS` of one program, unless asked for more.
- Runs in rolling dryers are no longer than the recipe, where spools rest in dry storage.
- No step of no length lies after the last shift. Only lateness is made small, no tie is broken.

So what the solver proves holds for these plans only; it is no bound for the contract.
"""

from tests.bench.complete.solve import Answer, by_complete_solver

__all__ = ["Answer", "by_complete_solver"]
