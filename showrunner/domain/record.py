"""Records: frozen values with slots, as `dataclass(frozen=True, slots=True)` makes them, but quickly.

The standard library writes and compiles half a dozen functions for every class while it is imported; for all of ours
that took longer than reading a book. Here the classes share those functions. Only `__init__` is compiled, and that when
the first record of a class is made.
"""

from __future__ import annotations

from dataclasses import MISSING, FrozenInstanceError, dataclass, fields
from operator import attrgetter
from typing import Any, NoReturn, TypeVar, cast, dataclass_transform

T = TypeVar("T")


@dataclass_transform(frozen_default=True)
def record(kind: type[T]) -> type[T]:
    """A class decorator: its fields make a frozen value, equal to another of the class if all fields are.

    As in `dataclasses`, fields may have defaults (no factories of them), `__post_init__` is called, and `replace` and
    `fields` work.
    """
    made: Any = dataclass(init=False, repr=False, eq=False, slots=True)(kind)
    names = [field.name for field in fields(made)]
    shared = {
        "__init__": _first,
        "__repr__": _shown,
        "__eq__": _equal,
        "__hash__": _hashed,
        "__setattr__": _refused,
        "__delattr__": _refused,
        "_values": staticmethod(attrgetter(*names or ["__class__"])),
    }
    for name, function in shared.items():
        setattr(made, name, function)
    return cast(type[T], made)


def _first(self: Any, *values: Any, **named: Any) -> None:
    """Make the first record of a class: have its `__init__` compiled, and go on with that."""
    kind: Any = type(self)
    kind.__init__ = _init(kind)
    kind.__init__(self, *values, **named)


def _init(kind: Any) -> Any:
    """`__init__` of a class of records, which fills the slots."""
    known: dict[str, Any] = {}
    head, body = ["self"], ["pass"]
    for field in fields(kind):
        known |= {f"_{field.name}_slot": getattr(kind, field.name), f"_{field.name}_default": field.default}
        head.append(field.name if field.default is MISSING else f"{field.name}=_{field.name}_default")
        body.append(f"_{field.name}_slot.__set__(self, {field.name})")
    if hasattr(kind, "__post_init__"):
        body.append("self.__post_init__()")
    exec(f"def __init__({', '.join(head)}): {'; '.join(body)}", known)
    return known["__init__"]


def _shown(self: Any) -> str:
    told = ", ".join(f"{field.name}={getattr(self, field.name)!r}" for field in fields(self))
    return f"{type(self).__qualname__}({told})"


def _equal(self: Any, other: Any) -> bool:
    same: bool = self._values(self) == other._values(other) if type(other) is type(self) else NotImplemented
    return same


def _hashed(self: Any) -> int:
    return hash(self._values(self))


def _refused(*_: object) -> NoReturn:
    raise FrozenInstanceError("a record cannot be changed")
