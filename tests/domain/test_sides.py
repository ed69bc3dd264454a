"""The wearer's left and right."""

from __future__ import annotations

import pytest

from showrunner.domain.piece import View
from showrunner.domain.sides import in_picture, wearers

FRONT = (View.FLAT_FACE, View.FORM_FRONT, View.FRONT)
BACK = (View.FLAT_REVERSE, View.FORM_BACK, View.BACK)
NOT_SAID = (*(view for view in View if view not in {*FRONT, *BACK}), None)


def test_each_view_has_the_wearers_left_where_it_is() -> None:
    """Common practice; no published source was found."""
    for view in FRONT:
        assert in_picture("wearer's left cuff", view) == "right"
        assert in_picture("hem, wearer’s right", view) == "left"
    for view in BACK:
        assert in_picture("wearer's left cuff", view) == "left"
    for view in NOT_SAID:
        assert in_picture("wearer's left cuff", view) == ""
    assert {*FRONT, *BACK, *NOT_SAID} == {*View, None}


@pytest.mark.parametrize("where", ["left cuff", "yoke", "", "from wearer's left to wearer's right"])
def test_where_no_one_side_is_named_nothing_is_said(where: str) -> None:
    assert in_picture(where, View.FLAT_FACE) == ""


@pytest.mark.parametrize(
    ("text", "front", "back"),
    [
        ("viewer's left cuff", "wearer's right cuff", "wearer's left cuff"),
        ("cuff on the viewer’s right", "cuff on wearer's left", "cuff on wearer's right"),
        ("left as seen", "wearer's right", "wearer's left"),
        ("left cuff, as seen", "wearer's right cuff", "wearer's left cuff"),
        ("Right hip (as viewed)", "wearer's left hip", "wearer's right hip"),
        ("camera left", "wearer's right", "wearer's left"),
    ],
)
def test_what_the_viewer_sees_is_turned_by_the_view(text: str, front: str, back: str) -> None:
    assert {wearers(text, view) for view in FRONT} == {front}
    assert {wearers(text, view) for view in BACK} == {back}
    assert {wearers(text, view) for view in NOT_SAID} == {text}


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("proper left cuff", "wearer's left cuff"),
        ("Proper Right", "wearer's right"),
        ("PL cuff", "wearer's left cuff"),
        ("cuff, P.R.", "cuff, wearer's right"),
        ("left hip as seen from the back", "wearer's left hip"),
        ("left hip as seen from the front", "wearer's right hip"),
        ("left cuff", "left cuff"),
        ("PLAIN hem", "PLAIN hem"),
        ("pl", "pl"),
        ("wearer's left cuff", "wearer's left cuff"),
        ("wearer's left as seen", "wearer's left as seen"),
    ],
)
def test_what_needs_no_view_is_the_same_in_every_one(text: str, kept: str) -> None:
    assert {wearers(text, view) for view in (*View, None)} == {kept}


@pytest.mark.parametrize("text", ["viewer's left cuff", "PL cuff", "right as seen", "wearer's left cuff"])
def test_reading_twice_is_reading_once(text: str) -> None:
    for view in View:
        assert wearers(wearers(text, view), view) == wearers(text, view)
