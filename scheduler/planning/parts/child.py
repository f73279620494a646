"""A worker in a process of its own: ``python -m scheduler.planning.parts.child FD`` talks over a socket."""

from __future__ import annotations

import sys
from contextlib import suppress
from multiprocessing.connection import Connection

from scheduler.planning.compiled import compiled_kernels
from scheduler.planning.parts.ground import Ground
from scheduler.planning.parts.part import Errand
from scheduler.planning.parts.work import Bench


def serve(pipe: Connection) -> None:
    """Carry out errands until the other end is gone.

    What comes is a packed ground, to which its name is the answer once it is laid out, or an errand.
    """
    bench: Bench | None = None
    while True:
        message = pipe.recv()
        if isinstance(message, bytes):
            bench = Bench(Ground.unpacked(message), compiled_kernels())
            pipe.send(bench.ground.name)
        elif isinstance(message, Errand) and bench is not None:
            pipe.send(bench.improve(message))


if __name__ == "__main__":
    # With the other end gone, nobody wants an answer any more.
    with suppress(EOFError, OSError, KeyboardInterrupt):
        serve(Connection(int(sys.argv[1])))
