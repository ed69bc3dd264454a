"""Domain values as plain JSON values and back, driven by their type hints.

A field that equals its default is left out when writing and filled in when reading, which keeps
the file small. Converters are made once for each class.
"""

from __future__ import annotations

import types
from collections.abc import Callable, Hashable
from dataclasses import MISSING, fields, is_dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from showrunner.errors import ShowrunnerError

T = TypeVar("T")
Convert = Callable[[Any], Any]


class Misfit(ValueError):
    """A stored value that does not fit its field.

    Args:
        what: what is wrong with it, in words.
        field: the field, dotted from the record (`made.earliest`); empty for the record itself.
    """

    def __init__(self, what: str, field: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.field = field

    def inside(self, field: str) -> Misfit:
        """The same misfit seen from the value that holds it under `field`."""
        return Misfit(self.what, f"{field}.{self.field}" if self.field else field)


def encode(value: Any) -> dict[str, Any]:
    """A dataclass value as a JSON object without the fields that equal their defaults."""
    document: dict[str, Any] = {}
    for name, default, convert in _writers(cast(Hashable, type(value))):
        part = getattr(value, name)
        if default is MISSING or part != default:
            document[name] = part if convert is None or part is None else convert(part)
    return document


def decode(kind: type[T], document: Any) -> T:
    """The dataclass value that `encode` wrote as `document`.

    Raises:
        Misfit: a field is unknown, missing or of the wrong type, or the value refuses it.
    """
    value: T = _reader(cast(Hashable, kind))(document)
    return value


# Writing


@cache
def _writers(kind: type[Any]) -> tuple[tuple[str, Any, Convert | None], ...]:
    hints = get_type_hints(kind)
    return tuple((field.name, _default(field), _writer(hints[field.name])) for field in fields(kind))


def _default(field: Any) -> Any:
    return field.default_factory() if field.default_factory is not MISSING else field.default


@cache
def _writer(hint: Any) -> Convert | None:
    """How a value of this type is written; None if it is a JSON value as it stands."""
    hint = _without_none(hint)
    if get_origin(hint) is tuple:
        part = _writer(get_args(hint)[0])
        return list if part is None else lambda value: [part(item) for item in value]
    if hint in (str, int, bool):
        return None
    if is_dataclass(hint):
        return encode
    if issubclass(hint, StrEnum):
        return _enum_text
    return _WRITERS[hint]


def _enum_text(value: StrEnum) -> str:
    return value.value


def _time_text(value: time) -> str:
    return value.isoformat("auto" if value.second or value.microsecond else "minutes")


def _instant_text(value: datetime) -> str:
    return value.astimezone(UTC).isoformat().replace("+00:00", "Z")


_WRITERS: dict[Any, Convert] = {
    date: date.isoformat,
    time: _time_text,
    datetime: _instant_text,
    Decimal: str,
}


# Reading


@cache
def _reader(hint: Any) -> Convert:
    """How a value of this type is read."""
    bare = _without_none(hint)
    if bare is not hint:
        inner = _reader(bare)
        return lambda value: None if value is None else inner(value)
    if get_origin(hint) is tuple:
        return _tuple_reader(get_args(hint))
    if hint in (str, int, bool):
        return _plain_reader(hint)
    if is_dataclass(hint):
        return _record_reader(cast(type[Any], hint))
    if issubclass(hint, StrEnum):
        return _enum_reader(hint)
    return _READERS[hint]


def _without_none(hint: Any) -> Any:
    if get_origin(hint) in (Union, types.UnionType):
        (hint,) = (part for part in get_args(hint) if part is not type(None))
    return hint


_PLAIN = {str: "text", int: "a whole number", bool: "true or false"}


def _show(value: Any) -> str:
    """A stored value for a sentence, never long."""
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."


def _plain_reader(kind: type[Any]) -> Convert:
    def read(value: Any) -> Any:
        if type(value) is not kind:
            raise Misfit(f"{_show(value)} is not {_PLAIN[kind]}")
        return value

    return read


def _tuple_reader(parts: tuple[Any, ...]) -> Convert:
    """Reader of `tuple[X, ...]`, or of a tuple of one type and fixed length."""
    item = _reader(parts[0])
    length = None if parts[-1] is Ellipsis else len(parts)

    def read(value: Any) -> Any:
        if type(value) is not list:
            raise Misfit(f"{_show(value)} is not a list")
        if length is not None and len(value) != length:
            raise Misfit(f"it lists {len(value)} values and not {length}")
        items = []
        for number, part in enumerate(value, 1):
            try:
                items.append(item(part))
            except Misfit as misfit:
                raise misfit.inside(str(number)) from None
        return tuple(items)

    return read


def _record_reader(kind: type[Any]) -> Convert:
    hints = get_type_hints(kind)
    readers = {field.name: _reader(hints[field.name]) for field in fields(kind)}
    needed = [field.name for field in fields(kind) if _default(field) is MISSING]

    def read(document: Any) -> Any:
        if not isinstance(document, dict):
            raise Misfit(f"{_show(document)} is not a group of fields")
        values = {}
        for name, value in document.items():
            reader = readers.get(name)
            if reader is None:
                raise Misfit("there is no such field", name)
            try:
                values[name] = reader(value)
            except Misfit as misfit:
                raise misfit.inside(name) from None
        for name in needed:
            if name not in values:
                raise Misfit("it is missing", name)
        try:
            return kind(**values)
        except ShowrunnerError as error:
            raise Misfit(error.what) from error

    return read


def _enum_reader(kind: type[StrEnum]) -> Convert:
    members = {member.value: member for member in kind}

    def read(value: Any) -> Any:
        member = members.get(value) if isinstance(value, str) else None
        if member is None:
            raise Misfit(f"{_show(value)} is none of {', '.join(members)}")
        return member

    return read


def _text_reader(parse: Callable[[str], T], write: Callable[[T], str], name: str) -> Convert:
    """Reader of a value kept as text in exactly one form."""

    def read(value: Any) -> T:
        if type(value) is str:
            try:
                found = parse(value)
                if write(found) == value:
                    return found
            except (ValueError, InvalidOperation):
                pass
        raise Misfit(f"{_show(value)} is not {name}")

    return read


def _finite(text: str) -> Decimal:
    number = Decimal(text)
    if not number.is_finite():
        raise ValueError(text)
    return number


_READERS: dict[Any, Convert] = {
    date: _text_reader(date.fromisoformat, date.isoformat, "a date"),
    time: _text_reader(time.fromisoformat, _time_text, "a time"),
    datetime: _text_reader(datetime.fromisoformat, _instant_text, "an instant"),
    Decimal: _text_reader(_finite, str, "a number"),
}
