"""The package of a study: what is missing first, then title, description and chapters, to edit, to copy and to keep."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar, cast
from urllib.parse import unquote

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Button, Static

from showrunner.domain import edits, naming, words
from showrunner.domain.book import Book
from showrunner.domain.episode import Episode
from showrunner.domain.naming import Sort
from showrunner.domain.package import Package, Still
from showrunner.domain.titles import piece_name, quoted
from showrunner.errors import BadInput, ShowrunnerError
from showrunner.packaging import package_files, write_package
from showrunner.planning.chapters import chapter_lines, fault_words, read_chapters
from showrunner.planning.corrections import correction_words, put_right
from showrunner.planning.package import Prepared, missing_words
from showrunner.planning.run_time import clock_words, read_run_time
from showrunner.planning.series_page import page_faults, page_words, published_in
from showrunner.planning.stills import still_missing
from showrunner.planning.template import taken
from showrunner.tui import entry
from showrunner.tui.beside import beside
from showrunner.tui.dialogs import ChooseDialog, Dialog, Field, FormDialog, NoticeDialog, plain
from showrunner.tui.fields import things_field
from showrunner.tui.page_input import PageInput

if TYPE_CHECKING:
    from showrunner.session import Session

KEYS = "e words  t title  c chapters  v captions  y copy  f files  ? all  Esc"

HELP = (
    ("e", "the description: your words, or those of your template"),
    ("t", "the title of the publication, the run time, and once it is out the link"),
    ("c", "the chapters, a line each"),
    ("v", "hold captions of the film against what had to be said (or drop the file in)"),
    ("y", "copy a part, if the terminal passes it on"),
    ("f", "keep all of it as files"),
    ("o", "what changed in the book since you wrote the description"),
    ("m", "stills for the small posts: bank, say what they show, put down as posted"),
    ("l", "the studies it links to"),
    ("p", "what stands on the page of the series"),
    ("d", "its corrections are in its description"),
    ("u", "take the last action back"),
)
"""Every key of the package."""

CAPTIONS = (".vtt", ".srt")
"""Endings of files that are dropped in as captions."""


class TextDialog(Dialog):
    """A text of several lines; Tab leads to the button that saves, and F2 saves at once.

    Args:
        title: what the text is.
        text: what stands there at first.
        save: keeps it; a ShowrunnerError it raises is shown and the dialog stays open.
        intro: a sentence above.
    """

    DEFAULT_CSS = """
    TextDialog #dialog { width: 100%; height: 100%; }
    TextDialog PageInput, TextDialog PageInput:focus { height: 1fr; border: none; padding: 0; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("f2", "finish", "save")]

    def __init__(self, title: str, text: str, save: Callable[[str], object], intro: str = "") -> None:
        super().__init__()
        self.text_title, self.text, self.save, self.intro = title, text, save, intro

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static(plain(self.text_title), classes="dialog-title")
            if self.intro:
                yield Static(plain(self.intro), classes="dialog-intro")
            yield PageInput(self.text, tab_behavior="focus", soft_wrap=True, id="text")
            yield Static("", id="dialog-error", classes="trouble")
            with Horizontal(classes="buttons"):
                yield Button("Save  F2", id="save", variant="primary", compact=True)
                yield Button("Leave  Esc", id="leave", compact=True)

    def on_mount(self) -> None:
        """Begin in the text."""
        self.query_one(PageInput).focus()

    @property
    def unsaved(self) -> bool:
        """Whether the text is another than at first."""
        return self.is_mounted and self.query_one(PageInput).text != self.text

    @on(Button.Pressed)
    def pressed(self, event: Button.Pressed) -> None:
        """Save or leave."""
        if event.button.id == "save":
            self.action_finish()
        else:
            self.action_dismiss_dialog()

    def action_finish(self) -> None:
        """Save and close, or stay open and say what is wrong."""
        if self.finished:
            return
        try:
            self.save(self.query_one(PageInput).text)
        except ShowrunnerError as error:
            self.query_one("#dialog-error", Static).update(plain(error.sentence()))
            return
        self.dismiss(True)


class PackageScreen(Dialog):
    """All that the publication of a study needs.

    Args:
        session: the open book.
        study: id of the study.
    """

    DEFAULT_CSS = """
    PackageScreen #dialog { width: 100%; height: 100%; }
    #package { height: 1fr; }
    #package Static { height: auto; }
    .part { color: $muted; padding: 1 0 0 0; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("q", "dismiss_dialog", "close"),
        Binding("u", "undo", "undo"),
        Binding("e", "words", "description"),
        Binding("t", "title", "title"),
        Binding("c", "chapters", "chapters"),
        Binding("v", "captions", "captions"),
        Binding("y", "copy", "copy"),
        Binding("f", "files", "files"),
        Binding("o", "changed", "changed in the book"),
        Binding("m", "stills", "stills"),
        Binding("l", "links", "links"),
        Binding("p", "page", "page"),
        Binding("d", "done", "corrections done"),
        Binding("question_mark", "help", "all keys"),
    ]

    def __init__(self, session: Session, study: str) -> None:
        super().__init__()
        self.session = session
        self.study = study
        self.found: Prepared | None = None

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static(plain(quoted(self.episode.title)), id="heading", classes="dialog-title")
            with VerticalScroll(id="package"):
                yield Static("Putting it together …", id="lacks")
                yield Static("", id="changes")
                yield Static("Title", classes="part")
                yield Static("", id="title")
                yield Static("Description", classes="part", id="description-part")
                yield Static("", id="description")
                yield Static("Chapters", classes="part")
                yield Static("", id="chapters")
                yield Static("", id="rest")
            yield Static(KEYS, classes="muted")

    def on_mount(self) -> None:
        """Begin in the text, and put it together beside the screen."""
        self.query_one("#package").focus()
        self.think()

    @property
    def episode(self) -> Episode:
        """The study as it is now."""
        return self.session.book.episode(self.study)

    @beside("package")
    def think(self) -> None:
        """Put the package together."""
        book = self.session.book
        try:
            found = self.session.package(self.study)
        except ShowrunnerError as error:
            self.from_thread(self._refused, error)
            return
        self.from_thread(self._draw, book, found)

    def _refused(self, error: ShowrunnerError) -> None:
        self.query_one("#lacks", Static).update(plain(f"! {error.sentence()}"))

    def _draw(self, book: Book, found: Prepared) -> None:
        if book is not self.session.book:
            self.think()
            return
        self.found = found
        state = "out since" if found.out else "comes out on"
        day = f", {state} {words.day(found.day)}" if found.day else ", without a slot"
        self._put("heading", f"{quoted(self.episode.title)}{day}")
        lacks = [f"! {missing_words(missing)}" for missing in found.missing]
        self._put("lacks", "\n".join(["Missing:", *lacks]) if lacks else "Nothing is missing.")
        self._put("changes", f"o: {words.count(len(found.changes), 'change')} in the book" if found.changes else "")
        self._put("title", found.title)
        self._put("description-part", "Description, as you wrote it" if found.edited else "Description")
        self._put("description", found.description)
        lines = [chapter_lines(found.chapters)] if found.chapters else ["None yet: v holds captions against the film."]
        lines += [f"! {fault_words(fault, found.chapters, book.house)}" for fault in found.faults]
        if found.film_seconds:
            lines.append(f"The film ends at {clock_words(found.film_seconds)}.")
        self._put("chapters", "\n".join(lines))
        self._put("rest", "\n".join(self._rest(book, found)))

    def _rest(self, book: Book, found: Prepared) -> list[str]:
        """Stills, names, corrections and the page."""
        said = [f"{supporter.name}: say {supporter.say}" for supporter in found.thanks if supporter.say]
        shown = [f"{'posted' if still.posted else 'banked'}: {text}" for still, text in found.stills]
        put_in = [c for c in found.corrections if c.done is None]
        lines = ["", "Corrections to put into its description (d: done)"] if put_in else []
        lines += [correction_words(book, c) for c in put_in]
        lines += ["", "Stills", *shown] if shown else []
        lines += ["", "How the names are said", *said] if said else []
        series = book.find("series", self.episode.series)
        faults = page_faults(book, series) if series and (series.listed or series.page) else ()
        if series and faults:
            lines += ["", f"The page of {series.name}", *(page_words(book, fault) for fault in faults[:4])]
        return lines

    def _put(self, id: str, text: str) -> None:
        line = self.query_one(f"#{id}", Static)
        line.update(plain(text))
        line.display = bool(text)

    # Changing it

    def keep(self, label: str, package: Package, *, run_seconds: int | None = None) -> None:
        """Keep what belongs to the publication; a refusal goes to the dialog that asked."""
        self.session.do(label, lambda book: edits.put_package(book, self.study, package, run_seconds=run_seconds))
        self.changed()

    def changed(self) -> None:
        """Draw anew after a change, here and below."""
        cast("Any", self.app).book_changed()
        self.think()

    def try_to(self, step: Callable[[], None]) -> None:
        """Do something to the book, or tell why it is refused."""
        try:
            step()
        except ShowrunnerError as error:
            self.notify(error.sentence(), severity="error", markup=False)

    def action_undo(self) -> None:
        """Take the last action back."""

        def undo() -> None:
            self.session.undo()
            self.changed()

        self.try_to(undo)

    def action_help(self) -> None:
        """Every key, and the words of the package."""
        from showrunner.domain.glossary import Where, words_on
        from showrunner.tui.help_view import HelpDialog

        self.app.push_screen(HelpDialog("Keys of the package, and its words", HELP, words_on(Where.PACKAGE)))

    def action_words(self) -> None:
        """Edit the description."""
        found = self.found
        if found is None:
            return

        def save(text: str) -> None:
            own = "" if text.strip() in ("", found.made.strip()) else text
            made = found.made if own else ""
            self.keep("write a description", replace(self.episode.package, description=own, made=made))

        intro = "Your words stay; what changes in the book is offered. Leave it empty for the words of your template."
        self.app.push_screen(TextDialog("Description", found.description, save, intro))

    def action_title(self) -> None:
        """Edit the title of the publication, and the run time."""
        episode = self.episode

        def save(answers: Mapping[str, Any]) -> None:
            title = answers["title"].strip()
            own = "" if title == episode.title else title
            packed = replace(episode.package, title=own)

            def edit(book: Book) -> Book:
                book = edits.put_package(book, episode.id, packed, run_seconds=answers["run"])
                changed = line is not None and line.link != answers["link"]
                return edits.say_link(book, line.id, answers["link"]) if line and changed else book

            self.session.do("set title, run time and link", edit)
            self.changed()

        lines = (line for line in self.session.book.publications if line.episode == episode.id and line.actual)
        line = next(lines, None)
        run = clock_words(episode.run_seconds) if episode.run_seconds else ""
        fields = [
            Field("title", "title", episode.package.title or episode.title, entry.words),
            Field("run", "run time", run, cast("Any", read_run_time), "12:45, as edited"),
            *([Field("link", "link", line.link, str.strip, "where it can be watched")] if line else []),
        ]
        self.app.push_screen(FormDialog("The publication", fields, save))

    def action_chapters(self) -> None:
        """Edit the chapters."""
        kept = self.episode.package

        def save(text: str) -> None:
            self.keep("set the chapters", replace(kept, chapters=read_chapters(text, kept.chapters)))

        house = self.session.book.house
        least = f"at least {house.least_chapters}, each {house.chapter_seconds} s or longer"
        intro = f"A line each, its time and its title: 12:45 Inside. The first at 0:00; {least}."
        self.app.push_screen(TextDialog("Chapters", chapter_lines(kept.chapters), save, intro))

    def action_changed(self) -> None:
        """Show what changed in the book since the description was written, to take or to leave."""
        found = self.found
        if found is None or not found.changes:
            self.notify("Nothing changed in the book since the description was written.", markup=False)
            return
        package = self.episode.package
        merged = taken(package.description, package.made, found.made)
        told = [f"- {line}" for change in found.changes for line in change.old]
        told += [f"+ {line}" for change in found.changes for line in change.new]

        def chosen(answer: str | None) -> None:
            new = {
                "take": replace(package, description=merged, made=found.made),
                "leave": replace(package, made=found.made),
                "book": replace(package, description="", made=""),
            }
            if answer == "read":
                self.app.push_screen(NoticeDialog("Changed in the book", "\n".join(told)))
            elif answer is not None:
                self.try_to(lambda: self.keep("settle what changed for a description", new[answer]))

        options = [
            ("read", f"read what changed: {words.short(told[0], 50)}"),
            ("take", "take it into my words, where they still are the book's"),
            ("leave", "leave my words as they are, and do not offer it again"),
            ("book", "drop my words for those of the book"),
        ]
        self.app.push_screen(ChooseDialog("Changed in the book since you wrote it", options), chosen)

    def action_stills(self) -> None:
        """Bank a still, say what it shows, or put it down as posted."""
        book, episode = self.session.book, self.episode
        stills, missing = episode.package.stills, still_missing(self.session.book, self.episode)
        options = [(f"bank {n}", f"bank {piece_name(book, s.piece)}: {s.what}") for n, s in enumerate(missing)]
        for n, still in enumerate(stills):
            if still.posted is None:
                options.append((f"post {n}", f"posted today: {still.what}"))
            options += [(f"say {n}", f"say what it shows: {still.what}"), (f"drop {n}", f"take out {still.what}")]
        options.append(("own ", "bank another one"))

        def with_stills(label: str, new: tuple[Still, ...]) -> None:
            self.keep(label, replace(self.episode.package, stills=new))

        def chosen(answer: str | None) -> None:
            verb, _, number = (answer or "").partition(" ")
            at = int(number) if number else 0
            if verb == "bank":
                self.try_to(lambda: with_stills("bank a still", (*stills, missing[at])))
            elif verb == "post":
                posted = replace(stills[at], posted=self.session.today)
                self.try_to(lambda: with_stills("post a still", (*stills[:at], posted, *stills[at + 1 :])))
            elif verb == "drop":
                self.try_to(lambda: with_stills("take a still out", (*stills[:at], *stills[at + 1 :])))
            elif verb == "say":
                self._say_still(at)
            elif verb == "own":
                self._own_still()

        self.app.push_screen(ChooseDialog("Stills for the small posts", options), chosen)

    def _say_still(self, at: int) -> None:
        package = self.episode.package

        def save(answers: Mapping[str, Any]) -> None:
            told = replace(package.stills[at], what=answers["what"], alt=answers["alt"].strip())
            self.keep(
                "say what a still shows",
                replace(package, stills=(*package.stills[:at], told, *package.stills[at + 1 :])),
            )

        fields = [
            Field("alt", "for who cannot see", package.stills[at].alt, hint="a stamp in red on the bib"),
            Field("what", "what it shows", package.stills[at].what, entry.words),
        ]
        self.app.push_screen(FormDialog("A still, and its words for who cannot see it", fields, save))

    def _own_still(self) -> None:
        episode = self.episode

        def save(answers: Mapping[str, Any]) -> None:
            still = Still(answers["piece"], answers["what"].strip())
            self.keep("bank a still", replace(episode.package, stills=(*episode.package.stills, still)))

        book = self.session.book

        def read(text: str) -> str:
            return naming.named(book, Sort.PIECE, text, likely=episode.pieces)

        shown = next((piece_name(book, id) for id in episode.pieces), "")
        fields = [
            Field("piece", "piece", shown, cast("Any", read), "its number, its name or a part of it"),
            Field("what", "what it shows", "", entry.words),
        ]
        self.app.push_screen(FormDialog("Another still", fields, save))

    def action_links(self) -> None:
        """Name the studies that it links to."""
        package = self.episode.package

        def save(answers: Mapping[str, Any]) -> None:
            self.keep("set the links of a description", replace(package, related=answers["related"].ids))

        fields = [things_field("related", "studies", self.session.book, Sort.STUDY, package.related)]
        self.app.push_screen(FormDialog("Links in the description", fields, save))

    def action_page(self) -> None:
        """Put down what stands on the page of the series."""
        book, id = self.session.book, self.study
        series = book.find("series", self.episode.series)
        if series is None:
            return
        out = published_in(book, series.id)

        def chosen(answer: str | None) -> None:
            listed = {
                "add": (*series.listed, id),
                "drop": tuple(one for one in series.listed if one != id),
                "all": out,
            }
            if answer is not None:
                changed = replace(series, listed=listed[answer])
                self.try_to(lambda: self._list(lambda book: edits.put_series(book, changed)))

        here = id in series.listed
        options = (
            [("drop", "it is no longer on the page")] if here else [("add", "it stands on the page now, at the end")]
        )
        options.append(("all", f"the page lists all {len(out)} that are out, in their order"))
        self.app.push_screen(ChooseDialog(f"The page of {series.name}", options), chosen)

    def _list(self, edit: Callable[[Book], Book]) -> None:
        self.session.do("put down what the page of the series lists", edit)
        self.changed()

    def action_done(self) -> None:
        """Put down that all its corrections are in its description."""
        if self.found is None or all(c.done for c in self.found.corrections):
            self.notify("There is no correction to put into its description.", markup=False)
            return
        corrected = put_right(self.session.book, self.study, self.session.today)
        package = replace(self.episode.package, corrected=corrected)
        self.try_to(lambda: self.keep("put corrections into a description", package))

    # Taking it along

    def action_copy(self) -> None:
        """Send a part to the clipboard; whether it comes there is up to the terminal."""
        if self.found is None:
            return
        files = {file.name: file.text for file in package_files(self.found)}

        def chosen(answer: str | None) -> None:
            if answer is not None:
                self.app.copy_to_clipboard(files[answer].rstrip("\n"))
                told = (
                    f"Sent to the clipboard, if the terminal passes it on: {answer.partition('.')[0]}. f keeps files."
                )
                self.notify(told, markup=False)

        options = [(name, f"{name.partition('.')[0]} ({words.short(text, 40)})") for name, text in files.items()]
        self.app.push_screen(
            ChooseDialog("Copy (sent to the clipboard, if the terminal passes it on)", options), chosen
        )

    def action_files(self) -> None:
        """Keep the package as files in a folder."""
        found = self.found
        if found is None:
            return

        def save(answers: Mapping[str, Any]) -> None:
            folder = answers["folder"]
            names = write_package(folder, found, self.session.path)
            self.notify(f"Written into {folder}: {words.listing(names)}.", markup=False)

        folder = Path(self.session.path).with_name(f"package-{self.study}")
        fields = [Field("folder", "folder", str(folder), entry.path)]
        intro = "What stands there under the names of a package is replaced."
        self.app.push_screen(FormDialog("Keep it as files", fields, save, intro))

    # The captions of the film

    def action_captions(self) -> None:
        """Ask for captions of the film, to hold them against what had to be said."""

        def save(answers: Mapping[str, Any]) -> None:
            self.app.call_later(self._hold, answers["file"])

        fields = [Field("file", "captions file", "", _captions, "film.vtt or film.srt; it can be dropped in too")]
        intro = "The captions of the finished film, WebVTT or SubRip. Nothing is written until you take it."
        self.app.push_screen(FormDialog("Hold captions against the film", fields, save, intro, save_word="Look"))

    def _hold(self, path: Path) -> None:
        from showrunner.intake.bringing import read_file
        from showrunner.planning.film_check import check_film
        from showrunner.tui.film_view import FilmScreen

        def look() -> None:
            found = check_film(self.session.book, self.study, read_file(path), path.name)
            self.app.push_screen(FilmScreen(self.session, found), lambda _: self.changed())

        self.try_to(look)

    def on_paste(self, event: events.Paste) -> None:
        """Take a captions file that was dropped in: terminals paste its path."""
        event.stop()
        path = dropped(event.text)
        if path is None:
            self.notify("Drop a captions file here, one that ends in .vtt or .srt.", markup=False)
        else:
            self._hold(path)


def dropped(text: str) -> Path | None:
    """The captions file whose path a terminal pasted; None if it is none."""
    line = text.strip().strip("'\"")
    line = unquote(line.removeprefix("file://")) if line.startswith("file://") else line.replace("\\ ", " ")
    if "\n" in line:
        return None
    with suppress(BadInput):
        path = entry.path(line)
        return path if path.suffix.lower() in CAPTIONS else None
    return None


def _captions(text: str) -> Path:
    """The path of a captions file.

    Raises:
        BadInput: there is no such file.
    """
    path = entry.path(text)
    there = False
    with suppress(OSError):  # a name that is too long, a folder that may not be looked into
        there = path.is_file()
    if not there:
        raise BadInput("there is no such file", words.short(text, 60), "name a .vtt or .srt file")
    return path
