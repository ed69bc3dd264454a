"""The plan of a shoot: views, details, points, forms, gates, batches, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from books import TODAY, demo
from hypothesis import given
from hypothesis import strategies as st

from showrunner.domain.book import Book
from showrunner.domain.house import Form
from showrunner.domain.kinds import Held
from showrunner.domain.piece import Condition, Exposure, Feature, Handling, Measurement, Piece, Presence, View
from showrunner.domain.shoot import Camera, Touch
from showrunner.errors import BadInput, UnknownThing
from showrunner.planning.forms import Padding
from showrunner.planning.shoot_plan import ShootPlan, plan_shoot

BOOK = demo()
FORM_VIEWS = {View.FORM_FRONT, View.FORM_LEFT, View.FORM_RIGHT, View.FORM_BACK}


def plan(*studies: str, book: Book = BOOK, **more: int) -> ShootPlan:
    return plan_shoot(book, studies, TODAY, **more)


def changed(piece: str, **fields: object) -> Book:
    return BOOK.put("pieces", replace(BOOK.piece(piece), **fields))


def house(**fields: object) -> Book:
    return replace(BOOK, house=replace(BOOK.house, **fields))


def told(found: ShootPlan, code: str) -> str:
    return " ".join(w.text for w in found.warnings if w.code == code)


class TestTheWaistcoats:
    found = plan("waistcoats")

    def test_eighteen_required_views_and_their_details(self) -> None:
        assert len(self.found.required) == 18
        assert [s.feature for s in self.found.shots if s.is_detail] == [
            "embroidery",
            "back replaced",
            "maker's ticket",
            "quilting",
            "watch pocket added later",
        ]
        assert sum(s.view is View.SIDE_BY_SIDE for s in self.found.shots) == 4

    def test_two_places_of_the_camera_for_the_required_views(self) -> None:
        assert self.found.cameras == (Camera.OVERHEAD, Camera.LEVEL)

    def test_ten_touches_and_fewer_set_ups_than_in_catalogue_order(self) -> None:
        assert (self.found.order.touches, self.found.order.set_ups) == (10, 6)
        assert (self.found.catalogue_touches, self.found.catalogue_set_ups) == (20, 11)

    def test_no_dressing_before_all_flat_and_inside_work_of_both(self) -> None:
        steps = self.found.order.steps
        dressing = next(n for n, step in enumerate(steps) if step.touch is Touch.DRESS)
        assert all(step.camera in (Camera.LEVEL, Camera.LEVEL_CLOSE) for step in steps[dressing:] if step.shot)
        flat = [step for step in steps[:dressing] if step.shot]
        assert {step.shot.view for step in flat if step.shot} >= {View.FLAT_FACE, View.FLAT_REVERSE, View.INSIDE}
        assert {step.piece for step in flat} == {"30", "31"}

    def test_the_upper_piece_of_the_box_comes_out_first(self) -> None:
        laid = [step.piece for step in self.found.order.steps if step.touch is Touch.LAY]
        assert laid == ["31", "30"]

    def test_septimus_stands_on_the_form_of_80_and_barnaby_on_that_of_92(self) -> None:
        fits = {fit.piece: fit.padding for fit in self.found.fits}
        assert fits == {
            "30": Padding("chest", Decimal(80), Decimal(6)),
            "31": Padding("chest", Decimal(92), Decimal(2)),
        }

    def test_swapped_septimus_fails(self) -> None:
        book = house(forms=(Form("large form", Decimal(92)),))
        found = plan("waistcoats", book=book)
        assert {r.view for r in found.refused if r.piece == "30"} == {*FORM_VIEWS, View.SIDE_BY_SIDE}
        assert "its chest is 86 cm; with 2 cm for a form that is clearly smaller it needs one of 84 cm or less" in told(
            found, "view-refused"
        )

    def test_every_absence_and_alteration_is_a_point(self) -> None:
        gone = [point.text for point in self.found.points if point.gone]
        assert gone == [
            "back replaced, whole back: altered",
            "watch pocket added later, wearer's left front: altered",
            "back straps, waist: absent",
        ]

    def test_claims_are_said_with_their_confidence_and_superseded_ones_are_not(self) -> None:
        texts = [point.text for point in self.found.points]
        assert "cloth of the back: possibly of the 1870s" in texts
        assert "made: probably in 1845 or so" in texts
        assert not [text for text in texts if "1850s" in text]

    def test_eighteen_points_and_eighteen_holds_are_13_21(self) -> None:
        assert len(self.found.points) == 18
        assert self.found.run_seconds == 801

    def test_each_is_opened_on_its_back_and_then_turned(self) -> None:
        for id in ("30", "31"):
            touches = [step.touch for step in self.found.order.steps if step.piece == id and step.touch]
            assert touches == [Touch.LAY, Touch.OPEN, Touch.TURN, Touch.DRESS, Touch.BOX]

    def test_the_gate_before_turning_lists_what_can_only_be_seen_inside(self) -> None:
        gate = next(g for g in self.found.gates if (g.piece, g.touch) == ("30", Touch.TURN))
        assert [shot.words for shot in gate.shots] == ["inside", "detail: maker's ticket, below the neck"]
        assert [point.text for point in gate.points] == ["maker's ticket, below the neck"]

    def test_every_point_and_every_shot_is_in_exactly_one_gate(self) -> None:
        points = [point.id for gate in self.found.gates for point in gate.points]
        assert sorted(points) == sorted(point.id for point in self.found.points)
        shots = [shot.id for gate in self.found.gates for shot in gate.shots]
        assert sorted(shots) == sorted(shot.id for shot in self.found.shots)


class TestTheDanceFrock:
    found = plan("dance-frock")

    def test_three_basic_views_and_no_form_view(self) -> None:
        assert [shot.view for shot in self.found.required] == [View.FLAT_FACE, View.FLAT_REVERSE, View.INSIDE]
        assert {item.view for item in self.found.refused} == FORM_VIEWS
        assert all(item.instead for item in self.found.refused)

    def test_cautions_of_people_weight_and_heat(self) -> None:
        texts = " ".join(caution.text for caution in self.found.cautions)
        assert "2 people move it" in texts
        assert "2.1 kg" in texts
        assert "30 s under hot lamps can harm" in texts

    def test_a_moving_small_source_for_sequins_with_the_conflict_named(self) -> None:
        for item in self.found.set_ups:
            assert "small source, moved slowly" in item.cues.cues
            assert len(set(item.cues.cues)) == len(item.cues.cues)
            assert any("sheer and beadwork" in clash for clash in item.cues.conflicts)

    def test_the_tea_gown_on_it_is_lifted_out_and_put_back_and_each_touch_of_the_two_counts_double(self) -> None:
        touches = [(step.piece, step.touch) for step in self.found.order.steps if step.touch]
        assert touches[:2] == [("08", Touch.LIFT), ("33", Touch.LAY)]
        assert touches[-2:] == [("33", Touch.BOX), ("08", Touch.BOX)]
        assert self.found.order.weighted == 2 * self.found.order.touches == 12


def test_the_skating_jackets_absent_belt_is_said_but_not_filmed() -> None:
    found = plan("skating-jacket")
    assert not [shot for shot in found.shots if shot.feature == "belt"]
    assert [p.text for p in found.points if p.gone] == [
        "sleeve linings swapped left for right, both sleeves: altered",
        "belt, waist: absent",
    ]


def test_a_detail_of_no_one_view_is_taken_where_it_saves_a_set_up() -> None:
    """The apron's pencil loop can be seen flat and on the form; the stamp only flat: both are taken flat."""
    found = plan("apron")
    close = [step.camera for step in found.order.steps if step.shot and step.shot.is_detail]
    assert close == [Camera.OVERHEAD_CLOSE] * 2


@pytest.mark.parametrize("measured", ["", "length"])
def test_a_piece_without_a_measure_gets_no_form(measured: str) -> None:
    found = plan("apron", book=changed("29", measurements=(Measurement(measured, Decimal(90), "cm"),) * bool(measured)))
    assert not found.fits
    assert "its chest is not measured; measure it as the piece lies" in told(found, "view-refused")


def test_what_may_be_shown_gets_no_shot_but_a_point() -> None:
    book = changed("29", features=(Feature("hem", importance=3), Feature("trace of a pin", presence=Presence.TRACE)))
    found = plan("apron", book=book)
    assert [shot.feature for shot in found.shots if shot.is_detail] == ["trace of a pin"]
    assert [point.text for point in found.points][:2] == ["hem", "trace of a pin: only a trace is left"]


def test_features_of_one_name_stay_apart() -> None:
    twins = (Feature("button", "left"), Feature("button", "right"), Feature("button", "right"))
    found = plan("apron", book=changed("29", features=twins, claims=()))
    assert len({shot.id for shot in found.shots}) == len(found.shots)
    assert len({point.id for point in found.points}) == 3


def test_kinds_that_go_on_no_form_have_no_form_views_and_no_refusal() -> None:
    book = changed("29", kind="bonnet")
    found = plan("apron", book=book)
    around = [View.FRONT, View.LEFT, View.RIGHT, View.BACK]
    assert [shot.view for shot in found.required] == [*around, View.TOP, View.INSIDE]
    assert not found.refused
    assert not plan("apron", book=changed("29", kind="feather boa")).cameras.count(Camera.LEVEL)


def test_a_piece_that_is_never_turned_has_its_reverse_said() -> None:
    found = plan("apron", book=changed("29", handling=Handling(no_turning=True)))
    assert View.FLAT_REVERSE not in [shot.view for shot in found.required]
    assert "it is never turned" in told(found, "view-refused")
    assert Touch.TURN not in [step.touch for step in found.order.steps]


# Forms and tables


def test_two_pieces_and_one_form_are_not_side_by_side_on_forms() -> None:
    found = plan("waistcoats", book=house(forms=(Form("small form", Decimal(80)),)))
    assert "2 dress forms are needed at once and 1 is owned" in told(found, "view-refused")
    assert not [shot for shot in found.shots if shot.beside]
    assert len(found.required) == 14


def test_with_two_tables_a_pair_that_stays_flat_is_shown_side_by_side_flat() -> None:
    limits = Handling(flat_only=True)
    book = changed("30", handling=limits).put("pieces", replace(BOOK.piece("31"), handling=limits))
    one = plan("waistcoats", book=book)
    assert "1 table holds one of them at a time" in told(one, "view-refused")
    two = plan("waistcoats", book=replace(book, house=replace(book.house, tables=2)))
    (both,) = [shot for shot in two.shots if shot.beside]
    assert both.aspect is View.FLAT_FACE
    assert not [r for r in two.refused if r.view is View.SIDE_BY_SIDE]


def test_without_forms_there_are_no_form_views() -> None:
    found = plan("waistcoats", book=house(forms=()))
    assert "no dress form is owned" in told(found, "view-refused")
    assert len(found.required) == 6


@pytest.mark.parametrize(
    ("chest", "good"), [("80", False), ("81.99", False), ("82", True), ("79", False), ("92", True)]
)
def test_a_form_must_be_clearly_smaller_than_the_piece(chest: str, good: bool) -> None:
    """Artlab/AMOL reCollections: choose a form smaller than the piece and pad it."""
    book = changed("34", measurements=(Measurement("chest", Decimal(chest), "cm"),))
    found = plan("bathing-costume", book=book)
    assert bool(found.fits) is good
    if good:
        assert found.fits[0].padding == Padding("chest", Decimal(80), Decimal(chest) - 80)


# What is refused


@pytest.mark.parametrize(
    ("book", "studies", "sentence"),
    [
        (BOOK, ("nosuch",), "the book holds no episode 'nosuch'; choose one that it holds."),
        (BOOK, (), "shoot: no study is named; name one."),
        (BOOK, ("diary-2026-03-04",), "it is filler and has no pieces to film; choose a study."),
        (
            BOOK.put("episodes", replace(BOOK.episode("apron"), pieces=())),
            ("apron",),
            "it shows no piece; put a piece into it first.",
        ),
        (house(tables=0), ("apron",), "there is no table to lay a piece on; film fewer pieces at once"),
        (
            replace(
                changed("33", handling=Handling(flat_only=True)),
                house=replace(BOOK.house, standard_views=(View.FORM_FRONT, View.FORM_BACK)),
            ).put("pieces", replace(BOOK.piece("33"), features=())),
            ("dance-frock",),
            "no view of it may be filmed: form front (it stays flat) and form back (it stays flat); change its limits",
        ),
    ],
)
def test_a_shoot_that_cannot_be_is_refused_in_one_sentence(book: Book, studies: tuple[str, ...], sentence: str) -> None:
    with pytest.raises((BadInput, UnknownThing)) as caught:
        plan(*studies, book=book)
    assert sentence in caught.value.sentence()
    assert caught.value.sentence().count("\n") == 0


# Filming studies together


def test_a_batch_saves_the_rigging_and_keeps_to_the_day() -> None:
    found = plan("apron", "skating-jacket")
    assert (found.batch.minutes, found.batch.saved_minutes, found.batch.together_minutes) == (480, 60, 420)
    assert found.order.touches == 10 + 2 * 4  # four lie on the jacket in its box
    assert len(found.run_times) == 2
    assert found.run_seconds == sum(plan(id).run_seconds for id in ("apron", "skating-jacket"))


def test_a_batch_beyond_a_day_is_refused_with_the_hours() -> None:
    with pytest.raises(BadInput, match=r"together they take 7 h, 1 h more than you film in a day \(6 h\)"):
        plan("apron", "skating-jacket", book=house(shoot_cap_minutes=360))


def test_one_study_beyond_a_day_is_warned_of() -> None:
    assert "4 h of filming are more than" in told(plan("apron", book=house(shoot_cap_minutes=180)), "fatigue")


def test_a_study_named_twice_is_filmed_once() -> None:
    assert plan("apron", "apron").studies == ("apron",)


# Light and touches of the year


def test_two_hours_at_1500_lux_exceed_by_600_and_96_minutes_are_offered() -> None:
    book = changed("33", exposures=(Exposure(date(2026, 1, 5), 12_600),))
    found = plan("dance-frock", book=book, lux=1_500, seconds=2 * 3600)
    assert found.light[0].exceeds_by == 600
    assert found.light[0].minutes_left == 96
    assert "exceed the limit by 600 lux hours: film at most 96 minutes" in told(found, "light-limit")


def test_more_touches_a_year_than_the_house_allows_are_warned_of() -> None:
    book = changed("33", exposures=(Exposure(date(2026, 1, 5), 0, 17), Exposure(date(2025, 1, 5), 0, 99)))
    assert "21 touches this year with this shoot, 1 more than the 20" in told(plan("dance-frock", book=book), "touches")


def test_details_in_place_need_no_set_up_of_their_own() -> None:
    found = plan("waistcoats", book=house(details_in_place=True))
    assert found.order.set_ups == 2
    assert len(found.shots) == 23


# Properties

LIMITS = st.builds(
    Handling, flat_only=st.booleans(), no_turning=st.booleans(), no_hanging=st.booleans(), people=st.integers(1, 2)
)
FEATURES = st.lists(
    st.builds(
        Feature,
        st.sampled_from(("hem", "tuck", "ticket", "pocket")),
        view=st.sampled_from(View),
        importance=st.integers(1, 3),
        presence=st.sampled_from(Presence),
        altered=st.booleans(),
    ),
    max_size=4,
).map(tuple)


@pytest.mark.slow
@given(one=LIMITS, two=LIMITS, features=FEATURES, more=FEATURES, tables=st.integers(1, 2), forms=st.integers(0, 2))
def test_whatever_the_limits_nothing_forbidden_is_filmed_and_nothing_is_lost(
    one: Handling, two: Handling, features: tuple[Feature, ...], more: tuple[Feature, ...], tables: int, forms: int
) -> None:
    book = changed("30", handling=one, features=features)
    book = book.put("pieces", replace(BOOK.piece("31"), handling=two, features=more))
    book = replace(book, house=replace(book.house, tables=tables, forms=book.house.forms[:forms]))
    found = plan("waistcoats", book=book)
    for piece in ("30", "31"):
        limits = book.piece(piece).handling
        touches = [step.touch for step in found.order.steps if step.piece == piece and step.touch]
        assert len(set(touches)) == len(touches)
        assert touches[0] is Touch.LAY
        assert touches[-1] is Touch.BOX
        assert not (limits.flat_only and Touch.DRESS in touches)
        assert not (limits.no_turning and Touch.TURN in touches)
    taken = [step.shot.id for step in found.order.steps if step.shot]
    assert sorted(taken) == sorted(shot.id for shot in found.shots)
    gone = [f for f in (*features, *more) if f.altered or f.presence is not Presence.PRESENT]
    assert sum(point.gone for point in found.points) == len(gone)
    assert (found.order.touches, found.order.set_ups) <= (found.catalogue_touches, found.catalogue_set_ups)
    assert [shot for item in found.set_ups for shot in item.shots] == [s.shot for s in found.order.steps if s.shot]


@given(st.permutations(("29", "32", "34")))
def test_the_order_of_the_book_decides_and_not_that_of_the_asking(order: list[str]) -> None:
    studies = {"29": "apron", "32": "skating-jacket", "34": "bathing-costume"}
    book = house(shoot_cap_minutes=1440)
    asked = plan(*(studies[id] for id in order), book=book)
    plain = plan("apron", "skating-jacket", "bathing-costume", book=book)
    assert (asked.order.weighted, asked.order.set_ups) == (plain.order.weighted, plain.order.set_ups)


def test_a_piece_is_named_as_one_calls_it_at_the_table() -> None:
    from showrunner.shoot_record import short_name

    assert short_name(BOOK.piece("30")) == "Septimus"
    assert short_name(Piece("1", "Tennis dress", "c")) == "Tennis dress"
    assert short_name(Piece("1", "an odd “name", "c")) == "an odd “name"


@pytest.mark.parametrize(
    ("kind", "on_form", "warned"),
    [("cape", True, False), ("infant gown", False, False), ("child's cape", False, False), ("comb", False, False)],
)
def test_a_kind_is_told_by_whole_words(kind: str, on_form: bool, warned: bool) -> None:
    found = plan("skating-jacket", book=changed("32", kind=kind, name="Thing"))
    assert ({s.view for s in found.shots} >= FORM_VIEWS) is on_form
    assert bool(told(found, "kind-unknown")) is warned


def test_what_is_of_no_known_kind_goes_on_no_form_and_that_is_told() -> None:
    found = plan("skating-jacket", book=changed("32", kind="zorble", name="Thing"))
    assert not FORM_VIEWS & {s.view for s in found.shots}
    assert told(found, "kind-unknown").startswith("Thing: “zorble” is no kind known here, so it is filmed flat only")
    nameless = plan("skating-jacket", book=changed("32", kind="", name="Thing"))
    assert told(nameless, "kind-unknown").startswith("Thing: it has no kind")
    named = plan("skating-jacket", book=changed("32", kind="", name="Skating jacket"))
    assert not told(named, "kind-unknown")


@pytest.mark.parametrize(
    ("forms", "limits", "told_of"),
    [
        ((), Handling(), "no head stand is owned, so it is filmed on a padded tray"),
        ((Form("head stand", sort=Held.HEAD),), Handling(), ""),
        ((Form("head stand", sort=Held.HEAD),), Handling(flat_only=True), "it stays flat, so it is filmed on a padded"),
    ],
)
def test_headwear_stands_on_its_stand_or_a_tray(forms: tuple[Form, ...], limits: Handling, told_of: str) -> None:
    book = changed("29", kind="bonnet", handling=limits)
    found = plan("apron", book=replace(book, house=replace(book.house, forms=forms)))
    assert told_of in told(found, "no-stand")
    assert bool(told(found, "no-stand")) is bool(told_of)
    dressed = [step.touch for step in found.order.steps].count(Touch.DRESS)
    assert dressed == (not told_of)
    assert [fit.padding for fit in found.fits] == [None] * dressed


def test_no_other_thing_is_told_of_a_tray() -> None:
    assert not told(plan("apron", book=changed("29", kind="shoes")), "no-stand")
    assert not told(plan("apron", book=changed("29", kind="hat block")), "no-stand")


def test_what_is_of_no_known_layer_lies_under_nothing() -> None:
    touches = [step.touch for step in plan("skating-jacket", book=changed("32", layer=None)).order.steps]
    assert Touch.LIFT not in touches
    other = changed("36", layer=None).put("pieces", replace(BOOK.piece("23"), layer=None))
    lifted = [step.piece for step in plan("skating-jacket", book=other).order.steps if step.touch is Touch.LIFT]
    assert lifted == ["35", "21", "24"]


def test_what_is_of_no_known_kind_has_its_two_faces_and_no_more() -> None:
    found = plan("skating-jacket", book=changed("32", kind="zorble", name="Thing"))
    assert [shot.view for shot in found.required] == [View.FLAT_FACE, View.FLAT_REVERSE]


def test_until_it_is_measured_the_light_is_that_of_all_the_hours_of_the_shoot() -> None:
    found = plan("apron")
    assert found.light[0].seconds == found.batch.minutes * 60 == 4 * 3600


@pytest.mark.parametrize("study", ["waistcoats", "skating-jacket", "dance-frock"])
def test_the_set_ups_hold_every_step_in_order_and_each_begins_with_what_leads_to_its_first_shot(study: str) -> None:
    found = plan(study)
    assert [step for item in found.set_ups for step in item.steps] == list(found.order.steps)
    assert [item.number for item in found.set_ups] == list(range(1, found.order.set_ups + 1))
    for item in found.set_ups:
        assert {step.camera for step in item.steps if step.shot} == {item.camera}
    for item in found.set_ups[:-1]:
        assert item.steps[-1].shot


@pytest.mark.parametrize(
    ("kind", "view", "touch"),
    [
        ("jacket", View.FORM_BACK, Touch.TURN),  # it stays flat: the side that the back is on
        ("jacket", View.FORM_LEFT, Touch.LAY),
        ("jacket", View.SOLE, Touch.LAY),
        ("jacket", View.INSIDE, Touch.OPEN),
        ("shawl", View.INSIDE, Touch.LAY),  # it has none: where its first side is seen
        ("shawl", View.FORM_BACK, Touch.TURN),
        ("pair of shoes", View.INSIDE, Touch.LAY),
        ("pair of shoes", View.SOLE, Touch.TURN),
        ("fan", View.FLAT_REVERSE, Touch.TURN),
        ("fan", View.FLAT_FACE, Touch.LAY),
        ("glove", View.BACK, Touch.LAY),
        ("glove", View.PALM, Touch.TURN),
    ],
)
def test_where_a_feature_is_seen_on_each_sort_of_thing(kind: str, view: View, touch: Touch) -> None:
    feature = Feature("mark", view=view, importance=1)
    book = changed("34", kind=kind, name="Thing", features=(feature,), handling=Handling(flat_only=True))
    (detail,) = [shot for shot in plan("bathing-costume", book=book).shots if shot.is_detail]
    assert [place.phase for way in detail.ways for place in way.needs] == [touch]


def test_two_hats_side_by_side_need_two_stands_or_two_tables() -> None:
    book = changed("30", kind="bonnet").put("pieces", replace(BOOK.piece("31"), kind="cap"))

    def beside(**rules: object) -> list[View | None]:
        found = plan("waistcoats", book=replace(book, house=replace(book.house, **rules)))
        return [shot.aspect for shot in found.shots if shot.beside]

    stands = tuple(Form(f"head stand {n}", sort=Held.HEAD) for n in (1, 2))
    around = [View.FRONT, View.LEFT, View.RIGHT, View.BACK, View.TOP]
    assert beside(forms=stands) == around
    assert beside(forms=(), tables=2) == [View.FRONT]
    assert beside(forms=(), tables=1) == []
    assert beside(forms=stands[:1], tables=2) == []


def test_of_two_forms_that_fit_the_one_that_needs_less_padding_is_taken_whichever_is_listed_first() -> None:
    book = changed("34", measurements=(Measurement("chest", Decimal(100), "cm"),))
    for forms in (BOOK.house.forms, BOOK.house.forms[::-1]):
        (fit,) = plan("bathing-costume", book=replace(book, house=replace(book.house, forms=forms))).fits
        assert (fit.form, fit.padding) == ("large form", Padding("chest", Decimal(92), Decimal(8)))


@pytest.mark.parametrize(("kind", "opened"), [("fan", False), ("gloves", False), ("jacket", True), ("handbag", True)])
def test_only_what_has_to_be_spread_to_be_opened_stays_closed_if_brittle(kind: str, opened: bool) -> None:
    brittle = (Condition(date(2026, 1, 5), "all", "brittle"),)
    book = changed("34", kind=kind, name="Thing", condition=brittle, handling=Handling(flat_only=True), features=())
    found = plan("bathing-costume", book=book)
    assert (Touch.OPEN in [step.touch for step in found.order.steps]) is opened
    assert ("it is brittle and is never opened" in told(found, "view-refused")) is not opened
