"""The decoder compiled: the kernels' own source, its arrays laid into two pools, turned into machine code.

The kernels under `scheduler.planning.kernel` are plain Python on lists. For speed the same source is
rewritten so that every array is a stretch of one of two pools (whole numbers, reals) and handed to
numba. Both run the same statements in the same order, so both give the same plan, bit for bit.
"""

from __future__ import annotations

from scheduler.planning.compiled.build import (
    Kernels,
    compiled_kernels,
    is_built,
    plain_kernels,
    start_building,
)
from scheduler.planning.compiled.pool import Pool, pool_of

__all__ = ["Kernels", "Pool", "compiled_kernels", "is_built", "plain_kernels", "pool_of", "start_building"]
