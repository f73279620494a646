"""The columns of an order sheet: their headings, what they hold, and an example."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from scheduler.office.local_time import EXAMPLE, spelled_time
from scheduler.office.orders import cells


@dataclass(frozen=True, slots=True)
class Column:
    """One column of an order sheet.

    Parameters
    ----------
    heading : str
        As it stands in the first row; capitals and spaces around it do not matter.
    required : bool
        True if the column must be there and filled in each row.
    read : callable
        Makes a value of a cell's text; raises ``ValueError`` with the end of a sentence.
    path : str
        Where the value sits in a job, as offences name it; empty if nowhere.
    """

    heading: str
    required: bool
    read: Callable[[str], Any]
    example: str
    about: str
    path: str = ""


COLUMNS = (
    Column(
        "job",
        True,
        cells.words,
        "HB-7",
        "Your name for this line; a later sheet changes the line by it.",
        "id",
    ),
    Column("order", True, cells.words, "2031-118", "The order that it belongs to.", "order"),
    Column("customer", False, cells.words, "Haldenbach Optik", "Who ordered. Blank leaves what is recorded."),
    Column("note", False, cells.words, "call before delivery", "For whoever handles the order."),
    Column("confidential", False, cells.yes_or_no, "no", "yes hides customer and part on open screens."),
    Column("part", True, cells.words, "lamp bracket", "What it is.", "part"),
    Column("plates", False, cells.count, "2", "How many plates to print; blank: 1."),
    Column(
        "parts on a plate", False, cells.count, "4", "How many parts lie on each plate; blank: 1.", "quantity"
    ),
    Column(
        "print time", True, cells.minutes, "6:45", "Of one plate: hours:minutes, or minutes.", "print_min"
    ),
    Column("x mm", True, cells.positive, "180", "Width of everything on the plate.", "size_mm[0]"),
    Column("y mm", True, cells.positive, "120", "Depth of everything on the plate.", "size_mm[1]"),
    Column("z mm", True, cells.positive, "64", "Height in build direction.", "size_mm[2]"),
    Column("material", True, cells.words, "ABS", "Its id in the fleet.", "feeds[0].material"),
    Column(
        "grams",
        True,
        cells.positive,
        "212",
        "Drawn from the spool for one plate, waste included.",
        "feeds[0].grams",
    ),
    Column(
        "nozzle mm",
        True,
        cells.bores,
        "0.4; 0.6",
        "Sizes that will do, semicolons between.",
        "feeds[0].nozzle_mm",
    ),
    Column(
        "certificates",
        False,
        cells.tags,
        "",
        "That the spool must carry, semicolons between.",
        "feeds[0].certs",
    ),
    Column(
        "second material", False, cells.words, "", "Of a second feed, such as support.", "feeds[1].material"
    ),
    Column("second grams", False, cells.positive, "", "Drawn for the second feed.", "feeds[1].grams"),
    Column("second nozzle mm", False, cells.bores, "", "Sizes for the second feed.", "feeds[1].nozzle_mm"),
    Column("second certificates", False, cells.tags, "", "For the second feed's spool.", "feeds[1].certs"),
    Column("anneal", False, cells.yes_or_no, "no", "yes: into an oven after the print.", "anneal"),
    Column(
        "finish time", False, cells.minutes, "0:30", "Work after the last machine; blank: none.", "finish_min"
    ),
    Column(
        "release",
        False,
        spelled_time,
        "",
        "Nothing starts before this day and local time; blank: at once.",
        "release",
    ),
    Column(
        "due",
        False,
        spelled_time,
        EXAMPLE,
        "Day and local time when it should be done; blank: never late.",
        "due",
    ),
    Column(
        "weight", False, cells.number, "1", "What an hour late costs beside other orders; blank: 1.", "weight"
    ),
    Column(
        "qualifications",
        False,
        cells.tags,
        "",
        "That the printer must have, semicolons between.",
        "needs_qualified",
    ),
    Column("same lot as", False, cells.words, "", "A job whose filament lot it must share.", "same_lot_as"),
)

BY_HEADING = {column.heading: column for column in COLUMNS}


def folded(heading: str) -> str:
    """A heading as it is compared."""
    return " ".join(heading.split()).casefold()
