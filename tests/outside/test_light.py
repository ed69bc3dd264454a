"""Light against published classes and worked examples."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest

from showrunner.domain.house import HouseRules
from showrunner.domain.piece import Exposure, Piece
from showrunner.planning.light import PUBLISHED, Light, class_of, dose, light_of, used_in


def test_the_published_classes() -> None:
    """CIE 157:2004 as applied: National Gallery, open data of its lux allowance calculator (2023)."""
    assert {c.name: c.limit_lux_hours for c in PUBLISHED} == {"high": 15_000, "medium": 150_000, "low": 600_000}


def test_a_piece_of_unknown_class_counts_as_the_most_sensitive() -> None:
    """Canadian Conservation Institute (Michalski): most plant and early aniline dyes are high; unknown is high."""
    house = HouseRules()
    assert class_of(Piece("1", "a", "c"), house).name == "high"
    assert class_of(Piece("1", "a", "c", light="medium"), house).limit_lux_hours == 150_000
    assert class_of(Piece("1", "a", "c", light="no such class"), house).name == "high"


def test_the_dose_of_ten_looks_of_five_minutes() -> None:
    """CCAHA guideline: 50 lx x (0.083 h x 10) is 41.5 lux hours, with 5 minutes rounded; exactly it is 41.67."""
    assert dose(50, Fraction("0.083") * 10 * 3600) == Fraction("41.5")
    assert float(dose(50, 10 * 5 * 60)) == pytest.approx(41.67, abs=0.005)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ((100, 3 * 168), (300, 168)),  # NISO exhibition standard, by way of Preservation 101: 3 weeks and 1 week
        ((50, 10), (250, 2)),  # a lighting maker's handbook page on exhibits (erco.com)
    ],
)
def test_equal_doses_at_unequal_levels(one: tuple[int, int], other: tuple[int, int]) -> None:
    assert dose(one[0], one[1] * 3600) == dose(other[0], other[1] * 3600)


@pytest.mark.parametrize(("lux", "hours"), [(500, 30), (1_000, 15), (2_000, Fraction("7.5"))])
def test_how_long_a_year_of_light_lasts(lux: int, hours: Fraction) -> None:
    """Worked from the class limit: 15,000 lux hours are 30 h at 500 lx, 15 h at 1,000, 7.5 h at 2,000."""
    assert Light("1", "high", 15_000, 0, lux, 0).minutes_left == hours * 60


def test_two_hours_at_1500_lux_after_12600() -> None:
    piece = Piece(
        "1", "frock", "c", exposures=(Exposure(date(2026, 2, 1), 12_600), Exposure(date(2025, 12, 31), 9_000))
    )
    found = light_of(piece, HouseRules(), 2026, 1_500, 2 * 3600)
    assert (found.used, found.planned, found.exceeds_by, found.minutes_left) == (12_600, 3_000, 600, 96)


def test_a_shoot_of_its_own_counts_once() -> None:
    piece = Piece(
        "1", "a", "c", exposures=(Exposure(date(2026, 2, 1), 100, 3, "", "shoot-1"), Exposure(date(2026, 3, 1), 50))
    )
    assert used_in(piece, 2026) == 150
    assert used_in(piece, 2026, without="shoot-1") == 50
    assert used_in(piece, 2026, without="") == 150


@pytest.mark.parametrize("lux", [0, -1, 10**9])
def test_a_light_no_meter_shows_is_refused(lux: int) -> None:
    from showrunner.errors import BadInput

    with pytest.raises(BadInput, match="cannot be filmed by"):
        light_of(Piece("1", "a", "c"), HouseRules(), 2026, lux, 60)


def test_the_studio_of_today_and_the_lamps_of_the_house() -> None:
    """TV studios now have 45 to 65 footcandles, 484 to 700 lx (tvtechnology.com); the house begins in between."""
    footcandle = Decimal("10.764")
    assert 45 * footcandle <= HouseRules().lamp_lux + 1 <= 65 * footcandle
