"""What is asked so that something can be supposed, as lines of a form, and the what-if that the answers make."""

from __future__ import annotations

from collections.abc import Callable

from showrunner.domain.book import Book
from showrunner.domain.episode import Series
from showrunner.domain.piece import Known, WantStatus
from showrunner.domain.record import record
from showrunner.supposing import MOST_PIECES
from showrunner.tui import entry
from showrunner.tui.dialogs import Field
from showrunner.what_if_kinds import Kind


@record
class Ask:
    """What is asked so that something can be supposed."""

    label: str
    """What is supposed, to follow `What if there were`."""
    fields: tuple[Field, ...]
    """Lines of the form."""
    text: Callable[..., str]
    """The what-if as text, of the answers in their order."""


def asks(book: Book, series: Series) -> dict[Kind, Ask]:
    """The what-ifs that need an answer; those that the book has nothing for are left out."""
    in_study = {piece for study in book.open_studies for piece in study.pieces}
    mine = [piece for piece in book.pieces if piece.collection == series.collection and piece.want is None]
    alone = [(s.title, s.id) for s in book.open_studies if s.series == series.id and len(s.pieces) == 1]
    alone += [(p.name, p.id) for p in mine if p.id not in in_study and p.shown.known is not Known.YES]
    shown = [(p.name, p.id) for p in mine if p.shown.known is Known.YES and p.id not in in_study]
    unsure = [(p.name, p.id) for p in mine if p.shown.known is Known.UNSURE]
    weeks = entry.whole(0, 260)
    found = {
        Kind.SPACING: Ask(
            "another spacing",
            (
                Field("least", "never closer, weeks", str(series.min_weeks), weeks),
                Field("wished", "weeks between studies", str(series.target_weeks), weeks),
                Field("most", "warn above, weeks", str(series.max_weeks), weeks),
            ),
            lambda *gaps: f"{Kind.SPACING}={','.join(gaps)}",
        ),
        Kind.LAST_UNTIL: Ask(
            "a spacing that lasts until a day",
            (Field("until", "month or day", "", entry.words, "2027-03 or 2027-03-14"),),
            lambda until: f"{Kind.LAST_UNTIL}={until}",
        ),
        Kind.SLIP_RATE: Ask(
            "another slip rate",
            (Field("share", "share missed (0 to 1)", "0.1", entry.words),),
            lambda share: f"{Kind.SLIP_RATE}={share}",
        ),
        Kind.HOURS: Ask(
            "more or fewer hours a week",
            (Field("hours", "hours, - for fewer", "2", entry.words),),
            lambda hours: f"{Kind.HOURS}={hours}",
        ),
        Kind.OFF: Ask(
            "a month off, or other days",
            (
                Field("first", "first month or day", "", entry.words, "2026-06 or 2026-06-07"),
                Field("last", "last, if another", "", str, "2026-07 or 2026-06-21"),
            ),
            lambda first, last: f"{Kind.OFF}={first}..{last}" if last.strip() else f"{Kind.OFF}={first}",
        ),
        Kind.LOAN: Ask(
            "a piece on loan to show too",
            (Field("name", "its name", "", entry.words),),
            lambda name: f"{Kind.LOAN}={name}",
        ),
        Kind.ADD_PIECE: Ask(
            "more pieces to show",
            (Field("count", "how many", "1", entry.whole(1, MOST_PIECES)),),
            lambda count: f"{Kind.ADD_PIECE}={count}",
        ),
    }
    if len(alone) > 1:
        first, second = alone[0][1], alone[1][1]
        found[Kind.PAIR] = Ask(
            "one study of two",
            (
                Field("one", "this one", first, options=tuple(alone)),
                Field("other", "with", second, options=tuple(alone)),
            ),
            lambda one, other: f"{Kind.PAIR}={one}+{other}",
        )
    if shown:
        found[Kind.REVISIT] = Ask(
            "an old piece shown once more",
            (Field("piece", "which", shown[0][1], options=tuple(shown)),),
            lambda piece: f"{Kind.REVISIT}={piece}",
        )
    if unsure:
        answers = (("it was shown", Kind.SHOWN.value), ("it was not shown", Kind.UNSHOWN.value))
        found[Kind.SHOWN] = Ask(
            "an answer to a doubt",
            (
                Field("piece", "the piece", unsure[0][1], options=tuple(unsure)),
                Field("known", "answer", answers[0][1], options=answers),
            ),
            lambda piece, known: f"{known}={piece}",
        )
    wants = [p for p in book.pieces if p.want and p.want.status in (WantStatus.WANTED, WantStatus.ORDERED)]
    named = tuple((p.name, p.id) for p in wants)
    if named:
        found[Kind.COMES] = Ask(
            "another day for something shopped for",
            (
                Field("want", "which", named[0][1], options=named),
                Field("when", "month or day", "", entry.words, "2026-05 or 2026-05-20"),
            ),
            lambda want, when: f"{Kind.COMES}={want}@{when}",
        )
        found[Kind.DECLINED] = Ask(
            "something shopped for not bought",
            (Field("want", "which", named[0][1], options=named),),
            lambda want: f"{Kind.DECLINED}={want}",
        )
    return found
