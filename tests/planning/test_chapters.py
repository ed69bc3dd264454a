"""Chapters: what is wrong with a row of them, and the three forms they are written in, to the letter."""

from __future__ import annotations

from dataclasses import replace

import pytest

from showrunner.domain.house import HouseRules
from showrunner.domain.package import Chapter, Part
from showrunner.errors import BadInput
from showrunner.planning.chapters import (
    Flaw,
    chapter_lines,
    fault_words,
    faults_of,
    ffmetadata,
    read_chapters,
    webvtt,
)

HOUSE = HouseRules()
GOOD = (Chapter(0, "Opening"), Chapter(10, "Inside"), Chapter(95, "What was found"))


def flaws(chapters, end=120, house=HOUSE):
    return [(fault.flaw, fault.at, fault.seconds) for fault in faults_of(chapters, end, house)]


def test_nothing_is_wrong_with_good_chapters_nor_with_none():
    assert flaws(GOOD) == []
    assert flaws(()) == []
    assert flaws(GOOD, 105) == []  # the last one has exactly ten seconds
    assert flaws(GOOD, 0) == []  # the end is not known


@pytest.mark.parametrize(
    ("chapters", "end", "found"),
    [
        (GOOD[:2], 120, [(Flaw.FEW, 1, 0)]),
        ((replace(GOOD[0], seconds=4), *GOOD[1:]), 120, [(Flaw.START, 0, 4), (Flaw.SHORT, 0, 4)]),
        ((GOOD[0], GOOD[2], GOOD[1]), 120, [(Flaw.ORDER, 2, 85)]),
        ((GOOD[0], GOOD[1], GOOD[1]), 120, [(Flaw.ORDER, 2, 0)]),
        ((GOOD[0], replace(GOOD[1], seconds=9), GOOD[2]), 120, [(Flaw.SHORT, 0, 1)]),
        (GOOD, 104, [(Flaw.SHORT, 2, 1)]),
        (GOOD, 95, [(Flaw.PAST_END, 2, 0)]),
        (GOOD, 90, [(Flaw.PAST_END, 2, 5)]),
    ],
)
def test_what_is_wrong_is_named_with_its_number(chapters, end, found):
    assert flaws(chapters, end) == found
    for fault in faults_of(chapters, end, HOUSE):
        assert "  " not in fault_words(fault, chapters, HOUSE)


def test_the_least_number_and_length_are_house_rules():
    house = replace(HOUSE, least_chapters=2, chapter_seconds=5)
    assert flaws((Chapter(0, "a"), Chapter(5, "b")), 10, house) == []
    assert flaws((Chapter(0, "a"), Chapter(4, "b")), 10, house) == [(Flaw.SHORT, 0, 1)]


def test_plain_lines():
    long = (*GOOD, Chapter(3723, "Late\nremarks"))
    assert chapter_lines(long) == "0:00 Opening\n0:10 Inside\n1:35 What was found\n1:02:03 Late remarks"


def test_webvtt_to_the_letter():
    # W3C WebVTT: the header, a blank line; hours of two digits, three decimals after a point; the cues one after the
    # other; `-->` in no text, & and < escaped.
    chapters = (Chapter(0, "Opening"), Chapter(3600, "Rook --> Pippin & <co>\nagain"))
    assert webvtt(chapters, 3661) == (
        "WEBVTT\n"
        "\n"
        "00:00:00.000 --> 01:00:00.000\n"
        "Opening\n"
        "\n"
        "01:00:00.000 --> 01:01:01.000\n"
        "Rook --&gt; Pippin &amp; &lt;co&gt; again\n"
    )


def test_ffmetadata_to_the_letter():
    # FFmpeg metadata.texi: the first line, a unit of time, a start and an end in each chapter, five signs escaped.
    chapters = (Chapter(0, "a=b; #1 \\ c"), Chapter(60, "two\nlines"))
    assert ffmetadata(chapters, 90, "The apron; part=1") == (
        ";FFMETADATA1\n"
        "title=The apron\\; part\\=1\n"
        "[CHAPTER]\nTIMEBASE=1/1000\nSTART=0\nEND=60000\ntitle=a\\=b\\; \\#1 \\\\ c\n"
        "[CHAPTER]\nTIMEBASE=1/1000\nSTART=60000\nEND=90000\ntitle=two\\\nlines\n"
    )


def test_chapters_are_read_as_people_type_them():
    typed = "0:00 Opening\n\n 12:45 - Inside\n1:02:03  Findings: two\n"
    assert [(c.seconds, c.title) for c in read_chapters(typed)] == [
        (0, "Opening"),
        (765, "Inside"),
        (3723, "Findings: two"),
    ]
    assert read_chapters(chapter_lines(GOOD)) == GOOD


def test_a_renamed_chapter_keeps_what_was_heard_there():
    known = (Chapter(0, "Lying flat", "so here it lies flat", Part.FLAT),)
    (renamed,) = read_chapters("0:00 Flat", known)
    assert renamed == Chapter(0, "Flat", "so here it lies flat", Part.FLAT)
    (moved,) = read_chapters("0:10 Flat", known)
    assert moved == Chapter(10, "Flat")


@pytest.mark.parametrize(("line", "told"), [("Opening", "is no time and title"), ("1:75 Inside", "is no time")])
def test_a_line_that_is_no_chapter_is_named(line, told):
    with pytest.raises(BadInput) as caught:
        read_chapters(f"0:00 Opening\n{line}")
    assert told in caught.value.sentence()
    assert "line 2" in caught.value.sentence()
