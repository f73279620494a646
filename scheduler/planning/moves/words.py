"""What moved, in plain words."""

from __future__ import annotations

from scheduler.model import Site
from scheduler.planning.explain.words import Clockwork, lasts
from scheduler.planning.moves import SAME_MIN, Move, Moves, Spot
from scheduler.planning.moves.chain import Push

#: How one job came to be in another's way: the job, and the printer, spool, dryer or oven.
PUSH_WORDS = {
    "printer": "{job} on {thing}",
    "spool": "{job} for spool {thing}",
    "dryer": "{job} in {thing}",
    "oven": "{job} in {thing}",
    "lot": "{job}, whose lot it shares",
    "hands": "{job} for hands",
    "before": "{job} before it on {thing}",
    "room": "{job}, which left room on {thing}",
}
#: Pushes of a chain that are told one by one; of a longer one the nearest and the first.
TOLD = 3


def chain_words(move: Move) -> str:
    """The cause, then who handed it on, the nearest last: "P2 is down …; by way of J7 on P1"."""
    told = cause_words(move)
    if not move.pushes:
        return told
    links = [push_words(push) for push in reversed(move.pushes)]
    if len(links) > TOLD:
        between = len(links) - TOLD
        more = "one more job" if between == 1 else f"{between} more jobs"
        links = [links[0], more, *links[-(TOLD - 1) :]]
    return f"{told}; by way of {', then '.join(links)}"


def cause_words(move: Move) -> str:
    """What began it, with the name of the job that it hit where that is another one."""
    text = move.cause.text
    if move.pushes:
        first = move.pushes[-1].job
        if move.cause.kind == "search":
            return f"The search found a better place for {first}"
        if text.startswith("its "):
            return f"{first}: {text}"
        if text.startswith("it "):
            return f"{first} {text[3:]}"
    return text[:1].upper() + text[1:] if text.startswith(("its ", "it ", "the ", "what ")) else text


def push_words(push: Push) -> str:
    """One link: "J7 on P1"."""
    return PUSH_WORDS[push.by].format(job=push.job, thing=push.thing)


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
