"""The shop in a scenario file: site, people, machines, materials and stock."""

from __future__ import annotations

from scheduler.model import dryers, materials, printers, site, spools
from scheduler.model.codec.common_schema import DowntimeSchema
from scheduler.model.codec.fields import Celsius, Flag, Name, Number, OneOf, Text, Whole
from scheduler.model.codec.instants import Instant
from scheduler.model.codec.lists import ListOf, Window
from scheduler.model.codec.records import OneRecord, Record, Records


class PurgeSchema(Record):
    makes = site.Purge
    source = Name(data_key="from")
    target = Name(data_key="to")
    minutes = Whole(data_key="min")


class SiteSchema(Record):
    makes = site.Site
    name = Text()
    timezone = Name()
    plan_start = Instant()
    ambient_c = Celsius()
    dry_storage = Flag()
    start_min = Whole()
    unload_min = Whole()
    plate_min = Whole()
    spool_swap_min = Whole()
    nozzle_swap_min = Whole()
    purge_min = Whole()
    purges = Records(PurgeSchema)
    dryer_load_min = Whole()
    oven_load_min = Whole()
    freeze_min = Whole()
    move_cost_h = Number(0)


class ShiftSchema(Record):
    makes = site.Shift
    start = Instant()
    end = Instant()
    hands = Whole()


class DryingRowSchema(Record):
    makes = materials.DryingRow
    temp_c = Celsius()
    hours = Number(0)
    vacuum = Flag()


class AnnealSchema(Record):
    makes = materials.Anneal
    temp_c = Celsius()
    hours = Number(0)


class MaterialSchema(Record):
    makes = materials.Material
    id = Name()
    polymer = Text()
    filled = OneOf("carbon", "glass", "mineral", nullable=True)
    filament_mm = Number(above=0)
    nozzle_c = Window()
    bed_c = Window()
    chamber_c = Window()
    chamber_set_c = Celsius()
    surfaces = ListOf(Name())
    abrasive = Flag()
    corrosive = Flag()
    needs_extraction = Flag()
    min_nozzle_mm = Number(0)
    drying = Records(DryingRowSchema)
    open_time_min = Whole(nullable=True)
    soak_min = Whole()
    release_c = Celsius()
    max_cool_c_per_min = Number(above=0, nullable=True)
    anneal = OneRecord(AnnealSchema, nullable=True)


class NozzleSchema(Record):
    makes = printers.Nozzle
    id = Name()
    size_mm = Number(above=0)
    hardened = Flag()
    corrosion_proof = Flag()
    max_c = Celsius()


class MountedSchema(Record):
    makes = printers.Mounted
    spool = Name(nullable=True)
    material = Name(nullable=True)
    nozzle = Name(nullable=True)


class HeadSchema(Record):
    makes = printers.Head
    id = Name()
    max_c = Celsius()
    filament_mm = Number(above=0)
    dry_feed = Flag()
    mounted = OneRecord(MountedSchema)
    nozzles = Records(NozzleSchema)


class PrinterSchema(Record):
    makes = printers.Printer
    id = Name()
    bed_max_c = Celsius()
    chamber_max_c = Celsius(nullable=True)
    chamber_reach_c = Celsius(nullable=True)
    heat_tau_min = Number(above=0)
    cool_tau_min = Number(above=0)
    bed_heat_min = Whole()
    bed_cool_min = Whole()
    volume_mm = ListOf(Number(0), length=3)
    surfaces = ListOf(Name())
    extraction = Flag()
    unattended = Flag()
    speed_factor = Number(above=0)
    qualified = ListOf(Name())
    chamber_now_c = Celsius()
    free_at = Instant()
    downtime = Records(DowntimeSchema)
    heads = Records(HeadSchema, least=1, most=2)


class DryerSchema(Record):
    makes = dryers.Dryer
    id = Name()
    kind = OneOf("batch", "rolling")
    max_c = Celsius()
    fixed_c = Celsius(nullable=True)
    vacuum = Flag()
    slots = Whole(1)
    warmup_min = Whole()
    downtime = Records(DowntimeSchema)


class OvenSchema(Record):
    makes = dryers.Oven
    id = Name()
    max_c = Celsius()
    slots = Whole(1)
    downtime = Records(DowntimeSchema)


class SpoolSchema(Record):
    makes = spools.Spool
    id = Name()
    material = Name()
    lot = Text()
    grams = Number(0)
    body_max_c = Celsius()
    certs = ListOf(Name())
    available_from = Instant()
    dried = Flag()
    exposed_min = Whole()
    drying = Records(DryingRowSchema, nullable=True)
