"""What is shopped for, in words: money and shelf, what each could feed, the handover, and the room in the boxes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.collection import Collection, CollectionKind
from showrunner.domain.currency import money, plain_number
from showrunner.domain.naming import Sort, named
from showrunner.domain.piece import Want, WantStatus
from showrunner.domain.titles import piece_name
from showrunner.errors import BadInput
from showrunner.planning.handover import Feed, Handover, State, Stock
from showrunner.planning.money import Beside, Cost, Purse, wants_of
from showrunner.planning.results import Warning
from showrunner.planning.space import BoxRoom, Space
from showrunner.report import bullets, clip, heading, wrap
from showrunner.session import FORECAST_SECONDS, Session

if TYPE_CHECKING:
    from showrunner.whatif import Outlook

MARKS = {
    WantStatus.WANTED: "○ wanted",
    WantStatus.ORDERED: "→ ordered",
    WantStatus.ARRIVED: "✓ arrived",
    WantStatus.DECLINED: "× declined",
}
"""Glyph and word for where a want stands."""


def shopping_collections(book: Book) -> tuple[Collection, ...]:
    """The collections that are shopped for, in book order."""
    return tuple(c for c in book.collections if c.kind is CollectionKind.SHOPPING)


def chosen_collection(book: Book, asked: str | None) -> Collection:
    """The collection asked for, or the first that is shopped for.

    Args:
        book: the book.
        asked: its id, its name or a part of that; None for the first.

    Raises:
        UnknownThing: there is none, or more than one.
        BadInput: nothing is shopped for in it, or in the book.
    """
    found = shopping_collections(book)
    if asked is None:
        if not found:
            raise BadInput("nothing is shopped for in this book", way_out="make a shopping collection: 5, then c")
        return found[0]
    collection = book.collection(named(book, Sort.COLLECTION, asked, likely={one.id for one in found}))
    if collection.kind is not CollectionKind.SHOPPING:
        raise BadInput(f"nothing is shopped for in {collection.name}", way_out="choose a shopping collection")
    return collection


def next_handover(session: Session, *, time_limit: float = FORECAST_SECONDS) -> Handover | None:
    """When the first collection that is shopped for can take over; None if nothing is shopped for, or without slots."""
    found = shopping_collections(session.book)
    return session.handover(found[0].id, time_limit=time_limit) if found else None


def cm(value: Decimal) -> str:
    """A length: `290 cm`, `12.5 cm`."""
    return f"{plain_number(value)} cm"


# Money and shelf


def purse_words(found: Purse) -> list[str]:
    """Money and shelf, a clause each: how much of how much, and what is over or left."""
    return [
        _state(money_of(found, found.money), found.money, found.budget, lambda v: money(v, found.currency), "budget"),
        _state(cm_of(found, found.width_cm), found.width_cm, found.shelf_cm, cm, "shelf"),
    ]


def money_of(found: Purse, value: Decimal) -> str:
    """An amount of the budget: `1,885 of 1,800 AUD`."""
    if found.budget is None:
        return money(value, found.currency)
    return f"{money(value, '', found.currency)} of {money(found.budget, found.currency)}"


def cm_of(found: Purse, value: Decimal) -> str:
    """A width of the shelf: `301 of 290 cm`."""
    return cm(value) if found.shelf_cm is None else f"{plain_number(value)} of {cm(found.shelf_cm)}"


def _state(said: str, value: Decimal, most: Decimal | None, say: Callable[[Decimal], str], what: str) -> str:
    if most is None:
        return f"{said}, no {what} set"
    if value == most:
        return f"{said}, nothing free"
    return f"{said}, {say(value - most)} over" if value > most else f"{said}, {say(most - value)} free"


def way_back(book: Book, found: Purse) -> str:
    """What brings money and shelf back, in a sentence or two; that all fits if nothing is over."""
    if not found.is_over:
        return "All of it fits." if any(cost.status is WantStatus.WANTED for cost in found.costs) else ""
    if found.least is None:
        return _not_back(found)
    lost, width = found.money - found.least.value, found.width_cm - found.least.width_cm
    names = words.listing([piece_name(book, piece) for piece in found.least.pieces])
    said = f"Without {names} it fits: {money_of(found, lost)} and {cm_of(found, width)}."
    if len(found.least.pieces) > 1:
        said += " No refusals of less value do."
        if found.single:
            alone = found.cost_of(found.single)
            said += f" {alone.name} ({money(alone.money, found.currency)}) alone would do too."
    return said


def _not_back(found: Purse) -> str:
    bought = [c for c in found.costs if c.status in (WantStatus.ORDERED, WantStatus.ARRIVED)]
    spent = sum((c.money for c in bought), Decimal(0))
    taken = sum((c.width_cm for c in bought), Decimal(0))
    over = []
    if found.budget is not None and spent > found.budget:
        over.append(money(spent - found.budget, found.currency))
    if found.shelf_cm is not None and taken > found.shelf_cm:
        over.append(cm(taken - found.shelf_cm))
    return (
        f"What is ordered and arrived is {' and '.join(over)} over by itself: more budget or shelf, or one sent back."
    )


def unknown_words(found: Purse) -> str:
    """Which wants count nothing because nobody knows their price or width; empty if none."""
    unpriced = [cost.name for cost in found.costs if not cost.priced]
    unmeasured = [cost.name for cost in found.costs if not cost.measured]
    parts = [f"no price: {_some(unpriced)}"] if unpriced else []
    parts += [f"no width: {_some(unmeasured)}"] if unmeasured else []
    return f"Counted as nothing, for want of a number: {'; '.join(parts)}." if parts else ""


def _some(names: Sequence[str], most: int = 3) -> str:
    """The first few names, and how many more."""
    if len(names) <= most + 1:
        return words.listing(list(names))
    return f"{', '.join(names[:most])} and {len(names) - most} more"


def beside_words(book: Book, found: Purse, beside: Beside) -> str:
    """What is left, and what still fits, if one is bought."""
    cost = found.cost_of(beside.piece)
    if cost.status is WantStatus.DECLINED:
        return ""
    left = [] if beside.money_left is None else [money(abs(beside.money_left), found.currency)]
    short = [] if beside.money_left is None or beside.money_left >= 0 else [left[0]]
    if beside.cm_left is not None:
        left.append(cm(abs(beside.cm_left)))
        short += [cm(-beside.cm_left)] if beside.cm_left < 0 else []
    start = "If it is bought" if cost.status is WantStatus.WANTED else "Beside all that is bought"
    if beside.is_too_much:
        return f"{start}, {' and '.join(short)} are missing."
    if not left:
        return ""
    said = f"{start}, {' and '.join(left)} are left"
    others = len(beside.fits) + len(beside.refused)
    if not others:
        return f"{said}."
    if not beside.refused:
        return f"{said}: all else that is wanted still fits."
    out = _some([piece_name(book, piece) for piece in beside.refused])
    if not beside.fits:
        return f"{said}: nothing else that is wanted fits."
    return f"{said}: all else that is wanted fits but {out}."


# What each could feed


def feed_words(want: Want, feed: Feed | None, handover: Handover | None) -> str:
    """The first study that a want could feed, in a clause."""
    if want.status is WantStatus.DECLINED:
        return "none: it was declined"
    if feed is None or handover is None:
        return "not known: the book has no slots yet"
    if feed.slot:
        day = words.day(feed.slot.day)
        return f"the opening, {day}" if feed.opens else day
    if feed.ready:
        return "no slot in sight that is free and leaves the hours"
    if want.status is WantStatus.WANTED:
        return "no day yet: it is not ordered"
    if want.status is WantStatus.ORDERED and (want.expected is None or want.expected.latest is None):
        return "no day yet: nobody knows by when it comes"
    if handover.state in (State.TOO_FEW, State.NO_SLOT):
        return "waits for the opening"
    return "it was shown already"


def feed_month(want: Want, feed: Feed | None) -> str:
    """The month of the first study that a want could feed, for a narrow table."""
    if feed is None or feed.slot is None or want.status is WantStatus.DECLINED:
        return "-"
    return f"{feed.slot.day:%b %Y}"


def feed_brief(want: Want, feed: Feed | None) -> str:
    """The same for a table."""
    if feed is None or feed.slot is None or want.status is WantStatus.DECLINED:
        return "-"
    return f"{feed.slot.day.day} {feed.slot.day:%b %Y}"


def history_words(want: Want) -> list[str]:
    """Where it stood, a line for each step."""
    return [f"{step.status.value} {words.day(step.day)}" for step in want.history]


def amount_lines(found: Purse, want: Want, cost: Cost) -> list[str]:
    """Ceiling, price and carriage, each in its own currency, and what they count."""
    code = want.currency or found.currency
    parts = [("ceiling", want.ceiling), ("paid", want.paid), ("carriage", want.carriage)]
    lines = [f"{name:<9} {money(value, code)}" for name, value in parts if value is not None]
    if want.rate is not None:
        lines.append(f"rate      1 {code} = {plain_number(want.rate.value)} {found.currency}")
        lines.append(f"          of {words.day(want.rate.day)}")
    if want.rate is not None or len(lines) > 1:
        lines.append(f"counts    {money(cost.money, found.currency)}")
    if cost.above_ceiling:
        lines.append(f"! {money(cost.above_ceiling, found.currency)} above the ceiling")
    return lines


# The handover


def handover_line(book: Book, found: Handover) -> str:
    """When the next series can take over, in one or two sentences."""
    name = book.collection(found.collection).name
    if found.state is State.OPEN:
        return f"{name} has opened."
    if found.state is State.TOO_FEW:
        more = found.opens_with - found.counted
        here = f"{found.counted} are there or come by a known day" if found.counted else "none is there yet"
        undated = f", {found.undated} more at a day that nobody knows" if found.undated else ""
        return f"{name} opens with {found.opens_with}: {here}{undated}; {more} more must be ordered, or have a day."
    opening = found.opening
    if opening is None:
        return f"{name} finds no slot in sight that is free and leaves the hours for its opening."
    said = f"{name} can open on {opening.slot.day:%A} {words.day(opening.slot.day)} at the earliest"
    if any(silence.too_long for silence in found.silences):
        return f"{said}. {too_long_words(found)}"
    latest = {silence.chance: silence.latest for silence in found.silences}
    middle, late = latest.get(50), latest.get(90)
    if middle is None:
        return f"{said}."
    most = words.count(found.silence_weeks, "week")
    said = f"{said}; to keep the silence to {most} it must open by {words.day(middle.day)}"
    if late and late != middle:
        said += f", or by {words.day(late.day)} if the end comes late (90%)"
    return f"{said}."


def then_line(outlook: Outlook) -> str:
    """When what is shopped for could take over with what is supposed; empty if that stays as it is."""
    found = outlook.taking_over
    return f"Then {handover_line(outlook.supposed.book, found)}" if found else ""


def then_brief(outlook: Outlook) -> str:
    """The same as short as it can be said: `Next: can open Sun 17 May 2026 at the earliest`."""
    found = outlook.taking_over
    if found is None:
        return ""
    said = handover_brief(outlook.supposed.book, found)
    return f"Next: {said[0].lower()}{said[1:]}" if _opens_in_time(found) else said


def _opens_in_time(found: Handover) -> bool:
    """Whether it can open, and before the silence is too long."""
    return found.opening is not None and not any(silence.too_long for silence in found.silences)


def handover_brief(book: Book, found: Handover, key: str = "") -> str:
    """The same as `handover_line`, as short as it can be said.

    Args:
        book: the book.
        found: when what is shopped for can take over.
        key: the key that says more.
    """
    if not _opens_in_time(found) or found.opening is None:
        return handover_line(book, found)
    said = f"Can open {words.short_day(found.opening.slot.day)} at the earliest"
    latest = [silence.latest for silence in found.silences if silence.chance == 50]
    if latest and latest[0]:
        said += f", {words.short_day(latest[0].day)} at the latest"
    return f"{said}: {key}." if key else f"{said}."


def too_long_words(found: Handover) -> str:
    """That even the first possible opening leaves too long a silence, and for which ends."""
    long = [silence for silence in found.silences if silence.too_long]
    days = [silence.days for silence in long if silence.days is not None]
    span = words.weeks(min(days)) + (f" to {words.weeks(max(days))}" if max(days) > min(days) else "")
    when = {10: " if the end comes early (10%)", 50: " at even odds"}.get(max(silence.chance for silence in long), "")
    return f"That leaves a silence of {span}{when}, more than the {words.count(found.silence_weeks, 'week')} wished."


def handover_lines(book: Book, found: Handover) -> list[str]:
    """Everything about the handover, a sentence each."""
    lines = [handover_line(book, found)]
    opening = found.opening
    if opening:
        ready = opening.slot.day - timedelta(book.house.lead_days)
        lines.append(
            f"{words.count(found.opens_with, 'piece')} to open with are there by {words.day(opening.enough)}, "
            f"prepared by {words.day(opening.prepared)}; the opening takes {words.hours(opening.minutes)}, and by "
            f"{words.day(ready)} {words.hours(opening.needed)} are needed of {words.hours(opening.available)}."
        )
    lines += [
        f"{piece_name(book, piece)} should have come by now; it is counted as coming today." for piece in found.overdue
    ]
    if not found.series:
        like = f"one like {book.series_of(found.after).name}" if found.after else "one in any slot"
        lines.append(f"No series is on it yet, so {like} is supposed.")
    gap = words.count(found.wished_weeks, "week")
    when = "by the opening" if opening else "now"
    lines.append(f"The stock {when}, {stock_words(found.stock, gap)}")
    before = found.stock.pieces
    for what, stock in (("ordered", found.stock_ordered), ("wanted", found.stock_wanted)):
        if stock.pieces != before:
            lines.append(f"With all that is {what}, {stock_words(stock, gap)}")
        before = stock.pieces
    return lines


def silence_table(found: Handover) -> list[str]:
    """The end of the series before at three odds, and the silence or overlap that goes with each; none without one."""
    if not found.silences:
        return []
    heads = ["even odds" if silence.chance == 50 else f"{silence.chance}%" for silence in found.silences]
    rows = [("", heads), ("ended by", [_short(silence.end) for silence in found.silences])]
    if found.opening:
        day = found.opening.slot.day
        rows.append((f"opened {day.day} {day:%b}", [_span_brief(silence.days) for silence in found.silences]))
        latest = [_short(silence.latest.day if silence.latest else None) for silence in found.silences]
        rows.append(("open at latest", latest))
    return [f"{label:<16}{''.join(f'{cell:<16}' for cell in cells)}".rstrip() for label, cells in rows]


def _short(day: date | None) -> str:
    return f"{day.day} {day:%b %Y}" if day else "-"


def _span_brief(days: int | None) -> str:
    """Silence or overlap for a table."""
    if days is None:
        return "-"
    return f"{words.short_weeks(abs(days))} {'overlap' if days < 0 else 'silence'}"


def taking_over(book: Book, found: Handover, *, wrapped: bool = True) -> list[str]:
    """Everything about the handover, with the table of the ends among it; as paragraphs if it is not to be wrapped."""
    first, *rest = handover_lines(book, found)
    table = silence_table(found)
    after = book.series_of(found.after).name if found.after else ""
    listed = [bullets(rest)] if wrapped else [f"- {line}" for line in rest]
    return [wrap(first) if wrapped else first, *(["", after, *table] if table else []), "", *listed]


def stock_words(stock: Stock, gap: str) -> str:
    """How long pieces last one a study, as the end of a sentence."""
    if stock.weeks_apart is None:
        return "none, lasts for nothing."
    last = f"lasts {words.count(stock.lasts_weeks, 'week')} at {gap} apart"
    return f"{words.count(stock.pieces, 'piece')}, {last}; for a year they must be {stock.weeks_apart} weeks apart."


# The room in the boxes


def box_words(book: Book, room: BoxRoom) -> list[str]:
    """One box: its room, what is over, what presses on what, and its layers from the top."""
    box = book.find("boxes", room.box)
    said = [f"Box {room.box}" + (f", {box.name}" if box and box.name else "")]
    count = sum(len(layer.pieces) for layer in room.layers)
    facts = [words.count(count, "piece") if count else "empty"]
    if room.depth_cm is None:
        facts.append("depth not measured")
    elif room.over_cm:
        facts.append(f"! over-full by {cm(room.over_cm)}: {cm(room.filled_cm)} in {cm(room.depth_cm)}")
    elif room.unmeasured < count:
        facts.append(f"{cm(room.free_cm or Decimal(0))} of {cm(room.depth_cm)} free")
    elif count:
        facts.append(f"{cm(room.depth_cm)} deep")
    if room.unmeasured:
        facts.append(f"{room.unmeasured} without a thickness")
    if room.weight_kg:
        unweighed = f", {room.unweighed} not weighed" if room.unweighed else ""
        facts.append(f"{plain_number(room.weight_kg)} kg{unweighed}")
    if room.over_kg:
        facts.append(f"! too heavy by {plain_number(room.over_kg)} kg")
    said.append(f"  {'; '.join(facts)}")
    for press in room.pressed:
        low, high = piece_name(book, press.fragile), piece_name(book, press.heavy)
        said.append(f"  ! {high} lies above {low}, which is fragile, and is {plain_number(press.kg)} kg heavier")
    for layer in room.layers:
        number = f"layer {layer.number}" if layer.number else "layer not known"
        thick = f" ({cm(layer.thickness_cm)})" if layer.thickness_cm else ""
        said.append(f"  {number}: {', '.join(piece_name(book, piece) for piece in layer.pieces)}{thick}")
    return said


def space_words(book: Book, found: Space, today: date) -> list[str]:
    """What is to be done about the boxes, then every box."""
    lines = todo_words(book, found, today) or ["Nothing is over-full or overdue, as far as it is known."]
    if found.unboxed:
        lines.append(f"{words.count(found.unboxed, 'piece')} in no box.")
    for room in found.boxes:
        lines += ["", *box_words(book, room)]
    return lines


def todo_words(book: Book, found: Space, today: date) -> list[str]:
    """What is over-full, to be refolded or to be ordered again, the oldest first."""
    lines = [f"! {warning.text}" for warning in box_warnings(book, found)]
    for box, due in found.refold:
        late = f", {words.weeks((today - due).days)} ago" if due < today else ", today"
        lines.append(f"Refold box {box} on fresh tissue: due {words.day(due)}{late}.")
    for supply in found.reorder:
        counted = f", counted {words.day(supply.counted)}" if supply.counted else ""
        lines.append(f"Order {supply.name}: {supply.on_hand} left{counted}; the least is {supply.reorder_at}.")
    return lines


def box_warnings(book: Book, found: Space) -> tuple[Warning, ...]:
    """Which boxes are over-full or too heavy, and what presses on what."""
    boxes = found.boxes
    full = [f"Box {room.box} is over-full by {cm(room.over_cm)}." for room in boxes if room.over_cm]
    heavy = [f"Box {room.box} is too heavy by {plain_number(room.over_kg)} kg." for room in boxes if room.over_kg]
    pressing = [
        f"{piece_name(book, press.heavy)} presses on {piece_name(book, press.fragile)}."
        for room in boxes
        for press in room.pressed
    ]
    told = (("box-over-full", full), ("box-too-heavy", heavy), ("pressed", pressing))
    return tuple(Warning(code, text) for code, texts in told for text in texts)


# The command


def warnings(book: Book, found: Purse, handover: Handover | None, space: Space) -> tuple[Warning, ...]:
    """What is over, late, or too long silent."""
    told = []
    if found.over_money:
        told.append(Warning("over-budget", f"{money(found.over_money, found.currency)} over the budget."))
    if found.over_cm:
        told.append(Warning("over-shelf", f"{cm(found.over_cm)} over the shelf."))
    if handover:
        if any(silence.too_long for silence in handover.silences):
            told.append(Warning("silence-too-long", handover_line(book, handover)))
        told += [
            Warning("overdue", f"{piece_name(book, piece)} should have come by now.") for piece in handover.overdue
        ]
    return (*told, *box_warnings(book, space))


def wants(book: Book, today: date, found: Purse, handover: Handover | None, space: Space) -> str:
    """What `showrunner wants` prints."""
    lines = [heading(book.collection(found.collection).name), *purse_words(found)]
    if said := way_back(book, found):
        lines.append(wrap(said))
    if said := unknown_words(found):
        lines.append(wrap(said))
    lines += ["", *tally_lines(found), "", *want_lines(book, found, handover)]
    if handover:
        lines += ["", heading("Taking over"), *taking_over(book, handover)]
    todo = todo_words(book, space, today)
    if todo:
        lines += ["", heading("The boxes"), bullets(todo)]
    return "\n".join(lines)


def tally_words(found: Purse) -> str:
    """How many there are of each status and what they count, in a line; empty if there are none."""
    said = [
        f"{MARKS[tally.status][0]} {tally.count} {tally.status.value}"
        + (f" {money(tally.counts, '', found.currency)}" if tally.counts else "")
        for tally in found.tallies
        if tally.count
    ]
    return "  ".join([*said, f"in {found.currency}"] if said and found.currency else said)


def tally_lines(found: Purse) -> list[str]:
    """What there is of each status, a line each."""
    head = f"{'':<12}{'':>4}{'ceiling':>11}{'paid':>11}{'carriage':>11}{'counts':>11}{'cm':>9}"
    lines = [head.rstrip()]
    for tally in found.tallies:
        amounts = (tally.ceiling, tally.paid, tally.carriage, tally.counts)
        row = "".join(f"{money(amount, '', found.currency):>11}" for amount in amounts)
        lines.append(f"{MARKS[tally.status]:<12}{tally.count:>4}{row}{plain_number(tally.width_cm):>9}")
    return lines


def want_lines(book: Book, found: Purse, handover: Handover | None) -> list[str]:
    """Every want, a line each."""
    lines = [f"{'':<12}{'piece':<22}{'counts':>9}{'cm':>7}  {'expected':<14}{'first study':<12}"]
    feeds = {feed.piece: feed for feed in handover.feeds} if handover else {}
    for piece, want in wants_of(book, found.collection):
        cost = found.cost_of(piece.id)
        price = money(cost.money, "", found.currency) if cost.priced else "?"
        width = plain_number(cost.width_cm) if cost.measured else "?"
        expected = expected_words(want)
        row = f"{MARKS[want.status]:<12}{clip(piece.name, 21):<22}{price:>9}{width:>7}  {clip(expected, 13):<14}"
        lines.append(f"{row}{feed_brief(want, feeds.get(piece.id))}".rstrip())
    return lines


def expected_words(want: Want) -> str:
    """When it is expected, for a table; nothing for what is there or declined."""
    if want.status in (WantStatus.ARRIVED, WantStatus.DECLINED) or want.expected is None:
        return ""
    when = want.expected
    return f"{when.earliest.day} {when.earliest:%b %Y}" if when.is_exact and when.earliest else when.words
