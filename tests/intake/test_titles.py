"""Matching on three hundred invented titles in ten habits of naming: nothing sure is wrong, nine of ten are found."""

from collections import Counter

import pytest
from titles_of_habits import pieces, tally, told

HALVES = ("writing", "kept")


def test_the_titles_are_as_many_as_they_should_be() -> None:
    assert len(pieces()) == 120
    for half in HALVES:
        habits = Counter(one.habit for one in told(half))
        assert set(habits.values()) == {15}
        assert len(habits) == 10
    by_id = {piece.id for piece in pieces()}
    assert all((one.truth or set()) <= by_id for half in HALVES for one in told(half))


@pytest.mark.parametrize("days", [True, False], ids=["days", "no days"])
@pytest.mark.parametrize("half", HALVES)
def test_nothing_sure_is_wrong_and_nine_of_ten_are_found(half: str, days: bool) -> None:
    by_habit = tally(half, days=days)
    if not days:
        assert by_habit.pop("date")["found"] == 0
    count = sum(by_habit.values(), Counter[str]())
    known = count["found"] + count["offered"] + count["missed"]
    assert known >= 105
    assert count["wrong"] == 0
    assert count["found"] >= 0.9 * known
    assert count["noise"] <= 6
