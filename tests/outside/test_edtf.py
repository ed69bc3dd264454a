"""EDTF bounds against published examples.

LOC: Extended Date/Time Format specification, Library of Congress, 4 February 2019
(loc.gov/standards/datetime). It gives each example its meaning in words; the bounds are the days
that meaning allows. PYE: the test-suite of python-edtf 5.0.2 (github.com/ixc/python-edtf,
edtf/parser/tests.py, EXAMPLES and BAD_EXAMPLES), which repeats LOC's examples and gives bounds.
"""

from datetime import date

import pytest
from edtf import parse_edtf
from effort import examples
from hypothesis import example, given
from hypothesis import strategies as st

from showrunner.errors import BadInput
from showrunner.storage.edtf_text import parse


def day(text: str) -> date | None:
    return date.fromisoformat(text) if text else None


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        # LOC level 0: a day, a month, a year
        ("1985-04-12", "1985-04-12", "1985-04-12"),
        ("1985-04", "1985-04-01", "1985-04-30"),
        ("1985", "1985-01-01", "1985-12-31"),
        # LOC level 0 and PYE: intervals, each end of its own precision
        ("1964/2008", "1964-01-01", "2008-12-31"),
        ("2004-06/2006-08", "2004-06-01", "2006-08-31"),
        ("2004-02-01/2005-02", "2004-02-01", "2005-02-28"),
        ("2004-02-01/2005", "2004-02-01", "2005-12-31"),
        ("2005/2006-02", "2005-01-01", "2006-02-28"),
        # LOC level 1 and PYE: qualified, strict bounds
        ("1984?", "1984-01-01", "1984-12-31"),
        ("1984~", "1984-01-01", "1984-12-31"),
        ("1984%", "1984-01-01", "1984-12-31"),
        ("2004-06?", "2004-06-01", "2004-06-30"),
        ("2004-06-11?", "2004-06-11", "2004-06-11"),
        # LOC level 1 and PYE: unspecified digits from the right
        ("199X", "1990-01-01", "1999-12-31"),
        ("18XX", "1800-01-01", "1899-12-31"),
        ("1999-XX", "1999-01-01", "1999-12-31"),
        ("1999-01-XX", "1999-01-01", "1999-01-31"),
        ("1985-XX-XX", "1985-01-01", "1985-12-31"),
        # LOC level 1 and PYE: open ends
        ("2004-01-01/..", "2004-01-01", ""),
        ("../2006", "", "2006-12-31"),
        # LOC level 1: an unknown end has no date (PYE makes up ten years)
        ("/2006", "", "2006-12-31"),
        ("2004-06-01/", "2004-06-01", ""),
        ("1984~/2004-06", "1984-01-01", "2004-06-30"),
        # LOC level 2 and PYE: one of a set, all of a set
        ("[1667,1668,1670..1672]", "1667-01-01", "1672-12-31"),
        ("[1667, 1760-12]", "1667-01-01", "1760-12-31"),
        ("{1667,1668,1670..1672}", "1667-01-01", "1672-12-31"),
        ("{1960,1961-12}", "1960-01-01", "1961-12-31"),
        ("[..1760-12-03]", "", "1760-12-03"),
        ("[1760-12..]", "1760-12-01", ""),
        ("[1760-01,1760-02,1760-12..]", "1760-01-01", ""),
        # LOC level 2 and PYE: unspecified digits anywhere
        ("156X-12-25", "1560-12-25", "1569-12-25"),
        ("15XX-12-XX", "1500-12-01", "1599-12-31"),
        ("1560-XX-25", "1560-01-25", "1560-12-25"),
        # LOC level 2 and PYE: qualified parts, strict bounds
        ("2004-06-~01/2004-06-~20", "2004-06-01", "2004-06-20"),
        ("2004?-06-~11", "2004-06-11", "2004-06-11"),
        ("?2004-%06", "2004-06-01", "2004-06-30"),
        ("2004-06-XX/2004-07-03", "2004-06-01", "2004-07-03"),
        # LOC level 2: "some year between 1900 and 1999, estimated to be 1950"
        ("1950S2", "1900-01-01", "1999-12-31"),
        # LOC level 2 and PYE: groupings that lie within the year
        ("2001-29", "2001-09-01", "2001-11-30"),
        ("2001-34", "2001-04-01", "2001-06-30"),
    ],
)
def test_strict_bounds_of_published_examples(text: str, earliest: str, latest: str) -> None:
    known = parse(text)
    assert (known.earliest, known.latest) == (day(earliest), day(latest))
    assert known.text == text


# PYE BAD_EXAMPLES, with the fault its comments name
@pytest.mark.parametrize(
    "text",
    [
        "",
        "not a edtf string",
        "Y17E7-12-26",  # Y is for years only
        "2016-13-08",  # wrong day order
        "2016-02-39",  # out of range
        "-0000-01-01",  # negative zero year
        "2004-(06)?-11",  # brackets of the 2012 draft, here and below
        "2004-06-(11)~",
        "2004-(06-11)?",
        "(2004-(06)~)?",
        "2004-06-(01)~/2004-06-(20)~",
    ],
)
def test_published_bad_examples_are_refused(text: str) -> None:
    with pytest.raises(BadInput):
        parse(text)


# LOC level 1 gives 21-24 no hemisphere, and libraries differ: PYE reads 2001-21 as March to May and
# 2010-24 as December alone, the npm package edtf 4.11.1 reads 1885-21 as January to March and 24 as
# October to December. The bounds here hold every one of these readings.
@pytest.mark.parametrize(
    ("text", "readings"),
    [
        ("2001-21", [("2001-03-01", "2001-05-31"), ("2001-01-01", "2001-03-31"), ("2001-09-01", "2001-11-30")]),
        ("2010-24", [("2010-12-01", "2010-12-31"), ("2010-10-01", "2010-12-31"), ("2010-06-01", "2010-08-31")]),
    ],
)
def test_a_season_without_hemisphere_is_no_firmer_than_any_reading(text: str, readings: list[tuple[str, str]]) -> None:
    known = parse(text)
    assert known.earliest is not None and known.latest is not None
    for first, last in readings:
        assert known.earliest <= date.fromisoformat(first)
        assert date.fromisoformat(last) <= known.latest


# LOC, differences from the 2012 draft: u became X, ?~ became %, "unknown" nothing, "open" two dots
@pytest.mark.parametrize(
    ("draft", "text"), [("199u", "199X"), ("1984?~", "1984%"), ("unknown/2006", "/2006"), ("2004-01-01/open", "/..")]
)
def test_the_syntax_of_the_2012_draft_is_refused_with_the_present_one(draft: str, text: str) -> None:
    with pytest.raises(BadInput) as refusal:
        parse(draft)
    assert text in refusal.value.way_out


def bounds_by_library(text: str) -> tuple[date, date]:
    known = parse_edtf(text)
    return date(*known.lower_strict()[:3]), date(*known.upper_strict()[:3])


PLAIN = st.dates(min_value=date(1, 1, 1)).flatmap(
    lambda d: st.sampled_from([f"{d:%Y}".zfill(4), f"{d:%Y}".zfill(4) + f"-{d:%m}", d.isoformat()])
)


@given(text=PLAIN, doubt=st.sampled_from(["", "?", "~", "%"]))
@examples(60)
def test_plain_dates_agree_with_the_library(text: str, doubt: str) -> None:
    known = parse(text + doubt)
    assert (known.earliest, known.latest) == bounds_by_library(text + doubt)


# LOC level 2, sub-year groupings. The library bounds the two that straddle the new year by December alone.
GROUPINGS = (
    *("northern spring", "northern summer", "northern autumn", "northern winter"),
    *("southern spring", "southern summer", "southern autumn", "southern winter"),
    *("the first quarter of", "the second quarter of", "the third quarter of", "the last quarter of"),
    *("the first third of", "the second third of", "the last third of"),
    *("the first half of", "the second half of"),
)


@pytest.mark.parametrize(("code", "name"), enumerate(GROUPINGS, 25))
def test_groupings_within_a_year_agree_with_the_library(code: int, name: str) -> None:
    known = parse(f"1931-{code}")
    straddles = code in (28, 30)
    whole = (date(1930, 12, 1), date(1932, 2, 29)) if straddles else bounds_by_library(f"1931-{code}")
    assert (known.earliest, known.latest) == whole
    assert known.words == f"{name} 1931"


@given(dates=st.tuples(st.dates(min_value=date(1000, 1, 1)), st.dates(min_value=date(1000, 1, 1))))
@examples(30)
def test_intervals_agree_with_the_library_or_are_refused_as_reversed(dates: tuple[date, date]) -> None:
    first, last = dates
    text = f"{first}/{last:%Y-%m}"
    lower, upper = bounds_by_library(text)
    if upper < lower:
        with pytest.raises(BadInput, match="before it starts"):
            parse(text)
    else:
        known = parse(text)
        assert (known.earliest, known.latest) == (lower, upper)


def parses_or_refuses_in_words(text: str) -> None:
    try:
        known = parse(text)
    except BadInput as refusal:
        sentence = refusal.sentence()
        assert refusal.what and refusal.way_out
        assert len(sentence) < 400
        assert sentence.isprintable()
    else:
        assert known.earliest is None or known.latest is None or known.earliest <= known.latest
        assert known.words.isprintable() and known.words


@given(st.text(max_size=120))
@example("")
@example("1985\n")
@example("1908\x00")
@example("\ud800")
@example("１９８５")
@examples(200)
def test_any_text_is_a_date_or_a_plain_refusal(text: str) -> None:
    parses_or_refuses_in_words(text)


@given(st.text(alphabet="0123456789X?~%-/.,[]{}STEY ", max_size=24))
@example("1906-1X")  # the library itself fails on this one (AttributeError)
@example("1880-914")  # latest before earliest: python-edtf issue 33
@example("[1911..1905]")
@example("19XX-02-30")
@example("9999-24")
@example("0001-22")
@example("2004/2005/2006")
@example("[1905..1907..1909]")
@example("[1905")
@example("{}")
@examples(300)
def test_any_text_of_edtf_characters_is_a_date_or_a_plain_refusal(text: str) -> None:
    parses_or_refuses_in_words(text)
