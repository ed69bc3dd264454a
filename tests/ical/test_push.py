"""A calendar on a real server (Radicale, which is not ours), brought up to date entry by entry.

What is asserted of requests and conditions is RFC 4791 5.3.2 and RFC 9110 13.1: a PUT of what is new says
`If-None-Match: *`, of what is changed `If-Match` with the tag that was told.
"""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import calendar_books as books
import pytest
from calendar_server import PASSWORD, USER, CalendarServer, counts
from icalendar import Calendar

from showrunner.domain.book import Book
from showrunner.domain.slot import SlotRef
from showrunner.errors import ServerTrouble
from showrunner.ical.entry import make_uid
from showrunner.ical.passwords import SignIn
from showrunner.ical.pushing import CONFLICTS, Deed, Push
from showrunner.ical.server_store import ServerStore
from showrunner.session import Session
from showrunner.storage.put_list import put_list_path

TODAY = date(2026, 3, 2)
FOREIGN = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//somebody else//EN
BEGIN:VEVENT
UID:dentist
DTSTAMP:20260301T000000Z
DTSTART:20260310T010000Z
DTEND:20260310T020000Z
SUMMARY:Dentist
END:VEVENT
END:VCALENDAR
""".replace("\n", "\r\n")


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[CalendarServer]:
    with CalendarServer(tmp_path_factory.mktemp("server")) as server:
        yield server


@pytest.fixture
def server(running: CalendarServer, request: pytest.FixtureRequest) -> CalendarServer:
    running.start()
    return running.fresh(re.sub(r"\W", "-", request.node.name))


@pytest.fixture
def path(tmp_path: Path) -> Path:
    with Session.create(tmp_path / "book.json", spring()):
        pass
    return tmp_path / "book.json"


def spring() -> Book:
    """The small book with slots until the end of May, so that few requests are asked."""
    book = books.book()
    return book.with_table("rules", tuple(replace(rule, last=date(2026, 5, 5)) for rule in book.rules))


def store(server: CalendarServer) -> ServerStore:
    return ServerStore(server.url, lambda host, user: SignIn(user, PASSWORD))


def push(path: Path, server: CalendarServer, *, write: bool = True, take_back: bool = False) -> Push:
    with Session.open(path, today=TODAY) as session, contextlib.closing(store(server)) as place:
        return session.push_calendar(place, write=write, take_back=take_back)


def change(path: Path, edit) -> None:
    with Session.open(path, today=TODAY) as session:
        session.do("change", edit)


def deeds(done: Push) -> dict[Deed, int]:
    found: dict[Deed, int] = {}
    for step in done.steps:
        found[step.deed] = found.get(step.deed, 0) + 1
    return found


def uid(thing: str) -> str:
    return make_uid(books.book().key, thing)


def name(thing: str) -> str:
    return f"{uid(thing)}.ics"


def start(text: str) -> date | datetime:
    return Calendar.from_ical(text).walk("VEVENT")[0].start


def wanted(path: Path) -> dict[str, date | datetime]:
    """What the calendar file of the book holds: start by name, of what is not cancelled."""
    with Session.open(path, today=TODAY) as session:
        session.write_calendar(path.with_suffix(".ics"))
    events = Calendar.from_ical(path.with_suffix(".ics").read_bytes()).walk("VEVENT")
    return {f"{event['UID']}.ics": event.start for event in events if event["STATUS"] != "CANCELLED"}


def there(server: CalendarServer) -> dict[str, date | datetime]:
    return {name: start(text) for name, text in server.entries().items()}


def other_day(book: Book) -> Book:
    return book.put("episodes", replace(book.episode("apron"), slot=SlotRef(date(2026, 4, 12), "sun")))


def test_without_write_nothing_is_asked_but_what_is_there(path: Path, server: CalendarServer) -> None:
    found = push(path, server, write=False)
    assert set(deeds(found)) == {Deed.NEW}
    assert server.entries() == {}
    assert counts(server.requests()) == {"PROPFIND": 1}
    assert not put_list_path(path).exists()


def test_first_all_then_nothing(path: Path, server: CalendarServer) -> None:
    first = push(path, server)
    assert there(server) == wanted(path)
    assert counts(server.requests()) == {"PROPFIND": 1, "PUT": len(wanted(path))}
    assert deeds(first) == {Deed.NEW: len(wanted(path))}
    second = push(path, server)
    assert counts(server.requests()) == {"PROPFIND": 1}
    assert deeds(second) == {Deed.UNCHANGED: len(wanted(path))}


def test_a_moved_study_is_one_put_and_the_slots_it_leaves_and_takes_are_told(
    path: Path, server: CalendarServer
) -> None:
    push(path, server)
    server.requests()
    change(path, other_day)
    push(path, server)
    asked = [request for request in server.requests() if request[0] in ("PUT", "DELETE")]
    free, taken = name("slot:sun:2026-03-22"), name("slot:sun:2026-04-12")
    assert sorted(asked) == sorted(
        [
            ("PUT", name("episode:apron:slot")),
            ("PUT", free),
            ("DELETE", taken),
            ("PUT", name("episode:waistcoats:slot")),
        ]
    ), "the gap of the next study is told anew too"
    assert there(server) == wanted(path)


def test_a_study_that_moves_with_its_slot_is_one_put(path: Path, server: CalendarServer) -> None:
    """The slot itself comes a day earlier once, so nothing else changes."""
    change(path, lambda book: book.put("episodes", replace(book.episode("waistcoats"), slot=None)).drop("pins", "p"))
    push(path, server)
    server.requests()

    def earlier(book: Book) -> Book:
        rule = replace(book.rule("sun"), left_out=(date(2026, 3, 22),), added=(date(2026, 3, 21),))
        moved = replace(book.episode("apron"), slot=SlotRef(date(2026, 3, 21), "sun"))
        return book.put("rules", rule).put("episodes", moved)

    change(path, earlier)
    push(path, server)
    assert [r for r in server.requests() if r[0] != "PROPFIND"] == [("PUT", name("episode:apron:slot"))]
    assert there(server) == wanted(path)


def test_a_dropped_entry_is_one_delete(path: Path, server: CalendarServer) -> None:
    push(path, server)
    server.requests()
    change(path, lambda book: book.drop("dark", "july"))
    assert deeds(push(path, server))[Deed.DELETED] == 1
    assert [r for r in server.requests() if r[0] == "DELETE"] == [("DELETE", name("dark:july"))]
    assert there(server) == wanted(path)
    assert Deed.DELETED not in deeds(push(path, server))


def test_a_dropped_study_is_one_delete_and_its_slot_is_free_again(path: Path, server: CalendarServer) -> None:
    push(path, server)
    server.requests()
    change(path, lambda book: book.drop("episodes", "talk"))
    push(path, server)
    asked = [request for request in server.requests() if request[0] in ("PUT", "DELETE")]
    assert asked == [("PUT", name("slot:sun:2026-03-29")), ("DELETE", name("episode:talk:slot"))]


def test_what_is_of_somebody_else_stays_byte_for_byte(path: Path, server: CalendarServer) -> None:
    assert server.ask("PUT", server.path + "dentist.ics", FOREIGN, Content_Type="text/calendar")[0] == 201
    before = server.entries()["dentist.ics"]
    push(path, server)
    change(path, other_day)
    push(path, server)
    change(path, lambda book: book.drop("dark", "july").drop("episodes", "talk"))
    push(path, server, take_back=True)
    assert server.entries()["dentist.ics"] == before
    assert not any("dentist" in name for _, name in server.requests())


def drag(server: CalendarServer, entry: str, by: timedelta) -> None:
    """Move an entry on the server as a calendar program does."""
    _, text, _ = server.ask("GET", server.path + entry)
    calendar = Calendar.from_ical(text)
    event = calendar.walk("VEVENT")[0]
    for prop in ("DTSTART", "DTEND"):
        value = event.pop(prop).dt + by
        event.add(prop.lower(), value)
    event["SEQUENCE"] = 7
    assert server.ask("PUT", server.path + entry, calendar.to_ical().decode(), Content_Type="text/calendar")[0] < 300


def test_an_entry_moved_there_is_told_and_left_and_taken_back_only_if_asked(path: Path, server: CalendarServer) -> None:
    push(path, server)
    apron = name("episode:apron:slot")
    drag(server, apron, timedelta(days=2))
    moved = server.entries()[apron]
    for _ in range(2):
        (step,) = [step for step in push(path, server).steps if step.deed in CONFLICTS]
        assert (step.deed, step.uid) == (Deed.CHANGED_THERE, uid("episode:apron:slot"))
        assert step.there == step.ours + timedelta(days=2)
        assert server.entries()[apron] == moved
    change(path, other_day)
    assert deeds(push(path, server))[Deed.CHANGED_THERE] == 1
    assert server.entries()[apron] == moved
    assert not set(deeds(push(path, server, take_back=True))) & set(CONFLICTS)
    assert there(server) == wanted(path)


def test_an_entry_deleted_there_is_told_and_put_again_only_if_asked(path: Path, server: CalendarServer) -> None:
    push(path, server)
    gone = name("episode:apron:slot")
    assert server.ask("DELETE", server.path + gone)[0] < 300
    for _ in range(2):
        assert deeds(push(path, server))[Deed.DELETED_THERE] == 1
        assert gone not in server.entries()
    push(path, server, take_back=True)
    assert there(server) == wanted(path)


def test_what_was_dropped_here_and_changed_there_is_not_deleted(path: Path, server: CalendarServer) -> None:
    push(path, server)
    drag(server, name("dark:july"), timedelta(days=1))
    change(path, lambda book: book.drop("dark", "july"))
    assert deeds(push(path, server))[Deed.CHANGED_THERE] == 1
    assert name("dark:july") in server.entries()
    push(path, server, take_back=True)
    assert name("dark:july") not in server.entries()


def test_what_was_dropped_here_and_deleted_there_is_no_trouble(path: Path, server: CalendarServer) -> None:
    push(path, server)
    server.ask("DELETE", server.path + name("dark:july"))
    change(path, lambda book: book.drop("dark", "july"))
    assert not set(deeds(push(path, server))) - {Deed.UNCHANGED}


def test_a_program_that_only_writes_its_own_marks_is_no_conflict(path: Path, server: CalendarServer) -> None:
    """Calendar programs note that a reminder was seen; the entry still says what was put."""
    push(path, server)
    apron = server.path + name("episode:apron:slot")
    _, text, _ = server.ask("GET", apron)
    noted = text.replace("BEGIN:VALARM", "X-SEEN:20260321T210000Z\r\nBEGIN:VALARM", 1)
    assert server.ask("PUT", apron, noted, Content_Type="text/calendar")[0] < 300
    assert not set(deeds(push(path, server))) - {Deed.UNCHANGED}
    drag(server, name("episode:talk:slot"), timedelta(0))
    change(path, other_day)
    assert not set(deeds(push(path, server))) & set(CONFLICTS)
    assert there(server) == wanted(path)


def test_something_else_in_the_place_of_an_entry_is_told_and_left(path: Path, server: CalendarServer) -> None:
    taken = name("episode:apron:slot")
    text = FOREIGN.replace("UID:dentist", f"UID:{uid('episode:apron:slot')}")
    server.ask("PUT", server.path + taken, text, Content_Type="text/calendar")
    before = server.entries()[taken]
    found = push(path, server)
    assert deeds(found)[Deed.IN_THE_WAY] == 1
    assert server.entries()[taken] == before
    assert len(server.entries()) == len(wanted(path))


def test_the_same_entry_under_another_address_is_told_and_not_doubled(path: Path, server: CalendarServer) -> None:
    push(path, server)
    apron = name("episode:apron:slot")
    address = f"http://127.0.0.1:{server.port}{server.path}elsewhere.ics"
    assert server.ask("MOVE", server.path + apron, Destination=address)[0] < 300
    assert deeds(push(path, server))[Deed.DELETED_THERE] == 1
    assert deeds(push(path, server, take_back=True))[Deed.OTHER_NAME] == 1
    assert apron not in server.entries()
    assert sum(f"UID:{uid('episode:apron:slot')}" in text for text in server.entries().values()) == 1


class Stopping(ServerStore):
    """A store whose server is killed at one of its requests: before that is sent, or before the answer comes."""

    def __init__(self, server: CalendarServer, at: int, *, sent: bool) -> None:
        super().__init__(server.url, lambda host, user: SignIn(user, PASSWORD))
        self._server, self._left, self._sent = server, at, sent

    def put(self, name: str, data: bytes, tag: str | None) -> str:
        self._left -= 1
        if self._left == 0 and self._sent:
            super().put(name, data, tag)
            self._server.stop()
            raise ServerTrouble("the answer is lost")
        if self._left == 0:
            self._server.stop()
        return super().put(name, data, tag)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sent", "list_lost", "changed_since"),
    [(False, False, False), (True, False, False), (False, True, False), (True, True, False), (True, False, True)],
)
def test_a_server_stopped_in_the_middle_and_started_again(
    path: Path, server: CalendarServer, sent: bool, list_lost: bool, changed_since: bool
) -> None:
    """Nothing is doubled and nothing lost, even if what was put is not on the list because the program was killed."""
    with (
        Session.open(path, today=TODAY) as session,
        contextlib.closing(Stopping(server, 20, sent=sent)) as place,
        pytest.raises(ServerTrouble) as told,
    ):
        session.push_calendar(place, write=True)
    assert "after 19 of the entries were brought up to date" in told.value.sentence()
    server.start()
    assert len(server.entries()) == 19 + sent
    if list_lost:
        put_list_path(path).unlink()
    if changed_since:
        change(path, other_day)
    done = push(path, server)
    assert not set(deeds(done)) & set(CONFLICTS)
    assert there(server) == wanted(path)
    assert set(deeds(push(path, server))) == {Deed.UNCHANGED}


@pytest.mark.slow
def test_a_change_that_was_sent_and_changed_again_before_the_answer_came(path: Path, server: CalendarServer) -> None:
    push(path, server)
    change(path, other_day)
    with (
        Session.open(path, today=TODAY) as session,
        contextlib.closing(Stopping(server, 1, sent=True)) as place,
        pytest.raises(ServerTrouble),
    ):
        session.push_calendar(place, write=True)
    server.start()
    change(path, lambda book: book.put("episodes", replace(book.episode("apron"), title="Another title")))
    assert not set(deeds(push(path, server))) & set(CONFLICTS)
    assert "Another title" in server.entries()[name("episode:apron:slot")]


@pytest.mark.slow
def test_two_books_share_a_calendar(path: Path, server: CalendarServer, tmp_path: Path) -> None:
    other = tmp_path / "other.json"
    with Session.create(other, replace(spring(), key="11111111-5f3e-4a55-9d37-6b0f3f1b2a77")):
        pass
    push(path, server)
    push(other, server)
    assert there(server) == wanted(path) | wanted(other)
    assert set(deeds(push(path, server))) == {Deed.UNCHANGED}


@pytest.mark.slow
def test_a_server_that_tells_no_tag_is_asked_for_it(path: Path, server: CalendarServer) -> None:
    class Silent(ServerStore):
        def put(self, name: str, data: bytes, tag: str | None) -> str:
            super().put(name, data, tag)
            return ""

    with Session.open(path, today=TODAY) as session:
        for _ in range(2):
            with contextlib.closing(Silent(server.url, lambda host, user: SignIn(user, PASSWORD))) as place:
                last = session.push_calendar(place, write=True)
    assert set(deeds(last)) == {Deed.UNCHANGED}
    assert "GET" not in counts(server.requests()[-1:])


@pytest.mark.slow
def test_the_command_says_what_it_did_and_keeps_the_password_to_itself(
    path: Path, server: CalendarServer, said, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    netrc = tmp_path / "netrc"
    netrc.write_text(f'machine 127.0.0.1 login {USER} password "{PASSWORD}"\n', encoding="utf-8")
    netrc.chmod(0o600)
    monkeypatch.setenv("NETRC", str(netrc))
    url = server.url.replace(f"{USER}@", "")
    command = ("--book", path, "--today", "2026-03-02", "calendar", "--push", url)
    code, out, err = said(*command)
    assert (code, err) == (0, "")
    assert "Nothing is written; --write does it." in " ".join(out.split())
    assert server.entries() == {}
    assert said(*command, "--write")[0] == 0
    drag(server, name("episode:apron:slot"), timedelta(days=2))
    code, out, err = said(*command, "--write", "--strict")
    assert code == 1
    told = " ".join(out.split())
    assert "moved there to Tue 24 Mar 2026, 09:00; the book has Sun 22 Mar 2026, 09:00." in told
    code, out, err = said(*command, "--json")
    found = json.loads(out)
    assert (code, err, found["written"]) == (0, "", False)
    assert found["place"].endswith(f":{server.url.rsplit(':', 1)[1]}")
    left = len(found["entries"]) - 1
    assert found["counts"] == {deed.value: 0 for deed in Deed} | {"unchanged": left, "changed there": 1}
    assert [entry for entry in found["entries"] if entry["text"]] == [
        {
            "uid": uid("episode:apron:slot"),
            "deed": "changed there",
            "title": "Publish: Apple-packer's apron",
            "starts": "2026-03-21T22:00:00Z",
            "starts_there": "2026-03-23T22:00:00Z",
            "text": "“Publish: Apple-packer's apron” was moved there to Tue 24 Mar 2026, 09:00; "
            "the book has Sun 22 Mar 2026, 09:00.",
        }
    ]
    kept = b"".join(each.read_bytes() for each in path.parent.glob("book.json*") if each.is_file())
    assert PASSWORD.encode() not in kept
    assert PASSWORD not in out + err
