"""What a package holds and says of itself: the licence, no address that is not there, a README without pictures."""

from __future__ import annotations

import os
import re
import tarfile
import tomllib
import zipfile
from email import message_from_bytes
from email.message import Message
from importlib.metadata import files
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
LICENCE = (ROOT / "showrunner" / "LICENSE").read_bytes()

built = pytest.mark.skipif(
    "SHOWRUNNER_DIST" not in os.environ, reason="SHOWRUNNER_DIST names no folder with a built wheel and sdist"
)


def terms(text: str) -> str:
    """A licence's words after its line of copyright."""
    return " ".join(re.split(r"(?m)^Copyright .*$", text, maxsplit=1)[1].split())


def wheel() -> zipfile.ZipFile:
    (path,) = Path(os.environ["SHOWRUNNER_DIST"]).glob("*.whl")
    return zipfile.ZipFile(path)


def metadata() -> Message:
    with wheel() as opened:
        (name,) = (name for name in opened.namelist() if name.endswith(".dist-info/METADATA"))
        return message_from_bytes(opened.read(name))


def test_the_licence_declared_is_the_licence_there() -> None:
    """The words are those of another package under the same licence."""
    assert PROJECT["license"] == "MIT"
    assert PROJECT["license-files"] == ["showrunner/LICENSE"]
    beside = next(f for f in files("textual") or () if f.name == "LICENSE")
    assert terms(LICENCE.decode()) == terms(beside.read_text())


def test_no_address_is_invented() -> None:
    assert "urls" not in PROJECT


@built
def test_wheel_and_sdist_hold_the_licence_and_the_demo() -> None:
    with wheel() as opened:
        for name in ("showrunner/LICENSE", "showrunner-*.dist-info/licenses/showrunner/LICENSE"):
            depth = name.count("/")
            (found,) = (n for n in opened.namelist() if Path(n).match(name) and n.count("/") == depth)
            assert opened.read(found) == LICENCE
        assert opened.read("showrunner/demo/book.json") == (ROOT / "demo" / "book.json").read_bytes()
    (path,) = Path(os.environ["SHOWRUNNER_DIST"]).glob("*.tar.gz")
    with tarfile.open(path) as opened_too:
        top = path.name.removesuffix(".tar.gz")
        held = opened_too.extractfile(f"{top}/showrunner/LICENSE")
        assert held
        assert held.read() == LICENCE


@built
def test_what_an_index_shows_needs_no_file_beside_it() -> None:
    said = metadata()
    assert (said["License-Expression"], said.get_all("Project-URL")) == ("MIT", None)
    assert said["Description-Content-Type"] == "text/markdown"
    shown = str(said.get_payload())
    assert shown.startswith("# showrunner\n")
    assert "its story (`demo/STORY.md`)" in shown
    assert not re.search(r"!\[|\]\((?!https?:)", shown)
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert len(readme) - len(shown) < 400, "more was left out than pictures"
