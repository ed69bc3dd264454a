"""A list of past episodes compared with the book: the record of publications it fills, and the pieces it shows.

- An episode that the record holds already (the same link, or the same title and date) changes nothing; the record is
  never rewritten. What can be added to a line is which study it was, once that is known.
- A sure match makes a published study and marks its pieces shown. A likely one that nobody settles makes its piece
  unsure, with the odds of the match, never quietly shown or unshown. A piece that somebody settled stays as it is.
- Only the day it came out is known of a past episode, unless the list says which day it was planned for.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import pairwise

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.collection import CollectionKind
from showrunner.domain.edits.ids import episode_ids, free_id, publication_ids
from showrunner.domain.episode import Episode, Series, Stage
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Known, Piece
from showrunner.domain.publication import Publication
from showrunner.domain.slot import SlotRule
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.intake import cells
from showrunner.intake.columns import Column, Kind, plain_name, recognise, to_keep
from showrunner.intake.findings import (
    Asked,
    Guess,
    Intake,
    Remark,
    Row,
    Verdict,
    beyond,
    refuse_unknown_places,
    shorten,
    skip_words,
)
from showrunner.intake.matching import Likeness, Match, Showing, match
from showrunner.intake.slot_rules import Dated, derived_rules, named_rule, rule_of_day, rule_words
from showrunner.planning.run_time import read_run_time
from showrunner.storage.csv_text import Sheet, Unit, cell_text
from showrunner.storage.feed_text import FeedEntry

_LISTED = re.compile("listed as “[^”]*”")
"""Evidence that a sheet of pieces alone gave; an episode is better."""


@dataclass(frozen=True, slots=True)
class Listed:
    """One episode as its list has it."""

    line: int
    """Its place in the file."""
    title: str = ""
    """Its title."""
    actual: FuzzyDate | None = None
    """When it came out; None if not known, or missed."""
    instant: datetime | None = None
    """The moment it came out, UTC, if known."""
    planned: date | None = None
    """The day it was planned for, if known."""
    slot: str = ""
    """The slot the list names."""
    about: str = ""
    """What the list says it is about."""
    link: str = ""
    """Where it can be watched."""
    missed: bool = False
    """Whether it missed its slot and never came out in it."""
    run_seconds: int = 0
    """Run time, seconds; 0 if not known."""
    id: str = ""
    """Permanent name a feed gives it; empty if none."""
    doubts: tuple[Remark, ...] = ()
    """What is doubted."""
    faults: tuple[Remark, ...] = ()
    """Why it is refused."""

    @property
    def day(self) -> date | None:
        """The day that tells its slot: the day it came out if that is exact, else the planned one."""
        if self.actual is not None and self.actual.earliest == self.actual.latest:
            return self.actual.earliest
        return self.planned


def listed_in_sheet(sheet: Sheet, columns: Sequence[Column], day_first: bool | None) -> tuple[Listed, ...]:
    """The episodes of a sheet."""
    meant = [(place, column) for place, column in enumerate(columns) if column.field]
    found = []
    for row in sheet.rows:
        said = {column.field: (column.name, cell_text(row.cells[place])) for place, column in meant}
        episode = _read(row.line, said, day_first)
        found.append(replace(episode, faults=(*episode.faults, *beyond(row.extra))))
    return tuple(found)


def listed_in_feed(entries: Sequence[FeedEntry]) -> tuple[Listed, ...]:
    """The episodes of a feed, in its order."""
    return tuple(
        Listed(
            entry.place,
            _text_or_none(entry.title),
            FuzzyDate.exact(entry.day) if entry.day else None,
            entry.instant,
            link=_text_or_none(entry.link),
            id=entry.id,
        )
        for entry in entries
    )


def _text_or_none(said: str) -> str:
    """Text of a feed that a book may keep; nothing if it may not."""
    try:
        return cells.text(said)
    except BadInput:
        return ""


def _read(line: int, said: Mapping[str, tuple[str, str]], day_first: bool | None) -> Listed:
    """One row of a sheet."""
    values: dict[str, object] = {}
    doubts: list[Remark] = []
    faults: list[Remark] = []
    for name, (column, cell) in said.items():
        if not cell.strip():
            continue
        try:
            note = _read_cell(values, name, cell, day_first)
        except ShowrunnerError as error:
            faults.append(Remark(column, cell, error.what, error.way_out))
            continue
        if note:
            doubts.append(Remark(column, cell, note))
    return Listed(line, doubts=tuple(doubts), faults=tuple(faults), **values)  # type: ignore[arg-type]  # by its readers


def _read_cell(values: dict[str, object], name: str, cell: str, day_first: bool | None) -> str:
    """Read one cell into `values`; what was assumed or is doubted."""
    if name == "published":
        if plain_name(cell) in ("missed", "never", "no", "none") or re.fullmatch(r"\s*[-–—]\s*", cell):
            values["missed"] = True
            return ""
        written = cells.fuzzy(cell, day_first)
        values["actual"] = written.kept
        vague = written.date is not None and not written.date.is_exact
        spoken = f"{written.date.words}, the day is not known ({written.date.text})" if written.date and vague else ""
        return "; ".join(filter(None, (spoken, written.note)))
    if name == "planned":
        written = cells.fuzzy(cell, day_first)
        if written.date is None or not written.date.is_exact:
            return "no exact day, so the planned day stays unknown"
        values["planned"] = written.date.earliest
        return ""
    if name == "missed":
        values["missed"] = cells.yes_no(cell)
    elif name == "run_time":
        values["run_seconds"] = _seconds(cell)
    elif name in ("title", "slot", "about", "link"):
        values[name] = cells.text(cell)
    return ""


def _seconds(cell: str) -> int:
    """A run time in seconds: `14:30`, `1:02:05`, or minutes (`14`, `14.5 min`)."""
    found = cells.text(cell).casefold()
    if ":" in found:
        return read_run_time(found)
    if minutes := re.fullmatch(r"(\d{1,4}(?:[.,]\d{1,2})?) ?(?:m|min|mins|minutes|')?", found):
        return round(float(minutes[1].replace(",", ".")) * 60)
    raise BadInput("this is no run time", way_out="write it like 14:30, or in minutes")


def bring_episodes(
    book: Book,
    listed: Sequence[Listed],
    name: str,
    today: date,
    asked: Asked,
    columns: tuple[Column, ...] = (),
    notes: Sequence[str] = (),
    unit: Unit = Unit.LINE,
) -> Intake:
    """Compare a list of past episodes with the book.

    Args:
        book: the book.
        listed: the episodes, in the order of the file.
        name: name of the file, for the sentences.
        today: the present day.
        asked: how it is to be read.
        columns: what the columns of its sheet mean, if it is one.
        notes: sentences on how the file was read.
        unit: what the places of the list are counted in.

    Raises:
        BadInput: something that was asked for does not go with the list.
    """
    return _Bringing(book, listed, name, today, asked, columns, notes, unit).intake()


def episode_columns(book: Book, sheet: Sheet, name: str, asked: Asked) -> tuple[Column, ...]:
    """What the columns of a list of episodes mean.

    Raises:
        BadInput: no column gives titles, or something that was asked for does not go with the sheet.
    """
    columns = recognise([cell_text(column) for column in sheet.columns], Kind.EPISODES, book.wordings, asked.meanings)
    meant = {column.field for column in columns}
    if "title" not in meant:
        raise BadInput("no column gives the title of an episode", name, "say which one does, as --map 'COLUMN=title'")
    if not meant & {"published", "planned"}:
        raise BadInput(
            "no column says when an episode came out", name, "say which one does, as --map 'COLUMN=published'"
        )
    return columns


@dataclass(slots=True)
class _Taken:
    """An episode on its way into the record."""

    listed: Listed
    match: Match | None = None
    held: Publication | None = None
    passed: str = ""
    left_out: bool = False
    pieces: tuple[str, ...] = ()
    guesses: tuple[Guess, ...] = ()
    verdict: Verdict = Verdict.UNCHANGED
    said: list[str] = field(default_factory=list)
    doubts: list[Remark] = field(default_factory=list)
    faults: list[Remark] = field(default_factory=list)


class _Bringing:
    """One list of episodes on its way into a book."""

    def __init__(
        self,
        book: Book,
        listed: Sequence[Listed],
        name: str,
        today: date,
        asked: Asked,
        columns: tuple[Column, ...],
        notes: Sequence[str],
        unit: Unit,
    ) -> None:
        self.book, self.name, self.today, self.asked, self.columns = book, name, today, asked, columns
        self.notes = [*notes]
        self.unit = unit
        self.rows = [_Taken(episode, doubts=[*episode.doubts], faults=[*episode.faults]) for episode in listed]
        self.rules: tuple[SlotRule, ...] = book.rules
        self.series: dict[str, Series] = {}
        self.new_series: list[Series] = []
        self.pieces: dict[str, Piece] = {piece.id: piece for piece in book.pieces}
        self.episodes: list[Episode] = []
        self.filled: list[Publication] = []
        self.lines: list[Publication] = []
        self.new_episode_id = episode_ids(book)
        self.new_line_id = publication_ids(book)

    def intake(self) -> Intake:
        """Judge every episode, then make the book of them."""
        self._check_asked()
        self._check()
        self._match()
        self._find_rules()
        for collection in {self.pieces[id].collection: None for row in self._good() for id in row.pieces}:
            self._series_for(collection)
        for row in sorted(self._good(), key=_age):
            self._take(row)
        refused = [row for row in self.rows if row.faults]
        for row in refused:
            row.verdict = Verdict.REFUSED
        for row in self.rows:
            if row.left_out:
                row.verdict = Verdict.LEFT_OUT
        after = self.book if refused else self._book()
        self._tell(after)
        found = tuple(
            Row(
                row.listed.line,
                row.held.id if row.held else "",
                row.listed.title,
                row.verdict,
                "; ".join(row.said),
                tuple(row.doubts),
                tuple(row.faults),
                row.pieces,
                row.guesses,
                self.unit,
            )
            for row in self.rows
        )
        return Intake(
            self.name,
            Kind.EPISODES,
            self.book,
            after,
            found,
            self.columns,
            tuple(dict.fromkeys(self.notes)),
            unit=self.unit,
            pieces_left=self._pieces_left(after),
        )

    # Judging

    def _check_asked(self) -> None:
        """Refuse settled matches that do not go with the list or the book."""
        lines = {row.listed.line for row in self.rows}
        refuse_unknown_places(self.asked, lines, self.unit)
        for line, pieces in self.asked.settled.items():
            if line not in lines:
                raise BadInput(
                    f"no episode stands on {self.unit.value} {line}", "--match", f"give the {self.unit.value} of one"
                )
            for id in pieces:
                if id not in self.pieces:
                    raise BadInput(
                        f"the book holds no piece '{shorten(id)}'", f"--match, {self.unit.value} {line}", "look it up"
                    )

    def _check(self) -> None:
        """Refuse what cannot be recorded, pass over what is still to come, and find what the record holds."""
        links = {line.link: line for line in self.book.publications if line.link}
        lines = {_key(line.title, line.actual, line.planned): line for line in self.book.publications}
        seen: dict[tuple[str, str], int] = {}
        ids: dict[str, Listed] = {}
        for row in self.rows:
            listed = row.listed
            if listed.line in self.asked.left_out:
                self._leave_out(row, "as you say")
                continue
            if (twin_of := ids.setdefault(listed.id, listed)) is not listed and listed.id:
                if replace(twin_of, line=0) == replace(listed, line=0):
                    self._leave_out(row, f"the same as {self.unit.value} {twin_of.line}")
                    continue
                text = f"{self.unit.value} {twin_of.line}, “{shorten(twin_of.title)}”, is marked as the same one"
                row.faults.append(Remark("", "", text, f"leave one out: {skip_words(twin_of.line, listed.line)}"))
            if row.faults:
                continue
            if not listed.title:
                row.faults.append(Remark("", "", "it has no title", "give it one or take the row out"))
                continue
            if listed.missed and listed.planned is None:
                row.faults.append(Remark("", "", "it was missed, but not which day", "give the day it was planned for"))
                continue
            if not listed.missed and listed.actual is None and (listed.planned is None or listed.planned < self.today):
                row.faults.append(Remark("", "", "nothing says when it came out", "give a date, or 'missed'"))
                continue
            first = listed.actual.earliest if listed.actual else listed.planned
            if first and first > self.today:
                row.passed = "still to come, so it is passed over; plan it on the Ledger"
                row.doubts.append(Remark("", "", row.passed))
                continue
            key = _key(listed.title, None if listed.missed else listed.actual, listed.planned)
            if (twin := seen.setdefault(key, listed.line)) != listed.line:
                row.faults.append(
                    Remark(
                        "",
                        "",
                        f"{self.unit.value} {twin} says the same",
                        f"leave one out: {skip_words(twin, listed.line)}",
                    )
                )
                continue
            row.held = links.get(listed.link) if listed.link else None
            row.held = row.held or lines.get(key)
            if row.held is not None:
                self._compare(row, row.held)

    def _leave_out(self, row: _Taken, why: str) -> None:
        """Take nothing of an episode."""
        row.left_out, row.passed = True, why
        row.said, row.doubts, row.faults = [f"left out, {why}"], [], []

    def _compare(self, row: _Taken, held: Publication) -> None:
        """Tell where a list says something else than the record, which stays."""
        listed = row.listed
        if plain_name(held.title) != plain_name(listed.title):
            row.doubts.append(Remark("", "", f"the record calls it “{shorten(held.title)}”, and that stays"))
        if held.actual and listed.actual and held.actual.text != listed.actual.text:
            row.doubts.append(Remark("", "", f"the record says it came out {held.actual.words}, and that stays"))

    def _match(self) -> None:
        """Match every episode that came out with the pieces of the keeping collections, or of the one asked for."""
        wanted = self._collections()
        pieces = [piece for piece in self.book.pieces if piece.collection in wanted]
        came = [row for row in self._good() if not row.listed.missed]
        showings = [Showing(row.listed.title, row.listed.actual, row.listed.about) for row in came]
        matching = match(showings, pieces)
        for row, found in zip(came, matching.matches, strict=True):
            row.match = found
            if row.listed.line in self.asked.settled:
                row.pieces = self.asked.settled[row.listed.line]
                row.said.append("as you say" if row.pieces else "of no piece, as you say")
            elif found.likeness is Likeness.SURE:
                row.pieces = found.pieces
                row.said.append(found.why)
            elif found.likeness is Likeness.LIKELY:
                row.guesses = tuple(Guess(c.piece, c.chance, c.why) for c in found.candidates)

    def _collections(self) -> set[str]:
        said = self.asked.collection
        if not said:
            return {c.id for c in self.book.collections if c.kind is CollectionKind.KEEPING}
        found = {c.id for c in self.book.collections if said == c.id or plain_name(said) == plain_name(c.name)}
        if not found:
            names = words.some([f"'{c.name}'" for c in self.book.collections]) or "none yet"
            raise BadInput(f"the book holds no collection '{shorten(said)}'", "--collection", f"it holds {names}")
        return found

    def _find_rules(self) -> None:
        """The slots of the book; those that the list shows, if it has none."""
        if self.rules:
            return
        good = [row.listed for row in self._good()]
        dated = [Dated(listed.day, listed.instant, listed.slot) for listed in good]
        self.rules = derived_rules(dated, self.book.house.zone)
        if not self.rules and good:
            what = "the book has no weekly slots yet, and the dates of the list show no rhythm"
            raise BadInput(what, self.name, "make the slots first (g in the window), or name them in a column 'slot'")
        for rule in self.rules:
            self.notes.append(f"A weekly slot is made, as the list has it: {rule_words(rule)}, {rule.zone}.")
        if self.rules and self.book.house.zone == HouseRules().zone:
            self.notes.append("The house rules name no time zone of your own yet; set it first (h in the window).")

    def _good(self) -> Iterator[_Taken]:
        """The episodes that can be taken over, as far as is known."""
        return (row for row in self.rows if not row.faults and not row.passed)

    # Taking one over

    def _take(self, row: _Taken) -> None:
        """Record one episode and what it shows."""
        listed = row.listed
        held = row.held
        if held is not None and held.episode:
            row.pieces, row.guesses = self.book.episode(held.episode).pieces, ()
            row.said.clear()
            return
        study = self._study(row) if row.pieces else None
        if held is not None:
            if study is not None:
                self.filled.append(replace(held, episode=study.id, series=study.series))
            if self._mark(row) or study is not None:
                row.verdict = Verdict.CHANGED
            return
        rule = self._rule(row, study)
        if rule is None:
            return
        listed = row.listed
        line = Publication(
            self.new_line_id(),
            listed.title,
            rule.id,
            listed.planned,
            None if listed.missed else listed.actual,
            study.id if study else "",
            study.series if study else "",
            listed.link,
        )
        self.lines.append(line)
        row.verdict = Verdict.NEW
        self._mark(row)

    def _rule(self, row: _Taken, study: Episode | None) -> SlotRule | None:
        """The slot an episode was for; None if that cannot be told, which refuses it."""
        listed = row.listed
        if listed.slot:
            named = named_rule(self.rules, listed.slot)
            if named is None:
                names = words.some([f"'{rule.name}'" for rule in self.rules])
                row.faults.append(Remark("", listed.slot, "no weekly slot is called so", f"write one of {names}"))
            return named
        among = self._series_of(study.series).rules if study else ()
        day = listed.planned or listed.day
        if day is not None:
            rule, odd = rule_of_day(self.rules, day, among)
            if odd and listed.planned is None:
                row.doubts.append(Remark("", "", odd))
            if rule is not None:
                return rule
        likely = among or self._likely_rules(row)
        able = [rule for rule in self.rules if not likely or rule.id in likely]
        if len(able) == 1:
            return able[0]
        row.faults.append(
            Remark("", "", "without an exact day it is not known which slot it was for", "add a column 'slot'")
        )
        return None

    def _likely_rules(self, row: _Taken) -> tuple[str, ...]:
        """Slots of the series of the piece that an episode of no exact day likely shows."""
        for candidate in row.match.candidates if row.match else ():
            found = self._series_on(self.pieces[candidate.piece].collection)
            if found:
                return found.rules
        return ()

    def _series_of(self, id: str) -> Series:
        return next((s for s in self.new_series if s.id == id), None) or self.book.series_of(id)

    def _study(self, row: _Taken) -> Episode | None:
        """The published study that an episode was; None if its pieces cannot be one study."""
        listed = row.listed
        collections = {self.pieces[id].collection for id in row.pieces}
        if len(row.pieces) > 2 or len(collections) > 1:
            row.said.append("more than one study can hold, so it is recorded as filler")
            return None
        series = self._series_for(collections.pop())
        waiting = next((e for e in self.book.open_studies if set(e.pieces) == set(row.pieces)), None)
        taken = {e.id for e in self.episodes}
        if waiting is not None and waiting.id not in taken:
            study = waiting
            row.said.append(f"it is the study “{waiting.title}” that was planned")
            if listed.planned is None and waiting.slot is not None:
                row.listed = replace(listed, planned=waiting.slot.day)
        else:
            id = self.new_episode_id(listed.title)
            study = Episode(id, listed.title, series=series.id, pieces=row.pieces)
        run_seconds = listed.run_seconds or study.run_seconds
        study = replace(study, published=True, finished=True, done=tuple(Stage), run_seconds=run_seconds)
        self.episodes.append(study)
        return study

    def _series_on(self, collection: str) -> Series | None:
        """The series on a collection, of the book or made already."""
        return self.series.get(collection) or next((s for s in self.book.series if s.collection == collection), None)

    def _series_for(self, collection: str) -> Series:
        """The series on a collection; one is made for a collection that has none."""
        found = self._series_on(collection)
        if found is None:
            name = self.book.collection(collection).name
            days = [r.listed.day for r in self.rows if r.pieces and r.listed.day]
            rule = self.rules[0]
            if days:
                rules = [rule_of_day(self.rules, day)[0] for day in days]
                rule = max(self.rules, key=lambda r: rules.count(r))
            taken = {s.id for s in (*self.book.series, *self.new_series)}
            found = Series(free_id(collection, taken, "series"), name, collection, (rule.id,))
            self.new_series.append(found)
            self.notes.append(
                f"A series is made on {name}, in the slot {rule.name}; h in the window sets its spacing and hours."
            )
        self.series[collection] = found
        return found

    def _mark(self, row: _Taken) -> bool:
        """Mark what an episode shows, surely or likely; tell what it does to each piece.

        Returns:
            Whether a piece changes.
        """
        changed = [self._mark_shown(row, id) for id in row.pieces]
        if not row.pieces:
            changed += [self._mark_likely(row, guess) for guess in row.guesses[:1]]
        return any(changed)

    def _mark_shown(self, row: _Taken, id: str) -> bool:
        piece = self.pieces[id]
        old = piece.shown
        when = row.listed.actual
        evidence = _evidence(row.listed)
        if old.known is Known.NO and old.evidence:
            text = f"the book says {piece.name} is not shown ({shorten(old.evidence, 60)}), and that stays"
            row.doubts.append(Remark("", "", text))
            return False
        if old.known is Known.YES and old.evidence and not _LISTED.fullmatch(old.evidence):
            return False
        if old.known is Known.YES and old.when and when and not _within(when, old.when):
            when = old.when
        shown = replace(old, known=Known.YES, odds_unshown=50, evidence=evidence, when=when or old.when)
        self.pieces[id] = replace(piece, shown=shown)
        return True

    def _mark_likely(self, row: _Taken, guess: Guess) -> bool:
        piece = self.pieces[guess.piece]
        old = piece.shown
        told = f"perhaps {piece.name} ({guess.chance}%: {guess.why})"
        row.doubts.append(Remark("", "", told, "confirm it, or the piece becomes unsure" if not old.evidence else ""))
        evidence = f"perhaps {_evidence(row.listed)}"
        if old.known is Known.YES or evidence in old.evidence or (old.known is Known.NO and old.evidence):
            return False
        if old.known is Known.UNSURE:
            kept = f"{old.evidence}; {evidence}" if old.evidence else evidence
            self.pieces[piece.id] = replace(piece, shown=replace(old, evidence=kept))
            return True
        shown = replace(old, known=Known.UNSURE, odds_unshown=100 - guess.chance, evidence=evidence)
        self.pieces[piece.id] = replace(piece, shown=shown)
        return True

    # The book

    def _book(self) -> Book:
        after = self.book
        if self.rules != self.book.rules:
            after = after.put("rules", *self.rules)
        if self.new_series:
            after = after.put("series", *self.new_series)
        if self.episodes:
            after = after.put("episodes", *self.episodes)
        if self.filled or self.lines:
            after = after.put("publications", *self.filled, *self.lines)
        changed = [piece for id, piece in self.pieces.items() if piece is not self.book.piece(id)]
        if changed:
            after = after.put("pieces", *changed)
        said = to_keep(Kind.EPISODES, self.columns)
        return after.put("wordings", *said) if said else after

    def _pieces_left(self, after: Book) -> tuple[str, ...]:
        """Pieces marked shown that no published episode is about."""
        about = {id for episode in after.episodes if episode.published for id in episode.pieces}
        about |= {id for row in self.rows for id in row.pieces}
        wanted = self._collections()
        return tuple(
            piece.id
            for piece in after.pieces
            if piece.collection in wanted and piece.shown.known is Known.YES and piece.id not in about
        )

    def _tell(self, after: Book) -> None:
        """Say what the list shows as a whole: gaps between studies, slips, and slots that stand empty."""
        came = list(self._good())
        if not came:
            return
        known = [row for row in came if row.listed.planned is not None or row.listed.missed]
        late = [row for row in known if _late(row.listed)]
        if known:
            self.notes.append(
                f"{len(late)} of {len(known)} whose planned day is known came late or not at all; of "
                f"{len(came) - len(known)} the planned day is not known."
            )
            if late and len(known) < len(came) / FEW:
                self.notes.append(
                    f"The slip rate would rest on these {len(known)} alone; a column 'planned' would make it fair."
                )
        else:
            self.notes.append("No planned day is known, so no slip is recorded.")
        self.notes += _gaps([row.listed.day for row in came if row.pieces and row.listed.day])
        self.notes += _empty_slots(self.rules, after)


def _key(title: str, actual: FuzzyDate | None, planned: date | None) -> tuple[str, str]:
    """What tells one episode from another: its title, and when it came out or was to."""
    when = actual.text if actual else f"missed {planned}"
    return title.casefold(), when


def _age(row: _Taken) -> tuple[date, int]:
    listed = row.listed
    day = (listed.actual.latest if listed.actual else None) or listed.planned or date.max
    return day, listed.line


def _late(listed: Listed) -> bool:
    if listed.missed or listed.actual is None:
        return True
    return listed.planned is not None and listed.actual.earliest is not None and listed.actual.earliest > listed.planned


def _evidence(listed: Listed) -> str:
    when = f", {listed.actual.words}" if listed.actual else ""
    return f"{listed.title}{when}"


def _within(one: FuzzyDate, two: FuzzyDate) -> bool:
    """Whether the first date is at least as exact as the second and lies in it."""
    if one.earliest is None or one.latest is None:
        return False
    return (two.earliest is None or two.earliest <= one.earliest) and (two.latest is None or one.latest <= two.latest)


def _gaps(days: Sequence[date]) -> Iterator[str]:
    """The weeks between studies, shortest to longest."""
    found = sorted(set(days))
    gaps = sorted((two - one).days for one, two in pairwise(found))
    if gaps:
        middle = gaps[len(gaps) // 2]
        yield (
            f"Studies of known day are {words.weeks(gaps[0])} to {words.weeks(gaps[-1])} apart, "
            f"the middle gap is {words.weeks(middle)}."
        )


FEW = 4
"""A known planned day in fewer than one of so many makes no fair slip rate."""
MANY_SLOTS = 6
"""Most empty slots that are named."""


def _empty_slots(rules: Sequence[SlotRule], after: Book) -> Iterator[str]:
    """The slots within the record in which nothing is recorded."""
    for rule in rules:
        lines = [line for line in after.publications if line.rule == rule.id]
        days = {line.planned for line in lines if line.planned}
        spans = [(a.earliest, a.latest) for line in lines if (a := line.actual) and a.earliest and a.latest]
        known = [first for first, last in spans if first == last]
        if not known or any(first != last for first, last in spans):
            continue
        weeks = {day - timedelta(days=(day.weekday() - rule.weekday) % 7) for day in (*known, *days)}
        day, last = min(weeks), max(weeks)
        empty = []
        while day <= last:
            if day not in weeks:
                empty.append(words.day(day))
            day += timedelta(days=7)
        if empty:
            more = f" and {len(empty) - MANY_SLOTS} more" if len(empty) > MANY_SLOTS else ""
            yield (
                f"Nothing is recorded for the slot {rule.name} on {', '.join(empty[:MANY_SLOTS])}{more}; "
                "if something was planned there and missed, add it with its planned day and 'missed'."
            )
