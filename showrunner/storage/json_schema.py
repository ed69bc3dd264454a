"""JSON Schema (draft 2020-12) of domain types, made from their type hints like the codec's converters.

It tells what the codec reads: the same names, forms and defaults. What a type refuses beyond that (a window
that ends before it starts) is said by no schema.
"""

from __future__ import annotations

import ast
import inspect
import re
import textwrap
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime, time
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise
from typing import Any, cast, get_args, get_origin, get_type_hints

from showrunner.storage.codec import MOST, default_of, without_none, write

Schema = dict[str, Any]

_DAY = r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])"
_MINUTE = r"([01][0-9]|2[0-3]):[0-5][0-9]"

_LEAVES: dict[Any, Schema] = {
    str: {"type": "string"},
    int: {"type": "integer", "minimum": -MOST, "maximum": MOST},
    bool: {"type": "boolean"},
    date: {"type": "string", "format": "date", "pattern": f"^{_DAY}$"},
    time: {"type": "string", "pattern": rf"^{_MINUTE}(:[0-5][0-9](\.[0-9]{{6}})?)?$"},
    datetime: {
        "type": "string",
        "format": "date-time",
        "pattern": rf"^{_DAY}T{_MINUTE}:[0-5][0-9](\.[0-9]{{6}})?Z$",
    },
    Decimal: {"type": "string", "pattern": r"^-?(0|[1-9][0-9]*)(\.[0-9]+)?(E[+-][0-9]+)?$"},
}


def schema_of(hint: Any, definitions: dict[str, Schema]) -> Schema:
    """The schema of one type.

    Args:
        hint: the type as a field states it.
        definitions: schemas of records and enumerations by name; those it needs are added.
    """
    bare = without_none(hint)
    if bare is not hint:
        return _or_null(schema_of(bare, definitions))
    if get_origin(hint) is tuple:
        return _list_schema(get_args(hint), definitions)
    if hint in _LEAVES:
        return dict(_LEAVES[hint])
    if hint.__name__ not in definitions:
        kind = cast(type[Any], hint)
        definitions[hint.__name__] = record_schema(kind, definitions) if is_dataclass(kind) else _enum_schema(kind)
    return {"$ref": f"#/$defs/{hint.__name__}"}


def record_schema(kind: type[Any], definitions: dict[str, Schema]) -> Schema:
    """The schema of one dataclass: every field with its description and default, and no other field.

    Args:
        kind: the dataclass.
        definitions: schemas of records and enumerations by name; those it needs are added.
    """
    hints, said = get_type_hints(kind), _field_descriptions(kind)
    properties = {}
    for field in fields(kind):
        schema = schema_of(hints[field.name], definitions)
        if description := said.get(field.name):
            schema["description"] = description
        if (default := default_of(field)) is not MISSING:
            schema["default"] = write(hints[field.name], default)
        properties[field.name] = schema
    return {
        "title": _title(kind),
        "description": _description(kind),
        "type": "object",
        "properties": properties,
        "required": [field.name for field in fields(kind) if default_of(field) is MISSING],
        "additionalProperties": False,
    }


def _or_null(schema: Schema) -> Schema:
    if "type" in schema:
        return {**schema, "type": [schema["type"], "null"]}
    return {"anyOf": [schema, {"type": "null"}]}


def _list_schema(parts: tuple[Any, ...], definitions: dict[str, Schema]) -> Schema:
    """Schema of `tuple[X, ...]`, or of a tuple of one type and fixed length."""
    schema = {"type": "array", "items": schema_of(parts[0], definitions)}
    return schema if Ellipsis in parts else {**schema, "minItems": len(parts), "maxItems": len(parts)}


def _enum_schema(kind: type[StrEnum]) -> Schema:
    return {
        "title": _title(kind),
        "description": _description(kind),
        "type": "string",
        "enum": [member.value for member in kind],
    }


def _title(kind: type[Any]) -> str:
    """The name of a type in words: `Slot rule`."""
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", kind.__name__).capitalize()


def _field_descriptions(kind: type[Any]) -> dict[str, str]:
    """The docstring that follows each field in the source of a dataclass."""
    (definition,) = ast.parse(textwrap.dedent(inspect.getsource(kind))).body
    assert isinstance(definition, ast.ClassDef)
    found = {}
    for one, two in pairwise(definition.body):
        if (
            isinstance(one, ast.AnnAssign)
            and isinstance(one.target, ast.Name)
            and isinstance(two, ast.Expr)
            and isinstance(two.value, ast.Constant)
        ):
            found[one.target.id] = _for_json(inspect.cleandoc(str(two.value.value)))
    return found


def _description(kind: type[Any]) -> str:
    return _for_json(inspect.getdoc(kind) or "")


def _for_json(text: str) -> str:
    """A docstring in the words of JSON, which has no `None`."""
    return re.sub(r"\bNone\b", "null", text)
