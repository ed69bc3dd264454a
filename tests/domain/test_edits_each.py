from dataclasses import replace
from datetime import date, time

import pytest
from workroom_books import small_book

from showrunner.domain import edits
from showrunner.domain.collection import Box, Collection
from showrunner.domain.episode import Episode, EpisodeKind, Series, Stage, StageMinutes, Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Known, Piece
from showrunner.domain.publication import Publication, Supporter
from showrunner.domain.slot import DarkRange, SlotRef, SlotRule
from showrunner.errors import BadInput, Contradiction, ShowrunnerError, UnknownThing

BOOK = small_book()
TODAY = date(2026, 3, 2)


def sunday(day, month=3):
    return SlotRef(date(2026, month, day), "sun")


def sentence(kind, call):
    with pytest.raises(ShowrunnerError) as caught:
        call()
    assert type(caught.value) is kind
    return caught.value.sentence()


# Pieces


def test_put_piece_adds_at_the_end_or_replaces_in_place():
    book = edits.put_piece(BOOK, Piece("9", "Fan", "dress"))
    assert [p.id for p in book.pieces][-1] == "9"
    book = edits.put_piece(book, replace(book.piece("1"), name="Packer's apron"))
    assert book.pieces[0].name == "Packer's apron"


def test_put_piece_refuses_what_the_book_does_not_hold():
    assert sentence(UnknownThing, lambda: edits.put_piece(BOOK, Piece("9", "Fan", "fans"))) == (
        "the book holds no collection 'fans'; choose one that it holds."
    )
    assert sentence(UnknownThing, lambda: edits.put_piece(BOOK, Piece("9", "Fan", "dress", box="Z"))) == (
        "Fan: the book holds no box 'Z'; add the box first, or leave it empty."
    )
    assert sentence(BadInput, lambda: edits.put_piece(BOOK, replace(BOOK.piece("1"), collection="blocks"))) == (
        "Apron: it cannot change its collection while “Apron” shows it; take it out of that study first."
    )


def test_remove_piece():
    assert edits.remove_piece(BOOK, "6").find("pieces", "6") is None
    assert sentence(BadInput, lambda: edits.remove_piece(BOOK, "2")) == (
        "Septimus: the study “Waistcoats” shows it; remove or change that study first."
    )
    assert sentence(BadInput, lambda: edits.remove_piece(BOOK, "8")) == (
        "Bodice: the study “Bodice” shows it; its record stays, so keep the piece."
    )
    pinned, _ = edits.pin_pair(BOOK, "5", "6")
    assert sentence(Contradiction, lambda: edits.remove_piece(pinned, "6")) == (
        "Bathing costume: a promise stands against it: Comet with Bathing costume; unpin first."
    )
    assert sentence(UnknownThing, lambda: edits.remove_piece(BOOK, "99")) == (
        "the book holds no piece '99'; choose one that it holds."
    )


def test_mark_shown():
    when = FuzzyDate("2023", date(2023, 1, 1), date(2023, 12, 31), "2023")
    shown = edits.mark_shown(BOOK, "7", Known.YES, evidence="an early compilation", when=when).piece("7").shown
    assert (shown.known, shown.evidence, shown.when, shown.chance_unshown) == (
        Known.YES,
        "an early compilation",
        when,
        0,
    )
    assert edits.mark_shown(BOOK, "1", Known.UNSURE, odds=30).piece("1").shown.odds_unshown == 30
    assert sentence(BadInput, lambda: edits.mark_shown(BOOK, "1", Known.UNSURE, odds=0)) == (
        "shown: odds of 0% leave no doubt; give 1 to 99, or mark it shown or not shown."
    )
    assert sentence(BadInput, lambda: edits.mark_shown(BOOK, "1", Known.NO, odds=30)) == (
        "Apron: only an unsure piece has odds; leave the odds out, or mark it unsure."
    )
    assert sentence(BadInput, lambda: edits.mark_shown(BOOK, "1", Known.NO, when=when)) == (
        "Apron: a piece that was not shown has no date of showing; leave the date out."
    )


# Studies


def test_make_study_takes_series_title_and_id_from_its_pieces():
    book, study = edits.make_study(BOOK, ["5", "6"])
    assert study == Episode("comet-and-bathing-costume", "Comet and Bathing costume", series="hour", pieces=("5", "6"))
    assert book.episodes[-1] == study


def test_make_study_never_uses_an_id_again():
    book, study = edits.make_study(BOOK, ["5"], title="Apron")
    assert study.id == "apron-2"
    _, other = edits.make_study(book, ["6"], title="Äpron!")
    assert other.id == "apron-3"
    recorded = BOOK.put("publications", Publication("p", "x", "sun", TODAY, None, "comet"))
    assert edits.make_study(recorded, ["5"])[1].id == "comet-2"
    assert edits.make_study(BOOK, ["5"], title="彗星")[1].id == "episode"


@pytest.mark.parametrize(
    ("kind", "pieces", "options", "words"),
    [
        (UnknownThing, ["99"], {}, "the book holds no piece '99'; choose one that it holds."),
        (BadInput, [], {"title": "Nothing"}, "Nothing: a study needs a piece; choose one or two."),
        (
            BadInput,
            ["1"],
            {},
            "“Apron”: Apron is in the study “Apron” already; take it out there first, or pair the two studies.",
        ),
        (
            BadInput,
            ["8"],
            {},
            "Bodice: it has been shown already; say that it is a revisit, or choose another piece.",
        ),
        (
            BadInput,
            ["5", "6", "7"],
            {},
            "Comet, Bathing costume and Collar: a study shows one or two pieces, not 3; split it.",
        ),
        (
            BadInput,
            ["5", "B1"],
            {},
            "“Comet and Pudding”: Pudding is not of the collection that The Hour is about; "
            "choose pieces of one collection.",
        ),
        (UnknownThing, ["5"], {"series": "none"}, "the book holds no series 'none'; choose one that it holds."),
    ],
)
def test_make_study_refuses(kind, pieces, options, words):
    assert sentence(kind, lambda: edits.make_study(BOOK, pieces, **options)) == words


def test_a_shown_piece_may_be_revisited():
    assert edits.make_study(BOOK, ["8"], revisit=True)[1].id == "bodice-2"


def test_the_series_must_be_said_unless_there_is_one():
    two = edits.put_series(BOOK, Series("late", "The Late Hour", "dress", ("sun",)))
    assert sentence(BadInput, lambda: edits.make_study(two, ["5"])) == (
        "Camphor chest: The Hour and The Late Hour are about this collection; say which series."
    )
    assert edits.make_study(two, ["5"], "late")[1].series == "late"
    none = edits.put_piece(edits.put_collection(BOOK, Collection("fans", "Fans")), Piece("F1", "Fan", "fans"))
    assert sentence(BadInput, lambda: edits.make_study(none, ["F1"])) == (
        "Fans: no series is about this collection; add a series first."
    )


def test_a_study_may_not_part_a_promised_pair():
    pinned, _ = edits.pin_pair(BOOK, "5", "6")
    assert sentence(Contradiction, lambda: edits.make_study(pinned, ["5"])) == (
        "Comet and Bathing costume are promised together, but Comet is in “Comet” and "
        "Bathing costume is in no study; bring them into one study, or unpin the pair."
    )
    assert edits.make_study(pinned, ["5", "6"])[1].pieces == ("5", "6")


def test_split_study():
    window = Window(date(2026, 6, 1), date(2026, 8, 31))
    book = edits.put_episode(BOOK, replace(BOOK.episode("waistcoats"), windows=(window,), slot=sunday(22)))
    book, first, second = edits.split_study(book, "waistcoats")
    assert (first.id, first.title, first.pieces, first.windows, first.slot) == (
        "waistcoats",
        "Septimus",
        ("2",),
        (window,),
        sunday(22),
    )
    assert second == Episode("barnaby", "Barnaby", series="hour", pieces=("3",))
    assert book.episode("waistcoats") == first
    assert sentence(BadInput, lambda: edits.split_study(BOOK, "apron")) == (
        "“Apron”: it shows one piece only; choose a study of two."
    )
    assert sentence(BadInput, lambda: edits.split_study(BOOK, "bodice")) == (
        "“Bodice”: it has been published already; choose one that has not."
    )
    pinned, _ = edits.pin_pair(BOOK, "2", "3")
    assert sentence(Contradiction, lambda: edits.split_study(pinned, "waistcoats")) == (
        "“Waistcoats”: a promise stands against it: Septimus with Barnaby; unpin first."
    )


def test_pair_studies():
    summer, winter = Window(date(2026, 6, 1), date(2026, 8, 31)), Window(date(2026, 9, 1), date(2026, 9, 30))
    book = edits.put_episode(
        BOOK,
        replace(
            BOOK.episode("apron"), windows=(summer,), slot=sunday(22), done=(Stage.RESEARCH, Stage.SHOOT), notes="a"
        ),
    )
    book = edits.put_episode(
        book,
        replace(book.episode("jacket"), windows=(summer, winter), slot=sunday(29), done=(Stage.SHOOT,), notes="b"),
    )
    book, study = edits.pair_studies(book, "apron", "jacket")
    assert study == Episode(
        "apron",
        "Apron and Skating jacket",
        series="hour",
        pieces=("1", "4"),
        windows=(summer, winter),
        slot=sunday(22),
        done=(Stage.SHOOT,),
        notes="a\nb",
    )
    assert [e.id for e in book.episodes] == ["bodice", "apron", "waistcoats"]


def test_pair_studies_refuses():
    assert sentence(BadInput, lambda: edits.pair_studies(BOOK, "apron", "bodice")) == (
        "“Bodice”: it has been published already; choose one that has not."
    )
    assert sentence(BadInput, lambda: edits.pair_studies(BOOK, "apron", "waistcoats")) == (
        "Apron and Waistcoats: a study shows one or two pieces, not 3; split it."
    )
    assert sentence(BadInput, lambda: edits.pair_studies(BOOK, "apron", "apron")) == (
        "“Apron”: a study cannot be paired with itself; choose two studies."
    )
    blocks, _ = edits.make_study(BOOK, ["B1"])
    assert sentence(BadInput, lambda: edits.pair_studies(blocks, "apron", "pudding")) == (
        "“Apron” and “Pudding”: they belong to different series; choose two of one series."
    )
    pinned, pin = edits.pin_date(BOOK, "jacket", sunday(22))
    with pytest.raises(Contradiction) as caught:
        edits.pair_studies(pinned, "apron", "jacket")
    assert caught.value.sentence() == (
        "“Skating jacket”: a promise stands against it: “Skating jacket” on 22 March 2026 (feature); unpin first."
    )
    assert caught.value.parties == (pin.id,)


def test_remove_study():
    assert edits.remove_study(BOOK, "apron").find("episodes", "apron") is None
    pinned, _ = edits.pin_order(BOOK, "apron", "jacket")
    pinned, _ = edits.pin_date(pinned, "apron", sunday(22))
    assert sentence(Contradiction, lambda: edits.remove_study(pinned, "apron")) == (
        "“Apron”: promises stand against it: “Apron” before “Skating jacket” and “Apron” on 22 March 2026 (feature); "
        "unpin first."
    )
    missed = edits.miss(edits.set_slot(BOOK, "apron", sunday(1)), "apron")
    assert sentence(BadInput, lambda: edits.remove_study(missed, "apron")) == (
        "“Apron”: the record of publications names it; keep it."
    )


def test_put_episode_checks_the_whole_episode():
    apron = BOOK.episode("apron")
    stages = StageMinutes(60, shoot=120)
    book = edits.put_episode(BOOK, replace(apron, stages=stages, done=(Stage.RESEARCH,), notes="n"))
    assert book.episode("apron").stages == stages
    assert sentence(BadInput, lambda: edits.put_episode(BOOK, replace(apron, published=True))) == (
        "“Apron”: an episode is published by putting it on record; publish it."
    )
    assert sentence(BadInput, lambda: edits.put_episode(BOOK, replace(BOOK.episode("bodice"), notes="x"))) == (
        "“Bodice”: it has been published already; choose one that has not."
    )
    assert sentence(BadInput, lambda: edits.put_episode(BOOK, replace(apron, pieces=()))) == (
        "“Apron”: a study needs a piece; choose one or two."
    )
    pinned, _ = edits.pin_date(BOOK, "apron", sunday(22))
    june = Window(date(2026, 6, 1), date(2026, 6, 30), hard=True)
    assert sentence(Contradiction, lambda: edits.put_episode(pinned, replace(apron, windows=(june,)))) == (
        "“Apron” is promised 22 March 2026 (feature), but it must fall in 1 June 2026 to 30 June 2026; "
        "pin it to a date inside, or make the window soft."
    )


def test_add_filler():
    book, talk = edits.add_filler(BOOK, "On pins", "sun", date(2026, 3, 8), finished=True)
    assert talk == Episode("on-pins", "On pins", EpisodeKind.FILLER, rule="sun", slot=sunday(8), finished=True)
    assert book.episodes[-1] == talk
    assert sentence(BadInput, lambda: edits.add_filler(BOOK, "On pins", "sun", date(2026, 3, 9))) == (
        "9 March 2026 is a Monday, and feature comes on Sundays; choose another day or another slot."
    )
    assert sentence(UnknownThing, lambda: edits.add_filler(BOOK, "On pins", "sat")) == (
        "the book holds no slot rule 'sat'; choose one that it holds."
    )
    assert sentence(BadInput, lambda: edits.add_filler(BOOK, " ", "sun")) == (
        "episode: an episode needs a title; give it one."
    )


# Slots


def test_set_slot():
    book = edits.set_slot(BOOK, "apron", sunday(22))
    assert book.episode("apron").slot == sunday(22)
    assert edits.set_slot(book, "apron", None) == BOOK
    with pytest.raises(Contradiction) as caught:
        edits.set_slot(book, "jacket", sunday(22))
    assert caught.value.sentence() == (
        "“Skating jacket” and “Apron” would share 22 March 2026 (feature); give “Apron” another slot first."
    )
    assert caught.value.parties == ("jacket", "apron")
    assert sentence(BadInput, lambda: edits.set_slot(BOOK, "apron", SlotRef(date(2026, 3, 4), "wed"))) == (
        "“Apron”: The Hour may not use diary; choose a slot of its series, or allow that slot."
    )
    pinned, _ = edits.pin_date(BOOK, "apron", sunday(22))
    assert sentence(Contradiction, lambda: edits.set_slot(pinned, "apron", sunday(29))) == (
        "“Apron” is promised 22 March 2026 (feature), not 29 March 2026 (feature); unpin it first."
    )
    assert edits.set_slot(pinned, "apron", sunday(22)).episode("apron").slot == sunday(22)


def test_a_slot_must_lie_in_the_days_of_its_rule():
    rule = replace(BOOK.rule("sun"), first=date(2026, 3, 8), last=date(2026, 3, 22))
    book = edits.put_rule(BOOK, rule)
    assert sentence(BadInput, lambda: edits.set_slot(book, "apron", sunday(1))) == (
        "feature starts on 8 March 2026, after 1 March 2026; choose another day or another slot."
    )
    assert sentence(BadInput, lambda: edits.set_slot(book, "apron", sunday(29))) == (
        "feature ends on 22 March 2026, before 29 March 2026; choose another day or another slot."
    )


def test_place_all_makes_implied_studies_and_clears_the_rest():
    book = edits.set_slot(edits.set_slot(BOOK, "jacket", sunday(22)), "waistcoats", sunday(29))
    book = edits.place_all(
        book,
        [
            ("apron", "Apron", "hour", ("1",), sunday(22)),
            ("piece:5", "Comet", "hour", ("5",), sunday(26, 4)),
            ("piece:6", "Bathing costume", "hour", ("6",), None),
            ("jacket", "Skating jacket", "hour", ("4",), None),
        ],
    )
    slots = {e.id: e.slot for e in book.episodes}
    assert slots == {
        "bodice": sunday(25, 1),
        "apron": sunday(22),
        "waistcoats": None,
        "jacket": None,
        "comet": sunday(26, 4),
    }


def test_place_all_may_swap_slots_but_not_share_them():
    book = edits.set_slot(edits.set_slot(BOOK, "jacket", sunday(22)), "apron", sunday(29))
    swapped = edits.place_all(
        book,
        [("apron", "", "hour", ("1",), sunday(22)), ("jacket", "", "hour", ("4",), sunday(29))],
    )
    assert swapped.episode("apron").slot == sunday(22)
    assert sentence(
        Contradiction,
        lambda: edits.place_all(
            book, [("apron", "", "hour", ("1",), sunday(22)), ("jacket", "", "hour", ("4",), sunday(22))]
        ),
    ) == ("“Apron” and “Skating jacket” would share 22 March 2026 (feature); give “Skating jacket” another slot first.")


# The record


def test_publish_puts_it_on_record_and_marks_its_pieces_shown():
    book = edits.set_slot(BOOK, "waistcoats", sunday(1))
    book = edits.publish(book, "waistcoats", date(2026, 3, 2), "https://example.org/w", today=TODAY)
    assert book.publications[-1] == Publication(
        "publication-2",
        "Waistcoats",
        "sun",
        date(2026, 3, 1),
        FuzzyDate.exact(date(2026, 3, 2)),
        "waistcoats",
        "hour",
        "https://example.org/w",
    )
    study = book.episode("waistcoats")
    assert (study.published, study.finished, study.done, study.slot) == (True, True, tuple(Stage), sunday(1))
    for piece in ("2", "3"):
        shown = book.piece(piece).shown
        assert (shown.known, shown.evidence) == (Known.YES, "Waistcoats, 2 March 2026")
        assert shown.when == FuzzyDate.exact(date(2026, 3, 2))
    assert book.publications[:-1] == BOOK.publications


def test_publish_refuses():
    assert sentence(BadInput, lambda: edits.publish(BOOK, "bodice", TODAY)) == (
        "“Bodice”: it has been published already; choose one that has not."
    )
    assert sentence(BadInput, lambda: edits.publish(BOOK, "apron", date(2026, 3, 3), today=TODAY)) == (
        "“Apron”: 3 March 2026 is still to come (today is 2 March 2026); give a day that has come."
    )
    both = edits.make_study(BOOK, ["B1"])[0]
    assert sentence(BadInput, lambda: edits.publish(both, "pudding", TODAY)) == (
        "“Pudding”: it could have been for feature and diary; say which slot."
    )
    assert edits.publish(both, "pudding", date(2026, 3, 4)).publications[-1].rule == "wed"
    assert edits.publish(both, "pudding", TODAY, rule="sun").publications[-1].rule == "sun"


def test_publish_filler():
    book, talk = edits.add_filler(BOOK, "On pins", "sun")
    line = edits.publish(book, talk.id, date(2026, 3, 1)).publications[-1]
    assert (line.rule, line.planned, line.episode, line.series) == ("sun", None, "on-pins", "")
    lost = book.put("episodes", replace(talk, rule=""))
    assert sentence(BadInput, lambda: edits.publish(lost, talk.id, date(2026, 3, 1))) == (
        "“On pins”: it is not known which slot it was for; say which slot."
    )


def test_miss_leaves_the_study_open_and_drops_the_broken_promise():
    book, _ = edits.pin_date(edits.set_slot(BOOK, "apron", sunday(1)), "apron", sunday(1))
    book = edits.miss(book, "apron", today=TODAY)
    assert book.publications[-1] == Publication(
        "publication-2", "Apron", "sun", date(2026, 3, 1), None, "apron", "hour"
    )
    assert book.episode("apron") == BOOK.episode("apron")
    assert book.pins == ()
    assert sentence(BadInput, lambda: edits.miss(BOOK, "apron")) == (
        "“Apron”: it has no slot to miss; plan it for a slot first."
    )
    assert sentence(BadInput, lambda: edits.miss(edits.set_slot(BOOK, "apron", sunday(22)), "apron", today=TODAY)) == (
        "“Apron”: 22 March 2026 is still to come (today is 2 March 2026); give a day that has come."
    )


def test_record_publication():
    book = edits.record_publication(BOOK, "Diary 9", "wed", date(2026, 2, 25), date(2026, 2, 26), today=TODAY)
    line = book.publications[-1]
    assert (line.title, line.rule, line.day, line.late_or_missed) == ("Diary 9", "wed", date(2026, 2, 26), True)
    assert edits.record_publication(BOOK, "Diary 9", "wed", date(2026, 2, 25), None).publications[-1].actual is None
    assert sentence(BadInput, lambda: edits.record_publication(BOOK, "Diary 9", "wed", None, None)) == (
        "“Diary 9”: neither the planned nor the real day is given; give one of them."
    )
    assert sentence(BadInput, lambda: edits.record_publication(BOOK, "", "wed", TODAY, None)) == (
        "record: a line of the record needs a title; give it one."
    )


# The workroom


def test_house_rules_need_a_real_zone():
    assert edits.put_house(BOOK, replace(BOOK.house, lead_days=2)).house.lead_days == 2
    for zone in ("Mars/Olympus", "../etc", "", "Australia"):
        assert sentence(BadInput, lambda zone=zone: edits.put_house(BOOK, replace(BOOK.house, zone=zone))) == (
            f"house rules: '{zone}' is not a time zone; give a name like Australia/Hobart."
        )


def test_dark_ranges():
    dark = DarkRange("d", date(2026, 3, 20), date(2026, 3, 23), no_publication=True)
    book = edits.put_dark(BOOK, dark)
    assert edits.remove_dark(book, "d") == BOOK
    assert sentence(UnknownThing, lambda: edits.remove_dark(BOOK, "d")) == (
        "the book holds no run of dark days 'd'; choose one that it holds."
    )
    pinned, _ = edits.pin_date(BOOK, "apron", sunday(22))
    with pytest.raises(Contradiction) as caught:
        edits.put_dark(pinned, dark)
    assert caught.value.sentence() == (
        "“Apron” is promised 22 March 2026 (feature), but nothing is published 20 to 23 March 2026; "
        "unpin it, or change the days without publication."
    )
    assert caught.value.parties == ("apron", "d")
    assert edits.put_dark(pinned, replace(dark, no_publication=False)).dark


def test_rules():
    saturday = replace(BOOK.rule("sun"), weekday=5)
    pinned, _ = edits.pin_date(BOOK, "apron", sunday(22))
    assert sentence(Contradiction, lambda: edits.put_rule(pinned, saturday)) == (
        "“Apron” is promised 22 March 2026 (feature), but 22 March 2026 is a Sunday, and feature comes on Saturdays; "
        "pin it to a slot."
    )
    planned = edits.set_slot(BOOK, "apron", sunday(22))
    assert sentence(BadInput, lambda: edits.put_rule(planned, saturday)) == (
        "22 March 2026 is a Sunday, and feature comes on Saturdays; choose another day or another slot."
    )
    assert edits.put_rule(BOOK, saturday).rule("sun").weekday == 5
    assert sentence(BadInput, lambda: edits.remove_rule(BOOK, "sun")) == (
        "feature: The Hour uses it; take it out of that series first."
    )
    fresh = edits.put_rule(BOOK, SlotRule("sat", "extra", 5, time(8), "UTC"))
    assert edits.remove_rule(fresh, "sat") == BOOK
    used, _ = edits.add_filler(fresh, "On pins", "sat")
    assert sentence(BadInput, lambda: edits.remove_rule(used, "sat")) == (
        "extra: “On pins” uses it; give the slot rule a last day instead."
    )
    recorded = edits.record_publication(fresh, "Extra 1", "sat", date(2026, 2, 28), None)
    assert sentence(BadInput, lambda: edits.remove_rule(recorded, "sat")) == (
        "extra: the record or a pin names it; give the slot rule a last day instead."
    )


def test_series():
    hour = BOOK.series_of("hour")
    assert edits.put_series(BOOK, replace(hour, target_weeks=7)).series_of("hour").target_weeks == 7
    assert sentence(UnknownThing, lambda: edits.put_series(BOOK, replace(hour, rules=("sat",)))) == (
        "the book holds no slot rule 'sat'; choose one that it holds."
    )
    planned = edits.set_slot(BOOK, "apron", sunday(22))
    assert sentence(BadInput, lambda: edits.put_series(planned, replace(hour, rules=("wed",)))) == (
        "“Apron”: The Hour may not use feature; choose a slot of its series, or allow that slot."
    )
    assert sentence(BadInput, lambda: edits.put_series(BOOK, replace(hour, collection="blocks"))) == (
        "“Apron”: Apron is not of the collection that The Hour is about; choose pieces of one collection."
    )
    assert sentence(BadInput, lambda: edits.remove_series(BOOK, "hour")) == (
        "The Hour: the study “Bodice” belongs to it; remove its studies first."
    )
    assert [s.id for s in edits.remove_series(BOOK, "brim").series] == ["hour"]


def test_collections_boxes_and_supporters():
    assert sentence(BadInput, lambda: edits.remove_collection(BOOK, "blocks")) == (
        "Crown blocks: Pudding is in it; remove its pieces first."
    )
    book = edits.put_collection(BOOK, Collection("fans", "Fans"))
    assert edits.remove_collection(book, "fans") == BOOK
    assert sentence(BadInput, lambda: edits.remove_box(BOOK, "A")) == (
        "box A: Apron is in it; put its pieces elsewhere first."
    )
    assert edits.remove_box(edits.put_box(BOOK, Box("Z")), "Z") == BOOK
    dot = Supporter("dot", "Dot Quillfeather", consent=True)
    assert edits.remove_supporter(edits.put_supporter(BOOK, dot), "dot") == BOOK
    backwards = replace(dot, first=date(2026, 2, 1), last=date(2026, 1, 1))
    assert sentence(BadInput, lambda: edits.put_supporter(BOOK, backwards)) == (
        "Dot Quillfeather: the support ends (1 January 2026) before it begins (1 February 2026); swap the dates."
    )


def test_what_a_kind_is_like_is_kept_once_and_can_be_changed():
    book = edits.say_kind(small_book(), " flup  wump [x]", "jacket")
    assert [(known.word, known.like) for known in book.house.kinds] == [("flup wump [x]", "jacket")]
    book = edits.say_kind(book, "zorble", "fan")
    book = edits.say_kind(book, "Flup wump [X]", "dress")
    assert [(known.word, known.like) for known in book.house.kinds] == [("zorble", "fan"), ("Flup wump [X]", "dress")]


@pytest.mark.parametrize(
    ("word", "like", "told"),
    [
        (" ", "jacket", "kind: a kind needs a word; give the piece one first."),
        ("waistcoats", "jacket", "waistcoats: it is known already; nothing need be said of it."),
        ("zorble", "blork", "zorble: 'blork' is no kind known here; name one, as dress or jacket."),
    ],
)
def test_what_can_not_be_said_of_a_kind(word: str, like: str, told: str) -> None:
    with pytest.raises(BadInput) as caught:
        edits.say_kind(small_book(), word, like)
    assert caught.value.sentence() == told


def test_a_piece_is_taken_out_of_the_study_to_come_that_shows_it():
    book = edits.take_out(BOOK, "2")
    study = book.episode("waistcoats")
    assert "2" not in study.pieces
    assert study.title == book.piece(study.pieces[0]).name
    assert edits.remove_piece(book, "2").find("pieces", "2") is None
    alone = edits.take_out(BOOK, "1")
    assert alone.find("episodes", "apron") is None
    assert alone.find("pieces", "1")
    assert sentence(BadInput, lambda: edits.take_out(BOOK, "8")) == (
        "Bodice: no study to come shows it; nothing needs to be done."
    )


def test_a_link_and_a_reason_are_said_afterwards():
    book, pin = edits.pin_date(BOOK, "apron", sunday(22))
    book = edits.say_reason(book, pin.id, "for Ida")
    assert [(kept.reason, kept.slot) for kept in book.pins if kept.id == pin.id] == [("for Ida", sunday(22))]
    assert sentence(UnknownThing, lambda: edits.say_reason(BOOK, "pin-99", "x")).startswith("the book holds no pin")
    out = edits.record_publication(BOOK, "Diary", "wed", date(2026, 2, 25), FuzzyDate.exact(date(2026, 2, 25)))
    line = out.publications[-1]
    assert edits.say_link(out, line.id, "https://x.example/1").publications[-1] == replace(
        line, link="https://x.example/1"
    )
    missed = edits.record_publication(BOOK, "Diary", "wed", date(2026, 2, 25), None)
    assert sentence(BadInput, lambda: edits.say_link(missed, missed.publications[-1].id, "x")) == (
        "“Diary”: it did not come out; leave the link empty."
    )
    assert sentence(UnknownThing, lambda: edits.say_link(BOOK, "none", "x")).startswith("the record has no line 'none'")
