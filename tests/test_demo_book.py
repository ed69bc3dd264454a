"""The demo book tells its story: every count and date of demo/STORY.md, and the file is that book."""

import importlib.util
from collections import Counter
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import pytest

from showrunner.domain.book import Book
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.domain.piece import Known, Piece, Presence, WantStatus
from showrunner.domain.publication import Publication
from showrunner.session import Session
from showrunner.storage.edtf_text import parse

DEMO = Path(__file__).parents[1] / "demo"


def load(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"demo_{name}", DEMO / f"{name}.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


BUILD = load("build")


@pytest.fixture(scope="module")
def book() -> Book:
    made: Book = BUILD.demo_book()
    return made


def dress(book: Book) -> list[Piece]:
    return [p for p in book.pieces if p.collection == "dress"]


def past(book: Book) -> list[Episode]:
    return [e for e in book.studies if e.published]


def study_lines(book: Book) -> list[Publication]:
    return [line for line in book.publications if line.series == "object-studies"]


def weeks_between(days: list[date]) -> list[int]:
    gaps = [(later - earlier).days for earlier, later in pairwise(days)]
    assert all(gap % 7 == 0 for gap in gaps)
    return [gap // 7 for gap in gaps]


# The collection


@pytest.mark.slow
def test_47_pieces_of_which_39_were_shown_2_may_have_been_and_6_were_not(book: Book) -> None:
    assert [p.id for p in dress(book)] == [f"{n:02}" for n in range(1, 48)]
    assert Counter(p.shown.known for p in dress(book)) == {Known.YES: 39, Known.UNSURE: 2, Known.NO: 6}
    assert [p.id for p in dress(book) if p.shown.known is Known.NO] == ["29", "30", "31", "32", "33", "34"]


def test_the_two_doubtful_pieces_have_even_odds_and_no_study(book: Book) -> None:
    doubtful = [p for p in dress(book) if p.shown.known is Known.UNSURE]
    assert [p.id for p in doubtful] == ["27", "28"]
    for piece in doubtful:
        assert piece.shown.odds_unshown == 50
        assert piece.shown.evidence == "a half-remembered early compilation"
        assert not any(piece.id in e.pieces for e in book.studies)


def test_dates_in_words_are_those_of_the_edtf_text(book: Book) -> None:
    for known in [p.made for p in book.pieces] + [p.shown.when for p in book.pieces]:
        assert known is None or known == parse(known.text)
    assert [p.made.words for p in dress(book)[:11] if p.made] == [
        "about 1868",
        "the 1890s",
        "perhaps 1908",
        "1880 to 1890",
        "about 1927",
        "perhaps the 1780s",
        "some time from 1905 to 1911",
        "about 1897",
        "the 1840s",
        "1845 to 1850",
        "perhaps about 1835",
    ]


def test_pieces_carry_what_a_shoot_must_know(book: Book) -> None:
    septimus, barnaby, skating, comet = (book.piece(i) for i in ("30", "31", "32", "33"))
    chests = [[m.value for m in p.measurements if m.what == "chest"] for p in (septimus, barnaby)]
    assert chests == [[Decimal(86)], [Decimal(94)]]
    assert [form.chest_cm for form in book.house.forms] == [Decimal(80), Decimal(92)]
    assert [f.what for f in septimus.features if f.altered] == ["back replaced"]
    assert [f.what for f in barnaby.features if f.altered] == ["watch pocket added later"]
    assert [f.what for f in barnaby.features if f.presence is Presence.ABSENT] == ["back straps"]
    assert [f.what for f in skating.features if f.presence is Presence.ABSENT] == ["belt"]
    assert [f.what for f in book.piece("06").features if f.presence is Presence.TRACE] == ["straps"]
    assert comet.handling.flat_only and comet.handling.people == 2
    assert [(m.what, m.value, m.unit) for m in comet.measurements] == [
        ("weight", Decimal("2.1"), "kg"),
        ("thickness", Decimal(2), "cm"),
    ]
    assert book.piece("17").handling.no_hanging
    assert book.piece("25").hazards == ("pesticide-suspect",)
    assert book.piece("26").hazards == ("arsenic-suspect",)


def test_every_piece_has_a_place_of_its_own_in_a_box(book: Book) -> None:
    places = [(p.box, p.layer) for p in dress(book)]
    assert len(set(places)) == 47
    assert {box for box, _ in places} == set("ABCDEFGH")
    for box in "ABCDEFGH":
        layers = sorted(layer for b, layer in places if b == box and layer)
        assert layers == list(range(1, len(layers) + 1))


# What was published


def test_35_studies_showed_the_39_pieces_four_of_them_in_pairs(book: Book) -> None:
    studies = past(book)
    assert len(studies) == 35
    told = [piece for study in studies for piece in study.pieces]
    assert sorted(told) == [p.id for p in dress(book) if p.shown.known is Known.YES]
    assert [s.pieces for s in studies if len(s.pieces) == 2] == [
        ("40", "41"),
        ("09", "10"),
        ("15", "16"),
        ("23", "24"),
    ]
    assert all(s.finished and s.slot for s in studies)


def test_the_record_says_when_each_piece_was_shown(book: Book) -> None:
    lines = {line.episode: line for line in study_lines(book)}
    assert len(lines) == 35
    for study in past(book):
        line = lines[study.id]
        assert study.slot and line.planned == study.slot.day
        assert line.title == study.title
        for piece in study.pieces:
            assert book.piece(piece).shown.when == line.actual
    assert book.piece("07").shown.when == parse("2024-08")
    assert book.piece("11").shown.when == parse("2024-11~")


def test_gaps_widen_to_the_last_study_on_25_january_2026(book: Book) -> None:
    days = [
        line.actual.earliest if line.actual and line.actual.is_exact else line.planned for line in study_lines(book)
    ]
    assert days == sorted(day for day in days if day)
    gaps = weeks_between([day for day in days if day])
    assert set(gaps[:-3]) == {4, 5}
    assert gaps[-3:] == [6, 6, 8]
    last = study_lines(book)[-1]
    assert last.planned == date(2026, 1, 25)
    assert not last.late_or_missed


def test_three_studies_came_one_slot_late_and_six_diaries_slipped(book: Book) -> None:
    slips = [line for line in book.publications if line.late_or_missed]
    late_studies = [line for line in slips if line.series]
    assert [line.episode for line in late_studies] == ["pinafore", "gymslip", "opera-gloves"]
    for line in late_studies:
        assert line.planned and line.day == line.planned + timedelta(weeks=1)
    others = [line for line in slips if not line.series]
    assert {line.rule for line in others} == {"wednesday"}
    assert sum(line.actual is not None for line in others) == 4
    assert sum(line.actual is None for line in others) == 2
    assert all(line.punctuality_known for line in book.publications)


def test_the_record_has_one_line_for_each_slot_and_none_shared(book: Book) -> None:
    planned = [(line.rule, line.planned) for line in book.publications]
    assert len(planned) == len(set(planned)) == 165 + 165 - 3
    came = [(line.rule, line.actual.earliest) for line in book.publications if line.actual and line.actual.is_exact]
    assert len(came) == len(set(came))
    weekdays = {rule.id: rule.weekday for rule in book.rules}
    assert all(day and day.weekday() == weekdays[rule] for rule, day in planned)
    # a study that came late left its own Sunday empty and took the next one
    sundays = {day for rule, day in planned if rule == "sunday"}
    every = {date(2023, 1, 8) + timedelta(weeks=n) for n in range(165)}
    late = {line.day for line in study_lines(book) if line.late_or_missed}
    assert every - sundays == late
    assert max(every) == date(2026, 3, 1)


def test_the_record_runs_from_the_oldest_entry_to_the_newest(book: Book) -> None:
    entered = [
        line.actual.earliest if line.actual and line.actual.is_exact else line.planned for line in book.publications
    ]
    assert entered == sorted(day for day in entered if day)
    assert entered[0] == date(2023, 1, 4)
    assert entered[-1] == date(2026, 3, 1)


# What is to come


def test_five_open_studies_stand_on_their_planned_sundays(book: Book) -> None:
    assert [(e.id, e.pieces, e.slot.day) for e in book.open_studies if e.slot] == [
        ("apron", ("29",), date(2026, 3, 22)),
        ("waistcoats", ("30", "31"), date(2026, 5, 10)),
        ("skating-jacket", ("32",), date(2026, 6, 28)),
        ("dance-frock", ("33",), date(2026, 8, 23)),
        ("bathing-costume", ("34",), date(2026, 10, 18)),
    ]
    assert {e.slot.rule for e in book.open_studies if e.slot} == {"sunday"}
    # (gap - target)^2 in weeks from 25 January: 2^2 + 1 + 1 + 2^2 + 2^2
    days = [date(2026, 1, 25)] + [e.slot.day for e in book.open_studies if e.slot]
    target = book.series_of("object-studies").target_weeks
    assert sum((gap - target) ** 2 for gap in weeks_between(days)) == 14


def test_windows_and_dark_days(book: Book) -> None:
    def windows(id: str) -> list[tuple[date, date, bool, bool]]:
        return [(w.first, w.last, w.hard, w.yearly) for w in book.episode(id).windows]

    assert windows("apron") == [(date(2026, 3, 1), date(2026, 4, 30), False, True)]
    assert windows("skating-jacket") == [(date(2026, 6, 1), date(2026, 8, 31), False, True)]
    assert windows("bathing-costume") == [(date(2026, 10, 15), date(2027, 2, 28), True, True)]
    assert windows("waistcoats") == windows("dance-frock") == []
    [dark] = book.dark
    assert (dark.first, dark.last, dark.no_work, dark.no_publication) == (
        date(2026, 7, 13),
        date(2026, 7, 26),
        True,
        False,
    )


def test_hours_for_the_first_study_are_31_of_34_and_a_week_earlier_2_short(book: Book) -> None:
    def hours_until(last: date) -> int:
        days = [book.clock + timedelta(days=n) for n in range((last - book.clock).days + 1)] if book.clock else []
        return sum(book.house.work_minutes[day.weekday()] for day in days) // 60

    [series] = book.series
    study = series.stages.total // 60
    diary, talk = (rule.standing_minutes // 60 for rule in book.rules)
    assert (study, diary, talk) == (17, 3, 4)
    # 22 March: diaries of 11 and 18 March (4 March is banked), talks of 8 and 15 March
    assert study + 2 * diary + 2 * talk == 31
    assert hours_until(date(2026, 3, 21)) == 34
    # 15 March: the diary of 11 March, the talk of 8 March
    assert study + diary + talk - hours_until(date(2026, 3, 14)) == 2


def test_the_bank_holds_the_diary_of_4_march_and_nothing_else(book: Book) -> None:
    [banked] = [e for e in book.episodes if e.finished and not e.published]
    assert banked.kind is EpisodeKind.FILLER
    assert banked.slot and (banked.slot.day, banked.slot.rule) == (date(2026, 3, 4), "wednesday")
    assert banked.rule == "wednesday"
    made = sum(1 for line in book.publications if line.rule == "wednesday" and line.actual)
    assert banked.title.startswith(f"Thimble & Kettle {made + 1}: ")


def test_house_rules(book: Book) -> None:
    assert book.clock == date(2026, 3, 2) and book.clock.strftime("%A") == "Monday"
    assert book.house.zone == "Australia/Hobart"
    assert book.house.presenter == "Posy Tranter-Vale"
    assert sum(book.house.work_minutes) == 12 * 60
    assert (book.house.lead_days, book.house.warning_lead_weeks, book.house.tables) == (1, 26, 1)
    [series] = book.series
    assert (series.min_weeks, series.target_weeks, series.max_weeks) == (4, 6, 9)
    # CIE 157:2004 as applied in the National Gallery's open data (Lux-Allowance-Calculator, lightallowance.json)
    limits = {c.name: c.limit_lux_hours for c in book.house.light_classes}
    assert limits == {"high": 15_000, "medium": 150_000, "low": 600_000}


# The second collection, and the people


def test_twelve_blocks_are_85_dollars_and_11_centimetres_too_many(book: Book) -> None:
    blocks = book.collection("blocks")
    wants = [p.want for p in book.pieces if p.collection == "blocks" and p.want]
    assert len(wants) == 12
    price = sum(w.ceiling for w in wants if w.ceiling is not None)
    width = sum(w.width_cm for w in wants if w.width_cm is not None)
    assert (price, width) == (Decimal(1885), Decimal(301))
    assert blocks.budget is not None and blocks.shelf_cm is not None
    assert (price - blocks.budget, width - blocks.shelf_cm) == (Decimal(85), Decimal(11))
    assert Counter(w.status for w in wants) == {WantStatus.ARRIVED: 3, WantStatus.ORDERED: 2, WantStatus.WANTED: 7}
    assert [w.expected.text for w in wants if w.expected] == ["2026-04-20", "2026-06~"]
    assert all((w.paid == w.ceiling) if w.status is not WantStatus.WANTED else w.paid is None for w in wants)
    assert (blocks.opens_with, blocks.preparation_weeks, blocks.currency) == (4, 3, "AUD")


def test_five_supporters_consented_and_one_did_not(book: Book) -> None:
    assert [s.name for s in book.supporters if s.consent] == [
        "Dot Quillfeather",
        "Iain Brackenridge",
        "Noor Pell",
        "Marguerite Ostrander",
        "Tavish Loam",
    ]
    assert [s.id for s in book.supporters if not s.consent] == ["anonymous"]


# The book as a whole


def test_no_id_dangles(book: Book) -> None:
    def ids(table: str) -> set[str]:
        return {record.id for record in getattr(book, table)}

    assert {p.collection for p in book.pieces} == ids("collections")
    assert {p.box for p in book.pieces} - {""} == ids("boxes")
    assert {s.collection for s in book.series} <= ids("collections")
    assert {rule for s in book.series for rule in s.rules} <= ids("rules")
    assert {piece for e in book.episodes for piece in e.pieces} <= ids("pieces")
    assert {e.series for e in book.studies} == ids("series")
    slots = [e.slot for e in book.episodes if e.slot]
    assert len(slots) == len(set(slots)) == len(book.episodes)
    weekdays = {rule.id: rule.weekday for rule in book.rules}
    assert all(slot.day.weekday() == weekdays[slot.rule] for slot in slots)
    assert {line.episode for line in book.publications} - {""} == {e.id for e in past(book)}
    for table in ("pieces", "episodes", "publications", "supporters", "boxes", "dark"):
        assert len(ids(table)) == len(getattr(book, table))


def test_the_file_is_the_book_and_every_build_gives_the_same_bytes(book: Book, tmp_path: Path) -> None:
    again = tmp_path / "book.json"
    BUILD.write(again)
    assert again.read_bytes() == (DEMO / "book.json").read_bytes()
    with Session.open(again, write=False) as session:
        assert session.book == book
        assert session.today == date(2026, 3, 2)
        assert session.check() == []


def test_the_sheets_are_those_of_the_book(book: Book) -> None:
    sheets = load("sheets")
    assert (DEMO / "pieces.csv").read_bytes() == sheets.pieces_sheet(book)
    assert (DEMO / "episodes.csv").read_bytes() == sheets.episodes_sheet(book)


def test_the_build_does_not_depend_on_the_day(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("showrunner.clock.now", lambda: datetime.fromisoformat("2031-07-01T00:00:00+00:00"))
    later = tmp_path / "later.json"
    BUILD.write(later)
    assert later.read_bytes() == (DEMO / "book.json").read_bytes()
