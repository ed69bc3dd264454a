"""Pages for printer and phone: boxes to tick, room to write, both sizes of paper, nothing fetched and no script."""

from __future__ import annotations

import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from showrunner import sheet
from showrunner.cli import run
from showrunner.domain.book import Book
from showrunner.page import Paper, page, section
from showrunner.planning.shoot_plan import ShootPlan, plan_shoot
from showrunner.session import Session

DEMO = Path(__file__).parents[1] / "demo" / "book.json"


@pytest.fixture(scope="module")
def book() -> Book:
    with Session.open(DEMO, write=False) as session:
        return session.book


@pytest.fixture(scope="module")
def plan(book: Book) -> ShootPlan:
    assert book.clock
    return plan_shoot(book, ("waistcoats",), book.clock)


class Boxes(HTMLParser):
    """Every box that can be ticked with the words beside it, and every element and attribute."""

    def __init__(self) -> None:
        super().__init__()
        self.boxes: list[str] = []
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.inside = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        if tag == "label":
            self.inside = True
        if tag == "input":
            assert self.inside
            assert attrs == [("type", "checkbox")]
            self.boxes.append("")

    def handle_endtag(self, tag: str) -> None:
        self.inside = self.inside and tag != "label"

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.boxes[-1] += data


def read(told: str) -> Boxes:
    found = Boxes()
    found.feed(told)
    return found


def test_everything_to_do_or_say_has_a_box_beside_its_words(book: Book, plan: ShootPlan) -> None:
    boxes = read(sheet.html(book, plan)).boxes
    for shot in plan.shots:
        assert any(box.startswith(sheet.shot_words(shot, book)) for box in boxes)
    for point in plan.points:
        assert point.text in boxes
    for caution in plan.cautions:
        assert any(caution.text in box for box in boxes)
    touches = [step for step in plan.order.steps if step.touch or step.aside]
    rest = len(plan.shots) + len(plan.points) + len(plan.cautions) + len(sheet.AFTERWARDS)
    assert len(boxes) == rest + len(touches)


def test_nothing_is_fetched_and_there_is_no_script(book: Book, plan: ShootPlan) -> None:
    told = sheet.html(book, plan)
    found = read(told)
    assert not found.tags & {"script", "link", "img", "iframe", "object", "embed", "form", "a", "base"}
    assert not [name for name in found.attributes if name.startswith("on") or name in ("src", "href", "action")]
    style = told.partition("<style>")[2].partition("</style>")[0]
    assert not re.search(r"url\(|@import|https?:", style)


def test_the_phone_is_told_that_ticks_stay_on_it_and_paper_is_not(book: Book, plan: ShootPlan) -> None:
    told = sheet.html(book, plan)
    assert f'<p class="screen warning">{sheet.TICKS_STAY}</p>' in told
    printed = told.partition("@media print {")[2]
    assert ".screen { display: none; }" in printed
    assert 'name="viewport" content="width=device-width' in told


@pytest.mark.parametrize(
    ("paper", "said"),
    [(Paper.ANY, "@page { margin: 14mm; }"), (Paper.A4, "size: A4;"), (Paper.LETTER, "size: letter;")],
)
def test_each_paper_is_told_to_the_printer(book: Book, plan: ShootPlan, paper: Paper, said: str) -> None:
    assert said in sheet.html(book, plan, paper)


def test_a_new_page_begins_with_each_set_up(book: Book, plan: ShootPlan) -> None:
    told = sheet.html(book, plan)
    assert told.count('<section class="set-up">') == len(plan.set_ups) + 1  # and with what is to be said
    assert "section.set-up { break-before: page; }" in told.partition("@media print {")[2]


def test_there_is_room_to_write_and_day_lux_and_condition_are_asked(book: Book, plan: ShootPlan) -> None:
    html, plain = sheet.html(book, plan), sheet.sheet(book, plan)
    for told in (html, plain):
        for asked in (*sheet.ASKED, sheet.SAME, "last known: neck and both fronts: soiled (Sat 14 Feb 2026)"):
            assert asked in " ".join(told.split())
        assert told.index("Condition before") < told.index("Set-up 1: ")
    assert html.count("<p></p>") >= 4 * len(plan.set_ups)
    assert plain.count(sheet.LINES[1]) >= 2 * len(plan.set_ups)
    assert plain.count(sheet.BREAK) == len(plan.set_ups)
    assert max(map(len, plain.splitlines())) <= 80


def test_a_piece_without_a_condition_on_record_is_asked_for_one(book: Book, plan: ShootPlan) -> None:
    bare = book.put("pieces", replace(book.piece("30"), condition=()))
    assert "none on record yet" in sheet.sheet(bare, plan)


def test_a_row_that_is_no_box_has_none_and_a_section_without_rows_no_list() -> None:
    told = page("t", section("h", [("tick touch", "do"), ("note", "read")]) + section("e", []))
    assert read(told).boxes == ["do"]
    assert told.count("<ul>") == 1
    assert '<li class="note">read</li>' in told


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--paper", "a4"], "paper is asked for without a page"),
        (["--log"], "it was never filmed"),
        (["--html", "--json"], "two ways of printing"),
    ],
)
def test_what_does_not_go_together_is_one_sentence(
    options: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["--book", str(DEMO), "shoot", "apron", *options]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert len(error.strip().splitlines()) == 1
