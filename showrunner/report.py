"""What commands print: plain text that reads well at 80 columns, in a pipe, and aloud."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.slot import SlotRef
from showrunner.domain.titles import quoted, title_of

if TYPE_CHECKING:
    from showrunner.planning.backtest import Backtest, Look
    from showrunner.planning.choices import Choice
    from showrunner.planning.hours import BusyHours
    from showrunner.planning.pairing import Compared, Pairing
    from showrunner.planning.results import (
        Ahead,
        Dates,
        Doubt,
        Offer,
        PickupWork,
        Placed,
        Plan,
        RunOut,
        SlipRate,
        Task,
        Trip,
        WorkPlan,
    )
    from showrunner.whatif import Outlook

WIDTH = 80
"""Columns."""

SOON_DAYS = 56
"""Days ahead within which days without work are told of beside the work of these days."""


def clean(text: str) -> str:
    """User text without control characters, which a terminal would obey; lone surrogates made harmless."""
    safe = "".join(c if c.isprintable() or c in "\n " else " " for c in text)
    return safe.encode("utf-8", "replace").decode("utf-8")


def wrap(text: str, indent: str = "", first: str | None = None) -> str:
    """A paragraph at most `WIDTH` wide."""
    return textwrap.fill(
        clean(text), WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent
    )


def wrap_line(line: str) -> str:
    """A line at most `WIDTH` wide; what does not fit goes on below, further in."""
    start = line[: len(line) - len(line.lstrip())]
    return wrap(line.lstrip(), f"{start}  ", start) if line.strip() else ""


def heading(text: str) -> str:
    """A heading with a thin rule under it."""
    return f"{text}\n{'─' * len(text)}"


def clip(text: str, width: int) -> str:
    """Text cut to a width, with an ellipsis where it was cut."""
    text = clean(text).replace("\n", " ")
    return text if len(text) <= width else f"{text[: width - 1]}…"


def report(book: Book, today: date, plan: Plan, work: WorkPlan, runout: RunOut | None, next_series: str = "") -> str:
    """What remains, the plan, this week's work, warnings, and in a sentence when the next series can take over."""
    from showrunner.planning.corrections import undone

    parts = [heading(words.short_day(today)), ""]
    if runout:
        parts += [remains(runout), ""]
    parts += [heading("The plan"), plan_table(plan)]
    parts += [wrap(f"{clause}: see `showrunner plan`.") for clause in left_to_settle(book, plan)]
    parts.append("")
    parts += [heading("This week's work"), week(work, today)]
    parts += [bullets(map(ahead_words, soon(work, today))), ""] if soon(work, today) else [""]
    told = [*plan.warnings, *work.warnings, *(runout.warnings if runout else ())]
    parts += [heading("Warnings"), bullets(dict.fromkeys(item.text for item in told)) or "None."]
    if left := undone(book):
        told_of = words.some(list(dict.fromkeys(quoted(title_of(book, correction.study)) for correction in left)))
        clause = f"{words.count(len(left), 'correction')} to put into descriptions, of {told_of}"
        parts += ["", heading("Films that are out"), wrap(f"{clause}: see `showrunner package`.")]
    if next_series:
        parts += ["", heading("What takes over"), wrap(next_series)]
    if runout:
        parts += ["", heading("What viewers may be told"), wrap(runout.statement), wrap(stale_words(runout))]
    return "\n".join(parts)


def remains(found: RunOut) -> str:
    """Pieces and studies left, and until when."""
    ten, fifty, ninety = found.quantiles
    low, high = found.studies_left
    lines = [
        heading("What remains"),
        f"Pieces left    {words.span(*found.pieces_left):>5}",
        f"Studies left   {words.span(low, high):>5}",
    ]
    if high == 0:
        return "\n".join([*lines, "Nothing is left to show."])
    for label, day in (("10% end by", ten), ("50% end by", fifty), ("90% end by", ninety)):
        lines.append(f"{label:<16}{words.short_day(day) if day else f'after {words.day(found.horizon_end)}'}")
    lines.append(wrap(dates_words(found.dates)))
    lines.append(wrap(f"Slips: {rate_words(found.slip_rate)}"))
    return "\n".join(lines)


def end_words(found: RunOut) -> str:
    """When the last study comes, in a sentence."""
    if found.studies_left[1] == 0:
        return "Nothing is left to show."
    after = f"after {words.day(found.horizon_end)}"
    ten, fifty, ninety = (f"by {words.day(day)}" if day else after for day in found.quantiles)
    return f"The end comes {fifty} at even odds; 10% {ten}, 90% {ninety}."


def dates_words(dates: Dates) -> str:
    """Which dates a forecast rests on."""
    from showrunner.planning.results import Dates

    return {
        Dates.BEST: "Dates: none are accepted yet; whatever the doubts turn out to be, the best dates are used.",
        Dates.ACCEPTED: "Dates: those of the book; if the doubts turn out otherwise, the best dates for that.",
        Dates.KEPT: "Dates: those of the book; what the doubts add is placed around them.",
    }[dates]


def rate_words(rate: SlipRate) -> str:
    """A slip rate with its doubt, what it rests on, and what it allows for."""
    span = f"80% between {100 * rate.low:.1f}% and {100 * rate.high:.1f}%"
    if rate.given:
        own = f"{rate.own_late} late or missed of {words.count(rate.own_recorded, 'study')}"
        record = f"on record {own}, {rate.late} of {words.count(rate.recorded, 'line')} in all"
        return f"a fixed rate of {100 * rate.mean:g}% as asked for, without bad spells; {record} ({span})."
    return f"{100 * rate.mean:.1f}%, {span}. {_rests_on(rate)}, and {SPELLS}"


def rate_brief(rate: SlipRate) -> str:
    """A slip rate with its doubt and where it comes from, in a line or two."""
    span = f"80% between {100 * rate.low:.1f}% and {100 * rate.high:.1f}%"
    if rate.given:
        return f"{100 * rate.mean:g}%, as asked for; by the record {span}."
    mean = f"{100 * rate.mean:.1f}%, {span}"
    if not rate.recorded:
        return f"{mean}; a guess, for nothing is on record yet."
    every = f"{rate.late} of all {words.count(rate.recorded, 'line')} late"
    if not rate.own_recorded:
        return f"{mean}; by the record: {every}, none of this series."
    return f"{mean}; by the record: {rate.own_late} of {words.count(rate.own_recorded, 'study')} and {every}."


SPELLS = "allows for slips that come together: a bad spell of some six weeks about every two and a half years."
"""What is allowed for beside the rate; the lengths are those of `planning/slips.py`."""

FEW_STUDIES = 5
"""With fewer of its own, the rate of a series is mostly that of all lines."""


def _rests_on(rate: SlipRate) -> str:
    if not rate.recorded:
        return "Rests on no record yet, so it is even odds"
    every = f"{words.count(rate.recorded, 'line')} of the record"
    if not rate.own_recorded:
        return f"Rests on all {every} ({rate.late} late or missed), none of them a study of this series"
    own = f"Rests on the series' {words.count(rate.own_recorded, 'study')} on record ({rate.own_late} late or missed)"
    mostly = "; mostly the rate of all lines" if rate.own_recorded < FEW_STUDIES else ""
    return f"{own}, drawn towards all {every} ({rate.late}) while they are few{mostly}"


def plan_table(plan: Plan) -> str:
    """The studies by slot, with gap and hours."""
    if not plan.studies and not plan.unplaced:
        return "\n".join(kept_promises(plan)) or "No study is waiting for a slot."
    lines = [*kept_promises(plan), f"{'slot':<16} {'gap':>9}  {'hours':>12}  study"]
    lines += [
        f"{words.short_day(item.slot.day):<16} {_gap(item):>9}  {_hours(item):>12}  {clip(item.title, 37)}"
        for item in plan.studies
    ]
    lines.append(_proof(plan))
    return "\n".join(lines)


def kept_promises(plan: Plan) -> list[str]:
    """Lines that say which promises clash and how many the plan keeps; none if it keeps them all."""
    if not plan.clashes:
        return []
    made = words.count(plan.promises_made, "promise")
    kept = f"Not all promises can be kept: this plan keeps {plan.promises_kept} of {made}."
    return [bullets(clash.text for clash in plan.clashes), wrap(kept), ""]


def _gap(item: Placed) -> str:
    return "-" if item.gap_days is None else words.short_weeks(item.gap_days)


def _hours(item: Placed) -> str:
    return f"{words.number(item.minutes_needed / 60)} of {words.number(item.minutes_available / 60)} h"


def _proof(plan: Plan) -> str:
    points = f"Unevenness {words.number(plan.points)}"
    return f"{points}; {proof_words(plan)}."


def left_to_settle(book: Book, plan: Plan) -> list[str]:
    """What the plan that stands leaves to do, each as a clause to end with how; none if all is well."""
    found = []
    if plan.breaks_rules:
        found.append("Some dates may not stand any more")
    if changed := changes(book, plan):
        found.append(f"Not in the book yet for {words.count(changed, 'study')}")
    if plan.offer:
        found.append(offer_words(plan, plan.offer))
    return found


def in_one(clauses: Sequence[str]) -> str:
    """Clauses as one, to follow a colon or to begin with a capital; empty if there are none."""
    return "; ".join(f"{clause[:1].lower()}{clause[1:]}" for clause in clauses)


def offer_words(plan: Plan, offer: Offer) -> str:
    """What better dates than those that stand would bring, in one clause."""
    moves = f"would move {words.count(offer.moves, 'study')}"
    if offer.more:
        return f"Other dates would find room for {words.count(offer.more, 'more study')} and {moves}"
    now, then = words.number(plan.points), words.number(offer.points)
    return f"More even dates {moves} (unevenness {then} instead of {now})"


def proof_words(plan: Plan) -> str:
    """How far a plan is proven, and how much better another could be."""
    if plan.breaks_rules:
        return "the dates that stand, though they break a rule: see the warnings"
    if plan.offer:
        return "the dates that stand"
    if plan.stands and plan.proven and not plan.clashes:
        return "proven: no dates would be more even"
    if plan.proven:
        return "proven: no plan is better" if not plan.clashes else "proven: no plan keeps more of them and is better"
    if plan.missing_gap:
        return f"not proven: at most {words.count(plan.missing_gap, 'more study')} could be placed"
    if plan.proven_gap:
        return f"not proven: a better plan could be more even by at most {words.number(plan.proven_gap)}"
    return "proven but for the dates, of which some may be earlier at the same unevenness"


def choices(found: Sequence[Choice], plan: Plan) -> str:
    """The ways of dating the studies anew, side by side; the one that is shown is marked."""
    lines = [f"  {'':<28} {'moved':>5} {'days':>5} {'unevenness':>10}  long gaps"]
    for at, choice in enumerate(found):
        mark = "▸" if choice.aim is plan.aim else " "
        told = ["suggested"] if at == 0 else []
        told += [f"{choice.unplaced} without a slot"] if choice.unplaced else []
        row = f"{mark} {choice.aim.value:<28} {choice.moves:>5} {choice.days:>5} {words.number(choice.points):>10}"
        lines.append(f"{row}  {choice.wide:>9}  {', '.join(told)}".rstrip())
    return "\n".join(lines)


def differences(book: Book, plan: Plan) -> str:
    """What a plan would change in the book, why, and what it costs."""
    lines = [plan_table(plan), ""]
    for item in plan.studies:
        move = _move(_slot_now(book, item.id), item.slot.ref)
        lines.append(wrap(f"{item.title}: {move or 'stays where it is'}. {item.reason}", "  ", ""))
    for lost in plan.unplaced:
        before = _slot_now(book, lost.id)
        move = f"loses {words.day(before.day)}" if before else "no slot"
        lines.append(wrap(f"{lost.title}: {move}; {lost.reason}. {_sentence(lost.way_out)}", "  ", ""))
        lines += [wrap(f"or: {_sentence(way.text)}", "    ", "  ") for way in lost.ways_out[1:]]
    told = [item.text for item in plan.warnings if item.code not in ("unplaced", "contradiction")]
    if told:
        lines += ["", bullets(told)]
    changed = changes(book, plan)
    lines += ["", f"{words.count(changed, 'study')} would change." if changed else "Nothing would change."]
    return "\n".join(lines)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."


def changes(book: Book, plan: Plan) -> int:
    """Studies that the plan would give a date, another date, or none any more."""
    moved = sum(_slot_now(book, item.id) != item.slot.ref for item in plan.studies)
    return moved + sum(_slot_now(book, lost.id) is not None for lost in plan.unplaced)


def _slot_now(book: Book, study: str) -> SlotRef | None:
    """The slot of a study in the book; None if it has none or does not exist yet."""
    found = book.find("episodes", study)
    return found.slot if isinstance(found, Episode) else None


def _move(before: SlotRef | None, after: SlotRef) -> str:
    if before is None:
        return f"gets {words.day(after.day)}"
    if before != after:
        return f"moves from {words.day(before.day)} to {words.day(after.day)}"
    return ""


def week(work: WorkPlan, today: date) -> str:
    """The work from today through Sunday."""
    end = today + timedelta(6 - today.weekday())
    told = tasks([task for task in work.tasks if task.day <= end]) or "Nothing."
    return "\n".join([told, *busy_words([busy for busy in work.busy if busy.day <= end])])


def tasks(found: Sequence[Task]) -> str:
    """Tasks, a line each, the day named once."""
    lines, last = [], None
    for task in found:
        label = "" if task.day == last else words.short_day(task.day)
        last = task.day
        what = f"{task.stage.value}: {task.title}" if task.stage else task.title
        lines.append(f"{label:<16} {words.hours(task.minutes):>7}  {clip(what, 34):<34} for {_short(task.slot.day)}")
    return "\n".join(lines)


def _short(day: date) -> str:
    return f"{day.day} {day:%b}"


def work(book: Book, found: WorkPlan) -> str:
    """All dated work with its slack and what does not fit."""
    lines = [tasks(found.tasks) or "No work is planned."]
    if found.slack_minutes is not None and found.slack_day is not None:
        left = words.hours(abs(found.slack_minutes))
        state = f"{left} to spare" if found.slack_minutes >= 0 else f"{left} short"
        lines += ["", f"At the tightest, on {words.day(found.slack_day)}, there are {state}."]
    if found.ahead:
        lines += ["", bullets(map(ahead_words, found.ahead))]
    if found.busy:
        lines += ["", bullets(busy_words(found.busy))]
    if found.pickups:
        lines += ["", "Pickups that wait:", bullets([pickup_words(book, item) for item in found.pickups])]
    if found.shortfalls:
        lines += ["", bullets([item.text for item in found.shortfalls])]
    return "\n".join(lines)


def pickup_words(book: Book, found: PickupWork, most: int | None = None) -> str:
    """Pickups that are mended together: by when, how, and what of which piece; of each so many at most."""
    when = words.short_day(found.day) if found.day else "no day yet"
    where = f"from box {found.box}" if found.box else "without opening a box"
    due = f", which must be ready by {words.day(found.ready_by)}" if found.ready_by else ""
    along = ", with the next shoot that opens it" if found.with_shoot else ""
    together: dict[str, list[str]] = {}
    for line in found.lines:
        remedy = f"{line.remedy.value}, " if line.remedy else ""
        together.setdefault(f"{remedy}{book.piece(line.piece).name}", []).append(line.text)
    parts = [f"{what}: {words.some(texts, most=most or len(texts))}" for what, texts in together.items()]
    return f"{when}, {where}{along}, for {quoted(found.title)}{due}. To mend: {'; '.join(parts)}"


def waiting_words(book: Book, study: str) -> str:
    """What still waits to be mended for a study, in a sentence; empty if nothing does."""
    from showrunner.planning.pickups import pickups_of

    lines = pickups_of(book, study)
    if not lines:
        return ""
    told = words.some([clean(line.text) for line in lines], most=3)
    return f"{words.count(len(lines), 'pickup')} still wait{'s' if len(lines) == 1 else ''} for it: {told}."


def busy_words(found: Sequence[BusyHours], most: int = 6) -> list[str]:
    """The hours that other calendars take of days of work, the first days alone if there are many."""
    told = []
    for busy in found[:most]:
        of = words.hours(busy.left + busy.minutes)
        why = f" ({words.listing(busy.reasons)})" if busy.reasons else ""
        left = f"{words.hours(busy.left)} left" if busy.left else "none left"
        told.append(f"{words.short_day(busy.day)}: {words.hours(busy.minutes)} of {of} are busy{why}, {left}.")
    if len(found) > most:
        told.append(f"{words.count(len(found) - most, 'more day')} with busy hours until {words.day(found[-1].day)}.")
    return told


def soon(found: WorkPlan, today: date) -> list[Trip]:
    """The days without work that begin within the next weeks."""
    return [trip for trip in found.ahead if (trip.first - today).days <= SOON_DAYS]


def ahead_words(trip: Trip) -> str:
    """What must be done before days without work, and whether the hours are there."""
    by_title: dict[str, list[Ahead]] = {}
    for item in trip.items:
        by_title.setdefault(item.title, []).append(item)
    listed = [f"{title} of {_days([i.slot.day for i in of])}" for title, of in by_title.items()]
    enough = trip.spare_minutes >= trip.minutes
    hours = words.hours(trip.spare_minutes if enough else trip.minutes - trip.spare_minutes)
    state = f"{hours} are free for it." if enough else f"{hours} are missing for it."
    why = f" ({trip.reason})" if trip.reason else ""
    begin = f"{words.hours(trip.minutes)} must be done before {words.day(trip.first)}"
    return f"{begin}, as there is no work {words.days(trip.first, trip.last)}{why}: {words.listing(listed)}; {state}"


def _days(found: Sequence[date]) -> str:
    """Days in a row of words, the month named once where it is the same: `15 and 22 July`, `29 July and 2 August`."""
    said = [
        str(day.day) if later and (day.month, day.year) == (later.month, later.year) else f"{day.day} {day:%B}"
        for day, later in zip(found, [*found[1:], None], strict=True)
    ]
    return words.listing(said)


def runout(found: RunOut, beside: str = "") -> str:
    """The run-out, and what-ifs beside it as `what_ifs` tells them."""
    lines = [remains(found)]
    if found.late_risks:
        risks = [f"{risk.title}: {words.percent(risk.chance)}" for risk in found.late_risks]
        lines += ["", heading("Chance of airing after a hard window"), bullets(risks)]
    if beside:
        lines += ["", heading("What if"), beside]
    lines += ["", heading("Doubts, most worth settling first")]
    lines.append(bullets(f"{doubt.text} {either_answer(doubt)}" for doubt in found.doubts) or "None.")
    lines += ["", heading("Bank")]
    for bank in found.bank:
        gap = f"; nothing yet for {words.day(bank.next_gap)}" if bank.next_gap else ""
        lines.append(f"{clip(bank.name, 30)}: {words.count(bank.weeks, 'week')} covered{gap}")
    if found.warnings:
        lines += ["", heading("Warnings"), bullets([item.text for item in found.warnings])]
    told = [heading("What viewers may be told"), wrap(found.statement), wrap(stale_words(found))]
    return "\n".join([*lines, "", *told])


def stale_words(found: RunOut) -> str:
    """From when the sentence for viewers may no longer be true."""
    return f"Goes stale on {words.day(found.stale)}; say it anew from then on."


def held_words(found: Sequence[Backtest]) -> str:
    """How often the range held, in a sentence; first by the dates of then, then by the spacing of then."""
    by_dates, by_spacing = found
    months, ahead = len(by_dates.looks), words.count(by_dates.ahead, "study")
    if not months:
        return f"Your record is too short to look back: it takes {ahead} published after a month to judge it."
    return (
        f"Looking back {ahead} ahead from {words.count(months, 'past month')}, the 10 to 90% range held in "
        f"{by_dates.held} by the dates planned, in {by_spacing.held} by the spacing of then; "
        f"8 in 10 of them is {round(0.8 * months)}."
    )


def pairing_words(pair: Pairing) -> list[str]:
    """What is alike and what differs about two pieces, a sentence each."""
    found = []
    for word, compared in (("Alike", pair.alike), ("Differs", pair.differs)):
        told = "; ".join(_compared(one) for one in compared)
        found.append(f"{word}: {told or 'nothing that is recorded of both'}.")
    return found


def _compared(one: Compared) -> str:
    from showrunner.planning.pairing import Aspect

    both = f"{one.first} / {one.second}"
    match one.aspect:
        case Aspect.DATES:
            return f"dates that {'overlap' if one.alike else 'do not overlap'} ({both})"
        case Aspect.MEASURE:
            apart = "the same" if one.alike else f"{one.apart} {one.unit} apart"
            return f"{one.measure} {one.first} and {one.second}, {apart}"
        case Aspect.KIND if one.alike:
            return f"kind ({one.first})"
        case _:
            shared = f": {words.listing(one.shared)}" if one.shared else ""
            return f"{one.aspect.value}{shared} ({both})"


def pairing_cost(now: RunOut, then: RunOut) -> str:
    """What one study of two pieces costs in studies and weeks, in a sentence."""
    before, after = words.span(*now.studies_left), words.span(*then.studies_left)
    told = f"As one study: {after} studies left instead of {before}"
    if before == after:
        told = f"As one study: still {after} studies left"
    old, new = now.quantiles[1], then.quantiles[1]
    if old is None or new is None:
        return f"{told}."
    if old == new:
        return f"{told}; the end at even odds stays on {words.day(new)}."
    sooner = "sooner" if new < old else "later"
    return f"{told}; the end at even odds comes on {words.day(new)}, {words.weeks(abs((old - new).days))} {sooner}."


def pairs(found: Sequence[tuple[Pairing, str]]) -> str:
    """The pairs worth a look, each with what is alike, what differs, and what it costs."""
    lines = []
    for pair, cost in found:
        lines += [
            wrap(" and ".join(pair.names)),
            *(wrap(text, "    ", "  ") for text in (*pairing_words(pair), cost)),
            "",
        ]
    return "\n".join(lines).rstrip() or "No two pieces that are left could be one study."


ASSUMED = (
    "Each month is told by what was on record then: the lateness so far, and the gaps so far.",
    "By the dates: as if the days the record says each study was planned for had been settled by then. This asks "
    "whether lateness was foreseen.",
    "By the spacing: as if you had gone on with the middle of your last six gaps. This asks too whether you kept to "
    "your spacing; where you changed it, it is missed.",
    "Assumed, for the book does not tell it: that the studies that came were those to come, that their windows and "
    "the days without publication were known, and that there were hours enough.",
    "Months that follow one another look at nearly the same studies, so they count for fewer than they are.",
)
"""What a look back rests on, each a sentence."""


def backtest(found: Sequence[Backtest]) -> str:
    """The forecast held against the record: a sentence, the table, what is assumed."""
    if not found[0].looks:
        return wrap(held_words(found))
    return "\n".join([wrap(held_words(found)), "", looks_table(found), "", bullets(ASSUMED)])


def looks_table(found: Sequence[Backtest]) -> str:
    """A row for each month, then the mean scores; at most 70 columns."""
    by_dates, by_spacing = found
    lines = [f"{'month':<7} {'by the dates planned':<24}  {'by the spacing of then':<24}  came"]
    for one, other in zip(by_dates.looks, by_spacing.looks, strict=True):
        cells = [f"{_range(look):<19} {'held' if look.held else 'not':<4}" for look in (one, other)]
        lines.append(f"{one.day:%b %y}  {cells[0]}  {cells[1]}  {_short_year(one.came)}")
    lines += ["", f"{'mean scores, in days (0 is best)':<34} {'by the dates':>14} {'by the spacing':>15}"]
    names = ("off the 10% day", "off the 50% day", "off the 90% day")
    off = zip(names, by_dates.quantile_scores, by_spacing.quantile_scores, strict=True)
    scores = [
        *off,
        ("range, and what it was missed by", by_dates.winkler, by_spacing.winkler),
        ("all of the forecast", by_dates.crps, by_spacing.crps),
    ]
    return "\n".join([*lines, *(f"{name:<34} {one:>14.1f} {other:>15.1f}" for name, one, other in scores)])


def _range(look: Look) -> str:
    low, _, high = look.quantiles
    return f"{_short(low) if low else 'later'} to {_short_year(high)}"


def _short_year(day: date | None) -> str:
    return f"{day.day} {day:%b %y}" if day else "later"


def either_answer(doubt: Doubt) -> str:
    """What each answer to a doubt would leave."""
    shown, unshown = words.span(*doubt.if_shown.pieces_left), words.span(*doubt.if_unshown.pieces_left)
    return f"Shown: {shown} left; not shown: {unshown} left."


def what_ifs_told(found: RunOut, outlook: Outlook, *, written: bool, taking_over: str = "") -> str:
    """What-ifs beside the present forecast, what they leave to do, and how they are adopted or were.

    Args:
        found: the present forecast.
        outlook: what they would bring.
        written: whether they are in the book now.
        taking_over: when what is shopped for could then take over, in a sentence; empty if that stays as it is.
    """
    lines = [outlook_head(WIDTH)]
    lines += [outlook_row(label, other, WIDTH) for label, other in outlook_rows(found, outlook)]
    if then := once_adopted(outlook):
        lines.append(wrap(f"{'Now' if written else 'Once adopted'}: {then}; see `showrunner plan`.", "  ", ""))
    lines += [wrap(taking_over, "  ", "")] if taking_over else []
    supposed = outlook.supposed.what_ifs
    if written:
        lines.append("Written into the book; `showrunner undo` takes it back.")
    elif all(what_if.kind.real for what_if in supposed):
        what = "it" if len(supposed) == 1 else "them together, in one step"
        lines.append(f"Nothing is changed; --write adopts {what}.")
    else:
        lines.append("Nothing is changed; slip rates, pieces, doubts, refusals can only be looked at.")
    return "\n".join(lines)


def once_adopted(outlook: Outlook) -> str:
    """What what-ifs leave to do once they are adopted, as `in_one`."""
    return in_one(left_to_settle(outlook.supposed.book, outlook.plan))


def outlook_rows(found: RunOut, outlook: Outlook) -> list[tuple[str, RunOut]]:
    """The present forecast, that with each what-if alone, with all of them, and with the best dates after that."""
    rows = [("as it is", found)]
    rows += [(f"{at}. {alone.what_if.words}", alone.forecast) for at, alone in enumerate(outlook.each, 1)]
    if len(outlook.each) > 1:
        numbers = words.listing([str(at) for at in range(1, len(outlook.each) + 1)])
        rows.append((f"{numbers} together{_other_spacing(outlook)}", outlook.together))
    if outlook.anew:
        rows.append(("then planned anew", outlook.anew))
    return rows


def _other_spacing(outlook: Outlook) -> str:
    """The spacing that lasts until the day asked for, if all what-ifs together need another than that one alone."""
    for alone, both in zip(outlook.each, outlook.supposed.what_ifs, strict=True):
        if both.until and both.numbers != alone.what_if.numbers:
            return f": a study every {words.count(int(both.numbers[1]), 'week')}"
    return ""


LABEL_WIDTH = 34, 60
"""Columns for what is supposed, the fewest and the most; the figures beside it take 44."""


def outlook_head(width: int, title: str = "") -> str:
    """The line above the rows."""
    return f"{title:<{_label_width(width)}} {'pieces':>7} {'studies':>7}  {'50% end':<11}  90% end"


def outlook_row(label: str, found: RunOut, width: int) -> str:
    """A row, in as many lines as its label needs."""
    space = _label_width(width)
    first, *more = textwrap.wrap(clean(label), space, subsequent_indent="   ")
    ends = [f"{_short(day)} {day.year}" if day else "beyond" for day in found.quantiles[1:]]
    pieces, studies = words.span(*found.pieces_left), words.span(*found.studies_left)
    return "\n".join([f"{first:<{space}} {pieces:>7} {studies:>7}  {ends[0]:<11}  {ends[1]}", *more])


def _label_width(width: int) -> int:
    least, most = LABEL_WIDTH
    return min(most, max(least, width - 44))


def bullets(items: Iterable[str]) -> str:
    """Sentences, each with a dash."""
    return "\n".join(wrap(item, "  ", "- ") for item in items)
