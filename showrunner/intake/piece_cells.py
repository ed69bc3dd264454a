"""One row of a sheet of pieces: its cells read one by one, and laid over the piece the book holds."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any

from showrunner.domain import words
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.limits import read_limits
from showrunner.domain.measuring import read_measure, read_measurements
from showrunner.domain.piece import (
    Claim,
    Condition,
    Confidence,
    Exposure,
    Handling,
    Known,
    Measurement,
    Piece,
    Shown,
    Want,
)
from showrunner.domain.record import record
from showrunner.domain.words import plain
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.intake import cells
from showrunner.intake.cells import Said
from showrunner.intake.columns import Column
from showrunner.intake.findings import Remark, shorten

WANTS = ("want_status", "ceiling", "paid", "carriage", "expected", "width_cm")
"""Fields that only a piece of a shopping collection has."""
FLAGS = ("flat_only", "no_hanging", "no_turning", "board")
_WANT_FIELD = {"want_status": "status"}
_DATES = ("made", "acquired", "expected")
_WORDS = ("id", "name", "notes", "evidence", "shown", "shown_when", "odds", "condition", "claims")
"""Fields in which words of ignorance are an answer."""
DATE_FIELDS = (*_DATES, "shown", "shown_when")
"""Fields whose cells may be dates."""

_BOX = re.compile(r"(?i)(?:box +)?(.+?)(?:[,;/]| -)? *\b(?:layer|lay\.?) *(\d{1,3})")
_CLAIM = re.compile(
    r"([^:]+): (.+) \[(sure|probable|possible)"
    r"(?:, (?!judged \d|superseded|study |found \d)(?:basis: )?(.+?))?(?:, judged (\d{4}-\d\d-\d\d))?(, superseded)?"
    r"(?:, study (.+?))?(?:, found (\d{4}-\d\d-\d\dT[\d:.]+Z))?\]",
    re.DOTALL,
)
_CONDITION = re.compile(r"(\d{4}-\d\d-\d\d) ([^:]+): (.+?)(?: \[(before|after) shoot ?([^\]]*)\])?", re.DOTALL)
_EXPOSURE = re.compile(
    r"(\d{4}-\d\d-\d\d): (\d{1,9}) lux hours, touches (\d{1,4})"
    r"(?: \[(?!shoot )(.+?)(?:, shoot (.+))?\]| \[shoot (.+)\])?",
    re.DOTALL,
)
_MEASUREMENT = re.compile(r"(.+?) (\d+(?:\.\d+)?) (cm|kg)(?: \[entered (.+)\])?", re.DOTALL)


@record
class Reading:
    """How cells are to be read."""

    today: date
    """The present day."""
    day_first: bool | None
    """Whether the day comes first in 12/3/2024."""
    blank: Known
    """What an empty cell says where it should say whether a piece has been shown."""
    light_classes: tuple[str, ...]
    """Names of the classes of sensitivity to light."""
    cross: Known | None = None
    """What an `x` says there; None if nobody says."""
    exported: bool = False
    """Whether an export wrote the sheet, so that dates are EDTF and nothing else."""


@record
class Entry:
    """What a row says, cell by cell."""

    line: int
    """Line of the file."""
    values: Mapping[str, Any]
    """What was read, by field; a field whose cell is empty is missing."""
    said: Mapping[str, str]
    """The cells themselves, by field."""
    columns: Mapping[str, str]
    """Name of the column, by field."""
    doubts: tuple[Remark, ...] = ()
    """What is doubted."""
    faults: tuple[Remark, ...] = ()
    """Why the row is refused."""

    def remark(self, field: str, text: str, way_out: str = "") -> Remark:
        """A remark on the cell of a field."""
        return Remark(self.columns.get(field, ""), self.said.get(field, ""), text, way_out)


def read_entry(line: int, row: Mapping[str, tuple[Column, str]], reading: Reading) -> Entry:
    """Read the cells of a row; what cannot be read is a fault, what is odd a doubt."""
    values: dict[str, Any] = {}
    said: dict[str, str] = {}
    names: dict[str, str] = {}
    doubts: list[Remark] = []
    faults: list[Remark] = []
    for field, (column, cell) in row.items():
        names[field] = column.name
        if not cell.strip():
            continue
        said[field] = cell
        if field not in _WORDS and not reading.exported and cells.says_nothing(cell):
            doubts.append(Remark(column.name, cell, "nothing is known, so it is left empty"))
            continue
        try:
            values[field], note = _value(field, column, cell, reading)
        except ShowrunnerError as error:
            faults.append(Remark(column.name, cell, error.what, error.way_out))
            continue
        if note:
            doubts.append(Remark(column.name, cell, note))
    return Entry(line, values, said, names, tuple(doubts), tuple(faults))


def _value(field: str, column: Column, cell: str, reading: Reading) -> tuple[Any, str]:
    """What a cell says, and what was assumed or is doubted."""
    if field in _DATES:
        if reading.exported:
            return cells.edtf(cell), ""
        written = cells.fuzzy(cell, reading.day_first)
        return written.kept, written.note
    if field in ("shown", "shown_when"):
        if reading.exported and field == "shown_when":
            said = Said(Known.YES, when=cells.edtf(cell))
        elif reading.exported and cell in tuple(Known):
            said = Said(Known(cell))
        else:
            said = cells.shown(cell, reading.day_first, reading.cross)
        if said.when and said.when.earliest and said.when.earliest > reading.today:
            what = f"{said.when.words} is still to come (today is {words.day(reading.today)})"
            raise BadInput(what, way_out="give a day that has come")
        return said, said.note
    if field.startswith("measure:"):
        return _measure(field.removeprefix("measure:"), column.unit, cell), ""
    if field.startswith("claim:"):
        return cells.claim(field.removeprefix("claim:"), cell), ""
    if field == "light":
        return _light(cell, reading.light_classes), ""
    if reading.exported and field in _EXPORTED_READERS:
        return _EXPORTED_READERS[field](cell), ""
    return _READERS[field](cell), ""


@lru_cache(maxsize=8192)
def _measure(what: str, unit: str, cell: str) -> Measurement:
    entry = cells.text(cell)
    if re.fullmatch(r"\d+ ?['’′] ?\d+", entry):
        entry += '"'
    if unit and re.fullmatch(r"[\d ./,¼½¾⅛⅜⅝⅞]+", entry):
        entry = f"{entry} {unit}"
    value, of, entered = read_measure(entry)
    return Measurement(what, value, of, entered)


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput(f"'{text}' is no day of the calendar", way_out="write it like 2026-03-22") from None


def _instant(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise BadInput(f"'{text}' is no instant", way_out="write it like 2026-03-22T09:30:00Z") from None


def _exposures(cell: str) -> tuple[Exposure, ...]:
    """Light and handling as an export writes them: `2026-02-11: 500 lux hours, touches 3 [filming, shoot s1]`."""
    found = []
    for part in cells.joined(cell, " | "):
        match = _EXPOSURE.fullmatch(part)
        if match is None:
            way_out = "write it like 2026-02-11: 500 lux hours, touches 3 [filming]"
            raise BadInput(f"'{shorten(part)}' says no light on a day", way_out=way_out)
        day, lux, touches, what, shoot, alone = match.groups(default="")
        found.append(Exposure(_day(day), int(lux), int(touches), what, shoot or alone))
    return tuple(found)


def _exported_measurements(cell: str) -> tuple[Measurement, ...]:
    """Measurements as an export writes them; anything else as people do."""
    matches = [_MEASUREMENT.fullmatch(part) for part in cells.joined(cell, " | ")]
    if not all(matches):
        return _all_measurements(cell)
    return tuple(Measurement(m[1], Decimal(m[2]), m[3], m[4] or "") for m in matches if m)


def _all_measurements(cell: str) -> tuple[Measurement, ...]:
    """Measurements as people write them, or as an export does: `chest 86.36 cm [entered 34 in] | weight 2 kg`."""
    found: list[Measurement] = []
    for part in cells.paragraph(cell).split(" | "):
        bare, _, entered = part.partition(" [entered ")
        read = read_measurements(bare)
        found += [replace(read[0], entered=entered.removesuffix("]"))] if entered and len(read) == 1 else read
    return tuple(found)


def _light(cell: str, classes: tuple[str, ...]) -> str:
    found = plain(cells.text(cell)).removesuffix(" sensitivity")
    if found not in classes:
        raise BadInput("there is no such class of light", way_out=f"write {', '.join(classes)}")
    return found


def _box(cell: str) -> tuple[str, int | None]:
    """A box and, where the cell names one, the layer in it: `D, layer 2`."""
    found = cells.text(cell)
    if match := _BOX.fullmatch(found):
        return match[1].strip(), int(match[2])
    return re.sub(r"(?i)^box +(?=\S)", "", found), None


def _conditions(cell: str) -> tuple[Condition | str, ...]:
    """Entries of a condition log as an export writes them, each with its day; anything else is one entry in words."""
    found = cells.paragraph(cell)
    whole = [_CONDITION.fullmatch(part.strip()) for part in found.split(" | ")]
    entries: list[Condition | str] = []
    for match in whole:
        if match is None:
            return (" ".join(found.split()),)
        try:
            day = date.fromisoformat(match[1])
        except ValueError:
            return (" ".join(found.split()),)
        entries.append(Condition(day, match[2], match[3], match[5] or "", match[4] == "after"))
    return tuple(entries)


def _claims(cell: str) -> tuple[Claim, ...]:
    """Claims as an export writes them: `fibre: silk [probable, basis: burn test]`."""
    found = []
    for part in cells.paragraph(cell).split(" | "):
        match = _CLAIM.fullmatch(part.strip())
        if match is None:
            about, colon, said = part.partition(":")
            if not colon or not said.strip():
                raise BadInput(f"'{shorten(part)}' is no claim", way_out="write it like fibre: silk [probable]")
            found.append(cells.claim(about.strip(), said))
            continue
        about, value, confidence, basis, judged, superseded, study, at = match.groups(default="")
        day, instant = _day(judged) if judged else None, _instant(at) if at else None
        found.append(Claim(about, value, Confidence(confidence), basis, day, bool(superseded), study, instant))
    return tuple(found)


_READERS: Mapping[str, Callable[[str], Any]] = {
    "id": cells.text,
    "name": cells.text,
    "collection": cells.text,
    "kind": cells.text,
    "acquired_before": cells.listed,
    "acquired_after": cells.listed,
    "materials": cells.listed,
    "features": cells.features,
    "points": cells.parts,
    "claims": _claims,
    "condition": _conditions,
    "limits": lambda cell: read_limits(cells.paragraph(cell)),
    "opens": cells.opens,
    **dict.fromkeys(FLAGS, cells.yes_no),
    "people": lambda cell: cells.whole(cell, 1, 9),
    "form_minutes": lambda cell: cells.whole(cell, 0, 9999),
    "handling_notes": cells.text,
    "hazards": cells.listed,
    "measurements": _all_measurements,
    "exposures": _exposures,
    "box": _box,
    "layer": lambda cell: cells.whole(cell, 1, 999),
    "odds": lambda cell: cells.whole(cell.replace("%", ""), 1, 99),
    "evidence": cells.text,
    "photographs": cells.parts,
    "notes": cells.paragraph,
    "want_status": cells.want_status,
    "ceiling": cells.amount,
    "paid": cells.amount,
    "carriage": cells.amount,
    "width_cm": cells.amount,
}

_EXPORTED_READERS: Mapping[str, Callable[[str], Any]] = {
    **dict.fromkeys(
        ("acquired_before", "acquired_after", "materials", "hazards", "photographs"),
        lambda cell: cells.joined(cell, "; "),
    ),
    "points": lambda cell: cells.joined(cell, " | "),
    "features": lambda cell: tuple(map(cells.feature, cells.joined(cell, " | "))),
    "measurements": _exported_measurements,
    "box": lambda cell: (cells.text(cell), None),
}
"""Readers of what an export writes otherwise than people do: a comma or a semicolon in its parts is theirs."""

_SHOWING = ("shown", "shown_when", "odds", "evidence")
"""Fields that only together say whether a piece has been shown."""


def changed_cells(row: Mapping[str, tuple[Column, str]], told: Mapping[str, str]) -> dict[str, tuple[Column, str]]:
    """The cells of a row of an export that somebody changed; what stayed as it was says nothing new.

    Args:
        row: column and cell by field.
        told: the cells that an export of the present book holds for the piece, by the name of the column.

    Returns:
        The row without the cells that are the same, but always with its number and its collection.
    """
    same = {field for field, (column, cell) in row.items() if told.get(column.name) == cell}
    if not same.issuperset(field for field in _SHOWING if field in row):
        same.difference_update(_SHOWING)
    return {field: cell for field, cell in row.items() if field in ("id", "collection") or field not in same}


# Laying a row over a piece


def laid_over(piece: Piece, entry: Entry, reading: Reading, *, new: bool) -> tuple[Piece, list[Remark]]:
    """The piece with what a row says; an empty cell never erases anything.

    Args:
        piece: the piece of the book, or a bare one to begin with.
        entry: the row.
        reading: how cells are read.
        new: whether the book does not hold the piece yet.

    Returns:
        The piece, and what is doubted.

    Raises:
        BadInput: values that do not go together.
    """
    values = entry.values
    changes: dict[str, Any] = {}
    for name in (
        "name",
        "kind",
        "materials",
        "features",
        "points",
        "hazards",
        "layer",
        "opens",
        "light",
        "photographs",
        "notes",
    ):
        if name in values:
            changes[name] = values[name]
    for name in ("made", "acquired"):
        if name in values:
            changes[name] = _same_date(getattr(piece, name), values[name])
    if "box" in values:
        changes["box"], layer = values["box"]
        if layer is not None:
            changes.setdefault("layer", layer)
    changes["handling"] = _handling(piece.handling, values)
    changes["measurements"] = _measurements(piece.measurements, values)
    changes["claims"] = _claims_after(piece.claims, values)
    changes["condition"] = _condition_after(piece.condition, values.get("condition", ()), reading.today)
    changes["exposures"] = (*piece.exposures, *(e for e in values.get("exposures", ()) if e not in piece.exposures))
    if reading.exported and new:
        changes.update({name: values[name] for name in ("measurements", "claims") if name in values})
    changes["shown"], doubts = _shown(piece.shown, entry, reading, new=new, wanted=piece.want is not None)
    if piece.want is not None:
        changes["want"] = _want(piece.want, values)
    return replace(piece, **changes), doubts


def _same_date(old: FuzzyDate | None, new: FuzzyDate | None) -> FuzzyDate | None:
    """The new date, unless it only says what the book holds already in other words."""
    return old if old is not None and new is not None and old.text == new.text else new


def _handling(old: Handling, values: Mapping[str, Any]) -> Handling:
    found = old
    if "limits" in values:
        said: Handling = values["limits"]
        flags = {flag: getattr(old, flag) or getattr(said, flag) for flag in FLAGS}
        minutes = old.form_minutes if said.form_minutes is None else said.form_minutes
        found = replace(old, **flags, people=max(old.people, said.people), form_minutes=minutes)
        found = replace(found, notes=said.notes or old.notes)
    direct = {name: values[name] for name in (*FLAGS, "people", "form_minutes") if name in values}
    if "handling_notes" in values:
        direct["notes"] = values["handling_notes"]
    return replace(found, **direct) if direct else found


def _measurements(old: tuple[Measurement, ...], values: Mapping[str, Any]) -> tuple[Measurement, ...]:
    said = [*values.get("measurements", ()), *(v for name, v in values.items() if name.startswith("measure:"))]
    found = list(old)
    for new in said:
        place = next((at for at, known in enumerate(found) if plain(known.what) == plain(new.what)), None)
        if place is None:
            found.append(new)
        elif (found[place].value, found[place].unit) != (new.value, new.unit):
            found[place] = new
    return tuple(found)


def _claims_after(old: tuple[Claim, ...], values: Mapping[str, Any]) -> tuple[Claim, ...]:
    found = old
    said = [*values.get("claims", ()), *(v for name, v in values.items() if name.startswith("claim:"))]
    for new in said:
        if any(_same_claim(known, new) for known in found):
            continue
        if not new.superseded:
            found = tuple(replace(c, superseded=True) if plain(c.about) == plain(new.about) else c for c in found)
        found = (*found, new)
    return found


def _same_claim(one: Claim, two: Claim) -> bool:
    return (plain(one.about), one.value, one.confidence) == (plain(two.about), two.value, two.confidence)


def _condition_after(
    old: tuple[Condition, ...], said: tuple[Condition | str, ...], today: date
) -> tuple[Condition, ...]:
    found = old
    for new in said:
        if isinstance(new, str):
            if all(known.text != new for known in found):
                found = (*found, Condition(today, "all", new))
        elif all((known.day, known.place, known.text) != (new.day, new.place, new.text) for known in found):
            found = (*found, new)
    return found


def _want(old: Want, values: Mapping[str, Any]) -> Want:
    said = {_WANT_FIELD.get(name, name): values[name] for name in WANTS if name in values}
    if "expected" in said:
        said["expected"] = _same_date(old.expected, said["expected"])
    for name, value in said.items():
        if isinstance(value, Decimal) and getattr(old, name) == value:
            said[name] = getattr(old, name)
    return replace(old, **said)


# Whether it has been shown: never made firmer, nor vaguer, than what is known


def _said_shown(entry: Entry) -> Said | None:
    """What a row says about showing: its state and when, whichever column says it."""
    state: Said | None = entry.values.get("shown")
    when: Said | None = entry.values.get("shown_when")
    if state is None or when is None or state.when is not None or state.known is Known.NO:
        return when if state is None else state
    return replace(state, when=when.when)


def _clash(entry: Entry) -> Said | None:
    """What is kept where one column says no and another says when, or one says yes and the other doubts it."""
    state: Said | None = entry.values.get("shown")
    when: Said | None = entry.values.get("shown_when")
    if state is None or when is None or state.known is Known.UNSURE or when.known is Known.NO:
        return None
    column = entry.columns["shown"]
    if state.known is Known.NO:
        if when.when is None:
            return None
        note = f"'{column}' says it is not shown, and this says when; unsure, 50% that it is not shown"
        return Said(Known.UNSURE, 50, when.when, note)
    if cells.is_doubted(entry.said["shown_when"]):
        note = f"'{column}' says it is shown, and this doubts it; unsure, 25% that it is not shown"
        return Said(Known.UNSURE, 25, when.when, note)
    return None


def _shown(old: Shown, entry: Entry, reading: Reading, *, new: bool, wanted: bool) -> tuple[Shown, list[Remark]]:
    said = _said_shown(entry)
    field = "shown" if "shown" in entry.values or "shown_when" not in entry.columns else "shown_when"
    if said is None:
        asks = {"shown", "shown_when"} & entry.columns.keys()
        if not new or reading.blank is Known.NO or (wanted and not asks):
            return _with_evidence(old, entry), []
        if not asks:
            return _with_evidence(Shown(Known.UNSURE), entry), []
        text = "nothing is said about showing, so unsure; 50% that it is not shown"
        return Shown(Known.UNSURE), [entry.remark(field, text, "write no if it has not been shown")]
    clash = None if reading.exported else _clash(entry)
    if clash is not None:
        said = clash
    if not new and (kept := _kept(old, said)):
        return old, [entry.remark(field, kept)]
    odds = entry.values.get("odds", said.odds) if said.known is Known.UNSURE else 50
    when = said.when
    if old.known is said.known and old.when is not None and (when is None or not _narrower(when, old.when)):
        when = old.when
    same = not new and (old.known, old.when) == (said.known, when)
    if same and said.known is Known.UNSURE and "odds" not in entry.values:
        odds = old.odds_unshown
    evidence = old.evidence if same else ""
    if not evidence and not same and said.known is not Known.NO:
        fields = ("shown", "shown_when") if clash else (field,)
        evidence = "listed as " + words.listing([f"“{shorten(entry.said.get(name, ''))}”" for name in fields])
    told = [entry.remark("shown_when", clash.note)] if clash else []
    return _with_evidence(Shown(said.known, odds, evidence, when), entry), told


def _with_evidence(found: Shown, entry: Entry) -> Shown:
    return replace(found, evidence=entry.values["evidence"]) if "evidence" in entry.values else found


def _kept(old: Shown, said: Said) -> str:
    """Why what the book says stays, though the row says otherwise; empty if the row is to be followed."""
    settled = old.known is Known.YES or bool(old.evidence)
    if said.known is old.known or not settled:
        return ""
    state = {Known.YES: "shown", Known.NO: "not shown", Known.UNSURE: "unsure"}[old.known]
    rests = f" ({shorten(old.evidence, 60)})" if old.evidence else ""
    if said.known is Known.YES and old.known is Known.UNSURE:
        return ""
    return f"the book says {state}{rests}, and that stays"


def _narrower(one: FuzzyDate, two: FuzzyDate) -> bool:
    """Whether the first date says something else than the second, or the same more exactly."""
    if one.text == two.text or one.earliest is None or one.latest is None:
        return False
    if two.earliest is None or two.latest is None:
        return True
    return not (one.earliest <= two.earliest and two.latest <= one.latest)
