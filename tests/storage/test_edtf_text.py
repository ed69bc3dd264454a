"""EDTF text: the words, the house's own rules for bounds, and the refusals."""

import contextlib
import gc
import subprocess
import sys
from datetime import date
from weakref import ref

import pytest

from showrunner.errors import BadInput
from showrunner.storage.edtf_text import EXAMPLES, parse, parse_made

CENTURIES = {1: "2nd", 2: "3rd", 3: "4th", 10: "11th", 11: "12th", 12: "13th", 20: "21st", 21: "22nd", 22: "23rd"}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1868~", "about 1868"),
        ("1908?", "perhaps 1908"),
        ("1835%", "perhaps about 1835"),
        ("1943", "1943"),
        ("0800", "the year 800"),
        ("189X", "the 1890s"),
        ("178X?", "perhaps the 1780s"),
        ("188X~", "about the 1880s"),
        ("190X", "some time from 1900 to 1909"),
        ("18XX", "the 19th century"),
        ("20XX", "the 21st century"),
        ("11XX", "the 12th century"),
        ("10XX", "the 11th century"),
        ("1XXX", "some time from 1000 to 1999"),
        ("XXXX", "a year not known"),
        ("XXXX-12-25", "a day of a year not known"),
        ("000X", "the year 9 or before"),
        ("2024-08", "August 2024"),
        ("2024-11~", "about November 2024"),
        ("2026-03-22", "22 March 2026"),
        ("2004-06~-11", "about 11 June 2004"),
        ("?2004-06", "perhaps June 2004"),
        ("1999-XX", "some time in 1999"),
        ("1999-01-XX", "some time in January 1999"),
        ("156X-12-25", "some time from 25 December 1560 to 25 December 1569"),
        ("1880/1890", "1880 to 1890"),
        ("1862-03/1866~", "March 1862 to about 1866"),
        ("189X/1910", "the 1890s to 1910"),
        ("../1915", "1915 or before"),
        ("2004-01-01/..", "1 January 2004 or after"),
        ("/2006", "until 2006, start not known"),
        ("2006?/", "from perhaps 2006, end not known"),
        ("../..", "date not known"),
        ("[1905..1911]", "some time from 1905 to 1911"),
        ("[1905,1907]", "one of 1905, 1907"),
        ("[1667,1668,1670..1672]", "one of 1667, 1668, 1670 to 1672"),
        ("[..1760-12-03]", "3 December 1760 or before"),
        ("[1760-12..]", "December 1760 or after"),
        ("{1905..1911}", "all of 1905 to 1911"),
        ("{1667,1668,1670..1672}", "1667, 1668 and 1670 to 1672"),
        *((f"{digits:02}XX", f"the {name} century") for digits, name in CENTURIES.items()),
        ("1950S2", "perhaps 1950, some time from 1900 to 1999"),
        ("1950S1", "perhaps 1950, some time from 1000 to 1999"),
        ("1950S4", "perhaps 1950, some time from 1950 to 1950"),
        ("0950S1", "perhaps 950, some time from 0 to 999"),
        ("2001-21", "spring 2001"),
        ("2001-21?/2001-23", "perhaps spring 2001 to autumn 2001"),
        ("1931-30", "southern summer 1931"),
        ("1931-28", "northern winter 1931"),
        ("1931-33", "the first quarter of 1931"),
        ("1931-38", "the second third of 1931"),
        ("1931-41", "the second half of 1931"),
    ],
)
def test_words(text: str, words: str) -> None:
    assert parse(text).words == words


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        ("2001-21", date(2001, 1, 1), date(2001, 12, 31)),
        ("2001-23", date(2001, 1, 1), date(2001, 12, 31)),
        ("2001-22", date(2000, 12, 1), date(2002, 2, 28)),
        ("2003-24", date(2002, 12, 1), date(2004, 2, 29)),
        ("1931-25", date(1931, 3, 1), date(1931, 5, 31)),
        ("1931-28", date(1930, 12, 1), date(1932, 2, 29)),
        ("1931-30", date(1930, 12, 1), date(1932, 2, 29)),
        ("1931-32", date(1931, 6, 1), date(1931, 8, 31)),
        ("1931-36", date(1931, 10, 1), date(1931, 12, 31)),
        ("1931-37", date(1931, 1, 1), date(1931, 4, 30)),
        ("1931-40", date(1931, 1, 1), date(1931, 6, 30)),
        ("0001-24", None, date(2, 2, 28)),
        ("0001", date(1, 1, 1), date(1, 12, 31)),
        ("0002-24", date(1, 12, 1), date(3, 2, 28)),
        ("9998-24", date(9997, 12, 1), date(9999, 2, 28)),
        ("9999-24", date(9998, 12, 1), None),
        ("XXXX", None, None),
        ("000X", None, date(9, 12, 31)),
        ("1880S3", date(1880, 1, 1), date(1889, 12, 31)),
        ("1906-1X", date(1906, 10, 1), date(1906, 12, 31)),
        ("1906-0X-2X", date(1906, 1, 20), date(1906, 9, 29)),
        ("19XX-02-29", date(1904, 2, 29), date(1996, 2, 29)),  # 1900 had no 29 February
        ("1904-02-XX", date(1904, 2, 1), date(1904, 2, 29)),
    ],
)
def test_bounds_by_the_rules_of_the_house(text: str, earliest: date | None, latest: date | None) -> None:
    known = parse(text)
    assert (known.earliest, known.latest) == (earliest, latest)


def test_the_text_is_kept_without_the_spaces_around_it() -> None:
    assert parse("  1868~ ").text == "1868~"
    assert parse("1868~") == parse(" 1868~")


def test_a_text_of_a_hundred_letters_is_read_and_a_longer_one_is_not() -> None:
    text = f"[{'1868,' * 18} 1868-01]"
    assert (len(text), parse_made(text).latest) == (100, date(1868, 12, 31))
    with pytest.raises(BadInput, match="101 letters are more than the 100 a date may have"):
        parse_made(f"{text[:-1]} ]")


def test_an_exact_day_is_exact() -> None:
    assert parse("2026-01-25").is_exact
    assert not parse("2024-08").is_exact


@pytest.mark.parametrize(
    ("text", "way_out"),
    [
        ("12/03/1905", "write 1905-03-12 (12 March 1905) or 1905-12-03 (3 December 1905)"),
        ("31.12.1905", "write 1905-12-31 (31 December 1905)"),
        ("1905/3/12", "write 1905-03-12 (12 March 1905)"),
        ("Aug 2024", "write 2024-08 (August 2024)"),
        ("3 August 2024", "write 2024-08-03 (3 August 2024)"),
        ("Aug. 3rd, 2024", "write 2024-08-03 (3 August 2024)"),
        ("c. 1895", "write 1895~ (about 1895)"),
        ("circa 1895", "write 1895~ (about 1895)"),
        ("1890s", "write 189X (the 1890s)"),
        ("c.1890s", "write 189X~ (about the 1890s)"),
        ("the 19th century", "write 18XX (the 19th century)"),
        ("0th century", EXAMPLES),
        ("perhaps 1908", "write 1908? (perhaps 1908)"),
        ("1908 (?)", "write 1908? (perhaps 1908)"),
        ("1880-1890", "write 1880/1890 (1880 to 1890)"),
        ("1880–90", "write 1880/1890 (1880 to 1890)"),
        ("before 1915", "write ../1915 (1915 or before)"),
        ("after 1904", "write 1904/.. (1904 or after)"),
        ("spring 1931", "write 1931-21 (spring 1931)"),
        ("summer 1931", "write 1931-22 (summer 1931)"),
        ("autumn of 1931", "write 1931-23 (autumn 1931)"),
        ("fall 1931", "write 1931-23 (autumn 1931)"),
        ("winter 1931", "write 1931-24 (winter 1931)"),
        ("189x", "write 189X (the 1890s)"),
        ("1984?~", "write 1984% (perhaps about 1984)"),
        ("1985-04-12T23:20:30Z", "write 1985-04-12"),
        ("1911/1905", "swap the two dates"),
    ],
)
def test_a_refusal_offers_the_text_that_was_meant(text: str, way_out: str) -> None:
    with pytest.raises(BadInput) as refusal:
        parse(text)
    assert refusal.value.way_out == way_out
    assert text in refusal.value.where


def test_a_guess_that_names_no_day_is_not_offered() -> None:
    with pytest.raises(BadInput) as refusal:
        parse("31/02/1905")
    assert refusal.value.way_out.startswith("write it as in 1868~")


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "there is no date here"),
        ("   ", "there is no date here"),
        ("junk", "this is no date that can be understood"),
        ("1931-30?", "this is no date that can be understood"),  # the standard has no doubtful seasons
        ("2001-21^x", "this is no date that can be understood"),
        ("[1905", "this is no date that can be understood"),
        ("2004/2005/2006", "this is no date that can be understood"),
        ("2023-02-29", "no such day exists"),
        ("19XX-02-30", "no such day exists"),
        ("2016-13-08", "no such day exists"),
        ("2005/2004", "it ends (2004) before it starts (2005)"),
        ("[1911..1905]", "it ends (1905) before it starts (1911)"),
        ("Y170000002", "the year lies outside the years 1 to 9999 that the book keeps"),
        ("-0044", "the year lies outside the years 1 to 9999 that the book keeps"),
        ("0000", "the year lies outside the years 1 to 9999 that the book keeps"),
        ("0000/1905", "the year lies outside the years 1 to 9999 that the book keeps"),
        ("1950S0", "a year has 4 digits, of which 0 cannot count"),
        ("1950S5", "a year has 4 digits, of which 5 cannot count"),
        ("9" * 101, "101 letters are more than the 100 a date may have"),
    ],
)
def test_a_refusal_says_what_is_wrong(text: str, what: str) -> None:
    with pytest.raises(BadInput) as refusal:
        parse(text)
    assert refusal.value.what == what
    assert refusal.value.way_out


def test_a_refusal_prints_no_control_characters_and_no_long_text() -> None:
    with pytest.raises(BadInput) as refusal:
        parse("\x1b[31m1908\x07" + "9" * 5000)
    sentence = refusal.value.sentence()
    assert sentence.isprintable()
    assert len(sentence) < 250


def test_nothing_is_printed_when_the_library_fails(capsys: pytest.CaptureFixture[str]) -> None:
    parse("1906-1X")
    assert capsys.readouterr() == ("", "")


def test_the_library_is_loaded_only_when_a_date_is_entered() -> None:
    code = "import sys, showrunner.storage.edtf_text; sys.exit('edtf' in sys.modules or 'pyparsing' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize("text", ["1868~", "189X", "2024-02-29?", "[1905..1911]", "[1905,1907]", "../1915?", "1915/.."])
def test_text_made_by_the_program_gives_the_same_date_without_the_library(text: str) -> None:
    assert parse_made(text) == parse(text)


@pytest.mark.parametrize(
    ("text", "what"),
    [("2024-02-31", "no such day exists"), ("[1911..1905]", "it ends (1905) before it starts (1911)")],
)
def test_text_made_by_the_program_may_still_name_no_day(text: str, what: str) -> None:
    with pytest.raises(BadInput) as refusal:
        parse_made(text)
    assert refusal.value.what == what


class Form:
    """Stands for all that is going on while a date is read."""


def test_nothing_that_was_going_on_is_kept_for_a_date_that_is_refused():
    """The library remembers the errors of its parts, each with the frames that it passed through."""

    def typed(text: str) -> "ref[Form]":
        form = Form()
        with contextlib.suppress(BadInput):
            parse(text)
        return ref(form)

    forms = [typed(text) for text in ("3332", "1895 to 33", "3/2", "1868-13", "2 Mar 18", "1-1-1999", "95?x")]
    gc.collect()
    assert [form() for form in forms] == [None] * len(forms)
