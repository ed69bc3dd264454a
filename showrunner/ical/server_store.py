"""A calendar on a server as a store, by CalDAV (RFC 4791): one request for each entry, none for the whole calendar.

Only what these few requests take is here; redirections are never followed, for they would carry the password along.
"""

from __future__ import annotations

import base64
import contextlib
import http.client
import socket
import ssl
from collections.abc import Callable
from urllib.parse import SplitResult, unquote, urlsplit
from xml.parsers import expat

from showrunner import __version__
from showrunner.domain import words
from showrunner.domain.record import record
from showrunner.errors import BadInput, ServerTrouble
from showrunner.ical.passwords import SignIn
from showrunner.ical.stores import ChangedThere, OtherName, Stored

SECONDS = 30.0
"""How long an answer is waited for."""
MOST_BYTES = 50_000_000
"""Most bytes of an answer that are read."""
AGAIN = "nothing is doubled if you do it again later"
_DAV, _CALDAV = "DAV:", "urn:ietf:params:xml:ns:caldav"
_ASK = b'<?xml version="1.0" encoding="utf-8"?><propfind xmlns="DAV:"><prop><resourcetype/><getetag/></prop></propfind>'


@record
class _Answer:
    status: int
    headers: dict[str, str]
    """By name in small letters."""
    body: bytes


@record
class _Resource:
    """One resource of a multistatus answer (RFC 4918 14.16)."""

    name: str
    """The last part of its address."""
    tag: str
    """Its ETag; empty if none is told."""
    kinds: frozenset[str]
    """Its resource types, with their namespaces."""


class ServerStore:
    """A calendar on a server.

    Args:
        url: its address.
        ask: tells name and password for a host, None for neither; called before the first request.
        seconds: how long an answer is waited for.

    Raises:
        BadInput: the address is none of a calendar, or the password would be sent without being hidden.
    """

    def __init__(self, url: str, ask: Callable[[str, str], SignIn | None], seconds: float = SECONDS) -> None:
        parts = _address(url)
        self._host = parts.hostname or ""
        self._secure = parts.scheme == "https"
        self._port = parts.port
        self._path = f"{parts.path.rstrip('/')}/"
        host = f"[{self._host}]" if ":" in self._host else self._host
        self._address = f"{parts.scheme}://{host}{f':{self._port}' if self._port else ''}{self._path}"
        self._seconds = seconds
        self._line: http.client.HTTPConnection | None = None
        signing = ask(self._host, unquote(parts.username or ""))
        if signing and not self._secure and self._host not in ("localhost", "127.0.0.1", "::1"):
            raise BadInput("the password would be sent for all to read", self._address, "write https in place of http")
        self._signed = _basic(signing) if signing else ""

    @property
    def address(self) -> str:
        """The address of the calendar, without name or password."""
        return self._address

    def close(self) -> None:
        """End the connection."""
        if self._line:
            self._line.close()
        self._line = None

    def tags(self) -> dict[str, str]:
        """The tag of every entry of the calendar.

        Raises:
            ServerTrouble: it cannot be reached, refuses, or is no calendar.
        """
        headers = {"Depth": "1", "Content-Type": "application/xml; charset=utf-8"}
        answer = self._ask("PROPFIND", "", _ASK, headers)
        if answer.status != 207:
            raise self._refused(answer, listing=True)
        found = _resources(answer.body)
        if found is None:
            raise ServerTrouble("its answer is not that of a calendar server", self._address, "look at the address")
        here = unquote(self._path).strip("/").rsplit("/", 1)[-1]
        folders = [one for one in found if f"{_DAV}}}collection" in one.kinds]
        own = next((one for one in folders if one.name == here), folders[0] if len(folders) == 1 else None)
        if own is None or f"{_CALDAV}}}calendar" not in own.kinds:
            calendars = [one.name for one in folders if f"{_CALDAV}}}calendar" in one.kinds]
            way_out = f"add the name of one that is in it: {words.some(calendars)}" if calendars else "look it up there"
            raise ServerTrouble("this is no calendar", self._address, way_out)
        entries = [one for one in found if one not in folders]
        if any(not one.tag for one in entries):
            what = "the server does not tell when an entry changes, so none could be replaced safely"
            raise ServerTrouble(what, self._address, "write the calendar to a file instead")
        return {one.name: one.tag for one in entries}

    def read(self, name: str) -> Stored | None:
        """An entry; None if there is none.

        Raises:
            ServerTrouble: as `tags`.
        """
        answer = self._ask("GET", name)
        if answer.status in (404, 410):
            return None
        if answer.status != 200:
            raise self._refused(answer)
        return Stored(answer.headers.get("etag", ""), answer.body)

    def put(self, name: str, data: bytes, tag: str | None) -> str:
        """Write an entry, as `Store.put`.

        Raises:
            ServerTrouble: as `tags`.
        """
        condition = {"If-None-Match": "*"} if tag is None else {"If-Match": tag}
        answer = self._ask("PUT", name, data, {"Content-Type": "text/calendar; charset=utf-8", **condition})
        if answer.status == 412 or (answer.status == 404 and tag is not None):
            raise ChangedThere
        if answer.status == 409 or (answer.status == 403 and b"no-uid-conflict" in answer.body):
            raise OtherName
        if answer.status not in (200, 201, 204):
            raise self._refused(answer)
        return answer.headers.get("etag", "")

    def delete(self, name: str, tag: str) -> None:
        """Delete an entry, as `Store.delete`.

        Raises:
            ServerTrouble: as `tags`.
        """
        answer = self._ask("DELETE", name, None, {"If-Match": tag})
        if answer.status == 412:
            raise ChangedThere
        if answer.status not in (200, 202, 204, 404, 410):
            raise self._refused(answer)

    def _ask(self, method: str, name: str, body: bytes | None = None, more: dict[str, str] | None = None) -> _Answer:
        """Ask the server for something; over a line that was kept open and is closed by now, once more."""
        headers = {"User-Agent": f"showrunner/{__version__}", **(more or {})}
        if self._signed:
            headers["Authorization"] = self._signed
        kept = self._line is not None
        try:
            return self._once(method, self._path + name, body, headers)
        except (http.client.RemoteDisconnected, ConnectionResetError, BrokenPipeError) as error:
            self.close()
            if not kept:
                raise self._unreachable(error) from None
        except (OSError, http.client.HTTPException) as error:
            self.close()
            raise self._unreachable(error) from None
        try:
            return self._once(method, self._path + name, body, headers)
        except (OSError, http.client.HTTPException) as error:
            self.close()
            raise self._unreachable(error) from None

    def _once(self, method: str, path: str, body: bytes | None, headers: dict[str, str]) -> _Answer:
        if self._line is None:
            if self._secure:
                trusted = ssl.create_default_context()
                self._line = http.client.HTTPSConnection(self._host, self._port, timeout=self._seconds, context=trusted)
            else:
                self._line = http.client.HTTPConnection(self._host, self._port, timeout=self._seconds)
        self._line.request(method, path, body, headers)
        response = self._line.getresponse()
        told = response.read(MOST_BYTES + 1)
        if len(told) > MOST_BYTES:
            self.close()
            raise ServerTrouble(f"it answers with more than {MOST_BYTES // 1_000_000} MB", self._address, "use another")
        named = {name.lower(): value for name, value in response.getheaders()}
        return _Answer(response.status, named, told)

    def _unreachable(self, error: Exception) -> ServerTrouble:
        """What stands between here and the server, in words."""
        if isinstance(error, ssl.SSLCertVerificationError):
            what = f"its certificate cannot be trusted ({error.verify_message.lower()}), so nothing was sent"
            return ServerTrouble(what, self._address, "ask whoever runs the server to put it right")
        if isinstance(error, ssl.SSLError):
            return ServerTrouble("no secure connection can be made", self._address, "look at the address and its port")
        if isinstance(error, TimeoutError):
            what = f"there is no answer within {words.number(self._seconds)} seconds"
        elif isinstance(error, socket.gaierror):
            return ServerTrouble("no server has this name", self._address, "look at the address, or at your connection")
        elif isinstance(error, ConnectionRefusedError):
            what = "no server answers there"
        elif isinstance(error, http.client.HTTPException) and not isinstance(error, http.client.RemoteDisconnected):
            return ServerTrouble("what answers there is no calendar server", self._address, "look at the address")
        else:
            what = "the connection is broken off"
        return ServerTrouble(what, self._address, AGAIN)

    def _refused(self, answer: _Answer, *, listing: bool = False) -> ServerTrouble:
        """Why the server does not do what is asked, in words."""
        status = answer.status
        if status == 401:
            if self._signed:
                return ServerTrouble("it does not take this name and password", self._address, "look at both")
            return ServerTrouble("it wants a name and a password", self._address, "give --user NAME, or use .netrc")
        if 300 <= status < 400:
            to = words.short(_without_name(answer.headers.get("location", "")), 100)
            way_out = f"write that address if you trust it: {to}" if to else "ask where the calendar is now"
            return ServerTrouble("it sends on to another address, which is not followed", self._address, way_out)
        told = {
            403: ("it does not allow that", "ask for the right to write there"),
            404: ("there is no calendar at this address", "make it there first, or look at the address"),
            405: ("what answers there is no calendar", "look at the address"),
            410: ("there is no calendar at this address any more", "look at the address"),
            413: ("an entry is too large for it", "write the calendar to a file instead"),
            423: ("it is locked there", AGAIN),
            429: ("it asks to wait", AGAIN),
            501: ("what answers there is no calendar server", "look at the address"),
            507: ("it has no room left", "make room there"),
        }
        if status in told and (listing or status not in (404, 405)):
            return ServerTrouble(told[status][0], self._address, told[status][1])
        if 500 <= status < 600:
            return ServerTrouble(f"the server has trouble of its own ({status})", self._address, AGAIN)
        return ServerTrouble(f"it answers in a way that is not known ({status})", self._address, "look at the address")


def _address(url: str) -> SplitResult:
    """The parts of an address.

    Raises:
        BadInput: it is none of a calendar on a server, or holds a password.
    """
    way_out = "write it like https://dav.example.org/posy/series/"
    shown = words.short(url.rpartition("@")[2], 60)
    try:
        parts = urlsplit(url)
        good = parts.scheme in ("http", "https") and bool(parts.hostname) and (parts.port or 1) > 0
        (parts.hostname or "").encode("idna")
    except (ValueError, UnicodeError):
        good = False
    if not good or parts.query or parts.fragment or not url.isascii() or not url.isprintable() or " " in url:
        raise BadInput("this is no address of a calendar on a server", shown, way_out)
    if parts.password:
        what = "an address is seen by others and kept in lists, so no password may stand in it"
        raise BadInput(what, shown, "leave it out, and use the keyring, .netrc or --password-command")
    return parts


def _without_name(url: str) -> str:
    """An address without the name and password that may stand in it."""
    with contextlib.suppress(ValueError):
        parts = urlsplit(url)
        return parts._replace(netloc=parts.netloc.rpartition("@")[2]).geturl()
    return ""


def _basic(signing: SignIn) -> str:
    return "Basic " + base64.b64encode(f"{signing.user}:{signing.password}".encode()).decode()


def _resources(body: bytes) -> list[_Resource] | None:
    """The resources of a multistatus answer (RFC 4918 14.16); None if it is none."""
    found: list[_Resource] = []
    path: list[str] = []
    told: dict[str, str] = {}
    kinds: set[str] = set()

    def start(tag: str, _: object) -> None:
        path.append(tag)
        if tag == _RESPONSE:
            told.clear()
            kinds.clear()
        if path[-2:-1] == [f"{_DAV}}}resourcetype"]:
            kinds.add(tag)

    def text(value: str) -> None:
        if path[-2:] == [_RESPONSE, _HREF] or path[-1:] == [_ETAG]:
            told[path[-1]] = told.get(path[-1], "") + value

    def end(tag: str) -> None:
        path.pop()
        if tag == _RESPONSE:
            href = urlsplit(told.get(_HREF, "").strip()).path
            name = unquote(href.rstrip("/").rsplit("/", 1)[-1])
            found.append(_Resource(name, told.get(_ETAG, "").strip(), frozenset(kinds)))

    def refuse(*_: object) -> None:
        raise ValueError("a doctype")  # no answer needs one, and it can do harm

    parser = expat.ParserCreate(namespace_separator="}")
    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler, parser.StartDoctypeDeclHandler = text, refuse
    try:
        parser.Parse(body, True)
    except (expat.ExpatError, ValueError, LookupError):
        return None
    return found


_RESPONSE, _HREF, _ETAG = (f"{_DAV}}}{name}" for name in ("response", "href", "getetag"))
