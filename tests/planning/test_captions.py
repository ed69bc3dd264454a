"""Captions as they come: faults that libraries meet by losing a cue without a word."""

from __future__ import annotations

import films
import pytest

from showrunner.errors import BadInput
from showrunner.planning.captions import read_captions


def read(text: str | bytes, name: str = "film.vtt"):
    return read_captions(text.encode() if isinstance(text, str) else text, name)


def said(text: str | bytes) -> str:
    return " ".join(word.text for word in read(text).words)


GOOD = "WEBVTT\n\n00:01.000 --> 00:03.000\nthe hem\n\n00:00:04.000 --> 00:00:06.000\nis deep\n"


def test_a_plain_file():
    found = read(GOOD)
    assert [(c.start, c.end, c.text) for c in found.cues] == [(1.0, 3.0, "the hem"), (4.0, 6.0, "is deep")]
    assert [(w.text, round(w.at, 2), w.cue) for w in found.words] == [
        ("the", 1.0, 0),
        ("hem", 2.0, 0),
        ("is", 4.0, 1),
        ("deep", 4.67, 1),
    ]
    assert (found.arrows, found.lost, found.end, found.hours_taken_off) == (2, 0, 6.0, 0)


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace(".000", ",000"),  # commas in WebVTT
        GOOD.replace("WEBVTT\n\n", ""),  # no header
        "1\n" + GOOD.replace("WEBVTT\n\n", "").replace("00:00:04", "2\n00:00:04"),  # SubRip's numbers
        GOOD.replace("00:00:04", "intro\n00:00:04"),  # an id
        GOOD.replace(".000", ""),  # no fractions
        GOOD.replace("\n", "\r\n"),
        GOOD.replace("\n", "\r"),
        "junk before\n\n" + GOOD,
        GOOD.replace("the hem", "<v Posy><i>the</i> hem</v>").replace("is deep", "[Music] is &amp;&nbsp;deep"),
        GOOD.replace("the hem", ">> the hem").replace("is deep", "is ♪ deep"),
        GOOD.replace("--> 00:03.000", "-->00:03.000 align:start position:0%"),
        GOOD.replace("WEBVTT", "WEBVTT - film\nKind: captions\n\nSTYLE\n::cue { color: lime }\n\nNOTE\nnothing to say"),
        GOOD.replace("\n\n00:00:04", "\n\nNOTE a remark\n\n00:00:04"),
        GOOD.replace("the hem", "the\nhem"),
        GOOD.replace("the hem\n", "the\n\nhem\n"),  # a blank line inside a cue
    ],
)
def test_a_file_that_is_not_quite_right_says_the_same(text):
    assert said(text) == "the hem is deep"
    assert read(text).lost == 0


@pytest.mark.parametrize("coding", ["utf-8-sig", "utf-16", "cp1252"])
def test_codings(coding):
    assert said(GOOD.replace("deep", "piqué").encode(coding)) == "the hem is piqué"


def test_half_a_second_is_not_five_thousandths():
    assert read("00:00:01,5 --> 00:00:02,25\nhem\n").cues[0].start == 1.5


def test_cues_that_cannot_be_read_are_counted():
    found = read(GOOD + "\n00:07 -> 00:08\nlost\n\nmoments --> later\nlost too\n")
    assert found.lost == 1  # an arrow that is short is read; one without times is not
    assert [c.start for c in found.cues] == [1.0, 4.0, 7.0]


def test_cues_out_of_order_are_put_in_order_and_one_that_ends_too_early_lasts_no_time():
    text = "00:09.000 --> 00:08.000\nlast\n\n00:01.000 --> 00:02.000\nfirst\n"
    found = read(text)
    assert [(c.start, c.end, c.text) for c in found.cues] == [(1.0, 2.0, "first"), (9.0, 9.0, "last")]


def test_a_clock_that_begins_at_one_hour_is_put_back():
    found = read(GOOD.replace("00:01.000 --> 00:03", "01:00:01.000 --> 01:00:03").replace("00:00:0", "01:00:0"))
    assert (found.cues[0].start, found.end, found.hours_taken_off) == (1.0, 6.0, 1)


def test_a_repeated_word_between_cues_apart_was_said_twice():
    assert said("00:01.000 --> 00:02.000\nvery very\n\n00:03.000 --> 00:04.000\nvery old\n") == "very very very old"


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "no times are in it"),
        (b"The hem is deep and there are no times at all.\n", "no times are in it"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "no times are in it"),
        (b"WEBVTT\n\n00:01.000 --> 00:03.000\n[Music]\n", "its cues hold no words"),
    ],
)
def test_what_is_no_captions_file_is_refused_in_one_sentence(data, told):
    with pytest.raises(BadInput) as caught:
        read(data, "film.vtt")
    assert told in caught.value.sentence() and caught.value.sentence().startswith("film.vtt: ")


@pytest.mark.parametrize("form", films.FORMS)
@pytest.mark.parametrize("study", films.studies(), ids=lambda study: study.id)
def test_every_form_gives_the_words_as_they_were_spoken(form, study):
    film = films.invented(study, 5, minutes=8)
    found = read_captions(films.FORMS[form](film), form)
    texts = [word.text for word in found.words]
    spoken = [word for text, _ in film.words for word in text.split()]
    assert found.lost == 0
    assert abs(len(texts) - len(spoken)) <= 3
    if texts == spoken:
        times = [at for text, at in film.words for _ in text.split()]
        far = [abs(word.at - at) for word, at in zip(found.words, times, strict=True)]
        assert max(far) < (5 if form == "blocks.srt" else 0.7)
    else:
        assert form == "rolling.vtt"  # a line that begins as the last one ended
