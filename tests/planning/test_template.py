"""The owner's template, and what she wrote herself, held against what changed in the book."""

from __future__ import annotations

import pytest

from showrunner.errors import BadInput
from showrunner.planning.template import Change, changes, check_template, fill, taken

VALUES = {"pieces": "An apron.", "thanks": "Dot and Noor", "page": "", "related": "", "left": ""}


def test_a_paragraph_of_which_nothing_is_known_is_left_out():
    template = "$pieces\n\nMore films\n$page\n$related\n\nThanks to $thanks.\n\nBye."
    assert fill(template, VALUES) == "An apron.\n\nThanks to Dot and Noor.\n\nBye."


def test_a_line_of_which_nothing_is_known_is_left_out_of_its_paragraph():
    template = "All films: $page\n$related\nThanks to $thanks"
    assert fill(template, {**VALUES, "related": "Cray"}) == "Cray\nThanks to Dot and Noor"


def test_what_stands_for_a_name_is_taken_as_it_is():
    assert fill("$pieces", {"pieces": "cost $5 and ${page}"}) == "cost $5 and ${page}"
    assert fill("It cost $$5. $pieces", VALUES) == "It cost $5. An apron."


def test_the_built_in_template_holds_no_unknown_name():
    assert fill("", VALUES) == "An apron.\n\nWith thanks to Dot and Noor."


@pytest.mark.parametrize(
    ("text", "told"), [("$pieces and $peices", "nothing is known for $peices"), ("costs $ 5", "a $ stands by itself")]
)
def test_a_template_that_cannot_be_filled_in_is_refused(text, told):
    with pytest.raises(BadInput) as caught:
        check_template(text)
    assert told in caught.value.sentence()


THEN = "An apron, about 1938.\nOrigin: probably an orchard.\n\nThanks to Dot."
HERS = "My favourite.\n\nAn apron, about 1938.\nOrigin: probably an orchard.\n\nThanks to Dot.\nBye!"


def test_what_changed_is_told_line_by_line():
    now = THEN.replace("about 1938", "1936").replace("Dot.", "Dot and Noor.")
    assert changes(THEN, now) == (
        Change(("An apron, about 1938.",), ("An apron, 1936.",)),
        Change(("Thanks to Dot.",), ("Thanks to Dot and Noor.",)),
    )
    assert changes(THEN, THEN) == ()


def test_what_changed_is_taken_where_her_words_are_still_the_books():
    now = THEN.replace("about 1938", "1936").replace("Dot.", "Dot and Noor.")
    assert taken(HERS, THEN, now) == HERS.replace("about 1938", "1936").replace("Dot.", "Dot and Noor.")


def test_what_she_wrote_in_place_of_the_books_words_stays():
    hers = "An apron from the thirties.\n\nThanks to Dot."
    now = THEN.replace("about 1938", "1936")
    assert taken(hers, THEN, now) == "An apron from the thirties.\n\nThanks to Dot.\n\nAn apron, 1936."


def test_a_new_line_comes_after_the_one_it_follows():
    now = THEN.replace("orchard.\n", "orchard.\nCloth: twill.\n")
    assert taken(HERS, THEN, now) == HERS.replace("orchard.\n", "orchard.\nCloth: twill.\n")


def test_a_line_that_is_gone_goes_from_her_words_too():
    now = THEN.replace("Origin: probably an orchard.\n", "")
    assert "Origin" not in taken(HERS, THEN, now)
    assert "My favourite." in taken(HERS, THEN, now)
