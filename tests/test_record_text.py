"""`record` and `idea`: the demo's record told in words and as JSON, and ideas passed from a study to the diary."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path

import pytest

from showrunner.demo_book import demo_path
from showrunner.domain import edits
from showrunner.domain.slot import SlotRef
from showrunner.session import Session


@pytest.fixture
def path(tmp_path: Path) -> Path:
    shutil.copyfile(demo_path(), tmp_path / "book.json")
    return tmp_path / "book.json"


def told(path: Path, said, *options: str) -> dict:
    code, out, err = said("--book", path, "record", "--json", *options)
    assert (code, err) == (0, "")
    found: dict = json.loads(out)
    return found


def test_the_record_of_the_demo(path: Path, said) -> None:
    """By the demo's story: gaps of 4 to 5 weeks, then 6, 6 and 8; of the 35 studies three came one slot late."""
    found = told(path, said)
    diary, feature = found["rules"]
    assert feature["counts"]["late"] == 3
    assert {slot["late_days"] for slot in feature["slots"] if slot["outcome"] == "late"} == {7}
    assert (
        sum(feature["counts"].values())
        == sum(diary["counts"].values())
        == (date(2026, 3, 1) - date(2023, 1, 1)).days // 7
    )
    (pace,) = found["paces"]
    assert [gap["days"] for gap in pace["gaps"]][-3:] == [42, 42, 56]
    assert pace["changed"]
    assert pace["signals"][-1] == {"sign": "outside", "gap": len(pace["gaps"]) - 1}
    assert [(bank["rule"], bank["weeks"]) for bank in found["bank"]] == [("wednesday", 1), ("sunday", 0)]
    assert len(found["empty_slots"]) == 14, "of 17 slots the apron has one and a diary is banked; one is over"


def test_what_the_record_says(path: Path, said) -> None:
    code, out, err = said("--book", path, "record")
    assert (code, err) == (0, "")
    text = " ".join(out.split())
    assert "The pace has changed: the gap of 8 weeks to 25 January 2026 is longer than usual." in text
    assert "Sun 29 Jun 2025 late by 1 week: Sixteen buttons and no hands" in text
    assert "making diary: 1 week covered; nothing yet for 11 March 2026" in text
    assert "The pool of ideas is empty." in text
    chart = [line for line in out.splitlines() if "┊" in line and line.startswith("Sun")]
    assert len(chart) == 12
    assert chart[-1].split()[:6] == ["Sun", "25", "Jan", "2026", "8", "wk"]
    assert chart[-1].endswith("!")
    assert all(line.count("┊") == 2 or "●" in line for line in chart)
    assert max(map(len, out.splitlines())) <= 80
    assert said("--book", path, "record", "--strict")[0] == 1


def test_an_idea_goes_from_a_study_to_the_diary(path: Path, said) -> None:
    command = ("--book", path, "idea", "Make one now: an apron", "--for", "wednesday", "--from", "apron")
    code, out, err = said(*command)
    assert (code, out, err) == (0, "In the pool for making diary: Make one now: an apron.\n", "")
    found = told(path, said)
    (idea,) = found["pool"]
    assert (idea["title"], idea["idea_of"], idea["finished"]) == ("Make one now: an apron", "apron", False)
    (offered,) = [one for one in found["empty_slots"] if one["offer"]]
    assert offered == {"slot": {"day": "2026-03-25", "rule": "wednesday"}, "offer": idea}, "the first after 22 March"
    assert "idea: Make one now: an apron, from" in said("--book", path, "record")[1]
    with Session.open(path) as session:
        slot = SlotRef(date(2026, 3, 25), "wednesday")
        session.do("put", lambda book: edits.set_slot(book, idea["episode"], slot))
    assert told(path, said)["pool"] == []


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("x", "--for", "monday"), "no slot 'monday'"),
        (("x", "--for", "wednesday", "--from", "nobody"), "no study 'nobody'"),
        (("  ", "--for", "wednesday"), "needs a title"),
    ],
)
def test_an_idea_that_cannot_be_is_told(path: Path, said, options, words) -> None:
    before = path.read_bytes()
    code, out, err = said("--book", path, "idea", *options)
    assert (code, out) == (2, "")
    assert words in err
    assert path.read_bytes() == before


def test_an_idea_of_no_study_is_named_by_the_check_and_mended(path: Path) -> None:
    from dataclasses import replace

    from showrunner.domain.consistency import problems
    from showrunner.domain.mending import mended

    with Session.open(path) as session:
        book, idea = edits.add_filler(session.book, "Now", "wednesday", idea_of="apron")
    odd = book.put("episodes", replace(idea, idea_of="gone"))
    assert "“Now”: its idea comes from 'gone', and the book holds no such episode." in problems(odd)
    whole, sentences = mended(odd)
    assert whole.episode(idea.id).idea_of == ""
    assert sentences == ("“Now”: its idea comes from no study any more, for that one is not there.",)
