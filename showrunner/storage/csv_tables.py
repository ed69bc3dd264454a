"""The book as tables of plain text for a spreadsheet: one row a record, one readable column a field.

Values keep the forms in which they are entered: days as `2026-03-22`, doubtful dates as EDTF, instants in UTC,
decimals unrounded, yes and no. Lists of words are joined by `; `, lists of things with details by ` | `. Ids stand
for the records they name. The exchange file, and not these tables, gives the same book again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date, datetime, time
from enum import StrEnum
from typing import TypeVar

from showrunner.domain.book import Book
from showrunner.domain.collection import Box, Collection, Supply
from showrunner.domain.episode import Episode, Pin, Series, StageMinutes, Window, Worked
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import WEEKDAYS, Form
from showrunner.domain.kinds import aat
from showrunner.domain.package import Chapter, Corrected, Heard, Still
from showrunner.domain.piece import (
    Claim,
    Condition,
    Exposure,
    Feature,
    Known,
    Measurement,
    Piece,
    Presence,
    Want,
    WantStep,
)
from showrunner.domain.publication import CalendarEntry, Publication, Supporter
from showrunner.domain.record import record
from showrunner.domain.shoot import LogLine, Shoot
from showrunner.domain.slot import BusyDay, DarkRange, EarlierTimes, SlotRule
from showrunner.domain.wording import Wording
from showrunner.storage.codec import write

R = TypeVar("R")
Table = tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]
"""Column names, and the rows below them."""
Columns = tuple[tuple[str, Callable[[R], object]], ...]

IMPORTANCE = {1: "must", 2: "should", 3: "may"}
"""The word for each importance of a feature."""


def to_csv_tables(book: Book) -> dict[str, Table]:
    """Every table of a book by its file name.

    Returns:
        For each file its column names and its rows, in book order. Cells are plain text, not yet quoted or made
        harmless for a spreadsheet.
    """
    return {
        "house.csv": _table(_HOUSE, _house(book)),
        "collections.csv": _table(_COLLECTION, book.collections),
        "boxes.csv": _table(_BOX, book.boxes),
        "pieces.csv": _table(_PIECE, book.pieces),
        "wants.csv": _table(_WANT, _wanted(book)),
        "slot_rules.csv": _table(_RULE, book.rules),
        "series.csv": _table(_SERIES, book.series),
        "dark.csv": _table(_DARK, book.dark),
        "busy.csv": _table(_BUSY, book.busy),
        "episodes.csv": _table(_EPISODE, book.episodes),
        "pins.csv": _table(_PIN, book.pins),
        "publications.csv": _table(_PUBLICATION, book.publications),
        "supporters.csv": _table(_SUPPORTER, book.supporters),
        "shoots.csv": _table(_SHOOT, book.shoots),
        "log.csv": _table(_LOG, book.log),
        "wordings.csv": _table(_WORDING, book.wordings),
        "calendar.csv": _table(_CALENDAR, book.calendar),
    }


def piece_row(piece: Piece) -> dict[str, str]:
    """The cells of a piece by the names of their columns."""
    return {name: _cell(value(piece)) for name, value in _PIECE}


def _table(columns: Columns[R], records: Iterable[R]) -> Table:
    names = tuple(name for name, _ in columns)
    return names, tuple(tuple(_cell(value(record)) for _, value in columns) for record in records)


def _cell(value: object) -> str:
    """One value as the text of its cell; nothing for None."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, FuzzyDate):
        return value.text
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, date | datetime | time):
        return str(write(type(value), value))
    if isinstance(value, tuple):
        return "; ".join(map(_cell, value))
    return str(value)


def _details(*details: str) -> str:
    """What there is of the details, as ` [must, absent]`; nothing if there is none."""
    said = ", ".join(detail for detail in details if detail)
    return f" [{said}]" if said else ""


def _joined(texts: Iterable[str]) -> str:
    return " | ".join(texts)


# What is joined into one cell


def feature_text(feature: Feature) -> str:
    """A feature in one cell: `watch pocket @ wearer's left [inside, must, absent]`."""
    where = f" @ {feature.where}" if feature.where else ""
    presence = "" if feature.presence is Presence.PRESENT else feature.presence.value
    altered = "altered" if feature.altered else ""
    details = _details(feature.view.value, IMPORTANCE[feature.importance], presence, altered)
    return f"{feature.what}{where}{details}"


def claim_text(claim: Claim) -> str:
    """A claim in one cell: `fibre: silk [probable, basis: burn test, judged 2026-02-11, superseded]`."""
    details = _details(
        claim.confidence.value,
        f"basis: {claim.basis}" if claim.basis else "",
        f"judged {_cell(claim.judged)}" if claim.judged else "",
        "superseded" if claim.superseded else "",
        f"study {claim.study}" if claim.study else "",
        f"found {_cell(claim.found)}" if claim.found else "",
    )
    return f"{claim.about}: {claim.value}{details}"


def condition_text(condition: Condition) -> str:
    """An entry of the condition log in one cell: `2026-02-11 left cuff: frayed [after shoot s1]`."""
    when = "after" if condition.after else "before"
    seen = f"{when} shoot {condition.shoot}".rstrip() if condition.shoot or condition.after else ""
    return f"{_cell(condition.day)} {condition.place}: {condition.text}{_details(seen)}"


def worked_text(work: Worked) -> str:
    """Hours worked in one cell: `2026-03-02 research: 120 minutes`, or without a stage for what has none."""
    stage = f" {work.stage.value}" if work.stage else ""
    return f"{_cell(work.day)}{stage}: {work.minutes} minutes"


def exposure_text(exposure: Exposure) -> str:
    """Light and handling in one cell: `2026-02-11: 500 lux hours, touches 3 [filming, shoot s1]`."""
    details = _details(exposure.what, f"shoot {exposure.shoot}" if exposure.shoot else "")
    return f"{_cell(exposure.day)}: {exposure.lux_hours} lux hours, touches {exposure.touches}{details}"


def measurement_text(measurement: Measurement) -> str:
    """A measurement in one cell: `chest 86.5 cm [entered 34 in]`."""
    entered = f"entered {measurement.entered}" if measurement.entered else ""
    return f"{measurement.what} {measurement.value} {measurement.unit}{_details(entered)}"


def _form_text(form: Form) -> str:
    """A form with its sort and measures: `small form [dress form, chest 80 cm, waist 62 cm]`."""
    sizes = [f"{what} {size} cm" for what, size in form.girths.items()]
    sizes += [f"back {form.back_cm} cm"] if form.back_cm is not None else []
    return f"{form.name}{_details(form.sort.value, *sizes)}"


def supply_text(supply: Supply) -> str:
    """Something in store in one cell: `tissue, sheets: 40 [reorder at 50, counted 2026-02-11]`."""
    counted = f"counted {_cell(supply.counted)}" if supply.counted else ""
    return f"{supply.name}: {supply.on_hand}{_details(f'reorder at {supply.reorder_at}', counted)}"


def step_text(step: WantStep) -> str:
    """A change of a want in one cell: `2026-02-11 ordered`."""
    return f"{_cell(step.day)} {step.status.value}"


def window_text(window: Window) -> str:
    """A window in one cell: `2026-10-15 to 2027-02-28 [must, yearly]`."""
    details = _details("must" if window.hard else "should", "yearly" if window.yearly else "")
    return f"{_cell(window.first)} to {_cell(window.last)}{details}"


def chapter_text(chapter: Chapter) -> str:
    """A chapter in one cell: `95 s: Lying flat [flat, heard: so here it lies]`."""
    heard = f"heard: {chapter.opening}" if chapter.opening else ""
    return f"{chapter.seconds} s: {chapter.title}{_details(chapter.part.value if chapter.part else '', heard)}"


def heard_text(heard: Heard) -> str:
    """A point taken as said in one cell: `95 s: 29/say/orchard stamp, bib`."""
    return f"{heard.seconds} s: {heard.point}"


def still_text(still: Still) -> str:
    """A still in one cell: `29 orchard stamp: a stamp in red on the bib [posted 2026-03-24]`."""
    posted = f"posted {_cell(still.posted)}" if still.posted else ""
    return f"{still.piece} {still.what}{f': {still.alt}' if still.alt else ''}{_details(posted)}"


def corrected_text(corrected: Corrected) -> str:
    """A correction in one cell: `2026-03-24: 31 made: in 1845 or so`."""
    return f"{_cell(corrected.done)}: {corrected.piece} {corrected.about}: {corrected.value}"


# The columns of each table


_COLLECTION: Columns[Collection] = (
    ("id", lambda c: c.id),
    ("name", lambda c: c.name),
    ("kind", lambda c: c.kind),
    ("closed", lambda c: c.closed),
    ("currency", lambda c: c.currency),
    ("budget", lambda c: c.budget),
    ("shelf cm", lambda c: c.shelf_cm),
    ("opens with", lambda c: c.opens_with),
    ("preparation weeks", lambda c: c.preparation_weeks),
)

_BOX: Columns[Box] = (
    ("id", lambda b: b.id),
    ("name", lambda b: b.name),
    ("where", lambda b: b.where),
    ("depth cm", lambda b: b.depth_cm),
    ("most kg", lambda b: b.most_kg),
    ("refolded", lambda b: b.refolded),
    ("refold months", lambda b: b.refold_months),
)

_PIECE: Columns[Piece] = (
    ("id", lambda p: p.id),
    ("name", lambda p: p.name),
    ("collection", lambda p: p.collection),
    ("kind", lambda p: p.kind),
    ("kind AAT", lambda p: aat(p.kind)),
    ("made", lambda p: p.made),
    ("acquired", lambda p: p.acquired),
    ("acquired before", lambda p: p.acquired_before),
    ("acquired after", lambda p: p.acquired_after),
    ("materials", lambda p: p.materials),
    ("box", lambda p: p.box),
    ("layer", lambda p: p.layer),
    ("shown", lambda p: p.shown.known),
    ("odds unshown", lambda p: p.shown.odds_unshown if p.shown.known is Known.UNSURE else None),
    ("evidence", lambda p: p.shown.evidence),
    ("shown when", lambda p: p.shown.when),
    ("features", lambda p: _joined(map(feature_text, p.features))),
    ("points", lambda p: _joined(p.points)),
    ("claims", lambda p: _joined(map(claim_text, p.claims))),
    ("condition", lambda p: _joined(map(condition_text, p.condition))),
    ("measurements", lambda p: _joined(map(measurement_text, p.measurements))),
    ("hazards", lambda p: p.hazards),
    ("opens", lambda p: p.opens),
    ("flat only", lambda p: p.handling.flat_only),
    ("no hanging", lambda p: p.handling.no_hanging),
    ("no turning", lambda p: p.handling.no_turning),
    ("people to move it", lambda p: p.handling.people),
    ("on a board", lambda p: p.handling.board),
    ("minutes on a form", lambda p: p.handling.form_minutes),
    ("handling notes", lambda p: p.handling.notes),
    ("light class", lambda p: p.light),
    ("exposures", lambda p: _joined(map(exposure_text, p.exposures))),
    ("photographs", lambda p: p.photographs),
    ("notes", lambda p: p.notes),
)


@record
class _Wanted:
    """A piece with its shopping facts and the currency of its amounts."""

    piece: Piece
    want: Want
    currency: str


def _wanted(book: Book) -> Iterator[_Wanted]:
    for piece in book.pieces:
        if piece.want is not None:
            collection = book.find("collections", piece.collection)
            yield _Wanted(piece, piece.want, piece.want.currency or (collection.currency if collection else ""))


_WANT: Columns[_Wanted] = (
    ("id", lambda w: w.piece.id),
    ("name", lambda w: w.piece.name),
    ("collection", lambda w: w.piece.collection),
    ("status", lambda w: w.want.status),
    ("currency", lambda w: w.currency),
    ("ceiling", lambda w: w.want.ceiling),
    ("paid", lambda w: w.want.paid),
    ("carriage", lambda w: w.want.carriage),
    ("expected", lambda w: w.want.expected),
    ("width cm", lambda w: w.want.width_cm),
    ("rate", lambda w: w.want.rate and w.want.rate.value),
    ("rate of", lambda w: w.want.rate and w.want.rate.day),
    ("condition wanted", lambda w: w.want.condition),
    ("preparation minutes", lambda w: w.want.preparation_minutes),
    ("history", lambda w: _joined(map(step_text, w.want.history))),
)


def _earlier_times(times: EarlierTimes) -> str:
    """How a slot was until a day."""
    return f"{times.until}: {WEEKDAYS[times.weekday]} {times.at} {times.zone} [{times.standing_minutes} min]"


_RULE: Columns[SlotRule] = (
    ("id", lambda r: r.id),
    ("name", lambda r: r.name),
    ("weekday", lambda r: WEEKDAYS[r.weekday]),
    ("at", lambda r: r.at),
    ("zone", lambda r: r.zone),
    ("standing minutes", lambda r: r.standing_minutes),
    ("first day", lambda r: r.first),
    ("last day", lambda r: r.last),
    ("until then", lambda r: _joined(map(_earlier_times, r.earlier))),
    ("days left out", lambda r: " ".join(map(str, r.left_out))),
    ("days added", lambda r: " ".join(map(str, r.added))),
)


def _stage(name: str) -> Callable[[Series | Episode], object]:
    """The minutes of one stage of a series, or of an episode if it has its own."""

    def minutes(record: Series | Episode) -> object:
        stages: StageMinutes | None = record.stages
        return getattr(stages, name) if stages else None

    return minutes


_STAGES: Columns[Series | Episode] = (
    ("research minutes", _stage("research")),
    ("condition check minutes", _stage("condition_check")),
    ("shoot minutes", _stage("shoot")),
    ("edit minutes", _stage("edit")),
    ("captions minutes", _stage("captions")),
    ("package minutes", _stage("package")),
)

_SERIES: Columns[Series] = (
    ("id", lambda s: s.id),
    ("name", lambda s: s.name),
    ("collection", lambda s: s.collection),
    ("slot rules", lambda s: s.rules),
    ("least weeks apart", lambda s: s.min_weeks),
    ("wished weeks apart", lambda s: s.target_weeks),
    ("most weeks apart", lambda s: s.max_weeks),
    *_STAGES,
    ("page", lambda s: s.page),
    ("listed on it", lambda s: s.listed),
)

_DARK: Columns[DarkRange] = (
    ("id", lambda d: d.id),
    ("first day", lambda d: d.first),
    ("last day", lambda d: d.last),
    ("no work", lambda d: d.no_work),
    ("no publication", lambda d: d.no_publication),
    ("reason", lambda d: d.reason),
    ("busy calendar event", lambda d: d.busy_uid),
)

_BUSY: Columns[BusyDay] = (
    ("id", lambda b: b.id),
    ("day", lambda b: b.day),
    ("busy from and to", lambda b: _joined(f"{_clock(start)}-{_clock(end)}" for start, end in b.spans)),
    ("reason", lambda b: b.reason),
)


def _clock(minutes: int) -> str:
    """Minutes after midnight as `9:30`; the day on which clocks go back has a 25th hour."""
    return f"{minutes // 60}:{minutes % 60:02}"


_EPISODE: Columns[Episode] = (
    ("id", lambda e: e.id),
    ("title", lambda e: e.title),
    ("kind", lambda e: e.kind),
    ("series", lambda e: e.series),
    ("pieces", lambda e: e.pieces),
    ("planned day", lambda e: e.slot and e.slot.day),
    ("planned slot rule", lambda e: e.slot and e.slot.rule),
    ("published", lambda e: e.published),
    ("idea of", lambda e: e.idea_of),
    ("finished", lambda e: e.finished),
    ("stages done", lambda e: e.done),
    ("worked", lambda e: _joined(map(worked_text, e.worked))),
    ("windows", lambda e: _joined(map(window_text, e.windows))),
    ("meant for slot rule", lambda e: e.rule),
    *_STAGES,
    ("estimated seconds", lambda e: e.estimate_seconds),
    ("run time seconds", lambda e: e.run_seconds),
    ("published title", lambda e: e.package.title),
    ("description", lambda e: e.package.description),
    ("description as it was made", lambda e: e.package.made),
    ("chapters", lambda e: _joined(map(chapter_text, e.package.chapters))),
    ("captions file", lambda e: e.package.captions),
    ("captions SHA-256", lambda e: e.package.captions_digest),
    ("points heard", lambda e: _joined(map(heard_text, e.package.heard))),
    ("related studies", lambda e: e.package.related),
    ("stills", lambda e: _joined(map(still_text, e.package.stills))),
    ("corrections put in", lambda e: _joined(map(corrected_text, e.package.corrected))),
    ("notes", lambda e: e.notes),
)

_PIN: Columns[Pin] = (
    ("id", lambda p: p.id),
    ("kind", lambda p: p.kind),
    ("episodes", lambda p: p.episodes),
    ("promised day", lambda p: p.slot and p.slot.day),
    ("promised slot rule", lambda p: p.slot and p.slot.rule),
    ("pieces", lambda p: p.pieces),
    ("reason", lambda p: p.reason),
)

_PUBLICATION: Columns[Publication] = (
    ("id", lambda p: p.id),
    ("title", lambda p: p.title),
    ("slot rule", lambda p: p.rule),
    ("planned", lambda p: p.planned),
    ("published", lambda p: p.actual),
    ("missed", lambda p: p.actual is None),
    ("episode", lambda p: p.episode),
    ("series", lambda p: p.series),
    ("link", lambda p: p.link),
)

_SUPPORTER: Columns[Supporter] = (
    ("id", lambda s: s.id),
    ("name", lambda s: s.name),
    ("consent", lambda s: s.consent),
    ("first day", lambda s: s.first),
    ("last day", lambda s: s.last),
    ("how to say it", lambda s: s.say),
)

_SHOOT: Columns[Shoot] = (
    ("id", lambda s: s.id),
    ("studies", lambda s: s.studies),
    ("begun", lambda s: s.begun),
    ("closed", lambda s: s.closed),
    ("estimated seconds", lambda s: s.estimate_seconds),
)

_LOG: Columns[LogLine] = (
    ("id", lambda line: line.id),
    ("shoot", lambda line: line.shoot),
    ("at", lambda line: line.at),
    ("kind", lambda line: line.kind),
    ("piece", lambda line: line.piece),
    ("shot or point", lambda line: line.subject),
    ("touch", lambda line: line.touch),
    ("view", lambda line: line.view),
    ("text", lambda line: line.text),
    ("confidence", lambda line: line.confidence),
    ("remedy", lambda line: line.remedy),
    ("lux", lambda line: line.lux),
)

_WORDING: Columns[Wording] = (("column", lambda w: w.id), ("means", lambda w: w.field))

_CALENDAR: Columns[CalendarEntry] = (
    ("UID", lambda entry: entry.id),
    ("revision", lambda entry: entry.sequence),
    ("exported at", lambda entry: entry.stamp),
    ("cancelled", lambda entry: entry.cancelled),
    ("content", lambda entry: entry.content),
)

_HOUSE: Columns[tuple[str, object]] = (("rule", lambda row: row[0]), ("value", lambda row: row[1]))


def _house(book: Book) -> tuple[tuple[str, object], ...]:
    """The house rules and what else belongs to the whole book, one row each."""
    house = book.house
    return (
        ("book key", book.key),
        ("clock stands at", book.clock),
        ("zone", house.zone),
        ("presenter", house.presenter),
        *((f"working minutes on {day}", minutes) for day, minutes in zip(WEEKDAYS, house.work_minutes, strict=True)),
        ("extra working minutes", _joined(f"{extra.day} [{extra.minutes}]" for extra in house.extra_work)),
        ("dates were accepted", "as a re-plan" if house.habit.kept else "as the best dates"),
        ("unsure pieces were then", house.habit.unsure.value),
        ("lead days", house.lead_days),
        ("warning lead weeks", house.warning_lead_weeks),
        ("dress forms", _joined(map(_form_text, house.forms))),
        ("ease in cm", house.ease_cm),
        ("a form is smaller by cm", house.form_smaller_cm),
        ("most padding in cm", house.most_padding_cm),
        ("kinds that are like another", _joined(f"{known.word} [{known.like}]" for known in house.kinds)),
        ("tables", house.tables),
        ("light classes", _joined(f"{c.name} [{c.limit_lux_hours} lux hours a year]" for c in house.light_classes)),
        ("standard views", house.standard_views),
        ("latitude", house.latitude),
        ("longitude", house.longitude),
        ("filming ends by", house.film_until),
        ("lamp lux", house.lamp_lux),
        ("rig minutes", house.rig_minutes),
        ("most minutes of filming a day", house.shoot_cap_minutes),
        ("touches a year before a warning", house.touches_a_year),
        ("details without moving the camera", house.details_in_place),
        ("opening seconds", house.opening_seconds),
        ("seconds a point", house.point_seconds),
        ("seconds a view is held", house.hold_seconds),
        ("closing seconds", house.closing_seconds),
        ("supplies", _joined(map(supply_text, house.supplies))),
        ("template of descriptions", house.description),
        ("least chapters", house.least_chapters),
        ("least seconds of a chapter", house.chapter_seconds),
        ("most pointing words in ten minutes", house.most_pointing),
        ("small posts a day", house.posts_a_day),
    )
