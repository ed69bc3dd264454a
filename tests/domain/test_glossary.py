"""The words on the screens in plain English."""

from __future__ import annotations

import re

import pytest

from showrunner.domain.glossary import GLOSSARY, Where, found, words_on

TRADE_WORDS = (
    "book piece collection feature point claim study filler series slot dark pin plan offer unevenness window bank "
    "spare touch set-up shot take view kind package gate pickup discovery slip run-out want"
)
"""The words that the screens use in a sense of their own."""

PROGRAMMERS_WORDS = r"\b(EDTF|JSON|id|ids|UTF|parse[sd]?|schema|null|index|string|integer|field|boolean|regex|query)\b"


def test_every_trade_word_is_explained() -> None:
    explained = {word for term in GLOSSARY for word in term.word.split(", ")}
    assert set(TRADE_WORDS.split()) <= explained


def test_the_words_stand_in_the_order_of_the_alphabet_each_once() -> None:
    words = [term.word for term in GLOSSARY]
    assert words == sorted(set(words))


@pytest.mark.parametrize("term", GLOSSARY, ids=lambda term: term.word)
def test_each_is_told_in_plain_short_sentences(term) -> None:
    assert term.where
    assert re.fullmatch(r"[A-Z].*[.]", term.meaning)
    assert len(term.meaning) < 180
    assert not re.search(PROGRAMMERS_WORDS, term.meaning)


def test_words_are_found_by_a_part_first_the_words_then_the_meanings() -> None:
    assert next(term.word for term in found("TOUCH")) == "touch"
    assert {"touch", "gate"} <= {term.word for term in found("touch")}
    assert found("") == GLOSSARY
    assert not found("zzz")
    assert [term.word for term in found("slip", words_on(Where.WANTS))] == []
    assert len(found("a")) == len(set(found("a")))


def test_the_command_says_them(said) -> None:
    code, out, _ = said("words")
    assert (code, out.count(": ") >= len(GLOSSARY)) == (0, True)
    assert said("words", "ready", "by")[1].startswith("ready by: The day by which")
    assert said("words", "zzz") == (2, "", "words: no word here holds 'zzz'; leave it out to see all.\n")
