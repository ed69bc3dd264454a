"""The owner's template of a description, filled in; and what changed in the book since she wrote her own words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from string import Template

from showrunner.domain.record import record
from showrunner.domain.words import listing, some
from showrunner.errors import BadInput

DEFAULT = """\
$pieces

$advisories

$corrections

$chapters

$left

All films of the series: $page
$related

With thanks to $thanks.
"""
"""The built-in template."""

PLACES = ("advisories", "chapters", "corrections", "left", "page", "pieces", "presenter", "related", "thanks", "title")
"""Names that a template may hold, each after a `$`."""


def check_template(text: str) -> str:
    """A template as it is kept.

    Raises:
        BadInput: it holds a name that nothing is known for, or a `$` that stands for nothing.
    """
    template = Template(text)
    if not template.is_valid():
        raise BadInput("a $ stands by itself", "template", "write $$ for the sign, or a name after it")
    strange = sorted(set(template.get_identifiers()) - set(PLACES))
    if strange:
        names = some([f"${name}" for name in strange])
        raise BadInput(f"nothing is known for {names}", "template", f"use {listing([f'${p}' for p in PLACES])}")
    return text


def fill(text: str, values: Mapping[str, str]) -> str:
    """A template filled in. A line of which every name is empty is left out, and so is a paragraph of nothing else.

    Args:
        text: the template; empty for the built-in one.
        values: what stands for each name.

    Raises:
        BadInput: as `check_template`.
    """
    paragraphs = check_template(text or DEFAULT).split("\n\n")
    filled = (_paragraph(paragraph, values) for paragraph in paragraphs)
    return "\n\n".join(paragraph for paragraph in filled if paragraph)


def _paragraph(text: str, values: Mapping[str, str]) -> str:
    kept: list[str] = []
    named = told = False
    for line in text.strip("\n").split("\n"):
        template = Template(line)
        names = template.get_identifiers()
        says = any(values.get(name) for name in names)
        named, told = named or bool(names), told or says
        if not names or says:
            kept.append(template.substitute({name: values.get(name, "") for name in names}).rstrip())
    return "\n".join(kept).strip("\n") if told or not named else ""


@record
class Change:
    """What the book says otherwise since the owner wrote her own words."""

    old: tuple[str, ...]
    """Lines as the book made them then; none if they are new."""
    new: tuple[str, ...]
    """Lines as it makes them now; none if they are gone."""


def changes(made_then: str, made_now: str) -> tuple[Change, ...]:
    """What changed between two descriptions that the book made, stretch by stretch of lines."""
    then, now = made_then.splitlines(), made_now.splitlines()
    found = []
    for tag, a, b, c, d in SequenceMatcher(None, then, now, autojunk=False).get_opcodes():
        old = tuple(line for line in then[a:b] if line.strip())
        new = tuple(line for line in now[c:d] if line.strip())
        if tag != "equal" and old != new:
            found.append(Change(old, new))
    return tuple(found)


def taken(hers: str, made_then: str, made_now: str) -> str:
    """The owner's words with what changed in the book: lines of hers that the book made are replaced where they stand.

    Whatever she wrote herself stays. What is new and has no place is put after the line it follows in the book's
    words, or at the end.
    """
    lines = hers.splitlines()
    then, now = made_then.splitlines(), made_now.splitlines()
    for tag, a, b, c, d in reversed(SequenceMatcher(None, then, now, autojunk=False).get_opcodes()):
        if tag == "equal":
            continue
        at = _place(lines, then[a:b])
        if at is not None:
            lines[at : at + b - a] = now[c:d]
        else:
            new = [line for line in now[c:d] if line.strip() and line not in lines]
            gone = {line for line in then[a:b] if line.strip()}
            lines = [line for line in lines if line not in gone]
            after = next((lines.index(line) + 1 for line in reversed(then[:a]) if line.strip() and line in lines), None)
            here = len(lines) if after is None else after
            apart = [""] if new and here and (after is None or not now[c - 1].strip()) else []
            lines[here:here] = [*apart, *new]
    return "\n".join(lines).strip("\n")


def _place(lines: Sequence[str], block: Sequence[str]) -> int | None:
    """Where a block of lines stands, untouched; None if it does not."""
    if not any(line.strip() for line in block):
        return None
    width = len(block)
    return next((at for at in range(len(lines) - width + 1) if list(lines[at : at + width]) == list(block)), None)
