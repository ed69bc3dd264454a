"""What people type: how it is read, and the sentence when it cannot be."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from showrunner.domain.book import Book
from showrunner.domain.house import ExtraWork, Form
from showrunner.domain.kinds import Held
from showrunner.domain.naming import Sort
from showrunner.domain.piece import Piece
from showrunner.domain.windows import intervals
from showrunner.errors import LONGEST, BadInput, UnknownThing
from showrunner.storage.written_days import read_day, read_time
from showrunner.tui import entry


@pytest.mark.parametrize("text", ["2026-03-22", "22 Mar 2026", " 22  March 2026 "])
def test_days(text: str) -> None:
    assert entry.day(text) == date(2026, 3, 22)


@pytest.mark.parametrize("text", ["2026-02-30", "", "tomorrow", "31 Apr 2026"])
def test_impossible_days_are_refused(text: str) -> None:
    with pytest.raises(BadInput, match="is no day of the calendar; write it like 22 Mar 2026"):
        entry.day(text)


@pytest.mark.parametrize(
    ("text", "minutes"), [("2", 120), ("2.5", 150), ("2,5", 150), ("2:30", 150), ("2 h", 120), ("0", 0)]
)
def test_hours(text: str, minutes: int) -> None:
    assert entry.minutes(text) == minutes
    assert entry.minutes(entry.hours_text(minutes)) == minutes


@pytest.mark.parametrize("text", ["two", "", "-1", "nan", "1e9", "inf"])
def test_hours_that_cannot_be(text: str) -> None:
    with pytest.raises(BadInput):
        entry.minutes(text)


def test_hours_beyond_a_day_are_refused() -> None:
    with pytest.raises(BadInput, match="25 hours is not between 0 and the 24 hours of a day"):
        entry.week_minutes("0 25 2 2 0 4 2")
    with pytest.raises(BadInput, match="3 numbers are not the 7 of a week"):
        entry.week_minutes("1 2 3")


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("0 2 2 2 0 4 2", (0, 2, 2, 2, 0, 4, 2)),
        ("2", (2,) * 7),
        ("Tue-Thu 2, Sat 4:30", (0, 2, 2, 2, 0, 4.5, 0)),
        ("tues 2; thurs 3", (0, 2, 0, 3, 0, 0, 0)),
        ("Mon to Fri 2h", (2, 2, 2, 2, 2, 0, 0)),
        ("weekdays 2 weekend 4", (2, 2, 2, 2, 2, 4, 4)),
        ("Sat-Mon 3", (3, 0, 0, 0, 0, 3, 3)),
    ],
)
def test_hours_of_the_weekdays(text: str, hours: tuple[float, ...]) -> None:
    assert entry.week_minutes(text) == tuple(60 * h for h in hours)


@pytest.mark.parametrize("text", ["", "Tue", "x 2", "Mon 25", "T 2", "Tue-x 2", "weekdays-Sat 2"])
def test_hours_of_the_weekdays_that_cannot_be(text: str) -> None:
    with pytest.raises(BadInput):
        entry.week_minutes(text)


def test_hours_of_the_weekdays_in_words() -> None:
    assert entry.week_words((0, 120, 0, 0, 0, 270, 0)) == "6.5 h a week: Tue 2, Sat 4.5"
    assert entry.week_words((0,) * 7) == "no hours at all"


def test_extra_hours_on_single_days() -> None:
    found = entry.extra_work("22 March 2026 2:20; 2026-03-21  4 h;")
    assert found == (ExtraWork(date(2026, 3, 21), 240), ExtraWork(date(2026, 3, 22), 140))
    assert entry.extra_work_text(found) == "21 Mar 2026 4; 22 Mar 2026 2:20"
    assert entry.extra_work(entry.extra_work_text(found)) == found
    assert entry.extra_work(" ") == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("21 Mar 2026", "'21 Mar 2026' is no day with its hours; write them like 21 Mar 2026 4"),
        ("21 Mar 4", "'21 Mar 4' is no day with its hours"),
        ("31 Apr 2026 4", "'31 Apr 2026' is no day of the calendar"),
        ("21 Mar 2026 four", "'four' is no number of hours"),
        ("21 Mar 2026 25", "25 hours is not between 0 and the 24 hours of a day"),
        ("21 Mar 2026 0", "no extra hours"),
    ],
)
def test_extra_hours_that_cannot_be(text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        entry.extra_work(f"22 Mar 2026 2; {text}")


def test_windows_of_every_year_and_of_one() -> None:
    apron, sea, once = entry.windows("1 Mar to 30 Apr; must 15 Oct to 28 Feb; 2026-06-01 to 2026-08-31")
    assert (apron.hard, apron.yearly) == (False, True)
    assert (sea.hard, sea.yearly) == (True, True)
    assert intervals(sea, date(2026, 12, 1), date(2026, 12, 1)) == ((date(2026, 10, 15), date(2027, 2, 28)),)
    assert (once.first, once.last, once.yearly) == (date(2026, 6, 1), date(2026, 8, 31), False)
    assert entry.windows(entry.window_text((apron, sea, once))) == (apron, sea, once)
    assert entry.windows("") == ()


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("2026-04-30 to 2026-03-01", "the window ends .* before it begins"),
        ("1 Mar", "has no 'to'"),
        ("1 Mar to 2026-04-01", "a year on one side only"),
        ("31 Feb to 3 Mar", "a year on one side only|no day of the calendar"),
    ],
)
def test_windows_that_cannot_be(text: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        entry.windows(text)


def test_measurements_and_times() -> None:
    chest, weight = entry.measurements("chest 86 cm, weight 2.1 kg")
    assert (chest.what, str(chest.value), weight.unit) == ("chest", "86", "kg")
    with pytest.raises(BadInput, match="86 has no unit"):
        entry.measurements("chest 86")
    with pytest.raises(BadInput):
        entry.zone("Nowhere")
    with pytest.raises(BadInput):
        entry.whole(1, 99)("0")


@pytest.mark.parametrize(
    ("text", "kept", "words"),
    [
        ("", None, ""),
        ("1868~", "1868~", "about 1868"),
        ("c. 1895", "1895~", "about 1895"),
        ("1998", "1998", ""),
        ("unknown", None, "nothing is known"),
        ("1890s?", "189X", "the 1890s; 'perhaps' is kept only as you wrote it"),
    ],
)
def test_dates_in_peoples_words(text: str, kept: str | None, words: str) -> None:
    found = entry.written(text)
    assert (found.date.text if found.date else None) == kept
    assert found.words.startswith(words)
    assert bool(found.words) == bool(words)
    shown = entry.date_text(found.date)
    again = entry.written(shown).date
    assert (again.text if again else None) == kept
    assert shown in ("", text, found.words)


def a_day(text: str) -> date:
    return read_day(text, date(2026, 3, 22), ahead=True)


def test_what_was_shown_and_not_changed_is_kept_as_it_was() -> None:
    kept = object()
    read = entry.unless_changed("as shown", kept, lambda text: text.upper())
    assert read("as shown") is kept
    assert read("as typed") == "AS TYPED"


@pytest.mark.parametrize(
    "read",
    [
        *(
            a_day,
            entry.day,
            entry.minutes,
            entry.day_minutes,
            entry.week_minutes,
            entry.extra_work,
            entry.layer,
            entry.lux,
        ),
        *(read_time, entry.windows, entry.forms, entry.zone, entry.whole(0, 99), entry.measurements),
    ],
    ids=lambda read: read.__name__,
)
@pytest.mark.parametrize("number", ["9" * 5_000, "-" + "9" * 5_000, "1e999999999", "²" * 9], ids=range(4))
def test_a_number_out_of_all_bounds_is_refused_in_one_short_sentence(read: Any, number: str) -> None:
    for text in (number, f"{number}:30", f"chest {number} cm", f"1 Mar to {number}", f"21 Mar 2026 {number}"):
        with pytest.raises(BadInput) as caught:
            read(text)
        assert len(caught.value.sentence()) <= LONGEST


ORDER = Book(
    "0d9f",
    pieces=(
        Piece("08", "Tea gown “Odile”", "dress"),
        Piece("18", "Sailor suit, child's", "dress"),
        Piece("B1", "Fan", "dress"),
        Piece("B2", "Fan", "dress"),
    ),
)


@pytest.mark.parametrize(
    ("text", "ids"),
    [
        ("", ()),
        ("08", ("08",)),
        ("8, B1", ("08", "B1")),
        ('tea  gown "odile", Sailor suit, child’s', ("08", "18")),
        ("Sailor suit, child's; 08,", ("18", "08")),
        ("08, Tea gown “Odile”", ("08",)),
    ],
)
def test_pieces_by_number_or_name(text: str, ids: tuple[str, ...]) -> None:
    assert entry.things(ORDER, Sort.PIECE)(text).ids == ids


def test_pieces_that_are_not_there_or_not_alone() -> None:
    with pytest.raises(UnknownThing, match="no piece 'Robe'; choose one of"):
        entry.things(ORDER, Sort.PIECE)("08, Robe")
    with pytest.raises(
        UnknownThing, match=r"'fan' fits 2 pieces: Fan \(B1\) and Fan \(B2\); write what stands in brackets"
    ):
        entry.things(ORDER, Sort.PIECE)("fan")


def test_layers_and_paths() -> None:
    assert (entry.layer(" "), entry.layer("2")) == (None, 2)
    for text in ("0", "1.5", "top", "-1"):
        with pytest.raises(BadInput):
            entry.layer(text)
    assert entry.paths(" a b.jpg ; c,d.png;; ") == ("a b.jpg", "c,d.png")


def test_paths_are_read_and_what_is_none_is_refused_in_words() -> None:
    assert entry.path(" ~/pieces.csv ") == Path.home() / "pieces.csv"
    assert entry.path("pieces.csv") == Path("pieces.csv")
    for text, sentence in [
        ("  ", "file: no file is named; write where it is, such as ~/pieces.csv."),
        ("~nobody-here/a.csv", "file: '~nobody-here/a.csv' is no path; write it out, from / or ~/ on."),
        ("a\0b", "file: 'a�b' is no path; write it out, from / or ~/ on."),
        ("half \ud800", "file: 'half �' is no path; write it out, from / or ~/ on."),
    ]:
        with pytest.raises(BadInput) as caught:
            entry.path(text)
        assert caught.value.sentence() == sentence


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("small form 80", Form("small form", Decimal(80))),
        ("large form bust 92 waist 70.5", Form("large form", Decimal(92), waist_cm=Decimal("70.5"))),
        ("tall 88 cm hips 96 back 41", Form("tall", Decimal(88), hip_cm=Decimal(96), back_cm=Decimal(41))),
        ("child's form 58", Form("child's form", Decimal(58), Held.CHILD)),
        ("skirt stand waist 60", Form("skirt stand", sort=Held.SKIRT, waist_cm=Decimal(60))),
        ("head stand", Form("head stand", sort=Held.HEAD)),
        ("No. 2 form 84", Form("No. 2 form", Decimal(84))),
    ],
)
def test_a_form_as_it_is_typed(text: str, form: Form) -> None:
    assert entry.forms(text) == (form,)
    assert entry.forms(entry.form_text(form)) == (form,)


@pytest.mark.parametrize("text", ["form", "form 80 81", "form waist 0", "form 80 arm 20", "form 80 waist x"])
def test_what_is_no_form_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        entry.forms(text)


def test_a_form_may_be_named_after_a_head_and_have_no_measure_only_then() -> None:
    with pytest.raises(BadInput, match="has no measure"):
        entry.forms("child's form")


@pytest.mark.parametrize(("text", "cm"), [("2", "2"), ("1,5 cm", "1.5"), ("0", "0")])
def test_a_difference_in_girth(text: str, cm: str) -> None:
    assert entry.girth(text) == Decimal(cm)


@pytest.mark.parametrize("text", ["", "-1", "a lot", "1e3"])
def test_what_is_no_difference_in_girth(text: str) -> None:
    with pytest.raises(BadInput):
        entry.girth(text)
