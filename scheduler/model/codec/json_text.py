"""JSON text in and out: keys given twice are kept for the record, numbers keep their spelling in a hash."""

from __future__ import annotations

import hashlib
import json
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from scheduler.model.codec.offences import BadFile, Found, Path, whole_file

#: Digits from which a whole number is not worth converting: it is far out of every range.
_LONG_NUMBER = 400


class _RepeatedKeys(dict[str, Any]):
    """An object in which keys were given more than once; the last value of each counts."""

    __slots__ = ("times",)
    times: dict[str, int]


class _Spelled(float):
    """A number that Python would spell otherwise, with the characters that stand for it in the file."""

    __slots__ = ("text",)
    text: str


@dataclass(frozen=True, slots=True)
class Parsed:
    """The value of a JSON text, and the keys that one of its objects gives more than once."""

    value: Any
    repeated: tuple[Found, ...]


def parse(text: str | bytes) -> Parsed:
    """Take a file's text apart.

    Raises
    ------
    BadFile
        If it is not UTF-8, empty, not JSON or nested too deeply; one offence, naming the place.
    """
    repeating: list[_RepeatedKeys] = []

    def an_object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        plain = dict(pairs)
        if len(plain) == len(pairs):
            return plain
        special = _RepeatedKeys(plain)
        times = Counter(key for key, _ in pairs)
        special.times = {key: count for key, count in times.items() if count > 1}
        repeating.append(special)
        return special

    value = _loads(_characters(text), object_pairs_hook=an_object)
    return Parsed(value, tuple(_repeated_in(value)) if repeating else ())


def to_json(value: dict[str, Any]) -> str:
    """A file's text: indented, non-ASCII as it is, ending with a newline."""
    return json.dumps(value, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def hash_text(text: str | bytes) -> str:
    """SHA-256, lower-case hex, of the JSON in canonical form.

    Canonical: UTF-8, keys sorted, no spaces, non-ASCII unescaped, and numbers as the file spells
    them, so ``1`` and ``1.0`` differ.

    Raises
    ------
    BadFile
        As `parse`, and for text that UTF-8 can't carry (half of a surrogate pair).
    """
    odd: list[_Spelled] = []

    def spelled(number: str) -> float:
        value = _Spelled(number)
        if repr(float(value)) == number:
            return float(value)
        value.text = number
        odd.append(value)
        return value

    def spelled_whole(number: str) -> int | float:
        return spelled(number) if number == "-0" or len(number) >= _LONG_NUMBER else int(number)

    value = _loads(_characters(text), parse_float=spelled, parse_int=spelled_whole)
    return _digest(value, by_hand=bool(odd))


def hash_value(value: Any) -> str:
    """The same of a value in memory, its numbers spelled as Python does."""
    return _digest(value, by_hand=False)


def _digest(value: Any, *, by_hand: bool) -> str:
    try:
        canonical = "".join(_written(value)) if by_hand else _dumped(value)
        return hashlib.sha256(canonical.encode("utf-8")).hexdigest()
    except UnicodeEncodeError as error:
        raise whole_file("the text holds half of a surrogate pair, which is no character") from error
    except RecursionError as error:
        raise _too_deep() from error


def _characters(text: str | bytes) -> str:
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise whole_file(
                f"this is not UTF-8 text: byte {error.start + 1} is 0x{error.object[error.start]:02x}"
            ) from error
    text = text.removeprefix("\ufeff")
    if not text.strip():
        raise whole_file("the file is empty")
    return text


def _too_deep() -> BadFile:
    return whole_file("the lists and objects are nested too deeply to be read")


def _loads(text: str, **hooks: Any) -> Any:
    try:
        try:
            return json.loads(text, **hooks)
        except json.JSONDecodeError:
            raise
        except ValueError:
            # A whole number of thousands of digits, which Python refuses to convert.
            return json.loads(text, **{"parse_int": _whole_number} | hooks)
    except json.JSONDecodeError as error:
        raise whole_file(
            f"this is not JSON: line {error.lineno}, column {error.colno}: {error.msg}"
        ) from error
    except RecursionError as error:
        raise _too_deep() from error


def _whole_number(digits: str) -> int | float:
    return (
        int(digits) if len(digits) < _LONG_NUMBER else math.copysign(math.inf, -1 if digits[0] == "-" else 1)
    )


def _repeated_in(raw: object) -> Iterator[Found]:
    waiting: list[tuple[Path, object]] = [((), raw)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, _RepeatedKeys):
            for key, times in value.times.items():
                yield (*path, key), f"the key is given {times} times in one object"
        if isinstance(value, dict):
            waiting.extend(((*path, key), under) for key, under in value.items())
        elif isinstance(value, list):
            waiting.extend(((*path, index), under) for index, under in enumerate(value))


def _dumped(value: Any) -> str:
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _written(value: Any) -> Iterator[str]:
    """What `_dumped` gives, but for the numbers, which keep their spelling."""
    if isinstance(value, _Spelled):
        yield value.text
    elif isinstance(value, dict):
        comma = "{"
        for key in sorted(value):
            yield f"{comma}{_dumped(key)}:"
            yield from _written(value[key])
            comma = ","
        yield "}" if value else "{}"
    elif isinstance(value, list):
        comma = "["
        for under in value:
            yield comma
            yield from _written(under)
            comma = ","
        yield "]" if value else "[]"
    else:
        yield _dumped(value)
