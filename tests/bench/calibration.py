"""How well the forecast of a series' end is calibrated, over simulated habits of which the model knows only a record.

Run `python tests/bench/calibration.py` (`--habits 300` for finer figures, `--lines 20-100` for other records). Each
habit has a rate drawn from Beta(1.2, 6), a record of two lines a week, one study in six lines, and a true end that
is simulated slot by slot. For every row it prints, by today's model and by one rate of all lines without spells
(the same habits for both):

- coverage: how often the true end lies between the 10% and the 90% end; the aim is 80%. An end that falls on a day of
  the step is counted by chance, as far as the step lies inside (the randomised probability integral transform;
  Czado, Gneiting and Held 2009, "Predictive model assessment for count data", from memory).
- width: weeks from the 10% to the 90% end, on average.
- CRPS: the continuous ranked probability score in weeks, lower is better; the sum over the steps of the distribution
  (Gneiting and Raftery 2007, "Strictly proper scoring rules, prediction, and estimation", from memory).
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT)]

from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.publication import Publication
from showrunner.planning.sliprate import habit, slip_rate
from showrunner.planning.slips import Habit, Slips, steady

WEEKS = 260
"""Weeks looked at; an end beyond them counts as the last one, in the forecast and in truth."""

SERIES = "series"
"""Id of the series in the records."""

TODAY = date(2026, 3, 2)

Fails = Callable[[int, bool], float]
"""Chance that a try fails, by week (today is 0, the record lies before) and whether it is a study's."""


def as_modelled(rate: float, random: Random) -> Fails:
    """Every try fails with the same chance, independently."""
    return lambda week, study: rate


def bad_spells(rate: float, random: Random) -> Fails:
    """Spells of six weeks on average begin about once a year; 85% of the tries in them fail."""
    bad, weeks = False, []
    for _ in range(2 * WEEKS):
        bad = random.random() >= 1 / 6 if bad else random.random() < 1 / 52
        weeks.append(bad)
    return lambda week, study: max(rate, 0.85) if weeks[week + WEEKS] else rate


def twice_as_bad(rate: float, random: Random) -> Fails:
    """From today on, tries fail twice as often as before."""
    return lambda week, study: rate if week < 0 else min(0.9, 2 * rate)


def redrawn(rate: float, random: Random) -> Fails:
    """From today on the habit is another one, of which the record tells nothing."""
    other = random.betavariate(1.2, 6)
    return lambda week, study: rate if week < 0 else other


def hiatus(rate: float, random: Random) -> Fails:
    """At some time in the coming two years nothing comes out for eight weeks."""
    first = random.randrange(104)
    return lambda week, study: 1.0 if first <= week < first + 8 else rate


def studies_worse(rate: float, random: Random) -> Fails:
    """Studies fail three times as often as filler."""
    return lambda week, study: min(0.9, 3 * rate) if study else rate


HABITS = (as_modelled, bad_spells, twice_as_bad, redrawn, hiatus, studies_worse)


@dataclass(frozen=True)
class Shape:
    """How the studies are planned."""

    name: str
    studies: int
    least: int
    """Least weeks between them."""
    wished: int
    """Weeks between their planned slots."""

    def planned(self) -> tuple[int, ...]:
        return tuple(range(self.wished - 1, self.wished * self.studies, self.wished))


SHAPES = (Shape("with slack: 6 studies, gaps 4, planned 6", 6, 4, 6), Shape("without: 12 studies, gaps 2", 12, 2, 2))


def record(fails: Fails, lines: int, random: Random) -> list[Publication]:
    """The record of a habit: two lines a week before today, each tried week by week until it came out."""
    found = []
    for number in range(lines):
        week, study = -(lines + 1) // 2 + number // 2, random.randrange(6) == 0
        late = 0
        while random.random() < fails(week + late, study) and late < 30:
            late += 1
        planned = TODAY + timedelta(weeks=week, days=number % 2)
        came = FuzzyDate.exact(planned + timedelta(weeks=late))
        found.append(Publication(str(number), "x", str(number % 2), planned, came, series=SERIES if study else ""))
    return found


def true_end(fails: Fails, shape: Shape, random: Random) -> int:
    """The week in which the last study airs."""
    week = 0
    for number, wish in enumerate(shape.planned()):
        week = max(wish, week + shape.least) if number else wish
        while week < WEEKS and random.random() < fails(week, True):
            week += 1
    return min(week, WEEKS)


def forecast(law: Habit, shape: Shape) -> list[float]:
    """The chance that the last study has aired by each week; 1 by the last of them."""
    slips = Slips(range(WEEKS), range(0, 7 * WEEKS, 7), 7 * shape.least, law)
    end = slips.airs(shape.planned())[-1]
    total, found = 0.0, []
    for week in range(WEEKS):
        total += end.get(week, 0.0)
        found.append(total)
    return [*found, 1.0]


@dataclass
class Score:
    """Scores of one model over habits."""

    inside: int = 0
    width: float = 0.0
    crps: float = 0.0

    def add(self, by: Sequence[float], end: int, luck: float) -> None:
        """Count one true end.

        Args:
            by: chance of the end by each week.
            end: week of the true end.
            luck: where in its step the true end is taken to lie, from 0 to 1.
        """
        before = by[end - 1] if end else 0.0
        self.inside += 0.1 <= before + luck * (by[end] - before) <= 0.9
        ten, ninety = (next(week for week, chance in enumerate(by) if chance >= q - 1e-12) for q in (0.1, 0.9))
        self.width += ninety - ten
        self.crps += sum((chance - (week >= end)) ** 2 for week, chance in enumerate(by))


def row(make: Callable[[float, Random], Fails], shape: Shape, lines: tuple[int, int], habits: int, seed: int) -> str:
    """The figures of one habit, for both models."""
    ours, plain = Score(), Score()
    for number in range(habits):
        random = Random(f"{seed} {make.__name__} {number}")
        fails = make(random.betavariate(1.2, 6), random)
        known = record(fails, random.randint(*lines), random)
        end, luck = true_end(fails, shape, random), random.random()
        rate = slip_rate(known, SERIES)
        ours.add(forecast(habit(rate), shape), end, luck)
        plain.add(forecast(steady((rate.late + 0.5) / (rate.recorded + 1)), shape), end, luck)
    figures = "".join(
        f"{score.inside / habits:>10.2f}{score.width / habits:>7.1f}{score.crps / habits:>7.2f}"
        for score in (ours, plain)
    )
    return f"{make.__name__.replace('_', ' '):<18}{figures}"


def main() -> None:
    parser = argparse.ArgumentParser(description="Calibration of the forecast of the end.")
    parser.add_argument("--habits", type=int, default=100, help="habits for each row (100)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--lines", action="append", help="lines of the record, like 20 or 20-100; 5, 20 and 300")
    asked = parser.parse_args()
    started = time.process_time()
    print(f"seed {asked.seed}, {asked.habits} habits a row; standard error of a coverage {0.4 / asked.habits**0.5:.2f}")
    for shape in SHAPES:
        for text in asked.lines or ("5", "20", "300"):
            low, _, high = text.partition("-")
            print(f"\n{shape.name}; record of {text} lines")
            print(f"{'':<18}{'covered':>10}{'width':>7}{'CRPS':>7}{'one rate':>10}{'width':>7}{'CRPS':>7}", flush=True)
            for make in HABITS:
                print(row(make, shape, (int(low), int(high or low)), asked.habits, asked.seed), flush=True)
    print(f"\n{time.process_time() - started:.0f} processor seconds")


if __name__ == "__main__":
    main()
