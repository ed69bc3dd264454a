"""What people type in dialogs, read strictly: each refusal is a sentence with an example."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

from showrunner.domain import naming
from showrunner.domain.book import Book
from showrunner.domain.episode import Window
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.house import WEEKDAYS, ExtraWork, Form, check_day_minutes
from showrunner.domain.kinds import Held
from showrunner.domain.measuring import read_measurements
from showrunner.domain.piece import Measurement, Rate
from showrunner.domain.record import record
from showrunner.domain.words import listing, short
from showrunner.errors import BadInput

T = TypeVar("T")

LEAP = 2024
"""A year that has every day, for days given without a year."""


def day(text: str) -> date:
    """A whole day in any wording: `2026-03-22`, `22 Mar 2026`, `22.3.2026`."""
    from showrunner.storage.written_dates import read_written

    way_out = "write it like 22 Mar 2026"
    try:
        found = read_written(text).date
    except BadInput as error:
        raise BadInput(
            f"'{short(text)}' is no day of the calendar", "date", error.way_out if "/" in text else way_out
        ) from None
    if found is None or found.earliest is None or not found.is_exact:
        raise BadInput(f"'{short(text)}' is no day of the calendar", "date", way_out)
    return found.earliest


def minutes(text: str) -> int:
    """Hours as minutes: `2`, `2.5`, `2:30`, `2 h`."""
    plain = text.strip().removesuffix("h").strip().replace(",", ".")
    if match := re.fullmatch(r"(\d{1,3}):([0-5]\d)", plain):
        return 60 * int(match[1]) + int(match[2])
    try:
        value = Decimal(plain) * 60
    except ArithmeticError:
        value = Decimal("NaN")
    if not value.is_finite():
        raise BadInput(f"'{text}' is no number of hours", "hours", "write 2, 2.5 or 2:30")
    if value < 0 or value > 100_000:
        raise BadInput(f"{plain} hours cannot be", "hours", "give 0 or more")
    return int(value.to_integral_value())


def day_minutes(text: str) -> int:
    """Hours of one day as minutes; beyond the 24 of a day they are refused."""
    found = minutes(text)
    check_day_minutes(found, "hours of a day")
    return found


def week_minutes(text: str) -> tuple[int, ...]:
    """Hours of the seven weekdays, Monday first: `0 2 2 2 0 4 2`, `2` for each day, or `Tue-Thu 2, Sat 4:30`.

    With days named, those that are not have none.
    """
    parts = text.replace(",", " ").split()
    if parts and not any(part[0].isalpha() for part in parts):
        if len(parts) not in (1, 7):
            raise BadInput(f"{len(parts)} numbers are not the 7 of a week", "working hours", _WEEK)
        return tuple(day_minutes(part) for part in parts * (7 // len(parts)))
    found: dict[int, int] = {}
    for part in re.split(r"[,;]|(?<=[\dh])\s+(?=[^\W\d]{2})", text):
        if part.strip():
            match = re.fullmatch(r"\s*([^\W\d]+)(?:\s*(?:-|–|to)\s*([^\W\d]+))?[\s:]*(\d\S*(?:\s*h)?)\s*", part)
            days = _some_days(match[1].lower(), (match[2] or "").lower()) if match else ()
            if match is None or not days:
                raise BadInput(f"'{short(part.strip())}' is no day with its hours", "working hours", _WEEK)
            found |= dict.fromkeys(days, day_minutes(match[3]))
    if not found:
        raise BadInput("no hours are written", "working hours", _WEEK)
    return tuple(found.get(day, 0) for day in range(7))


_WEEK = "write Tue-Thu 2, Sat 4, or seven numbers from Monday on"


def _some_days(first: str, last: str) -> tuple[int, ...]:
    """Weekdays by their names, or the first and the last of a stretch; none if they are no weekdays."""
    several = {"weekdays": (0, 1, 2, 3, 4), "weekend": (5, 6), "weekends": (5, 6), "daily": tuple(range(7))}
    if first in several and not last:
        return several[first]
    ends = [
        next((n for n, name in enumerate(WEEKDAYS) if len(word) > 1 and name.lower().startswith(word)), None)
        for word in (first, last or first)
    ]
    if ends[0] is None or ends[1] is None:
        return ()
    return tuple((ends[0] + step) % 7 for step in range((ends[1] - ends[0]) % 7 + 1))


def week_words(found: tuple[int, ...]) -> str:
    """Hours of the weekdays in words: `12 h a week: Tue 2, Wed 2, Sat 8`."""
    told = [f"{name[:3]} {hours_text(minutes)}" for name, minutes in zip(WEEKDAYS, found, strict=True) if minutes]
    return f"{hours_text(sum(found))} h a week: {', '.join(told)}" if told else "no hours at all"


def extra_work(text: str) -> tuple[ExtraWork, ...]:
    """Extra hours on single days, sorted by day: `21 Mar 2026 4; 22 Mar 2026 2.5`; nothing for none."""
    found = [_extra_of_day(part.strip()) for part in text.split(";") if part.strip()]
    return tuple(sorted(found, key=lambda extra: extra.day))


def _extra_of_day(text: str) -> ExtraWork:
    match = re.fullmatch(r"(\d{4}-\d{1,2}-\d{1,2}|\d{1,2} +[^\W\d]+ +\d{4})[ :]+(.+)", text)
    if not match:
        raise BadInput(f"'{text}' is no day with its hours", "extra hours", "write them like 21 Mar 2026 4")
    return ExtraWork(day(match[1]), day_minutes(match[2]))


def extra_work_text(found: tuple[ExtraWork, ...]) -> str:
    """Extra hours as they are typed."""
    return "; ".join(f"{extra.day.day} {extra.day:%b %Y} {hours_text(extra.minutes)}" for extra in found)


def whole(least: int, most: int) -> Callable[[str], int]:
    """A reader of whole numbers between two bounds."""

    def read(text: str) -> int:
        try:
            value = int(text.strip())
        except ValueError:
            raise BadInput(f"'{text}' is no whole number", "number", f"write one from {least} to {most}") from None
        if not least <= value <= most:
            raise BadInput(f"{value} is not from {least} to {most}", "number", "choose one between")
        return value

    return read


def words(text: str) -> str:
    """Text that may not be empty."""
    if not text.strip():
        raise BadInput("nothing is written", "text", "write something")
    return " ".join(text.split())


def listed(text: str) -> tuple[str, ...]:
    """A list with commas."""
    return tuple(part.strip() for part in text.split(",") if part.strip())


def unless_changed(shown: str, kept: T, read: Callable[[str], T]) -> Callable[[str], T]:
    """A reader that gives what is kept for the text that was shown, so that a form saved as it was changes nothing."""
    return lambda text: kept if text == shown else read(text)


@record
class Understood:
    """A date as it was typed, and how it is understood."""

    date: FuzzyDate | None
    """The date to keep; None where nothing is known."""
    words: str = ""
    """How it is understood, shown below the line; empty where that is what was typed."""


def number_text(value: Decimal | None) -> str:
    """A number as it is typed; nothing for none."""
    return "" if value is None else f"{value:f}"


def date_text(when: FuzzyDate | None) -> str:
    """A date as it is typed: as it was written, else in words, if these mean the same, else its EDTF text."""
    from showrunner.storage.written_dates import read_written

    if when is None or when.written:
        return when.written if when else ""
    try:
        again = read_written(when.words).date
    except BadInput:
        return when.text
    return when.words if again and again.text == when.text else when.text


def written(text: str) -> Understood:
    """A date in people's words or in EDTF, or nothing."""
    from showrunner.storage.written_dates import read_written

    if not text.strip():
        return Understood(None)
    found = read_written(text)
    note = f"; {found.note}" if found.note else ""
    if found.date is None:
        return Understood(None, f"nothing is known{note}")
    said = found.date.words
    return Understood(found.kept, "" if said == text.strip() else f"{said}{note}")


def kept_date(when: FuzzyDate | None) -> Understood:
    """A date that stood in the form before."""
    return Understood(when, when.words if when and when.words != date_text(when) else "")


@record
class Named:
    """Things of the book that were named by number, name or a part of it."""

    ids: tuple[str, ...]
    """Their ids, in the order typed."""
    words: str = ""
    """Their names, shown below the line."""


def things(book: Book, sort: naming.Sort) -> Callable[[str], Named]:
    """A reader of things of one sort, with commas between: `08, Sailor suit, child's`; nothing for none."""
    there = naming.things(book, sort)

    def read(text: str) -> Named:
        found = naming.listed(there, text, noun=sort.value)
        return Named(tuple(one.id for one in found), listing([one.name or one.id for one in found]))

    return read


def layer(text: str) -> int | None:
    """A layer of a box, 1 at the bottom, or nothing."""
    return whole(1, 99)(text) if text.strip() else None


def paths(text: str) -> tuple[str, ...]:
    """Paths with semicolons between."""
    return tuple(part.strip() for part in text.split(";") if part.strip())


def path(text: str) -> Path:
    """The path of a file or folder, one that the system can have; `~` is the home of who asks."""
    named = text.strip()
    if not named:
        raise BadInput("no file is named", "file", "write where it is, such as ~/pieces.csv")
    try:
        if b"\0" in os.fsencode(named):
            raise ValueError
        return Path(named).expanduser()
    except (RuntimeError, ValueError):
        raise BadInput(f"'{short(named)}' is no path", "file", "write it out, from / or ~/ on") from None


def degrees(text: str) -> tuple[Decimal, Decimal] | tuple[None, None]:
    """Latitude and longitude in degrees, south and west negative: `-42.9 147.3`; nothing if it is not told."""
    parts = text.replace(";", " ").replace(", ", " ").split()
    if not parts:
        return None, None
    if len(parts) != 2 or not all(re.fullmatch(r"[-+]?\d{1,3}(\.\d{1,6})?", part) for part in parts):
        raise BadInput(
            f"'{short(text)}' is no place",
            "place",
            "write degrees north and east, south and west with a minus: -42.9 147.3",
        )
    return Decimal(parts[0]), Decimal(parts[1])


def zone(text: str) -> str:
    """A time zone by a town, a country or a region, or by its IANA name."""
    from showrunner.domain.places import zone_of

    return zone_of(text)


def measurements(text: str) -> tuple[Measurement, ...]:
    """Measurements: `chest 86 cm, waist 27 1/2 in, weight 2.1 kg`."""
    return read_measurements(text)


def windows(text: str) -> tuple[Window, ...]:
    """Windows: `1 Mar to 30 Apr; must 2026-10-15 to 2027-02-28`.

    `must` makes a window hard. Days without a year come back every year; a yearly window may run over
    the new year.
    """
    return tuple(_window(part.strip()) for part in text.split(";") if part.strip())


def _window(text: str) -> Window:
    hard = text.lower().startswith("must ")
    plain = text[5:] if hard else text.removeprefix("should ")
    first, to, last = plain.partition(" to ")
    if not to:
        raise BadInput(f"'{text}' has no 'to'", "window", "write it like 1 Mar to 30 Apr")
    start, end = _day_of_year(first), _day_of_year(last)
    if (start is None) != (end is None):
        raise BadInput(f"'{text}' gives a year on one side only", "window", "give it on both sides or on neither")
    if start is None or end is None:
        return Window(day(first), day(last), hard)
    if end < start:
        end = end.replace(year=LEAP + 1, day=min(end.day, 28) if end.month == 2 else end.day)
    return Window(start, end, hard, yearly=True)


def _day_of_year(text: str) -> date | None:
    """A day without a year, in a year that has every day; None if it has a year."""
    for form in ("%d %b %Y", "%d %B %Y"):
        try:
            return datetime.strptime(f"{' '.join(text.split())} {LEAP}", form).date()
        except ValueError:
            continue
    return None


def window_text(found: tuple[Window, ...]) -> str:
    """Windows as they are typed."""
    parts = []
    for window in found:
        must = "must " if window.hard else ""
        if window.yearly:
            span = f"{window.first.day} {window.first:%b} to {window.last.day} {window.last:%b}"
        else:
            span = f"{window.first.isoformat()} to {window.last.isoformat()}"
        parts.append(f"{must}{span}")
    return "; ".join(parts)


def hours_text(found: int) -> str:
    """Minutes as hours are typed."""
    return f"{found / 60:g}" if found % 6 == 0 else f"{found // 60}:{found % 60:02}"


def forms(text: str) -> tuple[Form, ...]:
    """Forms with their girths in cm: `small form 80, large form chest 92 waist 70, child's form 60, head stand`.

    A number without a word is the chest. `child`, `skirt` or `head` in the name says which sort it is.
    """
    found = []
    for part in listed(text):
        name, sizes = part, {}
        while match := _MEASURE.fullmatch(name):
            what = {None: "chest", "bust": "chest"}.get(match[2], match[2]) + "_cm"
            if what in sizes:
                raise BadInput(f"it has two measures of one sort: '{part[:40]}'", "forms", "leave one out")
            name, sizes[what] = match[1], Decimal(match[3])
        if re.search(r"\d{2}", name):
            raise BadInput(f"'{name[:40]}' is no name of a form", "forms", "write it like small form 80 waist 60")
        plain = name.lower()
        sort = next((sort for word, sort in FORM_WORDS.items() if word in plain.split()), Held.ADULT)
        if not sizes and sort is not Held.HEAD:
            raise BadInput(f"'{part[:40]}' has no measure", "forms", "write name and chest in cm, like small form 80")
        found.append(Form(name, sort=sort, **sizes))
    return tuple(found)


_MEASURE = re.compile(r"(.+?)(?:\s+(chest|bust|waist|hip|back)s?)?\s+(\d{1,3}(?:\.\d+)?)(?:\s*cm)?")
FORM_WORDS = {
    "child": Held.CHILD,
    "child's": Held.CHILD,
    "child’s": Held.CHILD,
    "skirt": Held.SKIRT,
    "head": Held.HEAD,
    "hat": Held.HEAD,
}
"""Words of a name that say which sort of form it is."""


def form_text(form: Form) -> str:
    """A form as it is typed."""
    sizes = {"": form.chest_cm, "waist ": form.waist_cm, "hip ": form.hip_cm, "back ": form.back_cm}
    return " ".join([form.name, *(f"{what}{size}" for what, size in sizes.items() if size is not None)])


def girth(text: str) -> Decimal:
    """A difference in girth in centimetres, 0 or more: `2`, `1.5 cm`."""
    plain = text.strip().lower().removesuffix("cm").strip().replace(",", ".")
    if not re.fullmatch(r"\d{1,3}(?:\.\d{1,2})?", plain):
        raise BadInput(f"'{text[:40]}' is no length", "length", "write centimetres, like 2 or 1.5")
    return Decimal(plain)


def lux(text: str) -> int:
    """Measured light: `1500`, `1,500 lux`."""
    from showrunner.planning.light import check_lux

    plain = text.strip().lower().removesuffix("lux").removesuffix("lx").strip().replace(",", "").replace(" ", "")
    if not re.fullmatch(r"[0-9]{1,9}", plain):
        raise BadInput(f"'{text}' is no measured light", "light", "write the lux as a whole number, like 1500")
    return check_lux(int(plain))


def conditions(text: str) -> tuple[tuple[str, str], ...]:
    """Place and condition of each part: `hem: one tear; all: sound`; a part without a place is all of the piece."""
    found = []
    for part in text.split(";"):
        if part.strip():
            place, colon, state = part.partition(":")
            found.append((place.strip(), state.strip()) if colon else ("all", part.strip()))
    if not found or any(not place or not state for place, state in found):
        raise BadInput("a place and its condition are needed", "condition", "write them like hem: one tear; all: sound")
    return tuple(found)


def amount(text: str) -> Decimal | None:
    """An amount of money without its currency: `120`, `85.50`, `1,885`; nothing for none."""
    plain = text.strip().replace(" ", "")
    if not plain:
        return None
    if re.fullmatch(r"-?\d{1,3}(,\d{3})+(\.\d+)?", plain):
        plain = plain.replace(",", "")
    elif re.fullmatch(r"-?\d+,\d{1,2}", plain):
        plain = plain.replace(",", ".")
    if not re.fullmatch(r"-?\d{1,15}(\.\d{1,9})?", plain):
        raise BadInput(f"'{short(text)}' is no amount", "amount", "write the number alone, like 120 or 85.50")
    return Decimal(plain)


def currency(text: str) -> str:
    """The code of a currency in any letters, or nothing."""
    from showrunner.domain.currency import check_currency

    code = text.strip().upper()
    if code:
        check_currency(code, "currency")
    return code


def centimetres(text: str) -> Decimal | None:
    """A length: `26`, which is in cm, or with its unit, `10 1/4 in`; nothing if it is not known."""
    return _measured(text, "cm", "length", "26 or 10 1/4 in")


def kilograms(text: str) -> Decimal | None:
    """A weight: `15`, which is in kg, or with its unit, `4 lb`; nothing if it is not known."""
    return _measured(text, "kg", "weight", "15 or 4 lb")


def _measured(text: str, unit: str, what: str, like: str) -> Decimal | None:
    from showrunner.domain.measuring import read_measure

    bare = text.strip().replace(",", ".")
    if not bare:
        return None
    if re.fullmatch(r"-?\d{1,6}(\.\d{1,4})?", bare):
        return Decimal(bare)
    found = read_measure(text)
    if found.unit != unit:
        raise BadInput(f"'{short(text)}' is no {what}", what, f"write it like {like}")
    return found.value


def rate(text: str) -> Rate | None:
    """What one unit of another currency is worth, and the day: `1.52 on 2 Mar 2026`; nothing for none."""
    if not text.strip():
        return None
    value, on, when = text.partition(" on ")
    found = amount(value)
    if not on or found is None:
        raise BadInput(f"'{short(text)}' is no rate with its day", "rate", "write it like 1.52 on 2 Mar 2026")
    return Rate(found, day(when))


def rate_text(found: Rate | None) -> str:
    """A rate as it is typed."""
    return f"{found.value:f} on {found.day.day} {found.day:%b %Y}" if found else ""


def supplies(text: str) -> tuple[tuple[str, int, int], ...]:
    """What is in store, how many there are and at how many it is ordered again: `tissue sheets 40/50; boxes 0/1`."""
    found = []
    for part in text.split(";"):
        if not part.strip():
            continue
        match = re.fullmatch(r"(.*\S)\s+(\d{1,6})\s*/\s*(\d{1,6})", part.strip())
        if not match:
            raise BadInput(
                f"'{short(part.strip())}' is nothing in store", "supplies", "write it like tissue, sheets 40/50"
            )
        found.append((match[1], int(match[2]), int(match[3])))
    return tuple(found)
