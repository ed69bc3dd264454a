"""The photographs of a piece: which file is meant, what cannot be drawn, and the dialog."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from keys import settle, text_of
from textual.widgets import OptionList, Static

from showrunner.errors import BadInput
from showrunner.tui import photographs
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.photographs import PhotographsDialog, cells, photograph_file, picture


def test_a_relative_path_counts_from_the_folder_of_the_book(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    file = tmp_path / "photos" / "front view.jpg"
    file.write_bytes(b"x")
    assert photograph_file(tmp_path, "photos/front view.jpg") == file
    assert photograph_file(tmp_path / "elsewhere", str(file)) == file


def test_what_is_no_picture_file_is_refused_in_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    with (tmp_path / "huge.jpg").open("wb") as huge:
        huge.truncate(200_000_000)
    os.mkfifo(tmp_path / "pipe")
    for path, why in (
        ("gone.jpg", "there is no such file"),
        ("folder", "this is a folder and no picture"),
        ("huge.jpg", "its 200 MB are more than the 60 MB drawn here"),
        ("pipe", "this is no plain file"),
        ("/dev/zero", "this is no plain file"),
        ("nul\0.jpg", "it cannot be read"),
        ("n" * 5000, "it cannot be read"),
        ("huge.jpg/in", "it cannot be read"),
        ("~nobody-at-all-here/a.jpg", "it cannot be read"),
    ):
        with pytest.raises(BadInput, match=why):
            photograph_file(tmp_path, path)


@pytest.mark.parametrize(
    ("width", "height", "place", "size"),
    [
        (900, 1200, (76, 12), (18, 12)),
        (2400, 500, (76, 12), (76, 8)),
        (1000, 1000, (76, 12), (24, 12)),
        (10, 10_000, (76, 12), (1, 12)),
        (10_000, 10, (76, 12), (76, 1)),
    ],
)
def test_a_picture_fills_its_place_and_keeps_its_shape(
    width: int, height: int, place: tuple[int, int], size: tuple[int, int]
) -> None:
    assert cells(width, height, *place) == size


class Drawn(Static):
    """Stands for the widget of the library, which takes the picture first."""

    def __init__(self, image: Any) -> None:
        super().__init__("drawn")
        self.image = image


class Picture:
    """Stands for a picture that was read."""

    width, height = 300, 400


def with_photographs(app: ShowrunnerApp, *paths: str) -> None:
    piece = replace(app.session.book.piece("01"), photographs=paths)
    app.session.do("prepare", lambda book: book.put("pieces", piece))
    (app.session.path.parent / "front.jpg").write_bytes(b"x")


@pytest.mark.slow
async def test_without_the_extra_it_shows_the_path_and_how_to_get_pictures(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photographs, "find_spec", lambda name: None)
    with_photographs(demo, "front.jpg", "gone[/].jpg")
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "v")
        await pilot.pause()
        assert isinstance(demo.screen, PhotographsDialog)
        said = text_of(pilot, "#said")
        assert said.startswith(f"{demo.session.path.parent / 'front.jpg'}\n")
        assert ".venv/bin/pip install '.[pictures]'" in said
        await pilot.press("down")
        await pilot.pause()
        assert "gone[/].jpg: there is no such file" in text_of(pilot, "#said")
        await pilot.press("escape")
        await pilot.pause()
        assert not isinstance(demo.screen, PhotographsDialog)


async def test_a_piece_without_photographs_says_how_to_add_them(demo: ShowrunnerApp) -> None:
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "v")
        await pilot.pause()
        assert [notice.message for notice in demo._notifications] == [
            "There are no photographs of this piece yet: e adds their paths."
        ]


@pytest.mark.slow
async def test_the_chosen_one_is_drawn_and_trouble_with_the_next_takes_it_away(
    demo: ShowrunnerApp, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read(file: Path) -> Any:
        if file.name == "bad.jpg":
            raise BadInput("this is no picture that can be drawn", str(file))
        return Picture()

    monkeypatch.setattr(photographs, "drawing", lambda app: Drawn)
    monkeypatch.setattr(photographs, "picture", read)
    with_photographs(demo, "front.jpg", "bad.jpg", "front.jpg", "4.jpg", "5.jpg")
    (demo.session.path.parent / "bad.jpg").write_bytes(b"x")
    async with demo.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await pilot.press("1", "v")
        await settle(pilot)
        await settle(pilot)
        drawn = demo.screen.query_one(Drawn)
        assert drawn.size.height > 10
        assert demo.screen.query_one(OptionList).size.height == 4
        await pilot.press("down")
        await settle(pilot)
        await settle(pilot)
        assert "no picture that can be drawn" in text_of(pilot, "#said")
        assert not demo.screen.query(Drawn)
        await pilot.press("down")
        await settle(pilot)
        await settle(pilot)
        assert len(demo.screen.query(Drawn)) == 1


def test_pictures_are_read_upright_and_what_is_none_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("textual_image", reason="the extra 'pictures' is not installed")
    from PIL import Image

    made = Image.new("RGB", (2000, 1000), (200, 30, 60))
    turned = Image.Exif()
    turned[0x0112] = 6  # orientation: to be turned a quarter (Exif 2.32, table 4)
    made.save(tmp_path / "turned.jpg", exif=turned)
    assert picture(tmp_path / "turned.jpg").size == (800, 1600)
    whole = (tmp_path / "turned.jpg").read_bytes()
    (tmp_path / "cut.jpg").write_bytes(whole[: len(whole) // 2])
    (tmp_path / "note.jpg").write_text("no picture")
    (tmp_path / "empty.jpg").write_bytes(b"")
    for name, why in (("cut.jpg", "damaged"), ("note.jpg", "no picture"), ("empty.jpg", "no picture")):
        with pytest.raises(BadInput, match=why):
            picture(tmp_path / name)
    for height in (9_500, 20_000):  # Pillow warns of the one and fails at the other
        Image.new("1", (10_000, height)).save(tmp_path / "vast.png")
        with pytest.raises(BadInput, match="it has more than 89 million pixels"):
            picture(tmp_path / "vast.png")
