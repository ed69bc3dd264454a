"""Small questions over a screen: a form, a choice, a yes or no, a text to read."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widget import Widget
from textual.widgets import Button, Input, Label, OptionList, Static
from textual.widgets.option_list import Option

from showrunner.domain.record import record
from showrunner.errors import ShowrunnerError
from showrunner.report import clean
from showrunner.tui.choice_line import ChoiceLine
from showrunner.tui.line_input import LineInput
from showrunner.tui.once import FinishesOnce


def plain(text: str) -> Content:
    """User text, shown literally whatever it looks like."""
    return Content(clean(text))


@record
class Field:
    """One line of a form."""

    name: str
    """Key of the answer."""
    label: str
    """What is asked."""
    value: str = ""
    """What stands there at first."""
    check: Callable[[str], Any] = str
    """Reads the answer; raises a ShowrunnerError if it cannot be."""
    hint: str = ""
    """An example, shown while the line is empty."""
    options: tuple[tuple[str, str], ...] = ()
    """For a choice: label and value of each; empty for text."""
    needed: bool = False
    """Whether Enter on a line above comes here; on the last that is needed, and below it, Enter saves."""
    folded: bool = False
    """Whether it is rarely needed: it stays away until it is asked for."""
    say: Callable[[Any], str] | None = None
    """Puts the answer in words, shown below the line; None to show those that it has itself."""
    about: str = ""
    """A plain sentence on what it is for, shown at the foot of the form while the keys go there."""


@contextmanager
def blaming(line: str, kind: type[ShowrunnerError] = ShowrunnerError) -> Iterator[None]:
    """Have what is refused within put down to a line of the form: it is the one to change.

    Args:
        line: name of its field.
        kind: what sort of refusal is about it.
    """
    try:
        yield
    except kind as error:
        error.line = line
        raise


class Dialog(FinishesOnce, ModalScreen[Any]):
    """What all dialogs share: they finish once; Escape leaves unchanged, but asks first if something was typed."""

    NOT_SAVED: ClassVar[str] = "What you typed is not saved yet"
    """What is told before it is dropped."""

    asking = False
    """Whether that is being asked."""

    DEFAULT_CSS = """
    Dialog { align: center middle; }
    #dialog { width: 76; max-width: 100%; height: auto; max-height: 100%; padding: 0 1; }
    #dialog { background: $surface; border: solid $rule; }
    .dialog-title { text-style: bold; padding: 0 0 1 0; }
    .dialog-intro { color: $muted; padding: 0 0 1 0; }
    .field { height: 1; }
    .field-label { width: 22; color: $muted; }
    .field Input { width: 1fr; background: $panel; }
    .field-note { padding: 0 0 0 22; color: $muted; display: none; height: auto; }
    .more { color: $muted; height: auto; }
    .more:focus { color: $foreground; text-style: bold; }
    #foot { dock: bottom; height: auto; background: $surface; }
    #about { color: $muted; height: auto; min-height: 1; margin: 1 0 0 0; }
    #enter-goes-on { width: 1fr; color: $muted; }
    .buttons { height: 1; margin: 1 0 0 0; }
    .buttons Button { margin: 0 2 0 0; }
    OptionList { height: auto; max-height: 16; background: $surface; border: none; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "dismiss_dialog", "leave")]

    @property
    def unsaved(self) -> bool:
        """Whether something was typed or settled here that leaving would drop."""
        return False

    def action_dismiss_dialog(self) -> None:
        """Leave without an answer."""
        self.once_dropped(lambda: self.dismiss(None))

    def once_dropped(self, then: Callable[[], object]) -> None:
        """Do what drops the things typed here: at once if there are none, else when it was asked whether that is meant.

        Args:
            then: leaves, or quits.
        """
        if self.finished or self.asking:
            return
        if not self.unsaved:
            then()
            return

        def answered(answer: str | None) -> None:
            self.asking = False
            if answer == "drop":
                then()

        self.asking = True
        options = [("back", "go back to it"), ("drop", "drop it and leave")]
        self.app.push_screen(ChooseDialog(self.NOT_SAVED, options, esc_word="goes back"), answered)


class Foot(Vertical):
    """What stays in view below the lines of a form: a refusal, what a line is for, and the buttons."""

    @property
    def _focus_sort_key(self) -> tuple[int, int]:
        """After all lines: Textual goes by where things stand, and a long form has lines below this."""
        return sys.maxsize, 0


class More(Static, can_focus=True):
    """The line that stands for those which are folded away; Enter on it unfolds them."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,space", "screen.unfold", "more lines")]

    def on_click(self) -> None:
        """Unfold, as Enter does."""
        self.screen.call_later(self.screen.run_action, "unfold")


class FormDialog(Dialog):
    """A form, one line under the other. What was typed stays until it is saved or left.

    Args:
        title: what the form is for.
        fields: its lines.
        save: does what the form is for; a ShowrunnerError it raises is shown and the form stays open.
        intro: a sentence above the lines.
        save_word: what the button that saves says.
        again: for a form that comes back for another one: gives its lines anew, of the same names, and what is said
            above them. Enter with nothing typed then ends it.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("down", "next_line", "next line", priority=True),
        Binding("up", "line_before", "line before", priority=True),
        Binding("f2", "unfold", "more lines"),
    ]

    def __init__(
        self,
        title: str,
        fields: Sequence[Field],
        save: Callable[[Mapping[str, Any]], Any],
        intro: str = "",
        *,
        save_word: str = "Save",
        again: Callable[[], tuple[Sequence[Field], str]] | None = None,
    ) -> None:
        super().__init__()
        self.save_word = save_word
        self.form_title, self.fields, self.save, self.intro = title, tuple(fields), save, intro
        self.again = again
        self.saved = 0
        """How often it was saved, of a form that comes back for another."""
        self.unfolded = False
        """Whether the lines that are rarely needed are unfolded."""

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with VerticalScroll(id="dialog", can_focus=False):
            yield Static(plain(self.form_title), classes="dialog-title")
            intro = Static(plain(self.intro), id="intro", classes="dialog-intro")
            intro.display = bool(self.intro)
            yield intro
            for field in self.fields:
                with Horizontal(classes="field", id=f"l-{field.name}") as line:
                    line.display = not self._folds(field)
                    yield Label(plain(field.label), classes="field-label")
                    if field.options:
                        yield ChoiceLine(field.options, field.value, id=f"f-{field.name}")
                    else:
                        yield LineInput(field.value, placeholder=field.hint, id=f"f-{field.name}", compact=True)
                yield Static("", id=f"n-{field.name}", classes="field-note")
            if folded := self.folded:
                names = " · ".join(field.label for field in folded)
                yield More(plain(f"▸ more (F2): {names}"), id="more", classes="more")
            with Foot(id="foot"):
                error = Static("", id="dialog-error", classes="trouble")
                error.display = False
                yield error
                yield Static("", id="about")
                with Horizontal(classes="buttons"):
                    yield Button(self._save_label(saves=True), id="save", variant="primary", compact=True)
                    yield Button("Leave  Esc", id="leave", compact=True)
                    yield Static("", id="enter-goes-on")

    def on_mount(self) -> None:
        """Begin in the first line."""
        self.query_one("#about").display = any(field.about for field in self.fields)
        self._begin()

    def _begin(self) -> None:
        self.query_one(f"#f-{self.lines_shown[0].name}").focus()

    def _save_label(self, *, saves: bool) -> str:
        return f"{self.save_word}  Enter" if saves else self.save_word

    # Which lines there are

    @property
    def lines_shown(self) -> list[Field]:
        """The lines that stand open."""
        return [field for field in self.fields if not self._folds(field)]

    @property
    def folded(self) -> list[Field]:
        """The lines that are folded away."""
        return [field for field in self.fields if self._folds(field)]

    def _folds(self, field: Field) -> bool:
        return field.folded and not self.unfolded

    def action_unfold(self) -> None:
        """Unfold what is rarely needed, and go there."""
        folded = self.folded
        if folded:
            self.unfolded = True
            for field in folded:
                self.query_one(f"#l-{field.name}").display = True
            self.query_one("#more").display = False
            self.query_one(f"#f-{folded[0].name}").focus()

    def action_next_line(self) -> None:
        """To the next line."""
        self.focus_next()

    def action_line_before(self) -> None:
        """To the line before."""
        self.focus_previous()

    def _next(self, field: Field) -> Field | None:
        """The line that Enter goes on to; None if it saves."""
        after = self.fields[self.fields.index(field) + 1 :]
        needed = next((one for one in after if one.needed and not self._folds(one)), None)
        if needed is None and field.options:  # what is chosen is seen before it is saved
            return next((one for one in after if not self._folds(one)), None)
        return needed

    def _field_of(self, widget: Widget | None) -> Field | None:
        return next((field for field in self.fields if widget and f"f-{field.name}" == widget.id), None)

    @on(events.DescendantFocus)
    def _come_to(self, event: events.DescendantFocus) -> None:
        """Say what the line is for, and what Enter does on it."""
        field = self._field_of(event.widget)
        self.query_one("#about", Static).update(plain(field.about if field else ""))
        goes_on = field is not None and self._next(field) is not None
        self.query_one("#save", Button).label = self._save_label(saves=not goes_on)
        self.query_one("#enter-goes-on", Static).update("Enter goes on to the next line." if goes_on else "")

    # What is typed

    def _text(self, field: Field) -> str:
        if field.options:
            return self.query_one(f"#f-{field.name}", ChoiceLine).value
        return self.query_one(f"#f-{field.name}", Input).value

    def _note(self, field: Field) -> tuple[bool, Any]:
        """Check a line and say below it what is wrong, or how it is understood."""
        note = self.query_one(f"#n-{field.name}", Static)
        try:
            value = field.check(self._text(field))
        except ShowrunnerError as error:
            note.update(plain(error.sentence()))
            note.set_classes("field-note trouble")
            return False, None
        spoken = field.say(value) if field.say else getattr(value, "words", "")
        note.update(plain(spoken))
        note.set_classes("field-note")
        note.display = bool(spoken) and not self._folds(field)
        return True, value

    @on(Input.Changed)
    def changed(self, event: Input.Changed) -> None:
        """Check as it is typed."""
        field = self._field_of(event.input)
        if field and event.value:
            good, _ = self._note(field)
            self.query_one(f"#n-{field.name}").display = not good or self.query_one(f"#n-{field.name}", Static).display

    @on(Input.Submitted)
    def submitted(self, event: Input.Submitted) -> None:
        """Enter goes on to the next line that is needed, if this one can be; after the last it saves."""
        field = self._field_of(event.input)
        if field is None or self._ends or (following := self._next(field)) is None:
            self.finish()
        elif self._good(field):
            self._choose(following)

    @on(ChoiceLine.Done)
    def chose(self, event: ChoiceLine.Done) -> None:
        """Enter goes on to the next line; after the last it saves."""
        field = self._field_of(event.line)
        following = self._next(field) if field else None
        if following is None:
            self.finish()
        else:
            self._choose(following)

    @on(ChoiceLine.Listed)
    def list_choices(self, event: ChoiceLine.Listed) -> None:
        """Show all there is to choose from."""
        line, field = event.line, self._field_of(event.line)
        if field is None:
            return

        def chosen(value: str | None) -> None:
            if value is not None:
                line.value = value

        options = [(value, label) for label, value in line.options]
        self.app.push_screen(ChooseDialog(field.label, options, esc_word="goes back", begin=line.at), chosen)

    def _good(self, field: Field) -> bool:
        """Whether a line can be; if not, it is said below it and chosen whole."""
        good, _ = self._note(field)
        if not good:
            self.query_one(f"#n-{field.name}").display = True
            self._choose(field)
        return good

    def _choose(self, field: Field) -> None:
        """Go to a line and choose its text whole, so that what is typed stands in its place."""
        if self._folds(field):
            self.action_unfold()
        line = self.query_one(f"#f-{field.name}")
        line.focus()
        if isinstance(line, Input):
            line.action_select_all()

    @on(Button.Pressed)
    def pressed(self, event: Button.Pressed) -> None:
        """Save or leave."""
        if event.button.id == "save":
            self.finish()
        else:
            self.action_dismiss_dialog()

    @property
    def unsaved(self) -> bool:
        """Whether a line is not as it was at first."""
        return self.is_mounted and any(self._text(field) != field.value for field in self.fields)

    @property
    def _ends(self) -> bool:
        """Whether Enter ends a form that came back for another, of which nothing was typed."""
        return bool(self.saved) and not self.unsaved

    def action_dismiss_dialog(self) -> None:
        """Leave without an answer; after the first was saved, with that."""
        self.once_dropped(lambda: self.dismiss(True if self.saved else None))

    def finish(self) -> None:
        """Check every line, save, and close; or stay open and say what is wrong. What is saved is saved once."""
        if self.finished:
            return
        if self._ends:
            self.dismiss(True)
            return
        answers: dict[str, Any] = {}
        wrong: list[Field] = []
        for field in self.fields:
            good, value = self._note(field)
            if not good:
                wrong.append(field)
            answers[field.name] = value
        if wrong:
            if any(self._folds(field) for field in wrong):
                self.action_unfold()
            for field in wrong:
                self.query_one(f"#n-{field.name}").display = True
            self._choose(wrong[0])
            return
        try:
            done = self.save(answers)
        except ShowrunnerError as error:
            line = self.query_one("#dialog-error", Static)
            line.update(plain(error.sentence()))
            line.display = True
            line.scroll_visible()
            blamed = next((field for field in self.fields if field.name == error.line), None)
            if blamed or (blamed := self._field_of(self.focused)):
                self._choose(blamed)
            return
        if self.again:
            self._anew(*self.again())
        else:
            self.dismiss(True if done is None else done)

    def _anew(self, fields: Sequence[Field], said: str) -> None:
        """Stand there again for another one."""
        self.saved += 1
        self.fields, self.unfolded = tuple(fields), False
        for field in self.fields:
            line = self.query_one(f"#f-{field.name}")
            if isinstance(line, ChoiceLine | Input):
                line.value = field.value
            self.query_one(f"#l-{field.name}").display = not self._folds(field)
            self.query_one(f"#n-{field.name}", Static).display = False
        for more in self.query("#more"):
            more.display = bool(self.folded)
        intro = self.query_one("#intro", Static)
        intro.update(plain(said))
        intro.display = True
        self.query_one("#dialog-error").display = False
        self._begin()


class ChooseDialog(Dialog):
    """One of several things.

    Args:
        title: the question.
        options: value and label of each.
        esc_word: what Esc does.
        intro: what stands between the question and them.
        begin: number of the one to begin on, from 0.
        numbered: whether each has a number whose key takes it; for at most nine.
    """

    def __init__(
        self,
        title: str,
        options: Sequence[tuple[str, str]],
        *,
        esc_word: str = "leaves",
        intro: str = "",
        begin: int = 0,
        numbered: bool = False,
    ) -> None:
        super().__init__()
        self.begin, self.numbered = begin, numbered
        self.question, self.options, self.esc_word, self.intro = title, tuple(options), esc_word, intro

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with VerticalScroll(id="dialog", can_focus=False):
            yield Static(plain(self.question), classes="dialog-title")
            if self.intro:
                yield Static(plain(self.intro), classes="dialog-intro")
            labels = [f"{at}  {text}" if self.numbered else text for at, (_, text) in enumerate(self.options, 1)]
            yield OptionList(*(Option(plain(label), id=f"o{at}") for at, label in enumerate(labels)))
            keys = "Enter or its number takes it" if self.numbered else "Enter takes it"
            yield Static(f"{keys}, Esc {self.esc_word}.", classes="muted")

    def on_mount(self) -> None:
        """Begin in the list."""
        choices = self.query_one(OptionList)
        choices.highlighted = self.begin
        choices.focus()

    def on_key(self, event: events.Key) -> None:
        """Answer with the one that has the number typed."""
        number = int(event.key) if self.numbered and event.key.isdecimal() else 0
        if 0 < number <= len(self.options):
            event.stop()
            self.dismiss(self.options[number - 1][0])

    @on(OptionList.OptionSelected)
    def chosen(self, event: OptionList.OptionSelected) -> None:
        """Answer with the value."""
        self.dismiss(self.options[event.option_index][0])


class NoticeDialog(Dialog):
    """A text to read.

    Args:
        title: what it is.
        text: the text, shown literally.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("enter,q", "dismiss_dialog", "close")]

    def __init__(self, title: str, text: str) -> None:
        super().__init__()
        self.notice_title, self.text = title, text

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with VerticalScroll(id="dialog"):
            yield Static(plain(self.notice_title), classes="dialog-title")
            yield Static(plain(self.text))
            yield Static("Esc closes.", classes="muted")
