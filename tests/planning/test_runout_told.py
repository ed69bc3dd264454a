"""The run-out against its whole story told toss by toss and slot by slot, and what it says by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import pytest
from books import TODAY, small, sunday

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.episode import Episode, Series, StageMinutes, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece, Shown, Want
from showrunner.domain.publication import Publication
from showrunner.domain.slot import DarkRange
from showrunner.planning.results import RunOut, Unsure
from showrunner.planning.runout import run_out
from showrunner.planning.solving import Question, solve_book

SUNDAYS = [date(2026, 3, 8) + timedelta(weeks=n) for n in range(30 + 52)]
WEEKS = 30
Days = dict[date, float]


def forecast(book: Book, rate: float = 0.0, weeks: int = WEEKS, **more: object) -> RunOut:
    return run_out(book, TODAY, slip_rate=rate, horizon_weeks=weeks, **more)


def out(book: Book, day: date, id: str = "old", pieces: tuple[str, ...] = ()) -> Book:
    """The book with a study that came out on a day."""
    study = Episode(id, "Old", series="looks", pieces=pieces, slot=sunday(day), published=True, finished=True)
    line = Publication(f"line {id}", "Old", "sunday", day, FuzzyDate.exact(day), id, "looks")
    return book.put("episodes", study).put("publications", line)


# The whole story


def tossed(book: Book) -> Iterator[tuple[float, Book]]:
    """Every way in which the doubts may turn out, with its chance; a study with nothing left to show is gone."""
    unsure = [piece for piece in book.pieces if piece.shown.known is Known.UNSURE]
    for toss in product((Known.NO, Known.YES), repeat=len(unsure)):
        chance, settled = 1.0, book
        for piece, known in zip(unsure, toss, strict=True):
            odds = piece.shown.odds_unshown / 100
            chance *= odds if known is Known.NO else 1 - odds
            settled = edits.mark_shown(settled, piece.id, known)
        for study in book.open_studies:
            doubted = any(piece.id in study.pieces for piece in unsure)
            if doubted and not any(settled.piece(piece).shown.known is Known.NO for piece in study.pieces):
                settled = settled.drop("episodes", study.id)
        if chance:
            yield chance, settled


def aired(book: Book, plan: list[date], rate: float) -> list[Days]:
    """For each study of a plan, the chance of each day: a try fails with the rate, and the next free slot is tried."""
    silent = [dark for dark in book.dark if dark.no_publication]
    talks = [episode.slot.day for episode in book.episodes if episode.slot and not episode.series]
    free = [day for day in SUNDAYS if not any(d.first <= day <= d.last for d in silent) and day not in talks]
    least = timedelta(weeks=book.series[0].min_weeks)
    before: Days | None = None
    found = []
    for wish in plan:
        starts: Days = {}
        for last, chance in (before or {date.min: 1.0}).items():
            soonest = wish if before is None else max(wish, last + max(least, timedelta(1)))
            if start := next((day for day in free if day >= soonest), None):
                starts[start] = starts.get(start, 0.0) + chance
        before, trying = {}, 0.0
        for day in free:
            trying += starts.get(day, 0.0)
            before[day] = trying * (1 - rate)
            trying *= rate
        found.append(before)
    return found


class Story:
    """All tellings of a book, added up."""

    def __init__(self, book: Book, rate: float) -> None:
        self.ends: Days = {}
        self.late: dict[str, float] = {}
        self.left: dict[date, dict[int, float]] = {}
        for chance, settled in tossed(book):
            solved = solve_book(settled, Question(TODAY, WEEKS, Unsure.LEFT_OUT))
            assert not solved.solution.score.unplaced
            placed = sorted((at, id) for id, at in solved.solution.places.items())
            airs = aired(book, [solved.frame.problem.slots[at].day for at, _ in placed], rate)
            old = max((line.day for line in book.publications if line.day), default=TODAY)
            for day, share in (airs[-1] if airs else {old: 1.0}).items():
                self.ends[day] = self.ends.get(day, 0.0) + chance * share
            for (_, id), days in zip(placed, airs, strict=True):
                windows = [w for e in book.episodes if e.id == id for w in e.windows if w.hard]
                outside = sum(c for day, c in days.items() if not any(w.first <= day <= w.last for w in windows))
                if windows:
                    self.late[id] = self.late.get(id, 0.0) + chance * outside
            shows = {study.key: study.pieces for study in solved.frame.candidates}
            sizes = [sum(settled.piece(piece).shown.known is Known.NO for piece in shows[id]) for _, id in placed]
            for day in SUNDAYS:
                over = [sum(c for at, c in days.items() if at <= day) for days in airs]  # falling: one after another
                for number in range(len(airs) + 1):
                    more = over[number] if number < len(airs) else 0.0
                    share = (over[number - 1] if number else 1.0) - more
                    here = self.left.setdefault(day, {})
                    here[sum(sizes[number:])] = here.get(sum(sizes[number:]), 0.0) + chance * share

    def quantile(self, wanted: float) -> date:
        return next(
            day for day in sorted(self.ends) if sum(self.ends[at] for at in self.ends if at <= day) >= wanted - 1e-9
        )

    def pieces(self, day: date, wanted: float) -> int:
        counts = self.left[day]
        return next(n for n in range(20) if sum(c for left, c in counts.items() if left <= n) >= wanted - 1e-9)

    @property
    def width(self) -> int:
        return (self.quantile(0.9) - self.quantile(0.1)).days


def with_doubts() -> Book:
    """Two studies, of which one shows a doubtful piece beside a sure one and must air in a window; a study of a doubt
    alone; a lone doubt; a week without publication, a talk in another."""
    book = small(3, unsure=3, hours=4)
    odds = {"u0": 30, "u1": 60, "u2": 85}
    book = book.put("pieces", *(replace(book.piece(id), shown=Shown(Known.UNSURE, n)) for id, n in odds.items()))
    window = Window(SUNDAYS[2], SUNDAYS[5], hard=True)
    first = replace(book.episode("s0"), pieces=("00", "u0"), windows=(window,))
    book = book.put("episodes", first, Episode("s9", "Perhaps", series="looks", pieces=("u1",)))
    book = book.put("dark", DarkRange("d", SUNDAYS[4], SUNDAYS[4], no_work=False, no_publication=True))
    book, _ = edits.add_filler(book, "A talk", "sunday", SUNDAYS[7])
    return book


def even() -> Book:
    """Two lone doubts at even odds, and a last study that came out on 1 March."""
    return out(small(0, unsure=2), date(2026, 3, 1))


def alike() -> Book:
    """Studies of a doubt each: two that differ only in the odds, two that must keep one window, one of more work."""
    book = small(0, unsure=5, hours=1)
    windows = (Window(SUNDAYS[5], SUNDAYS[9], hard=True), Window(SUNDAYS[1], SUNDAYS[12]))
    for number, odds in enumerate((30, 60, 45, 80, 50)):
        book = book.put("pieces", replace(book.piece(f"u{number}"), shown=Shown(Known.UNSURE, odds)))
        study = Episode(f"p{number}", f"P{number}", series="looks", pieces=(f"u{number}",))
        if number in (2, 3):
            study = replace(study, windows=windows)
        book = book.put("episodes", replace(study, stages=StageMinutes(edit=900)) if number == 4 else study)
    return book


@pytest.mark.parametrize("book", [with_doubts(), even(), alike()], ids=["with doubts", "even", "alike"])
@pytest.mark.parametrize("rate", [0.0, 0.25])
def test_the_forecast_is_the_story_of_every_toss_and_every_slot(book: Book, rate: float) -> None:
    found, story = forecast(book, rate), Story(book, rate)
    wanted = {day: chance for day, chance in story.ends.items() if chance}
    assert dict(found.end) == pytest.approx(wanted, abs=1e-12)
    assert [day for day, _ in found.end] == sorted(day for day, _ in found.end)
    assert found.beyond == pytest.approx(1 - sum(story.ends.values()), abs=1e-12)
    assert found.quantiles == tuple(map(story.quantile, (0.1, 0.5, 0.9)))
    late = {id: chance for id, chance in story.late.items() if chance > 1e-9}
    assert {risk.id: risk.chance for risk in found.late_risks} == pytest.approx(late)
    assert [step.day for step in found.fan] == [day for day in SUNDAYS if day <= story.quantile(0.9)]
    for step in found.fan:
        assert (step.p10, step.p50, step.p90) == tuple(story.pieces(step.day, q) for q in (0.1, 0.5, 0.9))


def test_each_doubt_tells_what_its_answers_leave_and_how_much_they_narrow() -> None:
    book = with_doubts()
    found, width = forecast(book, 0.25), Story(book, 0.25).width
    for doubt in found.doubts:
        odds = book.piece(doubt.piece).shown.odds_unshown / 100
        after = 0.0
        for known, share, told in (
            (Known.YES, 1 - odds, doubt.if_shown),
            (Known.NO, odds, doubt.if_unshown),
        ):
            settled = edits.mark_shown(book, doubt.piece, known)
            if known is Known.YES and doubt.piece == "u1":
                settled = settled.drop("episodes", "s9")  # nothing is left of it to show
            story, whole = Story(settled, 0.25), forecast(settled, 0.25)
            after += share * story.width
            assert told.quantiles == tuple(map(story.quantile, (0.1, 0.5, 0.9)))
            assert (told.pieces_left, told.studies_left) == (whole.pieces_left, whole.studies_left)
        assert float(doubt.chance_unshown) == odds
        assert doubt.narrows_days == pytest.approx(width - after)
        assert doubt.narrows_pieces == 1
    worth = [round(doubt.narrows_days, 6) for doubt in found.doubts]
    assert worth == sorted(worth, reverse=True)
    assert {doubt.piece for doubt in found.doubts} == {"u0", "u1", "u2"}


# By hand


def test_a_doubt_says_by_how_many_days_it_narrows_or_that_it_does_not() -> None:
    """Of one lone doubt at even odds beside a study: the end is 8 March or, 3 weeks on, 29 March."""
    found = forecast(small(1, unsure=1, hours=0))
    assert found.end == ((SUNDAYS[0], 0.5), (SUNDAYS[3], 0.5))
    assert found.quantiles == (SUNDAYS[0], SUNDAYS[0], SUNDAYS[3])  # even odds are enough for the 50% end
    (doubt,) = found.doubts
    assert (doubt.narrows_days, doubt.text) == (
        21,
        "Settling Doubt 0 is expected to narrow the range of the end by 3 weeks.",
    )
    assert (doubt.if_shown.pieces_left, doubt.if_unshown.pieces_left) == ((1, 1), (2, 2))
    assert (doubt.if_shown.studies_left, doubt.if_unshown.studies_left) == ((1, 1), (2, 2))
    both = small(1, unsure=1, hours=0)
    both = both.put("episodes", replace(both.episode("s0"), pieces=("00", "u0")))
    assert forecast(both).doubts[0].text == "Settling Doubt 0 is not expected to narrow the range of the end."


def test_of_doubts_worth_the_same_the_nearest_to_even_comes_first() -> None:
    """Beside a sure piece a doubt moves nothing; the lone ones, with odds that others have too, move the end."""
    book = small(3, unsure=5)
    for number, odds in enumerate((50, 50, 55, 40, 50)):
        book = book.put("pieces", replace(book.piece(f"u{number}"), shown=Shown(Known.UNSURE, odds)))
    studies = [replace(book.episode(f"s{n}"), pieces=(f"{n:02}", f"u{n + 1}")) for n in range(3)]
    found = forecast(book.put("episodes", *studies)).doubts
    assert [(doubt.piece, doubt.narrows_days > 0.5) for doubt in found] == [
        ("u0", True),
        ("u4", True),
        ("u1", False),
        ("u2", False),
        ("u3", False),
    ]


def test_what_was_shown_until_now_leads_to_the_counts_of_today() -> None:
    book = small(2, unsure=1)
    for id in ("a", "b", "c"):
        book = book.put("pieces", Piece(id, id.upper(), "dress", shown=Shown(Known.YES)))
    book = out(out(book, date(2026, 1, 4), "one", ("a", "b")), date(2026, 2, 1), "two", ("c",))
    other = Publication("x", "Elsewhere", "sunday", None, FuzzyDate.exact(date(2026, 2, 8)))
    found = forecast(book.put("publications", other))
    assert [(step.day, step.low, step.high) for step in found.past] == [
        (date(2026, 1, 4), 3, 4),
        (date(2026, 2, 1), 2, 3),
    ]
    assert found.pieces_left == (2, 3)


def test_only_pieces_of_the_collection_that_are_no_wants_are_left_and_those_of_other_series_stay() -> None:
    book = small(2, hours=0)
    wanted = Piece("w", "Wanted", "dress", want=Want())
    hat = Piece("h", "Hat", "hats")
    book = replace(book, collections=(*book.collections, Collection("hats", "Hats"))).put("pieces", wanted, hat)
    more = replace(book.series[0], id="more")
    book = replace(book, series=(*book.series, more))
    book = book.put("episodes", replace(book.episode("s1"), series="more"))
    found = forecast(book)
    assert (found.pieces_left, found.studies_left) == ((2, 2), (1, 1))
    assert found.end == ((SUNDAYS[0], 1.0),)
    assert [(step.day, step.p10, step.p90) for step in found.fan] == [(SUNDAYS[0], 1, 1)]  # the one of More is left


def test_the_first_series_on_a_keeping_collection_is_meant() -> None:
    book = small(1)
    wants = Collection("wants", "Wants", kind=CollectionKind.SHOPPING)
    second = Series("second", "Second", "dress", ("sunday",))
    first = Series("first", "First", "wants", ("sunday",))
    book = replace(book, collections=(*book.collections, wants), series=(first, second, book.series[0]))
    assert forecast(book).series == "second"
    assert forecast(book, series="looks").series == "looks"
    assert forecast(replace(book, series=(first,), pieces=(), episodes=())).series == "first"


def test_the_warning_tells_weeks_and_lead() -> None:
    """The only study airs on 8 March 2026, 6 days after today."""
    book = small(1, hours=0)
    for lead, warns in ((1, True), (0, False)):
        found = forecast(replace(book, house=replace(book.house, warning_lead_weeks=lead)))
        assert found.warns is warns
        assert [w.code for w in found.warnings] == ["run-out"] * warns
    week = replace(book, house=replace(book.house, warning_lead_weeks=1))
    for day, warns in ((date(2026, 3, 1), True), (date(2026, 2, 28), False)):  # a week before, and a day more
        window = Window(SUNDAYS[0], SUNDAYS[0], hard=True)
        there = week.put("episodes", replace(week.episode("s0"), windows=(window,)))
        assert run_out(there, day, slip_rate=0.0, horizon_weeks=WEEKS).warns is warns
    found = forecast(replace(book, house=replace(book.house, warning_lead_weeks=1)))
    (warning,) = (w for w in found.warnings if w.code == "run-out")
    assert warning.text == (
        "Looks runs out by 8 March 2026 at even odds: 6 days from now, and the warning lead is 1 week."
    )
    done = forecast(out(small(0), date(2026, 3, 1)))
    assert [w.text for w in done.warnings] == ["Looks has run out: nothing is left to show."]
    assert (done.end, done.quantiles) == (((date(2026, 3, 1), 1.0),), (date(2026, 3, 1),) * 3)
    assert forecast(small(0)).end == ((TODAY, 1.0),)


def test_the_chance_that_not_every_study_finds_a_slot_is_told() -> None:
    """Of two studies 3 weeks apart at least, the second only finds a slot in two weeks if there is just one."""
    book = small(1, unsure=1, hours=0, gaps=(3, 3, 5))
    book = book.put("pieces", replace(book.piece("u0"), shown=Shown(Known.UNSURE, 20)))
    found = forecast(book, weeks=2)
    assert [w.text for w in found.warnings if w.code == "end-beyond-horizon"] == [
        "With 20% chance not every study finds a slot within 2 weeks."
    ]
    assert found.end == ((SUNDAYS[0], 0.8),)
    assert found.beyond == pytest.approx(0.2)
    assert found.quantiles == (SUNDAYS[0], SUNDAYS[0], None)
    assert found.horizon_end == SUNDAYS[0] + timedelta(weeks=2 + 52 - 1)
    assert found.fan[-1].day == SUNDAYS[1]  # as far as the plan looks
    (doubt,) = found.doubts
    width = (found.horizon_end - SUNDAYS[0]).days
    assert doubt.narrows_days == pytest.approx(width)
    assert "end-beyond-horizon" not in [w.code for w in forecast(book, weeks=4).warnings]


def test_lone_doubts_find_slots_up_to_the_last_day_looked_at_and_just_the_least_gap_apart() -> None:
    """From Sunday 8 March on, two weeks are looked at: 8 and 22 March, the least gap of two weeks apart."""
    found = run_out(small(0, unsure=2, hours=0, gaps=(2, 2, 5)), SUNDAYS[0], slip_rate=0.0, horizon_weeks=2)
    assert found.end == ((SUNDAYS[0], 0.75), (SUNDAYS[2], 0.25))
    three = run_out(small(0, unsure=3, hours=0, gaps=(2, 2, 5)), SUNDAYS[0], slip_rate=0.0, horizon_weeks=2)
    assert three.end == ((SUNDAYS[0], 0.5), (SUNDAYS[2], 0.375))
    assert three.beyond == 0.125
    # None to three are left with 1, 3, 3 and 1 of 8; the third is left for good.
    assert [(step.day, step.p10, step.p50, step.p90) for step in three.fan] == [
        (SUNDAYS[0], 0, 0, 2),
        (SUNDAYS[1], 0, 0, 2),
        (SUNDAYS[2], 0, 0, 1),
    ]


def test_without_a_record_the_rate_is_a_guess_and_said_to_be_unless_it_is_given() -> None:
    book = small(1, hours=0)
    guess = "Nothing is recorded yet, so the slip rate is a guess: even odds until publications are recorded."
    found = run_out(book, TODAY, horizon_weeks=WEEKS)
    assert [w.text for w in found.warnings if w.code == "no-record"] == [guess]
    assert found.slip_rate.mean == 0.5
    for other in (forecast(book), run_out(out(book, date(2026, 3, 1)), TODAY, horizon_weeks=WEEKS)):
        assert "no-record" not in [w.code for w in other.warnings]


def test_each_series_has_the_rate_of_its_own_studies() -> None:
    book = out(small(1), date(2026, 2, 1))
    late = Publication("late", "L", "sunday", date(2026, 1, 4), FuzzyDate.exact(date(2026, 1, 5)), series="more")
    book = book.put("publications", late)
    book = replace(book, series=(*book.series, replace(book.series[0], id="more")))
    found = run_out(book, TODAY, horizon_weeks=WEEKS)
    assert (found.slip_rate.late, found.slip_rate.recorded) == (1, 2)
    assert [(id, rate.own_late, rate.own_recorded) for id, rate in found.slip_rates_by_series] == [
        ("looks", 0, 1),
        ("more", 1, 1),
    ]


@pytest.mark.parametrize(
    ("book", "weeks", "said"),
    [
        (
            small(1, hours=0),
            30,
            "As of March 2026, there is 1 piece left to show, in 1 film; the last one should come around March 2026.",
        ),
        (
            small(2, unsure=1, hours=0),
            30,
            "As of March 2026, there are between 2 and 3 pieces left to show, in between 2 and 3 films; "
            "the last one should come between March 2026 and April 2026.",
        ),
        (
            small(3, hours=0, gaps=(4, 4, 5)),
            6,
            "As of March 2026, there are 3 pieces left to show, in 3 films; "
            "it is too early to say when the last one comes.",
        ),
    ],
)
def test_the_sentence_for_viewers(book: Book, weeks: int, said: str) -> None:
    assert forecast(book, weeks=weeks).statement == said
