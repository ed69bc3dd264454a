"""A real calendar server (Radicale) on loopback for the tests, and a way to ask it past showrunner."""

from __future__ import annotations

import base64
import http.client
import os
import re
import socket
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Self

USER, PASSWORD = "posy", "ninepins & cämphor"


class CalendarServer:
    """Radicale with one calendar; it can be stopped and started again on the same files and port.

    Args:
        folder: where it keeps everything.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        with socket.socket() as found:
            found.bind(("127.0.0.1", 0))
            self.port = found.getsockname()[1]
        (folder / "users").write_text(f"{USER}:{PASSWORD}\n", encoding="utf-8")
        self._process: subprocess.Popen[bytes] | None = None
        self._told = 0
        self.path = self.url = ""

    def __enter__(self) -> Self:
        self.start()
        return self

    def fresh(self, name: str) -> Self:
        """With a new calendar, which all that follows is about."""
        self.path = f"/{USER}/{name}/"
        self.url = f"http://{USER}@127.0.0.1:{self.port}{self.path}"
        self.ask("MKCALENDAR", self.path)
        self.requests()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def start(self) -> None:
        """Start it, if it does not run, and wait until it answers."""
        if self._process:
            return
        told = {
            "server-hosts": f"127.0.0.1:{self.port}",
            "auth-type": "htpasswd",
            "auth-htpasswd-filename": str(self._folder / "users"),
            "auth-htpasswd-encryption": "plain",
            "auth-delay": "0",
            "storage-filesystem-folder": str(self._folder / "kept"),
            "logging-level": "info",
        }
        options = [f"--{name}={value}" for name, value in told.items()]
        with (self._folder / "log").open("ab") as log:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "radicale", "--config", "", *options], stdout=log, stderr=log, env=os.environ
            )
        while True:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
                return
            except OSError:
                assert self._process.poll() is None, (self._folder / "log").read_text()
                time.sleep(0.05)

    def stop(self) -> None:
        """Stop it at once."""
        if self._process:
            self._process.kill()
            self._process.wait()
        self._process = None

    def ask(self, method: str, path: str, body: str | None = None, **headers: str) -> tuple[int, str, dict[str, str]]:
        """Send a request of one's own: status, body and headers of the answer."""
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        signed = base64.b64encode(f"{USER}:{PASSWORD}".encode()).decode()
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        line.request(method, path, body.encode() if body else None, {"Authorization": f"Basic {signed}", **named})
        answer = line.getresponse()
        told = answer.status, answer.read().decode(), {name.lower(): value for name, value in answer.getheaders()}
        line.close()
        return told

    def entries(self) -> dict[str, str]:
        """Every entry it keeps, by name, read from its files."""
        folder = self._folder / "kept" / "collection-root" / self.path.strip("/")
        return {each.name: each.read_text() for each in folder.iterdir() if each.suffix == ".ics"}

    def requests(self) -> list[tuple[str, str]]:
        """Method and name of every request since the last call of this."""
        log = self._folder / "log"
        text = log.read_text()
        found = re.findall(r"\[INFO\] (\w+) request for '([^']*)'.* using 'showrunner", text)
        told = found[self._told :]
        self._told = len(found)
        return [(method, path.removeprefix(self.path)) for method, path in told]


def counts(requests: list[tuple[str, str]]) -> dict[str, int]:
    """How many requests there were of each method."""
    return dict(Counter(method for method, _ in requests))
