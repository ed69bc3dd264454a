"""What the columns of a sheet mean: by the wordings in use, by what the owner said before, or by what is said now."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from enum import StrEnum
from functools import cache

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.record import record
from showrunner.domain.wording import Wording
from showrunner.errors import BadInput
from showrunner.intake import headings


class Kind(StrEnum):
    """What a file is about."""

    PIECES = "pieces"
    EPISODES = "episodes"
    BOOK = "book"


class How(StrEnum):
    """Why a column means what it means."""

    WORDING = "by its wording"
    KEPT = "as you said before"
    ASKED = "as you say"
    KEY_WORDS = "by its key words"
    ASIDE = "left aside"


@record
class Column:
    """One column of a sheet and what it means."""

    name: str
    """Its name in the sheet."""
    field: str
    """Name of the field it fills; empty if it is left aside."""
    how: How
    """Why."""
    hint: str = ""
    """For one left aside, why, or the field it might mean."""
    unit: str = ""
    """Unit its name gives for the measures below (`cm`, `in`, `kg`, `lb`); empty if none."""


PIECE_FIELDS: Mapping[str, tuple[str, ...]] = {
    "id": (
        *(
            "id",
            "no",
            "nr",
            "number",
            "piece no",
            "piece number",
            "item no",
            "item number",
            "object number",
            "object no",
            "inventory no",
        ),
        *("inventory number", "accession number", "catalogue number", "cat no", "ref", "reference"),
    ),
    "name": (
        "name",
        "piece",
        "object",
        "object name",
        "piece name",
        "item name",
        "title",
        "item",
        "what it is",
        "what",
    ),
    "collection": ("collection", "belongs to"),
    "kind": ("kind", "type", "category", "garment", "garment type", "object type", "kind of piece"),
    "made": (
        *("made", "date made", "when made", "made when", "year made", "date of making", "made in"),
        *("dated", "period", "date", "year", "age", "from when"),
    ),
    "acquired": (
        *("acquired", "date acquired", "when acquired", "acquisition date", "bought", "bought in", "bought when"),
        *("when bought", "year bought", "date bought", "came to me"),
    ),
    "acquired_before": ("acquired before", "bought before", "came before"),
    "acquired_after": ("acquired after", "bought after", "came after"),
    "materials": ("materials", "material", "made of", "fabric", "fabrics", "cloth", "fibre", "fibres", "of", "medium"),
    "features": ("features", "feature", "details", "to show", "look at", "points of interest"),
    "points": ("points", "to say", "say", "say aloud", "talking points", "remember to say"),
    "claims": ("claims",),
    "claim:origin": ("origin", "place made", "where made", "place of making", "where from"),
    "claim:maker": ("maker", "made by", "maker s name", "dressmaker", "tailor"),
    "claim:wearer": ("wearer", "worn by", "belonged to"),
    "claim:provenance": ("provenance", "bought from", "came from", "source"),
    "condition": ("condition", "state", "condition notes", "how it is"),
    "limits": ("handling", "limits", "handling limits", "handle with", "care"),
    "opens": ("opens", "opens on", "opens at"),
    "flat_only": ("flat only",),
    "no_hanging": ("no hanging", "never hung", "never hang"),
    "no_turning": ("no turning", "never turned", "never turn"),
    "board": ("on a board", "board"),
    "people": ("people to move it", "people"),
    "form_minutes": ("minutes on a form",),
    "handling_notes": ("handling notes",),
    "hazards": ("hazards", "hazard", "dangers", "danger", "cautions", "caution", "beware"),
    "measurements": ("measurements", "measures", "measurement", "size", "sizes", "dimensions"),
    "box": ("box", "box no", "kept in", "where kept", "where it is", "stored in", "storage", "location", "lives in"),
    "layer": ("layer", "layer in the box", "layer in box"),
    "shown": ("shown", "shown yet", "been shown", "featured", "published", "has been shown"),
    "shown_when": ("shown when", "shown on", "when shown", "date shown", "featured on", "shown in", "published on"),
    "odds": ("odds unshown", "odds"),
    "evidence": ("evidence", "how i know", "rests on"),
    "light": ("light class", "light", "sensitive to light", "sensitivity"),
    "exposures": ("exposures",),
    "photographs": ("photographs", "photograph", "photos", "photo", "pictures", "picture"),
    "notes": ("notes", "note", "remarks", "remark", "comments", "description", "story"),
    "want_status": ("status", "want status", "shopping"),
    "ceiling": ("ceiling", "most to pay", "price limit"),
    "paid": ("paid", "price paid", "price", "cost"),
    "carriage": ("carriage", "postage"),
    "expected": ("expected", "due", "arrives"),
    "width_cm": ("width cm", "shelf width", "width on the shelf"),
}
"""The fields of a sheet of pieces and the wordings each is known by, the plainest first."""

EPISODE_FIELDS: Mapping[str, tuple[str, ...]] = {
    "title": ("title", "episode title", "episode", "name", "film", "what it was called", "called"),
    "published": (
        *("published", "date published", "published on", "publication date", "came out", "out", "out on", "went out"),
        *("aired", "released", "release date", "date", "day", "when"),
    ),
    "planned": ("planned", "planned for", "planned day", "was due", "due", "scheduled", "scheduled for"),
    "slot": ("slot", "slot rule", "which slot", "weekly slot", "strand"),
    "about": ("pieces", "piece", "about", "pieces shown", "piece numbers", "piece no", "shows", "objects", "items"),
    "series": ("series",),
    "missed": ("missed", "missed its slot"),
    "link": ("link", "url", "address", "web address", "watch at"),
    "run_time": ("run time", "running time", "length", "duration"),
}
"""The same for a list of episodes."""

_FOREIGN = {Kind.PIECES: headings.PIECES, Kind.EPISODES: headings.EPISODES}
_KEYS = {Kind.PIECES: headings.PIECE_KEYS, Kind.EPISODES: headings.EPISODE_KEYS}

FIELDS: Mapping[Kind, Mapping[str, tuple[str, ...]]] = {Kind.PIECES: PIECE_FIELDS, Kind.EPISODES: EPISODE_FIELDS}
NEEDED: Mapping[Kind, frozenset[str]] = {
    Kind.PIECES: frozenset({"name", "id"}),
    Kind.EPISODES: frozenset({"title"}),
}
"""The fields without any of which a sheet of each kind cannot be read."""

LONG = 4
"""Words from which a heading is long."""

MEASURES = ("chest", "bust", "waist", "hips", "hip", "hem", "sweep", "length", "height", "shoulder", "sleeve", "weight")
"""Measures that may have a column of their own, with or without a unit in its name."""
_UNITS = {"cm": "cm", "centimetres": "cm", "mm": "mm", "in": "in", "inch": "in", "inches": "in", "kg": "kg", "lb": "lb"}


def plain_name(text: str) -> str:
    """A name for comparing: small letters, no accents, no punctuation, one space between words."""
    bare = text[:400]
    if not bare.isascii():
        bare = "".join(c for c in unicodedata.normalize("NFKD", bare) if not unicodedata.combining(c))
    return " ".join(re.sub(r"[^0-9a-z#]+", " ", bare.casefold()).replace("#", " no ").split())


@cache
def _known(kind: Kind) -> Mapping[str, tuple[int, str]]:
    """Every wording with its rank and its field."""
    found: dict[str, tuple[int, str]] = {}
    for field, wordings in FIELDS[kind].items():
        for rank, wording in enumerate((field.replace("_", " "), *wordings)):
            found.setdefault(wording, (rank, field))
    for field, said in _FOREIGN[kind].items():
        for wording in said.split(";"):
            found.setdefault(plain_name(wording), (1, field))
    return found


def _measure(plain: str) -> tuple[str, str]:
    """The measure a column is about, and the unit its name gives; empty if it is none."""
    bare, _, last = plain.rpartition(" ")
    unit = _UNITS.get(last, "") if bare else ""
    name = bare if unit else plain
    return (name, unit) if name in MEASURES else ("", "")


def fields_for(kind: Kind) -> tuple[str, ...]:
    """Every field a column of such a sheet may be mapped to."""
    measures = tuple(f"measure:{name}" for name in MEASURES) if kind is Kind.PIECES else ()
    return (*FIELDS[kind], *measures)


def wording_id(kind: Kind, column: str) -> str:
    """Id under which the book keeps what a column means."""
    return f"{kind.value}: {plain_name(column) or column.casefold()}"


def kind_of(columns: Sequence[str], book: Book, name: str) -> Kind:
    """What a sheet is about, by its columns: the plainer a wording is for a field, the more it tells.

    Raises:
        BadInput: they do not tell.
    """
    pieces, episodes = (_tells(columns, kind, book) for kind in (Kind.PIECES, Kind.EPISODES))
    if pieces == episodes:
        raise BadInput("its columns do not tell what it is about", name, "say --as pieces or --as episodes")
    return Kind.PIECES if pieces > episodes else Kind.EPISODES


def _tells(columns: Sequence[str], kind: Kind, book: Book) -> float:
    """How much the columns tell of such a sheet: each as one part of its rank among the wordings of its field."""
    found = [column for column in recognise(columns, kind, book.wordings) if column.field]
    if not NEEDED[kind] & {column.field for column in found}:
        return 0
    ranks = (_known(kind).get(plain_name(column.name), (0, ""))[0] for column in found)
    return sum(1 / max(rank, 1) for rank in ranks)


def recognise(
    columns: Sequence[str],
    kind: Kind,
    kept: Sequence[Wording] = (),
    asked: Mapping[str, str] | None = None,
    *,
    hints: bool = True,
) -> tuple[Column, ...]:
    """What each column means.

    Args:
        columns: names of the columns.
        kind: what the sheet is about.
        kept: what the owner said before.
        asked: what is said now, field by column; an empty field leaves the column aside.
        hints: whether to look for what a column left aside might mean, which takes longest.

    Returns:
        One column each, in their order. Where two mean the same field, what was said wins, then the plainer
        wording, then the first; the other one is left aside.

    Raises:
        BadInput: `asked` names a column or a field that there is not, or gives one field to two columns.
    """
    said = _asked(columns, kind, asked or {})
    remembered = {wording.id: wording.field for wording in kept}
    known = fields_for(kind)
    found: list[tuple[tuple[int, int], Column]] = []
    for column in columns:
        id = wording_id(kind, column)
        if column in said:
            found.append(((0, 0), _told(column, said[column], How.ASKED)))
        elif id in remembered and (not remembered[id] or remembered[id] in known):
            found.append(((1, 0), _told(column, remembered[id], How.KEPT)))
        else:
            found.append(_by_wording(column, kind, hints))
    taken: dict[str, int] = {}
    for place in sorted(range(len(found)), key=lambda place: (found[place][0], place)):
        if found[place][1].field:
            taken.setdefault(found[place][1].field, place)
    return tuple(
        column
        if not column.field or taken[column.field] == place
        else Column(
            column.name, "", How.ASIDE, f"'{words.short(found[taken[column.field]][1].name)}' says that already"
        )
        for place, (_, column) in enumerate(found)
    )


def _told(column: str, field: str, how: How) -> Column:
    """A column that somebody has explained."""
    return Column(column, field, how, "", _measure(plain_name(column))[1] if field.startswith("measure:") else "")


_AGAIN = re.compile(r" \(column [0-9]+\)$")
"""What is added to the name of a column that another one has already."""


def _by_wording(column: str, kind: Kind, hints: bool) -> tuple[tuple[int, int], Column]:
    """A column by its wording, and how plain that is."""
    plain = plain_name(_AGAIN.sub("", column))
    rank, field = _known(kind).get(plain, (0, ""))
    if field:
        return (2, rank), Column(column, field, How.WORDING)
    measure, unit = _measure(plain) if kind is Kind.PIECES else ("", "")
    if measure:
        return (2, 0), Column(column, f"measure:{measure}", How.WORDING, unit=unit)
    key = _by_key_words(column, plain, kind)
    if key:
        return (2, 99), Column(column, key, How.KEY_WORDS)
    near = get_close_matches(plain[:60], list(_known(kind)), 1, 0.75) if hints else []
    hint = f"perhaps {_known(kind)[near[0]][1]}" if near else "nothing here is worded so"
    return (3, 0), Column(column, "", How.ASIDE, hint)


def _by_key_words(column: str, plain: str, kind: Kind) -> str:
    """The field that a long heading, such as a question, is about by the words in it; empty if it does not tell."""
    if len(plain.split()) < LONG and "?" not in column:
        return ""
    held = f" {plain} "
    return next((field for key, field in _KEYS[kind] if f" {key} " in held), "")


def _asked(columns: Sequence[str], kind: Kind, asked: Mapping[str, str]) -> dict[str, str]:
    """What is said now, by the column's name as it stands in the sheet."""
    by_name = {column.casefold(): column for column in columns}
    by_plain = {plain_name(column): column for column in columns}
    fields = fields_for(kind)
    found: dict[str, str] = {}
    for name, field in asked.items():
        column = by_name.get(name.strip().casefold()) or by_plain.get(plain_name(name)) or _by_part(columns, name)
        if column is None:
            near = get_close_matches(name, list(columns), 1)
            way_out = f"write '{words.short(near[0])}'" if near else "write its name as in the file"
            raise BadInput(f"the file has no column '{words.short(name)}'", "--map", way_out)
        if column in found:
            raise BadInput(f"column '{words.short(column)}' is explained twice", "--map", "say it once")
        wanted = field.strip().casefold().replace(" ", "_")
        if wanted and wanted not in fields:
            near = get_close_matches(wanted, fields, 1)
            way_out = f"write '{near[0]}'" if near else f"choose one of {', '.join(fields)}"
            raise BadInput(
                f"no column can mean '{words.short(field)}'", f"--map, column '{words.short(column)}'", way_out
            )
        twin = next((other for other, taken in found.items() if wanted and taken == wanted), "")
        if twin:
            what = f"columns '{words.short(twin)}' and '{words.short(column)}' are both said to be {wanted}"
            raise BadInput(what, "--map", "give one of them another meaning, or none")
        found[column] = wanted
    return found


def _by_part(columns: Sequence[str], part: str) -> str | None:
    """The only column whose name holds these words; None if none does.

    Raises:
        BadInput: several do.
    """
    plain = plain_name(part)
    found = [column for column in columns if plain and plain in plain_name(column)]
    if len(found) > 1:
        several = words.some([f"'{words.short(column)}'" for column in found])
        raise BadInput(
            f"'{words.short(part)}' is in the names of several columns: {several}", "--map", "write more of it"
        )
    return found[0] if found else None


def to_keep(kind: Kind, columns: Sequence[Column]) -> tuple[Wording, ...]:
    """What was said of the columns now, as the book keeps it."""
    return tuple(Wording(wording_id(kind, column.name), column.field) for column in columns if column.how is How.ASKED)
