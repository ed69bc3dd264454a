"""A record is what the standard library makes of the same class: `dataclasses.dataclass(frozen=True, slots=True)`."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, dataclass, fields, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.record import record


def button() -> type[Any]:
    """A class of three fields, one without a default, two of them named as if to be in the way."""

    class Button:
        """A button."""

        name: str
        name_slot: int = 4
        sewn: tuple[str, ...] = ()

        def __post_init__(self) -> None:
            if self.name_slot > 4:
                raise ValueError(f"a button has no {self.name_slot} holes")

        @property
        def told(self) -> str:
            return f"{self.name}, {self.name_slot}"

    return Button


Ours, Theirs = record(button()), dataclass(frozen=True, slots=True)(button())
BUTTONS = st.tuples(
    st.sampled_from(["horn", "jet"]), st.integers(0, 2), st.lists(st.just("linen"), max_size=1).map(tuple)
)


@given(BUTTONS, BUTTONS)
def test_records_compare_hash_and_show_as_those_of_the_standard_library(one: Any, two: Any) -> None:
    assert (Ours(*one) == Ours(*two)) is (Theirs(*one) == Theirs(*two))
    assert (hash(Ours(*one)) == hash(Ours(*two))) is (hash(Theirs(*one)) == hash(Theirs(*two)))
    assert repr(Ours(*one)) == repr(Theirs(*one))
    assert Ours(*one) != Theirs(*one)
    assert (Ours(*one) == one) is False


def test_records_are_made_as_those_of_the_standard_library() -> None:
    for kind in (Ours, Theirs):
        assert kind("horn") == kind(name="horn", name_slot=4, sewn=())
        assert kind("horn", 2).told == "horn, 2"
        assert [field.name for field in fields(kind)] == ["name", "name_slot", "sewn"]
        assert replace(kind("horn", 2), sewn=("silk",)) == kind("horn", 2, ("silk",))
        match kind("jet", 1):
            case kind(name, holes):
                assert (name, holes) == ("jet", 1)
        for wrong in ((), ("horn", 1, (), 2)):
            with pytest.raises(TypeError):
                kind(*wrong)
        with pytest.raises(TypeError):
            kind("horn", shape="round")
        with pytest.raises(ValueError, match="no 5 holes"):
            kind("horn", 5)
        with pytest.raises(TypeError):
            hash(kind("horn", []))


def test_a_record_is_never_changed() -> None:
    for kind in (Ours, Theirs):
        made = kind("horn")
        with pytest.raises(FrozenInstanceError):
            made.name = "jet"
        with pytest.raises(FrozenInstanceError):
            del made.name
        assert made == kind("horn")
        assert not hasattr(made, "__dict__")


def test_a_record_may_have_no_fields_or_one() -> None:
    class Nothing:
        """Nothing."""

    class One:
        """One field."""

        only: int

    for kind in (record, dataclass(frozen=True, slots=True)):
        nothing, one = kind(Nothing), kind(One)
        assert nothing() == nothing()
        assert hash(nothing()) == hash(nothing())
        assert repr(nothing()).endswith("Nothing()")
        assert one(2) == one(2) != one(3)
        assert repr(one(2)).endswith("One(only=2)")
