"""Objects of a file: a schema that makes a dataclass, and the fields that hold one or a list of them."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any, ClassVar

from marshmallow import Schema, ValidationError, post_load, pre_dump

from scheduler.model.codec.fields import Required


class Record(Schema):
    """An object with exactly the declared keys, loaded into the dataclass that `makes` names."""

    makes: ClassVar[type]

    error_messages = {  # noqa: RUF012  (marshmallow declares it per instance and copies it)
        "unknown": "no such key belongs here",
        "type": "this is not an object",
    }

    def handle_error(self, error: ValidationError, data: Any, **kwargs: Any) -> None:
        """Ask about a key that looks like a missing one misspelled."""
        declared = [field.data_key or name for name, field in self.fields.items()]
        absent = [key for key in declared if key not in data]
        for key in set(data) - set(declared):
            for meant in get_close_matches(key, absent, n=1):
                error.messages_dict[key] = [f"no such key belongs here; is {meant} meant?"]

    @post_load
    def build(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """The dataclass, once every key is right."""
        return self.makes(**data)


class FileRecord(Record):
    """The object at the top of a file, which says in `schema` what the file is."""

    named: ClassVar[str]

    @pre_dump
    def _say_what_it_is(self, value: Any, **kwargs: Any) -> Any:
        return {"schema": self.named} | {key: getattr(value, key) for key in self.fields if key != "schema"}

    @post_load
    def build(self, data: dict[str, Any], **kwargs: Any) -> Any:
        """The dataclass, which doesn't carry the schema's name."""
        return self.makes(**{key: value for key, value in data.items() if key != "schema"})


class OneRecord(Required):
    """An object of one schema."""

    noun = "an object"

    def __init__(self, schema: type[Record], *, nullable: bool = False, data_key: str | None = None) -> None:
        # One instance for every object of a file: making a schema costs more than loading with it.
        self.record = schema()
        super().__init__(nullable=nullable, data_key=data_key)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise self.refusal(value)
        return self.record.load(value)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        return None if value is None else self.record.dump(value)


class Records(Required):
    """A list of objects of one schema, kept as a tuple; every bad entry is reported, not only the first.

    Parameters
    ----------
    least, most : int
        How many entries there may be.
    """

    noun = "a list of objects"

    def __init__(
        self, schema: type[Record], *, least: int = 0, most: int | None = None, nullable: bool = False
    ) -> None:
        self.each = OneRecord(schema)
        self.least = least
        self.most = most
        super().__init__(nullable=nullable)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise self.refusal(value)
        loaded: list[Any] = []
        errors: dict[int | str, Any] = {}
        for index, entry in enumerate(value):
            try:
                loaded.append(self.each.deserialize(entry))
            except ValidationError as error:
                errors[index] = error.messages
        number = len(value)
        if number < self.least:
            errors["_schema"] = [f"at least {self.least} is needed, there is none"]
        if self.most is not None and number > self.most:
            errors["_schema"] = [f"{number} are given, at most {self.most} can be"]
        if errors:
            raise ValidationError(errors)
        return tuple(loaded)

    def _serialize(self, value: Any, attr: str | None, obj: Any, **kwargs: Any) -> Any:
        if not isinstance(value, (list, tuple)):
            return value
        return [self.each.record.dump(entry) for entry in value]
