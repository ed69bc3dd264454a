"""Lengths and weights as people write them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.measuring import (
    measurement_words,
    measurements_text,
    read_measure,
    read_measurements,
)
from showrunner.domain.piece import Measurement, Piece
from showrunner.errors import BadInput
from showrunner.planning.cautions import cautions_for


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("21 1/4 in", "53.98", "cm"),
        ("21-1/4in.", "53.98", "cm"),
        ('21¼"', "53.98", "cm"),
        ("21 ¼ ″", "53.98", "cm"),
        ("21.25 inches", "53.98", "cm"),
        ("½ inch", "1.27", "cm"),
        ("5 ft 3 in", "160.02", "cm"),
        ("5'3\"", "160.02", "cm"),
        ("5’ 3”", "160.02", "cm"),
        ("5′3½″", "161.29", "cm"),
        ("1 yd", "91.44", "cm"),
        ("2 yards, 1 foot and 3 inches", "220.98", "cm"),
        ("86 cm", "86", "cm"),
        ("86cm", "86", "cm"),
        ("86,5 cm", "86.5", "cm"),
        ("86.125 cm", "86.125", "cm"),
        ("860 mm", "86", "cm"),
        ("0.86 m", "86", "cm"),
        ("1 m 20 cm", "120", "cm"),
        ("2 lb 3 oz", "0.992", "kg"),
        ("3 1/2 oz", "0.099", "kg"),
        ("2.1 kg", "2.1", "kg"),
        ("350 g", "0.35", "kg"),
        ("2 kg 350 g", "2.35", "kg"),
    ],
)
def test_what_people_write(text: str, value: str, unit: str) -> None:
    found = read_measure(f"  {text} ")
    assert (found.value, found.unit, found.entered) == (Decimal(value), unit, text)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("86", "86 has no unit"),
        ("5'3", "3 has no unit"),
        ("86-88 cm", "86 has no unit"),
        ("-3 cm", "never less than nothing"),
        ("− 3 cm", "never less than nothing"),
        ("0 cm", "more than nothing"),
        ("0.001 in", "too small"),
        ("1000.01 cm", "more than the 1000 cm that are believed"),
        ("200.001 kg", "more than the 200 kg that are believed"),
        ("3 ft 2 lb", "a length and a weight in one"),
        ("1 m 3 in", "mixes metric units with others"),
        ("1/0 in", "divided into 0 parts"),
        ("21 1/0 in", "divided into 0 parts"),
        ("21 5/4 in", "5/4 beside a whole number is not less than 1"),
        ("3 in 5 ft", "ft cannot follow in"),
        ("5 ft 12 in", "12 in after ft are not fewer than 12"),
        ("1,200 mm", "1,200 may be 1200 or 1.200"),
        ("5 stone", "'stone' is no unit"),
        ("1e3 cm", "'e' is no unit"),
        ("abc", "cannot be read as a length or a weight"),
        ("٣ cm", "cannot be read as a length or a weight"),
        ("34 in \x1b[31m", "cannot be read"),
        ("", "nothing is written"),
        ("9" * 100 + " cm", "more than the 60"),
    ],
)
def test_nonsense_is_refused_in_one_sentence(text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why) as refused:
        read_measure(text)
    assert refused.value.sentence().isprintable()


def test_an_imperial_entry_is_rounded_half_up_and_a_metric_one_stays() -> None:
    assert read_measure("0.25 in").value == Decimal("0.64")  # 0.635
    assert read_measure("1.25 in").value == Decimal("3.18")  # 3.175
    assert read_measure("0.1234567 kg").value == Decimal("0.1234567")
    assert str(read_measure("86.50 cm").value) == "86.50"
    assert read_measure("86 1/3 cm").value == Decimal("86.33")  # no decimal number equals it


def test_several_with_what_was_measured() -> None:
    chest, weight = read_measurements("chest 34 in, weight 2 lb 3 oz")
    assert chest == Measurement("chest", Decimal("86.36"), "cm", "34 in")
    assert weight == Measurement("weight", Decimal("0.992"), "kg", "2 lb 3 oz")
    chest, waist, length = read_measurements("chest 86,5 cm,waist: 70,2 cm; centre back length=5'3\"")
    assert [m.what for m in (chest, waist, length)] == ["chest", "waist", "centre back length"]
    assert [str(m.value) for m in (chest, waist, length)] == ["86.5", "70.2", "160.02"]
    assert read_measurements(" ") == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("chest", "this is no measurement"),
        ("34 in", "what was measured is not said; write it like chest 34 in"),
        ("chest 86", "86 has no unit"),
        ("chest about 34 in", "one firm number"),
        ("chest -4 cm", "never less than nothing"),
    ],
)
def test_measurements_that_cannot_be(text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        read_measurements(text)


def test_a_measurement_is_said_with_its_entry_where_that_differs() -> None:
    told = [measurement_words(m) for m in read_measurements("chest 21 1/4 in, hem 86 cm, weight 2,1 kg")]
    assert told == ["chest 53.98 cm (21 1/4 in)", "hem 86 cm", "weight 2.1 kg (2,1 kg)"]
    assert measurement_words(Measurement("chest", Decimal(86), "cm", "chest 86 cm")) == "chest 86 cm"
    assert measurement_words(Measurement("chest", Decimal(86), "cm")) == "chest 86 cm"


def test_a_weight_in_pounds_calls_for_help_with_lifting() -> None:
    piece = Piece("1", "Court mantle", "c", measurements=read_measurements("weight 23 lb"))
    told = [caution.text for caution in cautions_for([piece], ())]
    assert "Court mantle: it weighs 10.433 kg; lift it with help." in told


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["chest", "centre back", "weight"]),
            st.decimals(Decimal("0.1"), 199, places=2),
            st.sampled_from(["cm", "kg", "in", "oz"]),
        )
    )
)
def test_what_is_shown_is_read_again(rows: list[tuple[str, Decimal, str]]) -> None:
    kept = read_measurements(", ".join(f"{what} {value} {unit}" for what, value, unit in rows))
    assert read_measurements(measurements_text(kept)) == kept
    assert [m.what for m in kept] == [what for what, _, _ in rows]


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        kept = read_measurements(text)
    except BadInput as refused:
        assert refused.sentence().endswith(".")
    else:
        assert all(m.value > 0 for m in kept)
