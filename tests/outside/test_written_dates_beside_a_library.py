"""Dates as people write them, beside `text_to_edtf` of python-edtf (PyPI `edtf` 5), which reads English wordings too.

Where the two agree the wording is checked; where they differ our rule is named, with what the library makes of it.
"""

from __future__ import annotations

import pytest
from edtf import text_to_edtf

from showrunner.errors import BadInput
from showrunner.storage.edtf_text import parse
from showrunner.storage.written_dates import read_written


def ours(text: str) -> str | None:
    found = read_written(text).date
    return found.text if found else None


@pytest.mark.parametrize(
    "text",
    [
        *("1868", "c. 1895", "circa 1895", "about 1868", "c1860", "1905?", "1890s", "19th century", "18th century"),
        *("Aug 2024", "August 2024", "12 March 2024", "March 12, 2024", "2024-08-31", "1999-01-12", "Spring 1911"),
        "unknown",
    ],
)
def test_where_both_read_the_same(text: str) -> None:
    assert ours(text) == text_to_edtf(text)


@pytest.mark.parametrize(
    ("text", "library", "rule"),
    [
        # check value EDTF-12: readers disagree on a decade with a mark, so the doubt goes to the note
        ("c. 1890s", "189X~", "189X"),
        ("1890s?", "189X?", "189X"),
        # LoC level 1: an open end is `..`; the library writes an unknown one
        ("before 1915", "/1915", "../1915"),
        ("after 1915", "1915/", "1915/.."),
        # one time out of several, not a duration; and `1905-11` may be November too
        ("1905-1911", "1905/1911", "[1905..1911]"),
        ("1905-11", "1905-11", "[1905..1911]"),
        # never firmer: the library drops what it does not know
        ("by 1915", "1915", "../1915"),
        ("1867 or 1868", "1867", "[1867,1868]"),
        ("early 1890s", "189X", "[1890..1893]"),
        ("1930's", "1930", "193X"),
    ],
)
def test_where_our_rule_is_another(text: str, library: str, rule: str) -> None:
    assert text_to_edtf(text) == library
    assert ours(text) == rule


def test_a_day_that_may_be_two_is_asked_for_and_not_guessed() -> None:
    assert text_to_edtf("12/03/2024") == "2024-12-03"
    with pytest.raises(BadInput, match="may be day/month"):
        ours("12/03/2024")


@pytest.mark.parametrize("text", ["c. 1890s", "1890s?", "about the 1880s", "perhaps the 1880s"])
def test_a_decade_is_never_written_with_a_mark_of_doubt(text: str) -> None:
    """Check value EDTF-12: `188X~` is read by python-edtf and refused by the npm package `edtf`; it is not written."""
    written = read_written(text)
    assert written.date is not None
    assert written.doubtful
    assert written.note
    assert not set("?~%") & set(written.date.text)


def test_a_decade_with_a_mark_is_read_where_somebody_writes_it() -> None:
    """Check values EDTF-11 and EDTF-12: strict bounds are those of the decade, as python-edtf has them."""
    for text in ("188X~", "1880S3"):
        found = parse(text)
        assert (str(found.earliest), str(found.latest)) == ("1880-01-01", "1889-12-31")
