"""Which promises of a book cannot all be kept: pins against pins, windows, dark ranges and slots.

Only what needs no search and no `today`; whether the work fits is for planning to say. The rules themselves are
stated in `rules`. Pins of published studies are history and bind nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from showrunner.domain.book import Book
from showrunner.domain.episode import EpisodeKind, Pin, PinKind
from showrunner.domain.orders import Stuck, stuck_orders
from showrunner.domain.rules import Board, Member, Rule, clause, terms_of, way_out_of
from showrunner.domain.slot import SlotRef
from showrunner.domain.titles import piece_name, pin_words, quoted, slot_words, title_of
from showrunner.domain.words import count, listing
from showrunner.domain.words import day as day_words
from showrunner.errors import Contradiction


def clashes(book: Book, *, recorded: bool = False) -> tuple[Contradiction, ...]:
    """Every contradiction among the promises of a book, each naming all its parties and one way out.

    Args:
        book: the book.
        recorded: whether promised dates are also held against what is on record; no edit is refused for that.

    Two of them are the same if `rule` and `members` are; their words may differ.
    """
    board = Board(book)
    return (
        *_dates_alone(board, recorded),
        *_dates_together(board),
        *_broken_orders(book),
        *(_stuck_words(book, stuck) for stuck in stuck_orders(book)),
        *_pairs(book),
    )


def _dates(board: Board) -> list[tuple[str, str, SlotRef]]:
    """Every promised date: pin, study, slot."""
    return [(pin, study, slot) for study, promised in board.dates.items() for pin, slot in promised]


def _dates_alone(board: Board, recorded: bool) -> Iterator[Contradiction]:
    """A promised date against its own slot, series, windows, dark ranges, and filler in the slot."""
    book = board.book
    for pin, study, slot in _dates(board):
        episode = book.episode(study)
        named = any(e.slot == slot and e.kind is EpisodeKind.FILLER and not e.published for e in book.episodes)
        for breach in board.against_slot(terms_of(book, episode), slot):
            if not recorded and (breach.rule is Rule.GAP or (breach.rule is Rule.HELD and not named)):
                continue  # it has come out since the promise was made
            yield Contradiction(
                f"{quoted(episode.title)} is promised {slot_words(book, slot)}, but {clause(book, breach)}",
                way_out=way_out_of(breach),
                parties=(study, *(member.id for member in breach.members if member.id != study)),
                rule=breach.rule,
                members=(Member(Rule.DATE, pin), *breach.members),
            )


def _dates_together(board: Board) -> Iterator[Contradiction]:
    """Promised dates against each other."""
    book = board.book
    for (pin, one, slot), (other_pin, two, there) in combinations(_dates(board), 2):
        pins = (Member(Rule.DATE, pin), Member(Rule.DATE, other_pin))
        both = f"{quoted(title_of(book, one))} and {quoted(title_of(book, two))}"
        if one == two:
            if slot != there:
                what = f"{quoted(title_of(book, one))} is promised both {slot_words(book, slot)} and "
                yield Contradiction(
                    what + slot_words(book, there),
                    way_out="unpin one of the dates",
                    parties=(one,),
                    rule=Rule.DATE,
                    members=pins,
                )
            continue
        terms = terms_of(book, book.episode(one))
        for breach in board.against_other(terms, slot, terms_of(book, book.episode(two)), there):
            if breach.rule is Rule.TAKEN:
                what, way_out = f"{both} are both promised {slot_words(book, slot)}", "unpin one of them"
            else:
                series = terms.series
                least = count(series.min_weeks, "week") if series else ""
                what = f"{both} are promised {count(breach.amount, 'day')} apart, but "
                what += f"{series.name if series else ''} keeps at least {least}"
                way_out = "unpin one of them, or allow a smaller gap"
            yield Contradiction(
                what, way_out=way_out, parties=(one, two), rule=breach.rule, members=(*pins, *breach.members)
            )


def _broken_orders(book: Book) -> Iterator[Contradiction]:
    """Orders that the record has already broken."""
    for pin in book.pins:
        if pin.kind is not PinKind.ORDER:
            continue
        first, second = (book.find("episodes", id) for id in pin.episodes)
        if first and second and second.published and not first.published:
            yield Contradiction(
                f"{quoted(first.title)} is promised before {quoted(second.title)}, which has been published already",
                way_out="unpin the order",
                parties=pin.episodes,
                rule=Rule.ORDER,
                members=(Member(Rule.ORDER, pin.id),),
            )


def _stuck_words(book: Book, stuck: Stuck) -> Contradiction:
    """Orders that no days would keep, in words."""
    titles = [quoted(title_of(book, episode)) for episode in stuck.chain]
    chain = listing([f"{one} before {two}" for one, two in pairwise(titles)])
    dated = {study for pin in book.pins if Member(Rule.DATE, pin.id) in stuck.members for study in pin.episodes}
    first, last = stuck.chain[0], stuck.chain[-1]
    way_out = "unpin the order, or widen a window"
    parties: tuple[str, ...] = stuck.chain
    if first == last:
        what, way_out, parties = f"the promises {chain} cannot all be kept", "unpin one of the orders", parties[:-1]
    elif stuck.soonest is None or stuck.latest is None:
        never = stuck.never or last  # which has none before the calendar ends
        what = f"{chain} is promised, but {quoted(title_of(book, never))} has no day on which it may come"
    elif {first, last} <= dated:
        what = f"{chain} is promised, but so are {titles[0]} on {slot_words(book, stuck.soonest)} and "
        what, way_out = f"{what}{titles[-1]} on {slot_words(book, stuck.latest)}", "unpin a date or an order"
    else:
        what = f"{chain} is promised, but {titles[0]} can come {day_words(stuck.soonest.day)} at the soonest and "
        what += f"{titles[-1]} {day_words(stuck.latest.day)} at the latest"
    return Contradiction(what, way_out=way_out, parties=parties, rule=Rule.ORDER, members=stuck.members)


def is_apart(book: Book, pair: Pin) -> bool:
    """Whether pieces promised together are in different studies, in one and in none, or one was shown by itself.

    Args:
        book: the book.
        pair: a pair pin; no published study shows both.
    """
    first, second = (book.study_of_piece(piece) for piece in pair.pieces)
    if first is None and second is None:
        return bool(_shown_alone(book, pair))
    return first != second


def _shown_alone(book: Book, pair: Pin) -> list[str]:
    """Which pieces of a pair a published study shows; none shows both."""
    out = {piece for study in book.studies if study.published for piece in study.pieces}
    return [piece for piece in pair.pieces if piece in out]


def binding_pairs(book: Book) -> list[Pin]:
    """The pair pins whose pieces have not been shown together yet."""
    shown = [set(study.pieces) for study in book.studies if study.published]
    return [p for p in book.pins if p.kind is PinKind.PAIR and not any(set(p.pieces) <= both for both in shown)]


def _pairs(book: Book) -> Iterator[Contradiction]:
    """Pairs whose pieces stand in different studies, and pairs that share a piece."""
    pairs = binding_pairs(book)
    apart = set()
    for pin in pairs:
        first, second = (book.study_of_piece(piece) for piece in pin.pieces)
        if not is_apart(book, pin):
            continue
        apart.add(pin.id)
        names = [piece_name(book, piece) for piece in pin.pieces]
        if first is None and second is None:
            alone = listing([piece_name(book, piece) for piece in _shown_alone(book, pin)])
            yield Contradiction(
                f"{listing(names)} are promised together, but {alone} came out in a study without the other",
                way_out="unpin the pair",
                parties=(pin.id,),
                rule=Rule.PAIR,
                members=(Member(Rule.PAIR, pin.id),),
            )
            continue
        places = [
            f"{name} is in {quoted(study.title)}" if study else f"{name} is in no study"
            for name, study in zip(names, (first, second), strict=True)
        ]
        yield Contradiction(
            f"{listing(names)} are promised together, but {listing(places)}",
            way_out="bring them into one study, or unpin the pair",
            parties=(pin.id, *(study.id for study in (first, second) if study)),
            rule=Rule.PAIR,
            members=(Member(Rule.PAIR, pin.id),),
        )
    for one, two in combinations([pin for pin in pairs if pin.id not in apart], 2):
        shared = set(one.pieces) & set(two.pieces)
        if len(shared) == 1:
            (piece,) = shared
            yield Contradiction(
                f"{piece_name(book, piece)} is promised in two pairs, {pin_words(book, one)} and "
                f"{pin_words(book, two)}",
                way_out="unpin one of the pairs",
                parties=(one.id, two.id),
                rule=Rule.PAIR,
                members=(Member(Rule.PAIR, one.id), Member(Rule.PAIR, two.id)),
            )
