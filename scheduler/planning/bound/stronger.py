"""The strongest bound that is affordable: prices for queues, and lots of jobs on few machines to the end."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from scheduler.planning.bound.narrow import Narrows
from scheduler.planning.bound.offers import Floats
from scheduler.planning.bound.prices import Prices, Tariff, is_small
from scheduler.planning.construct import Base


def climb(
    base: Base,
    stop: Callable[[], bool] = lambda: False,
    tell: Callable[[float], None] | None = None,
    prices_too: bool = True,
    priced: Callable[[Prices], None] = lambda prices: None,
) -> float:
    """Better and better bounds: lots of jobs on few machines; prices; such lots at these prices.

    Parameters
    ----------
    base : Base
        Of the task; work under way stands as in every plan.
    stop : callable
        Asked now and then; True ends it with the best bound so far.
    tell : callable or None
        Told each better bound, late hours.
    prices_too : bool
        Whether prices are looked for, which takes seconds in a shop of some hundred jobs.
    priced : callable
        Given the prices whenever they are better.

    Returns
    -------
    float
        Late hours that no valid plan goes under.
    """
    prices = Prices(base)
    best = prices.late_hours
    narrows = Narrows(prices)

    def note(late_hours: float) -> None:
        nonlocal best
        if late_hours > best:
            best = late_hours
            if tell is not None:
                tell(late_hours)

    def with_lots(value: float, price: Floats, tariff: Tariff) -> None:
        gains = math.fsum(lot.gain for lot in narrows.find(tariff, stop))
        note(prices.in_hours(value + gains, price))

    def by_lots() -> None:
        with_lots(prices.alone, np.zeros_like(prices.price), prices.free())

    def by_prices() -> None:
        def note_priced(late_hours: float) -> None:
            note(late_hours)
            priced(prices)

        prices.climb(stop, note_priced)
        if prices.price.any():
            with_lots(prices.best, prices.price, prices.tariff(prices.price))

    # What says something first: in a small shop that is the first climb, in a larger one the lots.
    ways = (by_prices, by_lots) if is_small(prices.P) else (by_lots, by_prices)
    for way in ways:
        if prices_too or way is by_lots:
            way()
    return best
