"""Backups: no two alike, fewer the older they are, the last of each reason kept, within a cap of size."""

from __future__ import annotations

import random
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from showrunner.demo_book import copy_demo
from showrunner.storage import backups
from showrunner.storage.backups import Backup, add, backups_of, thinned_out

START = date(2023, 1, 1)


DAYS = 4 * 365


def saved_on(every: int) -> set[date]:
    """Every so many days of four years; in the last two months each day, or of what is rare each tenth."""
    last = range(DAYS - 60, DAYS, 1 if every < 10 else 10)
    return {START + timedelta(n) for n in (*range(0, last[0], every), *last)}


def lived(book: Path) -> date:
    """A book saved on most days, with an import now and then; returns the last day."""
    saves, imports = saved_on(3), saved_on(20)
    for day in sorted(saves | imports):
        if day in saves:
            add(book, f"morning {day}".encode(), day, "first save")
        if day in imports:
            add(book, f"import {day}".encode(), day, "before import")
    return max(saves)


@pytest.fixture(autouse=True)
def quickly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without forcing each of a thousand files to the disk."""

    def write(path: Path, data: bytes, **_: Any) -> None:
        path.write_bytes(data)

    monkeypatch.setattr(backups, "write_whole", write)


@pytest.mark.slow
def test_each_day_of_a_month_each_month_of_two_years_then_each_year(tmp_path: Path) -> None:
    book = tmp_path / "book.json"
    today = lived(book)
    for reason, made in (("first save", saved_on(3)), ("before import", saved_on(20))):
        kept = {b.day for b in backups_of(book) if b.reason == reason}
        recent = {day for day in made if (today - day).days < 31}
        assert recent <= kept
        months = {(day.year, day.month) for day in made if day >= date(today.year - 2, today.month, 1)}
        assert months <= {(day.year, day.month) for day in kept}
        assert {day.year for day in made} <= {day.year for day in kept}
        # and no more of them: a month's and a year's edge may fall between two of the spans
        assert len(kept) <= len(recent) + len(months) + 4 + 2
    contents = [b.path.read_bytes() for b in backups_of(book)]
    assert len(set(contents)) == len(contents)


def test_all_of_a_week_are_kept(tmp_path: Path) -> None:
    book = tmp_path / "book.json"
    made = [add(book, f"{n}".encode(), START + timedelta(n // 10), "asked for") for n in range(70)]
    assert list(backups_of(book)) == made
    add(book, b"a day later", START + timedelta(7), "asked for")
    assert [b.number for b in backups_of(book)] == [1, *range(11, 72)]  # of the first day one is left


def test_the_last_before_each_step_outlives_all_later_ones_of_another_reason(tmp_path: Path) -> None:
    book = tmp_path / "book.json"
    add(book, b"old one", START, "before migration")
    add(book, b"old two", START, "before migration")
    for n in range(1, 1200, 3):
        add(book, f"morning {n}".encode(), START + timedelta(n), "first save")
    last = [b for b in backups_of(book) if b.reason == "before migration"][-1]
    assert last.path.read_bytes() == b"old two"


def test_an_old_equal_copy_moves_on_to_the_new_reason(tmp_path: Path) -> None:
    book = tmp_path / "book.json"
    old = add(book, b"same", START, "first save")
    assert add(book, b"same", START + timedelta(6), "before import") == old
    new = add(book, b"same", START + timedelta(7), "before import")
    assert (new.number, new.reason, backups_of(book)) == (2, "before import", (new,))


def test_the_cap_of_size_takes_the_oldest_and_the_last_of_each_reason_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(backups, "MOST_BYTES", 500)
    book = tmp_path / "book.json"
    add(book, b"m" * 100, START, "before migration")
    for n in range(9):
        add(book, f"{n}".encode() * 100, START, "first save")
    assert [(b.number, b.reason) for b in backups_of(book)] == [
        (1, "before migration"),
        *((n, "first save") for n in (7, 8, 9, 10)),
    ]
    huge = add(book, b"h" * 900, START, "asked for")
    assert backups_of(book) == (huge,)  # the newest always stays


def test_thinning_keeps_the_newest_and_drops_nothing_twice() -> None:
    rng = random.Random(3)
    for _ in range(200):
        days = sorted(START + timedelta(rng.randrange(2000)) for _ in range(rng.randrange(1, 40)))
        made = [
            Backup(n, day, rng.choice(("first save", "before import")), Path(f"{n}"), rng.randrange(60_000_000))
            for n, day in enumerate(days, 1)
        ]
        gone = thinned_out(made, days[-1])
        kept = [b for b in made if b not in gone]
        assert made[-1] in kept
        assert sum(b.size for b in kept) <= backups.MOST_BYTES
        assert thinned_out(kept, days[-1]) == ()


@pytest.mark.parametrize(
    ("days", "kept"),
    [
        ((date(2026, 3, 25), date(2026, 3, 25)), 2),  # six days old: all
        ((date(2026, 3, 24), date(2026, 3, 24)), 1),  # seven: one of each day
        ((date(2026, 2, 28), date(2026, 3, 1)), 2),  # thirty: one of each day
        ((date(2026, 2, 27), date(2026, 2, 28)), 1),  # thirty-one: one of each month
        ((date(2024, 2, 5), date(2024, 3, 5)), 2),  # twenty-four months back: one of the month
        ((date(2024, 1, 5), date(2024, 2, 5)), 1),  # beyond: one of the year
        ((date(2023, 12, 5), date(2024, 1, 5)), 2),
    ],
)
def test_the_edges_of_the_spans_of_which_one_is_kept(days: tuple[date, ...], kept: int) -> None:
    today = date(2026, 3, 31)
    made = [Backup(n, day, "asked for", Path(f"{n}"), 1) for n, day in enumerate((*days, today), 1)]
    assert [backup.number for backup in thinned_out(made, today)] == [2][: 2 - kept]


def test_the_commands_tell_the_copy_and_the_space(tmp_path: Path, said: Any) -> None:
    path = tmp_path / "book.json"
    copy_demo(path)
    assert said("--book", path, "restore")[1] == "There are no backups yet.\n"
    assert said("--book", path, "backup")[1].startswith("Backup 1 is ")
    assert said("--book", path, "backup")[1].startswith("The book is kept as it is already: backup 1 is ")
    assert "Together they take 0.1 of at most 200 MB." in said("--book", path, "restore")[1]


def test_one_of_each_month_of_two_years_then_one_of_each_year() -> None:
    """Two copies of a month 24 months ago leave the first; of 25 months ago so does one of each year."""
    today = date(2026, 3, 15)

    def left(*days: date) -> list[date]:
        made = [Backup(n, day, "first save", Path(f"{n}"), 1) for n, day in enumerate((*days, today), 1)]
        gone = thinned_out(made, today)
        return [b.day for b in made[:-1] if b not in gone]

    in_24 = [date(2024, 3, 1), date(2024, 3, 31), date(2024, 4, 1)]
    assert left(*in_24) == [in_24[0], in_24[2]]
    in_25 = [date(2024, 1, 31), date(2024, 2, 1), date(2024, 2, 29), date(2024, 3, 1)]
    assert left(*in_25) == [in_25[0], in_25[3]]
    days = [today - timedelta(n) for n in (31, 30, 7, 7, 6, 6)]
    assert left(*days) == [days[0], days[1], days[2], days[4], days[5]]


def test_a_long_reason_is_cut_as_its_name_is(tmp_path: Path) -> None:
    made = add(tmp_path / "book.json", b"1", START, "Before " + "x" * 80 + "!")
    assert made.reason == "before " + "x" * 53
    assert backups_of(tmp_path / "book.json") == (made,)
    assert add(tmp_path / "book.json", b"2", START, "\u65e5").reason == "kept"


def test_a_copy_that_cannot_be_read_is_no_copy_of_it(tmp_path: Path) -> None:
    made = add(tmp_path / "book.json", b"12", START, "first save")
    made.path.unlink()
    made.path.mkdir()
    size = made.path.stat().st_size
    assert add(tmp_path / "book.json", b"x" * size, START, "first save").number == 2


def test_two_hundred_million_bytes_are_kept_and_not_one_more() -> None:
    """What the commands and the manual say: 200 MB."""

    def kept(*sizes: int) -> list[int]:
        made = [Backup(n, START, "asked for", Path(f"{n}"), size) for n, size in enumerate(sizes, 1)]
        gone = thinned_out(made, START)
        return [backup.number for backup in made if backup not in gone]

    assert kept(1, 99_999_999, 100_000_000) == [1, 2, 3]
    assert kept(1, 100_000_000, 100_000_000) == [2, 3]
    assert kept(1, 300_000_000) == [2]
