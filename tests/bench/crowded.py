"""Crowded books for timing the placing search: three series that compete for slots and hours, from one seed."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

TODAY = date(2026, 3, 2)
MINUTES = (1020, 600, 360)
GAPS = ((3, 6), (2, 3), (1, 2))


def crowded(seed: int, sizes: list[int], weeks: int, factor: float, shared: bool = False) -> dict[str, Any]:
    """A book as an exchange file holds it.

    Args:
        seed: names the book.
        sizes: studies of each series, one to three of them.
        weeks: weeks the studies are meant for.
        factor: working hours over what all studies and the standing content need.
        shared: whether every series may use both weekly slots; else the third has the Wednesdays to itself.
    """
    rng = random.Random(f"{seed}-{sizes}-{weeks}")

    def day(week: int, more: int = 0) -> str:
        return (TODAY + timedelta(days=7 * week + more)).isoformat()

    series: list[Any] = []
    episodes: list[Any] = []
    pieces: list[Any] = []
    needed = 0
    for k, count in enumerate(sizes):
        rules = ["sun", "wed"] if shared else ["sun"] if k < 2 else ["wed"]
        least, wished = GAPS[k]
        series.append(
            {
                "id": f"s{k}",
                "name": f"Series {k}",
                "collection": f"c{k}",
                "rules": rules,
                "min_weeks": least,
                "target_weeks": wished,
                "max_weeks": wished + 6,
                "stages": {"edit": MINUTES[k]},
            }
        )
        for i in range(count):
            episode: dict[str, Any] = {
                "id": f"e{k}-{i}",
                "title": f"Study {k} {i}",
                "series": f"s{k}",
                "pieces": [f"{k}-{i}"],
            }
            pieces.append({"id": f"{k}-{i}", "name": f"Piece {k} {i}", "collection": f"c{k}"})
            needed += MINUTES[k]
            dice = rng.random()
            if dice < 0.1:
                week = rng.randrange(max(1, weeks - 10))
                episode["windows"] = [{"first": day(week), "last": day(week, 70), "hard": True}]
            elif dice < 0.35:
                week = rng.randrange(max(1, weeks - 8))
                episode["windows"] = [{"first": day(week), "last": day(week, 56)}]
            episodes.append(episode)
    per_day = int((factor * needed / weeks + 420) / 6 // 15 * 15)
    dark = [
        {"id": f"d{i}", "first": day(week), "last": day(week, 6), "no_work": i % 2 == 0, "no_publication": True}
        for i, week in enumerate(sorted(rng.sample(range(2, weeks), 3)))
    ]
    rules = [
        {"id": "wed", "name": "wed", "weekday": 2, "at": "18:30", "zone": "UTC", "standing_minutes": 180},
        {"id": "sun", "name": "sun", "weekday": 6, "at": "09:00", "zone": "UTC", "standing_minutes": 240},
    ]
    return {
        "format": "showrunner-exchange",
        "version": 1,
        "key": "00000000-0000-0000-0000-00000000000a",
        "house": {"zone": "UTC", "work_minutes": [per_day] * 6 + [0]},
        "collections": [{"id": f"c{k}", "name": f"Collection {k}"} for k in range(len(sizes))],
        "pieces": pieces,
        "rules": rules,
        "series": series,
        "dark": dark,
        "episodes": episodes,
        "pins": [],
        "publications": [],
    }
