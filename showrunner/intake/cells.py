"""The cells of a sheet as people write them: each reader gives a value, or says in words why it cannot."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from functools import lru_cache
from typing import TypeVar

from showrunner.domain import words
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.opening import Opens
from showrunner.domain.piece import Claim, Confidence, Feature, Known, Presence, View, WantStatus
from showrunner.domain.record import record
from showrunner.errors import BadInput
from showrunner.intake.columns import plain_name
from showrunner.storage.edtf_text import parse
from showrunner.storage.migrations import OLD_SIDE, side_of_form
from showrunner.storage.written_dates import Written, read_written

_Word = TypeVar("_Word", bound=StrEnum)

MAX_TEXT = 20_000
"""Most characters of one cell that a book keeps."""

_CROSS = "x"
"""A mark that some put for yes and some for no."""
_NOT_KNOWN = {"don t know", "dont know", "unknown", "not known", "no idea", "not sure", "n a", "weiss nicht", "inconnu"}
"""Words that say nothing, as `plain_name` has them."""

_LONGEST = 20
"""Characters from which a cell says more than that."""

_YES = {"yes", "y", "true", _CROSS, "shown", "done", "1", "ja", "oui", "si", "j", "already", "has been"}
_NO = {
    "no",
    "n",
    "false",
    "0",
    "not yet",
    "not shown",
    "unshown",
    "never",
    "to do",
    "todo",
    "none",
    "not",
    "nein",
    "non",
    "nee",
}
_MAYBE = {
    **dict.fromkeys(("maybe", "perhaps", "unsure", "not sure", "doubtful", "possibly", "don t know", "unknown"), 50),
    **dict.fromkeys(("half remembered", "uncertain", "could be", "no idea"), 50),
    **dict.fromkeys(("probably", "likely", "i think so", "think so", "probably yes", "most likely"), 25),
    **dict.fromkeys(("probably not", "unlikely", "i think not", "don t think so"), 75),
}
"""Words of doubt, and the percentage of chance that a piece is truly unshown for which each stands (a house rule)."""


@record
class Said:
    """What a cell says about whether a piece has been shown."""

    known: Known
    """Yes, no or unsure."""
    odds: int = 50
    """For unsure, the percentage of chance that it is unshown."""
    when: FuzzyDate | None = None
    """When it was shown, as far as the cell says."""
    note: str = ""
    """What was assumed, or is doubted."""


def text(cell: str) -> str:
    """Text of one line, without spaces around it.

    Raises:
        BadInput: it holds half a character, a control character, or is too long.
    """
    return " ".join(paragraph(cell).split())


def paragraph(cell: str) -> str:
    """Text that may have several lines.

    Raises:
        BadInput: it holds half a character, a control character, or is too long.
    """
    found = cell.strip()
    if found.isascii() and found.isprintable():
        return _kept(found)
    found = found.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    if any("\ud800" <= sign <= "\udfff" for sign in found):
        raise BadInput("it holds a broken letter, which no file can keep", way_out="retype it")
    if any((ord(sign) < 32 and sign != "\n") or 127 <= ord(sign) < 160 for sign in found):
        raise BadInput("it holds a sign that cannot be seen", way_out="retype it")
    return _kept(found)


def _kept(found: str) -> str:
    if len(found) > MAX_TEXT:
        what = f"its {len(found):,} letters are more than the {MAX_TEXT:,} a cell may have"
        raise BadInput(what, way_out="shorten it")
    return found


def listed(cell: str) -> tuple[str, ...]:
    """A list: lines, or parts with `;` or `|`, or else commas between."""
    found = paragraph(cell)
    sign = r"[;|\n]" if re.search(r"[;|\n]", found) else ","
    return tuple(dict.fromkeys(part for raw in re.split(sign, found) if (part := " ".join(raw.split()))))


def parts(cell: str) -> tuple[str, ...]:
    """A list of things with details: lines, or parts with `|` or `;` between; commas belong to the details."""
    return tuple(part for raw in re.split(r"[;|\n]", paragraph(cell)) if (part := " ".join(raw.split())))


def joined(cell: str, sign: str) -> tuple[str, ...]:
    """What an export joined by a sign, which stands with its spaces between the parts and nowhere in them."""
    return tuple(part for raw in paragraph(cell).split(sign) if (part := raw.strip()))


def whole(cell: str, least: int, most: int) -> int:
    """A whole number between two bounds.

    Raises:
        BadInput: it is none.
    """
    found = text(cell).removesuffix(".0")
    if not re.fullmatch(r"[+-]?[0-9]{1,9}", found):
        raise BadInput("this is no whole number", way_out=f"write one from {least} to {most}")
    if not least <= int(found) <= most:
        raise BadInput(f"{int(found)} is not from {least} to {most}", way_out="give one between")
    return int(found)


_MONEY = r"kr\.?|Kr\.?|[€£$¥]|zł|Kč|Ft|[Ff]rs?\.?|[Ee]uros?|pounds?|dollars?|,-"
"""Money behind an amount."""


def amount(cell: str) -> Decimal:
    """An amount of money or a length, without rounding: `1,885.50`, `85`, `AUD 120`, `38 cm`.

    Raises:
        BadInput: it is none.
    """
    found = re.sub(rf"^[^\d+-]{{0,4}}|\s*(?:cm|[A-Z]{{3}}|{_MONEY})$", "", text(cell)).replace(" ", "")
    if re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d+)?", found):
        found = found.replace(",", "")
    elif re.fullmatch(r"\d{1,3}(\.\d{3})+,\d{1,2}", found):
        found = found.replace(".", "").replace(",", ".")
    elif re.fullmatch(r"\d+,\d{1,2}", found):
        found = found.replace(",", ".")
    try:
        value = Decimal(found) if re.fullmatch(r"\d{1,12}(\.\d{1,6})?", found) else None
    except InvalidOperation:
        value = None
    if value is None:
        raise BadInput("this is no amount", way_out="write it like 120 or 85.50")
    return value


def yes_no(cell: str) -> bool:
    """Yes or no.

    Raises:
        BadInput: it is neither.
    """
    plain = plain_name(cell)
    if plain in _YES or cell.strip() in ("✓", "✔"):
        return True
    if plain in _NO or _is_dash(cell):
        return False
    raise BadInput("this is neither yes nor no", way_out="write yes or no")


def is_cross(cell: str) -> bool:
    """Whether a cell holds nothing but an x."""
    return plain_name(cell) == _CROSS


def is_doubted(cell: str) -> bool:
    """Whether a cell says in so many words that it is not sure."""
    return "?" in cell or bool(
        re.search(r"\b(?:maybe|perhaps|probably|possibly|not sure|unsure|i think)\b", cell.casefold())
    )


@lru_cache(maxsize=8192)
def says_nothing(cell: str) -> bool:
    """Whether a cell says in words that nothing is known."""
    return len(cell) < _LONGEST and plain_name(cell) in _NOT_KNOWN


def _is_dash(cell: str) -> bool:
    return bool(re.fullmatch(r"\s*[-–—−✗✘]+\s*", cell))


_ORDER = re.compile(r"(?:; )?read as (?:day/month/year|month/day/year|year/month/day)(?=;|$)")
_DOTTED = re.compile(r"\s*\d{1,2}\.\d{1,2}\.\d{2,4}\s*")


def dotted(cells: Iterable[str]) -> tuple[str, ...]:
    """The sentence that tells how dates such as 12.3.2024 were read; none if there are none."""
    found = next((cell for cell in cells if _DOTTED.fullmatch(cell)), "")
    return (f"Dates like {found.strip()} are read with the day first.",) if found else ()


def crossed(name: str, cells: Iterable[str]) -> tuple[str, ...]:
    """The sentence that tells once how an x in a column of yes and no is read, which has to be the careful way."""
    return (f"An x in '{words.short(name)}' is taken as yes.",) if any(map(is_cross, cells)) else ()


@lru_cache(maxsize=8192)
def fuzzy(cell: str, day_first: bool | None) -> Written:
    """A date as people write it; cells repeat, so what was read is kept at hand.

    That the day comes first is told once for the sheet (`dotted`), not for each cell.

    Raises:
        BadInput: it is none.
    """
    written = read_written(cell, day_first=day_first)
    return replace(written, note=_ORDER.sub("", written.note).removeprefix("; ")) if written.note else written


@lru_cache(maxsize=8192)
def edtf(cell: str) -> FuzzyDate:
    """A date that is EDTF text.

    Raises:
        BadInput: it is none.
    """
    return parse(cell)


@lru_cache(maxsize=8192)
def shown(cell: str, day_first: bool | None, cross: Known | None = None) -> Said:
    """Whether a piece has been shown: yes, no, words of doubt, or when; an x is what `cross` says, or unsure.

    Raises:
        BadInput: it is none of these.
    """
    plain = plain_name(text(cell))
    if plain in _MAYBE or re.fullmatch(r"\s*\?+\s*", cell):
        odds = _MAYBE.get(plain, 50)
        return Said(Known.UNSURE, odds, note=f"unsure, {odds}% that it is not shown")
    if is_cross(cell):  # what it means is asked once for the whole sheet
        return Said(cross or Known.UNSURE)
    try:
        if cell.rstrip().endswith("?"):
            odds = 25 if yes_no(cell) else 75
            return Said(Known.UNSURE, odds, note=f"unsure, {odds}% that it is not shown")
        return Said(Known.YES if yes_no(cell) else Known.NO)
    except BadInput:
        pass
    try:
        written = fuzzy(cell, day_first)
    except BadInput as error:
        what = error.what
        if "cannot be read as a date" in what or "not a date" in what:
            what, way_out = "this says neither yes or no nor when", "write yes, no, maybe, or a date like Aug 2024"
            raise BadInput(what, way_out=way_out) from None
        raise
    when = written.kept
    if when is None:
        return Said(Known.UNSURE, 50, note="unsure, 50% that it is not shown")
    if "?" in when.text or "%" in when.text:
        note = f"{when.words}, so unsure; 25% that it is not shown"
        return Said(Known.UNSURE, 25, when, note)
    note = "" if when.is_exact else f"shown {_in(when)}, the day is not known ({when.text})"
    return Said(Known.YES, when=when, note="; ".join(filter(None, (note, written.note))))


def _in(when: FuzzyDate) -> str:
    """A date in words after `shown`."""
    spoken = when.words
    return spoken if re.match(r"about|perhaps|some|from|one of|the|[0-9]{1,2} ", spoken) else f"in {spoken}"


_ABSENT = re.compile(r"(.+?)[,:]? \(?(?:is |are )?(?:absent|missing|gone|lost|lacking)\)?")
_TRACE = re.compile(r"(.+?)[,:]? \(?(?:trace|traces)(?: only)?\)?")
_ALTERED = re.compile(r"\b(?:altered|replaced|replacement|added later|later addition|let down|taken in|re-?lined)\b")
_WHOLE_FEATURE = re.compile(r"(?s)(?P<what>.+?)(?: @ (?P<where>.+?))? \[(?P<details>[^\[\]]+)\]")
_IMPORTANCE = {"must": 1, "should": 2, "may": 3}


def features(cell: str) -> tuple[Feature, ...]:
    """Features: `watch pocket @ wearer's left [inside, must, absent]`, or plain words such as `button absent`."""
    return tuple(feature(part) for part in parts(cell))


def feature(part: str) -> Feature:
    """One feature, in either of these ways."""
    found = _WHOLE_FEATURE.fullmatch(part)
    if found:
        details = [detail.strip() for detail in found["details"].split(",")]
        details = [side_of_form(found["where"] or "") if detail == OLD_SIDE else detail for detail in details]
        views = {view.value for view in View}
        states = {presence.value for presence in Presence}
        if all(detail in views | states | _IMPORTANCE.keys() | {"altered"} for detail in details):
            return Feature(
                found["what"],
                found["where"] or "",
                next((View(detail) for detail in details if detail in views), View.FLAT_FACE),
                next((_IMPORTANCE[detail] for detail in details if detail in _IMPORTANCE), 2),
                next((Presence(detail) for detail in details if detail in states), Presence.PRESENT),
                "altered" in details,
            )
    altered = bool(_ALTERED.search(part.casefold()))
    for pattern, presence in ((_ABSENT, Presence.ABSENT), (_TRACE, Presence.TRACE)):
        if gone := pattern.fullmatch(part):
            return Feature(gone[1], presence=presence, altered=altered)
    return Feature(part, altered=altered)


_POSSIBLE = re.compile(r"(?i)^(?:possibly|maybe|perhaps|could be|might be|poss\.?) +|\s*\?+$|\s*\(\?\)$")
_PROBABLE = re.compile(r"(?i)^(?:probably|prob\.?|likely|presumably|i think|said to be|attributed to) +")


def claim(about: str, cell: str) -> Claim:
    """A statement with the confidence its words have: `probably Leeds` is probable, `Leeds?` possible."""
    said = text(cell)
    if bare := _POSSIBLE.sub("", said):
        if bare != said:
            return Claim(about, _PROBABLE.sub("", bare) or bare, Confidence.POSSIBLE)
        if (likely := _PROBABLE.sub("", said)) and likely != said:
            return Claim(about, likely, Confidence.PROBABLE)
    return Claim(about, said, Confidence.SURE)


def _one_of(kinds: type[_Word], said: str, what: str) -> _Word:
    for kind in kinds:
        if said == kind.value:
            return kind
    raise BadInput(f"this is no {what}", way_out=f"write {', '.join(kinds)}")


def opens(cell: str) -> Opens:
    """The side a piece opens on.

    Raises:
        BadInput: it is none.
    """
    return _one_of(Opens, plain_name(text(cell)).removeprefix("at the ").removeprefix("in "), "side it opens on")


def want_status(cell: str) -> WantStatus:
    """Where a wanted piece stands.

    Raises:
        BadInput: it is none of the four.
    """
    return _one_of(WantStatus, plain_name(text(cell)), "status")
