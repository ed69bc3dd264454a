"""Everything about one piece, as text."""

from __future__ import annotations

from collections.abc import Mapping

from showrunner.domain import acquisition, words
from showrunner.domain.acquisition import Bounds
from showrunner.domain.book import Book
from showrunner.domain.fuzzydate import FuzzyDate
from showrunner.domain.measuring import measurement_words
from showrunner.domain.piece import Claim, Condition, Confidence, Exposure, Feature, Known, Piece, Presence
from showrunner.domain.zone import zone_or_utc

MARKS = {Known.YES: "✓ shown", Known.NO: "○ not shown", Known.UNSURE: "? unsure"}
"""Glyph and word for whether a piece has been shown."""

SAFETY = "Follow local rules and ask a conservator or a safety professional."


def about(book: Book, piece: Piece, bounds: Mapping[str, Bounds] | None = None) -> str:
    """A piece in words, a fact a line, the unknown left out.

    Args:
        book: the book.
        piece: the piece.
        bounds: when each piece was acquired; worked out where it is not given.
    """
    lines = [f"{piece.id}  {piece.name}", ""]
    facts = [
        ("kind", piece.kind),
        ("made", when_words(piece.made)),
        ("acquired", when_words(piece.acquired)),
        ("of", ", ".join(piece.materials)),
        ("box", piece.box + (f", layer {piece.layer}" if piece.layer else "")),
        ("light", f"{piece.light} sensitivity" if piece.light else ""),
    ]
    lines += [f"{label:<9} {value}" for label, value in facts if value]
    lines += ["", shown(book, piece)]
    lines += _part("Features", [_feature(f) for f in piece.features])
    lines += _part("To say", [f"{f.what} ({_state(f)})" for f in piece.features if _state(f)] + list(piece.points))
    lines += _part("Claims", claims(book, piece))
    lines += _part("Order of acquisition", order(book, piece, bounds))
    lines += _part("Measurements", [measurement_words(m) for m in piece.measurements])
    lines += _part("Handling", handling(piece))
    if piece.hazards:
        lines += _part("! Caution", [*piece.hazards, SAFETY])
    lines += _part("Condition", [_condition(c) for c in piece.condition])
    lines += _part("Light and touches", [_exposure(e) for e in piece.exposures])
    lines += _part("Photographs (v shows them)", list(piece.photographs))
    if piece.want:
        lines += _part("Shopping", [piece.want.status.value])
    if piece.notes:
        lines += ["", piece.notes]
    return "\n".join(lines)


def when_words(when: FuzzyDate | None) -> str:
    """A date in words, with the text as it was written where there is one."""
    if when is None:
        return ""
    return f"{when.words} (written: {when.written})" if when.written else when.words


def order(book: Book, piece: Piece, bounds: Mapping[str, Bounds] | None = None) -> list[str]:
    """What it came before and after, whichever of the two says so, and what that says about when it came."""
    before = dict.fromkeys(piece.acquired_before)
    before.update(dict.fromkeys(p.id for p in book.pieces if piece.id in p.acquired_after))
    after = dict.fromkeys(piece.acquired_after)
    after.update(dict.fromkeys(p.id for p in book.pieces if piece.id in p.acquired_before))
    lines = [
        f"came {side} {words.listing([_name(book, id) for id in ids])}"
        for side, ids in (("before", before), ("after", after))
        if ids
    ]
    if not lines:
        return []
    return lines + [bound.words for bound in (bounds or acquisition.bounds(book))[piece.id].derived]


def _name(book: Book, id: str) -> str:
    found = book.find("pieces", id)
    return found.name if found else f"no. {id}, which the book does not hold"


def shown(book: Book, piece: Piece) -> str:
    """Whether it has been shown, and what that rests on."""
    state = piece.shown
    text = MARKS[state.known]
    if state.known is Known.UNSURE:
        text += f": {state.odds_unshown}% that it is not"
    if state.when:
        text += f", {state.when.words}"
    if state.evidence:
        text += f" ({state.evidence})"
    study = book.study_of_piece(piece.id)
    if study:
        when = words.day(study.slot.day) if study.slot else "no slot yet"
        text += f"\nin the study “{study.title}”, {when}"
    elif state.known is not Known.YES:
        text += "\nin no study"
    return text


def handling(piece: Piece) -> list[str]:
    """Handling limits in words."""
    limits = piece.handling
    found = [
        ("flat only, no form views", limits.flat_only),
        ("never hung", limits.no_hanging),
        ("never turned", limits.no_turning),
        ("on a board", limits.board),
        (f"{limits.people} people", limits.people > 1),
        (f"at most {limits.form_minutes} minutes on a form", limits.form_minutes is not None),
        (limits.notes, bool(limits.notes)),
    ]
    return [text for text, holds in found if holds]


def _part(title: str, lines: list[str]) -> list[str]:
    return ["", title, *(f"- {line}" for line in lines)] if lines else []


def claims(book: Book, piece: Piece) -> list[str]:
    """Claims that stand, each with those it superseded below it; what was found while filming with time and study."""
    lines = []
    for claim in piece.claims:
        if claim.superseded:
            continue
        lines.append(_claim_line(book, claim))
        older = [c for c in piece.claims if c.superseded and words.plain(c.about) == words.plain(claim.about)]
        lines += [f"  before: {_claim_line(book, c)}" for c in reversed(older)]
    standing = {words.plain(c.about) for c in piece.claims if not c.superseded}
    gone = [c for c in piece.claims if c.superseded and words.plain(c.about) not in standing]
    return lines + [f"before: {_claim_line(book, c)}" for c in gone]


def _claim_line(book: Book, claim: Claim) -> str:
    text = f"{claim.about}: {_claim(claim.value, claim.confidence)}{_basis(claim.basis)}"
    if claim.found is not None:
        at = claim.found.astimezone(zone_or_utc(book.house.zone))
        study = book.find("episodes", claim.study)
        text += f", {words.day(at.date())} at {at:%H:%M}" + (f", “{study.title}”" if study else "")
    elif claim.judged:
        text += f", {words.day(claim.judged)}"
    return text


def _condition(entry: Condition) -> str:
    when = f" ({'after' if entry.after else 'before'} filming)" if entry.shoot else ""
    return f"{words.day(entry.day)}{when}, {entry.place}: {entry.text}"


def _exposure(entry: Exposure) -> str:
    what = f", {entry.what}" if entry.what else ""
    return f"{words.day(entry.day)}: {entry.lux_hours:,} lux hours, {words.count(entry.touches, 'touch')}{what}"


def _state(feature: Feature) -> str:
    parts = {Presence.PRESENT: [], Presence.ABSENT: ["absent"], Presence.TRACE: ["trace only"]}[feature.presence]
    return ", ".join([*parts, "altered"] if feature.altered else parts)


def _feature(feature: Feature) -> str:
    state = _state(feature)
    where = f", {feature.where}" if feature.where else ""
    return f"{feature.what}{where} ({f'{state}; ' if state else ''}{feature.view})"


def _claim(value: str, confidence: Confidence) -> str:
    return value if confidence is Confidence.SURE else f"{value}, {confidence}"


def _basis(basis: str) -> str:
    return f" ({basis})" if basis else ""
