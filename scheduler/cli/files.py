"""Files that commands read and write, with plain words for what can go wrong."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from scheduler.model.errors import SoaklineError


class BadPath(SoaklineError):
    """A file that can't be read or written."""


def read_file(path: Path) -> bytes:
    """The bytes of a file; :class:`BadPath` if it can't be read."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise BadPath(f"{path} can't be read: {error.strerror or error}") from None


def write_file(path: Path, data: bytes) -> None:
    """Write a file whole or not at all, in place of one that is there."""
    try:
        if path.exists() and not path.is_file():
            # A device or a pipe, such as /dev/stdout, can't be replaced.
            path.write_bytes(data)
            return
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
            umask = os.umask(0)
            os.umask(umask)
            os.chmod(name, 0o666 & ~umask)
            os.replace(name, path)
        except BaseException:
            os.unlink(name)
            raise
    except OSError as error:
        raise BadPath(f"{path} can't be written: {error.strerror or error}") from None


def must_be_writable(path: Path) -> None:
    """Refuse at once, with :class:`BadPath`, what `write_file` could not write after long work."""
    try:
        if path.is_dir():
            raise BadPath(f"{path} can't be written: it is a folder")
        if not path.exists() or path.is_file():
            with tempfile.TemporaryFile(dir=path.parent):
                pass
    except OSError as error:
        raise BadPath(f"{path} can't be written: {error.strerror or error}") from None
