"""Forms about what is shopped for: a want, its ordering and arrival, the collection, the boxes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from showrunner.domain import edits, words
from showrunner.domain.book import Book
from showrunner.domain.collection import Supply
from showrunner.domain.piece import Piece, Want, WantStatus, WantStep
from showrunner.errors import BadInput
from showrunner.tui import entry
from showrunner.tui.base import BookScreen
from showrunner.tui.book_lists import edit_box
from showrunner.tui.dialogs import ChooseDialog, Field, FormDialog, blaming
from showrunner.tui.fields import day_field
from showrunner.tui.list_dialog import NEW

Then = Callable[[str], None]
"""What is called with the id of the piece once a form is saved."""


def edit_want(screen: BookScreen, piece: Piece, want: Want, *, new: bool, then: Then) -> None:
    """A want and everything known of it."""
    book = screen.session.book
    own = book.collection(piece.collection).currency
    bought = want.status is not WantStatus.WANTED or want.paid is not None
    expected = entry.date_text(want.expected)

    def line(name: str, label: str, shown: str, kept: Any, read: Callable[[str], Any], hint: str = "") -> Field:
        return Field(name, label, shown, entry.unless_changed(shown, kept, read), hint)

    fields = [
        Field("name", "name", "" if new else piece.name, entry.words),
        line("ceiling", "most to pay", entry.number_text(want.ceiling), want.ceiling, entry.amount, "120"),
        *([line("paid", "price paid", entry.number_text(want.paid), want.paid, entry.amount)] if bought else []),
        line("carriage", "carriage", entry.number_text(want.carriage), want.carriage, entry.amount),
        line("currency", "currency", want.currency, want.currency, entry.currency, own or "AUD"),
        line(
            "rate",
            f"1 of it in {own or 'yours'}",
            entry.rate_text(want.rate),
            want.rate,
            entry.rate,
            "1.52 on 2 Mar 2026",
        ),
        line(
            "width",
            "width on the shelf",
            entry.number_text(want.width_cm),
            want.width_cm,
            entry.centimetres,
            "26, or 10 1/4 in",
        ),
        line(
            "expected",
            "expected",
            expected,
            entry.kept_date(want.expected),
            entry.written,
            "20 Apr 2026, about June 2026",
        ),
        line("condition", "condition wanted", want.condition, want.condition, str.strip, "no worm, no split"),
        line(
            "preparation",
            "hours to prepare it",
            entry.hours_text(want.preparation_minutes),
            want.preparation_minutes,
            entry.minutes,
        ),
    ]

    last = want.history[-1] if want.history else None
    today = screen.session.today
    if last and not new:
        fields.append(day_field("since", f"{want.status.value} since", last.day, today, ahead=False))

    def since(day: date | None) -> tuple[WantStep, ...]:
        """The history with another day for its last step."""
        if last is None or day is None:
            return want.history
        before = want.history[-2].day if len(want.history) > 1 else day
        if not before <= day <= today:
            with blaming("since"):
                raise BadInput("it is to come, or before its last step", words.day(day), "give a day between")
        return (*want.history[:-1], replace(last, day=day))

    def save(answers: Mapping[str, Any]) -> None:
        changed = replace(
            piece,
            name=answers["name"],
            want=replace(
                want,
                history=since(answers.get("since")),
                ceiling=answers["ceiling"],
                paid=answers.get("paid", want.paid),
                carriage=answers["carriage"],
                currency=answers["currency"],
                rate=answers["rate"],
                width_cm=answers["width"],
                expected=answers["expected"].date,
                condition=answers["condition"],
                preparation_minutes=answers["preparation"],
            ),
        )

        def edit(book: Book) -> Book:
            if new and book.find("pieces", changed.id):
                raise BadInput(f"number {changed.id} is taken", "number", "leave and add it again")
            return edits.put_piece(book, changed)

        screen.save_with(f"{'add' if new else 'edit'} {changed.name}", edit)
        then(changed.id)

    screen.app.push_screen(FormDialog("A new want" if new else piece.name, fields, save))


def ask_step(screen: BookScreen, piece: Piece, want: Want, status: WantStatus, then: Then) -> None:
    """Ask what belongs to ordering, arriving, declining or wanting again, and do it."""
    today = screen.session.today
    fields = [day_field("day", "day", today, today, ahead=False)]
    if status in (WantStatus.ORDERED, WantStatus.ARRIVED):
        paid = want.ceiling if want.paid is None else want.paid
        fields += [
            Field("paid", "price paid", entry.number_text(paid), entry.amount),
            Field("carriage", "carriage", entry.number_text(want.carriage), entry.amount),
        ]
    if status is WantStatus.ORDERED:
        hint = "20 Apr 2026, about June 2026"
        text, kept = entry.date_text(want.expected), entry.kept_date(want.expected)
        fields.append(Field("expected", "expected", text, entry.unless_changed(text, kept, entry.written), hint))
    verbs = {
        WantStatus.ORDERED: "order",
        WantStatus.ARRIVED: "note the arrival of",
        WantStatus.DECLINED: "decline",
        WantStatus.WANTED: "want again:",
    }

    def save(answers: Mapping[str, Any]) -> None:
        expected = answers.get("expected")
        screen.save_with(
            f"{verbs[status]} {piece.name}",
            lambda book: edits.set_status(
                book,
                piece.id,
                status,
                answers["day"],
                today=screen.session.today,
                paid=answers.get("paid"),
                carriage=answers.get("carriage"),
                expected=expected.date if expected else None,
            ),
        )
        then(piece.id)

    title = {
        WantStatus.ORDERED: f"{piece.name} is ordered",
        WantStatus.ARRIVED: f"{piece.name} has arrived",
        WantStatus.DECLINED: f"{piece.name} is declined",
        WantStatus.WANTED: f"{piece.name} is wanted again",
    }[status]
    screen.app.push_screen(FormDialog(title, fields, save))


def choose_box(screen: BookScreen) -> None:
    """Choose a box to measure, or what is in store."""
    book = screen.session.book
    options = [("store", "boxes and tissue in store")]
    options += [(f"box {box.id}", f"box {box.id}: {box.name}" if box.name else f"box {box.id}") for box in book.boxes]
    options += [(f"box {NEW}", "a new box or shelf")]

    def chosen(answer: str | None) -> None:
        if answer == "store":
            _edit_store(screen)
        elif answer is not None:
            edit_box(screen.workroom, answer.removeprefix("box "))

    screen.app.push_screen(ChooseDialog("What to put down", options), chosen)


def _edit_store(screen: BookScreen) -> None:
    house = screen.session.book.house
    text = "; ".join(f"{s.name} {s.on_hand}/{s.reorder_at}" for s in house.supplies)

    def save(answers: Mapping[str, Any]) -> None:
        known = {(s.name, s.on_hand, s.reorder_at): s for s in house.supplies}
        today = screen.session.today
        found = tuple(known.get(line) or Supply(line[0], line[1], line[2], today) for line in answers["supplies"])
        screen.save_with(
            "count what is in store", lambda book: edits.put_house(book, replace(book.house, supplies=found))
        )

    hint = "tissue, sheets 40/50; large boxes 2/1"
    intro = "How many there are / at how many you order again. What you change counts as counted today."
    fields = [Field("supplies", "in store", text, entry.supplies, hint)]
    screen.app.push_screen(FormDialog("Boxes and tissue in store", fields, save, intro))
