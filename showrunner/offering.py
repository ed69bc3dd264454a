"""What the shell offers where a command names something of the book: numbers and names that the command understands.

The book is only read, and where it can't be, nothing is offered.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path

import click
from click.shell_completion import CompletionItem

from showrunner.domain import naming
from showrunner.domain.book import Book
from showrunner.domain.naming import Sort, Thing
from showrunner.errors import ShowrunnerError
from showrunner.session import Session
from showrunner.storage.place import default_path
from showrunner.what_if_kinds import Kind, nameable

OPEN_ENDED = "stem"
"""Type of what is offered that goes on, so that no space follows it."""

Item = CompletionItem[str]
Groups = tuple[Sequence[Thing], Sequence[Thing]]


class Name(click.ParamType[str]):
    """The name of something of the book; which is meant is found once the book is open.

    Args:
        sort: what is named.
        likely: ids of those that can be meant, where that is not as `naming.split` has it.
    """

    name = "name"

    def __init__(self, sort: Sort, likely: Callable[[Book], set[str]] | None = None) -> None:
        self.sort = sort
        self.likely = likely

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[Item]:  # noqa: ARG002
        """Names that what is typed may become."""
        book = book_of(ctx)
        likely = self.likely(book) if self.likely else None
        return offered(naming.split(book, self.sort, likely), incomplete)


class Names(click.ParamType[str]):
    """Pieces of an episode by its place in a file: `20=tea gown, bonnet`."""

    name = "names"

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[Item]:  # noqa: ARG002
        """Names for the last of the pieces."""
        place, sign, text = incomplete.partition("=")
        if not sign:
            return []
        before, comma, last = text.rpartition(",")
        there = naming.things(book_of(ctx), Sort.PIECE)
        return [_after(f"{place}={before}{comma}", item) for item in offered((there, ()), last.lstrip())]


class WhatIf(click.ParamType[str]):
    """A what-if: its kind, and what it names."""

    name = "what-if"

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[Item]:  # noqa: ARG002
        """Kinds of what-ifs; after the sign, what one may name."""
        kind, sign, text = incomplete.partition("=")
        if not sign:
            return [CompletionItem(f"{one}=", OPEN_ENDED) for one in Kind if one.startswith(kind)]
        if kind not in list(Kind) or (kind == Kind.COMES and "@" in text):
            return []
        start = f"{kind}="
        if kind == Kind.PAIR and "+" in text:
            first, _, text = text.rpartition("+")
            start = f"{start}{first}+"
        items = [_after(start, item) for item in offered(nameable(book_of(ctx), Kind(kind)), text.lstrip())]
        goes_on = "@" if kind == Kind.COMES else "+" if start == f"{Kind.PAIR}=" else ""
        return [CompletionItem(item.value + goes_on, OPEN_ENDED, item.help) for item in items] if goes_on else items


def book_of(ctx: click.Context) -> Book:
    """The book that the command line names, read only; one that holds nothing if it can't be read."""
    path: Path | None = ctx.find_root().params.get("book")
    try:
        at = Path(os.path.expandvars(path)).expanduser() if path else default_path()
        with Session.open(at, write=False, steps=False) as session:
            return session.book
    except ShowrunnerError:
        return Book("")


def offered(groups: Groups, incomplete: str) -> list[Item]:
    """What may be meant by what was typed so far, each as it is written out.

    Args:
        groups: the likely things, which come first, and the others, of which any are offered only if no likely one is.
        incomplete: what was typed so far.
    """
    written = naming.written(*groups)
    for group in groups:
        items = [_item(thing, written[thing], incomplete) for thing in group if naming.begun(incomplete, thing)]
        found = [item for item in items if item]
        if found:
            return found
    return []


def _item(thing: Thing, texts: Sequence[str], incomplete: str) -> Item | None:
    """A thing as it is offered: by its name, or by its number if that is what was begun, or all that is clear."""
    texts = [text for text in texts if not text.startswith("-")]
    id, name = naming.cleaned(thing.id), naming.cleaned(thing.name)
    by_id = id in texts and id.startswith(incomplete) and not naming.begun(incomplete, Thing(thing.sort, "", name))
    if by_id or name not in texts:
        return CompletionItem(id, help=name) if id in texts else None
    return CompletionItem(name, help=id if naming.tells_id(thing) else None)


def _after(start: str, item: Item) -> Item:
    return CompletionItem(start + item.value, item.type, item.help)
