"""What moved, in plain words."""

from __future__ import annotations

from scheduler.model import Site
from scheduler.planning.explain_words import Clockwork, lasts
from scheduler.planning.moves import SAME_MIN, Move, Moves, Spot
from scheduler.planning.moves_chain import Push

#: How one job came to be in another's way; {} is the printer, spool, dryer or oven.
PUSH_WORDS = {
    "printer": "stands there now on {}",
    "spool": "uses spool {} then",
    "dryer": "takes its place in {}",
    "oven": "takes its place in {}",
    "lot": "tells it the lot",
    "hands": "takes the hands that it needed",
    "before": "comes right before it on {} now",
    "room": "left room on {}",
}
#: Pushes of a chain that are told one by one; of a longer one the nearest.
TOLD = 3


def chain_words(move: Move) -> str:
    """The chain as one sentence: "J7 stands there now on P1, because P2 is down …"."""
    links = [push_words(push) for push in move.pushes]
    if len(links) > TOLD:
        between = len(links) - TOLD
        hops = "one more job was" if between == 1 else f"{between} more jobs were"
        links = [*links[: TOLD - 1], f"{hops} pushed in turn", links[-1]]
    cause = move.cause.text
    if move.pushes:
        # The cause is told of the last job of the chain.
        cause = cause.replace("its ", f"{move.pushes[-1].job}'s ", 1) if cause.startswith("its ") else cause
        cause = f"{move.pushes[-1].job} {cause[3:]}" if cause.startswith("it ") else cause
        if move.cause.kind == "search":
            cause = f"the search found a better place for {move.pushes[-1].job}"
    told = ", because ".join([*links, cause])
    return told[:1].upper() + told[1:] if told.startswith(("its ", "it ", "the ", "what ")) else told


def push_words(push: Push) -> str:
    """One link: "J7 stands there now on P1"."""
    return f"{push.job} {PUSH_WORDS[push.by].format(push.thing)}"


def totals(found: Moves) -> str:
    """One line: how many move, how, and what that does to the late hours."""
    if not found.moves:
        return f"Nothing moves: {found.kept} jobs keep machine and time."
    parts = [
        (found.count("printer"), "to another machine"),
        (found.count("later"), "later"),
        (found.count("earlier"), "earlier"),
        (found.count("late"), "late only now"),
        (found.count("saved"), "no longer late"),
        (found.count("new"), "newly placed"),
        (found.count("lost"), "without a place"),
    ]
    told = ", ".join(f"{number} {words}" for number, words in parts if number)
    jobs = "1 job moves" if len(found.moves) == 1 else f"{len(found.moves)} jobs move"
    kept = "1 keeps its place" if found.kept == 1 else f"{found.kept} keep their places"
    return (
        f"{jobs}{': ' + told if told else ''}; {kept}. "
        f"Late hours {found.late_h_before:.2f} before, {found.late_h_after:.2f} after."
    )


def line(move: Move, site: Site) -> str:
    """One line for a terminal: the job, from where to where, by how much, and why."""
    clock = Clockwork(site)

    def spot(one: Spot | None) -> str:
        return "no place" if one is None else f"{one.printer} {clock.when(site.minute(one.first_layer))}"

    parts = [f"{move.job}: {spot(move.was)} → {spot(move.now)}"]
    if move.was is not None and move.now is not None:
        parts.append(shift_words(move))
    if move.now is not None and move.now.late_min:
        parts.append(f"{lasts(move.now.late_min)} late")
    elif move.is_saved:
        parts.append("no longer late")
    return f"{', '.join(parts)}. {chain_words(move)}."


def shift_words(move: Move) -> str:
    """How much later or earlier it is done, or its first layer begins."""
    minutes = move.done_min if abs(move.done_min) > SAME_MIN else move.first_layer_min
    what = "done" if abs(move.done_min) > SAME_MIN else "first layer"
    if minutes == 0:
        return "same time"
    return f"{what} {lasts(abs(minutes))} {'later' if minutes > 0 else 'earlier'}"
