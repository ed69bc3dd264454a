"""What is said of a slip rate: how sure it is, what it rests on, and what it allows for."""

from __future__ import annotations

import pytest

from showrunner.planning.results import SlipRate
from showrunner.planning.slips import SPELL_BEGINS, SPELL_ENDS
from showrunner.report import rate_brief, rate_words

SPELLS = "allows for slips that come together: a bad spell of some six weeks about every two and a half years."


def rate(late: int, recorded: int, own_late: int, own_recorded: int, *, given: bool = False) -> SlipRate:
    return SlipRate(0.05, 0.012, 0.101, late, recorded, own_late, own_recorded, given)


@pytest.mark.parametrize(
    ("told", "rests_on"),
    [
        (
            rate(9, 327, 3, 35),
            "Rests on the series' 35 studies on record (3 late or missed), drawn towards all 327 lines of the "
            "record (9) while they are few",
        ),
        (
            rate(9, 327, 0, 4),
            "Rests on the series' 4 studies on record (0 late or missed), drawn towards all 327 lines of the "
            "record (9) while they are few; mostly the rate of all lines",
        ),
        (
            rate(1, 20, 0, 0),
            "Rests on all 20 lines of the record (1 late or missed), none of them a study of this series",
        ),
        (rate(0, 0, 0, 0), "Rests on no record yet, so it is even odds"),
    ],
)
def test_a_rate_of_the_record_says_what_it_rests_on(told: SlipRate, rests_on: str) -> None:
    assert rate_words(told) == f"5.0%, 80% between 1.2% and 10.1%. {rests_on}, and {SPELLS}"


def test_five_studies_are_enough_to_say_no_more() -> None:
    assert "mostly" in rate_words(rate(9, 327, 0, 4))
    assert "mostly" not in rate_words(rate(9, 327, 0, 5))


def test_a_rate_that_is_given_says_that_it_is_fixed() -> None:
    assert rate_words(rate(9, 327, 3, 35, given=True)) == (
        "a fixed rate of 5% as asked for, without bad spells; on record 3 late or missed of 35 studies, "
        "9 of 327 lines in all (80% between 1.2% and 10.1%)."
    )


def test_the_words_of_a_spell_are_its_figures() -> None:
    assert pytest.approx(6) == 1 / SPELL_ENDS
    assert pytest.approx(2.5) == 1 / SPELL_BEGINS / 52


@pytest.mark.parametrize(
    ("told", "where_from"),
    [
        (rate(9, 327, 3, 35), "; by the record: 3 of 35 studies and 9 of all 327 lines late."),
        (rate(1, 20, 0, 0), "; by the record: 1 of all 20 lines late, none of this series."),
        (rate(0, 0, 0, 0), "; a guess, for nothing is on record yet."),
    ],
)
def test_in_brief_it_is_the_rate_the_interval_and_where_it_comes_from(told: SlipRate, where_from: str) -> None:
    assert rate_brief(told) == f"5.0%, 80% between 1.2% and 10.1%{where_from}"


def test_in_brief_a_rate_that_is_given_says_so() -> None:
    given = rate_brief(rate(9, 327, 3, 35, given=True))
    assert given == "5%, as asked for; by the record 80% between 1.2% and 10.1%."
