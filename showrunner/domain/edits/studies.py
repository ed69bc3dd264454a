"""Edits of studies and of filler."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from showrunner.domain.book import Book
from showrunner.domain.edits.checks import (
    check_pieces,
    check_slot_of,
    keep_promises,
    need_open,
    need_open_study,
    refuse_pinned,
)
from showrunner.domain.edits.ids import episode_id
from showrunner.domain.edits.packaging import without_mention
from showrunner.domain.episode import Episode, EpisodeKind, PinKind
from showrunner.domain.piece import Known
from showrunner.domain.slot import SlotRef
from showrunner.domain.titles import quoted
from showrunner.domain.words import listing
from showrunner.errors import BadInput


def make_study(
    book: Book,
    pieces: Sequence[str],
    series: str | None = None,
    title: str | None = None,
    *,
    revisit: bool = False,
) -> tuple[Book, Episode]:
    """Make a study of one or two pieces.

    Args:
        book: the book.
        pieces: ids of the pieces.
        series: id of its series; None for the one series of their collection.
        title: its title; None for the names of the pieces.
        revisit: whether a piece that has surely been shown is meant to be shown again.

    Raises:
        UnknownThing: a piece or the series is not in the book.
        BadInput: no or too many pieces, one in another open study, one shown already, or no clear series.
        Contradiction: a pair pin promises one of them together with another piece.
    """
    found = [book.piece(piece) for piece in pieces]
    names = listing([piece.name for piece in found])
    title = title or names
    if not found:
        raise BadInput("a study needs a piece", title, "choose one or two")
    for piece in found:
        if piece.shown.known is Known.YES and not revisit:
            raise BadInput("it has been shown already", piece.name, "say that it is a revisit, or choose another piece")
    study = Episode(
        episode_id(book, title), title, series=series or _only_series(book, found[0].collection), pieces=tuple(pieces)
    )
    check_pieces(book, study)
    return keep_promises(book, book.put("episodes", study)), study


def split_study(book: Book, id: str) -> tuple[Book, Episode, Episode]:
    """Split a study of two pieces into one for each.

    The first keeps id, windows, slot, work and finished stages; the second is new. Both take the
    names of their pieces as titles.

    Raises:
        UnknownThing, BadInput: there is no such study, it is published, or it shows one piece only.
        Contradiction: a pair pin promises the two together.
    """
    study = need_open_study(book, id)
    if len(study.pieces) != 2:
        raise BadInput("it shows one piece only", quoted(study.title), "choose a study of two")
    pair = [pin for pin in book.pins if pin.kind is PinKind.PAIR and set(pin.pieces) == set(study.pieces)]
    refuse_pinned(book, pair, quoted(study.title))
    one, two = map(book.piece, study.pieces)
    first = replace(study, title=one.name, pieces=(one.id,))
    second = Episode(episode_id(book, two.name), two.name, series=study.series, pieces=(two.id,))
    return keep_promises(book, book.put("episodes", first, second)), first, second


def pair_studies(book: Book, a: str, b: str) -> tuple[Book, Episode]:
    """Bring two studies together into one.

    It keeps the id, slot, work and place of `a` and has the windows and notes of both; only the
    stages finished for both count as finished. `b` is gone and its slot free.

    Raises:
        UnknownThing, BadInput: one is not in the book, is published or filler, is of another series, or
            together they show more than two pieces.
        Contradiction: pins name `b`.
    """
    first, second = need_open_study(book, a), need_open_study(book, b)
    both = f"{quoted(first.title)} and {quoted(second.title)}"
    if a == b:
        raise BadInput("a study cannot be paired with itself", quoted(first.title), "choose two studies")
    if first.series != second.series:
        raise BadInput("they belong to different series", both, "choose two of one series")
    if any(b in shoot.studies for shoot in book.shoots):
        raise BadInput("it has been filmed by itself, and the log names it", quoted(second.title), "keep it apart")
    refuse_pinned(book, [pin for pin in book.pins if b in pin.episodes], quoted(second.title))
    study = replace(
        first,
        title=f"{first.title} and {second.title}",
        pieces=first.pieces + second.pieces,
        windows=first.windows + tuple(w for w in second.windows if w not in first.windows),
        done=tuple(stage for stage in first.done if stage in second.done),
        worked=first.worked + second.worked,
        finished=first.finished and second.finished,
        notes="\n".join(note for note in (first.notes, second.notes) if note),
    )
    return keep_promises(book, without_mention(book.drop("episodes", b).put("episodes", study), b)), study


def remove_study(book: Book, id: str) -> Book:
    """Take an open study, or open filler, out of the book; its pieces stay.

    Raises:
        UnknownThing, BadInput: it is not in the book, is published, or the record or a shoot names it.
        Contradiction: pins name it.
    """
    episode = need_open(book, id)
    if any(line.episode == id for line in book.publications):
        raise BadInput("the record of publications names it", quoted(episode.title), "keep it")
    if any(id in shoot.studies for shoot in book.shoots):
        raise BadInput("it has been filmed, and the log names it", quoted(episode.title), "keep it")
    refuse_pinned(book, [pin for pin in book.pins if id in pin.episodes], quoted(episode.title))
    return keep_promises(book, without_mention(book.drop("episodes", id), id))


def put_episode(book: Book, episode: Episode) -> Book:
    """Replace an open episode by a changed one (windows, work, finished stages, notes), or add a new one.

    Raises:
        UnknownThing: its series, a piece or its slot rule is not in the book.
        BadInput: it is published (use `publish`), or a piece, slot or rule does not suit it.
        Contradiction: its slot is taken, or a pin would be broken.
    """
    if book.find("episodes", episode.id) is not None:
        need_open(book, episode.id)
    if episode.published:
        raise BadInput("an episode is published by putting it on record", quoted(episode.title), "publish it")
    if episode.kind is EpisodeKind.STUDY:
        check_pieces(book, episode)
    if episode.rule:
        book.rule(episode.rule)
    check_slot_of(book, episode)
    return keep_promises(book, book.put("episodes", episode))


def add_filler(
    book: Book, title: str, rule: str, day: date | None = None, *, finished: bool = False, idea_of: str = ""
) -> tuple[Book, Episode]:
    """Add a filler episode worth naming.

    Args:
        book: the book.
        title: its title.
        rule: id of the slot rule it is meant for.
        day: day of its slot; None while it has none.
        finished: whether it is finished, which puts it in the bank.
        idea_of: id of the study that gives the idea for it; empty for none.

    Raises:
        UnknownThing: there is no such rule, or no such study.
        BadInput: the day is no slot of the rule, or the title is empty.
        Contradiction: the slot is taken or promised to a study.
    """
    book.rule(rule)
    if idea_of:
        book.episode(idea_of)
    slot = SlotRef(day, rule) if day else None
    episode = Episode(
        episode_id(book, title),
        title,
        kind=EpisodeKind.FILLER,
        rule=rule,
        slot=slot,
        finished=finished,
        idea_of=idea_of,
    )
    return put_episode(book, episode), episode


def _only_series(book: Book, collection: str) -> str:
    series = [s for s in book.series if s.collection == collection]
    name = book.collection(collection).name
    if not series:
        raise BadInput("no series is about this collection", name, "add a series first")
    if len(series) > 1:
        raise BadInput(f"{listing([s.name for s in series])} are about this collection", name, "say which series")
    return series[0].id
