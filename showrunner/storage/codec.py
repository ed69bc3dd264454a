"""Domain values as plain JSON values and back, driven by their type hints.

A field that equals its default is left out when writing and filled in when reading, which keeps
the file small. Converters are made once for each class.
"""

from __future__ import annotations

import types
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import MISSING, fields, is_dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from showrunner.errors import ShowrunnerError

T = TypeVar("T")
Convert = Callable[[Any], Any]

MOST = 2**53 - 1
"""Largest whole number that is read, above or below 0: every reader of JSON keeps it exactly."""


class Misfit(ValueError):
    """A stored value that does not fit its field.

    Args:
        what: what is wrong with it, in words.
        field: the field, dotted from the record (`made.earliest`); empty for the record itself.
        way_out: what to write instead.
    """

    def __init__(self, what: str, field: str = "", way_out: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.field = field
        self.way_out = way_out

    def inside(self, field: str) -> Misfit:
        """The same misfit seen from the value that holds it under `field`."""
        return Misfit(self.what, f"{field}.{self.field}" if self.field else field, self.way_out)


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


def misfits(kind: type[Any], document: Any) -> Iterator[Misfit]:
    """Everything for which `decode` would refuse a document, one after the other; nothing if it fits."""
    return _misfits(kind, document)


def write(hint: Any, value: Any) -> Any:
    """A value of the type `hint` as the plain JSON value that stands in a document."""
    convert = _writer(hint)
    return value if convert is None or value is None else convert(value)


def without_none(hint: Any) -> Any:
    """The type that an optional one holds; any other type as it is."""
    if get_origin(hint) in (Union, types.UnionType):
        (hint,) = (part for part in get_args(hint) if part is not type(None))
    return hint


def default_of(field: Any) -> Any:
    """The default of a dataclass field; `dataclasses.MISSING` if it has none."""
    return field.default_factory() if field.default_factory is not MISSING else field.default


# Writing


@cache
def _writers(kind: type[Any]) -> tuple[tuple[str, Any, Convert | None], ...]:
    hints = get_type_hints(kind)
    return tuple((field.name, default_of(field), _writer(hints[field.name])) for field in fields(kind))


@cache
def _writer(hint: Any) -> Convert | None:
    """How a value of this type is written; None if it is a JSON value as it stands."""
    hint = without_none(hint)
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
    bare = without_none(hint)
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


_PLAIN = {
    str: ("text", "write it in quotes"),
    int: ("a whole number", "write it in digits alone"),
    bool: ("true or false", "write true or false, without quotes"),
}


def _show(value: Any) -> str:
    """A stored value for a sentence, never long."""
    text = repr(value)
    return text if len(text) <= 40 else f"{text[:37]}..."


def _plain_reader(kind: type[Any]) -> Convert:
    def read(value: Any) -> Any:
        if type(value) is not kind:
            name, way_out = _PLAIN[kind]
            raise Misfit(f"{_show(value)} is not {name}", way_out=way_out)
        if kind is int and abs(value) > MOST:
            raise Misfit(f"{_show(value)} is beyond every number a book holds", way_out="give a smaller number")
        return value

    return read


def _tuple_reader(parts: tuple[Any, ...]) -> Convert:
    """Reader of `tuple[X, ...]`, or of a tuple of one type and fixed length."""
    item = _reader(parts[0])

    def read(value: Any) -> Any:
        if type(value) is not list:
            raise Misfit(f"{_show(value)} is not a list", way_out="write one in square brackets")
        if wrong := _wrong_length(parts, value):
            raise wrong
        items = []
        for number, part in enumerate(value, 1):
            try:
                items.append(item(part))
            except Misfit as misfit:
                raise misfit.inside(str(number)) from None
        return tuple(items)

    return read


def _wrong_length(parts: tuple[Any, ...], value: list[Any]) -> Misfit | None:
    if Ellipsis in parts or len(value) == len(parts):
        return None
    return Misfit(f"it lists {len(value)} values and not {len(parts)}", way_out=f"give {len(parts)} values")


def _record_reader(kind: type[Any]) -> Convert:
    hints = get_type_hints(kind)
    readers = {field.name: _reader(hints[field.name]) for field in fields(kind)}
    needed = [field.name for field in fields(kind) if default_of(field) is MISSING]

    def read(document: Any) -> Any:
        if not isinstance(document, dict):
            raise Misfit(f"{_show(document)} is not a group of fields", way_out="write one in curly brackets")
        values = {}
        for name, value in document.items():
            reader = readers.get(name)
            if reader is None:
                raise _unknown(name, readers)
            try:
                values[name] = reader(value)
            except Misfit as misfit:
                raise misfit.inside(name) from None
        for name in needed:
            if name not in values:
                raise _missing(name)
        try:
            return kind(**values)
        except ShowrunnerError as error:
            raise Misfit(error.what, way_out=error.way_out) from error

    return read


def _unknown(name: str, known: Iterable[str]) -> Misfit:
    return Misfit("nothing is kept under that name", name, nearest(name, known) or "leave it out")


def _missing(name: str) -> Misfit:
    return Misfit("it is missing", name, "add it")


def nearest(name: str, known: Iterable[str]) -> str:
    """The way out that offers the known name most like a wrong one; empty if none is like it."""
    found = get_close_matches(name[:100].lower(), list(known), 1)
    return f"write '{found[0]}'" if found else ""


def _enum_reader(kind: type[StrEnum]) -> Convert:
    members = {member.value: member for member in kind}

    def read(value: Any) -> Any:
        member = members.get(value) if isinstance(value, str) else None
        if member is None:
            way_out = nearest(value, members) if isinstance(value, str) else ""
            raise Misfit(f"{_show(value)} is none of {', '.join(members)}", way_out=way_out or "write one of these")
        return member

    return read


def _text_reader(parse: Callable[[str], T], write: Callable[[T], str], name: str, example: str) -> Convert:
    """Reader of a value kept as text in exactly one form."""

    def read(value: Any) -> T:
        if type(value) is str:
            try:
                found = parse(value)
                if write(found) == value:
                    return found
            except (ValueError, ArithmeticError):
                pass
        raise Misfit(f"{_show(value)} is not {name}", way_out=f'write it in quotes, as "{example}"')

    return read


def _finite(text: str) -> Decimal:
    number = Decimal(text)
    if not number.is_finite():
        raise ValueError(text)
    return number


def _wall_time(text: str) -> time:
    found = time.fromisoformat(text)
    if found.tzinfo is not None:
        raise ValueError(text)
    return found


_READERS: dict[Any, Convert] = {
    date: _text_reader(date.fromisoformat, date.isoformat, "a date", "2026-03-22"),
    time: _text_reader(_wall_time, _time_text, "a time", "18:30"),
    datetime: _text_reader(datetime.fromisoformat, _instant_text, "an instant", "2026-03-22T07:30:00Z"),
    Decimal: _text_reader(_finite, str, "a number", "86.5"),
}


# Finding every fault


def _misfits(hint: Any, value: Any) -> Iterator[Misfit]:
    """What is wrong inside a value; only if nothing is, what is wrong with the value as a whole."""
    bare = without_none(hint)
    if value is None and bare is not hint:
        return
    inside: Iterator[Misfit] = iter(())
    if get_origin(bare) is tuple and type(value) is list:
        inside = _list_misfits(get_args(bare), value)
    elif is_dataclass(bare) and isinstance(value, dict):
        inside = _record_misfits(cast(type[Any], bare), value)
    good = True
    for misfit in inside:
        good = False
        yield misfit
    if good:
        try:
            _reader(bare)(value)
        except Misfit as misfit:
            yield misfit


def _list_misfits(parts: tuple[Any, ...], value: list[Any]) -> Iterator[Misfit]:
    if wrong := _wrong_length(parts, value):
        yield wrong
    for number, part in enumerate(value, 1):
        for misfit in _misfits(parts[0], part):
            yield misfit.inside(str(number))


_hints = cache(get_type_hints)


def _record_misfits(kind: type[Any], document: dict[str, Any]) -> Iterator[Misfit]:
    hints = _hints(cast(Hashable, kind))
    for name, value in document.items():
        if name not in hints:
            yield _unknown(name, hints)
            continue
        for misfit in _misfits(hints[name], value):
            yield misfit.inside(name)
    for field in fields(kind):
        if default_of(field) is MISSING and field.name not in document:
            yield _missing(field.name)
