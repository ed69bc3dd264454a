"""The record of the slots as text: how they were kept, whether the pace changed, and what could fill the next ones."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from fractions import Fraction

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.titles import quoted
from showrunner.planning.results import BankCover
from showrunner.planning.slot_record import (
    AHEAD_WEEKS,
    KEPT,
    LEAST_GAPS,
    ONE_SIDE,
    EmptySlot,
    Outcome,
    Pace,
    PastSlot,
    RuleRecord,
    Sign,
    Signal,
    SlotRecord,
)
from showrunner.report import clean, clip, heading

CHART_GAPS = 12
"""The last gaps that the chart shows."""
LAPSES = 5
"""The last slots not kept that are named."""
_OUTCOMES = {outcome: outcome.value for outcome in Outcome} | {Outcome.CAME: "filled otherwise"}


def record_text(book: Book, found: SlotRecord, width: int = 80) -> str:
    """The whole record as text, with what is empty ahead.

    Args:
        book: the book.
        found: the record.
        width: columns.
    """
    empty = [heading(f"Empty slots of the next {AHEAD_WEEKS} weeks"), *empty_lines(book, found.empty)]
    return "\n".join([past_text(found, width), "", *empty])


def past_text(found: SlotRecord, width: int = 80) -> str:
    """How the slots were kept, the pace of each series, and what the bank covers; what matters most comes first."""
    parts: list[str] = []
    for pace in found.paces:
        parts += [heading(clean(f"The pace of {pace.name}")), _wrap(pace_words(pace), width), ""]
    parts += [heading("How the slots were kept"), *(_wrap(kept(rule), width) for rule in found.rules), ""]
    parts += [heading("What is ready"), *(_wrap(_bank(bank), width) for bank in found.bank)]
    for rule in found.rules:
        if lapses := [slot for slot in rule.slots if slot.outcome not in KEPT][-LAPSES:]:
            parts += ["", heading(clean(f"Not kept lately: {rule.name}"))]
            parts += [clip(lapse(slot), width) for slot in reversed(lapses)]
    for pace in found.paces:
        if pace.mean is not None:
            parts += ["", heading(clean(f"The gaps of {pace.name}")), chart(pace, width)]
    return "\n".join(parts)


def _wrap(text: str, width: int) -> str:
    return textwrap.fill(clean(text), width, subsequent_indent="  ")


def _bank(bank: BankCover) -> str:
    gap = f"; nothing yet for {words.day(bank.next_gap)}" if bank.next_gap else ""
    return f"{clip(bank.name, 30)}: {words.count(bank.weeks, 'week')} covered{gap}"


def kept(rule: RuleRecord) -> str:
    """How one weekly slot was kept, in a few sentences."""
    if not rule.slots:
        return f"{rule.name}: nothing is on record."
    counts = [f"{rule.count(outcome)} {_OUTCOMES[outcome]}" for outcome in Outcome if rule.count(outcome)]
    told = [f"{rule.name}: of {words.count(len(rule.slots), 'slot')} {words.listing(counts)}."]
    if rule.run.slots:
        told.append(f"{words.count(rule.run.slots, 'slot')} kept in a row up to now.")
    if rule.longest.slots > rule.run.slots and rule.longest.first and rule.longest.last:
        span = f"{words.short_day(rule.longest.first)} to {words.short_day(rule.longest.last)}"
        told.append(f"The most in a row: {rule.longest.slots}, {span}.")
    if rule.gap:
        between = f"{words.short_day(rule.gap.first)} to {words.short_day(rule.gap.last)}"
        told.append(f"The longest gap: {words.weeks(rule.gap.days)}, {between}.")
    return " ".join(told)


def lapse(slot: PastSlot) -> str:
    """A slot that was not kept, on a line."""
    late = f" by {words.weeks(slot.late_days)}" if slot.late_days else ""
    title = f": {clean(slot.titles[0])}" if slot.titles else ""
    return f"{words.short_day(slot.slot.day)}  {_OUTCOMES[slot.outcome]}{late}{title}"


def pace_words(pace: Pace) -> str:
    """Whether the gaps of a series are as they were, in words."""
    vague = f" {words.count(pace.vague, 'study')} without a known day left out." if pace.vague else ""
    if pace.mean is None:
        some = words.count(len(pace.gaps), "gap")
        return f"{some} between known days; from {LEAST_GAPS} on it is told what is usual.{vague}"
    usual = f"{words.number(pace.low / 7)} to {_weeks(pace.high)}" if pace.low else f"up to {_weeks(pace.high)}"
    about = f"The gaps are {_weeks(pace.mean)} on average; {usual} is usual."
    signals = pace.changed_lately
    if signals:
        return f"{about} The pace has changed: {words.listing([_signal(pace, one) for one in signals])}.{vague}"
    last = pace.gaps[-1]
    return f"{about} The last one, {words.weeks(last.days)}, says nothing new.{vague}"


def _signal(pace: Pace, signal: Signal) -> str:
    """A sign of a changed pace as a clause."""
    gap = pace.gaps[signal.at]
    mean = pace.mean or Fraction(0)
    than = "longer" if gap.days > mean else "shorter"
    if signal.sign is Sign.OUTSIDE:
        return f"the gap of {words.weeks(gap.days)} to {words.day(gap.last)} is {than} than usual"
    if signal.sign is Sign.JUMP:
        before = pace.gaps[signal.at - 1]
        return f"it differs by {words.weeks(abs(gap.days - before.days))} from the one before"
    return f"{ONE_SIDE} gaps or more in a row were {than} than the average"


def _weeks(days: Fraction) -> str:
    return f"{words.number(days / 7)} weeks"


def chart(pace: Pace, width: int) -> str:
    """The last gaps, one a line: a mark where each lies between the limits, `!` where it is outside."""
    mean = pace.mean or Fraction(0)
    shown = list(enumerate(pace.gaps))[-CHART_GAPS:]
    most = max([pace.high, *(Fraction(gap.days) for _, gap in shown)])
    room = max(10, min(width, 100) - 32)

    def column(days: Fraction | int) -> int:
        return round(Fraction(days) / most * (room - 1))

    odd = {signal.at for signal in pace.signals}
    lines = []
    for at, gap in shown:
        line = [" "] * room
        for limit in (pace.low, pace.high):
            line[column(limit)] = "┊"
        line[column(mean)] = "│"
        line[column(gap.days)] = "!" if at in odd else "●"
        lines.append(f"{words.short_day(gap.last):<16} {words.short_weeks(gap.days):>10}  {''.join(line)}".rstrip())
    key = "● a gap   ! out of the usual   │ average   ┊ limits of what is usual"
    return "\n".join([*lines, f"{'':<16} {'':>10}  {key}" if room >= len(key) else key])


def empty_lines(book: Book, found: Sequence[EmptySlot]) -> list[str]:
    """Empty slots, a line each, with the filler that could go there."""
    if not found:
        return ["None: each has something with a name."]
    lines = [
        clip(f"{words.short_day(one.slot.day):<16} {clip(clean(one.name), 20):<20} {offer_words(book, one)}", 80)
        for one in found
    ]
    if not any(one.offer for one in found):
        lines.append("The pool of ideas is empty.")
    return lines


def offer_words(book: Book, one: EmptySlot) -> str:
    """The filler that could go into an empty slot."""
    if one.offer is None:
        return "·"
    study = book.find("episodes", one.offer.idea_of) if one.offer.idea_of else None
    come = f", from {quoted(clean(study.title))}" if study else ""
    return f"{'in the bank' if one.offer.finished else 'idea'}: {clean(one.offer.title)}{come}"


def warnings(found: SlotRecord) -> list[str]:
    """What a script would want to know: series whose pace has changed."""
    return [pace_words(pace) for pace in found.paces if pace.changed_lately]
