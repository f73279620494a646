"""The plan file."""

from __future__ import annotations

import math
import re
from typing import Any

from marshmallow import ValidationError

from scheduler.model import plan
from scheduler.model.codec.common_schema import DryerRunSchema, FeedChoiceSchema, OvenRunSchema, StepSchema
from scheduler.model.codec.fields import Celsius, Name, Number, OneOf, Required, Text, Whole, tidy
from scheduler.model.codec.instants import Instant
from scheduler.model.codec.offences import shown
from scheduler.model.codec.records import FileRecord, Record, Records

#: Sums over many jobs may pass what a single figure may be.
LARGEST_SUM = 1e15


class Hash(Required):
    """SHA-256 in lower-case hex."""

    noun = "a SHA-256 of 64 lower-case hex digits"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if isinstance(value, str) and re.fullmatch("[0-9a-f]{64}", value):
            return value
        raise self.refusal(value)


class FigureField(Text):
    """A number, text or nothing: what a failed check compares."""

    noun = "a number, text or null"

    def __init__(self) -> None:
        super().__init__(nullable=True)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if type(value) in (int, float):
            if not math.isfinite(value):
                raise self.refusal(value)
            if abs(value) > LARGEST_SUM:
                raise ValidationError(f"{shown(value)} is too large (at most {LARGEST_SUM:.0f})")
            return value
        return super()._deserialize(value, attr, data, **kwargs)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return tidy(value)


class PlannedJobSchema(Record):
    makes = plan.PlannedJob
    job = Name()
    printer = Name()
    feeds = Records(FeedChoiceSchema, least=1, most=2)
    chamber_c = Celsius()
    oven_run = Name(nullable=True)
    done = Instant()
    late_min = Whole()
    steps = Records(StepSchema)


class ForcedSchema(Record):
    makes = plan.Forced
    job = Name()
    rule = Name()
    text = Text()


class ReasonSchema(Record):
    makes = plan.Reason
    check = Name()
    printer = Name(nullable=True)
    head = Name(nullable=True)
    nozzle = Name(nullable=True)
    asked = FigureField()
    there = FigureField()
    text = Text()


class UnplacedSchema(Record):
    makes = plan.Unplaced
    job = Name()
    reasons = Records(ReasonSchema)


class PlanSchema(FileRecord):
    makes = plan.Plan
    named = plan.PLAN_SCHEMA
    schema = OneOf(plan.PLAN_SCHEMA)
    scenario_hash = Hash()
    made_at = Instant()
    late_cost = Number(0, largest=LARGEST_SUM)
    attended_min = Whole(largest=LARGEST_SUM)
    preheat_min = Whole(largest=LARGEST_SUM)
    lower_bound = Number(0, largest=LARGEST_SUM, nullable=True)
    seconds = Number(0)
    seed = Whole(None, largest=2**63)
    jobs = Records(PlannedJobSchema)
    dryer_runs = Records(DryerRunSchema)
    oven_runs = Records(OvenRunSchema)
    forced = Records(ForcedSchema)
    unplaced = Records(UnplacedSchema)
