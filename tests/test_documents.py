"""The documents say what is so: JSON keys, warning codes, and commands are those of the program."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from showrunner import contract, packaging
from showrunner.cli import cli
from showrunner.planning.film_check import check_film
from showrunner.session import Session
from showrunner.whatif import outlook

ROOT = Path(__file__).parents[1]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CAPTIONS = ROOT / "demo" / "waistcoats-wrong-order.vtt"
README = (ROOT / "README.md").read_text(encoding="utf-8")


def keys(value: Any) -> set[str]:
    if isinstance(value, dict):
        return set(value) | {key for item in value.values() for key in keys(item)}
    if isinstance(value, list):
        return {key for item in value for key in keys(item)}
    return set()


@pytest.mark.parametrize(
    "command", ["plan", "work", "runout", "what-ifs", "shoot", "import", "wants", "record", "package", "upkeep", "film"]
)
def test_every_key_of_the_json_is_described(command: str) -> None:
    with Session.open(ROOT / "demo" / "book.json", write=False) as session:
        shape = {
            "plan": lambda: contract.plan(session.plan()),
            "work": lambda: contract.work(session.work()),
            "record": lambda: contract.slot_record(session.slot_record()),
            "package": lambda: packaging.package_json(session.book, session.package("apron")),
            "upkeep": lambda: packaging.upkeep_json(session.book, session.today),
            "film": lambda: packaging.check_json(
                check_film(session.book, "waistcoats", CAPTIONS.read_bytes(), "x.vtt")
            ),
            "runout": lambda: contract.runout(session.runout()),
            "what-ifs": lambda: contract.what_ifs(outlook(session, "object-studies", ["add-piece=1"]), written=False),
            "shoot": lambda: contract.shoot(session.shoot_plan(["waistcoats"])),
            "wants": lambda: contract.wants(
                session.book, session.purse("blocks"), session.handover("blocks"), session.space()
            ),
            "import": lambda: contract.incoming(session.bring_in(ROOT / "demo" / "episodes.csv"), written=False),
        }[command]()
    series = {"object-studies"}
    for key in keys(json.loads(json.dumps(shape))) - series:
        assert re.search(rf'[`"]{key}[`"\[]', DEVELOPERS), key


def test_what_the_readme_says_of_captions_is_what_the_command_prints(said: Any) -> None:
    section = README.split("## Publishing day")[1]
    words = ["package", "waistcoats", "--captions", "demo/waistcoats-two-missed.srt"]
    assert f"`showrunner {' '.join(words)}`" in section
    table = section.split("```")[1].strip("\n")
    said_of_it = said("--book", ROOT / "demo" / "book.json", *words[:-1], ROOT / words[-1])[1]
    assert f"\n{table}\n" in said_of_it


def test_every_warning_code_in_the_planner_is_described() -> None:
    source = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "showrunner" / "planning").glob("*.py"))
    codes = set(re.findall(r'Warning\(\s*"([a-z-]+)"', source))
    assert codes
    for code in codes:
        assert f"`{code}`" in DEVELOPERS, code


def test_every_command_is_in_the_readme() -> None:
    for name in cli.commands:
        assert re.search(rf"\b{name}\b", README), name


@pytest.mark.slow
def test_the_what_ifs_of_the_readme_are_what_the_command_prints(said: Any) -> None:
    command = next(part for part in re.findall(r"`([^`]*)`", README) if part.startswith("showrunner runout --what-if"))
    table = README.split(command)[1].split("```")[1].strip("\n")
    printed = said("--book", ROOT / "demo" / "book.json", *command.split()[1:])[1]
    assert table in printed
    assert len(table.splitlines()) == 7


def test_the_handover_of_the_readme_is_what_the_command_prints(said: Any) -> None:
    table = README.split("## What comes next")[1].split("```")[1].strip("\n")
    assert f"\n{table}\n" in said("--book", ROOT / "demo" / "book.json", "wants")[1]
    assert len(table.splitlines()) == 4


def test_every_file_the_readme_shows_is_there() -> None:
    for target in re.findall(r"\]\(([^)h#][^)]*)\)", README):
        assert (ROOT / target).exists(), target


def test_the_top_level_holds_only_what_it_should() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "showrunner", "tests", "demo"}
    import subprocess

    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("this is no git checkout")
    names = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in names if not name.startswith(".")} == allowed
