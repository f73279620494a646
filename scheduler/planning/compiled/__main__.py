"""Compile the kernels: ``python -m scheduler.planning.compiled``."""

from __future__ import annotations

from scheduler.planning.compiled.build import compiled_kernels

compiled_kernels()
