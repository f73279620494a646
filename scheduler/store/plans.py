"""Recorded plans: numbered, never changed, at most one of them published."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import Connection, Row, func, insert, select, update

from scheduler.model import Plan, Scenario
from scheduler.model.codec import decode_scenario, encode_scenario, to_json
from scheduler.store.errors import NoShop, RecordRefused
from scheduler.store.fleet import Fleet
from scheduler.store.rows.batch import Batch, table
from scheduler.store.rows.plans import read_content, write_content
from scheduler.store.tables import PlanBasisRow, PlanRow, SiteRow

PlanState = Literal["proposal", "published", "replaced", "discarded"]


@dataclass(frozen=True, slots=True)
class PlanSummary:
    """A recorded plan without its content.

    Parameters
    ----------
    scenario_version : int
        Version of the shop that it was made for.
    recording : int
        How often the shop had been replaced as a whole by then.
    planned_from : datetime
        The instant that it was made for: minute 0 of its scenario.
    late_cost : float
        Weighted late hours.
    late_jobs, unplaced : int
        Jobs done after their due, and jobs without a place.
    """

    number: int
    state: PlanState
    scenario_version: int
    recording: int
    planned_from: datetime
    created_at: datetime
    published_at: datetime | None
    late_cost: float
    late_jobs: int
    unplaced: int


@dataclass(frozen=True, slots=True)
class StoredPlan:
    """A recorded plan with its content."""

    number: int
    state: PlanState
    plan: Plan
    scenario_version: int
    recording: int
    planned_from: datetime
    created_at: datetime
    published_at: datetime | None


class Plans:
    """The plans' rows, within one unit of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._plans = table(PlanRow)

    def add(
        self,
        plan: Plan,
        *,
        created_at: datetime | None = None,
        scenario_version: int | None = None,
        planned_from: datetime | None = None,
    ) -> int:
        """Record a plan as a proposal.

        Parameters
        ----------
        created_at : datetime, optional
            Else the instant at which the plan says that it was made.
        scenario_version : int, optional
            Version of the shop that it was made for; else that of now.
        planned_from : datetime, optional
            Minute 0 of its scenario; else that of the recorded shop.

        Returns
        -------
        int
            Its number; numbers only grow.
        """
        fleet = Fleet(self._connection)
        if planned_from is None:
            planned_from = self._connection.execute(select(table(SiteRow).c.plan_start)).scalar_one_or_none()
            if planned_from is None:
                raise NoShop
        number = (self._connection.execute(select(func.max(self._plans.c.number))).scalar_one() or 0) + 1
        self._connection.execute(
            insert(self._plans).values(
                number=number,
                state="proposal",
                scenario_version=fleet.version() if scenario_version is None else scenario_version,
                recording=fleet.recording(),
                planned_from=planned_from,
                created_at=created_at or plan.made_at,
                published_at=None,
                scenario_hash=plan.scenario_hash,
                made_at=plan.made_at,
                late_cost=plan.late_cost,
                late_jobs=sum(job.late_min > 0 for job in plan.jobs),
                unplaced=len(plan.unplaced),
                attended_min=plan.attended_min,
                preheat_min=plan.preheat_min,
                lower_bound=plan.lower_bound,
                seconds=plan.seconds,
                seed=plan.seed,
            )
        )
        batch = Batch()
        write_content(batch, number, plan)
        batch.insert(self._connection)
        return number

    def keep_basis(self, number: int, scenario: Scenario, event: int) -> None:
        """Keep the shop that a plan was made for, and the newest event of the floor that it knew."""
        packed = zlib.compress(to_json(encode_scenario(scenario)).encode())
        self._connection.execute(insert(table(PlanBasisRow)).values(plan=number, event=event, packed=packed))

    def basis(self, number: int) -> tuple[bytes, int] | None:
        """What :meth:`keep_basis` kept, packed as it is; ``None`` if nothing was."""
        bases = table(PlanBasisRow)
        row = self._connection.execute(select(bases).where(bases.c.plan == number)).one_or_none()
        return None if row is None else (row.packed, row.event)

    def get(self, number: int) -> StoredPlan | None:
        """A plan by its number."""
        row = self._connection.execute(
            select(self._plans).where(self._plans.c.number == number)
        ).one_or_none()
        return None if row is None else self._whole(row)

    def published_number(self) -> int | None:
        """The number of the plan that the floor works to."""
        plans = self._plans
        return self._connection.execute(
            select(plans.c.number).where(plans.c.state == "published")
        ).scalar_one_or_none()

    def newest_number(self) -> int:
        """The highest number of any plan; 0 if there is none."""
        return self._connection.execute(select(func.max(self._plans.c.number))).scalar_one() or 0

    def published(self) -> StoredPlan | None:
        """The plan that the floor works to."""
        plans = self._plans
        row = self._connection.execute(select(plans).where(plans.c.state == "published")).one_or_none()
        return None if row is None else self._whole(row)

    def newest_proposal(self) -> StoredPlan | None:
        """The proposal with the highest number."""
        plans = self._plans
        newest = select(plans).where(plans.c.state == "proposal").order_by(plans.c.number.desc()).limit(1)
        row = self._connection.execute(newest).one_or_none()
        return None if row is None else self._whole(row)

    def publish(self, number: int, at: datetime | None = None) -> None:
        """Make a proposal the plan that the floor works to; the one before it is replaced.

        Parameters
        ----------
        at : datetime, optional
            When; else the instant at which the proposal was recorded.

        Raises
        ------
        RecordRefused
            If there is no such proposal.
        """
        created_at = self._proposal(number)
        plans = self._plans
        self._connection.execute(update(plans).where(plans.c.state == "published").values(state="replaced"))
        self._connection.execute(
            update(plans)
            .where(plans.c.number == number)
            .values(state="published", published_at=at or created_at)
        )

    def discard(self, number: int) -> None:
        """Put a proposal aside; :class:`RecordRefused` if there is no such proposal."""
        self._proposal(number)
        plans = self._plans
        self._connection.execute(update(plans).where(plans.c.number == number).values(state="discarded"))

    def retire_all(self) -> tuple[int, ...]:
        """Replace the published plan and discard every proposal; the numbers of these plans."""
        plans = self._plans
        standing = plans.c.state.in_(("published", "proposal"))
        numbers = self._connection.execute(select(plans.c.number).where(standing)).scalars().all()
        for before, after in (("published", "replaced"), ("proposal", "discarded")):
            self._connection.execute(update(plans).where(plans.c.state == before).values(state=after))
        return tuple(numbers)

    def list(self) -> tuple[PlanSummary, ...]:
        """All plans, the newest first."""
        plans = self._plans
        rows = self._connection.execute(select(plans).order_by(plans.c.number.desc()))
        return tuple(
            PlanSummary(
                number=row.number,
                state=row.state,
                scenario_version=row.scenario_version,
                recording=row.recording,
                planned_from=row.planned_from,
                created_at=row.created_at,
                published_at=row.published_at,
                late_cost=row.late_cost,
                late_jobs=row.late_jobs,
                unplaced=row.unplaced,
            )
            for row in rows
        )

    def _proposal(self, number: int) -> datetime:
        """When a proposal was recorded; refused if it is none."""
        plans = self._plans
        row = self._connection.execute(
            select(plans.c.state, plans.c.created_at).where(plans.c.number == number)
        ).one_or_none()
        if row is None:
            raise RecordRefused(f"there is no plan {number}")
        if row.state != "proposal":
            raise RecordRefused(f"plan {number} is {row.state}, not a proposal")
        created_at: datetime = row.created_at
        return created_at

    def _whole(self, row: Row[Any]) -> StoredPlan:
        plan = Plan(
            scenario_hash=row.scenario_hash,
            made_at=row.made_at,
            late_cost=row.late_cost,
            attended_min=row.attended_min,
            preheat_min=row.preheat_min,
            lower_bound=row.lower_bound,
            seconds=row.seconds,
            seed=row.seed,
            **read_content(self._connection, row.number),
        )
        return StoredPlan(
            number=row.number,
            state=row.state,
            plan=plan,
            scenario_version=row.scenario_version,
            recording=row.recording,
            planned_from=row.planned_from,
            created_at=row.created_at,
            published_at=row.published_at,
        )


def unpacked(packed: bytes) -> Scenario:
    """The shop that :meth:`Plans.keep_basis` packed; takes its time and needs no record."""
    return decode_scenario(zlib.decompress(packed))
