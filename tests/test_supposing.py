"""What-ifs of every kind: each carried out as its owner would do it by hand, and refused in one sentence."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from itertools import permutations
from pathlib import Path

import pytest

from showrunner import contract
from showrunner.demo_book import demo_path
from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.episode import PinKind
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.planning.handover import Opening
from showrunner.session import Session
from showrunner.supposing import suppose
from showrunner.what_if_kinds import Kind
from showrunner.whatif import adopt, outlook

SERIES = "object-studies"
MARCH = "last-until=2027-03"


pytestmark = pytest.mark.usefixtures("worked_out_once")


@pytest.fixture
def session(tmp_path: Path) -> Iterator[Session]:
    shutil.copy(demo_path(), tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as session:
        yield session


def refused(session: Session, *texts: str) -> str:
    """The sentence that what-ifs are refused with."""
    with pytest.raises(ShowrunnerError) as error:
        suppose(session.book, SERIES, texts)
    return error.value.sentence()


def comes(session: Session, id: str, day: date) -> Piece:
    """A want with another day on which it is expected."""
    piece = session.book.piece(id)
    assert piece.want
    return replace(piece, want=replace(piece.want, expected=FuzzyDate.exact(day)))


def opening_of(session: Session, book: Book) -> Opening | None:
    """The opening of the collection that is shopped for."""
    found = session.handover("blocks", book=book)
    assert found
    return found.opening


def test_two_studies_are_paired(session: Session) -> None:
    found = suppose(session.book, SERIES, ["pair=apron+skating-jacket"]).book
    assert found == edits.pair_studies(session.book, "apron", "skating-jacket")[0]
    assert session.runout(book=found).studies_left == (4, 6)  # one fewer
    assert session.runout(book=found).pieces_left == (6, 8)


def test_pieces_in_no_study_are_paired_with_each_other_or_with_a_study(session: Session) -> None:
    both = suppose(session.book, SERIES, ["pair=27+28"]).book
    assert both.open_studies[-1].pieces == ("27", "28")
    one = suppose(session.book, SERIES, ["pair=27+apron"]).book
    assert {study.pieces for study in one.open_studies} >= {("27", "29")}
    assert len(one.open_studies) == len(session.book.open_studies)


def test_an_old_piece_is_shown_once_more(session: Session) -> None:
    found = session.runout(book=suppose(session.book, SERIES, ["revisit=01"]).book)
    assert (found.pieces_left, found.studies_left) == ((6, 8), (6, 8))  # a study more, and no piece


def test_a_piece_on_loan_is_a_piece_more_with_its_name(session: Session) -> None:
    book = suppose(session.book, SERIES, ["loan=Parasol “Pomona”", "loan=Fan"]).book
    mine = [piece for piece in book.pieces if piece.notes == "on loan"]
    assert [piece.name for piece in mine] == ["Parasol “Pomona”", "Fan"]
    assert {piece.shown.known for piece in mine} == {Known.NO}
    assert session.runout(book=book).pieces_left == (8, 10)


def test_a_want_that_comes_on_another_day_moves_what_takes_over(session: Session) -> None:
    """The fourth of the four to open with: prepared three weeks after it has come, then the first free Sunday."""
    seen = outlook(session, SERIES, ["comes=b04@2026-06"])
    book = session.book.put("pieces", comes(session, "b04", date(2026, 6, 30)))
    assert seen.supposed.book == book
    opening = seen.taking_over and seen.taking_over.opening
    assert opening
    assert opening.slot.day >= date(2026, 7, 21)
    assert opening == opening_of(session, book)
    before = session.book
    assert opening_of(session, before) != opening
    adopt(session, seen.supposed)
    assert session.book == seen.supposed.book
    assert opening_of(session, session.book) == opening
    session.undo()
    assert session.book == before


def test_a_want_not_bought_is_looked_at_only_and_leaves_the_opening_to_the_next(session: Session) -> None:
    seen = outlook(session, SERIES, ["declined=b04"])
    opening = seen.taking_over and seen.taking_over.opening
    assert opening
    assert opening.slot.day > date(2026, 5, 17)
    assert "b04" not in opening.pieces
    with pytest.raises(BadInput, match="it can only be looked at"):
        adopt(session, seen.supposed)


def test_what_leaves_the_opening_as_it_is_says_nothing_of_it_and_other_ends_do(session: Session) -> None:
    assert outlook(session, SERIES, ["declined=b09"]).taking_over is None
    later = outlook(session, SERIES, ["slip-rate=0.4"]).taking_over
    assert later
    assert later.opening == opening_of(session, session.book)
    assert [s.end for s in later.silences] != [s.end for s in session.handover("blocks").silences]


def test_doubts_are_answered_as_when_the_piece_is_marked(session: Session) -> None:
    for text, known, left in (("shown=28", Known.YES, (6, 7)), ("unshown=28", Known.NO, (7, 8))):
        book = suppose(session.book, SERIES, [text]).book
        assert book == edits.mark_shown(session.book, "28", known)
        assert session.runout(book=book).pieces_left == left


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("hours=+5", (0, 180, 180, 180, 0, 300, 180)),  # an hour on each of the five days
        ("hours=2", (0, 144, 144, 144, 0, 264, 144)),
        ("hours=0.05", (0, 121, 121, 121, 0, 240, 120)),  # three minutes, to the first days
        ("hours=-2", (0, 120, 120, 120, 0, 240, 0)),  # off the shortest, of those the last
        ("hours=-3,5", (0, 120, 120, 30, 0, 240, 0)),
        ("hours=-12", (0, 0, 0, 0, 0, 0, 0)),
    ],
)
def test_hours_are_spread_or_taken_off_the_shortest_days(session: Session, text: str, hours: tuple[int, ...]) -> None:
    assert session.book.house.work_minutes == (0, 120, 120, 120, 0, 240, 120)
    assert suppose(session.book, SERIES, [text]).book.house.work_minutes == hours


@pytest.mark.parametrize(
    ("value", "first", "last"),
    [
        ("2026-06", date(2026, 6, 1), date(2026, 6, 30)),
        ("2028-2", date(2028, 2, 1), date(2028, 2, 29)),
        ("2026-06-07..2026-06-21", date(2026, 6, 7), date(2026, 6, 21)),
        ("2026-06..2026-07", date(2026, 6, 1), date(2026, 7, 31)),
        ("2026-06-07", date(2026, 6, 7), date(2026, 6, 7)),
    ],
)
def test_days_off_are_a_dark_range_in_which_publication_goes_on(
    session: Session, value: str, first: date, last: date
) -> None:
    dark = suppose(session.book, SERIES, [f"off={value}"]).book.dark[-1]
    assert (dark.first, dark.last, dark.no_work, dark.no_publication) == (first, last, True, False)
    assert len(suppose(session.book, SERIES, [f"off={value}", "off=2026-09"]).book.dark) == len(session.book.dark) + 2


ALL = (
    "shown=27",
    "slip-rate=0.2",
    "hours=-2",
    "off=2026-06",
    "drop-window=skating-jacket",
    "unpair=waistcoats",
    "pair=apron+skating-jacket",
    "revisit=01",
    "loan=Parasol",
    "add-piece=1",
    "comes=b04@2026-06",
    "declined=b09",
    "spacing=4,5,8",
)


def test_every_kind_goes_with_every_other_in_whatever_order(session: Session) -> None:
    book = suppose(session.book, SERIES, ALL).book
    assert suppose(session.book, SERIES, ALL[::-1]).book == book
    assert {text.partition("=")[0] for text in ALL} == {*Kind} - {Kind.LAST_UNTIL, Kind.UNSHOWN}
    some = ALL[4:8]
    found = {suppose(session.book, SERIES, order).book for order in permutations(some)}
    assert len(found) == 1


@pytest.mark.parametrize(
    ("texts", "sentence"),
    [
        ((MARCH, "spacing=4,5,8"), "these cannot both be"),
        (("comes=b04@2026-06", "declined=b04"), "these cannot both be"),
        (("comes=b04",), "comes: 'b04' names no day; write its name or number and the day"),
        (("comes=b04@soon",), "'soon' is no month or day"),
        (("comes=b01@2026-06",), "Pudding: it is not being shopped for"),
        (("declined=30",), "it is not being shopped for"),
        (("declined=b99",), "b99"),
        ((MARCH, "last-until=2027-04"), "these cannot both be"),
        (("shown=27", "unshown=27"), "Nurse's collar and cuffs was shown, and Nurse's collar and cuffs was not shown"),
        (("pair=apron+skating-jacket", "pair=dance-frock+apron"), "these cannot both be"),
        (("pair=apron+waistcoats", "unpair=waistcoats"), "these cannot both be"),
        (("hours=2", "hours=3"), "these cannot both be"),
        (("off=2026-06", "off=2026-06"), "this is supposed twice"),
        (("pair=apron+waistcoats",), "a study shows one or two pieces, not 3"),
        (("pair=apron+apron",), "a study cannot be paired with itself"),
        (("pair=apron",), "'apron' names no two; write two with a + between them."),
        (("pair=apron+nothing",), "there is no study and no piece 'nothing'"),
        (("pair=01+apron",), "it has been shown already"),
        (("revisit=29",), "it has not surely been shown yet"),
        (("revisit=nothing",), "there is no piece 'nothing'"),
        (("shown=29",), "there is no doubt about it; choose a piece that is unsure."),
        (("hours=none",), "'none' is no number of hours more or fewer; write 2 for more, -2 for fewer."),
        (("hours=0",), "is no number of hours more or fewer"),
        (("hours=-13",), "there are only 12 h of work a week; take fewer away."),
        (("hours=200",), "do not fit the days of work; add fewer."),
        (("off=June",), "'June' is no month or day; write it like 2027-03 or 2027-03-14."),
        (("off=2026-13",), "is no month or day"),
        (("off=2026-02-30",), "is no month or day"),
        (("off=0000-01",), "is no month or day"),
        (("off=2026-07..2026-06",), "30 June 2026 comes before 1 July 2026; swap the dates."),
        ((f"loan={'x' * 201}",), "a name of 201 letters is too long"),
        (("loan= ",), "is no what-if"),
    ],
)
def test_what_cannot_be_is_one_plain_sentence(session: Session, texts: tuple[str, ...], sentence: str) -> None:
    told = refused(session, *texts)
    assert sentence in told
    assert told.endswith(".")
    assert "\n" not in told


def test_a_promised_pair_is_not_split_in_a_what_if(session: Session) -> None:
    session.do("promise", lambda book: edits.pin_pair(book, "30", "31")[0])
    assert any(pin.kind is PinKind.PAIR for pin in session.book.pins)
    assert "a promise stands against it" in refused(session, "unpair=waistcoats")


# Lasting until a day


@pytest.mark.slow
def test_to_last_until_march_with_all_eight_pieces_takes_about_nine_weeks(session: Session) -> None:
    all_eight = outlook(session, SERIES, [MARCH, "unshown=27", "unshown=28"])
    (lasting, *_) = all_eight.supposed.what_ifs
    assert lasting.words == "a last study no sooner than March 2027, with a study every 9 weeks"
    assert contract.what_ifs(all_eight, written=False)["together"]["spacing"] == {
        "min_weeks": 4,
        "target_weeks": 9,
        "max_weeks": 9,
    }
    assert all_eight.together.quantiles[1] >= date(2027, 3, 1)  # type: ignore[operator]
    by_itself = all_eight.each[0].what_if.words
    assert by_itself.endswith("with a study every 10 weeks (9 with 8 pieces left, 12 with 6)")


@pytest.mark.slow
def test_what_is_adopted_is_what_was_shown_and_undone_in_one_step(session: Session) -> None:
    before, found = session.book, outlook(session, SERIES, [MARCH, "drop-window=apron"])
    assert session.book is before
    adopt(session, found.supposed)
    assert session.book == found.supposed.book
    assert session.book.series_of(SERIES).target_weeks == 10
    assert all(study.slot for study in session.book.open_studies)
    now = session.runout(horizon_weeks=found.horizon_weeks)
    assert now == found.together
    assert now.quantiles[1] >= date(2027, 3, 1)  # type: ignore[operator]
    assert session.standing().offer is None  # its dates are the best with that spacing
    session.undo()
    assert session.book == before


@pytest.mark.slow
def test_dropped_they_leave_the_bytes(session: Session) -> None:
    before = session.path.read_bytes()
    outlook(session, SERIES, (*ALL[:-1], MARCH))
    assert session.path.read_bytes() == before


@pytest.mark.parametrize(
    ("until", "sentence"),
    [
        ("2026-03-02", "last until: 2 March 2026 is past; give a day to come."),
        ("2031-01", "last until: 1 January 2031 is more than 4 years ahead; give an earlier day."),
    ],
)
def test_a_day_that_cannot_be_reached_is_refused(session: Session, until: str, sentence: str) -> None:
    with pytest.raises(BadInput) as error:
        outlook(session, SERIES, [f"last-until={until}"])
    assert error.value.sentence() == sentence


def test_with_nothing_left_to_show_no_spacing_lasts(session: Session) -> None:
    book = session.book
    shown = [replace(piece, shown=replace(piece.shown, known=Known.YES)) for piece in book.pieces]
    session.do("all shown", lambda book: book.put("pieces", *shown).with_table("episodes", ()))
    with pytest.raises(BadInput) as error:
        outlook(session, SERIES, [MARCH])
    assert error.value.sentence() == (
        "The Camphorwood Hour, last until 1 March 2027: with any spacing the end comes by 25 January 2026 at even "
        "odds; give an earlier day."
    )


def test_a_doubt_settled_narrows_what_is_left_and_undo_brings_it_back(session: Session) -> None:
    def left() -> tuple[tuple[int, int], tuple[int, int]]:
        found = session.runout()
        return found.pieces_left, found.studies_left

    assert left() == ((6, 8), (5, 7))
    session.do("settle", lambda book: edits.settle(book, "28", Known.YES, on=session.today, how="looked through"))
    assert left() == ((6, 7), (5, 6))
    session.undo()
    assert left() == ((6, 8), (5, 7))
