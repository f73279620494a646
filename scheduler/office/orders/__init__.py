"""Orders: typed line by line, or read from a sheet and looked at before anything is stored."""

from __future__ import annotations

from scheduler.office.orders.changes import Changes, JobChange, apply_orders, preview_orders
from scheduler.office.orders.columns import COLUMNS, Column
from scheduler.office.orders.line import OrderLine, line_of
from scheduler.office.orders.sheet import OrderSheet, SheetMessage, SheetRow, read_orders
from scheduler.office.orders.single import add_order, edit_order, recorded_line, remove_order
from scheduler.office.orders.template import order_template
from scheduler.office.refused import Refused

__all__ = [
    "COLUMNS",
    "Changes",
    "Column",
    "JobChange",
    "OrderLine",
    "OrderSheet",
    "Refused",
    "SheetMessage",
    "SheetRow",
    "add_order",
    "apply_orders",
    "edit_order",
    "line_of",
    "order_template",
    "preview_orders",
    "read_orders",
    "recorded_line",
    "remove_order",
]
