"""Objects that scenario and plan files share."""

from __future__ import annotations

from scheduler.model import common
from scheduler.model.codec.fields import Celsius, Name, OneOf, Text
from scheduler.model.codec.instants import Instant
from scheduler.model.codec.lists import ListOf
from scheduler.model.codec.records import Record


class DowntimeSchema(Record):
    makes = common.Downtime
    start = Instant()
    end = Instant()
    reason = Text()


class StepSchema(Record):
    makes = common.Step
    kind = OneOf(*common.PRINTER_STEPS)
    start = Instant()
    end = Instant()


class FeedChoiceSchema(Record):
    makes = common.FeedChoice
    head = Name()
    nozzle = Name()
    spool = Name()


class DryerRunSchema(Record):
    makes = common.DryerRun
    id = Name()
    dryer = Name()
    setpoint_c = Celsius()
    start = Instant()
    end = Instant()
    spools = ListOf(Name())


class OvenRunSchema(Record):
    makes = common.OvenRun
    id = Name()
    oven = Name()
    temp_c = Celsius()
    start = Instant()
    end = Instant()
    jobs = ListOf(Name())
