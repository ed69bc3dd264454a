"""Dates as people write them in a spreadsheet, turned into EDTF that is never firmer than what was written.

What the standards and the house rule say about each wording:

- *EDTF text* (Library of Congress, specification of 4 February 2019) is taken as it is. One kind is not:
  `1905-11` may be November 1905 or, as people write it, 1905 to 1911. Where the second part is a larger
  year of the same century, both readings are allowed for: `[1905..1911]`.
- *About* is `~`, *perhaps* is `?`, both are `%`. Where EDTF has no such mark, or its readers disagree on it
  (a decade, a century, a season, a list), the date stands without it and `doubtful` and the note keep the doubt.
- *From ... to ...* is one time out of several, `[1905..1911]`; an EDTF interval would be a duration.
- *Before, by, until* are `../1915`, *after, since, from* are `1915/..`. The year named is always within.
- *Early, mid, late* are four, five and four years of a decade, forty of a century. They overlap, and the note
  says what was assumed.
- *The 1900s* may be ten years or a hundred, and are a hundred.
- *Seasons* take the codes 21 to 24, whose bounds (see `edtf_text`) hold every hemisphere.
- *Victorian, Edwardian, Regency, WW1* and the like are one time out of the reign or war, and the note says so.
- *Two-digit years* are 1969 to 2068, the rule of POSIX `%y`; the date is then in doubt.
- *12/3/2024* is refused where nobody says whether the day or the month comes first. With full stops
  (12.3.2024) the day comes first, as in every locale of the Unicode CLDR that writes dates so.
- *A weekday that is not the weekday of its date* puts the date in doubt.

Wherever `doubtful` is set and EDTF has a mark for it, the date carries the mark.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from functools import lru_cache
from typing import NamedTuple

from showrunner.domain.fuzzydate import ABOUT_WORDS, PERHAPS_WORDS, FuzzyDate
from showrunner.domain.record import record
from showrunner.errors import BadInput
from showrunner.storage.date_languages import in_english
from showrunner.storage.edtf_text import MAX_LENGTH, SEASON_CODES, parse, parse_made, shown

MAX_WRITTEN = 1000
"""Longest text that is looked at, with all its remarks in brackets."""

EXAMPLES = "write it as in 1868, about 1868, 1890s, 1905 to 1911, before 1915, Aug 2024 or 2024-08-31"
"""The way out where nothing better can be guessed."""


@record
class Written:
    """A date as somebody wrote it, and what it says."""

    original: str
    """The text exactly as written."""
    date: FuzzyDate | None
    """What it says; None where it says that nothing is known."""
    doubtful: bool
    """Whether the text, or something odd about it, puts the date itself in doubt."""
    note: str
    """What was assumed in reading it, in words; empty if nothing was."""

    @property
    def kept(self) -> FuzzyDate | None:
        """The date as a book keeps it: with the text as written, unless that is the EDTF text itself.

        Where it is in doubt for a reason that neither text shows (a weekday that is not its own), a `?` is added.
        """
        original = " ".join(self.original.split())
        if self.date is None or self.date.text == original:
            return self.date
        known = self.date
        kept = FuzzyDate(known.text, known.earliest, known.latest, known.words, original)
        return replace(kept, written=f"{original} ?") if self.doubtful and not kept.in_doubt else kept


def read_written(text: str, *, day_first: bool | None = None) -> Written:
    """Read a date as people write it.

    Args:
        text: the text as written, such as `c. 1895`, `1890s?`, `before 1915` or `12 March 2024`.
        day_first: whether the day comes before the month in `12/3/2024`; None if nobody has said.

    Returns:
        The text with the date it says, by the rules at the head of this module.

    Raises:
        BadInput: the text is no date that can be understood, names a day that does not exist, or could
            mean two days and `day_first` does not decide between them.
    """
    try:
        return _written(text, day_first)
    except BadInput as error:
        raise BadInput(error.what, shown(text.strip()), error.way_out or EXAMPLES) from None


class _Core(NamedTuple):
    """What a text was read as: EDTF without its marks of doubt, and what goes with it."""

    text: str
    markable: bool = False
    """Whether a mark of doubt may follow the text."""
    tail: str = ""
    """What comes after the mark (`/..`)."""
    notes: tuple[str, ...] = ()
    about: bool = False
    perhaps: bool = False

    def qualified(self, about: bool, perhaps: bool) -> _Core:
        """The same with more doubt."""
        return self._replace(about=self.about or about, perhaps=self.perhaps or perhaps)


_Reader = Callable[[str, bool | None], _Core | None]


# --- the whole text ---------------------------------------------------------------------------------------------

_ODD_DASHES = str.maketrans({"‐": "-", "‑": "-", "−": "-", "—": "–", "―": "–", "‒": "–", "’": "'", "‘": "'", "ʼ": "'"})
_INVISIBLE = re.compile("[\u00ad\u200b-\u200f\u2060\ufeff]")
_ABBREVIATED = re.compile(r"(?<=[a-z])\.(?!\.)|,")
_TIME = re.compile(
    r"(?<=[0-9])(?:t| )[0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]+)?)?(?: ?[ap]m)?(?: ?z| ?[-+][0-9]{2}:?[0-9]{2})?"
)
_NOTHING = re.compile(
    r"[-–? ]*|(?:(?:date|year|made|is) )*"
    r"(?:n ?/?d|n/?a|no date|none|nil|unknown|not known|unk|undated|not dated|s ?d|tbc|tbd|sometime|some time"
    r"|do ?n'?t know|dunno|no idea)[? ]*"
)
_EDTF_LETTERS = re.compile(r"[0-9XSYE?~%/.,\[\]{} -]+")
_EDTF_ALONE = re.compile(
    r"[0-9X][?~%]|[?~%][0-9X]|X|[\[\]{}]|\.\.|S[0-9]|[0-9]{4}(?:-[0-9]{2}){0,2}/[0-9]{4}(?:-[0-9]{2}){0,2}"
)
_SURE_MARK = re.compile(r"([0-9]{4}(?:-(?:0[1-9]|1[0-2])(?:-[0-9]{2})?)?)([~%])")


def _written(text: str, day_first: bool | None) -> Written:
    """Read the whole text; errors do not name it yet."""
    clean = _clean(text)
    known = _plain_edtf(clean)
    if known:
        return Written(text, known, any(mark in known.text for mark in "?~%"), "")
    said = _without_remarks(clean, day_first)
    if len(said.text) > MAX_LENGTH:
        raise BadInput(f"{len(said.text)} letters are more than the {MAX_LENGTH} a date may have")
    plain, timed = _TIME.subn("", said.text, count=1)
    notes = (*said.notes, "the time of day is left out") if timed else said.notes
    core = None if _says_nothing(plain) else _qualified(plain, day_first, _statement)
    english = () if core else tuple(in_english(plain))
    if core is None and any(map(_says_nothing, (plain, *english))):
        return Written(
            text, None, said.perhaps or said.about or "?" in plain or bool(_UNSURE.search(plain)), _note(notes)
        )
    core = core or _in_another_language(english, day_first)
    if core is None:
        return Written(text, _only_edtf(clean), any(mark in clean for mark in "?~%"), "")
    return _finished(text, core.qualified(said.about, said.perhaps)._replace(notes=notes + core.notes))


def _in_another_language(readings: Iterable[str], day_first: bool | None) -> _Core | None:
    """Read a text that may be in another language, each in English words; None if it is in none of them."""
    found: dict[str, _Core] = {}
    faults: list[BadInput] = []
    for english in readings:
        try:
            core = _qualified(english, day_first, _statement)
        except BadInput as error:
            faults.append(error)
            continue
        if core:
            found.setdefault(core.text + core.tail, core)
    if len(found) > 1:
        raise BadInput(f"this may be {', or '.join(_made(text).words for text in found)}")
    if faults and not found:
        raise faults[0]
    return next(iter(found.values()), None)


def _clean(text: str) -> str:
    """The text with plain spaces, two kinds of dashes and nothing invisible."""
    if len(text) > MAX_WRITTEN:
        raise BadInput(f"{len(text)} letters are more than the {MAX_WRITTEN} that are looked at")
    clean = " ".join(_INVISIBLE.sub("", text).translate(_ODD_DASHES).split())
    if not clean.isprintable() or any(sign in text for sign in "\x1c\x1d\x1e\x1f"):
        raise BadInput("it holds signs that cannot be printed", way_out="type it anew")
    return clean.strip("\"'") if re.fullmatch(r"(\"|').*\1|'[0-9]{4}.*", clean) else clean


def _says_nothing(plain: str) -> bool:
    """Whether the text says that nothing is known, in words or by having only words of doubt."""
    return bool(_NOTHING.fullmatch(plain) or _UNSURE.fullmatch(plain))


def _plain_edtf(clean: str) -> FuzzyDate | None:
    """The date of a text that can be nothing but EDTF; None if it is something else, or not good EDTF."""
    simple = _SURE_MARK.fullmatch(clean)
    if simple:
        return parse_made(clean)
    text = clean.upper()
    if len(text) > MAX_LENGTH or not _EDTF_LETTERS.fullmatch(text) or not _EDTF_ALONE.search(text):
        return None
    if _PAIR.fullmatch(text.rstrip("?")) or re.fullmatch(r"[0-9]{4}\?", text):
        return None
    known = _judged(text)
    return known if isinstance(known, FuzzyDate) else None


def _only_edtf(clean: str) -> FuzzyDate:
    """The date of a text that was not understood in words, so that it must be EDTF."""
    text = clean.upper()
    if not _EDTF_LETTERS.fullmatch(text) or not re.search("[0-9]", text):
        raise BadInput("this cannot be read as a date")
    if re.fullmatch(r"[34][0-9]{4}(?:\.[0-9]+)?", text):
        raise BadInput("this looks like a spreadsheet's own count of days", way_out="let that column show dates")
    known = _judged(text)
    if isinstance(known, FuzzyDate):
        return known
    raise BadInput(known.what, way_out=known.way_out)


class _Refusal(NamedTuple):
    """Why a text is no date; an error that is kept would hold all that was going on whenever it is raised."""

    what: str
    way_out: str


@lru_cache(maxsize=4096)
def _judged(text: str) -> FuzzyDate | _Refusal:
    """What `parse` makes of a text, kept since it takes milliseconds."""
    try:
        return parse(text)
    except BadInput as error:
        return _Refusal(error.what, error.way_out)


def _finished(original: str, core: _Core) -> Written:
    """The date of what was read, with its marks of doubt where EDTF has them."""
    doubtful = core.about or core.perhaps
    mark = "%" if core.about and core.perhaps else "~" if core.about else "?" if core.perhaps else ""
    notes = core.notes
    if mark and not core.markable:
        said = {"%": "perhaps about", "~": "about", "?": "perhaps"}[mark]
        notes = (*notes, f"'{said}' is kept only as you wrote it")
        mark = ""
    return Written(original, _made(core.text + mark + core.tail), doubtful, _note(notes))


def _note(notes: tuple[str, ...]) -> str:
    """Several notes as one, each said once."""
    return "; ".join(dict.fromkeys(notes))


@lru_cache(maxsize=4096)
def _made(text: str) -> FuzzyDate:
    """The date of EDTF text put together here."""
    return parse_made(text)


# --- remarks in brackets ----------------------------------------------------------------------------------------

_WRAPPED = re.compile(r"\(([^()]*)\)|\[([^\[\]]*)\]")
_REMARK = re.compile(r" ?(?:\(([^()]*)\)|\[([^\[\]/]*)\])")


class _Said(NamedTuple):
    """A text without its remarks, and what they added."""

    text: str
    notes: tuple[str, ...] = ()
    about: bool = False
    perhaps: bool = False


def _without_remarks(clean: str, day_first: bool | None) -> _Said:
    """Take the remarks in brackets away from a text; doubt that they express, or may, is kept."""
    whole = _WRAPPED.fullmatch(clean)
    if whole:
        square = whole[2] is not None
        notes = ("square brackets are read as a date that was supplied later, so it is in doubt",) if square else ()
        return _Said(_lowered(whole[1] or whole[2] or ""), notes, perhaps=square)
    remarks = [_lowered(round_ or square) for round_, square in _REMARK.findall(clean)]
    added = "".join(f" {remark}" for remark in remarks if remark.startswith("or "))
    said = _Said(_lowered(_REMARK.sub(" ", clean) + added))
    if remarks and _says_nothing(said.text):
        within = next((remark for remark in remarks if _is_a_date(remark, day_first)), "")
        if within:
            remarks.remove(within)
            said = _Said(within, perhaps=bool(said.text))
    for remark in remarks:
        if not remark.startswith("or "):
            said = _with_remark(said, remark, day_first)
    return said


def _lowered(text: str) -> str:
    """A text in small letters without commas and without the full stops of abbreviations."""
    plain = " ".join(_ABBREVIATED.sub(" ", text.lower()).split())
    return plain[:-1] if re.search(r"[0-9]\.$", plain) else plain


def _with_remark(said: _Said, remark: str, day_first: bool | None) -> _Said:
    """A text with what one remark adds: a word of doubt, another date, or nothing that can be read."""
    if re.fullmatch(rf"(?:{_ABOUT_WORDS})", remark):
        return said._replace(about=True)
    if not remark or _UNSURE.fullmatch(remark):
        return said._replace(perhaps=said.perhaps or bool(remark))
    notes = (*said.notes, "the words in brackets stay in your own words only")
    other = _is_a_date(remark, day_first)
    if other:
        notes = (*notes, "they hold a date of their own, so this one is in doubt")
    return said._replace(notes=notes, perhaps=said.perhaps or other or bool(_UNSURE.search(remark)))


def _is_a_date(remark: str, day_first: bool | None) -> bool:
    """Whether a remark reads as a date."""
    if len(remark) > MAX_LENGTH:
        return False
    try:
        return _qualified(remark, day_first, _statement) is not None
    except BadInput:
        return bool(re.search("[0-9]", remark))


# --- words of doubt, before and after ---------------------------------------------------------------------------

_ABOUT_WORDS = f"c|{ABOUT_WORDS}"
_FILLERS = "in|on|at|the|dated|date|year|made|during|within|sometime|some time|some point|of"
_UNSURE = re.compile(rf"(?:(?:\b(?:{_ABOUT_WORDS}|{PERHAPS_WORDS})\b|\?)[ ?]*+)+")

_HEAD = re.compile(
    rf"(?:(?P<about>(?:{_ABOUT_WORDS}):?(?: |(?=[0-9]))|~ ?)|(?P<perhaps>(?:{PERHAPS_WORDS}):? |\?+ ?)"
    rf"|(?:{_FILLERS}):? )(?P<rest>.+)"
)
_FOOT = re.compile(
    rf"(?P<rest>.+?)(?:(?P<about> (?:{_ABOUT_WORDS})|-ish|(?<=[0-9s])ish| ?~| ?±| ?\+/-)"
    rf"|(?P<both> ?%)|(?P<perhaps> (?:but )?(?:{PERHAPS_WORDS})| ?\?+)| (?:ad|ce))"
)


def _qualified(text: str, day_first: bool | None, read: _Reader) -> _Core | None:
    """Read a text, taking words of doubt away one by one until the rest can be read."""
    core = read(text, day_first)
    found = None if core else _HEAD.fullmatch(text) or _FOOT.fullmatch(text)
    if not found:
        return core
    inner = _qualified(found["rest"], day_first, read)
    both = bool(found.groupdict().get("both"))
    return inner.qualified(both or bool(found["about"]), both or bool(found["perhaps"])) if inner else None


def _statement(text: str, day_first: bool | None) -> _Core | None:
    """Read a text of one date, one open end, or several dates to choose from."""
    for read in (_part, _between, _before_or_after, _either, _stretch):
        core = read(text, day_first)
        if core:
            return core
    return None


def _single(text: str, day_first: bool | None) -> _Core | None:
    """Read a text of one date, without words of doubt."""
    for read in _SINGLE:
        core = read(text, day_first)
        if core:
            return core
    return None


def _part(text: str, day_first: bool | None) -> _Core | None:
    """Read one of the dates of a statement, with its words of doubt."""
    return _qualified(text, day_first, _single)


# --- before and after -------------------------------------------------------------------------------------------

_SOON = "(?:(?:shortly|just|soon|well|long|sometime|some time) )?"
_BEFORE = re.compile(
    rf"{_SOON}(?:(?:(?:on|in) or )?before|by|pre|prior to|until|till|up to|to|(?:not|no) later than|not after|"
    r"at the latest|latest|earlier than|older than|ante)(?:[ -]|(?=[0-9]))(?P<rest>.+)|< ?(?P<sign>.+)"
    r"|(?P<foot>.+) (?:(?:or|and) (?:before|earlier|older)|at (?:the )?latest)"
)
_AFTER = re.compile(
    rf"{_SOON}(?:(?:(?:on|in) or )?after|since|post|from|later than|not before|(?:not|no) earlier than|"
    r"at the earliest|earliest|newer than|younger than)(?:[ -]|(?=[0-9]))(?P<rest>.+)|> ?(?P<sign>.+)"
    r"|(?P<foot>.+?)(?: (?:or|and) (?:after|later|newer|younger)| at (?:the )?earliest| onwards?| on|\+| ?[-–])"
)


def _before_or_after(text: str, day_first: bool | None) -> _Core | None:
    """Read `before 1915`, `1915 or later` and the like; the date named is within, which is never firmer."""
    for pattern, before in ((_BEFORE, True), (_AFTER, False)):
        found = pattern.fullmatch(text)
        core = _part(found["rest"] or found["sign"] or found["foot"], day_first) if found else None
        if core:
            return _opened(core, before)
    return None


def _opened(core: _Core, before: bool) -> _Core | None:
    """Everything up to the end of a date, or from its start on."""
    if not core.markable:
        span = _made(core.text)
        edge = span.latest if before else span.earliest
        if edge is None:
            return None
        core = core._replace(text=edge.isoformat()[: _length(edge, end=before)], markable=True)
    return core._replace(text=f"../{core.text}") if before else core._replace(tail="/..")


# --- several dates to choose from -------------------------------------------------------------------------------

_BETWEEN = re.compile(r"(?:between|from|either) (.+?)(?: and | or | to | until | till | through | ?[-–] ?)(.+)")
_JOINTS = (" to ", " until ", " till ", " through ", " – ", " - ", " / ", "–", "-", "/")
_DAY = "(?:[0-9]{1,2})(?:st|nd|rd|th)?"
_HALVES = "early|mid|middle|late"


def _between(text: str, day_first: bool | None) -> _Core | None:
    """Read `between 1905 and 1911`."""
    found = _BETWEEN.fullmatch(text)
    return _joined(found[1], found[2], day_first) if found else None


def _stretch(text: str, day_first: bool | None) -> _Core | None:
    """Read `1905-1911`, `1905 to 1911`, `12–14 March 2024`."""
    for left, right in _splits(text):
        core = _joined(left, right, day_first)
        if core:
            return core
    return None


def _splits(text: str) -> Iterator[tuple[str, str]]:
    """Each way to take a text for two dates; the likeliest first."""
    for joint in _JOINTS:
        if joint.strip() == "/" and not re.search("[a-z]", text):
            continue  # two EDTF dates make a duration
        pieces = text.split(joint)
        for count in range(len(pieces)):
            yield joint.join(pieces[:count]).strip(), joint.join(pieces[count:]).strip()


def _joined(left: str, right: str, day_first: bool | None) -> _Core | None:
    """From the start of one date to the end of another; the first may leave out what the second says."""
    pair = _pair(f"{left}–{right}", day_first)
    if pair:
        return pair
    if re.fullmatch("'?[0-9]0'?s", right) and (decade := _DECADE.search(left)):
        right = f"{decade[1][:2]}{right.lstrip(chr(39))}"
    first = _part(_filled(left, right), day_first)
    last = _part(right, day_first) if first else None
    if not first or not last:
        return None
    start, end = _made(first.text), _made(last.text)
    if start.earliest and end.latest and end.latest < start.earliest:
        raise BadInput(f"it ends ({end.words}) before it starts ({start.words})", way_out="swap the two dates")
    return _all_of(first, last)


def _either(text: str, day_first: bool | None) -> _Core | None:
    """Read `1905 or 1906`."""
    left, found, right = text.partition(" or ")
    first = _part(_filled(left, right), day_first) if found else None
    last = _part(right, day_first) if first else None
    if not first or not last:
        return None
    if first.markable and last.markable:
        both = dict.fromkeys((first.text, last.text))
        return _either_doubt(_Core(f"[{','.join(both)}]") if len(both) > 1 else first, first, last)
    return _all_of(first, last)


def _all_of(first: _Core, last: _Core) -> _Core | None:
    """One time within two dates or between them; None where one of them has no bound."""
    spans = (_made(first.text), _made(last.text))
    firsts = [span.earliest for span in spans if span.earliest]
    lasts = [span.latest for span in spans if span.latest]
    return _either_doubt(_range(min(firsts), max(lasts)), first, last) if len(firsts) == len(lasts) == 2 else None


def _either_doubt(core: _Core, first: _Core, last: _Core) -> _Core:
    """A date made of two, with the notes and doubts of both."""
    doubt = core.qualified(first.about or last.about, first.perhaps or last.perhaps)
    return doubt._replace(notes=core.notes + first.notes + last.notes)


def _filled(left: str, right: str) -> str:
    """The first of two dates with what it leaves to the second: a month, a year, a decade or `century`."""
    year = re.search(r" [0-9]{4}$", right)
    day = re.fullmatch(rf"{_DAY}( [a-z]+ [0-9]{{4}})", right)
    age = re.fullmatch(rf"(?:{_HALVES})[ -](.+)", right)
    if re.fullmatch(_DAY, left) and day:
        return left + day[1]
    if re.fullmatch(_HALVES, left) and age:
        return f"{left} {age[1]}"
    if re.fullmatch(r"(?:.+ )?[a-z0-9]+(?:st|nd|rd|th)", left) and right.endswith(" century"):
        return f"{left} century"
    if year and not re.search(r"[0-9]{3}", left):
        return left + year[0]
    return left


def _range(first: date, last: date) -> _Core:
    """One time from one day to another, in years if it can be, else months, else days."""
    length = max(_length(first, end=False), _length(last, end=True))
    start, stop = first.isoformat()[:length], last.isoformat()[:length]
    return _Core(start, True) if start == stop else _Core(f"[{start}..{stop}]")


def _length(day: date, *, end: bool) -> int:
    """How much of an ISO date is needed for a day that starts or ends something: the year, the month or all."""
    if (day.month, day.day) == ((12, 31) if end else (1, 1)):
        return 4
    return 7 if ((day + timedelta(days=1)).day if end else day.day) == 1 else 10


# --- 1905-11, which may be years or a month ---------------------------------------------------------------------

_PAIR = re.compile(r"([1-9][0-9]{3})( ?[-–/] ?| to | until | till )([0-9]{1,2})")
_NEAR = 30
"""Most years from the first to the second of a pair that runs into the next century (1898–02)."""


def _pair(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001 - every reader takes it
    """Read a year with one or two digits after it: years, a month, or what holds both."""
    found = _PAIR.fullmatch(text)
    if not found:
        return None
    year, joint, number = int(found[1]), found[2], found[3]
    value = int(number)
    step = 10 ** len(number)
    end = year - year % step + value
    is_month = 1 <= value <= 12
    edtf = joint == "-" and len(number) == 2
    if step == 100 and end + step - year <= _NEAR and not (edtf and is_month):
        end += step
    if end > year and end <= 9999:
        return _pair_of_years(year, end, value if edtf or (is_month and joint.strip() in "-–/") else 0)
    if is_month:
        return _Core(f"{year}-{value:02}", True, notes=() if edtf else ("read as a year and a month",))
    if edtf and 21 <= value <= 41:
        return _Core(text)
    raise BadInput(f"{number} is neither a later year than {year} nor a month")


def _pair_of_years(year: int, end: int, code: int) -> _Core:
    """Some time from a year to another, wide enough for the month or season that `code` may be."""
    told = f"read as some time from {year} to {end}"
    if 1 <= code <= 12:
        return _Core(f"[{year}..{end}]", notes=(f"{told}, which also holds {date(year, code, 1):%B} {year}",))
    if 21 <= code <= 41:
        text = f"[{year - 1:04}-12..{end}-12]" if code in (22, 24, 28, 30) else f"[{year}..{end}]"
        return _Core(text, notes=(f"{told}, which also holds {_made(f'{year}-{code}').words}",))
    return _Core(f"[{year}..{end}]")


# --- days, months and years -------------------------------------------------------------------------------------

_MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_GAP = r"(?: ?[-–/.] ?| )"
_MAY_GAP = rf"{_GAP}?"
_YEAR = re.compile(r"([0-9]{4})(?:\.0)?")
_YMD = re.compile(r"([0-9]{4})( ?[-–/.] ?| )([0-9]{1,2})\2([0-9]{1,2})")
_RUN_TOGETHER = re.compile(r"([12][0-9]{3})([01][0-9])([0-3][0-9])")
_THREE = re.compile(r"([0-9]{1,2})( ?[-–/.] ?| )([0-9]{1,2})\2'?([0-9]{4}|[0-9]{2})")
_MONTH_YEAR = re.compile(r"([0-9]{1,2}) ?[-–/.] ?([0-9]{4})")
_NAMED = (
    re.compile(rf"(?P<month>[a-z]{{3,9}}){_MAY_GAP}(?:of )?'?(?P<year>[0-9]{{4}})"),
    re.compile(r"(?P<month>[a-z]{3,9})(?: ?[-–] ?| ?')(?P<year>[0-9]{2})"),
    re.compile(
        rf"(?:the )?(?P<day>[0-9]{{1,2}})(?:st|nd|rd|th)?{_MAY_GAP}(?:of )?(?P<month>[a-z]{{3,9}})"
        rf"{_MAY_GAP}'?(?P<year>[0-9]{{4}}|[0-9]{{2}})"
    ),
    re.compile(
        rf"(?P<month>[a-z]{{3,9}}){_MAY_GAP}(?:the )?(?P<day>[0-9]{{1,2}})(?:st|nd|rd|th)?"
        rf"{_GAP}'?(?P<year>[0-9]{{4}}|[0-9]{{2}})"
    ),
    re.compile(
        rf"(?P<year>[0-9]{{4}}){_MAY_GAP}(?P<month>[a-z]{{3,9}})(?:{_MAY_GAP}(?P<day>[0-9]{{1,2}})(?:st|nd|rd|th)?)?"
    ),
)
_NO_YEAR = re.compile(rf"(?:{_DAY}{_MAY_GAP}(?:of )?)?([a-z]{{3,9}})|([a-z]{{3,9}}){_MAY_GAP}{_DAY}")


def _year(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `1868`, also with the `.0` that a column of numbers adds."""
    found = _YEAR.fullmatch(text)
    return _Core(found[1], True) if found else None


def _year_first(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `2024-03-12`, `2024/3/12`, `20240312`."""
    found = _YMD.fullmatch(text)
    if found:
        return _numbered(found[1], int(found[3]), int(found[4]))
    found = _RUN_TOGETHER.fullmatch(text)
    return _numbered(found[1], int(found[2]), int(found[3]), "read as year, month, day") if found else None


def _year_last(text: str, day_first: bool | None) -> _Core | None:
    """Read `12/3/2024` and `12/3/24` in the order that is known, or the only one possible."""
    found = _THREE.fullmatch(text)
    if not found:
        return None
    one, joint, two, year = int(found[1]), found[2].strip(), int(found[3]), found[4]
    readings = {
        "day/month/year": _numbered(year, two, one),
        "month/day/year": _numbered(year, one, two),
    }
    if len(year) == 2 and joint not in ("/", "."):
        readings["year/month/day"] = _numbered(found[1].zfill(2), two, int(year))
    good = {order: core for order, core in readings.items() if _exists(core.text)}
    if joint == "." and day_first is None:
        day_first = True
    told = {True: "day/month/year", False: "month/day/year"}.get(day_first) if day_first is not None else None
    choice = told or next(iter(good), "")
    if choice not in good:
        raise BadInput(f"no such day exists{f', read as {told}' if told else ''}", way_out=_offer(good))
    if told is None and len({core.text for core in good.values()}) > 1:
        raise BadInput(f"this may be {' or '.join(good)}", way_out=_offer(good))
    core = good[choice]
    return core._replace(notes=(f"read as {choice}", *core.notes))


def _offer(good: dict[str, _Core]) -> str:
    """The way out that spells the readings that exist."""
    days = dict.fromkeys(core.text for core in good.values())
    return f"write it as {' or as '.join(days)}" if days else ""


def _exists(text: str) -> bool:
    """Whether there is such a day."""
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _month_first(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `11/1905`."""
    found = _MONTH_YEAR.fullmatch(text)
    return _numbered(found[2], int(found[1])) if found else None


def _named(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read a date with its month in letters."""
    for pattern in _NAMED:
        found = pattern.fullmatch(text)
        if found and (month := _month(found["month"])):
            day = found.groupdict().get("day")
            return _numbered(found["year"], month, int(day) if day else None)
    found = _NO_YEAR.fullmatch(text)
    if found and _month(found[1] or found[2]):
        raise BadInput("the year is missing", way_out="add it, as in 12 March 2024")
    return None


def _month(word: str) -> int:
    """The number of a month that is written in three or more of its letters; 0 if there is none."""
    return next((number for number, name in enumerate(_MONTHS, 1) if len(word) >= 3 and name.startswith(word)), 0)


def _numbered(year: str, month: int, day: int | None = None, note: str = "") -> _Core:
    """A month or day by its numbers; a two-digit year is one from 1969 to 2068, and in doubt."""
    notes = (note,) if note else ()
    short = len(year) == 2
    if short:
        year = f"{20 if int(year) <= 68 else 19}{year}"
        notes = (*notes, f"the two-digit year is taken as {year}")
    text = f"{year}-{month:02}" if day is None else f"{year}-{month:02}-{day:02}"
    return _Core(text, True, notes=notes, perhaps=short)


def _weekday(text: str, day_first: bool | None) -> _Core | None:
    """Read `Sun 12 Mar 2024`, and doubt it if that day was no Sunday."""
    word, _, rest = text.partition(" ")
    if len(word) < 3 or not any(name.startswith(word.removesuffix("s")) for name in _WEEKDAYS):
        return None
    core = _single(rest, day_first)
    if not core or not _exists(core.text):
        return core if core and core.text.count("-") == 2 else None
    name = _WEEKDAYS[date.fromisoformat(core.text).weekday()]
    if name.startswith(word.removesuffix("s")):
        return core
    return core._replace(perhaps=True, notes=(*core.notes, f"that day was a {name.title()}"))


# --- decades, centuries and parts of them -----------------------------------------------------------------------

_ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh"),
    *("twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth"),
    *("twentieth", "twenty-first"),
)
_DECADE = re.compile(r"((?!000)[0-9]{3})0 ?'?s")
_LEFT_OUT = re.compile(r"([1-9][0-9]{2})[-–?_]|([1-9][0-9])(?:--|–|\?\?|__)")
_SHORT_DECADE = re.compile(r"'?([0-9])0'?s")
_CENTURY = re.compile(
    r"([0-9]{1,2})(?:st|nd|rd|th)?[ -]?(?:century|cent|c)|c(1[0-9]|2[01])(?:st|nd|rd|th)?|([a-z-]{5,12})[ -]century"
)
_PORTION = re.compile(
    r"(?P<portion>(?:first|1st|second|2nd|last|latter) half|(?:first|1st|second|2nd|third|3rd|fourth|4th|last) quarter|"
    r"earlier|early|mid|middle|late|later|latter|beginning|start|end)"
    r"(?:[ –-]|(?=[0-9]))(?:part )?(?:(?:of|in) )?(?:the )?(?P<rest>.+)"
)
_PORTIONS: dict[str, tuple[tuple[int, int], tuple[int, int]]] = {
    "early": ((0, 3), (0, 39)),
    "mid": ((3, 7), (30, 69)),
    "late": ((6, 9), (60, 99)),
    "first half": ((0, 5), (0, 50)),
    "second half": ((5, 9), (50, 99)),
    "first quarter": ((0, 3), (0, 25)),
    "second quarter": ((2, 5), (25, 50)),
    "third quarter": ((5, 8), (50, 75)),
    "fourth quarter": ((7, 9), (75, 99)),
}
"""Each part of a decade and of a century: its first and last year, counted from the first."""
_SAME_PORTION = {
    "earlier": "early",
    "beginning": "early",
    "start": "early",
    "middle": "mid",
    "later": "late",
    "latter": "late",
    "end": "late",
    "last half": "second half",
    "latter half": "second half",
    "last quarter": "fourth quarter",
}


def _decade(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `1890s`; `1900s` may be a century."""
    found = _DECADE.fullmatch(text)
    if found:
        if not found[1].endswith("0"):
            return _Core(f"{found[1]}X")
        return _Core(
            f"{text[:2]}XX", notes=(f"{found[1]}0s may be ten years or a hundred, and are read as the latter",)
        )
    found = _SHORT_DECADE.fullmatch(text)
    if found:
        raise BadInput("the century is missing", way_out=f"write it as 18{found[1]}0s or as 19{found[1]}0s")
    return None


def _digits_left_out(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `189-`, `18--`, `187?`, `19??` as library catalogues write them."""
    found = _LEFT_OUT.fullmatch(text)
    if not found:
        return None
    return _Core((found[1] or found[2]).ljust(4, "X"), perhaps="?" in text)


def _century(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `19th century`, `19th c.`, `C19`, `nineteenth century`."""
    number = _century_number(text)
    return _Core(f"{number - 1:02}XX") if number else None


def _century_number(text: str) -> int:
    """The number of a century from the second on; 0 if the text names none."""
    found = _CENTURY.fullmatch(text)
    if not found:
        return 0
    word = found[3]
    number = _ORDINALS.index(word) + 1 if word in _ORDINALS else int(found[1] or found[2] or 0)
    return number if number >= 2 else 0


def _portion(text: str, day_first: bool | None) -> _Core | None:
    """Read `early 1890s`, `mid-19th century`, `second half of the 19th century`, `late 1911`."""
    found = _PORTION.fullmatch(text)
    if not found or _PORTION.match(found["rest"]):
        return None
    said = found["portion"].replace("1st", "first").replace("2nd", "second").replace("3rd", "third")
    portion = _SAME_PORTION.get(said.replace("4th", "fourth"), said.replace("4th", "fourth"))
    bounds = [(start + part[0], start + part[1]) for start, part in _ages(found["rest"], portion)]
    if bounds:
        low, high = min(low for low, _ in bounds), max(high for _, high in bounds)
        return _Core(f"[{low:04}..{high:04}]", notes=(f"'{text}' is taken as {low} to {high}",))
    core = _single(found["rest"], day_first)
    return core._replace(notes=(*core.notes, f"'{said}' is not in the date")) if core else None


def _ages(text: str, portion: str) -> list[tuple[int, tuple[int, int]]]:
    """The first years of the decade and century a text may name, each with the part of it that is meant."""
    of_decade, of_century = _PORTIONS[portion]
    number = _century_number(text)
    if number:
        return [((number - 1) * 100, of_century)]
    found = _DECADE.fullmatch(text)
    if not found:
        return []
    start = int(found[1]) * 10
    return [(start, of_decade), (start, of_century)] if start % 100 == 0 else [(start, of_decade)]


# --- seasons, quarters and feasts -------------------------------------------------------------------------------

_SEASON = re.compile(rf"({'|'.join(SEASON_CODES)})(?: of| in)? ([0-9]{{4}})(?: ?[-–/] ?([0-9]{{4}}|[0-9]{{2}}))?")
_QUARTER = re.compile(r"q([1-4])[ /-]?([0-9]{4})|([0-9]{4})[ /-]?q([1-4])")
_FEAST = re.compile(
    r"(christmas|xmas|easter|whitsun|whitsuntide|pentecost|michaelmas|candlemas|martinmas|midsummer|lady day|may day|"
    r"advent|lent|shrovetide|harvest)(?: eve| day| time|time)?(?: of| in)? ([0-9]{4})"
)


def _season(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `spring 1911`, `summer of 1911`, `winter 1911/12`."""
    found = _SEASON.fullmatch(text)
    if not found:
        return None
    year, end = found[2], found[3]
    note = "north or south of the equator is not said, so both are allowed for"
    if not end:
        return _Core(f"{year}-{SEASON_CODES[found[1]]}", notes=(note,))
    follows = f"{int(year) + 1:04}"
    if end != follows[-len(end) :] or found[1] in ("spring", "autumn", "fall"):
        return None
    return _Core(f"[{year}..{follows}]", notes=(f"{found[1]} is not in the date", note))


def _quarter(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `Q3 2024`."""
    found = _QUARTER.fullmatch(text)
    return _Core(f"{found[2] or found[3]}-{32 + int(found[1] or found[4])}") if found else None


def _feast(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `Christmas 1912` as its year."""
    found = _FEAST.fullmatch(text)
    return _Core(found[2], True, notes=(f"{found[1]} is not in the date",)) if found else None


PERIODS = {
    **dict.fromkeys(("victorian", "victoria", "queen victoria"), (1837, 1901)),
    **dict.fromkeys(("edwardian", "edward vii"), (1901, 1910)),
    **dict.fromkeys(("georgian",), (1714, 1837)),
    **dict.fromkeys(("regency",), (1811, 1820)),
    **dict.fromkeys(("ww1", "wwi", "ww 1", "ww i", "first world war", "world war 1", "world war i"), (1914, 1918)),
    **dict.fromkeys(("1st world war", "world war one", "great war"), (1914, 1918)),
    **dict.fromkeys(("ww2", "wwii", "ww 2", "ww ii", "second world war", "world war 2", "world war ii"), (1939, 1945)),
    **dict.fromkeys(("2nd world war", "world war two"), (1939, 1945)),
    **dict.fromkeys(("interwar", "inter-war", "between the wars"), (1918, 1939)),
}
"""First and last year of a period: the reigns of British sovereigns, the regency by its act of 1811, the two wars."""
_PERIOD = re.compile(r"(?:the )?(.+?)(?: (?:era|period|age|times?|years|reign))?")


def _period(text: str, day_first: bool | None) -> _Core | None:  # noqa: ARG001
    """Read `Victorian`, `WW1`, `the Edwardian era` as one time out of the whole period."""
    found = _PERIOD.fullmatch(text)
    years = PERIODS.get(found[1]) if found else None
    if years is None:
        return None
    return _Core(f"[{years[0]}..{years[1]}]", notes=(f"'{text}' is taken as {years[0]} to {years[1]}",))


_SINGLE: tuple[_Reader, ...] = (
    *(_year, _year_first, _named, _year_last, _month_first, _pair, _decade, _century),
    *(_digits_left_out, _season, _quarter, _feast, _period, _weekday, _portion),
)
