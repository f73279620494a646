"""Make, keep and load the compiled kernels."""

from __future__ import annotations

import hashlib
import importlib.util
import os
import platform
import subprocess
import sys
import tempfile
import time
import types
from functools import cache
from pathlib import Path
from typing import Any

from scheduler.planning.compiled import journal
from scheduler.planning.compiled.translate import translate
from scheduler.planning.kernel import (
    again,
    alone,
    bake,
    chain,
    choose,
    cut,
    dice,
    feeds,
    hands,
    heat,
    last,
    place,
    row,
    score,
    search,
    seat,
    spools,
    tables,
    timing,
)

#: A build that takes longer than this is taken for dead, seconds.
PATIENCE_S = 300
#: Compiling processes that this one has begun; Python warns of one that is let go while it runs.
_builders: list[subprocess.Popen[bytes]] = []
#: What Python calls.
ENTRIES = (
    "place_row",
    "improve",
    "cost_now",
    "keep",
    "mark",
    "undo",
    "soonest_done",
    "place_anywhere",
    "put_all_given",
)

COMPILED_HEAD = """\
from numba import njit, types
from numba.core import cgutils
from numba.extending import intrinsic


def _at(kind):
    @intrinsic
    def address(typing, pool):
        def generate(context, builder, signature, arguments):
            array = context.make_array(signature.args[0])(context, builder, arguments[0])
            return array.data

        return types.CPointer(kind)(pool), generate

    return address


whole_at = _at(types.int32)
real_at = _at(types.float64)


def kernel(signature):
    return njit(signature, nogil=True, cache=True, error_model="numpy")


"""


class Kernels:
    """The kernels that Python calls, by name."""

    def __init__(self, module: types.ModuleType) -> None:
        for name in ENTRIES:
            setattr(self, name, getattr(module, f"enter_{name}"))

    def __getattr__(self, name: str) -> Any:
        raise AttributeError(f"no kernel {name}")


@cache
def source() -> str:
    """The kernels on pools, as Python source."""
    modules = [
        tables,
        hands,
        heat,
        bake,
        chain,
        feeds,
        timing,
        score,
        spools,
        place,
        choose,
        row,
        dice,
        cut,
        seat,
        search,
        alone,
        last,
        again,
    ]
    return translate(modules, journal, ENTRIES)


@cache
def plain_kernels() -> Kernels:
    """The translated kernels run by Python itself: slow, for comparison."""
    module = types.ModuleType("soakline_plain_kernels")
    module.__dict__.update(kernel=lambda signature: lambda function: function)
    module.__dict__.update(whole_at=lambda pool: pool, real_at=lambda pool: pool)
    exec(compile(source(), "<kernels on pools>", "exec"), module.__dict__)  # our own source, translated
    return Kernels(module)


def folder() -> Path:
    """Where compiled kernels are kept: ``SOAKLINE_CACHE_DIR``, else the user's cache folder."""
    given = os.environ.get("SOAKLINE_CACHE_DIR")
    if given:
        return Path(given)
    base = os.environ.get("XDG_CACHE_HOME")
    return (Path(base) if base else Path.home() / ".cache") / "soakline"


def _usable_folder() -> Path:
    wanted = folder()
    try:
        wanted.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=wanted):
            return wanted
    except OSError:
        spare = Path(tempfile.gettempdir()) / f"soakline-{os.getuid()}"
        spare.mkdir(mode=0o700, exist_ok=True)
        return spare


def _name() -> str:
    import numba
    from llvmlite import binding  # type: ignore[import-untyped]  # it has no types

    marks = [
        source(),
        COMPILED_HEAD,
        numba.__version__,
        sys.version,
        platform.machine(),
        binding.get_host_cpu_name(),
    ]
    return "soakline_kernels_" + hashlib.sha256("\n".join(marks).encode()).hexdigest()[:16]


def start_building() -> None:
    """Let another process compile the kernels, unless they are there or somebody is at it."""
    if is_built():
        return
    lock = _usable_folder() / f"{_name()}.building"
    try:
        if time.time() - lock.stat().st_mtime < PATIENCE_S:
            return
    except FileNotFoundError:
        pass
    lock.touch()
    # It outlives this process, so that even a short call leaves the next one quicker.
    _builders.append(
        subprocess.Popen(
            [sys.executable, "-m", "scheduler.planning.compiled"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    )


def is_built() -> bool:
    """True if the machine code lies ready: loading it then takes a moment rather than a minute."""
    return compiled_kernels.cache_info().currsize > 0 or (_usable_folder() / f"{_name()}.ready").exists()


@cache
def compiled_kernels() -> Kernels:
    """The kernels as machine code; compiled at the first call on a machine, then loaded from its cache."""
    name, where = _name(), _usable_folder()
    path = where / f"{name}.py"
    if not path.exists():
        handle, temporary = tempfile.mkstemp(dir=where, suffix=".tmp")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(COMPILED_HEAD + source())
        os.replace(temporary, path)
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    (where / f"{name}.ready").touch()
    return Kernels(module)
