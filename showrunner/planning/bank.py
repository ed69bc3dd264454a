"""The bank: how many coming slots in a row finished episodes cover."""

from __future__ import annotations

from datetime import date, timedelta

from showrunner.domain.book import Book
from showrunner.domain.rules import Board
from showrunner.planning.results import BankCover
from showrunner.planning.slots import expand


def bank_cover(book: Book, today: date, horizon_weeks: int) -> tuple[BankCover, ...]:
    """For every slot rule, the weeks in a row that are covered from the next slot on.

    A slot is covered by a finished unpublished episode planned for it, or by one meant for its rule that
    has no slot yet. A slot that is out already or on which nothing is published needs no cover and is
    passed over.
    """
    board = Board(book)
    out = {(line.rule, line.planned) for line in book.publications}
    found = []
    for rule in book.rules:
        ready = [e for e in book.episodes if e.finished and not e.published]
        placed = {e.slot for e in ready if e.slot}
        loose = sum(e.slot is None and e.rule == rule.id for e in ready)
        weeks, gap = 0, None
        for slot in expand([rule], today, today + timedelta(weeks=horizon_weeks)):
            if board.is_silent(slot.day) or (rule.id, slot.day) in out:
                continue
            if slot.ref not in placed:
                if not loose:
                    gap = slot.day
                    break
                loose -= 1
            weeks += 1
        found.append(BankCover(rule.id, rule.name, weeks, gap))
    return tuple(found)
