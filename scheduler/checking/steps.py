"""Steps follow one another, and those of a fixed length have it."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.thermal import print_minutes
from scheduler.checking.view import CHANGEOVER, COOLDOWN, PREHEAT, PRINT, START, UNLOAD, Stint, View
from scheduler.model import PRINTER_STEPS


def check_order(view: View) -> Iterator[Breach]:
    """Without gaps, except before the preheat and before the unload."""
    for stint in view.stints.values():
        for step in range(max(stint.begun, 1), len(PRINTER_STEPS)):
            gap = stint.starts[step] - stint.ends[step - 1]
            before, after = PRINTER_STEPS[step - 1], PRINTER_STEPS[step]
            if gap < 0:
                text = f"{after} starts {-gap} min before {before} ends"
            elif gap > 0 and step not in (PREHEAT, UNLOAD):
                text = f"{gap} min lie between {before} and {after}; they follow without a gap"
            else:
                continue
            yield Breach("steps", stint.who, text, (stint.job.id,))
        for step in range(stint.begun, len(PRINTER_STEPS)):
            if stint.length(step) < 0:
                text = f"{PRINTER_STEPS[step]} ends {-stint.length(step)} min before it starts"
                yield Breach("steps", stint.who, text, (stint.job.id,))


def check_fixed_lengths(view: View) -> Iterator[Breach]:
    """First layer, print and unload last exactly what site, job and printer say."""
    site = view.scenario.site
    for stint in view.stints.values():
        asked = ((START, site.start_min), (PRINT, print_minutes(stint)), (UNLOAD, site.unload_min))
        for step, minutes in asked:
            if step >= stint.begun and 0 <= stint.length(step) != minutes:
                yield _length(stint, step, minutes, view)


def _length(stint: Stint, step: int, minutes: int, view: View) -> Breach:
    kind = PRINTER_STEPS[step]
    text = f"{kind} lasts {stint.length(step)} min, asked for: {minutes} min"
    if step == PRINT:
        text += f" ({stint.job.print_min} min at speed factor {stint.printer.speed_factor:g})"
    return Breach("print" if step == PRINT else "steps", stint.who, text, (stint.job.id,))


def check_printers(view: View) -> Iterator[Breach]:
    """A printer belongs to one job from its changeover's start to its unload's end."""
    for stints in view.on_printer.values():
        holder: Stint | None = None
        for stint in stints:
            if (
                holder is not None
                and stint.first < holder.last
                and stint.first < stint.last
                and not (holder.under_way and stint.under_way)
            ):
                # Of two jobs, the one that has not begun is the one that had the choice.
                late = stint if holder.under_way or not stint.under_way else holder
                other = holder if late is stint else stint
                yield Breach(
                    "printer",
                    late.who,
                    f"printer {stint.printer.id} belongs to job {other.job.id} from "
                    f"{view.between(other.first, other.last)}; this job has it from "
                    f"{view.between(late.first, late.last)}",
                    (stint.job.id, holder.job.id),
                )
            if holder is None or stint.last > holder.last:
                holder = stint


#: Steps of which a person does the whole, by index.
ATTENDED = (CHANGEOVER, START, UNLOAD)
#: Steps that a printer without leave to run alone may do only in staffed time, by index.
WATCHED = (PREHEAT, START, PRINT, COOLDOWN)
