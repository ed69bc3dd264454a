"""The set-up sheet: as text, as HTML, as JSON, and as a command."""

from __future__ import annotations

import json
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from showrunner import contract, sheet
from showrunner.cli import run
from showrunner.domain.book import Book
from showrunner.domain.piece import Feature, Handling, View
from showrunner.planning.shoot_plan import plan_shoot
from showrunner.session import Session

DEMO = Path(__file__).parents[1] / "demo" / "book.json"
VOID = {"meta", "input"}


def book() -> Book:
    with Session.open(DEMO, write=False) as session:
        return session.book


BOOK = book()
TODAY = BOOK.clock
assert TODAY is not None


class Reader(HTMLParser):
    """Elements closed as they were opened, and all text."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.seen: set[str] = set()
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)
        assert not [name for name, _ in attrs if name.startswith("on") or name in ("src", "href")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def read(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    reader.close()
    assert not reader.open
    return reader


EVIL = "<script>alert('x')</script> & \"[/]\" =1+1 \x1b[31m\nBEGIN:VEVENT"


def evil_book() -> Book:
    piece = BOOK.piece("29")
    bad = replace(
        piece,
        name=EVIL,
        features=(Feature(EVIL, EVIL),),
        points=(EVIL,),
        hazards=(EVIL,),
        handling=Handling(notes=EVIL),
        materials=(EVIL, "black velvet"),
    )
    return BOOK.put("pieces", bad).put("episodes", replace(BOOK.episode("apron"), title=EVIL))


def test_user_text_is_escaped_in_html_and_harmless_in_text() -> None:
    bad = evil_book()
    plan = plan_shoot(bad, ("apron",), TODAY)
    reader = read(sheet.html(bad, plan))
    assert not reader.seen & {"script", "img", "a", "iframe", "link"}
    assert "<script>alert('x')</script>" in reader.text
    for told in (sheet.html(bad, plan), sheet.sheet(bad, plan)):
        assert "\x1b" not in told
    assert "[/]" in sheet.sheet(bad, plan)


@pytest.mark.parametrize("study", ["apron", "waistcoats", "skating-jacket", "dance-frock", "bathing-costume"])
def test_text_and_html_hold_every_shot_point_touch_and_caution(study: str) -> None:
    plan = plan_shoot(BOOK, (study,), TODAY)
    plain = " ".join(sheet.sheet(BOOK, plan).split())
    page = " ".join(read(sheet.html(BOOK, plan)).text.split())
    for told in (plain, page):
        for shot in plan.shots:
            assert sheet.shot_words(shot, BOOK) in told
        for point in plan.points:
            assert point.text in told
        for caution in plan.cautions:
            assert caution.text in told
            assert caution.source in told
        assert told.count("Follow local rules and ask a conservator or safety professional.") == 1
    assert max(map(len, sheet.sheet(BOOK, plan).splitlines())) <= 80


def test_a_piece_says_what_lies_on_top_of_it() -> None:
    told = " ".join(sheet.sheet(BOOK, plan_shoot(BOOK, ("dance-frock",), TODAY)).split())
    lifted = told.index("Lift out and cover on its board: Tea gown “Odile”, from box D, layer 4")
    assert lifted < told.index("Lay out: Dance frock “Comet”, from box D, layer 3")
    assert told.index("Back into box D: Dance frock “Comet”") < told.index("Back into box D: Tea gown “Odile”")


def told_side(feature: Feature, **limits: bool) -> str:
    """What the sheet adds to the detail of a feature of the bathing costume."""
    piece = replace(BOOK.piece("34"), features=(feature,), handling=Handling(**limits))
    changed = BOOK.put("pieces", piece)
    plan = plan_shoot(changed, ["bathing-costume"], TODAY)
    (detail,) = [shot for shot in plan.shots if shot.is_detail]
    said = sheet.side_words(detail, changed)
    printed = f"{detail.words}{said}"
    assert printed in " ".join(sheet.sheet(changed, plan).split())
    assert printed in read(sheet.html(changed, plan)).text
    return said


def test_a_detail_says_on_which_side_of_the_picture_it_is() -> None:
    """Common practice: from the front the wearer's left is on the right of the picture, from behind on the left."""
    left = "wearer's left hip"
    assert told_side(Feature("darn", left, View.FLAT_FACE)) == " (right in the picture)"
    assert told_side(Feature("darn", left, View.FORM_FRONT)) == " (right in the picture)"
    assert told_side(Feature("darn", left, View.FLAT_REVERSE)) == " (left in the picture)"
    assert told_side(Feature("darn", left, View.FORM_BACK)) == " (left in the picture)"
    assert told_side(Feature("darn", left, View.FORM_BACK), flat_only=True) == " (left in the picture)"
    assert told_side(Feature("darn", left, View.FORM_FRONT), flat_only=True) == " (right in the picture)"
    for view in (View.INSIDE, View.FORM_LEFT, View.FORM_RIGHT, View.DETAIL):
        assert told_side(Feature("darn", left, view)) == ""
    assert told_side(Feature("darn", "hem", View.FLAT_FACE)) == ""


def test_the_json_has_what_the_contract_names() -> None:
    shape = json.loads(json.dumps(contract.shoot(plan_shoot(BOOK, ("waistcoats",), TODAY))))
    assert {"setups", "touches", "gates", "points", "cautions", "light", "run_time_seconds"} <= set(shape)
    shots = [shot for item in shape["setups"] for shot in item["shots"]]
    assert all({"piece", "view", "feature"} <= set(shot) for shot in shots)
    required = [shot for shot in shots if shot["required"]]
    assert len(required) == shape["required_views"] == 18
    assert len({item["camera"] for item in shape["setups"] for shot in item["shots"] if shot["required"]}) == 2
    assert len(shape["touches"]) == 10
    assert shape["run_time_seconds"] == 801
    assert [gate["before"] for gate in shape["gates"]].count("dress") == 2


# The command


def command(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    code = run(["--book", str(DEMO), "shoot", *arguments])
    out, err = capsys.readouterr()
    return code, out, err


def test_the_command_prints_text_html_and_json(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = command(capsys, "waistcoats")
    assert code == 0
    assert "10 touches and 6 set-ups" in out
    code, out, _ = command(capsys, "waistcoats", "--html")
    assert (code, out[:15]) == (0, "<!DOCTYPE html>")
    code, out, _ = command(capsys, "waistcoats", "--json")
    assert (code, json.loads(out)["required_views"]) == (0, 18)
    assert command(capsys, "barnaby")[1] == command(capsys, "waistcoats")[1]


def test_strict_speaks_of_warnings(capsys: pytest.CaptureFixture[str]) -> None:
    assert command(capsys, "dance-frock", "--strict")[0] == 1
    assert command(capsys, "waistcoats", "--strict")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("nosuch",), "there is no study 'nosuch'; choose one of “The apple-packer's apron”, “Septimus"),
        (("diary-2026-03-04",), "there is no study 'diary-2026-03-04'; choose one of "),
        (("waistcoats", "--lux", "0"), "light: 0 lux cannot be filmed by; give what the meter shows"),
        (("waistcoats", "--lux", "bright"), "--lux: 'bright' is no whole number; write it in figures."),
        (("waistcoats", "--lux", "-1"), "--lux: -1 is not from 0 to 1,000,000,000; choose one between."),
        (("waistcoats", "--hours", "24.01"), "24.01 hours are not between 0 and the 24 of a day"),
        (("waistcoats", "--hours", "0"), "0 hours are not between 0 and the 24 of a day"),
        (("waistcoats", "--hours", "nan"), "--hours: 'nan' is no number; write it like 2 or 2.5."),
        (("waistcoats", "--html", "--json"), "two ways of printing are asked for; choose --html or --json."),
        (("apron", "waistcoats", "dance-frock"), "more than you film in a day (7 h)"),
        ((), "missing argument"),
    ],
)
def test_bad_input_is_one_sentence(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], sentence: str
) -> None:
    code, out, err = command(capsys, *arguments)
    assert (code, out) == (2, "")
    assert sentence in err
    assert err.count("\n") == 1
