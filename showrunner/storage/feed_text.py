"""The text of a feed: the episodes that an RSS 2.0 or Atom (RFC 4287) file lists.

What is decided here:

- *Doctypes* are refused wherever they stand: no feed needs one, and entities that expand to each other can fill
  the memory.
- *Dates without a zone*, or with a zone that has no one meaning (`BST`, `CET`), give the day as it is written
  and no instant. `-0000` is UTC. A date that cannot be read counts as missing.
- *Titles* are plain text: an Atom title of type html loses its tags and its entities; an RSS title, which does
  not say what it is, only entities that end in a semicolon and tags that HTML knows, so that `hems < 5 cm` stays.
- *The link* is the page of the episode (Atom `alternate`); an RSS guid that is a permanent address stands in
  for one that is missing.
- *Order*: oldest first. Feeds list the newest first, so where dates do not decide, the lower entry is the older,
  unless the dates of the whole list rise. Entries without a date come last.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from email.utils import parsedate_to_datetime
from urllib.parse import urljoin
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat
from zoneinfo import ZoneInfo

from showrunner.domain import words
from showrunner.domain.record import record
from showrunner.errors import BadInput
from showrunner.storage.file_size import MAX_ROWS, too_large

_ATOM_SPACE = "http://www.w3.org/2005/Atom"
_ATOM = f"{{{_ATOM_SPACE}}}"
_BASE = "{http://www.w3.org/XML/1998/namespace}base"

_BLOCK = "br|p|div|li|ul|ol|h[1-6]|hr|td|tr"
_KNOWN = re.compile(
    f"{_BLOCK}|a|abbr|b|big|cite|code|del|em|font|i|img|ins|mark|q|s|small|span|strike|strong|sub|sup|tt|u|wbr"
)
"""Tags that are taken out of an RSS title."""
_ANY = re.compile(".+")
_TAG = re.compile(r"<!--[^<>]*>|</?([A-Za-z][A-Za-z0-9-]*)(?=[\s/>])[^<>]*>")
_ENTITY = re.compile(r"&(?:#[0-9]{1,8}|#[xX][0-9a-fA-F]{1,8}|[A-Za-z][A-Za-z0-9]{1,31});")
_INSTANT = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:[Zz]|[+-]\d\d:?\d\d)?")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_ROOT = re.compile(
    r"(?:<\?[^>]*>|<!--.*?-->|<![^>\[]*(?:\[[^\]]*\])?[^>]*>|\s+)*+<(?:[\w.-]+:)?(rss|feed)(?=[\s/>])([^>]*)", re.DOTALL
)
"""The first element of a feed, with what may stand before it."""
_HEAD_BYTES = 65_536
"""How far it is looked for."""

Moment = tuple[date | None, datetime | None]
"""The local day and the instant in UTC, as far as they are known."""


@record
class FeedEntry:
    """One episode of a feed."""

    title: str
    """Title as plain text on one line; empty if there is none."""
    day: date | None
    """Day of publication on the clock of the zone asked for."""
    instant: datetime | None
    """Moment of publication in UTC, if the feed says it."""
    link: str
    """Address of its page; empty if there is none."""
    id: str
    """Permanent name the feed gives it (RSS guid, Atom id); empty if there is none."""
    place: int
    """Its place among the entries as they stand in the file, from 1: a feed may be all on one line."""


def looks_like_feed(data: bytes) -> bool:
    """Whether a file begins as an RSS or Atom file does, by its first element; it may still be broken."""
    root = _ROOT.match(_head(data))
    return root is not None and (root[1] == "rss" or _ATOM_SPACE in root[2])


def read_feed(data: bytes, name: str, zone: str) -> tuple[FeedEntry, ...]:
    """Read the episodes of a feed.

    Args:
        data: the bytes of the file.
        name: name of the file, for the sentences.
        zone: IANA zone on whose clock the days are counted.

    Returns:
        The entries, oldest first, those without a date last.

    Raises:
        BadInput: the file is empty, too large, broken XML, XML with a doctype or no feed, or the zone is
            unknown.
    """
    house = _zone(zone)
    root = _tree(data, name)
    atom, kind = root.tag == f"{_ATOM}feed", root.tag.rpartition("}")[2]
    if not atom and kind != "rss":
        what = f"it is no feed but something else, such as a web page ('{words.short(kind)}')"
        raise BadInput(what, name, "give an RSS 2.0 or Atom file")
    space = root.tag.removesuffix(kind)
    items = root.findall(f"{space}entry" if atom else f"{space}channel/{space}item")
    if len(items) > MAX_ROWS:
        what = f"its {len(items):,} entries are more than the {MAX_ROWS:,} that are read"
        raise BadInput(what, name, "save fewer entries")
    return _oldest_first(
        [
            _atom_entry(item, root, at, house) if atom else _rss_entry(item, space, at, house)
            for at, item in enumerate(items, 1)
        ]
    )


def _head(data: bytes) -> str:
    """The first characters of a file."""
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    return data[:_HEAD_BYTES].decode("utf-16" if wide else "utf-8-sig", "replace")


def _zone(name: str) -> ZoneInfo:
    """A time zone by its name.

    Raises:
        BadInput: there is none of that name.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        what = f"no time zone is called '{name}'"
        raise BadInput(what, "house rules", "write it like Europe/Dublin") from None


def _tree(data: bytes, name: str) -> Element:
    """The elements of an XML file.

    Raises:
        BadInput: it is empty, too large, broken, or has a doctype.
    """
    if told := too_large(len(data)):
        raise BadInput(f"its {told}", name, "save fewer entries")
    if not data.strip():
        raise BadInput("the file is empty", name, "give an RSS 2.0 or Atom file")
    body, above = _without_lead(data)
    builder = TreeBuilder()
    parser = expat.ParserCreate(namespace_separator="}")
    parser.buffer_text = True

    def start(tag: str, attributes: dict[str, str]) -> None:
        named = {_qualified(key): value for key, value in attributes.items()}
        builder.start(_qualified(tag), named)

    parser.StartElementHandler = start
    parser.EndElementHandler = lambda tag: builder.end(_qualified(tag))
    parser.CharacterDataHandler = builder.data
    parser.StartDoctypeDeclHandler = _refusal(parser, above, name)
    try:
        parser.Parse(body, True)
    except expat.ExpatError as error:
        where = f"line {above + error.lineno}, column {error.offset + 1}"
        raise BadInput(f"it is broken at {where}", name, "save the feed again") from error
    except (LookupError, ValueError) as error:
        what = "it is written in letters of a sort that is not known"
        raise BadInput(what, name, "save the feed again, in UTF-8") from error
    return builder.close()


def _without_lead(data: bytes) -> tuple[bytes, int]:
    """The file without blank lines before its XML declaration, where none may stand, and how many there were."""
    body = data.lstrip(b" \t\r\n")
    return (body, data[: len(data) - len(body)].count(b"\n")) if body.startswith(b"<?xml") else (data, 0)


def _qualified(tag: str) -> str:
    """A name as the tree writes it: `{namespace}name`."""
    return f"{{{tag}" if "}" in tag else tag


def _refusal(parser: expat.XMLParserType, above: int, name: str) -> Callable[..., None]:
    """What to do when a doctype begins: refuse the file before anything in it is read."""

    def refuse(*_: object) -> None:
        what = f"line {above + parser.CurrentLineNumber} holds a DOCTYPE, which no feed needs and which can do harm"
        raise BadInput(what, name, "take it out")

    return refuse


def _rss_entry(item: Element, space: str, place: int, house: ZoneInfo) -> FeedEntry:
    """One `item` of RSS."""
    guid = item.find(f"{space}guid")
    id = _text(guid)
    link = _text(item.find(f"{space}link"))
    permanent = guid is not None and guid.get("isPermaLink", "true").strip().lower() == "true"
    if not link and permanent and re.match(r"https?://", id):
        link = id
    day, instant = _moment(_text(item.find(f"{space}pubDate")), house)
    title = _plain(_text(item.find(f"{space}title")), _KNOWN)
    return FeedEntry(title, day, instant, link, id, place)


def _atom_entry(entry: Element, feed: Element, place: int, house: ZoneInfo) -> FeedEntry:
    """One `entry` of Atom."""
    moment = _moment(_text(entry.find(f"{_ATOM}published")), house)
    if moment[0] is None:
        moment = _moment(_text(entry.find(f"{_ATOM}updated")), house)
    title = entry.find(f"{_ATOM}title")
    as_html = title is not None and title.get("type", "text").strip().lower() in ("html", "text/html")
    said = _plain(_text(title), _ANY) if as_html else " ".join(_text(title).split())
    return FeedEntry(said, *moment, _page(entry, feed), _text(entry.find(f"{_ATOM}id")), place)


def _page(entry: Element, feed: Element) -> str:
    """The address of an entry's own page, HTML before other kinds; empty if there is none."""
    pages = [
        link
        for link in entry.findall(f"{_ATOM}link")
        if link.get("href", "").strip() and link.get("rel", "alternate").strip() == "alternate"
    ]
    if not pages:
        return ""
    page = min(pages, key=lambda link: link.get("type", "text/html") != "text/html")
    address = page.get("href", "").strip()
    base = ""
    try:
        for element in (feed, entry, page):
            base = urljoin(base, element.get(_BASE, "").strip())
        return urljoin(base, address)
    except ValueError:
        return address


def _text(element: Element | None) -> str:
    """All text within an element, without the spaces around it."""
    return "" if element is None else "".join(element.itertext()).strip()


def _plain(text: str, tags: re.Pattern[str]) -> str:
    """HTML as plain text on one line: without these tags, and with entities as their signs."""

    def replaced(tag: re.Match[str]) -> str:
        name = (tag[1] or "").lower()
        if name and not tags.fullmatch(name):
            return tag[0]
        return " " if re.fullmatch(_BLOCK, name) else ""

    bare = _TAG.sub(replaced, text)
    return " ".join(_ENTITY.sub(lambda entity: html.unescape(entity[0]), bare).split())


def _moment(text: str, house: ZoneInfo) -> Moment:
    """The day and the instant that a date of a feed gives; None for what it does not."""
    try:
        if _DAY.fullmatch(text):
            return date.fromisoformat(text), None
        if _DAY.match(text):
            written = datetime.fromisoformat(text.upper()) if _INSTANT.fullmatch(text) else None
        else:
            written = parsedate_to_datetime(text)
            if text.endswith("-0000"):
                written = written.replace(tzinfo=UTC)
        if written is None:
            return None, None
        if written.tzinfo is None:
            return written.date(), None
        return written.astimezone(house).date(), written.astimezone(UTC)
    except (ValueError, TypeError, LookupError, OverflowError):
        return None, None


def _oldest_first(entries: list[FeedEntry]) -> tuple[FeedEntry, ...]:
    """The entries, given as they stand in the file, by date; those without a date last."""
    ages = [_age(entry) for entry in entries if entry.day]
    rising = bool(ages) and ages[0] < ages[-1]
    return tuple(sorted(entries if rising else reversed(entries), key=_age))


def _age(entry: FeedEntry) -> tuple[date, float]:
    """What sorts entries: the day and the instant."""
    return entry.day or date.max, entry.instant.timestamp() if entry.instant else float("-inf")
