"""Walks through every screen and dialog of the application and types into every line."""

from __future__ import annotations

import ast
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from keys import Keys, settle
from textual.events import Paste
from textual.widgets import Input, TextArea

import showrunner.tui
from showrunner.domain import edits
from showrunner.domain.slot import SlotRef
from showrunner.tui import dialogs
from showrunner.tui.app import ShowrunnerApp
from showrunner.tui.base import BookScreen
from showrunner.tui.dialogs import ChooseDialog, Dialog, FormDialog
from showrunner.tui.ledger import LedgerScreen
from showrunner.tui.once import FinishesOnce
from showrunner.tui.registry import EVERYWHERE
from showrunner.tui.weeks import Content

LEAVE = frozenset({"q", "1", "2", "3", "4", "5", "u", "U", "t"})
"""Keys of a screen that open nothing to type into."""
MOVES = frozenset(
    ["escape", "up", "down", "left", "right", "home", "end", "pageup", "pagedown", "tab", "shift+tab", "q", "u"]
)
"""Keys of a dialog that only move, or leave."""
TO_A_STUDY, GONE_BY, AHEAD, FILM = "to a study", "to a slot gone by", "to a free slot ahead", "film"
"""Steps that are no keys: where the cursor of the Ledger goes, and a shoot that is begun."""
DEEP = 5
"""Steps that a walk goes from a screen."""
ALIKE = 3
"""Lines of a long list, one after the other, that lead to what is known: the rest but the last is taken to do so."""
MENU = 25
"""Lines of a list that are all tried."""
Site = tuple[str, int]
"""Where the code makes a form: file and line."""


Name = tuple[Site, tuple[str, ...]]
"""A form by where it is made, and by its lines."""


def name_of(form: FormDialog) -> Name:
    """The name of a form that knows its site."""
    return form.site, tuple(field.name for field in form.fields)  # type: ignore[attr-defined]


def sites() -> set[Site]:
    """Every place of the code that makes a form."""
    found = set()
    for file in Path(showrunner.tui.__path__[0]).glob("*.py"):
        for call in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "FormDialog":
                found.add((file.name, call.lineno))
    return found


def forms_know_their_site(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have each form remember which place of the code made it."""
    made = FormDialog.__init__

    def make(self: Any, *args: Any, **more: Any) -> None:
        caller = sys._getframe(1)
        self.site = (Path(caller.f_code.co_filename).name, caller.f_lineno)
        made(self, *args, **more)

    monkeypatch.setattr(dialogs.FormDialog, "__init__", make)


def slot_for(ledger: LedgerScreen, step: str) -> SlotRef | None:
    """The first slot of a study, the first free one that has come and is not on record, or the first ahead."""
    cells = [cell for week in ledger.rows for cell in week.cells if cell.slot]
    if step == TO_A_STUDY:
        studies = {study.slot for study in ledger.session.book.open_studies}
        return next((cell.slot for cell in cells if cell.slot in studies), None)
    free = [cell.slot for cell in cells if cell.content is Content.FREE and cell.slot]
    return next((slot for slot in free if (slot.day <= ledger.session.today) == (step == GONE_BY)), None)


class Walker:
    """Walks, types and looks.

    Args:
        pilot: presses the keys.
        texts: are typed.
        look: looks at the screen after each step, and fails if something on it was obeyed.
    """

    def __init__(self, pilot: Keys, texts: Sequence[str], look: Callable[[ShowrunnerApp], None]) -> None:
        self.pilot, self.texts, self.look = pilot, tuple(texts), look
        self.filled: dict[Name, int] = {}
        """How many texts were saved in each form."""
        self.typed: dict[str, int] = {}
        """Into how many forms each text was typed."""
        self.beside: set[tuple[str, str]] = set()
        """Lines that stand in no form: kind of screen, and line."""
        self.walked: set[tuple[str, str]] = set()
        """Kind of dialog, and step, that were tried."""
        self.lines = 0
        """Lines that were typed into."""

    @property
    def app(self) -> ShowrunnerApp:
        """The application."""
        app = self.pilot.app
        assert isinstance(app, ShowrunnerApp)
        return app

    async def everywhere(self) -> None:
        """All screens; the Ledger from a study and from a slot gone by too, the Set-up before a shoot and in it."""
        await settle(self.pilot)
        starts = (["3"], ["3", FILM], ["1"], ["2", GONE_BY], ["2", TO_A_STUDY], ["2", AHEAD], ["2"], ["4"], ["5"])
        for start in starts:
            await self.reach(start)
            for key in self.keys():
                await self.explore([*start, key])
        for action in EVERYWHERE:  # last, since views and boxes are taken out there
            if (key := action.keys.split(",")[0]) not in LEAVE:
                await self.explore(["2", key])

    def keys(self) -> list[str]:
        """Every key of the screen in front alone that may open something."""
        screen = self.app.screen
        own = screen.ACTIONS if isinstance(screen, BookScreen) else ()
        return [key for action in own if (key := action.keys.split(",")[0]) not in LEAVE]

    # Where it goes

    async def reach(self, steps: list[str]) -> bool:
        """Go some steps from the screen that the first one names; tell whether each could be gone."""
        await self.leave()
        for step in steps:
            screen = self.app.screen
            if step == FILM:
                self.film()
            elif step in (TO_A_STUDY, GONE_BY, AHEAD):
                assert isinstance(screen, LedgerScreen)
                if (slot := slot_for(screen, step)) is not None:
                    screen._to_slot(slot)
            elif step.startswith("choose "):
                at = int(step.removeprefix("choose "))
                if not isinstance(screen, ChooseDialog) or at >= len(screen.options):
                    return False
                screen.dismiss(screen.options[at][0])
            else:
                await self.pilot.press(step)
            await settle(self.pilot)
        self.look(self.app)
        assert self.app._exception is None
        return True

    def film(self) -> None:
        """Begin the shoot of a study, if none goes on."""
        session = self.app.session
        if session.book.open_shoot is None:
            study = next(one.id for one in session.book.open_studies if one.pieces)
            session.do("film", lambda book: edits.begin_shoot(book, [study], session.instant())[0])
            self.app.book_changed()

    async def leave(self) -> None:
        """Back to the screen below."""
        for _ in range(12):
            screen = self.app.screen
            if isinstance(screen, BookScreen) and not isinstance(screen, FinishesOnce):
                return
            if isinstance(screen, ChooseDialog) and screen.question == Dialog.NOT_SAVED:
                screen.dismiss("drop")
            else:
                await self.pilot.press("escape")
            await settle(self.pilot)

    async def explore(self, steps: list[str]) -> bool:
        """Type into what some steps lead to, and go on from there.

        Returns:
            Whether a line was found there that was not known.
        """
        if not await self.reach(steps):
            return False
        screen = self.app.screen
        if isinstance(screen, FormDialog):
            return await self.fill_with_each(steps, screen)
        onward = self.onward()
        found = await self.type_beside_forms()
        known = 0
        for step in onward if len(steps) < DEEP else ():
            if step.startswith("choose") and known >= ALIKE and len(onward) > MENU and step not in onward[-2:]:
                continue
            new = await self.explore([*steps, step])
            found = found or new
            known = 0 if new else known + 1
        return found

    def onward(self) -> list[str]:
        """The steps from the dialog or the side screen in front that were not gone yet."""
        screen = self.app.screen
        kind = type(screen).__name__
        if isinstance(screen, ChooseDialog):
            kind += screen.question
            steps = [f"choose {at}" for at in range(len(screen.options))]
        elif isinstance(screen, Dialog):
            steps = [key for key in screen._bindings.key_to_bindings if key not in MOVES and not key.startswith("ctrl")]
        elif isinstance(screen, FinishesOnce):
            steps = self.keys()
        else:
            return []
        steps = [step for step in steps if (kind, step) not in self.walked]
        self.walked |= {(kind, step) for step in steps}
        return steps

    # What it does there

    async def type_beside_forms(self) -> bool:
        """Type into each line of a screen that is no form, and press Enter; tell whether its sort was not known."""
        screen, new = self.app.screen, False
        for line in screen.query(Input):
            if line.id and line.display and not line.disabled and self.know(screen, line.id):
                new = True
                for text in self.texts:
                    line.focus()
                    line.post_message(Paste(text))
                    await settle(self.pilot)
                    self.look(self.app)
                    await self.pilot.press("enter")
                    await settle(self.pilot)
        for area in screen.query(TextArea) if self.app.screen is screen else ():
            new = self.know(screen, area.id or "") or new
            area.focus()
            area.post_message(Paste("\n".join(self.texts)))
            await settle(self.pilot)
            self.look(self.app)
            await self.pilot.press("f2")
            await settle(self.pilot)
        self.look(self.app)
        return new

    def know(self, screen: Any, line: str) -> bool:
        """Take note of a line of a screen; tell whether it was not known."""
        name = (type(screen).__name__, line)
        new = name not in self.beside
        self.beside.add(name)
        self.lines += new
        return new

    async def fill_with_each(self, steps: list[str], form: FormDialog) -> bool:
        """Fill a form that was not filled before with each text in turn; tell whether it was not."""
        name = name_of(form)
        if name in self.filled:
            return False
        self.filled[name] = 0
        self.lines += sum(not field.options for field in form.fields)
        for text in self.texts:
            await self.reach(steps)
            again = self.app.screen
            if isinstance(again, FormDialog) and name_of(again) == name:
                self.filled[name] += await self.fill(again, text)
                self.typed[text] = self.typed.get(text, 0) + 1
        return True

    async def fill(self, form: FormDialog, text: str) -> bool:
        """Type a text into every line, look, and save; a line that refuses it gets back what it had.

        Returns:
            Whether it was saved.
        """
        await self.pilot.press("f2")
        for field in form.fields:
            if not field.options:
                line = form.query_one(f"#f-{field.name}", Input)
                line.focus()
                line.value = ""
                line.post_message(Paste(text))
                await self.pilot.pause()
                assert line.value == (text.splitlines() or [""])[0]
        self.look(self.app)
        before = self.app.session.book
        for _ in range(2 * len(form.fields) + 1):
            form.finish()
            await settle(self.pilot)
            self.look(self.app)
            if self.app.screen is not form or not self.give_back(form):
                break
        return self.app.session.book is not before

    def give_back(self, form: FormDialog) -> bool:
        """Put back what stood in the line that is told wrong, or else in the last that differs."""
        lines = {field.name: form.query_one(f"#f-{field.name}", Input) for field in form.fields if not field.options}
        first = {field.name: field.value for field in form.fields}
        differ = [name for name, line in lines.items() if line.value != first[name]]
        if not differ:
            return False
        focused = next((name for name in differ if lines[name] is self.app.focused), differ[-1])
        lines[focused].value = first[focused]
        return True
