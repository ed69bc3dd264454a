"""One corpus of hostile strings through every way in: literal on the screens, in HTML, calendar, CSV, JSON and log.

Each string holds the word `loud7` behind what a reader could obey, so that what was obeyed is known by its absence.
`SHOWRUNNER_LONG=1000 pytest -m long tests/faults/test_hostile_text.py` types all of it into every form.
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

import pytest
from icalendar import Calendar
from keys import settle
from screens import own_pace, own_presses, own_settings, time_enough  # noqa: F401 - fixtures
from textual._compositor import Compositor
from workroom_books import one_of_everything, small_book

from faults.walker import Walker, forms_know_their_site, sites
from showrunner import report
from showrunner.cli import run
from showrunner.demo_book import copy_demo
from showrunner.domain.book import TABLES, Book
from showrunner.domain.episode import Episode, EpisodeKind
from showrunner.domain.slot import BusyDay
from showrunner.domain.words import plain
from showrunner.errors import LONGEST
from showrunner.ical.entry import clean
from showrunner.session import Session
from showrunner.storage.csv_text import restored
from showrunner.storage.exporting import BOOK_FILE
from showrunner.tui.app import ShowrunnerApp

WORD = "loud7"
MARKUP = (
    f"[red]{WORD}[/red]",
    f"[/]{WORD}[/]",
    f"[@click=app.leave]{WORD}[/]",
    f"[link=file:///etc]{WORD}[/link]",
    f"[[{WORD}\\[",
    f"[1912 {WORD}",
)
PAGES = (
    f"<script>document.title='{WORD}'</script>",
    f"<img src=x onerror=alert(1)>{WORD}",
    f"</td></table></title></style>--><b>{WORD}</b>",
    f"&lt;b&gt;{WORD}&amp;amp;",
    f"\"'><svg/onload=1>{WORD}",
)
SHEETS = (
    f"=1+1&{WORD}",
    f"@SUM({WORD})",
    f"+{WORD}|' /C calc'!A0",
    f"-2+{WORD}",
    f"'={WORD}",
    f'a";"{WORD}',
    f"a,{WORD}",
)
CALENDARS = (f"BEGIN:VEVENT {WORD}", f"a;b:c\\n\\,{WORD}", f"x\\nATTACH:file:///etc/{WORD}", "é" * 60 + WORD)
SIGNS = (
    f"\u202e{WORD}",
    f"日本語 {WORD}",
    f"👩‍👩‍👧 {WORD}",
    f"e\u0301\u0323 {WORD}",
    f"\u200b{WORD}\ufeff",
    f"%s%n{{0}} ${{HOME}} `{WORD}`",
    f"../../{WORD}",
    f"'; DROP TABLE {WORD}; --",
    WORD + "x" * 400,
)
HOSTILE = (*MARKUP, *PAGES, *SHEETS, *CALENDARS, *SIGNS)
"""Text that every way in takes, and keeps as it is."""
CONTROLS = (f"\x1b[31m{WORD}", f"\x1b]0;{WORD}\x07", f"a\x08\x7f\x9b{WORD}", f"a\r\nb\u2028{WORD}\u0085", f"\t{WORD}")
"""Signs that a terminal would obey; a way in may refuse them, part words at them or drop them."""
NINES = "9" * 5_000
REFUSED = (f"half \ud800 {WORD}", f"zero \0 {WORD}")
"""Text that no book holds."""


def texts_of(value: Any) -> Iterator[str]:
    """Every text inside a record."""
    if isinstance(value, str):
        yield value
    elif is_dataclass(value):
        for field in fields(value):
            yield from texts_of(getattr(value, field.name))
    elif isinstance(value, tuple):
        for part in value:
            yield from texts_of(part)


def harmless(shown: str) -> None:
    """Nothing in it is obeyed by a terminal."""
    assert all(sign.isprintable() or sign == "\n" for sign in shown)


# A book full of it, through commands


NAMES = dict(enumerate((*HOSTILE, *CONTROLS), 1))
TITLES = {f"study-{number}": text for number, text in NAMES.items()}


def hostile_book(book: Book) -> Book:
    """The demo with hostile text in every record of the apron's study, its series, slots, days and supporters."""
    text = iter([*HOSTILE, *CONTROLS] * 40)

    def spoilt(record: Any, *names: str) -> Any:
        return replace(
            record, **{name: (next(text),) if name.endswith("s") and name != "notes" else next(text) for name in names}
        )

    pieces = [spoilt(piece, "name", "materials", "points", "hazards", "notes") for piece in book.pieces]
    open_ = [spoilt(study, "title", "notes") for study in book.episodes if not study.published]
    book = book.put("pieces", *pieces).put("episodes", *open_)
    for table, names in {
        "collections": ("name",),
        "boxes": ("name", "where"),
        "rules": ("name",),
        "series": ("name",),
        "dark": ("reason",),
        "pins": ("reason",),
        "supporters": ("name", "say"),
        "publications": ("title", "link"),
    }.items():
        book = book.put(table, *(spoilt(record, *names) for record in getattr(book, table)))
    week = [date(2026, 3, 3) + timedelta(n) for n in range(5)]
    busy = [BusyDay(f"busy-{day}", day, ((540, 600),), next(text)) for day in week]
    ideas = [Episode(f"idea-{n}", next(text), EpisodeKind.FILLER, rule="wednesday", idea_of="apron") for n in range(4)]
    book = book.put("busy", *busy).put("episodes", *ideas)
    return replace(book, house=replace(book.house, presenter=next(text)))


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """That book."""
    folder = tmp_path_factory.mktemp("full")
    copy_demo(folder / "demo.json")
    with Session.open(folder / "demo.json", write=False) as demo:
        book = hostile_book(demo.book)
    with Session.create(folder / "book.json", book):
        pass
    return folder / "book.json"


@pytest.mark.slow
def test_what_commands_print_is_literal_and_harmless(full: Path, said: Any) -> None:
    for command in (["report"], ["work"], ["record"], ["plan"], ["shoot", "apron"], ["runout"], ["check"]):
        code, out, err = said("--book", full, *command)
        assert code == 0, err
        harmless(out + err)
    sheet = " ".join(said("--book", full, "shoot", "apron")[1].split())
    with Session.open(full, write=False) as session:
        apron = session.book.piece(session.book.episode("apron").pieces[0])
    for text in (*apron.points, *apron.hazards):
        assert " ".join(report.clean(text).split()) in sheet
    for command in (["report", "--json"], ["plan", "--json"], ["shoot", "apron", "--json"]):
        code, out, _ = said("--book", full, *command)
        assert code == 0
        harmless(out)
        json.loads(out)
    titles = {study["title"] for study in json.loads(said("--book", full, "plan", "--json")[1])["studies"]}
    with Session.open(full, write=False) as session:
        assert titles <= {episode.title for episode in session.book.episodes}


class Page(HTMLParser):
    """The elements of a page and its text."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: set[str] = set()
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)
        assert not [name for name, _ in attrs if name.startswith("on") or name in ("src", "href")]

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def page_holds(page: str, book: Book) -> None:
    """The text of the apron stands on the page as it is, and nothing of it became an element."""
    reader = Page()
    reader.feed(page)
    reader.close()
    assert not reader.seen & {"script", "img", "svg", "iframe", "link", "a"}
    shown = "".join("".join(reader.text).split())
    apron = book.episode("apron")
    piece = book.piece(apron.pieces[0])
    for text in (apron.title, piece.name, *piece.points, *piece.hazards):
        assert "".join(report.clean(text).split()) in shown


def test_the_set_up_sheet_is_a_page_on_which_text_is_text(full: Path, said: Any) -> None:
    page = said("--book", full, "shoot", "apron", "--html")[1]
    with Session.open(full, write=False) as session:
        page_holds(page, session.book)


@pytest.mark.slow
def test_a_browser_takes_the_text_of_the_set_up_sheet_as_text(full: Path, said: Any, tmp_path: Path) -> None:
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    if browser is None:
        pytest.skip("no Chromium is installed; the page is read by an HTML parser above")
    (tmp_path / "sheet.html").write_text(said("--book", full, "shoot", "apron", "--html")[1], encoding="utf-8")
    options = ["--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'profile'}", "--dump-dom"]
    command = [browser, *options, (tmp_path / "sheet.html").as_uri()]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    with Session.open(full, write=False) as session:
        page_holds(done.stdout, session.book)


def test_the_calendar_tells_it_as_text(full: Path, said: Any, tmp_path: Path) -> None:
    assert said("--book", full, "calendar", tmp_path / "out.ics")[0] == 0
    data = (tmp_path / "out.ics").read_bytes()
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))
    events = Calendar.from_ical(data).walk("VEVENT")
    with Session.open(full, write=False) as session:
        book = session.book
    assert len(events) == len(book.calendar)
    told = {str(event["SUMMARY"]) for event in events}
    for episode in book.open_studies:
        if episode.slot:
            assert f"Publish: {clean(episode.title)}" in told
    assert not {name for event in events for name in event} & {"ATTACH", "X-ALT-DESC"}


def test_the_tables_hold_it_as_text_and_no_formula(full: Path, said: Any, tmp_path: Path) -> None:
    assert said("--book", full, "export", tmp_path / "out")[0] == 0
    with Session.open(full, write=False) as session:
        book = session.book
    for name in ("pieces", "episodes", "boxes", "publications", "supporters"):
        data = (tmp_path / "out" / f"{name}.csv").read_bytes().decode("utf-8-sig")
        rows = list(csv.DictReader(io.StringIO(data, newline="")))
        assert len(rows) == len(getattr(book, name))
        assert not [cell for row in rows for cell in row.values() if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]
        column = "title" if "title" in rows[0] else "name"
        written = [plain(getattr(record, column)) for record in getattr(book, name)]
        assert [plain(restored(row[column])) for row in rows] == written


def test_it_comes_back_from_an_export(full: Path, said: Any, tmp_path: Path) -> None:
    assert said("--book", full, "export", tmp_path / "out")[0] == 0
    code, out, err = said("--book", tmp_path / "new.json", "import", tmp_path / "out" / BOOK_FILE, "--write")
    assert (code, err) == (0, "")
    harmless(out)
    with Session.open(full, write=False) as session, Session.open(tmp_path / "new.json", write=False) as back:
        assert back.book == session.book


def test_the_log_of_a_fault_holds_no_sign_that_a_terminal_obeys(
    full: Path, said: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))

    def fails(session: Session, **_: Any) -> None:
        raise RuntimeError("".join((*HOSTILE, *CONTROLS, *REFUSED)))

    monkeypatch.setattr(Session, "work", fails)
    code, out, err = said("--book", full, "work")
    assert (code, out) == (70, "")
    harmless(err)
    assert len(err) <= LONGEST + 1
    (log,) = tmp_path.rglob("fault.log")
    harmless(log.read_text(encoding="utf-8"))


# Every other way in


def rows_of(book: Book) -> list[str]:
    return [text for table in TABLES for record in getattr(book, table) for text in texts_of(record)]


def test_a_sheet_of_pieces(said: Any, tmp_path: Path) -> None:
    buffer = io.StringIO(newline="")
    sheet = csv.writer(buffer)
    sheet.writerow(["number", "name", "where kept", "materials", "notes", f"<b>{WORD}</b>"])
    for number, text in NAMES.items():
        sheet.writerow([number, text, text, text, text, text])
    (tmp_path / "pieces.csv").write_text(buffer.getvalue(), encoding="utf-8", newline="")
    book = tmp_path / "book.json"
    code, out, err = said("--book", book, "import", tmp_path / "pieces.csv", "--as", "pieces")
    harmless(out + err)
    kept = [line for line in buffer.getvalue().split("\r\n") if "\x1b" not in line and "\x9b" not in line]
    (tmp_path / "pieces.csv").write_text("\r\n".join(kept), encoding="utf-8", newline="")
    code, out, err = said("--book", book, "import", tmp_path / "pieces.csv", "--as", "pieces", "--write")
    harmless(out + err)
    assert code == 0, err
    with Session.open(book, write=False) as session:
        names = {plain(piece.name) for piece in session.book.pieces}
        assert session.check() == []
    missing = [text for text in HOSTILE if plain(text) not in names and plain(restored(text)) not in names]
    assert not [text for text in missing if text.isprintable()]


@pytest.mark.slow
@pytest.mark.parametrize("text", REFUSED, ids=["half", "zero"])
def test_what_no_book_holds_is_refused_or_left_out_on_every_way_in(text: str, said: Any, tmp_path: Path) -> None:
    copy_demo(tmp_path / "book.json")
    book = tmp_path / "book.json"
    data = text.encode("utf-8", "surrogatepass")
    (tmp_path / "sheet.csv").write_bytes(b"number,name\n1," + data + b"\n")
    said("--book", book, "export", tmp_path / "out")
    tree = json.loads((tmp_path / "out" / BOOK_FILE).read_bytes())
    tree["pieces"][0]["notes"] = text
    (tmp_path / "exchange.json").write_text(json.dumps(tree))
    (tmp_path / "busy.ics").write_bytes(
        b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20260401\r\n"
        b"SUMMARY:" + data + b"\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
    )
    (tmp_path / "feed.xml").write_bytes(
        b"<rss version='2.0'><channel><title>t</title><item><title>" + data + b"</title>"
        b"<pubDate>Sun, 01 Mar 2026 09:00:00 GMT</pubDate></item></channel></rss>"
    )
    ways = [["import", str(tmp_path / name), "--write"] for name in ("sheet.csv", "exchange.json", "feed.xml")]
    for way in (*ways, ["calendar", "--busy", str(tmp_path / "busy.ics"), "--write"]):
        code, out, err = said("--book", book, *way)
        assert code in (0, 2)
        harmless(out + err)
    if "\0" not in text:  # no program is ever given that one
        code, _, err = said("--book", book, "publish", "apron", "--on", "2026-03-01", "--link", text)
        assert (code, err.count("\n")) == (2, 1)
    with Session.open(book, write=False) as session:
        assert session.check() == []
        assert not [kept for kept in rows_of(session.book) if "\0" in kept or re.search("[\ud800-\udfff]", kept)]


@pytest.mark.slow
def test_a_feed_and_a_busy_calendar(said: Any, tmp_path: Path) -> None:
    copy_demo(tmp_path / "book.json")
    book = tmp_path / "book.json"
    items = "".join(
        f"<item><title>{escape(text)}</title><pubDate>Sun, {1 + number % 27:02} Feb 2015 09:00:00 GMT</pubDate></item>"
        for number, text in enumerate(HOSTILE)
    )
    (tmp_path / "feed.xml").write_text(f"<rss version='2.0'><channel><title>t</title>{items}</channel></rss>")
    harmless("".join(map(str, said("--book", book, "import", tmp_path / "feed.xml")[1:])))
    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", "x")
    for number, text in enumerate((*HOSTILE, *CONTROLS)):
        from icalendar import Event

        event = Event()
        event.add("uid", f"{number}-{WORD}")
        event.add("dtstart", __import__("datetime").date(2026, 4, 1 + number % 28))
        event.add("summary", text)
        calendar.add_component(event)
    (tmp_path / "busy.ics").write_bytes(calendar.to_ical())
    code, out, err = said("--book", book, "calendar", "--busy", tmp_path / "busy.ics", "--write")
    assert code == 0, err
    harmless(out + err)
    with Session.open(book, write=False) as session:
        reasons = {plain(dark.reason) for dark in session.book.dark}
        assert session.check() == []
    assert {plain(text) for text in MARKUP + PAGES} <= reasons
    assert said("--book", book, "report")[0] == 0


def test_numbers_of_5_000_digits_in_a_sheet(said: Any, tmp_path: Path) -> None:
    columns = {
        **dict.fromkeys(("layer", "odds", "made", "shown", "ceiling", "minutes on a form", "box", "lux"), NINES),
        "exposures": f"2026-02-11: {NINES} lux hours, touches {NINES}",
        "measurements": f"chest {NINES} cm",
        "chest": f"1/{NINES} in",
        "waist": f"1e{NINES}",
        "claims": f"a: b [sure, judged {NINES}]",
    }
    for name, cell in columns.items():
        (tmp_path / "sheet.csv").write_text(f'number,name,{name}\n1,Apron,"{cell}"\n')
        book = tmp_path / f"{name}.json"
        code, _, err = said("--book", book, "import", tmp_path / "sheet.csv", "--as", "pieces", "--write")
        assert code in (0, 2), name
        assert len(err) <= LONGEST + 1
        assert code == 2 or said("--book", book, "check")[0] == 0


def test_options_of_commands(said: Any, tmp_path: Path) -> None:
    options_take((*HOSTILE[::6], *CONTROLS[:1], *REFUSED[:1]), said, tmp_path / "book.json")


@pytest.mark.long
def test_options_of_commands_take_every_text(said: Any, tmp_path: Path) -> None:
    options_take((*HOSTILE, *CONTROLS, *REFUSED), said, tmp_path / "book.json")


def options_take(texts: tuple[str, ...], said: Any, book: Path) -> None:
    """Every option that takes text refuses each of these in one short sentence."""
    with Session.create(book, small_book()):
        pass
    for text in texts:
        for words in (
            ["shoot", text],
            ["runout", "--series", text],
            ["runout", "--what-if", text],
            ["runout", "--what-if", f"unpair={text}"],
            ["import", text],
            ["calendar", "--busy", text],
            ["import", "x.csv", "--map", text],
            ["publish", "apron", "--on", text],
            ["publish", "apron", "--on", "2026-03-01", "--run-time", text],
            ["restore", text],
        ):
            if words[-1].startswith("-"):
                continue
            code, out, err = said("--book", book, *words)
            assert (code, out) == (2, ""), words
            harmless(err)
            assert len(err) <= LONGEST + 1


# Every field of every form


def screen_text(app: ShowrunnerApp) -> str:
    """What stands on the screen in front."""
    strips = app.screen._compositor.render_strips()
    return "\n".join(strip.text for strip in strips)


def literal(app: ShowrunnerApp, texts: Sequence[str]) -> None:
    """Nothing in view was obeyed: of each tag beside the word, what its line and what lies before it leave stands."""
    shown = screen_text(app)
    harmless(shown)
    if set(texts) <= set(MARKUP[:4]):
        assert not re.findall(rf"(?<!\]){WORD}(?!\[)", shown), shown


async def type_into(app: ShowrunnerApp, texts: Sequence[str], *places: list[str]) -> Walker:
    """Type each text into every form and every other line of all screens, or only into what some steps lead to."""
    app.exit = lambda *_, **__: None  # type: ignore[method-assign]
    async with app.run_test(size=(120, 40)) as pilot:
        walker = Walker(pilot, texts, lambda app: literal(app, texts))
        await settle(pilot)
        for steps in places:
            await walker.explore(steps)
        if not places:
            await walker.everywhere()
        for worker in app.workers:
            worker.cancel()
    return walker


@pytest.fixture
def app(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[ShowrunnerApp]:
    """The application on a copy of the demo; what is typed as a file is a file of a folder of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    write = Session.write_calendar
    monkeypatch.setattr(
        Session, "write_calendar", lambda self, path, **more: write(self, tmp_path / Path(path).name, **more)
    )
    # each look makes the lines of the screen anew: nobody sees what is drawn between
    monkeypatch.setattr(Compositor, "render_update", lambda self, **_: self._dirty_regions.clear())
    monkeypatch.setattr(ShowrunnerApp, "_display", lambda *_: None)
    forms_know_their_site(monkeypatch)
    copy_demo(tmp_path / "book.json")
    with Session.open(tmp_path / "book.json", today=date(2026, 3, 9)) as session:
        session.do("one of everything", one_of_everything)
        yield ShowrunnerApp(session, demo=True)


@pytest.mark.slow
async def test_text_in_forms_of_the_register(app: ShowrunnerApp) -> None:
    walker = await type_into(app, MARKUP[:2], ["1", "e"], ["1", "c"], ["1", "E"], ["1", "slash"])
    assert walker.lines > 30
    assert list(walker.filled.values()) == [2] * 5
    assert app.session.check() == []


GROUPS = {
    "tags": MARKUP[:4],
    "brackets": MARKUP[4:],
    "pages": PAGES,
    "sheets": SHEETS,
    "calendars": CALENDARS,
    "signs": SIGNS,
    "controls": CONTROLS,
    "refused": (*REFUSED, NINES),
}


def told_of(walker: Walker) -> str:
    """What came of a walk."""
    saved, each = sum(map(bool, walker.filled.values())), sorted(walker.typed.values())
    return f"{len(walker.filled)} forms, {saved} saved, of each text {each}; {walker.lines} lines"


def with_the_steps_done(book: Book) -> Book:
    """The book with slots, and with pieces, their boxes and their collection, where it has none yet."""
    small = small_book()
    if not book.rules:
        book = book.put("rules", *small.rules)
    if not book.pieces:
        for table in ("collections", "boxes", "pieces"):
            book = book.put(table, *getattr(small, table))
    return book


@pytest.mark.long
@pytest.mark.parametrize("text", [*HOSTILE, *CONTROLS, *REFUSED, NINES], ids=lambda text: ascii(text)[1:25])
async def test_every_text_on_the_first_day(app: ShowrunnerApp, text: str, tmp_path: Path, capsys: Any) -> None:
    del app  # its folder and its patches are what is wanted
    steps = [["2", "g", f"choose {at}"] for at in range(7)]
    lines: set[str] = set()
    with Session.open(tmp_path / "new.json", create=True, today=date(2026, 3, 9)) as session:
        for places in ([["2", "I"], *steps[:2]], [*steps[:3], ["1", "a"]], [["1", "a"], *steps]):
            walker = await type_into(ShowrunnerApp(session), [text], *places)
            lines |= {f"{file}: {line}" for (file, _), names in walker.filled for line in names}
            session.do("what the text was refused for", with_the_steps_done)
        assert session.check() == []
    with capsys.disabled():
        print(f"  {ascii(text)[:30]}, first day: {len(lines)} lines")  # noqa: T201
    assert {"house.py: zone", "house.py: hours", "house.py: rules", "guided.py: name", "piece_form.py: name"} <= lines


@pytest.mark.long
@pytest.mark.parametrize("group", GROUPS)
async def test_every_text_in_every_field_of_every_form(app: ShowrunnerApp, group: str, capsys: Any) -> None:
    texts = GROUPS[group]
    walker = await type_into(app, texts)
    missed = sites() - {site for site, _ in walker.filled}
    with capsys.disabled():
        print(f"  {group}: {told_of(walker)}, not reached {sorted(missed)}")  # noqa: T201
    assert len(missed) <= len(sites()) // 10
    assert all(forms > len(walker.filled) // 2 for forms in walker.typed.values())
    assert app.session.check() == []
    assert run(["--book", str(app.session.path), "report"]) == 0
