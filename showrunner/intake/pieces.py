"""A sheet of pieces compared with the book: what is new, changed, doubtful or refused, and the book it would make.

- A row is about the piece with its number, or else with its name; without either in the book it is a new piece.
- An empty cell erases nothing. A cell that says less than the book does (unsure, where the book is sure) changes
  nothing and is told.
- A box that the book lacks is made. A collection is made only by a book that has none, or where one is asked for.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from itertools import pairwise
from typing import Any

from showrunner.domain import acquisition, words
from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, CollectionKind
from showrunner.domain.edits.ids import free_id
from showrunner.domain.edits.wants import check_amounts
from showrunner.domain.piece import Known, Piece, Want
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.intake import cells
from showrunner.intake.columns import Column, Kind, plain_name, recognise, to_keep
from showrunner.intake.findings import (
    Asked,
    Intake,
    Question,
    Remark,
    Row,
    Verdict,
    beyond,
    refuse_unknown_places,
    shorten,
    skip_words,
)
from showrunner.intake.piece_cells import (
    DATE_FIELDS,
    FLAGS,
    WANTS,
    Entry,
    Reading,
    changed_cells,
    laid_over,
    read_entry,
)
from showrunner.planning.light import classes_of
from showrunner.storage.csv_tables import piece_row
from showrunner.storage.csv_text import Sheet, Unit, cell_text

_GROUPS = {"collection", "box", "kind"}
"""Fields of which a row may leave to the row above it what it says."""
_EXPORTED = {"id", "odds unshown", "acquired before", "minutes on a form", "handling notes"}
"""Columns by which a sheet that an export wrote is known; its dates are EDTF."""

FIRST_COLLECTION = "Collection"
"""Name of the collection that a book without one gets, unless something names it."""


def bring_pieces(book: Book, sheet: Sheet, name: str, today: date, asked: Asked) -> Intake:
    """Compare a sheet of pieces with the book.

    Args:
        book: the book.
        sheet: the sheet.
        name: name of the file, for the sentences.
        today: the present day.
        asked: how it is to be read.

    Raises:
        BadInput: no column gives names or numbers, or something that was asked for does not go with the sheet.
    """
    columns = recognise([cell_text(column) for column in sheet.columns], Kind.PIECES, book.wordings, asked.meanings)
    meant = {column.field for column in columns}
    if not meant & {"name", "id"}:
        raise BadInput("no column gives the name of a piece", name, "say which one does, as --map 'COLUMN=name'")
    return _Bringing(book, sheet, name, today, asked, columns).intake()


@dataclass(slots=True)
class _Taken:
    """A row whose cells were read, and the piece it makes."""

    entry: Entry
    piece: Piece | None
    old: Piece | None
    doubts: tuple[Remark, ...] = ()
    faults: tuple[Remark, ...] = ()


class _Bringing:
    """One sheet of pieces on its way into a book."""

    def __init__(
        self, book: Book, sheet: Sheet, name: str, today: date, asked: Asked, columns: tuple[Column, ...]
    ) -> None:
        self.book, self.sheet, self.name, self.asked, self.columns = book, sheet, name, asked, columns
        classes = tuple(light.name for light in classes_of(book.house))
        exported = set(sheet.columns) >= _EXPORTED
        self.reading = Reading(today, asked.day_first, asked.blank, classes, asked.cross, exported)
        self.notes = [*sheet.notes]
        self.questions: list[Question] = []
        self.collections: dict[str, Collection] = {c.id: c for c in book.collections}
        self.new_collections: list[Collection] = []
        self.boxes: dict[str, str] = {}
        for box in book.boxes:
            for text in (box.id, box.name):
                self.boxes.setdefault(plain_name(text), box.id)
        self.new_boxes: list[Box] = []
        self.by_name: dict[tuple[str, str], list[str]] = {}
        for piece in book.pieces:
            self.by_name.setdefault((piece.collection, plain_name(piece.name)), []).append(piece.id)
        self.lines: dict[str, int] = {}
        self.taken_ids = {piece.id for piece in book.pieces}
        self.next_number = 1
        self.wants_aside = False

    def intake(self) -> Intake:
        """Read every row, then make the book of them."""
        refuse_unknown_places(self.asked, (row.line for row in self.sheet.rows), self.sheet.unit)
        entries = list(self._entries())
        self.taken_ids.update(entry.values["id"] for entry in entries if "id" in entry.values)
        named = Counter(plain_name(e.values["name"]) for e in entries if "name" in e.values and "id" not in e.values)
        rows = [self._row(entry, named) for entry in entries]
        self._resolve_orders(rows)
        after = self._book_with(rows)
        self._check_orders(rows, after)
        unit = self.sheet.unit
        found = tuple(sorted((*(_finding(row, unit) for row in rows), *self._left_out()), key=_line))
        refused = any(row.verdict is Verdict.REFUSED for row in found)
        changed = any(row.verdict in (Verdict.NEW, Verdict.CHANGED) for row in found)
        if refused or not (changed or after.wordings != self.book.wordings):
            after = self.book
        self._note_what_is_made(rows)
        crosses = self._crosses() if self.asked.cross is None else 0
        if crosses:
            self.questions.append(Question.CROSS)
            self.notes.append(
                f"{words.count(crosses, 'cell')} of 'shown' hold only an x, which may mean shown or not shown: unsure. "
                "--cross yes or --cross no settles them all."
            )
        groups = self._groups() if self.asked.fill_down is None else ()
        if groups:
            self.questions.append(Question.GROUPS)
            those = words.listing([f"'{words.short(column.name)}'" for column in groups])
            self.notes.append(
                f"Many cells of {those} are empty below one that is not, as merged cells leave them. They are taken as "
                "empty; --fill-down takes them as what stands above."
            )
        for at, column in enumerate(self.columns):
            if column.field in FLAGS:
                self.notes += cells.crossed(column.name, (row.cells[at] for row in self.sheet.rows))
        dates = [at for at, column in enumerate(self.columns) if column.field in DATE_FIELDS]
        if not self.reading.exported and self.reading.day_first is None:
            self.notes += cells.dotted(row.cells[at] for row in self.sheet.rows for at in dates)
        return Intake(
            self.name,
            Kind.PIECES,
            self.book,
            after,
            found,
            self.columns,
            tuple(dict.fromkeys(self.notes)),
            questions=tuple(self.questions),
            unit=self.sheet.unit,
        )

    def _crosses(self) -> int:
        """How many cells that say whether a piece has been shown hold only an x."""
        places = [at for at, column in enumerate(self.columns) if column.field == "shown"]
        return sum(cells.is_cross(row.cells[at]) for row in self.sheet.rows for at in places)

    def _groups(self) -> tuple[Column, ...]:
        """The columns that tell where pieces belong and have a value only in the first row of each group.

        That is so if the first row has one, no value comes twice in a row, and at least as many cells are empty as
        are not. A date is never taken from another row.
        """
        found = []
        for place, column in enumerate(self.columns):
            if column.field not in _GROUPS or self.reading.exported:
                continue
            column_down = [cell_text(row.cells[place]).strip() for row in self.sheet.rows]
            filled = [cell for cell in column_down if cell]
            apart = all(above != below for above, below in pairwise(filled))
            if apart and 1 < len(filled) <= len(column_down) / 2 and column_down[0]:
                found.append(column)
        return tuple(found)

    # Reading

    def _entries(self) -> Iterator[Entry]:
        meant = [(place, column) for place, column in enumerate(self.columns) if column.field]
        above = {column.field: "" for column in (self._groups() if self.asked.fill_down else ())}
        for row in self.sheet.rows:
            if row.line in self.asked.left_out:
                continue
            said = {column.field: (column, cell_text(row.cells[place])) for place, column in meant}
            for field in above:
                column, cell = said[field]
                above[field] = cell if cell.strip() else above[field]
                said[field] = column, above[field]
            if self.reading.exported:
                held = self.book.find("pieces", said["id"][1]) if "id" in said else None
                said = changed_cells(said, piece_row(held)) if held else said
            entry = read_entry(row.line, said, self.reading)
            yield replace(entry, faults=(*entry.faults, *beyond(row.extra))) if row.extra else entry

    def _left_out(self) -> Iterator[Row]:
        """The rows that the owner leaves out."""
        places = {column.field: place for place, column in enumerate(self.columns)}
        for row in self.sheet.rows:
            if row.line in self.asked.left_out:
                id, name = (cell_text(row.cells[places[f]]) if f in places else "" for f in ("id", "name"))
                yield Row(
                    row.line, id.strip(), name.strip(), Verdict.LEFT_OUT, "left out, as you say", unit=self.sheet.unit
                )

    def _row(self, entry: Entry, named: Mapping[str, int]) -> _Taken:
        """The piece that a row makes of the one in the book, or of none."""
        try:
            collection = self._collection(entry)
            shopping = collection.kind is CollectionKind.SHOPPING
            if not shopping:
                entry = self._without_wants(entry)
            if entry.faults:
                return _Taken(entry, None, None)
            old, id = self._which(entry, collection, named)
        except _Fault as fault:
            return _Taken(entry, None, None, faults=() if entry.faults else (fault.remark,))
        try:
            bare = old or Piece(id, entry.values["name"], collection.id)
            if shopping and bare.want is None:
                bare = replace(bare, want=Want())
            piece, doubts = laid_over(bare, entry, self.reading, new=old is None)
            if piece.want is not None and piece.want != bare.want:
                check_amounts(collection, piece.name, piece.want)
        except ShowrunnerError as error:
            return _Taken(entry, None, None, faults=(Remark("", "", error.what, error.way_out),))
        if "box" in entry.values:
            piece = replace(piece, box=self._box(piece.box))
        if old is not None and not _alike(old.name, piece.name):
            text = f"the book calls {old.id} {old.name}; is it the same piece?"
            doubts.append(entry.remark("name", text, "give another piece a number of its own"))
        return _Taken(entry, piece, old, doubts=tuple(doubts))

    def _without_wants(self, entry: Entry) -> Entry:
        """The row of a collection that is not shopped for: what is left aside can't be a reason to refuse it."""
        columns = {entry.columns[field] for field in WANTS if field in entry.columns}
        if any(field in entry.said for field in WANTS):
            self.wants_aside = True
        if not any(fault.column in columns for fault in entry.faults):
            return entry
        return replace(entry, faults=tuple(fault for fault in entry.faults if fault.column not in columns))

    def _collection(self, entry: Entry) -> Collection:
        """The collection a row belongs to."""
        said = entry.values.get("collection") or self.asked.collection
        if not said:
            if id := entry.values.get("id"):
                held = self.book.find("pieces", id)
                if held is not None:
                    return self.collections[held.collection]
            return self._default()
        for collection in self.collections.values():
            if said == collection.id or plain_name(said) == plain_name(collection.name):
                return collection
        if self.book.collections and not self.asked.collection:
            names = words.some([f"'{c.name}'" for c in self.book.collections])
            remark = entry.remark("collection", "the book holds no such collection", f"write one of {names}")
            raise _Fault(remark)
        return self._make_collection(said)

    def _default(self) -> Collection:
        if not self.collections:
            return self._make_collection(FIRST_COLLECTION)
        keeping = [c for c in self.collections.values() if c.kind is CollectionKind.KEEPING]
        found = keeping if len(keeping) == 1 else list(self.collections.values())
        if len(found) == 1:
            return found[0]
        names = words.some([f"'{c.name}'" for c in found])
        what = f"the book holds {names}, and nothing says which of them these pieces belong to"
        raise BadInput(what, self.name, "say it with --collection, or in a column 'collection'")

    def _make_collection(self, name: str) -> Collection:
        made = Collection(free_id(name, self.collections.keys(), "collection"), name)
        self.collections[made.id] = made
        self.new_collections.append(made)
        return made

    def _which(self, entry: Entry, collection: Collection, named: Mapping[str, int]) -> tuple[Piece | None, str]:
        """The piece of the book that a row is about, or None, and its number."""
        id, name = entry.values.get("id", ""), entry.values.get("name", "")
        if id:
            held: Piece | None = self.book.find("pieces", id)
            if held is None and (twin := self._twin(id)):
                text = f"the book calls it '{twin}'"
                raise _Fault(entry.remark("id", text, f"write '{twin}', or another number for another piece"))
            if held is not None and held.collection != collection.id:
                other = self.collections[held.collection].name
                text = f"that is {held.name} of {other}, and not of {collection.name}"
                raise _Fault(entry.remark("id", text, "give this piece another number"))
        else:
            if not name:
                raise _Fault(Remark("", "", "it names no piece", "give it a name or take the row out"))
            if named[plain_name(name)] > 1:
                text = "more than one row without a number has this name"
                raise _Fault(entry.remark("name", text, "give each a number of its own"))
            held = self._by_name(entry, collection, name)
            id = held.id if held else self._next_id()
        if (first := self.lines.setdefault(id, entry.line)) != entry.line:
            field = "id" if "id" in entry.values else "name"
            raise _Fault(
                entry.remark(
                    field,
                    f"{self.sheet.unit.value} {first} is about {id} already",
                    f"leave one out: {skip_words(first, entry.line)}",
                )
            )
        if held is None and not name:
            raise _Fault(entry.remark("id", "a new piece needs a name", "give it one"))
        return held, id

    def _twin(self, id: str) -> str:
        """The number of a piece of the book that differs from `id` in leading zeros or capitals only."""
        if self.book.find("pieces", id) is not None:
            return ""
        for other in {id.casefold(), id.upper(), id.lstrip("0"), f"0{id}", f"00{id}"} - {id, ""}:
            if self.book.find("pieces", other) is not None:
                return other
        return ""

    def _by_name(self, entry: Entry, collection: Collection, name: str) -> Piece | None:
        ids = self.by_name.get((collection.id, plain_name(name)), [])
        if len(ids) > 1:
            text = f"the book holds {words.count(len(ids), 'piece')} of this name ({words.some(ids)})"
            raise _Fault(entry.remark("name", text, "give its number"))
        return self.book.piece(ids[0]) if ids else None

    def _next_id(self) -> str:
        while (id := f"{self.next_number:02}") in self.taken_ids:
            self.next_number += 1
        self.taken_ids.add(id)
        return id

    def _box(self, said: str) -> str:
        known = self.boxes.get(plain_name(said))
        if known is None:
            self.new_boxes.append(Box(said))
            self.boxes[plain_name(said)] = said
            known = said
        return known

    # Order of acquisition: numbers or names, of pieces that stand in the book or anywhere in the sheet

    def _resolve_orders(self, rows: Sequence[_Taken]) -> None:
        asked = [row for row in rows if {"acquired_before", "acquired_after"} & row.entry.values.keys()]
        if not asked:
            return
        ids = {piece.id for piece in self.book.pieces} | {row.piece.id for row in rows if row.piece}
        names: dict[str, set[str]] = {}
        for piece in (*self.book.pieces, *(row.piece for row in rows if row.piece)):
            names.setdefault(plain_name(piece.name), set()).add(piece.id)
        for row in asked:
            if row.piece is None:
                continue
            for field in ("acquired_before", "acquired_after"):
                found = []
                for said in row.entry.values.get(field, ()):
                    called = names.get(plain_name(said), set())
                    if said in ids:
                        found.append(said)
                    elif len(called) == 1:
                        found.extend(called)
                    else:
                        text = (
                            f"no piece is called '{shorten(said)}'"
                            if not called
                            else f"two are called '{shorten(said)}'"
                        )
                        row.faults = (*row.faults, row.entry.remark(field, text, "give the number of the piece"))
                if row.piece.id in found:
                    text = "it cannot have come before or after itself"
                    row.faults = (*row.faults, row.entry.remark(field, text, "take it out of its own order"))
                elif found:
                    order: dict[str, Any] = {field: tuple(dict.fromkeys(found))}
                    row.piece = replace(row.piece, **order)

    def _check_orders(self, rows: Sequence[_Taken], after: Book) -> None:
        """Refuse the rows whose order of acquisition cannot be."""
        if not any(piece.acquired_before or piece.acquired_after for piece in after.pieces):
            return
        by_id = {row.piece.id: row for row in rows if row.piece}
        circle = acquisition.cycle(after)
        if circle and not acquisition.cycle(self.book):
            row = next(by_id[id] for id in circle if id in by_id)
            text = f"the order goes round in a circle: {acquisition.circle_words(after, circle)}"
            row.faults = (*row.faults, row.entry.remark("acquired_before", text, "take one of these out"))
        known = {(clash.earlier, clash.later) for clash in acquisition.contradictions(self.book)}
        for clash in acquisition.contradictions(after):
            if (clash.earlier, clash.later) not in known:
                row = by_id.get(clash.earlier) or by_id[clash.later]
                row.faults = (*row.faults, row.entry.remark("acquired", clash.words, "put one of the dates right"))

    # The book

    def _book_with(self, rows: Sequence[_Taken]) -> Book:
        good = [row.piece for row in rows if row.piece and not row.faults]
        after = self.book
        if self.new_collections:
            after = after.put("collections", *self.new_collections)
        if self.new_boxes:
            after = after.put("boxes", *self.new_boxes)
        if good:
            after = after.put("pieces", *good)
        said = to_keep(Kind.PIECES, self.columns)
        return after.put("wordings", *said) if said else after

    def _note_what_is_made(self, rows: Sequence[_Taken]) -> None:
        for collection in self.new_collections:
            self.notes.append(f"A collection is made: {collection.name}.")
        if self.new_boxes:
            names = [shorten(box.id, 24) for box in self.new_boxes]
            more = f" and {len(names) - 12} more" if len(names) > 12 else ""
            made = f"{words.count(len(names), 'box')} {'is' if len(names) == 1 else 'are'} made"
            self.notes.append(f"{made}: {', '.join(names[:12])}{more}.")
        new = [row for row in rows if row.piece and row.old is None]
        if new and not {"shown", "shown_when"} & {column.field for column in self.columns}:
            count = f"{words.count(len(new), 'new piece')} {'is' if len(new) == 1 else 'are'}"
            if self.reading.blank is Known.NO:
                told = f"{count} taken as not shown, as you say"
            else:
                told = f"{count} unsure until episodes say so; --blank no takes them as not shown"
            self.notes.append(f"No column says what was shown: {told}.")
        if self.wants_aside:
            self.notes.append("Status and prices belong to a shopping collection and are left aside for this one.")


def _line(row: Row) -> int:
    return row.line


class _Fault(Exception):
    """Why a row is refused."""

    def __init__(self, remark: Remark) -> None:
        super().__init__(remark.text)
        self.remark = remark


def _alike(old: str, new: str) -> bool:
    """Whether two names share a word, so that one may be the other written anew."""
    return old == new or bool(set(plain_name(old).split()) & set(plain_name(new).split()))


def _finding(row: _Taken, unit: Unit) -> Row:
    """A row as it is told."""
    entry = row.entry
    id = row.piece.id if row.piece else str(entry.values.get("id", ""))
    name = str(entry.values.get("name", "")) or (row.old.name if row.old else "")
    faults = (*entry.faults, *row.faults)
    doubts = (*entry.doubts, *row.doubts)
    if faults or row.piece is None:
        return Row(entry.line, id, name, Verdict.REFUSED, doubts=doubts, faults=faults, unit=unit)
    if row.old is None:
        return Row(entry.line, id, name, Verdict.NEW, _spoken(row.piece), doubts, unit=unit)
    changed = [field.name for field in fields(Piece) if getattr(row.old, field.name) != getattr(row.piece, field.name)]
    if not changed:
        return Row(entry.line, id, name, Verdict.UNCHANGED, doubts=doubts, unit=unit)
    return Row(entry.line, id, name, Verdict.CHANGED, _change_words(row.old, row.piece, changed), doubts, unit=unit)


_STATE = {Known.YES: "shown", Known.NO: "not shown", Known.UNSURE: "unsure"}


def _shown_words(piece: Piece) -> str:
    state = _STATE[piece.shown.known]
    if piece.shown.known is Known.UNSURE:
        return f"{state}, {piece.shown.odds_unshown}% that it is not shown"
    return f"{state} {piece.shown.when.words}" if piece.shown.when else state


def _spoken(piece: Piece) -> str:
    """A new piece in a few words."""
    parts = [
        f"made {piece.made.words}" if piece.made else "",
        f"acquired {piece.acquired.words}" if piece.acquired else "",
        f"box {piece.box}" + (f", layer {piece.layer}" if piece.layer else "") if piece.box else "",
        piece.want.status.value if piece.want else _shown_words(piece),
    ]
    return "; ".join(part for part in parts if part)


def _change_words(old: Piece, new: Piece, changed: Sequence[str]) -> str:
    """What changes in a piece, field by field."""
    told = []
    for name in changed:
        if name in ("made", "acquired"):
            before, after = (getattr(piece, name) for piece in (old, new))
            told.append(
                f"{name} {after.words if after else 'not known'} (was {before.words if before else 'not known'})"
            )
        elif name == "shown":
            told.append(f"{_shown_words(new)} (was {_shown_words(old)})")
        elif name in ("name", "kind", "box", "light"):
            told.append(f"{name} {getattr(new, name)} (was {getattr(old, name) or 'empty'})")
        else:
            told.append(name.replace("_", " "))
    return "; ".join(told)
