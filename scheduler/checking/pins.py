"""Pinned jobs are on their printer, printing at their minute."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.view import PRINT, View


def check_pins(view: View) -> Iterator[Breach]:
    """Exactly that printer and that print start, as far as they have not begun."""
    for stint in view.stints.values():
        pin = stint.job.pinned
        if pin is None:
            continue
        if not stint.under_way and stint.printer.id != pin.printer:
            text = f"it is placed on printer {stint.printer.id} and pinned to {pin.printer}"
            yield Breach("pinned", stint.who, text, (stint.job.id,))
        asked = view.scenario.site.minute(pin.print_start)
        if stint.begun <= PRINT and stint.starts[PRINT] != asked:
            text = f"its print starts {view.when(stint.starts[PRINT])} and is pinned to {view.when(asked)}"
            yield Breach("pinned", stint.who, text, (stint.job.id,))
