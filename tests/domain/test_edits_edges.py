"""Edges of the edits: what is the last thing still allowed, and the first that is refused."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection
from showrunner.domain.edits import ids
from showrunner.domain.episode import Pin, PinKind, Series, Stage
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Claim, Confidence, Known, Piece, Shown
from showrunner.domain.publication import Publication, Supporter
from showrunner.domain.shoot import LogKind, LogLine, Shoot
from showrunner.domain.slot import DarkRange, SlotRef
from showrunner.errors import BadInput, Contradiction, ShowrunnerError, UnknownThing

BOOK = small_book()
TODAY = date(2026, 3, 2)
NOON = datetime(2026, 3, 2, 1, tzinfo=UTC)
SOLE = SlotRef(date(2026, 3, 22), "sun")


def refused(kind: type[ShowrunnerError], call: Callable[[], object]) -> ShowrunnerError:
    with pytest.raises(ShowrunnerError) as caught:
        call()
    assert type(caught.value) is kind
    return caught.value


class TestNewIds:
    def test_of_many_none_is_given_twice(self) -> None:
        episode, line = ids.episode_ids(BOOK), ids.publication_ids(BOOK)
        assert [episode(title) for title in ("Apron", "Fan", "Apron", "Fan")] == ["apron-2", "fan", "apron-3", "fan-2"]
        assert [line(), line()] == ["publication-2", "publication-3"]

    def test_a_line_of_the_record_has_the_number_it_has_in_the_record(self) -> None:
        other = replace(BOOK, publications=(replace(BOOK.publications[0], id="old"),))
        assert ids.publication_id(other) == "publication-2"
        assert ids.publication_id(replace(BOOK, publications=())) == "publication-1"

    def test_a_shoot_never_has_an_id_that_a_shoot_has_or_the_log_names(self) -> None:
        assert ids.shoot_id(BOOK) == "shoot-1"
        logged = BOOK.put("log", LogLine("l", "shoot-1", NOON, LogKind.PAUSED))
        assert ids.shoot_id(logged) == "shoot-2"
        assert ids.shoot_id(logged.put("shoots", Shoot("shoot-2", ("apron",), NOON))) == "shoot-3"
        assert ids.shoot_id(BOOK.put("shoots", Shoot("old", ("apron",), NOON))) == "shoot-2"

    def test_an_id_made_of_a_long_title_has_forty_letters_and_ends_in_none_but_a_letter_or_digit(self) -> None:
        assert ids.episode_id(BOOK, "a" * 50) == "a" * 40
        assert ids.episode_id(BOOK, "a" * 39 + " b") == "a" * 39

    def test_pins_are_numbered_from_one_and_a_number_taken_back_is_free(self) -> None:
        book, first = edits.pin_order(BOOK, "apron", "jacket")
        book, second = edits.pin_pair(book, "5", "6")
        assert (first.id, second.id) == ("pin-1", "pin-2")
        assert edits.pin_date(edits.unpin(book, "pin-1"), "jacket", SOLE)[1].id == "pin-1"


class TestPromises:
    def test_what_was_broken_before_is_not_refused_again(self) -> None:
        """An edit is refused for a promise that it breaks, not for one that it found broken."""
        dark = DarkRange("d", SOLE.day, SOLE.day, no_publication=True)
        broken = edits.pin_date(BOOK, "apron", SOLE)[0].put("dark", dark)
        assert edits.set_slot(broken, "jacket", SlotRef(date(2026, 4, 5), "sun")).episode("jacket").slot
        assert edits.put_dark(broken, DarkRange("e", TODAY, TODAY)).dark[-1].id == "e"

    def test_a_slot_that_a_published_episode_had_is_no_ones_any_more(self) -> None:
        old = BOOK.episode("bodice").slot
        assert edits.set_slot(BOOK, "apron", old).episode("apron").slot == old

    def test_a_promise_to_another_study_binds_this_one_to_nothing(self) -> None:
        pinned, _ = edits.pin_date(BOOK, "apron", SOLE)
        later = SlotRef(date(2026, 4, 26), "sun")
        assert edits.set_slot(pinned, "jacket", later).episode("jacket").slot == later
        ordered, pin = edits.pin_order(BOOK, "apron", "jacket")
        assert edits.set_slot(ordered, "apron", later).pins == (pin,)

    def test_one_that_stands_in_the_way_is_named_with_its_pin(self) -> None:
        pinned, pin = edits.pin_date(BOOK, "apron", SOLE)
        later = SlotRef(date(2026, 3, 29), "sun")
        assert refused(Contradiction, lambda: edits.set_slot(pinned, "apron", later)).parties == ("apron", pin.id)

    def test_a_promise_like_another_is_one_only_if_kind_studies_slot_and_pieces_are_the_same(self) -> None:
        book, _ = edits.pin_pair(BOOK, "5", "6")
        assert "promised already" in refused(BadInput, lambda: edits.pin_pair(book, "6", "5")).what
        both = edits.put_piece(edits.put_piece(book, Piece("9", "Fan", "dress")), Piece("10", "Boa", "dress"))
        assert len(edits.pin_pair(both, "9", "10")[0].pins) == 2
        book, _ = edits.pin_order(BOOK, "apron", "jacket")
        assert len(edits.pin_order(book, "apron", "waistcoats")[0].pins) == 2
        assert "promised already" in refused(BadInput, lambda: edits.pin_order(book, "apron", "jacket")).what

    def test_a_day_before_today_cannot_be_promised_and_today_can(self) -> None:
        day = SOLE.day
        assert edits.pin_date(BOOK, "apron", SOLE, today=day)[1].slot == SOLE
        assert refused(BadInput, lambda: edits.pin_date(BOOK, "apron", SOLE, today=date(2026, 3, 23))).sentence() == (
            "“Apron”: 22 March 2026 is past; choose a day to come."
        )

    def test_a_study_that_was_published_may_be_promised_first_but_not_second(self) -> None:
        assert edits.pin_order(BOOK, "bodice", "apron")[1].episodes == ("bodice", "apron")
        assert "published already" in refused(BadInput, lambda: edits.pin_order(BOOK, "apron", "bodice")).what
        talk_book, talk = edits.add_filler(BOOK, "On pins", "sun")
        for first, second in ((talk.id, "apron"), ("apron", talk.id)):
            error = refused(BadInput, lambda first=first, second=second: edits.pin_order(talk_book, first, second))
            assert "filler" in error.what

    def test_an_order_needs_two_studies_of_the_book(self) -> None:
        for first, second in (("none", "apron"), ("apron", "none"), ("none", "none")):
            refused(UnknownThing, lambda first=first, second=second: edits.pin_order(BOOK, first, second))

    def test_a_shown_piece_is_promised_as_one_of_a_pair_only_within_a_study(self) -> None:
        shown = edits.mark_shown(BOOK, "2", Known.YES)
        assert edits.pin_pair(shown, "2", "3")[1].pieces == ("2", "3")
        lone = edits.mark_shown(BOOK, "5", Known.YES)
        assert refused(BadInput, lambda: edits.pin_pair(lone, "6", "5")).sentence() == (
            "Comet: it has been shown already; make a study of it first if it is a revisit."
        )
        unsure = edits.mark_shown(BOOK, "5", Known.UNSURE)
        assert edits.pin_pair(unsure, "6", "5")[1].pieces == ("6", "5")

    def test_a_pair_needs_two_pieces_of_one_collection(self) -> None:
        assert "paired with itself" in refused(BadInput, lambda: edits.pin_pair(BOOK, "5", "5")).what
        assert "different collections" in refused(BadInput, lambda: edits.pin_pair(BOOK, "5", "B1")).what


class TestPieces:
    def test_a_piece_of_no_study_may_change_its_collection_and_one_of_a_study_its_name(self) -> None:
        assert edits.put_piece(BOOK, replace(BOOK.piece("5"), collection="blocks")).piece("5").collection == "blocks"
        assert edits.put_piece(BOOK, replace(BOOK.piece("1"), box="")).piece("1").box == ""

    def test_a_filmed_piece_or_one_that_an_order_names_stays(self) -> None:
        filmed = BOOK.put("log", LogLine("l", "shoot-1", NOON, LogKind.TOUCHED, piece="6"))
        assert refused(BadInput, lambda: edits.remove_piece(filmed, "6")).sentence() == (
            "Bathing costume: it has been filmed, and the log names it; keep it."
        )
        assert edits.remove_piece(filmed, "5").find("pieces", "5") is None
        for field in ("acquired_before", "acquired_after"):
            named = edits.put_piece(BOOK, replace(BOOK.piece("5"), **{field: ("6",)}))
            assert "names it" in refused(BadInput, lambda named=named: edits.remove_piece(named, "6")).what
            assert edits.remove_piece(named, "5").find("pieces", "5") is None

    def test_what_closes_a_circle_of_three_is_named_as_what_to_give_up(self) -> None:
        book = edits.put_piece(BOOK, replace(BOOK.piece("2"), acquired_after=("1",)))
        book = edits.put_piece(book, replace(BOOK.piece("3"), acquired_after=("2",)))
        error = refused(Contradiction, lambda: edits.put_piece(book, replace(BOOK.piece("1"), acquired_after=("3",))))
        assert error.way_out == "take Barnaby out of what Apron came after"
        book = edits.put_piece(BOOK, replace(BOOK.piece("2"), acquired_before=("1",)))
        book = edits.put_piece(book, replace(BOOK.piece("3"), acquired_before=("2",)))
        error = refused(Contradiction, lambda: edits.put_piece(book, replace(BOOK.piece("1"), acquired_before=("3",))))
        assert error.way_out == "take Barnaby out of what Apron came before"

    def test_a_claim_supersedes_older_ones_about_the_same_thing_alone(self) -> None:
        old = (
            Claim("Fibre", "wool", Confidence.POSSIBLE),
            Claim("origin", "Hobart", Confidence.SURE),
            Claim("fibre", "linen", Confidence.POSSIBLE),
        )
        book = BOOK.put("pieces", replace(BOOK.piece("5"), claims=old))
        new = Claim("fibre ", "silk", Confidence.SURE)
        claims = edits.add_claim(book, "5", new).piece("5").claims
        assert [claim.superseded for claim in claims] == [True, False, True, False]
        assert [claim.value for claim in claims] == ["wool", "Hobart", "linen", "silk"]
        beside = edits.add_claim(book, "5", new, supersedes=False).piece("5").claims
        assert [claim.superseded for claim in beside] == [False] * 4

    def test_an_unsure_piece_has_the_odds_given_or_even_ones(self) -> None:
        doubt = replace(BOOK.piece("7"), shown=Shown(Known.UNSURE, 30))
        book = BOOK.put("pieces", doubt)
        assert edits.mark_shown(book, "7", Known.UNSURE).piece("7").shown.odds_unshown == 50
        for odds in (1, 99):
            assert edits.mark_shown(book, "7", Known.UNSURE, odds=odds).piece("7").shown.odds_unshown == odds
        assert edits.mark_shown(book, "7", Known.YES).piece("7").shown.odds_unshown == 50

    def test_a_date_of_showing_stays_with_doubt(self) -> None:
        when = FuzzyDate.exact(TODAY)
        assert edits.mark_shown(BOOK, "7", Known.UNSURE, when=when).piece("7").shown.when == when


class TestStudies:
    def test_a_piece_of_an_open_study_is_free_once_that_is_published(self) -> None:
        book = edits.publish(edits.set_slot(BOOK, "apron", SlotRef(date(2026, 3, 1), "sun")), "apron", date(2026, 3, 1))
        assert edits.make_study(book, ["1"], revisit=True)[1].pieces == ("1",)

    def test_a_pair_is_finished_only_if_both_are(self) -> None:
        for one in (True, False):
            for two in (True, False):
                book = BOOK.put("episodes", replace(BOOK.episode("apron"), finished=one))
                book = book.put("episodes", replace(BOOK.episode("jacket"), finished=two))
                assert edits.pair_studies(book, "apron", "jacket")[1].finished is (one and two)

    def test_a_study_that_was_filmed_stays_as_it_is(self) -> None:
        filmed = BOOK.put("shoots", Shoot("shoot-1", ("jacket",), NOON, closed=True))
        assert refused(BadInput, lambda: edits.pair_studies(filmed, "apron", "jacket")).sentence() == (
            "“Skating jacket”: it has been filmed by itself, and the log names it; keep it apart."
        )
        assert edits.pair_studies(filmed, "jacket", "apron")[1].pieces == ("4", "1")
        assert "it has been filmed" in refused(BadInput, lambda: edits.remove_study(filmed, "jacket")).what
        assert edits.remove_study(filmed, "apron").find("episodes", "apron") is None

    def test_a_promise_of_another_pair_does_not_stop_a_split(self) -> None:
        pinned, _ = edits.pin_pair(BOOK, "5", "6")
        assert edits.split_study(pinned, "waistcoats")[1].pieces == ("2",)

    def test_an_order_pin_stops_the_second_study_only(self) -> None:
        pinned, _ = edits.pin_order(BOOK, "waistcoats", "apron")
        assert edits.pair_studies(pinned, "apron", "jacket")[1].id == "apron"
        assert refused(Contradiction, lambda: edits.pair_studies(pinned, "jacket", "apron")).where == "“Apron”"
        assert edits.remove_study(pinned, "jacket").find("episodes", "jacket") is None

    def test_filler_is_no_study_but_can_be_taken_out(self) -> None:
        book, talk = edits.add_filler(BOOK, "On pins", "sun")
        assert talk.finished is False
        refused(UnknownThing, lambda: edits.add_filler(BOOK, "On pins", ""))
        assert edits.remove_study(book, talk.id) == BOOK
        assert "filler" in refused(BadInput, lambda: edits.split_study(book, talk.id)).what

    def test_a_study_whose_series_is_gone_is_planned_for_no_slot(self) -> None:
        """As a file changed by hand may have it."""
        lost = BOOK.drop("series", "hour")
        error = refused(UnknownThing, lambda: edits.set_slot(lost, "apron", SOLE))
        assert "no series 'hour'" in error.what
        assert edits.set_slot(lost, "apron", None).episode("apron").slot is None

    def test_a_changed_filler_needs_a_rule_that_is_there(self) -> None:
        book, talk = edits.add_filler(BOOK, "On pins", "sun")
        refused(UnknownThing, lambda: edits.put_episode(book, replace(talk, rule="sat")))
        assert edits.put_episode(book, replace(talk, rule="")).episode(talk.id).rule == ""


class TestTheRecord:
    def test_run_time_and_stages_once_published(self) -> None:
        book = BOOK.put("episodes", replace(BOOK.episode("apron"), run_seconds=600))
        once = edits.publish(book, "apron", TODAY, "https://example.org/1").episode("apron")
        assert (once.published, once.finished, once.done, once.run_seconds) == (True, True, tuple(Stage), 600)
        assert edits.publish(book, "apron", TODAY, run_seconds=700).episode("apron").run_seconds == 700
        assert edits.publish(book, "apron", TODAY, "x").publications[-1].link == "x"

    def test_today_counts_as_come(self) -> None:
        assert edits.publish(BOOK, "apron", TODAY, today=TODAY).episode("apron").published
        assert edits.record_publication(BOOK, "Diary", "wed", None, TODAY, today=TODAY).publications[-1].day == TODAY
        tomorrow = date(2026, 3, 3)
        for planned, actual in ((tomorrow, None), (None, tomorrow), (TODAY, tomorrow)):
            call = lambda p=planned, a=actual: edits.record_publication(BOOK, "D", "wed", p, a, today=TODAY)  # noqa: E731
            assert "still to come" in refused(BadInput, call).what
        early = edits.record_publication(BOOK, "Diary", "wed", tomorrow, TODAY, today=TODAY).publications[-1]
        assert (early.planned, early.day) == (tomorrow, TODAY)

    def test_a_line_of_the_record_is_for_a_slot_that_there_is(self) -> None:
        refused(UnknownThing, lambda: edits.record_publication(BOOK, "Diary", "sat", None, TODAY))
        refused(UnknownThing, lambda: edits.publish(BOOK, "apron", TODAY, rule="sat"))

    def test_a_miss_breaks_the_promise_of_that_slot_and_no_other(self) -> None:
        first = SlotRef(date(2026, 3, 1), "sun")
        book, _ = edits.pin_date(edits.set_slot(BOOK, "apron", first), "apron", first)
        book, other = edits.pin_date(book, "jacket", SlotRef(date(2026, 5, 3), "sun"))
        book, order = edits.pin_order(book, "apron", "jacket")
        assert edits.miss(book, "apron", today=first.day).pins == (other, order)

    def test_the_weekday_tells_which_of_two_slots_it_was_for(self) -> None:
        book, block = edits.make_study(BOOK, ["B1"])
        assert edits.publish(book, block.id, date(2026, 3, 1)).publications[-1].rule == "sun"
        two = edits.put_rule(book, replace(BOOK.rule("wed"), weekday=6))
        assert "feature and diary" in refused(BadInput, lambda: edits.publish(two, block.id, date(2026, 3, 1))).what


class TestTheWorkroom:
    def test_a_rule_in_use_stays(self) -> None:
        book = edits.put_series(BOOK, replace(BOOK.series_of("brim"), rules=("sun",)))
        assert edits.remove_rule(book, "wed").find("rules", "wed") is None
        planned, talk = edits.add_filler(book, "On pins", "sun")
        lent = planned.put("episodes", replace(talk, rule="", slot=SlotRef(date(2026, 3, 4), "wed")))
        assert "“On pins” uses it" in refused(BadInput, lambda: edits.remove_rule(lent, "wed")).what
        pin = Pin("pin-1", PinKind.DATE, ("apron",), SlotRef(date(2026, 3, 4), "wed"))
        assert "names it" in refused(BadInput, lambda: edits.remove_rule(book.put("pins", pin), "wed")).what
        order = edits.pin_order(book, "apron", "jacket")[0]
        assert edits.remove_rule(order, "wed").find("rules", "wed") is None

    def test_a_changed_rule_is_checked_against_the_slots_planned_by_it_alone(self) -> None:
        planned = edits.set_slot(BOOK, "apron", SOLE)
        assert edits.put_rule(planned, replace(BOOK.rule("wed"), weekday=1)).rule("wed").weekday == 1

    def test_a_rule_needs_a_zone_and_a_series_a_collection_that_there_are(self) -> None:
        refused(BadInput, lambda: edits.put_rule(BOOK, replace(BOOK.rule("sun"), zone="Mars/Olympus")))
        refused(UnknownThing, lambda: edits.put_series(BOOK, Series("late", "Late", "fans", ("sun",))))

    def test_a_changed_series_is_checked_with_its_own_studies_alone(self) -> None:
        planned = edits.set_slot(BOOK, "apron", SOLE)
        brim = replace(BOOK.series_of("brim"), rules=("wed",))
        assert edits.put_series(planned, brim).series_of("brim").rules == ("wed",)
        late = Series("late", "Late", "blocks", ("wed",))
        assert edits.put_series(planned, late).series_of("late") == late

    def test_a_series_that_the_record_names_stays(self) -> None:
        line = Publication("p", "Old", "sun", TODAY, None, series="brim")
        assert refused(BadInput, lambda: edits.remove_series(BOOK.put("publications", line), "brim")).sentence() == (
            "The Brim: the record of publications names it; keep it."
        )

    def test_a_collection_that_a_series_is_about_stays(self) -> None:
        fans = edits.put_collection(BOOK, Collection("fans", "Fans"))
        about = edits.put_series(fans, Series("fan", "The Fan", "fans", ("sun",)))
        assert refused(BadInput, lambda: edits.remove_collection(about, "fans")).sentence() == (
            "Fans: The Fan is about it; remove that series first."
        )

    def test_what_is_not_there_cannot_be_taken_out(self) -> None:
        for remove in (
            edits.remove_dark,
            edits.remove_busy,
            edits.remove_box,
            edits.remove_supporter,
            edits.remove_rule,
            edits.remove_series,
            edits.remove_collection,
            edits.unpin,
            edits.remove_study,
        ):
            refused(UnknownThing, lambda remove=remove: remove(BOOK, "none"))

    def test_support_of_one_day_is_support(self) -> None:
        for first, last in ((TODAY, TODAY), (TODAY, None), (None, TODAY)):
            dot = Supporter("dot", "Dot Quillfeather", first=first, last=last)
            assert edits.put_supporter(BOOK, dot).supporters == (dot,)


class TestAWholePlan:
    def place(self, book: Book, *placements: tuple[str, SlotRef | None]) -> Book:
        return edits.place_all(book, [(id, "", "", (), slot) for id, slot in placements])

    def test_open_studies_have_the_slots_of_the_plan_and_filler_keeps_its_own(self) -> None:
        book, talk = edits.add_filler(BOOK, "On pins", "sun", date(2026, 3, 8))
        book = edits.set_slot(book, "jacket", SlotRef(date(2026, 4, 26), "sun"))
        after = self.place(book, ("apron", SOLE), ("waistcoats", None))
        assert {e.id: e.slot for e in after.episodes} == {
            "bodice": BOOK.episode("bodice").slot,
            "apron": SOLE,
            "waistcoats": None,
            "jacket": None,
            talk.id: talk.slot,
        }

    def test_a_study_that_it_implies_is_made(self) -> None:
        after = edits.place_all(BOOK, [("piece:5", "The comet", "hour", ("5",), SOLE)])
        assert (after.episode("the-comet").pieces, after.episode("the-comet").slot) == (("5",), SOLE)
        assert edits.place_all(BOOK, [("piece:5", "The comet", "hour", ("5",), None)]) == BOOK

    def test_two_in_one_slot_or_a_published_one_are_refused(self) -> None:
        refused(Contradiction, lambda: self.place(BOOK, ("apron", SOLE), ("jacket", SOLE)))
        refused(BadInput, lambda: self.place(BOOK, ("bodice", SOLE)))
        refused(BadInput, lambda: self.place(BOOK, ("apron", SlotRef(date(2026, 3, 23), "sun"))))
        pinned, _ = edits.pin_date(BOOK, "apron", SOLE)
        refused(Contradiction, lambda: self.place(pinned, ("apron", SlotRef(date(2026, 3, 29), "sun"))))
