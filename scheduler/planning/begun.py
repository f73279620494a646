"""What had begun before the plan's start: it stands as given, and its rest comes first."""

from __future__ import annotations

from dataclasses import dataclass

from scheduler.model import PRINTER_STEPS, Forced, Job, Plan, Progress
from scheduler.planning.kernel.again import run_like
from scheduler.planning.kernel.bake import blocked_until, find_anneal, open_run
from scheduler.planning.kernel.chain import chain_holds, exposure_at, put_entry, rest_from
from scheduler.planning.kernel.hands import attended_after, is_free, slot_after, stop_overlap
from scheduler.planning.kernel.heat import chamber_at, heat_from, preheat_need, print_minutes
from scheduler.planning.kernel.place import (
    bind_hands,
    chain_index,
    free_hands,
    link,
    refresh_printer,
    refresh_spool,
)
from scheduler.planning.kernel.tables import NEVER, Problem, State
from scheduler.planning.kernel.timing import BAKE, HEAT, find_begin
from scheduler.planning.problem import Task


@dataclass
class _Rest:
    """The rest of one begun job, in minutes; ``None`` where it is not known yet."""

    heat: int | None = None
    heat_end: int | None = None
    begin: int | None = None
    print_start: int | None = None
    print_end: int | None = None
    cool_end: int | None = None
    unload: int | None = None
    unload_end: int | None = None


class Begun:
    """Puts the work under way into an empty plan.

    Parameters
    ----------
    before : Plan or None
        A plan whose minutes the rest of begun jobs keeps wherever every rule allows; else, and without
        one, the rest comes as early as it can.
    """

    def __init__(self, task: Task, state: State, before: Plan | None = None) -> None:
        self.planned = {} if before is None else {job.job: job for job in before.jobs}
        self.baked = {} if before is None else {run.id: run for run in before.oven_runs}
        self.task, self.P, self.S = task, task.problem, state
        self.minute = task.scenario.site.minute
        self.run_ids: dict[int, str] = {}
        self.forced: list[Forced] = []

    def put_all(self) -> None:
        """Put every begun run and job in; what the jobs can't keep is in ``forced``."""
        self._put_runs()
        begun = [job for job in self.task.scenario.jobs if job.progress is not None]
        # The further a job is, the less it can wait.
        begun.sort(key=lambda job: (-len(_progress(job).steps), _progress(job).steps[-1].end, job.id))
        for s in range(len(self.P.s_material)):
            refresh_spool(self.P, self.S, s)
        for job in begun:
            self._put_mounts(job)
        for job in begun:
            self._put_job(job)
        # What each finds on a spool that two have, one after the other, is known when all are put.
        drawn: dict[int, float] = {}
        S, numbers = self.S, self.task.names.jobs
        for job in sorted(begun, key=lambda job: (S.print_start[numbers[job.id]], S.change[numbers[job.id]])):
            j, steps = numbers[job.id], len(_progress(job).steps)
            if steps < 4:
                self._open_time(job, j, S.print_end[j])
            if steps < 4 or S.print_end[j] > 0:
                self._grams(job, j, drawn, steps < 4)

    def _put_runs(self) -> None:
        names, under_way = self.task.names, self.task.scenario.under_way
        for run in under_way.dryer_runs:
            start, end = self.minute(run.start), self.minute(run.end)
            r = open_run(self.P, self.S, names.machines[run.dryer], 0, start, end, run.setpoint_c, 1)
            self.run_ids[r] = run.id
            for sid in run.spools:
                self.S.run_n[r] += 1
                if end >= 0:
                    put_entry(self.P, self.S, names.spools[sid], start, end, -1 - r)
        for bake in under_way.oven_runs:
            start, end = self.minute(bake.start), self.minute(bake.end)
            r = open_run(self.P, self.S, names.machines[bake.oven], 1, start, end, bake.temp_c, 1)
            self.run_ids[r] = bake.id
            for jid in bake.jobs:
                self.S.run_n[r] += 1
                self.S.oven_run[names.jobs[jid]] = r

    def _put_mounts(self, job: Job) -> None:
        """The job's machine, heads, nozzles and spools, with its changeover as given."""
        progress, names, S = _progress(job), self.task.names, self.S
        j, p = names.jobs[job.id], names.printers[progress.printer]
        change = progress.steps[0]
        S.change[j], S.change_end[j] = self.minute(change.start), self.minute(change.end)
        S.fixed[j] = 2
        cell = self.P.j_recipe[j] * self.P.printer_kinds + self.P.p_kind[p]
        S.end_c[j] = self.P.k_end_c[cell]
        for f, choice in enumerate(progress.feeds):
            ref = 2 * j + f
            g = names.head_of.index((progress.printer, choice.head))
            S.head[ref], S.nozzle[ref] = g, names.nozzle_of[g].index(choice.nozzle)
            S.spool[ref] = names.spools[choice.spool]
            put_entry(self.P, S, S.spool[ref], S.change[j], NEVER, ref)
            over = len(progress.steps) > 3 and self.minute(progress.steps[3].end) <= 0
            if not over:
                S.left_g[S.spool[ref]] -= self.P.j_grams[ref]

    def _put_job(self, job: Job) -> None:
        progress, P, S = _progress(job), self.P, self.S
        j, p = self.task.names.jobs[job.id], self.task.names.printers[progress.printer]
        given = {step.kind: (self.minute(step.start), self.minute(step.end)) for step in progress.steps}
        rest = _Rest()
        if "preheat" in given:
            rest.heat, rest.heat_end = given["preheat"]
        if "start" in given:
            rest.begin, rest.print_start = given["start"]
        if "print" in given:
            rest.print_start, rest.print_end = given["print"]
        if "cooldown" in given:
            rest.cool_end = given["cooldown"][1]
        if "unload" in given:
            rest.unload, rest.unload_end = given["unload"]
        if rest.begin is None:
            self._begin(job, j, p, rest)
        assert rest.begin is not None and rest.print_start is not None and rest.heat is not None
        if rest.print_end is None:
            rest.print_end = rest.print_start + print_minutes(P, j, p)
        cell = P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
        if rest.cool_end is None:
            rest.cool_end = rest.print_end + P.k_cool_min[cell]
        elif len(progress.steps) >= 5:
            S.end_c[j] = self.task.end_c(job, p, rest.cool_end - rest.print_end)
        if "print" not in given:
            pin = job.pinned
            if pin is not None and self.minute(pin.print_start) != rest.print_start:
                self._force(job, "pinned", "its print can't start at the pinned minute")
        if rest.unload is None:
            ready = max(0, rest.cool_end)
            rest.unload = self._unload_as_before(job, p, ready)
            if rest.unload < 0:
                rest.unload = attended_after(P, S, p, ready, P.unload_min)
            if rest.unload < 0:
                rest.unload = ready
                lo, hi = P.p_down_off[p], P.p_down_off[p + 1]
                while True:
                    stop = stop_overlap(
                        lo, hi, P.down_start, P.down_end, rest.unload, rest.unload + P.unload_min
                    )
                    if stop < 0:
                        break
                    rest.unload = stop
                self._force(job, "hands", "nobody is there any more to take it off")
            rest.unload_end = rest.unload + P.unload_min
        assert rest.unload_end is not None
        S.heat[j], S.begin[j] = rest.heat, rest.begin
        S.print_start[j], S.print_end[j] = rest.print_start, rest.print_end
        S.cool_end[j], S.unload[j], S.unload_end[j] = rest.cool_end, rest.unload, rest.unload_end
        for f in range(P.j_feeds[j]):
            s = S.spool[2 * j + f]
            S.chain_end[P.chain_off[s] + chain_index(P, S, s, 2 * j + f)] = rest.unload_end
        link(S, j, p, S.last[p])
        bind_hands(P, S, j)
        for f in range(P.j_feeds[j]):
            refresh_spool(P, S, S.spool[2 * j + f])
        refresh_printer(P, S, p)
        self._finish(job, j, rest.unload_end)

    def _begin(self, job: Job, j: int, p: int, rest: _Rest) -> None:
        """Find the first layer of a job whose changeover or preheat has begun."""
        P, S = self.P, self.S
        ready = max(0, S.change_end[j])
        recipe = P.j_recipe[j]
        pin = -1 if job.pinned is None else self.minute(job.pinned.print_start) - P.start_min
        begin = -1
        if rest.heat is None:
            earliest = ready + preheat_need(P, p, recipe, chamber_at(P, p, P.p_now_c[p], 0, ready))
            if (
                job.pinned is not None
                and job.pinned.printer == self.task.scenario.printers[p].id
                and pin >= 0
            ):
                begin = find_begin(P, S, j, p, -1, ready, earliest, pin, NEVER)
            if begin < 0 and job.id in self.planned:
                then = self.minute(self.planned[job.id].steps[2].start)
                if then >= earliest:
                    begin = find_begin(P, S, j, p, -1, ready, earliest, then, NEVER)
            if begin < 0:
                begin = find_begin(P, S, j, p, -1, ready, earliest, -1, NEVER)
            if begin >= 0:
                rest.heat = S.t[HEAT]
            else:
                rest.heat, begin = self._least_bad(job, j, p, ready, earliest, False)
        else:
            assert rest.heat_end is not None
            earliest = max(0, rest.heat_end)
            then = self.minute(self.planned[job.id].steps[2].start) if job.id in self.planned else -1
            wished = [
                minute for minute in (pin, then) if minute >= earliest and self._held(j, p, minute) == minute
            ]
            begin = wished[0] if wished else self._held(j, p, earliest)
            if begin < 0:
                _, begin = self._least_bad(job, j, p, earliest, earliest, True)
        rest.begin, rest.print_start = begin, begin + P.start_min

    def _held(self, j: int, p: int, earliest: int) -> int:
        """First good minute for the first layer behind a preheat that only has to be held; -1 if none."""
        P, S = self.P, self.S
        cell = P.j_recipe[j] * P.printer_kinds + P.p_kind[p]
        after = P.start_min + print_minutes(P, j, p) + P.k_cool_min[cell]
        begin = earliest
        while True:
            begin = slot_after(P, S, begin, P.start_min)
            if begin < 0:
                return -1
            if P.p_unattended[p] == 0:
                if begin >= P.horizon:
                    return -1
                if begin + after > P.stretch_end[begin]:
                    begin = max(begin + 1, P.staffed_next[P.stretch_end[begin]])
                    if begin >= P.horizon:
                        return -1
                    continue
            stop = stop_overlap(
                P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, begin, begin + after
            )
            if stop < 0:
                return begin
            begin = stop

    def _least_bad(
        self, job: Job, j: int, p: int, ready: int, earliest: int, heated: bool
    ) -> tuple[int, int]:
        """Preheat and first layer as early as machine and hands allow, though a rule breaks.

        First nobody watches the print, then nobody the first layer either; the machine's downtime
        stands in any case.
        """
        P, S = self.P, self.S
        recipe = P.j_recipe[j]
        cell = recipe * P.printer_kinds + P.p_kind[p]
        after = P.start_min + print_minutes(P, j, p) + P.k_cool_min[cell]
        for hands in (True, False):
            begin = earliest
            while True:
                if hands:
                    begin = slot_after(P, S, begin, P.start_min)
                    if begin < 0:
                        break
                heat = begin if heated else heat_from(P, p, recipe, P.p_now_c[p], 0, ready, begin)
                if heat < 0:
                    begin += 1
                    continue
                stop = stop_overlap(
                    P.p_down_off[p], P.p_down_off[p + 1], P.down_start, P.down_end, heat, begin + after
                )
                if stop >= 0:
                    ready = max(ready, stop)
                    begin = max(begin + 1, stop)
                    continue
                if not hands and P.start_min > 0:
                    self._force(job, "hands", "nobody is there any more to watch its first layer")
                if P.p_unattended[p] == 0:
                    self._force(job, "unattended", "no staffed stretch is left that holds its print")
                return heat, begin
        raise AssertionError("without hands there is always a later minute")

    def _open_time(self, job: Job, j: int, print_end: int) -> None:
        P, S = self.P, self.S
        for f in range(P.j_feeds[j]):
            s = S.spool[2 * j + f]
            if P.s_needs_drying[s] == 0 or P.s_open[s] >= NEVER:
                continue
            at = chain_index(P, S, s, 2 * j + f)
            exposed = exposure_at(P, S, s, at)
            since = max(rest_from(P, S, s, at), S.change[j])
            if exposed >= 0 and P.h_dry_feed[S.head[2 * j + f]] == 0:
                exposed += print_end - since
            if exposed > P.s_open[s]:
                spool, limit = self.task.scenario.spools[s].id, P.s_open[s]
                text = f"spool {spool} will have been open for {exposed} min; its open time is {limit} min"
                self._force(job, "dryness", text)

    def _grams(self, job: Job, j: int, drawn: dict[int, float], binds: bool) -> None:
        """Add the job's draw to those before it; too much is its broken rule if its print is to come."""
        for f in range(self.P.j_feeds[j]):
            s = self.S.spool[2 * j + f]
            spool, asked, before = self.task.scenario.spools[s], self.P.j_grams[2 * j + f], drawn.get(s, 0.0)
            drawn[s] = before + asked
            if binds and drawn[s] > self.P.s_grams[s] + 1e-9:
                there = f"{spool.grams:g} g" + (f", {before:g} g of them drawn before" if before else "")
                self._force(job, "spools", f"spool {spool.id} holds {there}, {asked:g} g are asked for")

    def _finish(self, job: Job, j: int, unload_end: int) -> None:
        P, S = self.P, self.S
        S.done[j] = unload_end + P.j_finish[j]
        if S.oven_run[j] >= 0:
            S.done[j] = S.run_end[S.oven_run[j]] + P.j_finish[j]
            return
        if P.j_anneal[j] < 0:
            return
        program = P.j_anneal[j]
        if self._anneal_as_before(job, j, program, unload_end):
            return
        if find_anneal(P, S, program, max(0, unload_end), BAKE) == 0:
            if P.an_off[program] == P.an_off[program + 1]:
                self._force(job, "ovens", f"no oven stands {P.an_temp_c[program]:g} °C")
                return
            start, b = max(0, unload_end), P.an_machine[P.an_off[program]]
            while (again := blocked_until(P, S, b, 1, start, start + P.an_min[program])) >= 0:
                start = again
            S.t[BAKE], S.t[BAKE + 1], S.t[BAKE + 2] = -1, b, start
            S.t[BAKE + 3] = start + P.an_min[program]
            self._force(job, "hands", "nobody is there any more to load the oven")
        run = S.t[BAKE]
        if run < 0:
            forced = is_free(P, S, S.t[BAKE + 2], min(P.oven_load_min, P.an_min[program])) == 0
            run = open_run(
                P, S, S.t[BAKE + 1], 1, S.t[BAKE + 2], S.t[BAKE + 3], P.an_temp_c[program], int(forced)
            )
        S.run_n[run] += 1
        S.oven_run[j] = run
        S.done[j] = S.run_end[run] + P.j_finish[j]

    def _unload_as_before(self, job: Job, p: int, ready: int) -> int:
        """The minute at which the plan before unloads the job, -1 if it can't be kept."""
        if job.id not in self.planned:
            return -1
        then = self.minute(self.planned[job.id].steps[5].start)
        if then < ready or attended_after(self.P, self.S, p, then, self.P.unload_min) != then:
            return -1
        return then

    def _anneal_as_before(self, job: Job, j: int, program: int, unload_end: int) -> bool:
        """Put the job into the oven run that the plan before has it in; False if it can't be kept."""
        P, S = self.P, self.S
        planned = self.planned.get(job.id)
        bake = self.baked.get(planned.oven_run or "") if planned is not None else None
        if bake is None:
            return False
        b = self.task.names.machines.get(bake.oven, -1)
        start, end = self.minute(bake.start), self.minute(bake.end)
        serves = b in P.an_machine[P.an_off[program] : P.an_off[program + 1]]
        if not serves or start < max(0, unload_end) or end - start != P.an_min[program]:
            return False
        run = run_like(P, S, b, 1, start, end, P.an_temp_c[program])
        if run < 0:
            if blocked_until(P, S, b, 1, start, end) >= 0:
                return False
            if is_free(P, S, start, min(P.oven_load_min, end - start)) == 0:
                return False
            run = open_run(P, S, b, 1, start, end, P.an_temp_c[program], 0)
        S.run_n[run] += 1
        S.oven_run[j] = run
        S.done[j] = end + P.j_finish[j]
        return True

    def _force(self, job: Job, rule: str, text: str) -> None:
        if all((f.job, f.rule) != (job.id, rule) for f in self.forced):
            self.forced.append(Forced(job.id, rule, text))


def unloads_sooner(task: Task, S: State) -> dict[int, int]:
    """Take prints under way off their machines sooner where a hand is free for it; the minutes, by job.

    Done when all else is in its place: a plan that is kept may have made a print wait for hands that
    are no longer asked for, or for people who are there now.
    """
    P, sooner = task.problem, {}
    for j, job in enumerate(task.scenario.jobs):
        if job.progress is None or len(job.progress.steps) == len(PRINTER_STEPS) or S.printer[j] < 0:
            continue
        was, spools = S.unload[j], S.spool[2 * j : 2 * j + P.j_feeds[j]]
        free_hands(P, S, j)
        at = attended_after(P, S, S.printer[j], max(0, S.cool_end[j]), P.unload_min)
        bind_hands(P, S, j)
        if 0 <= at < was:
            unload_at(P, S, j, at)
            if all(chain_holds(P, S, s) == 1 for s in spools):
                sooner[j] = at
            else:
                unload_at(P, S, j, was)
    return sooner


def unload_at(P: Problem, S: State, j: int, at: int) -> None:
    """Let the unload of a begun job start at minute ``at``."""
    free_hands(P, S, j)
    S.unload[j], S.unload_end[j] = at, at + P.unload_min
    bind_hands(P, S, j)
    S.done[j] = S.unload_end[j] + P.j_finish[j]
    if S.oven_run[j] >= 0:
        S.done[j] = S.run_end[S.oven_run[j]] + P.j_finish[j]
    for f in range(P.j_feeds[j]):
        s = S.spool[2 * j + f]
        S.chain_end[P.chain_off[s] + chain_index(P, S, s, 2 * j + f)] = S.unload_end[j]
        refresh_spool(P, S, s)
    refresh_printer(P, S, S.printer[j])


def _progress(job: Job) -> Progress:
    assert job.progress is not None
    return job.progress
