"""The tables of the record, one module a subject; all hang on :data:`Base.metadata`."""

from __future__ import annotations

from scheduler.store.tables.activity import EventRow, PlanningRunRow
from scheduler.store.tables.base import Base
from scheduler.store.tables.dryers import DryerDowntimeRow, DryerRow, OvenDowntimeRow, OvenRow
from scheduler.store.tables.materials import MaterialDryingRow, MaterialRow, MaterialSurfaceRow, PurgeRow
from scheduler.store.tables.orders import (
    DryerRunRow,
    DryerRunSpoolRow,
    FeedCertRow,
    FeedNozzleRow,
    FeedRow,
    JobQualificationRow,
    JobRow,
    OrderRow,
    OvenRunJobRow,
    OvenRunRow,
    ProgressFeedRow,
    ProgressStepRow,
)
from scheduler.store.tables.plans import (
    PlanDryerRunRow,
    PlanDryerRunSpoolRow,
    PlanForcedRow,
    PlannedFeedRow,
    PlannedJobRow,
    PlannedStepRow,
    PlanOvenRunJobRow,
    PlanOvenRunRow,
    PlanReasonRow,
    PlanRow,
    PlanUnplacedRow,
)
from scheduler.store.tables.printers import (
    HeadRow,
    NozzleRow,
    PrinterDowntimeRow,
    PrinterQualificationRow,
    PrinterRow,
    PrinterSurfaceRow,
)
from scheduler.store.tables.site import RecordStateRow, ShiftRow, SiteRow
from scheduler.store.tables.spools import SpoolCertRow, SpoolDryingRow, SpoolRow
from scheduler.store.tables.timers import TimerRow
from scheduler.store.tables.water import (
    ChamberLogRow,
    DryerAirRow,
    HumidCheckRow,
    MaterialLimitRow,
    RoomAirRow,
    RoomReadingRow,
    WeighingRow,
)

__all__ = [
    "Base",
    "ChamberLogRow",
    "DryerAirRow",
    "DryerDowntimeRow",
    "DryerRow",
    "DryerRunRow",
    "DryerRunSpoolRow",
    "EventRow",
    "FeedCertRow",
    "FeedNozzleRow",
    "FeedRow",
    "HeadRow",
    "HumidCheckRow",
    "JobQualificationRow",
    "JobRow",
    "MaterialDryingRow",
    "MaterialLimitRow",
    "MaterialRow",
    "MaterialSurfaceRow",
    "NozzleRow",
    "OrderRow",
    "OvenDowntimeRow",
    "OvenRow",
    "OvenRunJobRow",
    "OvenRunRow",
    "PlanDryerRunRow",
    "PlanDryerRunSpoolRow",
    "PlanForcedRow",
    "PlanOvenRunJobRow",
    "PlanOvenRunRow",
    "PlanReasonRow",
    "PlanRow",
    "PlanUnplacedRow",
    "PlannedFeedRow",
    "PlannedJobRow",
    "PlannedStepRow",
    "PlanningRunRow",
    "PrinterDowntimeRow",
    "PrinterQualificationRow",
    "PrinterRow",
    "PrinterSurfaceRow",
    "ProgressFeedRow",
    "ProgressStepRow",
    "PurgeRow",
    "RecordStateRow",
    "RoomAirRow",
    "RoomReadingRow",
    "ShiftRow",
    "SiteRow",
    "SpoolCertRow",
    "SpoolDryingRow",
    "SpoolRow",
    "TimerRow",
    "WeighingRow",
]
