"""Jobs, work under way, and the scenario file as a whole."""

from __future__ import annotations

from scheduler.model import jobs, scenario
from scheduler.model.codec.common_schema import DryerRunSchema, FeedChoiceSchema, OvenRunSchema, StepSchema
from scheduler.model.codec.fields import Flag, Name, Number, OneOf, Text, Whole
from scheduler.model.codec.instants import Instant
from scheduler.model.codec.lists import ListOf
from scheduler.model.codec.records import FileRecord, OneRecord, Record, Records
from scheduler.model.codec.shop_schema import (
    DryerSchema,
    MaterialSchema,
    OvenSchema,
    PrinterSchema,
    ShiftSchema,
    SiteSchema,
    SpoolSchema,
)


class FeedSchema(Record):
    makes = jobs.Feed
    material = Name()
    grams = Number(0)
    nozzle_mm = ListOf(Number(above=0))
    certs = ListOf(Name())


class PinSchema(Record):
    makes = jobs.Pin
    printer = Name()
    print_start = Instant()


class ProgressSchema(Record):
    makes = jobs.Progress
    printer = Name()
    feeds = Records(FeedChoiceSchema)
    steps = Records(StepSchema, least=1)


class JobSchema(Record):
    makes = jobs.Job
    id = Name()
    order = Text()
    part = Text()
    quantity = Whole()
    print_min = Whole()
    size_mm = ListOf(Number(0), length=3)
    needs_qualified = ListOf(Name())
    anneal = Flag()
    finish_min = Whole()
    release = Instant()
    due = Instant(nullable=True)
    weight = Number(0)
    same_lot_as = Name(nullable=True)
    pinned = OneRecord(PinSchema, nullable=True)
    feeds = Records(FeedSchema, least=1, most=2)
    progress = OneRecord(ProgressSchema, nullable=True)


class UnderWaySchema(Record):
    makes = scenario.UnderWay
    dryer_runs = Records(DryerRunSchema)
    oven_runs = Records(OvenRunSchema)


class ScenarioSchema(FileRecord):
    makes = scenario.Scenario
    named = scenario.SCENARIO_SCHEMA
    schema = OneOf(scenario.SCENARIO_SCHEMA)
    site = OneRecord(SiteSchema)
    shifts = Records(ShiftSchema, least=1)
    materials = Records(MaterialSchema)
    printers = Records(PrinterSchema)
    dryers = Records(DryerSchema)
    ovens = Records(OvenSchema)
    spools = Records(SpoolSchema)
    jobs = Records(JobSchema)
    under_way = OneRecord(UnderWaySchema)
