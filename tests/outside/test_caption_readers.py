"""Captions held against two independent readers, on files that these read whole.

Where they lose a cue without a word, `tests/planning/test_captions.py` holds ours to the words.
"""

from __future__ import annotations

import io

import films
import pytest
import srt
import webvtt

from showrunner.planning.captions import read_captions

STUDY = films.studies()[0]
FILM = films.invented(STUDY, 3, minutes=6)


def test_a_reader_of_subrip_sees_the_same_cues():
    data = films.as_blocks(FILM)
    theirs = list(srt.parse(data.decode("utf-8-sig").replace("\r\n", "\n")))
    ours = read_captions(data, "film.srt").cues
    assert len(theirs) == len(ours) > 50
    for one, two in zip(theirs, ours, strict=True):
        assert one.start.total_seconds() == pytest.approx(two.start, abs=0.001)
        assert one.end.total_seconds() == pytest.approx(two.end, abs=0.001)
        plain = one.content.replace("<i>", "").replace("</i>", "").replace("[Music]", "")
        assert plain.split() == two.text.split()


@pytest.mark.parametrize("form", ["words.vtt", "rolling.vtt"])
def test_a_reader_of_webvtt_sees_the_same_cues(form):
    data = films.FORMS[form](FILM)
    theirs = webvtt.from_buffer(io.StringIO(data.decode())).captions
    found = read_captions(data, form)
    ours = found.cues
    shift = 3600 * found.hours_taken_off
    assert len(theirs) == len(ours) > 50
    for one, two in zip(theirs, ours, strict=True):
        assert one.start_in_seconds == int(two.start + shift + 0.0005)  # it tells whole seconds
        assert one.text.split() == two.text.split()
