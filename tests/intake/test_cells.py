"""The cells of a sheet as people write them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.limits import limits_text, read_limits
from showrunner.domain.piece import Confidence, Feature, Handling, Known, Presence, View
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.intake import cells


@pytest.mark.parametrize(
    ("cell", "known", "odds"),
    [
        *((text, Known.YES, 50) for text in ("yes", "Y", "✓", "TRUE", "shown", "1")),
        *((text, Known.NO, 50) for text in ("no", "–", "-", "Not yet", "0", "false")),
        *((text, Known.UNSURE, 50) for text in ("doubtful", "?", "maybe", "not sure", "???", "unknown")),
        ("x", Known.UNSURE, 50),
        ("yes?", Known.UNSURE, 25),
        ("no?", Known.UNSURE, 75),
        ("probably", Known.UNSURE, 25),
        ("I think not", Known.UNSURE, 75),
    ],
)
def test_shown_is_said_in_many_words(cell, known, odds):
    said = cells.shown(cell, None)
    assert (said.known, said.odds, said.when) == (known, odds, None)
    assert bool(said.note) is (known is Known.UNSURE and cell.strip() != "x")  # an x is told once for the sheet


@pytest.mark.parametrize(
    ("cell", "text", "note"),
    [
        ("4 Feb 2024", "2024-02-04", ""),
        ("Aug 2024", "2024-08", "shown in August 2024, the day is not known (2024-08)"),
        ("about Nov 2024", "2024-11~", "shown about November 2024, the day is not known (2024-11~)"),
        ("2024-02-04", "2024-02-04", ""),
    ],
)
def test_a_date_says_that_it_was_shown_and_when(cell, text, note):
    said = cells.shown(cell, None)
    assert said.known is Known.YES
    assert said.when is not None
    assert (said.when.text, said.note) == (text, note)
    assert said.when.written == ("" if cell == text else cell)


@pytest.mark.parametrize("cell", ["2024?", "maybe Aug 2024", "2023%"])
def test_a_date_that_is_only_perhaps_so_is_never_a_yes(cell):
    said = cells.shown(cell, None)
    assert said.known is Known.UNSURE
    assert said.note


def test_what_is_neither_a_word_nor_a_date_is_refused():
    with pytest.raises(BadInput) as caught:
        cells.shown("next week", None)
    assert caught.value.sentence() == (
        "this says neither yes or no nor when; write yes, no, maybe, or a date like Aug 2024."
    )


def test_features_in_plain_words_and_as_an_export_writes_them():
    assert cells.features("button absent; straps trace only | hem let down; yoke") == (
        Feature("button", presence=Presence.ABSENT),
        Feature("straps", presence=Presence.TRACE),
        Feature("hem let down", altered=True),
        Feature("yoke"),
    )
    assert cells.features("watch pocket @ wearer's left [inside, must, absent, altered]") == (
        Feature("watch pocket", "wearer's left", View.INSIDE, 1, Presence.ABSENT, True),
    )


@pytest.mark.parametrize(
    ("cell", "value", "confidence"),
    [
        ("Leeds", "Leeds", Confidence.SURE),
        ("probably Leeds", "Leeds", Confidence.PROBABLE),
        ("Leeds?", "Leeds", Confidence.POSSIBLE),
        ("perhaps Leeds", "Leeds", Confidence.POSSIBLE),
        ("probably Leeds?", "Leeds", Confidence.POSSIBLE),
    ],
)
def test_a_claim_has_the_confidence_of_its_words(cell, value, confidence):
    found = cells.claim("origin", cell)
    assert (found.value, found.confidence) == (value, confidence)


@pytest.mark.parametrize(
    ("cell", "value"), [("1,885.50", "1885.50"), ("85", "85"), ("AUD 120", "120"), ("38 cm", "38"), ("12,5", "12.5")]
)
def test_amounts_are_exact(cell, value):
    assert cells.amount(cell) == Decimal(value)


@pytest.mark.parametrize("cell", ["-5", "1e5", "a lot", "1,2,3", ""])
def test_what_is_no_amount_is_refused(cell):
    with pytest.raises(BadInput):
        cells.amount(cell)


def test_limits_are_flags_and_the_rest_is_a_note():
    found = read_limits("flat only, two people; net support, at most 20 minutes on a form")
    assert found == Handling(flat_only=True, people=2, form_minutes=20, notes="net support")
    assert limits_text(found) == "flat only, 20 minutes on a form, net support"


@given(st.text(max_size=200))
def test_any_cell_is_read_or_refused_in_words(cell):
    for read in (cells.text, cells.paragraph, cells.listed, cells.parts, cells.features, cells.yes_no, cells.amount):
        try:
            read(cell)
        except ShowrunnerError as error:
            assert error.sentence()
    try:
        cells.shown(cell, None)
    except ShowrunnerError as error:
        assert error.sentence()


@pytest.mark.parametrize("cell", ["half \ud800 a sign", "bell \x07", "null \x00", "\x9b2J"])
def test_what_a_terminal_would_obey_never_comes_in(cell):
    with pytest.raises(BadInput, match="retype it"):
        cells.text(cell)


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("120 kr", "120"),
        ("1,25", "1.25"),
        ("1.200,50", "1200.50"),
        ("12.50 €", "12.50"),
        ("kr. 99", "99"),
        ("8 euro", "8"),
    ],
)
def test_amounts_with_money_behind_them(cell, value):
    assert str(cells.amount(cell)) == value
