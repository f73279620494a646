"""What a single value of a file may be: one marshmallow field for each kind.

Every key is required; a field made with ``nullable=True`` takes ``null`` too. A message is a
sentence that begins with the value.
"""

from __future__ import annotations

import math
from typing import Any

from marshmallow import ValidationError, fields

from scheduler.model.codec.offences import shown

#: No figure of a shop is larger; beyond it arithmetic on minutes and instants means nothing.
LARGEST = 1e9
ABSOLUTE_ZERO_C = -273.15


class Required(fields.Field[Any]):
    """A key that must be there. Subclasses name what they take in `noun`."""

    noun = "a value"

    def __init__(self, *, nullable: bool = False, data_key: str | None = None) -> None:
        super().__init__(required=True, allow_none=nullable, data_key=data_key)
        self.error_messages = {
            "required": "the key is missing",
            "null": f"null is not {self.noun}",
            "validator_failed": "not a valid value",
        }

    def refusal(self, value: object) -> ValidationError:
        """The error for a value of the wrong kind."""
        return ValidationError(f"{shown(value)} is not {self.noun}")


class Flag(Required):
    """`true` or `false`."""

    noun = "true or false"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> bool:
        if value is True or value is False:
            return bool(value)
        raise self.refusal(value)


class Text(Required):
    """Characters, perhaps none."""

    noun = "text"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if not isinstance(value, str):
            raise self.refusal(value)
        if not value.isascii():
            try:
                value.encode("utf-8")
            except UnicodeEncodeError:
                raise ValidationError(f"{shown(value)} holds half of a surrogate pair") from None
        return value


class Name(Text):
    """An id or a tag: at least one character that is not a space."""

    noun = "a name"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        text = super()._deserialize(value, attr, data, **kwargs)
        if not text or text.isspace():
            raise ValidationError(f"{shown(value)} is empty")
        return text


class OneOf(Required):
    """One of a few words."""

    def __init__(self, *words: str, nullable: bool = False) -> None:
        self.noun = " or ".join(shown(word) for word in words)
        self.words = words
        super().__init__(nullable=nullable)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if isinstance(value, str) and value in self.words:
            return value
        raise self.refusal(value)


class Whole(Required):
    """A whole number, spelled as one."""

    noun = "a whole number"

    def __init__(
        self,
        lo: int | None = 0,
        *,
        largest: float = LARGEST,
        nullable: bool = False,
        data_key: str | None = None,
    ) -> None:
        self.lo = lo
        self.largest = largest
        super().__init__(nullable=nullable, data_key=data_key)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> int:
        if type(value) is not int:
            raise self.refusal(value)
        if abs(value) > self.largest:
            raise ValidationError(f"{shown(value)} is too large (at most {self.largest:.0f})")
        if self.lo is not None and value < self.lo:
            raise ValidationError(_too_small(value, self.lo))
        return value


class Number(Required):
    """A number, kept as a float and written without a needless ``.0``.

    Parameters
    ----------
    lo : float or None
        The smallest that is allowed.
    above : float or None
        Allowed is only what is larger than this.
    """

    noun = "a number"

    def __init__(
        self,
        lo: float | None = None,
        *,
        above: float | None = None,
        largest: float = LARGEST,
        nullable: bool = False,
    ) -> None:
        self.lo = lo
        self.above = above
        self.largest = largest
        super().__init__(nullable=nullable)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        kind = type(value)
        if (kind is not float and kind is not int) or value != value:
            raise self.refusal(value)
        if abs(value) > self.largest:
            raise ValidationError(f"{shown(value)} is too large (at most {self.largest:.0f})")
        if self.lo is not None and value < self.lo:
            raise ValidationError(_too_small(value, self.lo))
        if self.above is not None and value <= self.above:
            above = "positive" if self.above == 0 else f"above {self.above:g}"
            raise ValidationError(f"{shown(value)} is not {above}")
        return float(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return tidy(value)


class Celsius(Number):
    """A temperature, °C."""

    def __init__(self, *, nullable: bool = False) -> None:
        super().__init__(ABSOLUTE_ZERO_C, nullable=nullable)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        if type(value) in (int, float) and value < ABSOLUTE_ZERO_C and abs(value) <= self.largest:
            raise ValidationError(f"{shown(value)} °C is colder than anything can be")
        return super()._deserialize(value, attr, data, **kwargs)


def tidy(value: Any) -> Any:
    """20 for 20.0, anything else as it is."""
    if isinstance(value, float) and math.isfinite(value) and value.is_integer():
        return int(value)
    return value


def _too_small(value: float, lo: float) -> str:
    return f"{shown(value)} is negative" if value < 0 and lo == 0 else f"{shown(value)} is less than {lo:g}"
