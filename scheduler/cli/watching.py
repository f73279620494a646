"""How a command tells how far a plan is: one line that is rewritten, or a few lines for a log."""

from __future__ import annotations

import os
import sys

import click

from scheduler.planning import Progress

#: Seconds from the first plan to the next line of a log; each line after it comes twice as late.
SPARSE_S = 10.0


def words(progress: Progress) -> str:
    """How far the planner is, in one line: seconds, jobs, late hours, bound, what it tries."""
    late = "no plan yet" if progress.late_cost is None else f"{progress.late_cost:.1f} h late"
    bound = "" if progress.lower_bound is None else f", bound {progress.lower_bound:.1f}"
    # Short, so that a terminal of 80 columns shows what is tried, too.
    return (
        f"{progress.seconds:.1f} s {progress.placed}/{progress.jobs} placed, {late}{bound}; {progress.doing}"
    )


class Watching:
    """Shows progress on standard error and remembers whether there is a plan yet."""

    def __init__(self) -> None:
        self.has_plan = False
        self._terminal = sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
        self._next_s = 0.0

    def show(self, progress: Progress) -> None:
        """Tell a step of progress, if it is time to."""
        self.has_plan = self.has_plan or progress.late_cost is not None
        if self._terminal:
            click.echo(f"\r{words(progress)[: self._width()]}\x1b[K", nl=False, err=True)
        elif self.has_plan and progress.seconds >= self._next_s:
            self._next_s = max(SPARSE_S, 2 * progress.seconds)
            click.echo(words(progress), err=True)

    def say(self, line: str) -> None:
        """A line that stays, in the place of the one that is rewritten."""
        clear = "\r\x1b[K" if self._terminal else ""
        click.echo(f"{clear}{line}", err=True)
        sys.stderr.flush()

    def clear(self) -> None:
        """Take the rewritten line away."""
        if self._terminal:
            click.echo("\r\x1b[K", nl=False, err=True)

    def _width(self) -> int:
        try:
            columns = os.get_terminal_size(sys.stderr.fileno()).columns
        except OSError:
            columns = 0
        # A line as wide as the terminal would wrap, and then it can't be rewritten.
        return (columns or 80) - 1
