"""The shop's record: fleet, orders, plans, planning runs and events in SQLite or PostgreSQL."""

from __future__ import annotations

from scheduler.store.engine import wal_is_safe
from scheduler.store.errors import (
    NoShop,
    RecordBusy,
    RecordError,
    RecordRefused,
    RecordUnreachable,
    StaleVersion,
)
from scheduler.store.events import Event
from scheduler.store.floor import FloorState
from scheduler.store.orders import Order
from scheduler.store.plans import PlanState, PlanSummary, StoredPlan
from scheduler.store.quotes import PrintEnd, Quote, QuoteState, QuoteVersion
from scheduler.store.record import Record, SchemaState, Unit
from scheduler.store.runs import PlanningRun, RunState
from scheduler.store.timers import TimerState
from scheduler.store.water import HumidCheck, KnownDryer, RecordedFit, RecordedWeighing, RoomAir

__all__ = [
    "Event",
    "FloorState",
    "HumidCheck",
    "KnownDryer",
    "NoShop",
    "Order",
    "PlanState",
    "PlanSummary",
    "PlanningRun",
    "PrintEnd",
    "Quote",
    "QuoteState",
    "QuoteVersion",
    "Record",
    "RecordBusy",
    "RecordError",
    "RecordRefused",
    "RecordUnreachable",
    "RecordedFit",
    "RecordedWeighing",
    "RoomAir",
    "RunState",
    "SchemaState",
    "StaleVersion",
    "StoredPlan",
    "TimerState",
    "Unit",
    "wal_is_safe",
]
