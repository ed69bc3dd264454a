"""A process killed in the middle of saving leaves a book that opens and holds every action it acknowledged."""

import os
import signal
import subprocess
import sys
import time

import pytest
from workroom_books import noon, small_book

from showrunner.session import Session

WRITER = """
import sys
from dataclasses import replace
from showrunner.session import Session
with Session.open(sys.argv[1]) as session:
    number = int(session.book.piece("1").notes.split()[0]) if session.book.piece("1").notes else 0
    while True:
        number += 1
        notes = f"{number} " + "x" * (number * 977 % 3000)
        session.do("note", lambda b: b.put("pieces", replace(b.piece("1"), notes=notes)))
        sys.stdout.write(f"{number}\\n")
        sys.stdout.flush()
"""


def kill_while_saving(path, kills):
    with Session.create(path, small_book(), now=noon):
        pass
    acknowledged = 0
    for kill in range(kills):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True)
        first = writer.stdout.readline()
        assert first, "the writer saved nothing"
        time.sleep(0.002 + kill % 7 * 0.0037)
        os.kill(writer.pid, signal.SIGKILL)
        lines = (first + writer.stdout.read()).splitlines(keepends=True)
        writer.wait()
        acknowledged = max([acknowledged, *(int(line) for line in lines if line.endswith("\n"))])
        with Session.open(path, now=noon) as session:
            assert not session.read_only, "a dead writer's lock must not bind"
            assert int(session.book.piece("1").notes.split()[0]) >= acknowledged
            assert session.undo_label == "note"
        assert not [p for p in path.parent.iterdir() if p.name.endswith(".tmp")]
    assert acknowledged >= kills


@pytest.mark.skipif(os.name == "nt", reason="there is no SIGKILL")
def test_a_killed_writer_loses_nothing_it_acknowledged(tmp_path):
    kill_while_saving(tmp_path / "book.json", 8)


@pytest.mark.long
@pytest.mark.skipif(os.name == "nt", reason="there is no SIGKILL")
def test_many_killed_writers_lose_nothing_they_acknowledged(tmp_path):
    kill_while_saving(tmp_path / "book.json", int(os.environ.get("SHOWRUNNER_LONG", "200")))
