"""Whether a book can be saved, exported and brought back as it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from showrunner.domain.book import TABLES, Book
from showrunner.domain.consistency import problems
from showrunner.domain.house import HouseRules
from showrunner.domain.publication import CalendarEntry
from showrunner.domain.words import count, short, some
from showrunner.errors import BookDamaged, ShowrunnerError
from showrunner.ical.entry import Entry
from showrunner.intake.exchange_file import bring_exchange
from showrunner.intake.findings import shorten
from showrunner.storage.codec import decode, encode
from showrunner.storage.exchange import differences
from showrunner.storage.exporting import BOOK_FILE, exported_files
from showrunner.storage.odd_text import ODD, odd_fields, without_odd


def unfit(book: Book) -> list[str]:
    """One plain sentence for each thing that stands against it, beside what `problems` finds; empty if nothing does."""
    return list(_odd(book)) or [*_calendar(book), *_not_brought_back(book)]


def _odd(book: Book) -> Iterator[str]:
    """Texts that no file can hold, with the record and the field."""
    if any(odd_fields(book.key)):
        yield f"The mark by which calendars know this book: {ODD}."
    for field in odd_fields(encode(book.house)):
        yield f"House rules, {short(field)}: {ODD}."
    for table in TABLES:
        for record in getattr(book, table):
            for field in odd_fields(encode(record)):
                yield f"{table}, '{short(record.id)}', {short(field)}: {ODD}."


def _calendar(book: Book) -> Iterator[str]:
    for line in book.calendar:
        if not _is_readable(line):
            yield f"calendar, '{short(line.id)}': what calendars were told of it cannot be read."


def _is_readable(line: CalendarEntry) -> bool:
    try:
        Entry.from_text(line.content)
    except BookDamaged:
        return False
    return True


def _not_brought_back(book: Book) -> Iterator[str]:
    """What an export into an empty folder, or its import into an empty book, would fail by."""
    try:
        data = next(file.data for file in exported_files(book) if file.name == BOOK_FILE)
    except ShowrunnerError as error:
        yield f"It cannot be exported: {error.sentence()}"
        return
    found = bring_exchange(Book("new"), data, BOOK_FILE)
    known = {shorten(problem, 400) for problem in problems(book)}
    new = [fault for fault in found.faults if fault not in known]
    if new:
        yield f"An export of it could not be brought back: {new[0]}"
    elif not found.faults and found.after != book:
        tables = [*differences(book, found.after).book, *(t.table for t in differences(book, found.after).tables)]
        yield f"An export of it would come back different in {some(tables)}."


def made_fit(book: Book) -> tuple[Book, list[str]]:
    """The book without texts that no file can hold and calendar entries that cannot be read, and what was done."""
    told = []
    unreadable = [line for line in book.calendar if not _is_readable(line)]
    if unreadable:
        book = book.drop("calendar", *(line.id for line in unreadable))
        told.append(f"What calendars were told of {count(len(unreadable), 'entry')} is left out; they are told anew.")
    for table in TABLES:
        for record in getattr(book, table):
            document = encode(record)
            if any(odd_fields(document)):
                new = decode(TABLES[table], without_odd(document))
                rows = tuple(new if row is record else row for row in getattr(book, table))
                book = book.with_table(table, rows)
                told.append(f"{table}, '{short(record.id)}': a broken letter is shown as �.")
    house = encode(book.house)
    if any(odd_fields(house)):
        book = replace(book, house=decode(HouseRules, without_odd(house)))
        told.append("House rules: a broken letter is shown as �.")
    return book, told
