"""The package of a study as it is printed, as JSON and as files; and what captions say of its film."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from showrunner.domain import words
from showrunner.domain.book import Book
from showrunner.domain.episode import Series
from showrunner.domain.record import record
from showrunner.domain.titles import quoted, title_of
from showrunner.planning.chapters import fault_words
from showrunner.planning.corrections import Correction, correction_words, corrections, undone
from showrunner.planning.film_check import FilmCheck, Line, Odd, Trouble
from showrunner.planning.film_parts import Proposal
from showrunner.planning.hearing import Doubt, Verdict
from showrunner.planning.package import Prepared, heading_words, missing_words
from showrunner.planning.run_time import clock_words
from showrunner.planning.series_page import page_faults, page_words
from showrunner.planning.stills import StillBank, alt_text, should_yield, still_bank
from showrunner.planning.template import Change
from showrunner.report import clean, heading, wrap, wrap_line
from showrunner.storage.atomic import make_folders, write_whole

Json = dict[str, Any]

MOST_POINTING_TOLD = 12
"""Places of pointing words that are printed."""

DOUBT_WORDS = {
    Doubt.OTHER_SIDE: "the other side is named",
    Doubt.OTHER_NUMBER: "another number is named",
    Doubt.NO_ABSENCE: "nothing says that it is not there",
    Doubt.STILL_THERE: "it is said to be there",
    Doubt.DENIED: "it is said not to be so",
    Doubt.TAKEN_BACK: "it is taken back right after",
}

VERDICT_WORDS = {
    Verdict.NOT_HEARD: "No cue seems to say this",
    Verdict.PERHAPS: "Perhaps said: look at these",
    Verdict.SAID: "A cue seems to say this",
}


# The package


def package_text(found: Prepared) -> str:
    """The package for reading: what is missing first."""
    parts = [heading(heading_words(found))]
    if found.missing:
        parts += ["", "Missing:", *(wrap(missing_words(missing), "    ", "  - ") for missing in found.missing)]
    else:
        parts += ["", "Nothing is missing."]
    if found.changes:
        parts += ["", "Changed in the book since you wrote the description:", *map(_change, found.changes)]
    yours = " (as you wrote it)" if found.edited else ""
    parts += ["", heading(f"Description{yours}"), *map(wrap_line, found.description.splitlines())]
    if found.chapters:
        parts += ["", heading("Chapters")]
        parts += [f"{clock_words(chapter.seconds):>7}  {chapter.title}" for chapter in found.chapters]
    if found.stills:
        parts += ["", heading("What the stills show"), *(wrap(text, "  ") for _, text in found.stills)]
    said = [f"{supporter.name}: {supporter.say}" for supporter in found.thanks if supporter.say]
    if said:
        parts += ["", heading("How the names are said"), *said]
    return "\n".join(parts)


def _change(change: Change) -> str:
    gone = [wrap(line, "    ", "  - ") for line in change.old]
    return "\n".join([*gone, *(wrap(line, "    ", "  + ") for line in change.new)])


@record
class PackageFile:
    """One file of a package."""

    name: str
    """Its name."""
    text: str
    """What it holds."""


def package_files(found: Prepared) -> tuple[PackageFile, ...]:
    """The files of a package; those of the chapters only if they are ready."""
    thanks = "\n".join(f"{s.name}{f' ({s.say})' if s.say else ''}" for s in found.thanks)
    rows = (
        ("title.txt", clean(found.title)),
        ("description.txt", clean(found.description)),
        ("chapters.txt", found.chapter_text),
        ("chapters.vtt", found.chapter_webvtt),
        ("chapters.ffmetadata", found.chapter_ffmetadata),
        ("alt-texts.txt", clean("\n".join(f"{still.what}: {text}" for still, text in found.stills))),
        ("thanks.txt", clean(thanks)),
        ("missing.txt", "\n".join(map(missing_words, found.missing))),
    )
    return tuple(PackageFile(name, text if text.endswith("\n") else f"{text}\n") for name, text in rows if text)


def write_package(folder: Path, found: Prepared, like: Path) -> list[str]:
    """Write the files of a package into a folder, in place of what stands there under their names.

    Args:
        folder: the folder; it is made if it is not there.
        found: the package.
        like: the book, which new files are to be as private as.

    Returns:
        The names of the files that were written.

    Raises:
        CannotWrite: the system refused; files that were written stay.
    """
    make_folders(folder, like)
    files = package_files(found)
    for file in files:
        write_whole(folder / file.name, file.text.encode("utf-8", "replace"), like=like)
    return [file.name for file in files]


def package_json(book: Book, found: Prepared) -> Json:
    """The package as JSON."""
    return {
        "study": found.study,
        "day": found.day.isoformat() if found.day else None,
        "out": found.out,
        "title": found.title,
        "description": found.description,
        "edited": found.edited,
        "made": found.made,
        "changes": [{"old": list(change.old), "new": list(change.new)} for change in found.changes],
        "chapters": [{"seconds": c.seconds, "title": c.title} for c in found.chapters],
        "chapter_faults": [
            {"flaw": fault.flaw.value, "at": fault.at, "text": fault_words(fault, found.chapters, book.house)}
            for fault in found.faults
        ],
        "chapter_lines": found.chapter_text or None,
        "webvtt": found.chapter_webvtt or None,
        "ffmetadata": found.chapter_ffmetadata or None,
        "film_seconds": found.film_seconds or None,
        "stills": [
            {
                "piece": still.piece,
                "what": still.what,
                "alt_text": text,
                "posted": still.posted.isoformat() if still.posted else None,
            }
            for still, text in found.stills
        ],
        "captions_done": found.captions_done,
        "thanks": [{"name": supporter.name, "say": supporter.say} for supporter in found.thanks],
        "corrections": [_correction(book, correction) for correction in found.corrections],
        "missing": [
            {"code": missing.lack.value, "names": list(missing.names), "text": missing_words(missing)}
            for missing in found.missing
        ],
    }


def _correction(book: Book, found: Correction) -> Json:
    return {
        "study": found.study,
        "piece": found.piece,
        "shared_by": found.shared_by or None,
        "about": found.new.about,
        "sentence": correction_words(book, found),
        "done": found.done.isoformat() if found.done else None,
    }


# What is to be looked after


def upkeep_text(book: Book, today: date) -> str:
    """Corrections to paste, what is wrong with the pages of the series, and the stills that are banked."""
    parts = [heading("Corrections to put into descriptions")]
    left = undone(book)
    for id in dict.fromkeys(c.study for c in left):
        parts += [quoted(title_of(book, id))]
        parts += [wrap(correction_words(book, c), "    ", "  - ") for c in left if c.study == id]
    parts += [] if left else ["None."]
    for series in _with_page(book):
        faults = page_faults(book, series)
        parts += ["", heading(f"The page of {series.name}")]
        parts += [wrap(page_words(book, fault), "    ", "  - ") for fault in faults] or ["In order, and complete."]
    parts += ["", heading("Stills for the small posts"), wrap(bank_words(still_bank(book, today)))]
    coming = [study for study in book.open_studies if study.slot]
    for study in sorted(coming, key=lambda study: study.slot.day if study.slot else today)[:1]:
        names = words.some([still.what for still in should_yield(book, study)])
        parts.append(wrap(f"The shoot of {quoted(study.title)} should yield: {names}."))
    return "\n".join(parts)


def to_look_after(book: Book, today: date) -> list[str]:
    """What of all that is to be done, a sentence each: none if all is in order and there are stills for a week."""
    bank = still_bank(book, today)
    return [
        *(correction_words(book, correction) for correction in undone(book)),
        *(page_words(book, fault) for series in _with_page(book) for fault in page_faults(book, series)),
        *([bank_words(bank)] if bank.week_short else []),
    ]


def _with_page(book: Book) -> list[Series]:
    """The series of which a page is known."""
    return [series for series in book.series if series.page or series.listed]


def bank_words(bank: StillBank) -> str:
    """The bank of stills in words."""
    if not bank.posts_a_day:
        return f"{words.count(len(bank.banked), 'still')} banked; no small posts are made."
    told = f"{words.count(len(bank.banked), 'still')} banked"
    told += f", enough through {words.day(bank.last)}" if bank.last else ", none for today"
    if bank.week_short:
        return f"{told}; {bank.week_short} too few for a week without a shoot."
    return f"{told}; {bank.week_left} left after a week without a shoot."


def upkeep_json(book: Book, today: date) -> Json:
    """The same as JSON."""
    bank = still_bank(book, today)
    return {
        "corrections": [_correction(book, correction) for correction in corrections(book)],
        "pages": [
            {
                "series": series.id,
                "page": series.page or None,
                "faults": [
                    {"flaw": fault.flaw.value, "study": fault.study, "text": page_words(book, fault)}
                    for fault in page_faults(book, series)
                ],
            }
            for series in _with_page(book)
        ],
        "stills": {
            "banked": [
                {"study": study, "piece": still.piece, "what": still.what, "alt_text": alt_text(book, still)}
                for study, still in bank.banked
            ],
            "posts_a_day": bank.posts_a_day,
            "days": bank.days,
            "last": bank.last.isoformat() if bank.last else None,
            "week_short": bank.week_short,
            "week_left": bank.week_left,
        },
    }


# What captions say of a film


def check_text(book: Book, found: FilmCheck) -> str:
    """What captions say, for reading: what needs a look first."""
    title = f"{quoted(title_of(book, found.study))}, by {words.short(found.file, 60)}"
    span = f"{clock_words(int(found.first))} to {clock_words(int(found.end))}"
    parts = [
        heading(title),
        f"{words.count(found.cues, 'cue')}, from {span}.",
        *(wrap(odd_words(o)) for o in found.odd),
    ]
    for verdict, told in VERDICT_WORDS.items():
        lines = found.of(verdict)
        if lines:
            parts += ["", heading(f"{told}: {len(lines)} of {len(found.lines)}")]
            parts += [text for line in lines for text in _line_words(line)]
    parts += ["", heading("Chapters that could be taken")]
    parts += [proposal_words(proposal) for proposal in found.chapters] or ["None: no part of the film was made out."]
    if found.chapters and len(found.chapters) < book.house.least_chapters:
        parts.append(
            f"Fewer than {book.house.least_chapters}, the least of the house rules: split the longest by hand."
        )
    if found.pointing:
        parts += ["", heading(f"Words that mean nothing without the picture: {len(found.pointing)}")]
        parts += [f"{clock_words(int(at)):>7}  … {text} …" for at, text in found.pointing[:MOST_POINTING_TOLD]]
        more = len(found.pointing) - MOST_POINTING_TOLD
        parts += [f"         and {more} more"] if more > 0 else []
    parts += ["", wrap("Captions are not speech: look at each line before you take it.")]
    return "\n".join(parts)


def _line_words(line: Line) -> list[str]:
    place = line.hearing.place
    told = [wrap(line.text, "         ", "  - ")]
    if line.seconds is None:
        return told
    near = "nearest, " if line.hearing.verdict is Verdict.NOT_HEARD else ""
    told.append(wrap(f"{near}{clock_words(int(line.seconds))}: … {line.quoted} …", "         ", "      "))
    doubts = [DOUBT_WORDS[doubt] for doubt in place.doubts] if place else []
    if doubts and line.hearing.verdict is not Verdict.NOT_HEARD:
        told.append(wrap(f"but {words.listing(doubts)}", "         ", "      "))
    if line.hearing.late or line.hearing.early:
        told.append(f"      said {'after' if line.hearing.late else 'before'} the part it belongs to")
    return told


def proposal_words(proposal: Proposal) -> str:
    """A chapter that could be taken, and what it rests on."""
    chapter = proposal.chapter
    if not proposal.sure:
        basis = "weak: no words open it"
    elif chapter.opening:
        basis = f"“{chapter.opening}”"
    else:
        basis = "the start of the film"
    return f"{clock_words(chapter.seconds):>7}  {chapter.title} ({basis})"


def odd_words(odd: Odd) -> str:
    """What is odd about a captions file, as a sentence."""
    cues = words.count(odd.amount, "cue")
    return {
        Trouble.LOST: f"{cues} could not be read, and what they say is not known.",
        Trouble.CLOCK: f"Its clock began at {words.count(odd.amount, 'hour')}, which is taken off.",
        Trouble.LANGUAGE: f"Only {odd.amount}% are small English words: is it in another language?",
        Trouble.OTHER_FILM: "Hardly anything that had to be said is in it: is it of another film?",
        Trouble.LONGER: f"It goes on {odd.amount} s after the end of the film: is it of another cut?",
        Trouble.SHORTER: f"It ends {odd.amount} s before the end of the film: is it whole?",
        Trouble.ORDER: "The parts of the film come in another order than that of the shoot.",
        Trouble.POINTING: f"Words that mean nothing without the picture come {odd.amount} times in ten minutes.",
    }[odd.trouble]


def check_json(found: FilmCheck) -> Json:
    """What captions say, as JSON."""
    return {
        "study": found.study,
        "file": found.file,
        "sha256": found.digest,
        "cues": found.cues,
        "first_cue": round(found.first, 3),
        "last_cue_ends": round(found.end, 3),
        "odd": [{"code": odd.trouble.value, "amount": odd.amount, "text": odd_words(odd)} for odd in found.odd],
        "points": [_line_json(line) for line in found.lines],
        "chapters": [_proposal_json(proposal) for proposal in found.chapters],
        "pointing": [{"seconds": round(at, 3), "words": text} for at, text in found.pointing],
    }


def _line_json(line: Line) -> Json:
    place = line.hearing.place
    return {
        "id": line.point,
        "piece": line.piece,
        "text": line.text,
        "verdict": line.hearing.verdict.value,
        "seconds": None if line.seconds is None else round(line.seconds, 3),
        "words": line.quoted or None,
        "matched": list(line.matched),
        "doubts": [doubt.value for doubt in place.doubts] if place else [],
        "late": line.hearing.late,
        "early": line.hearing.early,
    }


def _proposal_json(proposal: Proposal) -> Json:
    chapter = proposal.chapter
    return {
        "seconds": chapter.seconds,
        "title": chapter.title,
        "part": chapter.part.value if chapter.part else None,
        "opening": chapter.opening or None,
        "sure": proposal.sure,
    }


def taken_words(done: Sequence[tuple[str, int]]) -> str:
    """What was taken, as a clause: `taken into the book: 5 chapters and the run time 12:45`."""
    told = [
        f"the run time {clock_words(amount)}" if what == "second" else words.count(amount, what)
        for what, amount in done
    ]
    return f"taken into the book: {words.listing(told)}"
