"""The matcher and its plain twin agree on random small shops."""

from __future__ import annotations

from collections import Counter

import pytest

from scheduler.matching import Matcher, staffed_stretches
from scheduler.model import Scenario
from tests.matching import naive
from tests.matching.small_shops import a_small_shop

SHOPS = 400


def _agree(scenario: Scenario) -> Counter[str]:
    """Compare every job on every printer; how often each check failed, and how many pairs fit."""
    matcher = Matcher(scenario)
    seen: Counter[str] = Counter()
    longest = max((end - start for start, end in staffed_stretches(scenario)), default=0)
    assert longest == naive.longest_staffed(scenario)
    for job in scenario.jobs:
        judged = {printer.id: naive.judge(scenario, job, printer) for printer in scenario.printers}
        fitting = tuple(printer for printer, (misses, _) in judged.items() if not misses)
        assert matcher.fitting_printers(job.id) == fitting
        assert matcher.fits_something(job.id) == bool(fitting)
        for printer_id, (misses, passing) in judged.items():
            reasons = matcher.failures(job.id, printer_id)
            assert [(r.check, r.head, r.nozzle) for r in reasons] == [
                (m.check, m.head, m.nozzle) for m in misses
            ]
            assert all(reason.printer == printer_id and reason.text for reason in reasons)
            found = matcher.assignments(job.id, printer_id)
            assert [tuple((f.head, f.nozzle) for f in a.feeds) for a in found] == passing
            seen.update({miss.check for miss in misses} or {"fits"})
            seen["ways"] += len(passing) > 1
        verdict = matcher.verdict(job.id)
        assert verdict.fits == bool(fitting)
        if fitting:
            assert verdict.reasons == () and verdict.nearest is None
        else:
            assert len({m.check for m in judged[verdict.nearest or ""][0]}) == min(
                len({m.check for m in misses}) for misses, _ in judged.values()
            )
        for feed in range(len(job.feeds)):
            assert matcher.spools(job.id, feed) == tuple(
                s.id for s in scenario.spools if naive.spool_serves(scenario, job, feed, s)
            )
        for printer in scenario.printers:
            assert matcher.print_minutes(job.id, printer.id) == naive.print_min(job, printer)
            if matcher.chamber_window(job.id) is not None:
                setpoint = naive.chamber_set_c(scenario, job, printer)
                assert matcher.setpoint_c(job.id, printer.id) == setpoint
                cooling = naive.cooldown_min(scenario, job, printer)
                assert matcher.cooldown(job.id, printer.id).minutes == cooling
    return seen


def test_twins_agree_and_every_check_is_seen_to_fail() -> None:
    seen: Counter[str] = Counter()
    for seed in range(SHOPS):
        seen += _agree(a_small_shop(seed))
    for check in (*naive.ORDER, "fits", "ways"):
        assert seen[check] >= 100, (check, seen)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_twins_agree_on_shops_with_many_printers(seed: int) -> None:
    scenario = a_small_shop(seed, printers=80)
    _agree(scenario)


@pytest.mark.parametrize("seed", range(4))
def test_above_fifty_printers_the_nearest_are_told_and_the_others_counted(seed: int) -> None:
    scenario = a_small_shop(seed, printers=75)
    matcher = Matcher(scenario)
    unfit = [job for job in scenario.jobs if not matcher.fits_something(job.id)]
    assert unfit
    for job in unfit:
        judged = {p.id: naive.judge(scenario, job, p)[0] for p in scenario.printers}
        sets = {printer: tuple(dict.fromkeys(m.check for m in misses)) for printer, misses in judged.items()}
        order = sorted(sets, key=lambda printer: (len(sets[printer]), printer))
        expected = [(m.check, printer) for printer in order[:20] for m in judged[printer]]
        counts = Counter(", ".join(sets[printer]) for printer in order[20:])
        verdict = matcher.verdict(job.id)
        assert verdict.nearest == order[0]
        assert [(r.check, r.printer) for r in verdict.reasons if r.printer] == expected
        counted = {r.check: r.there for r in verdict.reasons[len(expected) :]}
        assert counted == counts
        assert sum(counts.values()) == 55
