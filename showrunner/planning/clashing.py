"""Promises that no plan can keep together: a set of them, with the rules and the hours, of which none can be left out.

What contradicts itself without a search is told by `domain.promises`; here a placement is sought for what is left.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.promises import clashes
from showrunner.domain.rules import Member, Rule, relaxed, windows_words
from showrunner.domain.titles import pin_words, quoted, slot_words, title_of
from showrunner.errors import Contradiction
from showrunner.planning.candidates import candidates
from showrunner.planning.problem import Problem
from showrunner.planning.results import Clash
from showrunner.planning.search import solve
from showrunner.planning.solving import Question, framed

MOST_MINUTES = 10**6
"""Extra minutes beyond which more hours are of no use; about two years, day and night."""


SOONER = 8
"""Weeks by which a plan is begun sooner, to see whether the day it begins on takes part in a clash."""


def static_clashes(book: Book, ask: Question) -> tuple[Clash, ...]:
    """Promises that contradict each other, or that today, the horizon or the calendar have overtaken.

    Of two clashes of which one holds all of the other, only the smaller is told.
    """
    told = [_as_clash(found) for found in clashes(book, recorded=True)] + _overtaken(book, ask)
    members = [frozenset(clash.members) for clash in told]
    return tuple(c for c, mine in zip(told, members, strict=True) if not any(other < mine for other in members))


def _as_clash(found: Contradiction) -> Clash:
    members = tuple(member for member in found.members if isinstance(member, Member))
    return Clash(found.sentence(), found.parties, members)


def _overtaken(book: Book, ask: Question) -> list[Clash]:
    """Promised dates before today, or beyond the weeks looked at."""
    found = []
    last = ask.today + timedelta(weeks=ask.horizon_weeks)
    placed = {study.key for study in candidates(book, ask.unsure)[0]}
    for pin in book.pins:
        if pin.slot is None or not placed.issuperset(pin.episodes):
            continue
        if pin.slot.day < ask.today:
            rule, why = Rule.TODAY, "which is past; publish it or unpin it"
        elif pin.slot.day > last:
            weeks = words.count(ask.horizon_weeks, "week")
            rule, why = Rule.HORIZON, f"which is beyond the {weeks} looked at; look further or unpin it"
        else:
            continue
        (study,) = pin.episodes
        title = quoted(title_of(book, study))
        text = f"{title} is promised for {slot_words(book, pin.slot)}, {why}."
        found.append(Clash(text, (study, pin.id), (Member(Rule.DATE, pin.id), Member(rule))))
    return found


def smallest_clash(
    book: Book, ask: Question, *, time_limit: float | None = None, ticker: Callable[[], float] | None = None
) -> Clash | None:
    """A set of promises, rules and hours that no plan can keep together; without any one of them, one could.

    Each member is taken out in turn, for good if the rest still clashes.

    Args:
        book: a book whose best plan breaks a promise.
        ask: what was asked.
        time_limit: seconds; what cannot be tried in time stays in the set.
        ticker: a clock in seconds.

    Returns:
        The clash; None if all promises can be kept after all.
    """
    until = ticker() + time_limit if ticker and time_limit is not None else None

    def breaks(changed: Book, more: int = 0, sooner: int = 0) -> bool | None:
        """Whether no plan of a book keeps all promises; None if there was no time to find out."""
        left = until - ticker() if until is not None and ticker else None
        if left is not None and left <= 0:
            return None
        begun, weeks = ask.today - timedelta(weeks=sooner), ask.horizon_weeks + sooner
        asked = replace(ask, today=begun, horizon_weeks=weeks, more=(0, more))
        problem = _promised_only(framed(changed, asked).problem)
        found = solve(problem, time_limit=left, ticker=ticker)
        if found.score.broken and not found.bound.broken:
            return None
        return found.bound.broken > 0

    if not breaks(book):
        return None
    members: list[Member] = []
    for member in _all_members(book, ask):
        without = relaxed(book, member)
        if breaks(without):
            book = without
        else:
            members.append(member)
    missing = _missing(lambda minutes: breaks(book, minutes)) if Member(Rule.HOURS) in members else None
    before = book if any(member.rule is Rule.GAP for member in members) else replace(book, publications=())
    if not breaks(before, sooner=SOONER):  # begun sooner, what has come out by now would not be out
        members.append(Member(Rule.TODAY))
    return Clash(_words(book, ask, members, missing), _parties(book, members), tuple(members), missing)


def _promised_only(problem: Problem) -> Problem:
    """The problem with the studies that decide whether promises can be kept.

    Those are the promised ones, what they are promised after, and studies that give hours back because the
    usual content of some slot takes longer; any other can only take room from them.
    """
    by_key = {need.key: need for need in problem.needs}
    wanted = {need.key for need in problem.needs if need.promised is not None}
    wanted |= {need.key for need in problem.needs if need.minutes < max(problem.standing, default=0)}
    queue = list(wanted)
    while queue:
        fresh = [key for key in by_key[queue.pop()].after if key not in wanted]
        wanted.update(fresh)
        queue += fresh
    return replace(problem, needs=tuple(need for need in problem.needs if need.key in wanted))


def _all_members(book: Book, ask: Question) -> list[Member]:
    """Everything that may take part, what is least likely to first, so that what is left says most."""
    shaped = framed(book, ask)
    last = ask.today + timedelta(weeks=ask.horizon_weeks)
    members = [Member(Rule.DARK, dark.id) for dark in book.dark if dark.no_publication]
    members += [Member(Rule.SLOT, rule.id) for rule in book.rules if rule.first or rule.last]
    held = sorted(slot for slot in shaped.board.held if ask.today <= slot.day <= last)
    members += [Member(Rule.HELD, f"{slot.day.isoformat()} {slot.rule}") for slot in held]
    members += [Member(Rule.WINDOW, study.id) for study in book.open_studies if any(w.hard for w in study.windows)]
    members += [Member(Rule.GAP, series.id) for series in book.series if series.min_weeks]
    kinds = {pin.id: Rule(pin.kind.value) for pin in book.pins}
    members += [Member(kinds[pin.id], pin.id) for pin in reversed(book.pins)]
    return [*members, Member(Rule.HOURS)]


def _missing(breaks: Callable[[int], bool | None]) -> int | None:
    """Least extra minutes, found today, with which nothing is broken; None if none help or time runs out."""
    if breaks(MOST_MINUTES) is not False:
        return None
    low, high = 0, MOST_MINUTES
    while high - low > 1:
        middle = (low + high) // 2
        if (short := breaks(middle)) is None:
            return None
        low, high = (middle, high) if short else (low, middle)
    return high


def _parties(book: Book, members: Sequence[Member]) -> tuple[str, ...]:
    """Ids of the studies that the pins name, then of all else."""
    studies = [id for pin in book.pins if pin.id in {m.id for m in members} for id in (*pin.episodes, *pin.pieces)]
    return tuple(dict.fromkeys([*studies, *(m.id for m in members if m.id)]))


def _words(book: Book, ask: Question, members: Sequence[Member], missing: int | None) -> str:
    """The clash in one sentence."""
    ids = {member.id for member in members}
    promised = [pin_words(book, pin) for pin in book.pins if pin.id in ids]
    against = [text for member in members if (text := _rule_words(book, member, missing))]
    if Member(Rule.TODAY) in members and Member(Rule.HOURS) not in members:
        against.append(f"too few slots are left from {words.day(ask.today)} on")
    many = len(promised) > 1
    what = f"{words.listing(promised)} {'are' if many else 'is'} promised, but "
    what += f"{words.listing(against)}; " if against else f"{'they' if many else 'it'} cannot be kept; "
    unpin = "unpin one of them" if many else "unpin it"
    return what + (f"find those hours, or {unpin}." if missing else f"{unpin}, or change that rule.")


def _rule_words(book: Book, member: Member, missing: int | None) -> str:
    match member.rule:
        case Rule.HOURS:
            return f"the work is {words.hours(missing)} short" if missing else "the hours do not allow it"
        case Rule.GAP:
            series = book.series_of(member.id)
            return f"{series.name} keeps at least {words.count(series.min_weeks, 'week')}"
        case Rule.WINDOW:
            study = book.episode(member.id)
            return f"{quoted(study.title)} must fall in {windows_words(study.windows)}"
        case Rule.DARK:
            dark = next(d for d in book.dark if d.id == member.id)
            return f"nothing is published {words.days(dark.first, dark.last)}"
        case Rule.SLOT:
            rule = book.rule(member.id)
            edges = [f"starts on {words.day(rule.first)}"] if rule.first else []
            edges += [f"ends on {words.day(rule.last)}"] if rule.last else []
            return f"{rule.name} {words.listing(edges)}"
        case Rule.HELD:
            return f"the slot of {words.day(date.fromisoformat(member.id.partition(' ')[0]))} is taken"
        case _:
            return ""
