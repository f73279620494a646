"""Random small shops in which every feature of the contract comes and goes."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

from scheduler.model import (
    Anneal,
    Downtime,
    Dryer,
    DryerRun,
    DryingRow,
    Feed,
    FeedChoice,
    Head,
    Job,
    Material,
    Mounted,
    Nozzle,
    Oven,
    OvenRun,
    Pin,
    Printer,
    Progress,
    Purge,
    Scenario,
    Shift,
    Site,
    Span,
    Spool,
    Step,
    UnderWay,
)
from scheduler.physics import cooldown

START = datetime(2031, 3, 3, 6, 0, tzinfo=UTC)


def at(minute: int) -> datetime:
    """The instant so many minutes after the plan's start."""
    return START + timedelta(minutes=minute)


def random_shop(seed: int, able: bool = False) -> Scenario:
    """A shop of one to five printers and up to fourteen jobs, always the same for a seed.

    In most of them two jobs of three fit nothing. In an ``able`` one nearly all do, there are up to
    thirty, and what keeps them apart are hands, dryers, ovens, spools, lots, heat and nights.
    """
    return _Dice(random.Random(seed), able).shop()


class _Dice:
    def __init__(self, rng: random.Random, able: bool) -> None:
        self.rng, self.able = rng, able

    def maybe(self, share: float) -> bool:
        return self.rng.random() < share

    def shop(self) -> Scenario:
        rng = self.rng
        site = Site(
            name="dice",
            timezone="UTC",
            plan_start=START,
            ambient_c=rng.choice((18, 20, 22)),
            dry_storage=self.maybe(0.5),
            start_min=rng.choice((0, 3, 5)),
            unload_min=rng.choice((0, 4, 6)),
            plate_min=rng.choice((0, 2, 4)),
            spool_swap_min=rng.choice((0, 3)),
            nozzle_swap_min=rng.choice((0, 7)),
            purge_min=rng.choice((0, 8)),
            purges=(),
            dryer_load_min=rng.choice((0, 4, 5)),
            oven_load_min=rng.choice((0, 5)),
            freeze_min=rng.choice((0, 60, 240)),
            move_cost_h=rng.choice((0, 1, 3)),
        )
        materials = tuple(self.material(i) for i in range(rng.randint(1, 4)))
        if self.maybe(0.5) and len(materials) > 1:
            a, b = rng.sample([m.id for m in materials], 2)
            site = _with(site, purges=(Purge(a, b, rng.randint(0, 30)),))
        dryers = tuple(self.dryer(i) for i in range(rng.randint(1, 3)))
        ovens = tuple(
            Oven(f"O{i}", rng.choice((100, 160)), rng.randint(1, 3), self.downtime())
            for i in range(rng.randint(1, 2))
        )
        if ovens and self.maybe(0.4) and any(d.kind == "batch" for d in dryers):
            shared = next(d.id for d in dryers if d.kind == "batch")
            ovens = (_with(ovens[0], id=shared), *ovens[1:])
        spools = tuple(
            self.spool(i, materials) for i in range(rng.randint(*((6, 16) if self.able else (2, 10))))
        )
        printers = tuple(self.printer(i, materials, spools) for i in range(rng.randint(1, 5)))
        many = rng.randint(*((6, 30) if self.able else (1, 14)))
        jobs = [self.job(i, materials, spools, printers) for i in range(many)]
        jobs = self.tie_lots(jobs)
        scenario = Scenario(
            site, self.shifts(), materials, printers, dryers, ovens, spools, tuple(jobs), UnderWay((), ())
        )
        return self.begin(self.eased(scenario) if self.able else scenario)

    def eased(self, scenario: Scenario) -> Scenario:
        """The shop with machines, nozzles and spools that bear nearly everything."""
        rng = self.rng
        return _with(
            scenario,
            materials=tuple(_with(m, filament_mm=1.75) for m in scenario.materials),
            printers=tuple(
                _with(
                    p,
                    bed_max_c=120,
                    chamber_max_c=160,
                    chamber_reach_c=rng.choice((170, 190)),
                    volume_mm=(300, 200, 200),
                    surfaces=("pei",),
                    extraction=True,
                    qualified=("aero",),
                    unattended=self.maybe(0.85),
                    heads=tuple(self.able_head(head) for head in p.heads),
                )
                for p in scenario.printers
            ),
            dryers=tuple(
                _with(d, max_c=130, vacuum=True, slots=rng.randint(1, 4)) if d.kind == "batch" else d
                for d in scenario.dryers
            ),
            ovens=tuple(_with(o, max_c=160) for o in scenario.ovens),
            spools=tuple(
                _with(s, grams=rng.choice((300, 800, 1500)), body_max_c=130, certs=("cert",), drying=None)
                for s in scenario.spools
            ),
            jobs=tuple(_with(j, pinned=j.pinned if self.maybe(0.4) else None) for j in scenario.jobs),
        )

    def able_head(self, head: Head) -> Head:
        """A hot head with a nozzle of each bore, those that it has among them."""
        nozzles = [_with(n, hardened=True, corrosion_proof=True, max_c=450) for n in head.nozzles]
        for bore in (0.4, 0.6):
            if all(n.size_mm != bore for n in nozzles):
                nozzles.append(Nozzle(f"n{len(nozzles)}", bore, True, True, 450))
        return _with(head, max_c=420, nozzles=tuple(nozzles))

    def shifts(self) -> tuple[Shift, ...]:
        rng = self.rng
        days = rng.randint(1, 4)
        out = []
        for day in range(days):
            if day and self.maybe(0.1):
                continue
            base = 1440 * day
            kind = rng.choice(("day", "two", "short", "round"))
            if kind == "round":
                out.append(Shift(at(base), at(base + 1440), rng.randint(1, 2)))
                continue
            out.append(Shift(at(base), at(base + (480 if kind != "short" else 180)), rng.randint(1, 3)))
            if kind == "two":
                out.append(Shift(at(base + 480), at(base + 960), rng.randint(1, 2)))
            if self.maybe(0.3):
                out.append(Shift(at(base + 60), at(base + 120), 1))
        return tuple(out)

    def downtime(self) -> tuple[Downtime, ...]:
        if not self.maybe(0.25):
            return ()
        start = self.rng.randint(-100, 2000)
        return (Downtime(at(start), at(start + self.rng.randint(1, 400)), "service"),)

    def material(self, i: int) -> Material:
        rng = self.rng
        lo = rng.choice((15, 15, 15, 20, 60, 90))
        hi = lo + rng.choice((15, 30, 60))
        rows = []
        if self.maybe(0.75):
            for _ in range(rng.randint(1, 2)):
                rows.append(DryingRow(rng.choice((50, 80, 120)), rng.choice((1, 2, 4.5)), self.maybe(0.2)))
        hi = max(hi, 25)
        return Material(
            id=f"M{i}",
            polymer=f"M{i}",
            filled=rng.choice((None, None, "carbon")),
            filament_mm=1.75 if self.maybe(0.95) else 2.85,
            nozzle_c=Span(200, 260),
            bed_c=Span(40, 90),
            chamber_c=Span(lo, hi),
            chamber_set_c=rng.choice((lo, hi, (lo + hi) / 2, 35)),
            surfaces=() if self.maybe(0.8) else ("pei",),
            abrasive=self.maybe(0.2),
            corrosive=self.maybe(0.1),
            needs_extraction=self.maybe(0.15),
            min_nozzle_mm=0.4,
            drying=tuple(rows),
            open_time_min=rng.choice((None, 150, 300, 600, 1500)),
            soak_min=rng.choice((0, 5, 20)),
            release_c=rng.choice((30, 45, 60)),
            max_cool_c_per_min=rng.choice((None, None, 0.5, 1.5)),
            anneal=Anneal(rng.choice((80, 150)), rng.choice((1, 2.5))) if self.maybe(0.5) else None,
        )

    def dryer(self, i: int) -> Dryer:
        rng = self.rng
        kind = rng.choice(("batch", "batch", "rolling"))
        return Dryer(
            id=f"D{i}",
            kind=kind,
            max_c=rng.choice((85, 130)),
            fixed_c=rng.choice((50, 80)) if kind == "rolling" else None,
            vacuum=self.maybe(0.3),
            slots=rng.randint(1, 3),
            warmup_min=rng.choice((0, 10)),
            downtime=self.downtime(),
        )

    def spool(self, i: int, materials: tuple[Material, ...]) -> Spool:
        rng = self.rng
        own = None
        if self.maybe(0.15):
            own = (DryingRow(rng.choice((50, 80)), rng.choice((1, 3)), False),)
        return Spool(
            id=f"s{i}",
            material=rng.choice(materials).id,
            lot=f"L{rng.randint(0, 2)}",
            grams=rng.choice((100, 300, 800, 800)),
            body_max_c=rng.choice((60, 90, 130, 130)),
            certs=("cert",) if self.maybe(0.3) else (),
            available_from=at(rng.choice((-500, -500, -500, 0, 400))),
            dried=self.maybe(0.5),
            exposed_min=rng.choice((0, 0, 60, 200)),
            drying=own,
        )

    def printer(self, i: int, materials: tuple[Material, ...], spools: tuple[Spool, ...]) -> Printer:
        rng = self.rng
        heated = self.maybe(0.8)
        maximum = rng.choice((60, 110, 160, 160))
        heads = []
        for h in range(2 if self.maybe(0.4) else 1):
            nozzles = tuple(
                Nozzle(
                    f"n{k}",
                    rng.choice((0.4, 0.6)),
                    self.maybe(0.8),
                    self.maybe(0.8),
                    rng.choice((450, 450, 450, 190)),
                )
                for k in range(rng.randint(1, 3))
            )
            spool = rng.choice(spools) if self.maybe(0.5) else None
            material = spool.material if spool else (rng.choice(materials).id if self.maybe(0.5) else None)
            heads.append(
                Head(
                    id=f"H{h}",
                    max_c=rng.choice((300, 300, 420, 420, 300, 190)),
                    filament_mm=1.75,
                    dry_feed=self.maybe(0.4),
                    mounted=Mounted(
                        spool.id if spool else None,
                        material,
                        rng.choice(nozzles).id if self.maybe(0.8) else None,
                    ),
                    nozzles=nozzles,
                )
            )
        return Printer(
            id=f"P{i}",
            bed_max_c=rng.choice((60, 120, 120, 120, 120, 30)),
            chamber_max_c=maximum if heated else None,
            chamber_reach_c=maximum + rng.choice((10, 30)) if heated else None,
            heat_tau_min=rng.choice((20, 40.5)),
            cool_tau_min=rng.choice((30, 60)),
            bed_heat_min=rng.choice((0, 6, 15)),
            bed_cool_min=rng.choice((0, 5, 20)),
            volume_mm=(rng.choice((150, 300, 300)), 200, 200),
            surfaces=("pei",) if self.maybe(0.7) else (),
            extraction=self.maybe(0.7),
            unattended=self.maybe(0.7),
            speed_factor=rng.choice((0.8, 1, 1.25)),
            qualified=("aero",) if self.maybe(0.6) else (),
            chamber_now_c=rng.choice((20, 45, 100)) if heated else 20,
            free_at=at(rng.choice((-60, 0, 0, 100))),
            downtime=self.downtime(),
            heads=tuple(heads),
        )

    def job(
        self,
        i: int,
        materials: tuple[Material, ...],
        spools: tuple[Spool, ...],
        printers: tuple[Printer, ...],
    ) -> Job:
        rng = self.rng
        stocked = [s.material for s in spools]
        feeds = []
        for _ in range(2 if self.maybe(0.2) else 1):
            feeds.append(
                Feed(
                    material=rng.choice(stocked) if self.maybe(0.9) else rng.choice(materials).id,
                    grams=rng.choice((20, 60, 150)),
                    nozzle_mm=rng.choice(((0.4,), (0.6,), (0.4, 0.6))),
                    certs=("cert",) if self.maybe(0.15) else (),
                )
            )
        pin = None
        if self.maybe(0.15):
            pin = Pin(rng.choice(printers).id, at(rng.randint(0, 2500)))
        return Job(
            id=f"j{i:02}",
            order=f"o{i // 3}",
            part=f"part {i}",
            quantity=1,
            print_min=rng.choice((15, 60, 200, 500, 900)),
            size_mm=(rng.choice((100, 180, 250)), rng.choice((50, 150)), 100),
            needs_qualified=("aero",) if self.maybe(0.15) else (),
            anneal=self.maybe(0.15),
            finish_min=rng.choice((0, 15, 60)),
            release=at(rng.choice((-3000, -3000, 0, 300))),
            due=at(rng.randint(100, 4000)) if self.maybe(0.85) else None,
            weight=rng.choice((0, 1, 1, 2, 5.5)),
            same_lot_as=None,
            pinned=pin,
            feeds=tuple(feeds),
            progress=None,
        )

    def tie_lots(self, jobs: list[Job]) -> list[Job]:
        out = list(jobs)
        for i, job in enumerate(jobs):
            if len(jobs) > 1 and self.maybe(0.15):
                partner = self.rng.choice([other for other in jobs if other.id != job.id])
                out[i] = _with(job, same_lot_as=partner.id)
        return out

    def begin(self, scenario: Scenario) -> Scenario:
        """Let some jobs and runs have begun, on things that nothing else begun holds."""
        rng = self.rng
        used: set[str] = set()
        jobs = list(scenario.jobs)
        printers = list(scenario.printers)
        for p, printer in enumerate(scenario.printers):
            if not self.maybe(0.3):
                continue
            k = rng.randrange(len(jobs))
            job = jobs[k]
            free = [s for s in scenario.spools if s.id not in used and s.available_from <= START]
            if job.progress is not None or len(job.feeds) > min(len(printer.heads), len(free)):
                continue
            chosen: list[Spool] = []
            for feed in job.feeds:
                fit = [s for s in free if s.material == feed.material and s not in chosen]
                chosen += fit[:1]
            if len(chosen) < len(job.feeds):
                continue
            used |= {s.id for s in chosen}
            choices = tuple(
                FeedChoice(head.id, rng.choice(head.nozzles).id, spool.id)
                for head, spool in zip(printer.heads, chosen, strict=False)
            )
            jobs[k] = _with(
                job, progress=Progress(printer.id, choices, self.begun_steps(scenario, job, printer))
            )
            heads = list(printer.heads)
            for n, choice in enumerate(choices):
                material = next(s.material for s in scenario.spools if s.id == choice.spool)
                heads[n] = _with(heads[n], mounted=Mounted(choice.spool, material, choice.nozzle))
            printers[p] = _with(printer, heads=tuple(heads))
        dryer_runs = []
        for dryer in scenario.dryers:
            free = [s for s in scenario.spools if s.id not in used and s.available_from <= START]
            if not free or not self.maybe(0.4):
                continue
            spool = rng.choice(free)
            used.add(spool.id)
            end = rng.randint(1, 300)
            dryer_runs.append(
                DryerRun(
                    f"run-{dryer.id}",
                    dryer.id,
                    dryer.fixed_c or 50,
                    at(-rng.randint(1, 300)),
                    at(end),
                    (spool.id,),
                )
            )
        oven_runs = []
        busy = {run.dryer for run in dryer_runs}
        for oven in scenario.ovens:
            programs = {m.id for m in scenario.materials if m.anneal is not None}
            begun = [
                j
                for j in jobs
                if j.progress is not None and len(j.progress.steps) == 6
                if j.anneal and j.feeds[0].material in programs
            ]
            taken = {job for run in oven_runs for job in run.jobs}
            ready = [j for j in begun if j.id not in taken]
            if ready and oven.id not in busy and self.maybe(0.7):
                oven_runs.append(
                    OvenRun(f"bake-{oven.id}", oven.id, 80, at(-1), at(rng.randint(1, 200)), (ready[0].id,))
                )
        return _with(
            scenario,
            jobs=tuple(jobs),
            printers=tuple(printers),
            under_way=UnderWay(tuple(dryer_runs), tuple(oven_runs)),
        )

    def begun_steps(self, scenario: Scenario, job: Job, printer: Printer) -> tuple[Step, ...]:
        """A prefix of the six steps, as a person would have recorded and foreseen it."""
        rng = self.rng
        materials = {m.id: m for m in scenario.materials}
        mats = [materials[f.material] for f in job.feeds]
        caps = [m.max_cool_c_per_min for m in mats if m.max_cool_c_per_min is not None]
        cool = cooldown(
            max(20.0, min(printer.chamber_max_c or 20.0, mats[0].chamber_set_c)),
            min(m.release_c for m in mats),
            min(caps) if caps else None,
            printer,
            scenario.site.ambient_c,
        ).minutes
        lengths = (
            rng.randint(1, 20),
            rng.randint(1, 60),
            max(1, scenario.site.start_min),
            max(1, round(job.print_min * printer.speed_factor) + rng.randint(-5, 20)),
            max(1, cool),
            max(1, scenario.site.unload_min),
        )
        count = rng.randint(1, 6)
        # The last listed step began before the plan's start and is not over, unless a gap may follow it.
        over = rng.randint(1, lengths[count - 1])
        start = -(sum(lengths[: count - 1]) + over)
        if count in (1, 5, 6) and self.maybe(0.3):
            start -= rng.randint(0, 30)
        steps, now = [], start
        kinds = ("changeover", "preheat", "start", "print", "cooldown", "unload")
        for kind, length in zip(kinds[:count], lengths, strict=False):
            steps.append(Step(kind, at(now), at(now + length)))
            now += length
        return tuple(steps)


def _with(value, **changes):  # type: ignore[no-untyped-def]  # any dataclass and its fields
    from dataclasses import replace

    return replace(value, **changes)
