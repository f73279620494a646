"""The whole judgement of a plan."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.checking import (
    changeovers,
    complete,
    dryers,
    dryness,
    figures,
    forced,
    hands,
    heating,
    left_out,
    lots,
    machines,
    matched,
    ovens,
    pins,
    spools,
    steps,
    stock,
    under_way,
)
from scheduler.checking.breach import Breach
from scheduler.checking.people import people
from scheduler.checking.reading import read
from scheduler.checking.view import View
from scheduler.matching import Matcher
from scheduler.model import Plan, Scenario


def check(scenario: Scenario, plan: Plan, scenario_hash: str | None = None) -> tuple[Breach, ...]:
    """Every breach of the contract in a plan; none: the plan is valid.

    Parameters
    ----------
    scenario_hash : str or None
        Hash of the scenario's file, which the plan must name; ``None``: not compared.
    """
    matcher = Matcher(scenario)
    view, unread = read(scenario, plan)
    breaches = forced.excuse(view, [*unread, *rule_breaches(view, matcher)])
    # A place beside a rest that is itself broken would say nothing.
    if not breaches:
        breaches += left_out.check_left_out(view, matcher, lambda other: _remaining(other, matcher))
    breaches += complete.check_complete(view, matcher)
    breaches += stock.check_stock(view, matcher)
    breaches += figures.check_done(view)
    breaches += figures.check_costs(view, matcher)
    if scenario_hash is not None and plan.scenario_hash != scenario_hash:
        text = f"scenario_hash is {plan.scenario_hash}, the scenario's is {scenario_hash}"
        breaches.append(Breach("hash", "plan", text))
    return tuple(breaches)


def open_too_long(scenario: Scenario, plan: Plan) -> frozenset[str]:
    """The jobs whose spools are not dry, or not dry for long enough: one rule alone, in a moment."""
    view, _ = read(scenario, plan)
    breaches = forced.excuse(view, list(dryness.check_dryness(view)))
    return frozenset(job for breach in breaches if breach.rule == "dryness" for job in breach.jobs)


def _remaining(view: View, matcher: Matcher) -> list[Breach]:
    return forced.excuse(view, list(rule_breaches(view, matcher)))


def rule_breaches(view: View, matcher: Matcher) -> Iterator[Breach]:
    """The rules that bind placed jobs and runs, apart from figures and completeness."""
    there = people(view.scenario)
    yield from under_way.check_jobs(view)
    yield from under_way.check_runs(view)
    yield from matched.check_match(view, matcher)
    yield from steps.check_order(view)
    yield from steps.check_fixed_lengths(view)
    yield from changeovers.check_changeovers(view)
    yield from heating.check_setpoint(view)
    yield from heating.check_preheat(view)
    yield from heating.check_cooldown(view)
    yield from steps.check_printers(view)
    yield from machines.check_not_before(view)
    yield from machines.check_downtime(view)
    yield from hands.check_hands(view, there)
    yield from hands.check_unattended(view, there)
    yield from dryers.check_runs(view)
    yield from dryers.check_places(view)
    yield from spools.check_places(view)
    yield from spools.check_draws(view)
    yield from dryness.check_dryness(view)
    yield from lots.check_lots(view)
    yield from ovens.check_runs(view)
    yield from ovens.check_turns(view)
    yield from ovens.check_named(view)
    yield from pins.check_pins(view)
