"""What was found in a file: each row with its verdict, what is doubted or refused in it, and the book it would make."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.piece import Known
from showrunner.errors import BadInput
from showrunner.intake.columns import Column, Kind
from showrunner.storage.csv_text import Unit


class Verdict(StrEnum):
    """What a row would do to the book."""

    NEW = "new"
    CHANGED = "changed"
    UNCHANGED = "unchanged"
    REFUSED = "refused"
    LEFT_OUT = "left out"


class Question(StrEnum):
    """What is asked once for a whole file; until it is answered, the vaguer answer holds."""

    CROSS = "cross"
    """What an `x` says where a cell says whether a piece has been shown."""
    FIRST_DAYS = "first days"
    """Whether dates that all fall on the first of a month mean those days."""
    GROUPS = "groups"
    """Whether an empty cell says what stands above it, in a column that tells where a piece belongs."""


@dataclass(frozen=True, slots=True)
class Remark:
    """What is doubted or refused in one cell."""

    column: str
    """Name of the column; empty if it is about the whole row."""
    cell: str
    """The cell as it stands in the file."""
    text: str
    """What was understood, or why it cannot be."""
    way_out: str = ""
    """What to write instead; empty where nothing need be done."""

    def clause(self) -> str:
        """The remark in words: `made '1868x': this cannot be read as a date; write ...`."""
        cell = f" '{shorten(self.cell)}'" if self.cell.strip() else ""
        place = f"{shorten(self.column)}{cell}: ".lstrip() if self.column or cell else ""
        return f"{place}{self.text}" + (f"; {self.way_out}" if self.way_out else "")


@dataclass(frozen=True, slots=True)
class Guess:
    """A piece that an episode may be about."""

    piece: str
    """Id of the piece."""
    chance: int
    """Percentage of chance that it is."""
    why: str
    """What that rests on."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a file, compared with the book."""

    line: int
    """Its place in the file, from 1, counted in `unit`; for an exchange file its place in the list."""
    id: str
    """Id of what it is about; empty if it has none yet."""
    name: str
    """What it is about, in words."""
    verdict: Verdict
    """What it would do."""
    said: str = ""
    """What it says, spoken back."""
    doubts: tuple[Remark, ...] = ()
    """What is doubted in it; it is taken over as the doubt it is."""
    faults: tuple[Remark, ...] = ()
    """Why it is refused."""
    pieces: tuple[str, ...] = ()
    """For an episode, ids of the pieces that it surely shows."""
    guesses: tuple[Guess, ...] = ()
    """For an episode that likely shows a piece, the likeliest first."""
    unit: Unit = Unit.LINE
    """What its place is counted in."""

    def fault(self) -> str:
        """Why it is refused, as one sentence."""
        return self._sentence(self.faults)

    def doubt(self) -> str:
        """What is doubted in it, as one sentence."""
        return self._sentence(self.doubts)

    def _sentence(self, remarks: Sequence[Remark]) -> str:
        text = f"{self.unit.value.capitalize()} {self.line}, {'; '.join(remark.clause() for remark in remarks)}"
        return text.rstrip(".") + "."


@dataclass(frozen=True, slots=True)
class Asked:
    """How a file is to be read."""

    kind: Kind | None = None
    """What it is about; None to tell by its columns."""
    collection: str = ""
    """Id or name of the collection its pieces belong to; empty for the only one, or what a column says."""
    meanings: Mapping[str, str] = field(default_factory=dict)
    """Field by column, as said by the user; an empty field leaves the column aside."""
    day_first: bool | None = None
    """Whether the day comes first in 12/3/2024; None if nobody says."""
    blank: Known = Known.UNSURE
    """What an empty cell says where it should say whether a piece has been shown."""
    settled: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    """Likely matches settled by the user: ids of the pieces an episode shows, by its line; none for no piece."""
    sheet: str = ""
    """Name of the sheet of a workbook; empty for the only one."""
    headings: int = 0
    """Place of the row that names the columns; 0 to find it."""
    first_days: bool | None = None
    """Whether dates that all fall on the first of a month mean those days; None if nobody says."""
    cross: Known | None = None
    """What an `x` says where a cell says whether a piece has been shown; None if nobody says."""
    fill_down: bool | None = None
    """Whether an empty cell says what stands above it, in columns that look so; None if nobody says."""
    left_out: frozenset[int] = frozenset()
    """Places in the file of what is not to be taken over."""


@dataclass(frozen=True, slots=True)
class Intake:
    """A file compared with the book; nothing is written yet."""

    name: str
    """The file."""
    kind: Kind
    """What it is about."""
    before: Book
    """The book it was compared with."""
    after: Book
    """The book it would make; the same as before if a row is refused or nothing changes."""
    rows: tuple[Row, ...]
    """Its rows, in the order of the file."""
    columns: tuple[Column, ...] = ()
    """What its columns mean; none for a feed or an exchange file."""
    notes: tuple[str, ...] = ()
    """A sentence for everything worth knowing that is not about one row."""
    questions: tuple[Question, ...] = ()
    """What is still to be answered."""
    faults: tuple[str, ...] = ()
    """A sentence for everything that is refused and is not about one row."""
    unit: Unit = Unit.LINE
    """What the places of its rows are counted in."""
    pieces_left: tuple[str, ...] = ()
    """For episodes, ids of the pieces marked shown that none of them, nor the record, is about."""

    def of(self, verdict: Verdict) -> tuple[Row, ...]:
        """The rows with a verdict."""
        return tuple(row for row in self.rows if row.verdict is verdict)

    @property
    def doubtful(self) -> tuple[Row, ...]:
        """The rows that would be taken over with something doubted in them."""
        return tuple(row for row in self.rows if row.doubts and row.verdict is not Verdict.REFUSED)

    @property
    def likely(self) -> tuple[Row, ...]:
        """The episodes that likely show a piece and wait to be confirmed."""
        return tuple(row for row in self.rows if row.guesses and not row.pieces)

    @property
    def refused(self) -> tuple[str, ...]:
        """A sentence for each refused row and for everything else that is refused."""
        return (*self.faults, *(row.fault() for row in self.of(Verdict.REFUSED)))

    @property
    def changes(self) -> bool:
        """Whether taking it over would change the book."""
        return self.after != self.before


def refuse_unknown_places(asked: Asked, places: Iterable[int], unit: Unit) -> None:
    """Refuse to leave out what the file does not hold.

    Raises:
        BadInput: nothing stands at a place that is to be left out.
    """
    unknown = sorted(asked.left_out.difference(places))
    if unknown:
        raise BadInput(f"nothing stands on {unit.value} {unknown[0]}", "--skip", f"give the {unit.value} of something")


def skip_words(*places: int) -> str:
    """How one of these places is left out: `--skip 3 or --skip 7`."""
    return " or ".join(f"--skip {place}" for place in places)


def beyond(extra: Sequence[str]) -> tuple[Remark, ...]:
    """The fault of a row that has cells beyond the last column; none if it has none."""
    if not extra:
        return ()
    text = f"the row has {words.count(len(extra), 'cell')} beyond the last column"
    return (Remark("", extra[0], text, "look whether a comma in it should stand in quotes"),)


def shorten(text: str, most: int = 40) -> str:
    """User text on one line, short, with nothing a terminal would obey."""
    line = "".join(sign if sign.isprintable() else " " if sign.isspace() else "�" for sign in text[: 4 * most])
    line = " ".join(line.split())
    return line if len(line) <= most else f"{line[: most - 1]}…"
