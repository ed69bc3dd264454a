"""Edits of what is shopped for: its facts, and where it stands."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.currency import check_amount, check_currency
from showrunner.domain.edits.record import not_to_come
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.piece import Piece, Want, WantStatus, WantStep
from showrunner.domain.titles import quoted
from showrunner.domain.words import day as day_words
from showrunner.errors import BadInput

MOST_CM = Decimal(1000)
"""Widths beyond this are a slip of the finger, cm."""


def need_want(book: Book, piece: str) -> tuple[Piece, Want]:
    """The piece and its shopping facts.

    Raises:
        UnknownThing: there is no such piece.
        BadInput: it is not shopped for.
    """
    found = book.piece(piece)
    if found.want is None:
        raise BadInput("it is not shopped for", found.name, "choose a piece of a shopping collection")
    return found, found.want


def check_want(collection: Collection, piece: Piece) -> None:
    """Refuse shopping facts that cannot be.

    Args:
        collection: the collection of the piece.
        piece: the piece; what is not shopped for is never refused.

    Raises:
        BadInput: the collection is none that is shopped for, something is paid while it is only wanted, or as
            `check_amounts`.
    """
    if piece.want is None:
        return
    if collection.kind is not CollectionKind.SHOPPING:
        raise BadInput(f"nothing is shopped for in {collection.name}", piece.name, "choose a shopping collection")
    if piece.want.status is WantStatus.WANTED and piece.want.paid is not None:
        raise BadInput(
            "something is paid while it is only wanted", piece.name, "order it first, or leave the price out"
        )
    check_amounts(collection, piece.name, piece.want)


def check_amounts(collection: Collection, name: str, want: Want) -> None:
    """Refuse amounts, a currency or a width that cannot be.

    Args:
        collection: the collection it is for.
        name: name of the want.
        want: the want.

    Raises:
        BadInput: an amount or the currency cannot be, another currency has no rate, or the width is nothing.
    """
    if want.currency and want.currency != collection.currency:
        check_currency(want.currency, name)
        if not collection.currency:
            raise BadInput(
                f"{collection.name} has no currency, so {want.currency} cannot be counted",
                name,
                "give the collection its currency first",
            )
        if want.rate is None:
            raise BadInput(
                f"its price is in {want.currency} and {collection.name} is counted in {collection.currency}",
                name,
                f"say what 1 {want.currency} was worth in {collection.currency}, and on what day",
            )
    elif want.rate is not None:
        raise BadInput("a rate is for another currency", name, "name that currency, or leave the rate out")
    currency = want.currency or collection.currency
    for field in ("ceiling", "paid", "carriage"):
        if (amount := getattr(want, field)) is not None:
            check_amount(amount, currency, f"{name}, {field}")
    if want.width_cm is not None and not 0 < want.width_cm <= MOST_CM:
        raise BadInput(f"{want.width_cm} cm is no width", f"{name}, width", f"give 0.1 to {MOST_CM}, or leave it empty")


def set_status(
    book: Book,
    piece: str,
    status: WantStatus,
    on: date,
    *,
    today: date,
    paid: Decimal | None = None,
    carriage: Decimal | None = None,
    expected: FuzzyDate | None = None,
) -> Book:
    """Order a want, note that it arrived, decline it, or want it again. Its history keeps every step.

    What has arrived is a piece of its collection like any other, acquired on that day unless the book says when.
    What is wanted again has no price paid, no carriage and no day to expect it.

    Args:
        book: the book.
        piece: id of the piece.
        status: what it becomes.
        on: on what day.
        today: the present day; a later one is refused.
        paid: price paid; None leaves what was known.
        carriage: carriage paid; None leaves what was known.
        expected: when it should arrive; None leaves what was known.

    Raises:
        UnknownThing: there is no such piece.
        BadInput: it is not shopped for, stands there already, the day is still to come or before its last step, an
            amount cannot be, or it would leave the collection while a study shows it.
    """
    found, want = need_want(book, piece)
    not_to_come(on, today, found.name)
    if want.status is status:
        raise BadInput(f"it is {status.value} already", found.name, "choose another, or edit it")
    if want.history and on < want.history[-1].day:
        last = want.history[-1]
        raise BadInput(
            f"it was {last.status.value} on {day_words(last.day)}, after {day_words(on)}",
            found.name,
            "give a later day",
        )
    if want.status is WantStatus.ARRIVED:
        for study in book.studies:
            if piece in study.pieces:
                raise BadInput(
                    f"the study {quoted(study.title)} shows it", found.name, "take it out of that study first"
                )
    changed = replace(
        want,
        status=status,
        paid=want.paid if paid is None else paid,
        carriage=want.carriage if carriage is None else carriage,
        expected=want.expected if expected is None else expected,
        history=(*want.history, WantStep(status, on)),
    )
    if status is WantStatus.WANTED:
        changed = replace(changed, paid=None, carriage=None, expected=None)
    acquired = found.acquired
    if status is WantStatus.ARRIVED and acquired is None:
        acquired = FuzzyDate.exact(on)
    after = replace(found, want=changed, acquired=acquired)
    check_want(book.collection(found.collection), after)
    return book.put("pieces", after)


def check_collection(book: Book, collection: Collection) -> None:
    """Refuse a budget, a shelf or a currency that cannot be.

    Raises:
        BadInput: the budget or the shelf holds nothing, the currency is none, or amounts in another one stand already.
    """
    where = collection.name
    if collection.currency:
        check_currency(collection.currency, where)
    if collection.budget is not None:
        check_amount(collection.budget, collection.currency, f"{where}, budget")
        if not collection.budget:
            raise BadInput(
                "a budget of 0 buys nothing", f"{where}, budget", "give more, or leave it empty for no limit"
            )
    if collection.shelf_cm is not None and collection.shelf_cm <= 0:
        raise BadInput(
            f"a shelf of {collection.shelf_cm} cm holds nothing", f"{where}, shelf", "give more, or leave it empty"
        )
    old = book.find("collections", collection.id)
    if old is None:
        return
    wants = [piece for piece in book.pieces if piece.collection == collection.id and piece.want is not None]
    if wants and collection.kind is not CollectionKind.SHOPPING:
        raise BadInput(f"{wants[0].name} is shopped for in it", where, "let it stay a shopping collection")
    if collection.currency == old.currency:
        return
    for piece in wants:
        want = piece.want
        if want and old.currency and (want.ceiling or want.paid or want.carriage):
            raise BadInput(
                f"the amounts of {piece.name} are counted in {old.currency}",
                where,
                f"keep {old.currency}, or take the amounts out first",
            )
        check_want(collection, piece)
