"""Edits of collections, series, slot rules, dark ranges, boxes, supporters and house rules."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection
from showrunner.domain.edits.checks import check_pieces, check_slot_of, keep_promises
from showrunner.domain.edits.wants import check_collection
from showrunner.domain.episode import Series
from showrunner.domain.house import HouseRules
from showrunner.domain.publication import Supporter
from showrunner.domain.rules import not_a_slot
from showrunner.domain.slot import DarkRange, EarlierTimes, SlotRef, SlotRule
from showrunner.domain.titles import quoted
from showrunner.domain.words import day as day_words
from showrunner.domain.zone import check_zone
from showrunner.errors import BadInput, UnknownThing


def put_house(book: Book, house: HouseRules) -> Book:
    """Replace the house rules.

    Raises:
        BadInput: the zone is not known.
    """
    check_zone(house.zone, "house rules")
    return replace(book, house=house)


def put_dark(book: Book, dark: DarkRange) -> Book:
    """Add a dark range, or replace the one with its id.

    Raises:
        Contradiction: it stops publication on a promised date.
    """
    return keep_promises(book, book.put("dark", dark))


def remove_dark(book: Book, id: str) -> Book:
    """Take a dark range out.

    Raises:
        UnknownThing: there is none.
    """
    return _drop(book, "dark", "run of dark days", id)


def remove_busy(book: Book, id: str) -> Book:
    """Take out what another calendar takes of a day; that calendar brings it back when it is read again.

    Raises:
        UnknownThing: there is none.
    """
    return _drop(book, "busy", "busy day", id)


def put_rule(book: Book, rule: SlotRule) -> Book:
    """Add a slot rule, or replace the one with its id.

    Raises:
        BadInput: the zone is not known, or an open episode is planned for a day that would be no slot any more.
        Contradiction: a promised date would be no slot any more.
    """
    check_zone(rule.zone, rule.name)
    after = keep_promises(book, book.put("rules", rule))
    for episode in after.episodes:
        if episode.slot and episode.slot.rule == rule.id:
            check_slot_of(after, episode)
    return after


def change_rule_from(book: Book, rule: SlotRule, since: date) -> Book:
    """Change a weekly slot from a day on; what it was before stays, and so does the record.

    What is planned in it from that day on moves to its new day in the same week. A promised date is not moved.

    Args:
        book: the book.
        rule: the slot as it is to be.
        since: the first day on which it is so.

    Raises:
        UnknownThing: there is no such slot.
        BadInput: the zone is not known, it changed on that day or later already, or in its week there is no new day.
        Contradiction: a promised date would be no slot any more, or the new day is taken.
    """
    old = book.rule(rule.id)
    before = since - timedelta(1)
    if old.earlier and old.earlier[-1].until >= before:
        last = day_words(old.earlier[-1].until + timedelta(1))
        raise BadInput(f"it changed on {last} already", old.name, "choose a later day, or change it for all time")
    was = EarlierTimes(before, old.weekday, old.at, old.zone, old.standing_minutes)
    changed = replace(rule, earlier=(*old.earlier, was))
    moved = []
    for episode in book.episodes:
        slot = episode.slot
        if slot and slot.rule == rule.id and not episode.published and slot.day >= since:
            monday = slot.day - timedelta(slot.day.weekday())
            kept = changed.comes_on(slot.day)
            moved.append(replace(episode, slot=slot if kept else SlotRef(monday + timedelta(rule.weekday), rule.id)))
    return put_rule(book.put("episodes", *moved), changed)


def _with(days: tuple[date, ...], day: date) -> tuple[date, ...]:
    return tuple(sorted((*days, day)))


def _without(days: tuple[date, ...], day: date) -> tuple[date, ...]:
    return tuple(other for other in days if other != day)


def leave_out(book: Book, slot: SlotRef) -> Book:
    """Leave a weekly slot out on one day.

    Raises:
        UnknownThing, BadInput: it does not come on that day, or an open episode is planned there.
        Contradiction: a date is promised there.
    """
    rule = book.rule(slot.rule)
    if not rule.comes_on(slot.day):
        raise BadInput(f"{day_words(slot.day)} is not one of its days", rule.name, "choose one of its slots")
    if slot.day in rule.added:
        return put_rule(book, replace(rule, added=_without(rule.added, slot.day)))
    return put_rule(book, replace(rule, left_out=_with(rule.left_out, slot.day)))


def add_slot(book: Book, slot: SlotRef) -> Book:
    """Let a weekly slot come on one more day, or on one that was left out.

    Raises:
        UnknownThing: there is no such slot rule.
        BadInput: it comes on that day already, or is not there at that time.
    """
    rule = book.rule(slot.rule)
    if rule.comes_on(slot.day):
        raise BadInput(f"it comes on {day_words(slot.day)} already", rule.name, "choose another day")
    if not rule.holds_on(slot.day):
        raise BadInput(not_a_slot(rule, slot.day), rule.name, "choose a day within")
    if slot.day in rule.left_out:
        return put_rule(book, replace(rule, left_out=_without(rule.left_out, slot.day)))
    return put_rule(book, replace(rule, added=_with(rule.added, slot.day)))


def remove_rule(book: Book, id: str) -> Book:
    """Take a slot rule out.

    Raises:
        UnknownThing: there is none.
        BadInput: a series, an episode, a pin or the record uses it.
    """
    rule = book.rule(id)
    for series in book.series:
        if id in series.rules:
            raise BadInput(f"{series.name} uses it", rule.name, "take it out of that series first")
    for episode in book.episodes:
        if episode.rule == id or (episode.slot and episode.slot.rule == id):
            raise BadInput(f"{quoted(episode.title)} uses it", rule.name, "give the slot rule a last day instead")
    if any(line.rule == id for line in book.publications) or any(p.slot and p.slot.rule == id for p in book.pins):
        raise BadInput("the record or a pin names it", rule.name, "give the slot rule a last day instead")
    return book.drop("rules", id)


def put_series(book: Book, series: Series) -> Book:
    """Add a series, or replace the one with its id.

    Raises:
        UnknownThing: its collection or a slot rule is not in the book.
        BadInput: a study of it would show pieces of another collection, or be planned for a slot not allowed.
        Contradiction: a promise would be broken.
    """
    book.collection(series.collection)
    for rule in series.rules:
        book.rule(rule)
    after = keep_promises(book, book.put("series", series))
    for study in after.open_studies:
        if study.series == series.id:
            check_pieces(after, study)
            check_slot_of(after, study)
    return after


def remove_series(book: Book, id: str) -> Book:
    """Take a series out.

    Raises:
        UnknownThing: there is none.
        BadInput: a study belongs to it, or the record names it.
    """
    series = book.series_of(id)
    for episode in book.episodes:
        if episode.series == id:
            raise BadInput(f"the study {quoted(episode.title)} belongs to it", series.name, "remove its studies first")
    if any(line.series == id for line in book.publications):
        raise BadInput("the record of publications names it", series.name, "keep it")
    return book.drop("series", id)


def put_collection(book: Book, collection: Collection) -> Book:
    """Add a collection, or replace the one with its id.

    Raises:
        BadInput: its budget, shelf or currency cannot be, or does not go with what is shopped for in it.
    """
    check_collection(book, collection)
    return book.put("collections", collection)


def remove_collection(book: Book, id: str) -> Book:
    """Take a collection out.

    Raises:
        UnknownThing: there is none.
        BadInput: a piece is in it or a series is about it.
    """
    collection = book.collection(id)
    for piece in book.pieces:
        if piece.collection == id:
            raise BadInput(f"{piece.name} is in it", collection.name, "remove its pieces first")
    for series in book.series:
        if series.collection == id:
            raise BadInput(f"{series.name} is about it", collection.name, "remove that series first")
    return book.drop("collections", id)


def put_box(book: Book, box: Box) -> Book:
    """Add a box or shelf, or replace the one with its id."""
    return book.put("boxes", box)


def remove_box(book: Book, id: str) -> Book:
    """Take a box out.

    Raises:
        UnknownThing: there is none.
        BadInput: a piece is in it.
    """
    for piece in book.pieces:
        if piece.box == id:
            raise BadInput(f"{piece.name} is in it", f"box {id}", "put its pieces elsewhere first")
    return _drop(book, "boxes", "box", id)


def put_supporter(book: Book, supporter: Supporter) -> Book:
    """Add a supporter, or replace the one with that id.

    Raises:
        BadInput: the support ends before it starts.
    """
    if supporter.first and supporter.last and supporter.last < supporter.first:
        raise BadInput(
            f"the support ends ({day_words(supporter.last)}) before it begins ({day_words(supporter.first)})",
            supporter.name,
            "swap the dates",
        )
    return book.put("supporters", supporter)


def remove_supporter(book: Book, id: str) -> Book:
    """Take a supporter out.

    Raises:
        UnknownThing: there is none.
    """
    return _drop(book, "supporters", "supporter", id)


def _drop(book: Book, table: str, kind: str, id: str) -> Book:
    if book.find(table, id) is None:
        raise UnknownThing(f"the book holds no {kind} '{id}'", way_out="choose one that it holds")
    return book.drop(table, id)
