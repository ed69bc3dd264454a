"""The words on the screens, each in plain English, and on which screens they stand."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum

from showrunner.domain.naming import bare
from showrunner.domain.record import record


class Where(StrEnum):
    """The screens that words stand on."""

    REGISTER = "Register"
    LEDGER = "Ledger"
    SET_UP = "Set-up"
    RUN_OUT = "Run-out"
    WANTS = "Wants"
    PACKAGE = "Package"


@record
class Term:
    """A word and what it means here."""

    word: str
    """The word, or words that belong together."""
    meaning: str
    """What it means, one or two sentences."""
    where: tuple[Where, ...]
    """The screens it stands on."""


REG, LED, SET, OUT, BUY, PKG = Where
_ALL = (REG, LED, SET, OUT, BUY)

GLOSSARY = (
    Term(
        "absent, trace",
        "A part that should be on a piece and is gone, or has only left a mark. Say so aloud.",
        (REG, SET),
    ),
    Term("bad spell", "Missed slots often come together, so the end allows for bad weeks in a row.", (OUT,)),
    Term("bank", "Episodes that are finished and not yet published.", (LED, OUT)),
    Term("book", "The one file that holds everything you told the program.", _ALL),
    Term("budget, shelf", "The most a collection may cost, and the room there is for it, in centimetres.", (BUY,)),
    Term("carriage", "What it costs to have a piece sent to you.", (BUY,)),
    Term("caution", "What to mind before a box is opened, such as gloves, or poison in an old dye.", (REG, SET)),
    Term("ceiling", "The most you would pay for a piece.", (BUY,)),
    Term(
        "claim",
        "Something you hold to be so about a piece: sure, probable or possible, and why. A later claim takes its place;"
        " the earlier one is kept.",
        (REG, SET, PKG),
    ),
    Term(
        "collection",
        "Pieces that belong together. Keeping: you own them. Shopping: you are still buying. Closed: nothing is added.",
        (REG, OUT, BUY),
    ),
    Term("correction", "A sentence to add to a film that is out, because you know better now.", (PKG,)),
    Term("cue", "A hint for the camera by what the piece is made of, such as dark pile or shine.", (SET,)),
    Term("dark", "Days without work, or on which nothing is published, or both, such as a holiday.", (LED,)),
    Term("discovery", "Something found while filming that was not known before.", (SET,)),
    Term(
        "doubt, odds",
        "A piece you are not sure was shown. The odds, in percent, say how likely it was not: 50 if you cannot say.",
        (REG, OUT),
    ),
    Term(
        "even odds, 10%, 90%",
        "A day as likely too early as too late. Once in ten times it comes before the day at 10%; nine times in ten by"
        " the day at 90%.",
        (OUT, BUY),
    ),
    Term(
        "feature", "Something on a piece to show, with its place on the wearer and the side that shows it.", (REG, SET)
    ),
    Term("filler", "An episode about none of the pieces, such as the making diary.", (LED,)),
    Term("form", "A dress form or a head stand that a piece is put on.", (SET,)),
    Term(
        "gap",
        "The weeks from one study to the next: the least you allow, those you wish, and the most before you are warned."
        " “Wished 4, most 9” wishes four weeks and warns above nine.",
        (LED, OUT),
    ),
    Term("gate", "What can only be seen or said now, before the next touch hides it.", (SET,)),
    Term("idea", "A filler that could be put into an empty slot.", (LED,)),
    Term(
        "kind",
        "What a piece is, such as waistcoat or bonnet. It says how it is held and which sides are filmed.",
        (REG,),
    ),
    Term(
        "lux hours",
        "Light on a piece: ten hours at 50 lux are 500. Light fades cloth, so each year has a limit.",
        (REG, SET),
    ),
    Term("offer", "Dates that are worked out and not accepted yet. Nothing is changed by looking at them.", (LED,)),
    Term(
        "package", "What a publication needs: title, description, chapters, credits, corrections, stills.", (LED, PKG)
    ),
    Term("pair", "Two pieces shown in one study.", (REG, LED, OUT)),
    Term("pickup", "A shot or a sentence that was missed, and the least work that mends it.", (LED, SET)),
    Term("piece", "One object of a collection. Two gloves that belong together are one piece.", (*_ALL, PKG)),
    Term("pin", "A promise: this date, this order, or these two together. It is kept before all else.", (LED,)),
    Term("plan", "The dates you accepted; every screen and the calendar go by them.", (LED, OUT)),
    Term(
        "point", "Something to say aloud. Whatever is gone or was altered on a piece is a point by itself.", (REG, SET)
    ),
    Term("ready by", "The day by which an episode must be finished, some days before its slot.", (LED,)),
    Term("record", "What was published, when, and whether its slot was kept. Nothing is taken out of it.", (LED, OUT)),
    Term("run-out", "When the last piece that was never shown will have been shown.", (OUT,)),
    Term("series", "The studies on one collection, with the weeks you wish between them.", (LED, OUT, BUY)),
    Term("set-up", "One place of the camera, from which as much as possible is filmed before it moves.", (SET,)),
    Term("shot, take", "One side of a piece filmed from one place of the camera, and one try at it.", (SET,)),
    Term(
        "shown, unsure",
        "Whether viewers have seen a piece. Each unsure piece makes the counts a range, such as 6–8.",
        (REG, OUT),
    ),
    Term("silence", "The weeks between the end of one series and the beginning of the next.", (BUY,)),
    Term("slip", "An episode that missed its slot. The slip rate is the share that did.", (LED, OUT)),
    Term("slot", "A fixed time of the week at which you publish, or one such day.", (LED, OUT, BUY)),
    Term("spare", "The hours you could lose from that week on before something is late.", (LED,)),
    Term("stage", "A step of the work on a study: research, condition check, shoot, edit, captions, package.", (LED,)),
    Term("still", "A picture from the film for a small post.", (PKG,)),
    Term("stocktake", "A walk along the shelf from doubt to doubt, to settle them.", (REG,)),
    Term("study", "An episode that looks closely at one or two pieces.", (*_ALL, PKG)),
    Term(
        "taking over",
        "When the collection you are buying has enough pieces, prepared, for its own first study.",
        (OUT, BUY),
    ),
    Term(
        "touch",
        "One handling of a piece: laid out, turned, opened, dressed or boxed. The fewer the better.",
        (REG, SET),
    ),
    Term(
        "unevenness",
        "How far dates are from your wishes: the weeks off the wished gap, and outside a window, each times itself,"
        " added up. 0 is just as you wish.",
        (LED,),
    ),
    Term("view", "One side or way to show a piece: lying flat, inside, on the form from the left.", (REG, SET)),
    Term("want", "A piece you shop for: wanted, ordered, arrived, or declined (you leave it).", (BUY,)),
    Term("way out", "A change that was tried and lets a study have a slot after all.", (LED,)),
    Term("what-if", "A change tried on a copy; your book stays as it is until you adopt it.", (OUT,)),
    Term("window", "Days in which a study should air, or must.", (LED, OUT)),
)
"""Every word, in the order of the alphabet."""


def words_on(where: Where) -> tuple[Term, ...]:
    """The words of a screen."""
    return tuple(term for term in GLOSSARY if where in term.where)


def found(text: str, terms: Iterable[Term] = GLOSSARY) -> tuple[Term, ...]:
    """The words that a text is a part of, then those in whose meaning it stands; all for an empty text."""
    wanted = bare(text)
    terms = tuple(terms)
    called = [term for term in terms if wanted in bare(term.word)]
    return (*called, *(term for term in terms if term not in called and wanted in bare(term.meaning)))
