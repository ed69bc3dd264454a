"""What the Set-up shows of shoots that are over, and what it prints: records, pickups, the set-up sheet."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import ClassVar

from textual.binding import Binding, BindingType

from showrunner import sheet, shoot_record
from showrunner.domain.shoot import LogLine, Remedy, Shoot
from showrunner.errors import CannotWrite, ShowrunnerError
from showrunner.filming import Filming
from showrunner.planning.pickups import box_of, offered, waiting_pickups
from showrunner.storage.atomic import write_whole
from showrunner.tui.base import BookScreen
from showrunner.tui.dialogs import ChooseDialog, NoticeDialog

PRINTERS = ("lp", "lpr")
"""Programs that print what they read, the first one there is."""
PRINT_SECONDS = 20
"""How long the printer's program may take."""


# Pickups


def open_pickups(screen: BookScreen, filming: Filming | None) -> None:
    """Show the pickups that wait, those that this shoot can take along first; one that is chosen is mended."""
    book = screen.session.book
    waiting = waiting_pickups(book)
    if not waiting:
        screen.tell("No pickup waits.")
        return
    along = {line.id for line in offered(book, filming.plan.pieces)} if filming else set()
    ordered = sorted(waiting, key=lambda line: line.id not in along)
    options = [(line.id, _pickup(screen, line, here=line.id in along)) for line in ordered]

    def chosen(answer: str | None) -> None:
        line = next((line for line in waiting if line.id == answer), None)
        if line is not None:
            shoot = Filming(screen.session, line.shoot)
            screen.attempt(lambda: shoot.mend(line.id, line.piece))

    screen.app.push_screen(ChooseDialog("Pickups that wait; Enter puts one down as mended", options), chosen)


def _pickup(screen: BookScreen, line: LogLine, *, here: bool) -> str:
    book = screen.session.book
    box = box_of(book, line)
    where = f", box {box}" if box and line.remedy is Remedy.REOPEN else ""
    told = f"{line.remedy}{where}: {shoot_record.short_name(book.piece(line.piece))}, {line.text}"
    return f"now  {told}" if here else told


# Shoots that are over


def open_past(screen: BookScreen) -> None:
    """Choose a shoot and read what became of it."""
    book = screen.session.book
    shoots = {shoot.id: shoot for shoot in reversed(book.shoots)}
    if not shoots:
        screen.tell("Nothing was filmed yet.")
        return

    def chosen(answer: str | None) -> None:
        if answer is not None:
            screen.app.push_screen(RecordDialog(screen, shoots[answer]))

    options = [(id, shoot_record.title_of(book, shoot)) for id, shoot in shoots.items()]
    screen.app.push_screen(ChooseDialog("What became of which shoot?", options), chosen)


SHOWN_WIDTH = 70
"""Columns of the text in a dialog."""


class RecordDialog(NoticeDialog):
    """The record of a shoot; S prints it.

    Args:
        screen: the screen below.
        shoot: the shoot.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("S", "print", "print")]

    def __init__(self, screen: BookScreen, shoot: Shoot) -> None:
        book = screen.session.book
        super().__init__("S prints it", shoot_record.record_text(book, shoot, SHOWN_WIDTH))
        self.below, self.shoot = screen, shoot

    def action_print(self) -> None:
        """Open, save or print it."""
        book = self.below.session.book
        text, html = shoot_record.record_text(book, self.shoot), shoot_record.record_html(book, self.shoot)
        open_paper(self.below, f"shoot-{self.shoot.id}", text, html)


# Paper


def open_sheet(screen: BookScreen, studies: Sequence[str], filming: Filming | None) -> None:
    """The set-up sheet: open, save or print it."""
    try:
        plan = filming.plan if filming else screen.session.shoot_plan(studies)
    except ShowrunnerError as error:
        screen.tell_trouble(error)
        return
    book = screen.session.book
    open_paper(screen, f"sheet-{'-'.join(studies)}", sheet.sheet(book, plan), sheet.html(book, plan))


def open_paper(screen: BookScreen, name: str, text: str, html: str) -> None:
    """Ask what to do with something that can be printed, and do it.

    Args:
        screen: the screen below.
        name: name of its file beside the book, without ending.
        text: it as plain text.
        html: it as a page.
    """
    printer = next((found for found in map(shutil.which, PRINTERS) if found), None)
    beside = Path(screen.session.path).resolve()
    page, plain = (beside.with_name(f"{file_name(name)}.{ending}") for ending in ("html", "txt"))
    options = [
        ("open", f"open it in the browser, to print it there{_instead(page)}"),
        ("page", f"keep {page.name} beside the book, for a printer or a phone{_instead(page)}"),
        ("text", f"keep {plain.name} beside the book, as plain text{_instead(plain)}"),
    ]
    options += [("print", "print it now, as plain text")] if printer else []

    def do(answer: str) -> str:
        if answer == "print" and printer:
            print_now(printer, text)
            return "Sent to the printer."
        path, content = (plain, f"{text}\n") if answer == "text" else (page, html)
        write_whole(path, content.encode(), like=beside)
        if answer == "open":
            screen.app.open_url(path.as_uri())
        return f"Written to {path}."

    def chosen(answer: str | None) -> None:
        if answer is None:
            return
        try:
            screen.tell(do(answer))
        except ShowrunnerError as error:
            screen.tell_trouble(error)

    screen.app.push_screen(ChooseDialog("On paper or a phone", options), chosen)


def file_name(text: str) -> str:
    """A name that every system takes for a file: letters, digits and dashes, at most 60."""
    return re.sub(r"[^A-Za-z0-9]+", "-", text).strip("-")[:60] or "sheet"


def _instead(path: Path) -> str:
    return ", in place of what stands there" if path.exists() else ""


def print_now(printer: str, text: str) -> None:
    """Send plain text to the default printer.

    Raises:
        CannotWrite: the printer's program refuses it or does not answer.
    """
    try:
        done = subprocess.run([printer], input=text.encode(), capture_output=True, timeout=PRINT_SECONDS, check=False)
    except (OSError, subprocess.SubprocessError) as error:
        raise CannotWrite("it does not answer", "printer", "keep the page and print it elsewhere") from error
    if done.returncode:
        raise CannotWrite("it took nothing", "printer", "keep the page and print it elsewhere")
