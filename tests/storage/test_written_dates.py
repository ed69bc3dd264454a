"""Dates as people write them: what each wording gives, and that none gives more than was written."""

import gc
import subprocess
import sys
from contextlib import suppress
from datetime import date, timedelta
from itertools import pairwise
from weakref import ref

import pytest
from effort import examples
from hypothesis import assume, example, given
from hypothesis import strategies as st

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.errors import BadInput
from showrunner.storage.edtf_text import parse
from showrunner.storage.written_dates import MAX_WRITTEN, Written, read_written


def edtf_of(text: str, *, day_first: bool | None = None) -> str:
    known = read_written(text, day_first=day_first).date
    assert known is not None
    return known.text


# --- what each wording gives ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        *("1868~", "189X", "18XX", "[1905..1911]", "../1915", "1915/..", "2024-11~", "1835%", "1880/1890", "1905-11~"),
        *("189X?", "2004?-06-11", "{1905,1906}", "2024-11", "2024-11-05", "1868", "0800", "XXXX", "../..", "1898-02"),
        *("1950S2", "1985-XX-XX", "2004-06/2006-08", "/2006", "2024-21", "~1895", "156X-12-25"),
    ],
)
def test_edtf_is_taken_as_it_is(text: str) -> None:
    assert edtf_of(text) == text
    assert edtf_of(f"  {text.lower()} ") == text
    assert read_written(text).note == ""


@pytest.mark.parametrize("code", range(13, 50))
def test_two_digits_after_a_year_may_be_a_season_of_edtf(code: int) -> None:
    """Codes 21 to 41; those of 22, 24, 28 and 30 may reach over the new year."""
    reaches = code in (22, 24, 28, 30)
    assert edtf_of(f"1904-{code}") == (f"[1903-12..19{code}-12]" if reaches else f"[1904..19{code}]")
    assert ("also holds" in read_written(f"1904-{code}").note) is (21 <= code <= 41)


@pytest.mark.parametrize("code", [21, 30, 41])
def test_a_code_of_a_season_that_can_be_no_later_year_is_the_season(code: int) -> None:
    assert edtf_of(f"1965-{code}") == f"1965-{code}"


@pytest.mark.parametrize("start", ["1904", "1904-05", "1904-05-06"])
@pytest.mark.parametrize("end", ["1911", "1911-08", "1911-08-09"])
def test_an_interval_of_edtf_is_taken_as_it_is(start: str, end: str) -> None:
    assert edtf_of(f"{start}/{end}") == f"{start}/{end}"


@pytest.mark.parametrize(
    ("dashes", "edtf"),
    [("-‐‑−", "1898-02"), ("–—―‒", "[1898..1902]")],  # hyphens and the minus sign may part a month; longer ones do not
)
def test_dashes_of_every_kind_are_dashes(dashes: str, edtf: str) -> None:
    for dash in dashes:
        assert edtf_of(f"1898{dash}02") == edtf
        assert edtf_of(f"1905{dash}1911") == edtf_of(f"1905 {dash} 1911") == "[1905..1911]"


@pytest.mark.parametrize("sign", "'’‘ʼ")
def test_apostrophes_of_every_kind_are_apostrophes(sign: str) -> None:
    assert edtf_of(f"the 1890{sign}s") == "189X"
    assert edtf_of(f"{sign}1868") == "1868"


@pytest.mark.parametrize(
    ("portions", "decade", "century"),
    [
        ("early; earlier; beginning of the; start of the; early part of the", (1890, 1893), (1800, 1839)),
        ("mid; middle of the; middle; middle part of the", (1893, 1897), (1830, 1869)),
        ("late; later; latter; end of the; later part of the", (1896, 1899), (1860, 1899)),
        ("first half of the; 1st half of", (1890, 1895), (1800, 1850)),
        ("second half of the; 2nd half of; last half of the; latter half of", (1895, 1899), (1850, 1899)),
        ("first quarter of the; 1st quarter", (1890, 1893), (1800, 1825)),
        ("second quarter of the; 2nd quarter", (1892, 1895), (1825, 1850)),
        ("third quarter of the; 3rd quarter", (1895, 1898), (1850, 1875)),
        ("fourth quarter of the; 4th quarter; last quarter of the", (1897, 1899), (1875, 1899)),
    ],
)
def test_parts_of_decades_and_centuries(portions: str, decade: tuple[int, int], century: tuple[int, int]) -> None:
    for portion in portions.split("; "):
        for text, (first, last) in ((f"{portion} 1890s", decade), (f"{portion} 19th century", century)):
            known = read_written(text)
            assert known.date == parse(f"[{first}..{last}]")
            assert known.note.endswith(f"is taken as {first} to {last}")


def test_a_part_of_the_nineteen_hundreds_holds_that_of_the_decade_and_of_the_century() -> None:
    assert edtf_of("mid 1900s") == "[1903..1969]"
    assert edtf_of("third quarter of the 1900s") == "[1905..1975]"


ORDINALS = (
    *("second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth"),
    *("thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth", "twentieth"),
    "twenty-first",
)


@pytest.mark.parametrize(("before", "name"), enumerate(ORDINALS, 1))
def test_centuries_by_name_and_number(before: int, name: str) -> None:
    for text in (f"{name} century", f"the {name}-century", f"{before + 1}th century", f"{before + 1} c"):
        assert edtf_of(text) == f"{before:02}XX"


@pytest.mark.parametrize("text", ["first century", "1st century", "0th century", "zeroth century"])
def test_the_first_century_has_no_text_of_edtf(text: str) -> None:
    """It would have the year 0."""
    with pytest.raises(BadInput):
        read_written(text)


@pytest.mark.parametrize(
    ("names", "first", "last"),
    [
        ("Victorian; Victorian era; Victoria; Queen Victoria; the Victorian period", 1837, 1901),
        ("Edwardian; Edward VII; Edwardian times", 1901, 1910),
        ("Georgian; Georgian age", 1714, 1837),
        ("Regency; the Regency; Regency years", 1811, 1820),
        ("WW1; WWI; WW 1; WW I; First World War; World War 1; World War I; 1st World War; World War One; the Great War",
         1914, 1918),
        ("WW2; WWII; WW 2; WW II; Second World War; World War 2; World War II; 2nd World War; World War Two",
         1939, 1945),
        ("interwar; inter-war years; between the wars", 1918, 1939),
    ],
)  # fmt: skip
def test_periods(names: str, first: int, last: int) -> None:
    """Reigns by the list of sovereigns of the Royal Household (royal.uk), the Regency Act 1811, the two wars."""
    for name in names.split("; "):
        known = read_written(name)
        assert known.date == parse(f"[{first}..{last}]")
        assert known.note.endswith(f"is taken as {first} to {last}")


@pytest.mark.parametrize(
    "text", ["c " * 49 + "x", "maybe " * 15 + "soon", "1-" * 49, "a to " * 20, "1905 - " * 14, "5/" * 50]
)
def test_a_text_with_many_dashes_or_words_is_no_date(text: str) -> None:
    with pytest.raises(BadInput):
        read_written(text)


@pytest.mark.parametrize(
    ("text", "edtf"),
    [
        # months and days
        ("Aug 2024", "2024-08"),
        ("AUGUST, 2024", "2024-08"),
        ("Sept. 2024", "2024-09"),
        ("May 1911", "1911-05"),
        ("2024 Aug", "2024-08"),
        ("11/1905", "1905-11"),
        ("12 March 2024", "2024-03-12"),
        ("12th of March, 2024", "2024-03-12"),
        ("March 12, 2024", "2024-03-12"),
        ("Mar. 12th 2024", "2024-03-12"),
        ("12\u00a0Mar\u202f2024", "2024-03-12"),
        ("12Mar2024", "2024-03-12"),
        ("2024-03-12", "2024-03-12"),
        ("2024/03/12", "2024-03-12"),
        ("2024–3–12", "2024-03-12"),
        ("2024.3.12", "2024-03-12"),
        ("2024-Mar-12", "2024-03-12"),
        ("12.3.2024", "2024-03-12"),
        ("13/3/2024", "2024-03-13"),
        ("3/13/2024", "2024-03-13"),
        ("20240312", "2024-03-12"),
        ("2024-03-12T09:00:00Z", "2024-03-12"),
        ("2024-03-12 00:00:00", "2024-03-12"),
        ("2024-03-12T09:00:00.000+01:00", "2024-03-12"),
        ("13/03/2024 9:30 pm", "2024-03-13"),
        ("Tue 12 Mar 2024", "2024-03-12"),
        ("Tues., 12 March 2024", "2024-03-12"),
        # years
        ("1868.0", "1868"),
        ("1868.", "1868"),
        ("'1868", "1868"),
        ('"1868"', "1868"),
        ("in 1868", "1868"),
        ("dated 1868", "1868"),
        ("sometime in 1868", "1868"),
        ("\ufeff1868\u200b", "1868"),
        # decades and centuries
        ("1890s", "189X"),
        ("the 1890's", "189X"),
        ("189-", "189X"),
        ("18--", "18XX"),
        ("1900s", "19XX"),
        ("19th century", "18XX"),
        ("19th c.", "18XX"),
        ("C19", "18XX"),
        ("nineteenth century", "18XX"),
        ("early 1890s", "[1890..1893]"),
        ("mid-1890s", "[1893..1897]"),
        ("late 1890s", "[1896..1899]"),
        ("early-mid 1890s", "[1890..1897]"),
        ("mid to late 1890s", "[1893..1899]"),
        ("early 19th century", "[1800..1839]"),
        ("mid–19th century", "[1830..1869]"),
        ("late 19th c.", "[1860..1899]"),
        ("second half of the 19th century", "[1850..1899]"),
        ("last quarter of the 19th century", "[1875..1899]"),
        ("early 1900s", "[1900..1939]"),
        ("late 1900s", "[1906..1999]"),
        ("late in 1911", "1911"),
        ("early March 2024", "2024-03"),
        # one of several
        ("1905-11", "[1905..1911]"),
        ("1905–11", "[1905..1911]"),
        ("1905 - 6", "[1905..1906]"),
        ("1905/11", "[1905..1911]"),
        ("1911-21", "[1911..1921]"),
        ("1904-22", "[1903-12..1922-12]"),
        ("1898–02", "[1898..1902]"),
        ("1999-00", "[1999..2000]"),
        ("2024 - 03", "2024-03"),
        ("1985 - 03", "[1985..2003]"),
        ("1905-1911", "[1905..1911]"),
        ("1905 — 1911", "[1905..1911]"),
        ("1905 to 1911", "[1905..1911]"),
        ("1905 to 11", "[1905..1911]"),
        ("from 1905 to 1911", "[1905..1911]"),
        ("between 1905 and 1911", "[1905..1911]"),
        ("between 1905 and 11", "[1905..1911]"),
        ("from 1905 to 11", "[1905..1911]"),
        ("from 1905-11", "[1905..1911]"),
        ("1890s-1910s", "[1890..1919]"),
        ("1860s–70s", "[1860..1879]"),
        ("1890s to 20th century", "[1890..1999]"),
        ("9990-99", "[9990..9999]"),
        ("18th/19th century", "[1700..1899]"),
        ("Aug–Sep 2024", "[2024-08..2024-09]"),
        ("12-14 March 2024", "[2024-03-12..2024-03-14]"),
        ("12 Aug to 3 Sep 2024", "[2024-08-12..2024-09-03]"),
        ("1905 or 1906", "[1905,1906]"),
        ("1868 (or 1869)", "[1868,1869]"),
        ("March or April 1911", "[1911-03,1911-04]"),
        ("1890s or 1910s", "[1890..1919]"),
        # open ends
        *((f"{before} 1915", "../1915") for before in ("before", "by", "pre", "Not later than", "until", "prior to")),
        *((text, "../1915") for text in ("pre-1915", "pre1915", "<1915", "1915 or earlier", "1915 at the latest")),
        *((f"{after} 1915", "1915/..") for after in ("after", "since", "post", "not before", "from", "shortly after")),
        *((text, "1915/..") for text in ("post-1915", ">1915", "1915 or later", "1915 onwards", "1915+", "1915-")),
        ("before the 1890s", "../1899"),
        ("after the 1890s", "1890/.."),
        ("by Aug 2024", "../2024-08"),
        ("after summer 1911", "1910-12/.."),
        # seasons, quarters, feasts
        ("spring 1911", "1911-21"),
        ("Summer of 1911", "1911-22"),
        ("in the fall of 1911", "1911-23"),
        ("winter 1911/12", "[1911..1912]"),
        ("spring/summer 1911", "[1910-12..1912-02]"),
        ("Q3 2024", "2024-35"),
        ("q1/2024", "2024-33"),
        ("2024 Q2", "2024-34"),
        ("2024-Q4", "2024-36"),
        ("Christmas 1912", "1912"),
        ("Easter 1912", "1912"),
    ],
)
def test_a_wording_without_doubt(text: str, edtf: str) -> None:
    known = read_written(text)
    assert known.date == parse(edtf)
    assert not known.doubtful
    assert known.original == text


@pytest.mark.parametrize(
    ("text", "edtf"),
    [
        *(
            (f"{about}1895", "1895~")
            for about in ("c. ", "c", "c.", "ca ", "ca. ", "circa ", "about ", "Around ", "~ ")
        ),
        *((f"1895{about}", "1895~") for about in (" or so", "ish", "-ish", " approx.", " (approx)", " ~", " ±")),
        *(
            (f"{perhaps} 1841", "1841?")
            for perhaps in ("maybe", "Perhaps", "possibly", "probably", "I think", "may be")
        ),
        *((f"1841{perhaps}", "1841?") for perhaps in ("?", " ?", "??", " (?)", "[?]", " maybe", " (not sure)")),
        ("about 1841?", "1841%"),
        ("Maybe c. 1841", "1841%"),
        ("c " * 45 + "1841 maybe", "1841%"),
        ("about Nov 2024", "2024-11~"),
        ("c. Nov. 2024", "2024-11~"),
        ("c12/2024", "2024-12~"),
        ("c13/3/2024", "2024-03-13~"),
        ("12 March 2024?", "2024-03-12?"),
        ("before about 1915", "../1915~"),
        ("probably before 1915", "../1915?"),
        ("after 1915?", "1915?/.."),
        ("[c. 1895]", "1895%"),
        ("(c. 1895)", "1895~"),
        ("maybe (1868)", "1868?"),
        # a mark that EDTF does not have, or on which its readers disagree
        ("1890s?", "189X"),
        ("c. 1890s", "189X"),
        ("187?", "187X"),
        ("19th century?", "18XX"),
        ("early 1890s?", "[1890..1893]"),
        ("c. 1905-11", "[1905..1911]"),
        ("1905-11?", "[1905..1911]"),
        ("between c. 1905 and c.1911", "[1905..1911]"),
        ("1905 or 1906?", "[1905,1906]"),
        ("c. spring 1911", "1911-21"),
        # something odd about the text
        ("Sun 12 Mar 2024", "2024-03-12?"),
        ("12-Mar-24", "2024-03-12?"),
        ("12 Mar '68", "2068-03-12?"),
        ("12-Mar-69", "1969-03-12?"),
        ("Aug-24", "2024-08?"),
        ("31/12/99", "1999-12-31?"),
        ("1868 (possibly later)", "1868?"),
        ("1890 (1895)", "1890?"),
    ],
)
def test_a_wording_of_doubt(text: str, edtf: str) -> None:
    known = read_written(text)
    assert known.date == parse(edtf)
    assert known.doubtful
    assert known.original == text
    assert any(mark in edtf for mark in "?~%") or "only as you wrote it" in known.note


@pytest.mark.parametrize("text", ["", "  ", "-", "—", "unknown", "Unknown.", "n.d.", "N/A", "date unknown", "undated"])
def test_nothing_is_known_and_nothing_doubted(text: str) -> None:
    assert read_written(text) == Written(text, None, False, "")


@pytest.mark.parametrize("text", ["?", "??", "maybe", "Maybe?", "unknown?", "c.", "(?)", "not sure"])
def test_nothing_is_known_and_that_in_doubt(text: str) -> None:
    assert read_written(text) == Written(text, None, True, "")


@pytest.mark.parametrize(
    ("text", "note"),
    [
        ("early 1890s", "'early 1890s' is taken as 1890 to 1893"),
        ("late 19th century", "'late 19th century' is taken as 1860 to 1899"),
        ("late 1911", "'late' is not in the date"),
        ("1905-11", "read as some time from 1905 to 1911, which also holds November 1905"),
        ("1910-12", "read as some time from 1910 to 1912, which also holds December 1910"),
        ("1911-21", "read as some time from 1911 to 1921, which also holds spring 1911"),
        ("1904-41", "read as some time from 1904 to 1941, which also holds the second half of 1904"),
        ("1904-42", ""),
        ("1900s", "1900s may be ten years or a hundred, and are read as the latter"),
        ("13/3/2024", "read as day/month/year"),
        ("3/13/2024", "read as month/day/year"),
        ("12.3.2024", "read as day/month/year"),
        ("12-Mar-24", "the two-digit year is taken as 2024"),
        ("Sun 12 Mar 2024", "that day was a Tuesday"),
        ("2024-03-12T09:00:00Z", "the time of day is left out"),
        ("spring 1911", "north or south of the equator is not said, so both are allowed for"),
        ("Christmas 1912", "christmas is not in the date"),
        ("1868 (dated in ink)", "the words in brackets stay in your own words only"),
        ("c. 1895", ""),
        ("1905-1911", ""),
    ],
)
def test_the_note_says_what_was_assumed(text: str, note: str) -> None:
    assert read_written(text).note == note


def test_words_in_brackets_leave_the_date_alone() -> None:
    assert edtf_of("1868 (dated in ink)") == "1868"
    assert edtf_of("c. 1895 (maker's label) [seen]") == "1895~"
    assert edtf_of("(c. 1895) (label)") == "1895~"


@pytest.mark.parametrize(
    ("text", "day_first", "edtf"),
    [
        ("03/04/2024", True, "2024-04-03"),
        ("03/04/2024", False, "2024-03-04"),
        ("3 - 4 - 2024", True, "2024-04-03"),
        ("3.4.2024", None, "2024-04-03"),
        ("3.4.2024", False, "2024-03-04"),
        ("03/03/2024", None, "2024-03-03"),
        ("3/4/24", True, "2024-04-03?"),
        ("Wed 3/4/2024", True, "2024-04-03"),
    ],
)
def test_the_order_of_day_and_month(text: str, day_first: bool | None, edtf: str) -> None:
    assert edtf_of(text, day_first=day_first) == edtf


# --- refusals ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "what", "way_out"),
    [
        (
            "03/04/2024",
            "this may be day/month/year or month/day/year",
            "write it as 2024-04-03 or as 2024-03-04",
        ),
        ("31 Feb 2024", "no such day exists", "look at the month and at how many days it has"),
        ("Tue 31 Feb 2024", "no such day exists", "look at the month and at how many days it has"),
        ("Tue Feb 2024", "this cannot be read as a date", "write it as in 1868, about 1868"),
        ("Tue 1911", "this cannot be read as a date", "write it as in 1868, about 1868"),
        ("29 Feb 2023", "no such day exists", "look at the month and at how many days it has"),
        ("2024-13-01", "no such day exists", "look at the month and at how many days it has"),
        ("12 Mar 0000", "the year lies outside the years 1 to 9999 that the book keeps", "say it in the notes"),
        ("1950-20", "20 is neither a later year than 1950 nor a month", "write it as in 1868, about 1868"),
        ("1950-42", "42 is neither a later year than 1950 nor a month", "write it as in 1868, about 1868"),
        ("2024-13", "13 is neither a later year than 2024 nor a month", "write it as in 1868, about 1868"),
        ("31/02/2024", "no such day exists", "write it as in 1868, about 1868"),
        ("1911-1905", "it ends (1905) before it starts (1911)", "swap the two dates"),
        ("24-12-31", "this may be day/month/year or year/month/day", "write it as 2031-12-24 or as 2024-12-31"),
        ("90s", "the century is missing", "write it as 1890s or as 1990s"),
        ("24 Aug", "the year is missing", "add it, as in 12 March 2024"),
        ("August", "the year is missing", "add it, as in 12 March 2024"),
        ("45363", "this looks like a spreadsheet's own count of days", "let that column show dates"),
        ("0000", "the year lies outside the years 1 to 9999 that the book keeps", "say it in the notes"),
        ("soon", "this cannot be read as a date", "write it as in 1868, about 1868"),
        ("before", "this cannot be read as a date", "write it as in 1868, about 1868"),
        ("not 1915", "this cannot be read as a date", "write it as in 1868, about 1868"),
        ("1905 and 1911", "this cannot be read as a date", "write it as in 1868, about 1868"),
        ("[/]", "this cannot be read as a date", "write it as in 1868, about 1868"),
        ("18\x0068", "it holds signs that cannot be printed", "type it anew"),
        ("18\ud80068", "it holds signs that cannot be printed", "type it anew"),
        ("1868\x1f", "it holds signs that cannot be printed", "type it anew"),
        ("9" * 10_000, f"10000 letters are more than the {MAX_WRITTEN} that are looked at", "write it as in"),
        ("9" * 101, "101 letters are more than the 100 a date may have", "write it as in"),
    ],
)
def test_a_refusal_says_what_is_wrong_and_how_to_write_it(text: str, what: str, way_out: str) -> None:
    with pytest.raises(BadInput) as refusal:
        read_written(text)
    assert refusal.value.what == what
    assert refusal.value.way_out.startswith(way_out)
    assert refusal.value.sentence().isprintable()


@pytest.mark.parametrize("example_text", ["1868", "about 1868", "1890s", "1905 to 1911", "before 1915", "Aug 2024"])
def test_every_example_of_a_refusal_can_be_read(example_text: str) -> None:
    with pytest.raises(BadInput, match=example_text):
        read_written("soon")
    assert read_written(example_text).date


def test_an_order_that_the_day_does_not_allow_is_refused_with_the_other() -> None:
    with pytest.raises(BadInput) as refusal:
        read_written("12/13/2024", day_first=True)
    assert refusal.value.what == "no such day exists, read as day/month/year"
    assert refusal.value.way_out == "write it as 2024-12-13"


# --- never firmer -----------------------------------------------------------------------------------------------


def holds(wide: FuzzyDate | None, narrow: FuzzyDate | None) -> bool:
    """Whether the bounds of a date contain those of another."""
    assert wide and narrow
    starts = wide.earliest is None or (narrow.earliest is not None and wide.earliest <= narrow.earliest)
    ends = wide.latest is None or (narrow.latest is not None and narrow.latest <= wide.latest)
    return starts and ends


def follows_the_rules(known: Written, text: str) -> None:
    """Check what holds for every date that was read."""
    assert known.original == text
    assert known.note.isprintable()
    if known.date:
        assert parse(known.date.text) == known.date
        if known.doubtful:
            assert any(mark in known.date.text for mark in "?~%") or "only as you wrote it" in known.note


DAYS = st.dates(date(1000, 1, 1), date(9998, 12, 31))
YEARS = st.integers(1000, 2199)
EXACT = (
    "{d.day} {d:%B} {y}",
    "{d.day}. {d:%b}. {y}",
    "{d:%B} {d.day}, {y}",
    "the {d.day}th of {d:%B} {y}",
    "{d:%A}, {d.day} {d:%B} {y}",
    "{d:%a} {d:%b} {d.day} {y}",
    "{d:%d}/{d:%m}/{y}",
    "{d.day} – {d.month} – {y}",
    "{y}/{d.month}/{d.day}",
    "{y}-{d:%m}-{d:%d}",
    "{y}-{d:%m}-{d:%d}T23:59:59-05:00",
    "{d.day}-{d:%b}-{y}",
    "{y} {d:%B} {d.day}",
)
OF_A_DAY = (
    "{d:%B} {y}",
    "{d:%b}. {y}",
    "{d:%m}/{y}",
    "{y} {d:%b}",
    "early {d:%B} {y}",
    "{d:%b}-{y}",
    "{y}-{d:%m}",
    "{y}–{d.month}",
    "{y}/{d:%m}",
    "{y}",
    "{y}.0",
    "Christmas {y}",
    "winter {y}",
    "summer of {y}",
    "spring {y}",
    "autumn {y}",
    "late {y}",
    "{y:.3}0s",
    "{y:.3}-",
    "{y:.2}00s",
    "{y}-{next}",
    "{y} or {next}",
    "between {y} and {next}",
    "by {y}",
    "before {d.day} {d:%b} {y}",
    "since {d:%B} {y}",
    "{d:%B} {y} onwards",
)
VAGUER = (
    "about {}",
    "c. {}",
    "c.{}",
    "circa {}",
    "{}?",
    "{} (?)",
    "maybe {}",
    "probably {}",
    "{} or so",
    "about {}?",
    "I think {}",
    "[{}]",
    "{} (label lost)",
    "before {}",
    "not later than {}",
    "after {}",
    "{} or later",
    "  {}\u00a0",
)


def written(wording: str, day: date) -> str:
    year = f"{day.year:04}"
    return wording.format(d=day, y=year, next=f"{day.year + 1:04}")


@given(day=DAYS, wording=st.sampled_from(EXACT))
@example(day=date(2024, 2, 29), wording=EXACT[6])
@examples(150)
def test_a_day_in_every_wording_is_that_day(day: date, wording: str) -> None:
    text = written(wording, day)
    known = read_written(text, day_first=True)
    assert known.date and (known.date.earliest, known.date.latest) == (day, day)
    assert known.date.is_exact and not known.doubtful
    follows_the_rules(known, text)


@pytest.mark.slow
@given(day=DAYS, wording=st.sampled_from(OF_A_DAY))
@example(day=date(1905, 11, 3), wording="{y}-{d:%m}")
@example(day=date(1904, 12, 3), wording="{y}/{d:%m}")
@examples(300)
def test_the_bounds_hold_the_day_that_was_meant(day: date, wording: str) -> None:
    text = written(wording, day)
    assume(text[2:] not in ("00-", "00--"))
    known = read_written(text)
    assert holds(known.date, FuzzyDate.exact(day))
    follows_the_rules(known, text)


@given(day=DAYS, sure=st.sampled_from(EXACT + OF_A_DAY), vaguer=st.sampled_from(VAGUER))
@examples(250)
def test_a_vaguer_wording_is_never_firmer(day: date, sure: str, vaguer: str) -> None:
    plain = written(sure, day)
    text = vaguer.format(plain)
    try:
        known = read_written(text, day_first=True)
    except BadInput:  # some pairs make no sense: 'before before 1915'
        assume(False)
        return
    follows_the_rules(known, text)
    assert holds(known.date, read_written(plain, day_first=True).date)
    if "(label" not in vaguer and not vaguer.startswith(("before", "not", "after", "  ")) and "later" not in vaguer:
        assert known.doubtful


@pytest.mark.parametrize("vaguer", VAGUER)
def test_every_vaguer_wording_can_be_read(vaguer: str) -> None:
    for sure in ("1868", "Aug 2024", "12 March 2024", "1890s", "19th century", "1905-11", "early 1890s", "spring 1911"):
        assert holds(read_written(vaguer.format(sure)).date, read_written(sure).date)


@given(year=YEARS, length=st.integers(1, 60), joint=st.sampled_from(["-", "–", " - ", " to ", "/"]))
@examples(60)
def test_two_years_hold_every_year_between(year: int, length: int, joint: str) -> None:
    last = year + length
    text = f"{year}{joint}{last}"
    known = read_written(text)
    assert known.date and (known.date.earliest, known.date.latest) == (date(year, 1, 1), date(last, 12, 31))
    follows_the_rules(known, text)


@given(year=YEARS, digits=st.integers(0, 99), joint=st.sampled_from(["-", "–", " - ", "/", " / "]))
@example(year=1905, digits=11, joint="-")
@example(year=1904, digits=22, joint="-")
@example(year=1898, digits=2, joint="–")
@examples(150)
def test_a_year_and_two_digits_hold_the_years_and_the_month_they_may_be(year: int, digits: int, joint: str) -> None:
    text = f"{year}{joint}{digits:02}"
    last = year - year % 100 + digits
    try:
        known = read_written(text)
    except BadInput:
        assert not 1 <= digits <= 12
        assert last <= year
        return
    follows_the_rules(known, text)
    if last > year:
        assert holds(known.date, parse(f"{year}/{last}"))
    if 1 <= digits <= 12 or (joint == "-" and 21 <= digits <= 41):
        assert holds(known.date, parse(f"{year}-{digits:02}"))


@given(start=st.integers(100, 219), part=st.sampled_from(["early", "mid", "late", "first half of the", "end of the"]))
def test_a_part_of_a_decade_lies_in_it(start: int, part: str) -> None:
    assume(start % 10)
    whole = read_written(f"{start}0s").date
    assert holds(whole, read_written(f"{part} {start}0s").date)


@pytest.mark.parametrize("age", ["1890s", "1910s", "1900s", "19th century"])
def test_early_mid_and_late_leave_no_year_out(age: str) -> None:
    parts = [read_written(f"{part} {age}").date for part in ("early", "mid", "late")]
    whole = read_written(age).date
    assert whole and all(parts)
    for before, after in pairwise(parts):
        assert before and after and before.latest and after.earliest
        assert after.earliest <= before.latest + timedelta(days=1)
    assert parts[0] and parts[2]
    assert (parts[0].earliest, parts[2].latest) == (whole.earliest, whole.latest)


# --- any text at all --------------------------------------------------------------------------------------------

PIECES = st.sampled_from(
    [
        *("1868", "1905", "189X", "11", "3", "1890s", "19th century", "Mar", "12 March", "Sun", "spring", "T09:00"),
        *(
            "c.",
            "about",
            "maybe",
            "ish",
            "early",
            "before",
            "after",
            "or",
            "to",
            "and",
            "between",
            "of",
            "the",
            "unknown",
        ),
        *("?", "~", "%", "+", "-", "–", "/", ",", ".", "(", ")", "[", "]", "{0}", "[/]", "[bold]"),
        *("\x1b[31m", "\x00", "\ud800", "\u202e", "\u00a0"),
    ]
)


def reads_or_refuses_in_words(text: str, day_first: bool | None = None) -> None:
    try:
        known = read_written(text, day_first=day_first)
    except BadInput as refusal:
        assert refusal.what and refusal.way_out
        assert refusal.sentence().isprintable()
        assert len(refusal.sentence()) < 400
    else:
        follows_the_rules(known, text)


@given(st.text(max_size=200), st.sampled_from([None, True, False]))
@example("\ud800", None)
@example("１９８５", None)
@example("[/]", None)
@example("İ1868", None)
@example("²/²/2024", True)
@examples(300)
def test_any_text_is_read_or_refused_in_words(text: str, day_first: bool | None) -> None:
    reads_or_refuses_in_words(text, day_first)


@given(st.lists(PIECES, max_size=9), st.sampled_from(["", " "]), st.sampled_from([None, True, False]))
@examples(500)
def test_any_heap_of_words_is_read_or_refused_in_words(pieces: list[str], space: str, day_first: bool | None) -> None:
    reads_or_refuses_in_words(space.join(pieces), day_first)


@pytest.mark.parametrize(
    "piece", ["?", "c ", "(", "(c)", "[a", " or ", "early ", "sun ", "1-", "1905-", "c-", "maybe? ", "9"]
)
@pytest.mark.parametrize("length", [100, MAX_WRITTEN, 10_000])
def test_a_long_text_is_read_or_refused_too(piece: str, length: int) -> None:
    text = (piece * length)[: length - 1] + "x"
    reads_or_refuses_in_words(text)


# --- speed ------------------------------------------------------------------------------------------------------


def test_the_library_is_not_loaded_for_words() -> None:
    code = (
        "import sys; from showrunner.storage.written_dates import read_written as r;"
        "[r(t) for t in ('c. 1895', '1890s?', '12 March 2024', '1905-11', 'before 1915', '1868~', 'spring 1911')];"
        "sys.exit('edtf' in sys.modules or 'pyparsing' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_a_refusal_keeps_nothing_of_what_was_going_on() -> None:
    """An error that is kept holds what each caller had in hand: in a window, the forms that are gone."""

    class Form:
        pass

    def refused() -> ref[Form]:
        form = Form()
        with suppress(BadInput):
            read_written("1X5X9")
        return ref(form)

    forms = [refused(), refused()]
    gc.collect()
    assert not any(form() for form in forms)
