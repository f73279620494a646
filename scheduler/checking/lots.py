"""Parts that must match come from one lot."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.checking.breach import Breach
from scheduler.checking.view import View


def check_lots(view: View) -> Iterator[Breach]:
    """First feed from the lot of the named job's first feed, where that job is placed."""
    for stint in view.stints.values():
        other = view.stints.get(stint.job.same_lot_as or "")
        # A begun job's spool was chosen before; it neither answers for its lot nor binds another.
        if other is None or stint.under_way:
            continue
        here, there = stint.spools[0], other.spools[0]
        if here.lot != there.lot:
            text = (
                f"its spool {here.id} is of lot {here.lot}, job {other.job.id} has spool {there.id} "
                f"of lot {there.lot}"
            )
            yield Breach("lots", stint.who, text, (stint.job.id,))
