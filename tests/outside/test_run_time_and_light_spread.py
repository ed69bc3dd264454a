"""Run time and the spread of light in one frame against handbook values."""

from fractions import Fraction

import pytest

from showrunner.domain.episode import Episode
from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Piece
from showrunner.planning.cues import (
    BLACK,
    CARD,
    DARK_VELVET,
    WHITE,
    reflectance,
    spread_warning,
    stops_between,
)
from showrunner.planning.run_time import clock_words, past_ratio, read_run_time, run_time, speaking_seconds


def test_1500_words_at_150_a_minute_are_ten_minutes() -> None:
    """davidbrookstexas.com, from the National Center for Voice and Speech (about 150 words a minute)."""
    assert speaking_seconds(1_500, 150) == 600


def test_the_slow_end_of_the_speaking_rates_is_used() -> None:
    """Lucas, The Art of Public Speaking (2004), p. 300: 125 to 150 words a minute."""
    assert speaking_seconds(125) == 60
    assert speaking_seconds(125) > speaking_seconds(125, 150)


@pytest.mark.parametrize(
    ("one", "other", "stops"),
    [(WHITE, BLACK, 4.91), (WHITE, CARD, 2.32), (CARD, BLACK, 2.58), (WHITE, DARK_VELVET, 7.49)],
)
def test_stops_between_card_black_and_white(one: float, other: float, stops: float) -> None:
    """Grey card 18%, black 3%, white 90% (zgbk.com; fazendovideo.com.br); dark velvet 0.5% is from memory."""
    assert stops_between(one, other) == pytest.approx(stops, abs=0.005)
    assert stops_between(other, one) == pytest.approx(stops, abs=0.005)


def test_a_black_and_a_white_piece_in_one_frame_are_warned_of() -> None:
    black, white = (
        Piece("1", "Rook", "c", materials=("black silk",)),
        Piece("2", "Robe", "c", materials=("white lawn",)),
    )
    grey, velvet = Piece("3", "Coat", "c", materials=("tweed",)), Piece("4", "Cape", "c", materials=("black velvet",))
    assert "about 4.9 stops" in spread_warning((black, white))
    assert "about 7.5 stops" in spread_warning((white, velvet))
    assert spread_warning((grey, white)) == spread_warning((black, grey)) == spread_warning((grey, grey)) == ""
    assert reflectance(Piece("5", "a", "c")) == CARD


def test_sixty_18_points_15_holds_75_are_12_45() -> None:
    found = run_time(["a short point"] * 18, 15, HouseRules())
    assert (found.opening, found.points, found.holds, found.closing) == (60, 18 * 25, 15 * 12, 75)
    assert clock_words(found.seconds) == "12:45"


def test_a_long_point_takes_the_time_to_speak_it() -> None:
    assert run_time([" ".join(["word"] * 125)], 0, HouseRules()).points == 60


def past(*pairs: tuple[int, int]) -> list[Episode]:
    return [
        Episode(f"e{n}", "t", series="s", pieces=("1",), estimate_seconds=estimate, run_seconds=actual)
        for n, (estimate, actual) in enumerate(pairs)
    ]


def test_the_owners_own_past_corrects_the_estimate_from_three_episodes_on() -> None:
    assert past_ratio(past((600, 900), (600, 660))) == (1, 2)
    assert past_ratio(past((600, 900), (600, 660), (600, 720))) == (Fraction(6, 5), 3)
    assert past_ratio(past((600, 900), (600, 660), (600, 720), (600, 780))) == (Fraction(5, 4), 4)
    assert past_ratio(past((600, 0), (0, 600), (600, 660))) == (1, 1)
    found = run_time(["p"] * 18, 15, HouseRules(), past((600, 900), (600, 660), (600, 720)))
    assert found.seconds == 765 * 6 / 5


@pytest.mark.parametrize(
    ("text", "seconds"), [("12:45", 765), ("1:02:03", 3723), ("", 0), ("0:59", 59), ("125:00", 7500)]
)
def test_run_times_are_read(text: str, seconds: int) -> None:
    assert read_run_time(text) == seconds


@pytest.mark.parametrize("text", ["12", "12:60", "1:2:3", "abc", "-1:00", "٣:٣٠:٠٠"])
def test_other_run_times_are_refused(text: str) -> None:
    from showrunner.errors import BadInput

    with pytest.raises(BadInput, match="write minutes and seconds"):
        read_run_time(text)
