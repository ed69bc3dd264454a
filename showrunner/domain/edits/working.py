"""Edits that put hours down as worked, and take them back."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from showrunner.domain.book import Book
from showrunner.domain.edits.checks import need_open
from showrunner.domain.edits.record import not_to_come
from showrunner.domain.edits.studies import add_filler, put_episode
from showrunner.domain.episode import Episode, EpisodeKind, Stage, Worked
from showrunner.domain.slot import SlotRef
from showrunner.domain.titles import quoted, usual_title
from showrunner.errors import BadInput


def put_work(
    book: Book, episode: str, stage: Stage | None, minutes: int, on: date, *, today: date, done: bool = False
) -> Book:
    """Put hours down as worked on an episode.

    A stage whose hours are all worked is done, and an episode of which nothing is left is finished, and so in
    the bank.

    Args:
        book: the book.
        episode: id of an open study or filler.
        stage: the stage of a study; None for filler.
        minutes: how long.
        on: the day they were worked on.
        today: the present day; a later one is refused.
        done: whether the stage, or the filler, is done with that, whatever hours were planned for it.

    Raises:
        UnknownThing: there is no such episode.
        BadInput: it is published, the day is still to come, or no time is given.
    """
    found = need_open(book, episode)
    not_to_come(on, today, quoted(found.title))
    if (stage is None) is not (found.kind is EpisodeKind.FILLER):
        raise BadInput("a study is worked on by stages, other episodes as a whole", quoted(found.title), "choose anew")
    changed = replace(found, worked=(*found.worked, Worked(on, minutes, stage)))
    return put_episode(book, _finished(book, changed, stage, done))


def put_work_for_slot(book: Book, slot: SlotRef, minutes: int, on: date, *, today: date, done: bool = False) -> Book:
    """Put hours down as worked on the usual content of a slot, which gets a name by that.

    Args:
        book: the book.
        slot: the slot.
        minutes: how long.
        on: the day they were worked on.
        today: the present day; a later one is refused.
        done: whether it is finished with that.

    Raises:
        UnknownThing: there is no such weekly slot.
        BadInput: the day is still to come, or no time is given.
        Contradiction: the slot holds an episode or is promised to a study.
    """
    named, filler = add_filler(book, usual_title(book, slot), slot.rule, slot.day)
    return put_work(named, filler.id, None, minutes, on, today=today, done=done)


def take_work_back(book: Book, episode: str, at: int) -> Book:
    """Take hours back that were put down as worked; a stage that they had finished is open again.

    Args:
        book: the book.
        episode: id of an open study or filler.
        at: which of its `worked`, counted from 0.

    Raises:
        UnknownThing: there is no such episode.
        BadInput: it is published, or has no such hours.
    """
    found = need_open(book, episode)
    if not 0 <= at < len(found.worked):
        raise BadInput("these hours are not there any more", quoted(found.title), "look again")
    stage = found.worked[at].stage
    return put_episode(
        book,
        replace(
            found,
            worked=found.worked[:at] + found.worked[at + 1 :],
            done=tuple(one for one in found.done if one is not stage),
            finished=False,
        ),
    )


def _finished(book: Book, episode: Episode, stage: Stage | None, done: bool) -> Episode:
    """The episode with the stage, or the whole, done if its hours are all worked or it is said to be."""
    if stage is None:
        planned = book.rule(episode.slot.rule).on(episode.slot.day).standing_minutes if episode.slot else None
        return replace(episode, finished=done or (planned is not None and episode.worked_on(None) >= planned))
    stages = book.stages_of(episode)
    if done or episode.worked_on(stage) >= stages.of(stage):
        episode = replace(episode, done=tuple(one for one in Stage if one in episode.done or one is stage))
    if not episode.left(stages):
        return replace(episode, done=tuple(Stage), finished=True)
    return episode
