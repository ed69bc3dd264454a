"""What is offered when the Tab key is pressed in a shell, without one."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from showrunner import completion
from showrunner.cli import cli, run
from showrunner.errors import BookDamaged
from showrunner.session import Session

DEMO = Path(__file__).parents[1] / "demo" / "book.json"
A = ("Boater", "Pancake", "Aunt")
"""What else is shopped for and has an a in its name."""
BREAKS = " \t\n\"'><=;|&(:@"


def told(line: str, shell: str = "fish") -> list[list[str]]:
    given = {completion.ASKED: shell, completion.LINE: line, completion.BREAKS: BREAKS}
    return [row.split("\t") for row in completion.answer(cli, given).splitlines()]


def texts(line: str, shell: str = "fish") -> list[str]:
    return [row[1] for row in told(line, shell) if row[0] != "stay"]


@pytest.fixture(autouse=True)
def demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    book = tmp_path / "book.json"
    shutil.copy(DEMO, book)
    monkeypatch.setenv("SHOWRUNNER_BOOK", str(book))
    monkeypatch.setenv("HOME", str(tmp_path))
    return book


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("publish jacket", ["The skating jacket, sleeves exchanged"]),
        ("publish 29", ["The apple-packer's apron"]),
        ("publish diary", ["diary-2026-03-04"]),
        ("publish apron bath", ["Ready for the sea: a bathing costume"]),
        ("shoot apron sept", ["Septimus and Barnaby: two waistcoats"]),
        ("package gown", ["Odile must lie down", "Evenings at home: gown and jacket"]),
        ("package nothing-like-it", []),
        ("runout --series ", ["The Camphorwood Hour"]),
        ("runout --series=hour", ["--series=The Camphorwood Hour"]),
        ("wants --collection ", ["Crown & Brim"]),
        ("wants --collection dress", ["Historic dress"]),
        ("import x.csv --collection ", ["Historic dress", "Crown & Brim"]),
        ("import x.csv --match 2=08,skat", ["2=08,Skating jacket"]),
        ("import x.csv --match 2", []),
        ("idea x --for ", ["making diary", "long feature"]),
        ("idea x --for wed", ["wednesday"]),
        ("idea x --from verdi", ["Verdigris: green, with gloves"]),
        ("runout --what-if sh", ["shown="]),
        ("runout --what-if shown=", ["shown=Nurse's collar and cuffs", "shown=Lace jabot"]),
        ("runout --what-if shown=smoking", ["shown=Smoking jacket", "shown=Smoking cap"]),
        ("runout --what-if unshown=2", ["unshown=27", "unshown=28"]),
        ("runout --what-if unpair=", ["unpair=Septimus and Barnaby: two waistcoats"]),
        ("runout --what-if revisit=wilh", ["revisit=Christening robe “Wilhelmina”"]),
        ("runout --what-if pair=pack", ["pair=The apple-packer's apron+"]),
        ("runout --what-if pair=apron+septimus", ["pair=apron+Septimus and Barnaby: two waistcoats"]),
        ("runout --what-if comes=ald", ["comes=Alderman@"]),
        ("runout --what-if comes=Alderman@2", []),
        ("runout --what-if declined=alder", ["declined=Alderman"]),
        (
            "runout --what-if drop-window=",
            [
                "drop-window=The apple-packer's apron",
                "drop-window=The skating jacket, sleeves exchanged",
                "drop-window=Ready for the sea: a bathing costume",
            ],
        ),
        (
            "runout --what-if revisit=jacket",
            ["revisit=Smoking jacket", "revisit=Riding jacket", "revisit=Bed jacket"],
        ),
        ("runout --what-if declined=a", [f"declined={name}" for name in ("Magistrate", "Saucer", "Admiral", *A)]),
        ("runout --what-if loan=a", []),
        ("runout --what-if magic=a", []),
        ("complet", ["completion"]),
        ("completion ", ["bash", "zsh", "fish"]),
        ("import x.csv --as ", ["pieces", "episodes"]),
        ("import x.csv --wr", ["--write"]),
    ],
)
def test_what_is_offered(line: str, offered: list[str]) -> None:
    assert texts(f"showrunner {line}") == offered


def test_what_stands_beside_and_whether_the_word_goes_on() -> None:
    assert told("showrunner runout --what-if shown=lace") == [["word", "shown=Lace jabot", "28"]]
    assert told("showrunner runout --what-if shown=28") == [["word", "shown=28", "Lace jabot"]]
    assert told("showrunner publish jacket") == [["word", "The skating jacket, sleeves exchanged", ""]]
    assert told("showrunner runout --what-if comes=ald") == [["stem", "comes=Alderman@", "b02"]]
    assert told("showrunner check --b") == []
    assert [row[0] for row in told("showrunner --book x")] == ["file"]
    assert [row[0] for row in told("showrunner export x")] == ["folder"]
    assert [row[0] for row in told("showrunner package apron --out x")] == ["folder"]
    assert [row[0] for row in told("showrunner calendar --folder x", "bash")] == ["folder"]


def test_what_is_typed_stays_where_what_all_share_is_something_else() -> None:
    assert told("showrunner package gown")[-1] == ["stay"]
    assert told("showrunner runout --what-if shown=smoking")[-1] != ["stay"]
    assert told("showrunner runout --what-if shown=SMOKING")[-1] != ["stay"]
    assert told("showrunner package ")[-1] != ["stay"]
    assert told("showrunner publish jacket")[-1] != ["stay"]
    assert told("showrunner publish gown", "bash")[-1] == ["stay"]
    assert told("showrunner package ", "bash")[-1] != ["stay"]
    assert told("showrunner runout --what-if shown=Smoking\\ ", "bash")[-1] != ["stay"]


@pytest.mark.parametrize(
    ("line", "put"),
    [
        ("runout --what-if shown=lace", ["Lace\\ jabot"]),
        ('runout --what-if shown="lace', ["Lace jabot"]),
        ("runout --what-if 'shown=lace", ["shown=Lace jabot"]),
        ('runout --what-if "shown"=lace', ["Lace\\ jabot"]),
        ("runout --what-if shown\\=lace", ["shown=Lace\\ jabot"]),
        ("publish bath", ["Ready\\ for\\ the\\ sea:\\ a\\ bathing\\ costume"]),
        ("publish Ready\\ for\\ the\\ sea:\\ a", ["\\ a\\ bathing\\ costume"]),
        ("publish ready\\ for\\ the\\ sea:\\ a", []),
        ("publish pack", ["The\\ apple-packer\\'s\\ apron"]),
        ("publish 'pack", ["The apple-packer'\\''s apron"]),
        ('publish "pack', ["The apple-packer's apron"]),
    ],
)
def test_what_bash_puts_in(line: str, put: list[str]) -> None:
    assert texts(f"showrunner {line}", "bash") == put


def test_the_book_that_is_named_is_the_one_looked_at(
    tmp_path: Path, demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    demo.rename(tmp_path / "other.json")
    assert texts("showrunner publish jacket") == []
    for path in (tmp_path / "other.json", "~/other.json", "$HOME/other.json"):
        assert texts(f"showrunner --book {path} publish jacket") == ["The skating jacket, sleeves exchanged"]
    assert texts("showrunner --book ~nobody-here/b.json publish jacket") == []


def test_a_book_in_use_is_read_and_nothing_is_written(demo: Path) -> None:
    with Session.open(demo):
        before = sorted(demo.parent.iterdir())
        assert texts("showrunner publish jacket")
        assert sorted(demo.parent.iterdir()) == before


def test_a_book_is_not_locked_to_be_read(demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[bool] = []
    opened = Session.open
    monkeypatch.setattr(Session, "open", lambda path, **how: asked.append(how["write"]) or opened(path, **how))
    assert texts("showrunner publish jacket")
    assert asked == [False]
    assert list(demo.parent.iterdir()) == [demo]


@pytest.mark.parametrize("data", [b"", b"{", b"\xff\xfe", b'{"meta": 3}', b"[]" * 1000])
def test_of_a_damaged_book_nothing_is_offered(demo: Path, data: bytes) -> None:
    demo.write_bytes(data)
    assert told("showrunner publish ") == []
    assert texts("showrunner publ") == ["publish"]
    assert demo.read_bytes() == data


def test_of_what_is_no_book_nothing_is_offered(demo: Path) -> None:
    demo.unlink()
    assert told("showrunner publish ") == []
    assert not demo.exists()
    os.mkfifo(demo)
    assert told("showrunner publish ") == []
    demo.unlink()
    demo.mkdir()
    assert told("showrunner publish ") == []


def test_damaged_undo_steps_are_no_hindrance(demo: Path) -> None:
    text = demo.read_text(encoding="utf-8")
    assert '"journal":{}' in text
    demo.write_text(text.replace('"journal":{}', '"journal":{"1":{"id":5}}'), encoding="utf-8")
    with pytest.raises(BookDamaged):
        Session.open(demo)
    assert texts("showrunner publish jacket") == ["The skating jacket, sleeves exchanged"]


@pytest.mark.parametrize(
    "line", ["", "  ", "showrunner", "showrunner nothing ", "showrunner --today x publish ", "\0", "'", '"\\']
)
@pytest.mark.parametrize("shell", ["bash", "zsh", "fish", "no shell", ""])
def test_whatever_is_typed_no_fault_is_shown(line: str, shell: str) -> None:
    for row in told(line, shell):
        assert len(row) == 3 or row == ["stay"]


def test_the_command_answers_shells_and_prints_their_scripts(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for shell, script in completion.SCRIPTS.items():
        assert run(["completion", shell]) == 0
        assert capsys.readouterr().out == script
    monkeypatch.setenv(completion.ASKED, "fish")
    monkeypatch.setenv(completion.LINE, "showrunner runout --what-if shown=lace")
    assert run([]) == 0
    assert capsys.readouterr().out == "word\tshown=Lace jabot\t28\n"


def test_it_starts_without_the_screens_and_without_planning() -> None:
    program = (
        "import sys; from showrunner.cli import run; run([]);"
        "print([name for name in sys.modules if name.startswith(('textual', 'showrunner.planning', 'icalendar'))])"
    )
    for line in ("showrunner publish jacket", "showrunner runout --what-if shown=lace"):
        environment = {**os.environ, completion.ASKED: "fish", completion.LINE: line}
        done = subprocess.run(
            [sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True
        )
        assert done.stdout.splitlines()[1:] == ["[]"]
