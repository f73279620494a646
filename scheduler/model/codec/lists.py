"""Lists of plain values, and windows of two."""

from __future__ import annotations

from typing import Any

from marshmallow import ValidationError

from scheduler.model.codec.fields import Celsius, Required, tidy
from scheduler.model.codec.offences import shown
from scheduler.model.common import Span


class ListOf(Required):
    """A list of one kind of value, kept as a tuple; offences carry the index."""

    noun = "a list"

    def __init__(self, each: Required, *, length: int | None = None, nullable: bool = False) -> None:
        self.each = each
        self.length = length
        super().__init__(nullable=nullable)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise self.refusal(value)
        if self.length is not None and len(value) != self.length:
            raise ValidationError(f"{self.length} entries are needed, {len(value)} are given")
        items: list[Any] = []
        errors: dict[int, Any] = {}
        for index, item in enumerate(value):
            try:
                items.append(self.each.deserialize(item))
            except ValidationError as error:
                errors[index] = error.messages
        if errors:
            raise ValidationError(errors)
        return tuple(items)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        if not isinstance(value, (list, tuple)):
            return value
        return [self.each._serialize(item, attr, obj, **kwargs) for item in value]


class Window(Required):
    """``[lo, hi]`` in °C, kept as a `Span`."""

    noun = "a window of two numbers, [lo, hi]"

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Span:
        if not isinstance(value, list) or len(value) != 2:
            raise self.refusal(value)
        lo, hi = ListOf(Celsius()).deserialize(value)
        if lo > hi:
            raise ValidationError(f"[{shown(value[0])}, {shown(value[1])}] is upside down")
        return Span(lo, hi)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return [tidy(value.lo), tidy(value.hi)] if isinstance(value, Span) else value
