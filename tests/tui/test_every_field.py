"""Each field of each record of the book has a place on a screen where it is changed, or a reason why nobody changes it.

The table names the screen, the keys and the line of the form; each form is opened by its keys and must have its lines.
A new field that stands in neither table fails here.
"""

from __future__ import annotations

import shutil
import typing
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from keys import settle
from textual.widgets import Input
from workroom_books import one_of_everything

from showrunner.demo_book import demo_path
from showrunner.domain.book import Book
from showrunner.session import Session
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.choice_line import ChoiceLine
from showrunner.tui.dialogs import ChooseDialog, FormDialog
from showrunner.tui.house_list import LISTS

REGISTER, LEDGER, WANTS = "1", "2", "5"

PLACES: dict[str, dict[str, tuple[str, ...]]] = {
    # by the keys that lead to a form: record.field for each of its lines that are named
    "1 e": {
        "name": ("Piece.name",),
        "collection": ("Piece.collection",),
        "kind": ("Piece.kind",),
        "made": ("Piece.made",),
        "acquired": ("Piece.acquired",),
        "materials": ("Piece.materials",),
        "box": ("Piece.box",),
        "layer": ("Piece.layer",),
        "measurements": ("Piece.measurements", "Measurement.what", "Measurement.value", "Measurement.unit"),
        "opens": ("Piece.opens",),
        "limits": (
            *("Piece.handling", "Handling.flat_only", "Handling.no_hanging", "Handling.no_turning"),
            *("Handling.board", "Handling.form_minutes", "Handling.notes"),
        ),
        "people": ("Handling.people",),
        "light": ("Piece.light",),
        "hazards": ("Piece.hazards",),
        "points": ("Piece.points",),
        "before": ("Piece.acquired_before",),
        "after": ("Piece.acquired_after",),
        "photographs": ("Piece.photographs",),
        "notes": ("Piece.notes",),
    },
    "1 a": {"id": ("Piece.id",)},
    "1 m": {
        "known": ("Piece.shown", "Shown.known"),
        "odds": ("Shown.odds_unshown",),
        "evidence": ("Shown.evidence",),
        "when": ("Shown.when",),
    },
    "1 E feature": {
        "what": ("Piece.features", "Feature.what"),
        "where": ("Feature.where",),
        "view": ("Feature.view",),
        "importance": ("Feature.importance",),
        "presence": ("Feature.presence",),
        "altered": ("Feature.altered",),
    },
    "1 E condition": {
        "day": ("Piece.condition", "Condition.day"),
        "place": ("Condition.place",),
        "text": ("Condition.text",),
    },
    "1 E exposure": {
        "day": ("Piece.exposures", "Exposure.day"),
        "lux": ("Exposure.lux_hours",),
        "touches": ("Exposure.touches",),
        "what": ("Exposure.what",),
    },
    "1 c": {
        "about": ("Piece.claims", "Claim.about"),
        "value": ("Claim.value",),
        "confidence": ("Claim.confidence",),
        "basis": ("Claim.basis",),
        "judged": ("Claim.judged",),
    },
    "2 study e": {
        "title": ("Episode.title",),
        "pieces": ("Episode.pieces",),
        "series": ("Episode.series",),
        "stage0": ("Episode.stages", "StageMinutes.research"),
        "done": ("Episode.done",),
        "run": ("Episode.run_seconds",),
        "notes": ("Episode.notes",),
    },
    "2 study x": {
        "windows": ("Episode.windows", "Window.first", "Window.last", "Window.hard", "Window.yearly"),
    },
    "2 k e": {"hours": ("Episode.worked", "Worked.minutes"), "on": ("Worked.day",), "done": ("Worked.stage",)},
    "2 study c t": {"title": ("Episode.package", "Package.title")},
    "2 study c l": {"related": ("Package.related",)},
    "h hours": {
        "zone": ("HouseRules.zone",),
        "presenter": ("HouseRules.presenter",),
        "hours": ("HouseRules.work_minutes",),
        "lead": ("HouseRules.lead_days",),
        "warning": ("HouseRules.warning_lead_weeks",),
    },
    "h extra": {"extra": ("HouseRules.extra_work", "ExtraWork.day", "ExtraWork.minutes")},
    "h workroom": {
        "tables": ("HouseRules.tables",),
        "forms": (
            *("HouseRules.forms", "Form.name", "Form.chest_cm", "Form.sort"),
            *("Form.waist_cm", "Form.hip_cm", "Form.back_cm"),
        ),
        "ease": ("HouseRules.ease_cm",),
        "smaller": ("HouseRules.form_smaller_cm",),
        "padding": ("HouseRules.most_padding_cm",),
        "lux": ("HouseRules.lamp_lux",),
        "place": ("HouseRules.latitude", "HouseRules.longitude"),
        "until": ("HouseRules.film_until",),
        "cap": ("HouseRules.shoot_cap_minutes",),
        "rig": ("HouseRules.rig_minutes",),
        "touches": ("HouseRules.touches_a_year",),
        "details": ("HouseRules.details_in_place",),
    },
    "h times": {
        "opening_seconds": ("HouseRules.opening_seconds",),
        "point_seconds": ("HouseRules.point_seconds",),
        "hold_seconds": ("HouseRules.hold_seconds",),
        "closing_seconds": ("HouseRules.closing_seconds",),
    },
    "h package": {
        "least_chapters": ("HouseRules.least_chapters",),
        "chapter_seconds": ("HouseRules.chapter_seconds",),
        "most_pointing": ("HouseRules.most_pointing",),
        "posts_a_day": ("HouseRules.posts_a_day",),
    },
    "h light": {"limit": ("HouseRules.light_classes", "LightClass.limit_lux_hours")},
    "h collections": {
        "name": ("Collection.name",),
        "kind": ("Collection.kind",),
        "closed": ("Collection.closed",),
        "currency": ("Collection.currency",),
        "budget": ("Collection.budget",),
        "shelf": ("Collection.shelf_cm",),
        "opens": ("Collection.opens_with",),
        "weeks": ("Collection.preparation_weeks",),
    },
    "h boxes": {
        "name": ("Box.name",),
        "where": ("Box.where",),
        "depth": ("Box.depth_cm",),
        "most": ("Box.most_kg",),
        "refolded": ("Box.refolded",),
        "months": ("Box.refold_months",),
    },
    "h boxes new": {"id": ("Box.id",)},
    "h supporters": {
        "name": ("Supporter.name",),
        "consent": ("Supporter.consent",),
        "first": ("Supporter.first",),
        "last": ("Supporter.last",),
        "say": ("Supporter.say",),
    },
    "h promises": {"reason": ("Pin.reason",)},
    "h dark": {
        "first": ("DarkRange.first",),
        "last": ("DarkRange.last",),
        "what": ("DarkRange.no_work", "DarkRange.no_publication"),
        "reason": ("DarkRange.reason",),
    },
    "h fillers": {
        "title": ("Episode.title",),
        "finished": ("Episode.finished",),
        "idea": ("Episode.idea_of",),
        "notes": ("Episode.notes",),
    },
    "h links": {"link": ("Publication.link",)},
    "h slot": {
        "name": ("SlotRule.name",),
        "since": ("SlotRule.earlier", "EarlierTimes.until"),
        "weekday": ("SlotRule.weekday", "EarlierTimes.weekday"),
        "at": ("SlotRule.at", "EarlierTimes.at"),
        "zone": ("SlotRule.zone", "EarlierTimes.zone"),
        "standing": ("SlotRule.standing_minutes", "EarlierTimes.standing_minutes"),
        "first": ("SlotRule.first",),
        "last": ("SlotRule.last",),
    },
    "h series": {
        "name": ("Series.name",),
        "collection": ("Series.collection",),
        "rules": ("Series.rules",),
        "min": ("Series.min_weeks",),
        "target": ("Series.target_weeks",),
        "max": ("Series.max_weeks",),
        "stage0": ("Series.stages", "StageMinutes.research"),
        "stage1": ("StageMinutes.condition_check",),
        "stage2": ("StageMinutes.shoot",),
        "stage3": ("StageMinutes.edit",),
        "stage4": ("StageMinutes.captions",),
        "stage5": ("StageMinutes.package",),
        "page": ("Series.page",),
    },
    "5 e": {
        "ceiling": ("Piece.want", "Want.ceiling"),
        "carriage": ("Want.carriage",),
        "expected": ("Want.expected",),
        "width": ("Want.width_cm",),
        "currency": ("Want.currency",),
        "rate": ("Want.rate", "Rate.value", "Rate.day"),
        "condition": ("Want.condition",),
        "preparation": ("Want.preparation_minutes",),
        "since": ("Want.history", "WantStep.day"),
    },
    "5 o": {"paid": ("Want.paid",), "day": ("Want.status", "WantStep.status")},
    "5 B store": {
        "supplies": ("HouseRules.supplies", "Supply.name", "Supply.on_hand", "Supply.reorder_at", "Supply.counted"),
    },
}
"""Keys that open a form, its lines, and the fields that each of them changes."""

ELSEWHERE = {
    "HouseRules.habit": "a on a plan: how it was made",
    "Habit.kept": "a on a plan",
    "Habit.unsure": "a on a plan, n before it",
    "HouseRules.description": "h, the template: a text of several lines",
    "HouseRules.standard_views": "h, views: Enter films one or leaves it out",
    "HouseRules.kinds": "i on the Register, and h, kinds",
    "LikeKind.word": "the kind of a piece: e on the Register",
    "LikeKind.like": "i on the Register",
    "Episode.slot": "m on the Ledger",
    "Episode.published": "y on the Ledger",
    "Episode.rule": "R on the Ledger, a: an idea for a slot; h, episodes that are no studies",
    "SlotRef.day": "m on the Ledger",
    "SlotRef.rule": "m on the Ledger",
    "SlotRule.left_out": "d on the Ledger",
    "SlotRule.added": "d on the Ledger",
    "Series.listed": "p in the package",
    "Package.description": "e in the package: a text of several lines",
    "Package.chapters": "c in the package: a text of several lines",
    "Chapter.seconds": "c in the package",
    "Chapter.title": "c in the package",
    "Package.stills": "m in the package",
    "Still.piece": "m in the package",
    "Still.what": "m in the package",
    "Still.alt": "m in the package",
    "Still.posted": "m in the package",
    "Package.corrected": "d in the package",
    "Corrected.piece": "d in the package",
    "Corrected.about": "d in the package",
    "Corrected.value": "d in the package",
    "Corrected.done": "d in the package",
    "Package.captions": "v in the package",
    "Package.captions_digest": "v in the package",
    "Package.heard": "v in the package",
    "Heard.point": "v in the package",
    "Heard.seconds": "v in the package",
    "Chapter.opening": "v in the package",
    "Chapter.part": "v in the package",
    "Pin.kind": "i and o on the Ledger, P on the Register",
    "Pin.episodes": "i and o on the Ledger",
    "Pin.slot": "i on the Ledger",
    "Pin.pieces": "P on the Register",
    "Publication.title": "y on the Ledger; a line of the record stays as it is",
    "Publication.rule": "y on the Ledger; a line of the record stays as it is",
    "Publication.planned": "y on the Ledger; a line of the record stays as it is",
    "Publication.actual": "y on the Ledger; a line of the record stays as it is",
    "Publication.episode": "y on the Ledger; a line of the record stays as it is",
    "Publication.series": "y on the Ledger; a line of the record stays as it is",
    "Shoot.studies": "Enter on the Set-up",
    "Shoot.begun": "Enter on the Set-up",
    "Shoot.closed": "z on the Set-up",
    "LogLine.*": "the keys of the Set-up; a line of the log stays as it is",
    "Wording.*": "c on a file that is brought in",
}
"""Fields that are changed by other keys than those of a form."""

BY_ITSELF = {
    "Book.key": "made with the book",
    "Book.clock": "the day of a demonstration",
    "Package.made": "the words that the book had when she wrote hers",
    "Episode.id": "its calendar entries are known by it",
    "Episode.kind": "a study stays one",
    "Episode.estimate_seconds": "worked out when its shoot is closed",
    "Shoot.estimate_seconds": "worked out when it is closed",
    "Measurement.entered": "as it was typed",
    "Claim.superseded": "by a later claim",
    "Claim.study": "where it was found",
    "Claim.found": "when it was found",
    "Condition.shoot": "before or after which shoot",
    "Condition.after": "before or after it",
    "Exposure.shoot": "of which shoot",
    "LightClass.name": "the classes of the published limits",
    "DarkRange.busy_uid": "of the calendar it came from",
    "BusyDay.*": "read from other calendars",
    "FuzzyDate.*": "worked out from what is typed",
    "CalendarEntry.*": "what calendars were told",
    **{
        f"{name}.id": "made once"
        for name in ["Collection", "Shoot", "Series", "SlotRule", "DarkRange", "Pin", "Publication"]
    },
    "Supporter.id": "made once",
}
"""Fields that nobody changes, and why."""


def records() -> Iterator[tuple[str, str]]:
    """Each record that a book is made of, with each of its fields."""
    waiting, seen = [Book], {Book}
    while waiting:
        kind = waiting.pop()
        for field, hint in typing.get_type_hints(kind).items():
            if field not in {one.name for one in fields(kind)}:
                continue
            for part in parts(hint):
                if is_dataclass(part) and part not in seen:
                    seen.add(part)
                    waiting.append(part)
            yield kind.__name__, field


def parts(hint: Any) -> Iterator[Any]:
    """The types within a type."""
    yield hint
    for part in typing.get_args(hint):
        yield from parts(part)


def test_each_field_of_the_book_has_a_place_or_a_reason() -> None:
    placed = {name for form in PLACES.values() for told in form.values() for name in told}
    known = placed | set(ELSEWHERE) | set(BY_ITSELF)
    there = set(records())
    tables = {f"Book.{field.name}" for field in fields(Book)} - {"Book.key", "Book.clock"}
    names = {f"{kind}.{field}" for kind, field in there}
    lost = sorted(name for name in names - known - tables if f"{name.split('.')[0]}.*" not in known)
    assert not lost, "no screen changes these, and no reason is given"
    gone = [name for name in sorted(known) if not name.endswith(".*") and name not in names]
    assert not gone, "these are no fields of the book"
    twice = sorted((set(ELSEWHERE) | set(BY_ITSELF)) & placed)
    assert not twice


@pytest.fixture
def full(tmp_path: Path) -> Iterator[ShowrunnerApp]:
    """The application on the demo, with at least one of everything."""
    shutil.copy(demo_path(), tmp_path / "book.json")
    with Session.open(tmp_path / "book.json") as session:
        session.do("one of everything", one_of_everything)
        yield ShowrunnerApp(session)


async def open_form(app: ShowrunnerApp, pilot: Any, path: str) -> FormDialog:
    """The form that some keys lead to, all its lines unfolded."""
    words = path.split()
    if words[0] == "h":
        await pilot.press("2", "h")
        await settle(pilot)
        book = app.session.book
        first = {"slot": f"rule {book.rules[0].id}", "series": f"one {book.series[0].id}"}.get(words[1], words[1])
        await choose(app, pilot, first)
        if words[1] in LISTS and words[1] != "series":
            await choose(app, pilot, "edit " if words[-1] == "new" else None)
    else:
        await pilot.press(words[0])
        await settle(pilot)
        for word in words[1:]:
            if word == "study":
                await to_a_study(app, pilot)
            elif isinstance(app.screen, ChooseDialog):
                keys = [value for value, _ in app.screen.options]
                await choose(app, pilot, next(key for key in keys if word in key))
            else:
                await pilot.press(word)
                await settle(pilot)
    assert isinstance(app.screen, FormDialog), path
    await pilot.press("f2")
    await settle(pilot)
    return app.screen


async def choose(app: ShowrunnerApp, pilot: Any, key: str | None) -> None:
    """Take one of a list: by its key, or the last one."""
    assert isinstance(app.screen, ChooseDialog)
    keys = [value for value, _ in app.screen.options]
    app.screen.dismiss(keys[-1] if key is None else key)
    await settle(pilot)


async def to_a_study(app: ShowrunnerApp, pilot: Any) -> None:
    """Put the cursor of the Ledger on a study."""
    slot = next(one.slot for one in app.session.book.open_studies if one.slot)
    app.screen._to_slot(slot)  # type: ignore[attr-defined]
    await settle(pilot)


@pytest.mark.slow
@pytest.mark.parametrize("path", PLACES)
async def test_the_form_has_the_lines_that_are_said(full: ShowrunnerApp, path: str) -> None:
    async with full.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        form = await open_form(full, pilot, path)
        there = {field.name for field in form.fields}
        assert set(PLACES[path]) <= there
        for name in PLACES[path]:
            assert form.query_one(f"#f-{name}").display
            assert form.query_one(f"#l-{name}").display


ADD = {"1 a", "1 m", "1 c", "2 k e", "5 o", "h boxes new"}
"""Forms that add something, or settle it."""


@pytest.mark.slow
@pytest.mark.parametrize("path", [path for path in PLACES if path not in ADD])
async def test_a_form_saved_as_it_was_changes_nothing(full: ShowrunnerApp, path: str) -> None:
    before = full.session.book
    async with full.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        form = await open_form(full, pilot, path)
        form.finish()
        await settle(pilot)
        assert form.finished, path
    assert full.session.book == before


CHANGES = {
    "h collections": ({"name": "Robes", "closed": "no"}, lambda b: (b.collections[-1].name, b.collections[-1].closed)),
    "h boxes": ({"name": "chest", "where": "loft"}, lambda b: (b.boxes[-1].name, b.boxes[-1].where)),
    "h boxes new": ({"id": "Z 9", "name": "shelf"}, lambda b: (b.boxes[-1].id, b.boxes[-1].name)),
    "h supporters": ({"say": "EYE-da", "name": "Ida M"}, lambda b: (b.supporters[-1].say, b.supporters[-1].name)),
    "h promises": ({"reason": "Ida asked"}, lambda b: (b.pins[-1].reason,)),
    "h dark": ({"reason": "snow"}, lambda b: (b.dark[-1].reason,)),
    "h fillers": ({"title": "Hemming"}, lambda b: (next(e.title for e in b.episodes if e.title == "Hemming"),)),
    "h light": ({"limit": "777"}, lambda b: (str(b.house.light_classes[-1].limit_lux_hours),)),
    "h slot": ({"last": "24 Dec 2030"}, lambda b: (f"{b.rules[0].last:%-d %b %Y}",)),
    "h series": ({"page": "x.example/a"}, lambda b: (b.series[0].page,)),
    "1 E feature": ({"where": "yoke"}, lambda b: (b.pieces[0].features[-1].where,)),
    "1 E condition": ({"text": "one tear"}, lambda b: (b.pieces[0].condition[-1].text,)),
    "1 E exposure": ({"what": "a visit"}, lambda b: (b.pieces[0].exposures[-1].what,)),
    "2 study c t": ({"title": "Our apron"}, lambda b: (next(e.package.title for e in b.episodes if e.package.title),)),
}
"""What is typed into some forms, and where the book then has it."""


@pytest.mark.slow
@pytest.mark.parametrize("path", CHANGES)
async def test_what_is_typed_is_kept_in_one_step(full: ShowrunnerApp, path: str) -> None:
    typed, kept = CHANGES[path]
    before = full.session.book
    async with full.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        form = await open_form(full, pilot, path)
        for name, text in typed.items():
            line = form.query_one(f"#f-{name}")
            assert isinstance(line, Input | ChoiceLine)
            line.value = text
        form.finish()
        await settle(pilot)
        assert form.finished, path
        assert tuple("no" if value is False else value for value in kept(full.session.book)) == tuple(typed.values())
        full.session.undo()
    assert full.session.book == before


@pytest.mark.slow
@pytest.mark.parametrize("key", [key for key in LISTS if LISTS[key][1].remove])
async def test_what_is_listed_is_taken_out_after_a_question_or_told_why_not(full: ShowrunnerApp, key: str) -> None:
    async with full.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("h")
        await settle(pilot)
        await choose(full, pilot, key)
        rows = LISTS[key][1].rows(full.session.book)
        assert rows, key
        await pilot.press("end", "delete")
        await settle(pilot)
        await pilot.press("down", "enter")
        await settle(pilot)
        left = LISTS[key][1].rows(full.session.book)
        told = [notice.message for notice in full._notifications if notice.severity == "error"]
        assert (list(left) == list(rows[:-1])) != bool(told)


@pytest.mark.slow
async def test_a_view_is_left_out_and_filmed_again(full: ShowrunnerApp) -> None:
    views = full.session.book.house.standard_views
    async with full.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("h")
        await settle(pilot)
        await choose(full, pilot, "views")
        await pilot.press("enter")  # the first of the list, and the list again
        await settle(pilot)
        assert full.session.book.house.standard_views == views[1:]
        await pilot.press("enter")
        await settle(pilot)
        assert full.session.book.house.standard_views == views
