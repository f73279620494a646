"""What stays the same while a shop is improved in parts: its arrays, with only what can't move in them."""

from __future__ import annotations

import hashlib
import pickle
import zlib
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from scheduler.planning.bound import late_alone
from scheduler.planning.compiled import Kernels, Pool, layout, pool_of
from scheduler.planning.construct import Base
from scheduler.planning.engine import with_totals
from scheduler.planning.kernel.search import PEOPLE
from scheduler.planning.parts.rows import Settled, Ways, array, settled_in


@dataclass
class Ground:
    """A shop's arrays and the plan that every other begins with.

    Parameters
    ----------
    pool : Pool
        The whole shop: work under way, pinned and frozen jobs in it, nothing else. Never changed.
    """

    pool: Pool

    @cached_property
    def settled(self) -> Settled:
        """What no work on a part moves."""
        return settled_in(self.pool)

    @cached_property
    def ways(self) -> Ways:
        """To tell a placed job's heads and nozzles by."""
        return Ways(self.pool)

    @cached_property
    def name(self) -> str:
        """What this ground is called: the same only for the same arrays."""
        used = _used(self.pool)
        mark = hashlib.blake2b(used.whole.tobytes(), digest_size=16)
        mark.update(used.real.tobytes())
        return mark.hexdigest()

    @cached_property
    def packed(self) -> bytes:
        """For a process that knows nothing of the shop."""
        sizes = len(self.pool.whole), len(self.pool.real)
        return zlib.compress(pickle.dumps((_used(self.pool), sizes), 5), 1)

    @staticmethod
    def unpacked(message: bytes) -> Ground:
        """The ground of `packed`."""
        used, sizes = pickle.loads(zlib.decompress(message))
        whole, real = np.zeros(sizes[0], np.int32), np.zeros(sizes[1])
        whole[: len(used.whole)], real[: len(used.real)] = used.whole, used.real
        return Ground(replace(used, whole=whole, real=real))


def _used(pool: Pool) -> Pool:
    """The pool without the room for a kept plan and for the journal."""
    whole, real = int(pool.whole[layout.KEPT_AT]), int(pool.whole[layout.KEPT_REALS_AT])
    return replace(pool, whole=pool.whole[:whole], real=pool.real[:real])


def ground_of(base: Base, kernels: Kernels) -> Ground:
    """The ground of a task."""
    pool = pool_of(base.task.problem, with_totals(base, base.state()))
    pool.write("alone", late_alone(base, kernels))
    array(pool, "S", "tune")[PEOPLE] = 1e-3
    return Ground(pool)
