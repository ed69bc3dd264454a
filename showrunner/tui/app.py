"""The application: five screens over one session, and what every screen can do."""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar
from weakref import WeakSet

from textual import events
from textual.app import App, SystemCommand
from textual.reactive import Reactive
from textual.screen import Screen
from textual.theme import Theme
from textual.widgets import Input

from showrunner.errors import OthersCalendar, ShowrunnerError
from showrunner.report import clean
from showrunner.session import Session
from showrunner.tui import entry, themes
from showrunner.tui.base import BookScreen
from showrunner.tui.dialogs import ChooseDialog, Dialog, Field, FormDialog
from showrunner.tui.ledger import LedgerScreen
from showrunner.tui.palette import Palette
from showrunner.tui.registry import EVERYWHERE, bindings
from showrunner.tui.rest import Rest, settle_down
from showrunner.tui.steady import MOVES, Steady
from showrunner.tui.turns import TURNS, Turns

if TYPE_CHECKING:
    from showrunner.domain.book import Book
    from showrunner.ical.export import Export

GRACE_SECONDS = 3.0
"""How long the screens may take to end once the system asks; everything is saved already."""

TURN_SECONDS = 0.001
"""How long a plan that is worked out beside the screen may keep a key waiting each time it has the processor."""

LOOK_SECONDS = 0.25
"""How often it is seen to what can wait."""

BETWEEN_SECONDS = 0.02
"""Between two things that can wait, so that a key comes first."""

FOLLOW_SECONDS = 1.0
"""How often the file is looked at for changes made elsewhere."""


def _register() -> Screen[Any]:
    from showrunner.tui.register import RegisterScreen

    return RegisterScreen()


def _set_up() -> Screen[Any]:
    from showrunner.tui.set_up import SetUpScreen

    return SetUpScreen()


def _runout() -> Screen[Any]:
    from showrunner.tui.runout import RunOutScreen

    return RunOutScreen()


def _wants() -> Screen[Any]:
    from showrunner.tui.wants import WantsScreen

    return WantsScreen()


class ShowrunnerApp(App[int]):
    """The screens of one open book.

    Args:
        session: the open book; the caller closes it.
        demo: whether it is a copy of the demo book.
    """

    CSS_PATH = "app.tcss"
    TITLE = "showrunner"
    ENABLE_COMMAND_PALETTE = True
    BINDINGS = bindings(EVERYWHERE)
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = {
        "register": _register,
        "set_up": _set_up,
        "runout": _runout,
        "wants": _wants,
    }
    DEFAULT_MODE = "ledger"  # the default screen, not one of MODES, for which all styles would be read a second time

    theme: Reactive[str] = Reactive(themes.remembered_ground)
    """Known from the start: a theme that is set later has all styles read anew."""

    def __init__(self, session: Session, *, demo: bool = False) -> None:
        self.colorless = themes.no_color()
        if not self.colorless:
            os.environ.pop("NO_COLOR", None)  # set but empty asks for nothing, though Textual takes it as set
        super().__init__(ansi_color=True if self.colorless else None)
        self.session = session
        self.demo = demo
        self.fault: BaseException | None = None
        self.turns = Turns(self)
        self.made: WeakSet[BookScreen] = WeakSet()
        """The screens that stand, in view or not."""
        self.rest = Rest()
        self.steady = Steady()
        self.warned = 0
        for ground in themes.GROUNDS.values():
            self.register_theme(ground)

    def get_theme(self, theme_name: str) -> Theme | None:
        """A theme by name; ours are known before they are registered."""
        return themes.GROUNDS.get(theme_name) or super().get_theme(theme_name)

    def get_default_screen(self) -> Screen[Any]:
        """The screen to begin with."""
        return LedgerScreen()

    def on_mount(self) -> None:
        """Follow the file and the signals; begin with the guided start if there is no series yet."""
        self.add_mode(self.DEFAULT_MODE, LedgerScreen)
        self.set_interval(FOLLOW_SECONDS, self.follow)
        self._heed_signals()
        if not self.session.book.series:
            self.call_after_refresh(self.action_guide)

    def on_ready(self) -> None:
        """From now on, do what can wait while nobody presses a key."""
        if not self.is_headless:
            settle_down()
            self.set_interval(LOOK_SECONDS, self._rest)

    def _rest(self) -> None:
        if self.rest.look(self._let_go_of_hidden, alone=len(self.screen_stack) == 1):
            self.set_timer(BETWEEN_SECONDS, self._rest)

    def _let_go_of_hidden(self) -> None:
        for screen in self.made:
            if screen not in self.screen_stack:
                screen.let_go_of_drawn()

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """What our own themes add, for themes that lack it."""
        return {"muted": "ansi_default", "rule": "ansi_default"}

    def _heed_signals(self) -> None:
        """End cleanly when the terminal closes or the system asks; everything is saved already."""
        import asyncio

        loop = asyncio.get_running_loop()

        def leave(number: int, _: object) -> None:
            # What draws may wait for a terminal that is gone and never end; the lock must not stay taken.
            timer = threading.Timer(GRACE_SECONDS, os._exit, [128 + number])
            timer.daemon = True
            timer.start()
            loop.call_soon_threadsafe(self.exit, 128 + number)

        for name in ("SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)
            if number is not None and not self.is_headless:
                with contextlib.suppress(RuntimeError, ValueError):
                    signal.signal(number, leave)

    async def on_event(self, event: events.Event) -> None:
        """Give keys and clicks out one after the other."""
        if not isinstance(event, TURNS) or event.is_forwarded:
            await super().on_event(event)
        elif self.turns.is_due(event):
            self.rest.disturbed()
            try:
                if not (isinstance(event, events.Key) and self._is_repeated(event)):
                    await super().on_event(event)
            finally:
                self.turns.was_given()

    def pressed_at(self, event: events.Key) -> float:
        """When a key was pressed, seconds of a clock that only runs forward."""
        return event.time

    def _is_repeated(self, event: events.Key) -> bool:
        """Whether a key of a shoot is the same press as the one before it."""
        base = next((s for s in reversed(self.screen_stack) if isinstance(s, BookScreen)), None)
        typed = isinstance(self.focused, Input) and event.is_printable
        counts = bool(base and base.one_press) and event.key not in MOVES and not typed
        return self.steady.repeats(event.key, self.pressed_at(event), counts=counts)

    def _handle_exception(self, error: Exception) -> None:
        """A fault of the program: leave the terminal clean and tell it in one sentence afterwards.

        While the application is closing nothing can be drawn any more, so what fails then is no fault.
        """
        if self._exit:
            return
        if self.fault is None:
            self.fault = error
        if self.is_headless:
            super()._handle_exception(error)
        else:
            self.exit(70)

    def follow(self) -> None:
        """Take over what changed in the file."""
        self.tell_warnings()
        try:
            changed = self.session.follow()
        except ShowrunnerError as error:
            self.notify(clean(error.sentence()), severity="error", timeout=10, markup=False)
            return
        if changed:
            self.notify("The book changed on disk; this is how it is now.", markup=False)
            self.book_changed()

    def tell_warnings(self) -> None:
        """Tell what failed without stopping anything, such as a backup, once."""
        for warning in self.session.warnings[self.warned :]:
            self.notify(clean(warning), severity="warning", timeout=30, markup=False)
        self.warned = len(self.session.warnings)

    def keep(self, label: str, edit: Callable[[Book], Book]) -> None:
        """Change the book and draw it; a refusal is let through, to the form that asked."""
        self.session.do(label, edit)
        self.book_changed()

    def book_changed(self) -> None:
        """Have the screen in view show the book as it is now; the others do when they are next in view."""
        for screen in self.screen_stack:
            if isinstance(screen, BookScreen):
                screen.keep_up()
        self.tell_warnings()

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        """Every action, for the palette; `screen` is the palette's own."""
        del screen
        base = next((s for s in reversed(self.screen_stack) if isinstance(s, BookScreen)), None)
        for action in base.ACTIONS if base else ():
            name = f"{base.TITLE_WORD if base else ''}: {action.label}"
            yield SystemCommand(name, action.help, getattr(base, f"action_{action.id}"))
        for action in EVERYWHERE:
            yield SystemCommand(action.label, action.help, getattr(self, f"action_{action.id}"))

    # What every screen can do

    async def action_go_register(self) -> None:
        """To the pieces."""
        await self.switch_mode("register")

    async def action_go_ledger(self) -> None:
        """To the weeks."""
        await self.switch_mode("ledger")

    async def action_go_setup(self) -> None:
        """To the shoot."""
        await self.switch_mode("set_up")

    async def film(self, study: str) -> None:
        """To the Set-up, with the cursor on a study."""
        await self.switch_mode("set_up")
        from showrunner.tui.set_up import SetUpScreen

        if isinstance(self.screen, SetUpScreen):
            self.screen.want(study)

    async def action_go_runout(self) -> None:
        """To the run-out."""
        await self.switch_mode("runout")

    async def action_go_wants(self) -> None:
        """To what is shopped for."""
        await self.switch_mode("wants")

    def action_undo(self) -> None:
        """Take the last action back."""
        self._step(self.session.undo, "Undone")

    def action_redo(self) -> None:
        """Do the action last undone again."""
        self._step(self.session.redo, "Done again")

    def _step(self, step: Callable[[], str], word: str) -> None:
        try:
            label = step()
        except ShowrunnerError as error:
            self.notify(clean(error.sentence()), severity="error", markup=False)
            return
        self.notify(f"{word}: {clean(label)}.", markup=False)
        self.book_changed()

    def action_calendar(self) -> None:
        """Ask for the file and write the calendar."""
        self.ask_calendar()

    def ask_calendar(self, then: Callable[[object], None] | None = None) -> None:
        """Ask for the file and write the calendar.

        Args:
            then: called with True once the file is asked for and written, with None if that was left.
        """

        def save(answers: Any) -> None:
            path = answers["path"]
            try:
                written(path, self.session.write_calendar(path))
            except OthersCalendar:
                self.push_screen(
                    ChooseDialog(
                        f"{path}: another book wrote this calendar. What it tells would be gone",
                        [("leave", "leave it as it is"), ("replace", "write this book's calendar in its place")],
                    ),
                    lambda answer: take_over(path) if answer == "replace" else None,
                )

        def take_over(path: Path) -> None:
            try:
                written(path, self.session.write_calendar(path, replace=True))
            except ShowrunnerError as error:
                self.notify(clean(error.sentence()), severity="error", markup=False)

        def written(path: Path, told: Export) -> None:
            counts = f"{told.added} new, {told.changed} changed, {told.cancelled} cancelled, {told.unchanged} unchanged"
            self.notify(clean(f"Wrote {path}: {counts}."), markup=False, timeout=10)

        at = str(Path(self.session.path).with_suffix(".ics"))
        self.push_screen(
            FormDialog(
                "Write the calendar",
                [Field("path", "file", at, entry.path, needed=True)],
                save,
                "A file that any calendar program opens: slots, shoots, stages and dark days. Written again, it"
                " updates the same entries.",
                save_word="Write it",
            ),
            then,
        )

    def action_bring_in(self) -> None:
        """Bring a file in."""
        from showrunner.tui.bring_in import open_bring_in
        from showrunner.tui.house import once_zone_is_told

        once_zone_is_told(self, lambda: open_bring_in(self))

    def action_house(self) -> None:
        """House rules."""
        from showrunner.tui.house_list import open_house

        open_house(self)

    def action_guide(self) -> None:
        """The guided start."""
        from showrunner.tui.guided import open_guide

        open_guide(self)

    def action_ground(self) -> None:
        """Change the ground and remember it."""
        if self.colorless:
            self.notify("NO_COLOR is set: there is one ground, the terminal's own.", markup=False)
            return
        self.theme = themes.INDIGO.name if self.theme == themes.LINEN.name else themes.LINEN.name
        themes.remember_ground(self.theme)

    def action_help(self) -> None:
        """Every key of this screen, and its words."""
        from showrunner.domain.glossary import GLOSSARY, words_on
        from showrunner.tui.help_view import HelpDialog

        screen = self.screen
        own = screen.ACTIONS if isinstance(screen, BookScreen) else ()
        note = screen.HELP_NOTE if isinstance(screen, BookScreen) else ""
        keys = [(action.key_words, action.help) for action in own]
        keys += [("", ""), *((action.key_words, action.help) for action in EVERYWHERE)]
        keys += [("", ""), ("", note)] if note else []
        keys += [("", ""), ("ctrl+p", "The palette: every action by name."), ("arrows", "Move; Tab goes on.")]
        name = screen.TITLE_WORD if isinstance(screen, BookScreen) else "Keys"
        terms = words_on(screen.WHERE) if isinstance(screen, BookScreen) and screen.WHERE else GLOSSARY
        self.push_screen(HelpDialog(f"{name}: all keys, and its words", keys, terms))

    def action_command_palette(self) -> None:
        """Every action by name; what a dialog covers can wait until it is finished or left."""
        if isinstance(self.screen, BookScreen):
            self.push_screen(Palette(id="--command-palette"))

    async def action_quit(self) -> None:
        """Leave, by the key that works everywhere."""
        await self.action_leave()

    async def action_leave(self) -> None:
        """Leave; everything is saved already but what is typed in a dialog, which is asked about."""
        dialogs = [screen for screen in self.screen_stack if isinstance(screen, Dialog) and screen.unsaved]
        if dialogs:
            dialogs[-1].once_dropped(lambda: self.exit(0))
        else:
            self.exit(0)


def run_app(session: Session, *, demo: bool = False) -> int:
    """Open the screens until the user leaves.

    Args:
        session: the open book.
        demo: whether it is a copy of the demo book.

    Returns:
        The exit code.

    Raises:
        Exception: a fault of the program, after the terminal is clean again.
    """
    sys.setswitchinterval(TURN_SECONDS)
    app = ShowrunnerApp(session, demo=demo)
    code = app.run()
    sys.stdout.flush()
    if app.fault is not None:
        raise app.fault
    return code if code is not None else app.return_code or 0
