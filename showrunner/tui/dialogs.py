"""Small questions over a screen: a form, a choice, a yes or no, a text to read."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Label, OptionList, Select, Static
from textual.widgets.option_list import Option

from showrunner.domain.record import record
from showrunner.errors import ShowrunnerError
from showrunner.report import clean
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
    .field Select { width: 1fr; }
    .field-note { padding: 0 0 0 22; color: $muted; display: none; height: auto; }
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


class FormDialog(Dialog):
    """A form. What was typed stays until it is saved or left.

    Args:
        title: what the form is for.
        fields: its lines.
        save: does what the form is for; a ShowrunnerError it raises is shown and the form stays open.
        intro: a sentence above the lines.
        save_word: what the button that saves says.
    """

    def __init__(
        self,
        title: str,
        fields: Sequence[Field],
        save: Callable[[Mapping[str, Any]], Any],
        intro: str = "",
        *,
        save_word: str = "Save",
    ) -> None:
        super().__init__()
        self.save_word = save_word
        self.form_title, self.fields, self.save, self.intro = title, tuple(fields), save, intro

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with VerticalScroll(id="dialog", can_focus=False):
            yield Static(plain(self.form_title), classes="dialog-title")
            if self.intro:
                yield Static(plain(self.intro), classes="dialog-intro")
            for field in self.fields:
                with Horizontal(classes="field"):
                    yield Label(plain(field.label), classes="field-label")
                    if field.options:
                        options = [(plain(label), value) for label, value in field.options]
                        yield Select(options, value=field.value, allow_blank=False, id=f"f-{field.name}", compact=True)
                    else:
                        yield LineInput(field.value, placeholder=field.hint, id=f"f-{field.name}", compact=True)
                yield Static("", id=f"n-{field.name}", classes="field-note")
            yield Static("", id="dialog-error", classes="trouble")
            with Horizontal(classes="buttons"):
                yield Button(f"{self.save_word}  Enter", id="save", variant="primary", compact=True)
                yield Button("Leave  Esc", id="leave", compact=True)

    def on_mount(self) -> None:
        """Begin in the first line."""
        self.query("Input, Select").first().focus()

    def _text(self, field: Field) -> str:
        if field.options:
            return str(self.query_one(f"#f-{field.name}", Select).value)
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
        spoken = getattr(value, "words", "")
        note.update(plain(spoken))
        note.set_classes("field-note")
        note.display = bool(spoken)
        return True, value

    @on(Input.Changed)
    def changed(self, event: Input.Changed) -> None:
        """Check as it is typed."""
        field = next((f for f in self.fields if f"f-{f.name}" == event.input.id), None)
        if field and event.value:
            good, _ = self._note(field)
            self.query_one(f"#n-{field.name}").display = not good or self.query_one(f"#n-{field.name}", Static).display

    @on(Input.Submitted)
    def submitted(self) -> None:
        """Enter saves from any line."""
        self.finish()

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

    def finish(self) -> None:
        """Check every line, save, and close; or stay open and say what is wrong. What is saved is saved once."""
        if self.finished:
            return
        answers: dict[str, Any] = {}
        wrong: list[Field] = []
        for field in self.fields:
            good, value = self._note(field)
            if not good:
                self.query_one(f"#n-{field.name}").display = True
                wrong.append(field)
            answers[field.name] = value
        if wrong:
            self.query_one(f"#f-{wrong[0].name}").focus()
            return
        try:
            done = self.save(answers)
        except ShowrunnerError as error:
            line = self.query_one("#dialog-error", Static)
            line.update(plain(error.sentence()))
            line.scroll_visible()
            return
        self.dismiss(True if done is None else done)


class ChooseDialog(Dialog):
    """One of several things.

    Args:
        title: the question.
        options: value and label of each.
        esc_word: what Esc does.
        intro: what stands between the question and them.
    """

    def __init__(
        self, title: str, options: Sequence[tuple[str, str]], *, esc_word: str = "leaves", intro: str = ""
    ) -> None:
        super().__init__()
        self.question, self.options, self.esc_word, self.intro = title, tuple(options), esc_word, intro

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with VerticalScroll(id="dialog", can_focus=False):
            yield Static(plain(self.question), classes="dialog-title")
            if self.intro:
                yield Static(plain(self.intro), classes="dialog-intro")
            yield OptionList(*(Option(plain(label), id=f"o{at}") for at, (_, label) in enumerate(self.options)))
            yield Static(f"Enter takes it, Esc {self.esc_word}.", classes="muted")

    def on_mount(self) -> None:
        """Begin in the list."""
        self.query_one(OptionList).focus()

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
