"""The photographs of a piece: their paths, and the chosen one drawn where the extra `pictures` is installed."""

from __future__ import annotations

import stat
import sys
import warnings
from collections.abc import Sequence
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Any, ClassVar

from textual import on
from textual.app import App, ComposeResult, SuspendNotSupported
from textual.binding import Binding, BindingType
from textual.containers import Center, Vertical
from textual.widget import Widget
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from showrunner.errors import BadInput, ShowrunnerError
from showrunner.tui.dialogs import Dialog, plain

MOST_BYTES = 60_000_000
"""Largest file that is read."""
DRAWN_PIXELS = 1600
"""Longer side of a picture as it is handed to the terminal, pixels."""

LISTED = 4
"""Most paths in view at once."""

INSTALL = (
    "To see photographs here, install the extra, in the folder that showrunner was installed from: "
    ".venv/bin/pip install '.[pictures]'"
)
"""How to get pictures, as the README installs the program."""


def drawing(app: App[Any]) -> type[Widget] | None:
    """The widget that draws pictures; None where the extra is not installed.

    The library asks the terminal what it can draw at the moment it is imported. Textual would take the answer for
    keys, so it stands aside meanwhile.
    """
    if "textual_image.widget" not in sys.modules:
        try:
            if find_spec("textual_image") is None:
                return None
            try:
                with app.suspend():
                    import_module("textual_image.widget")
            except SuspendNotSupported:
                import_module("textual_image.widget")
        except ImportError:
            return None
    widgets = sys.modules["textual_image.widget"]
    found: type[Widget] = widgets.UnicodeImage if app.no_color else widgets.Image
    return found


def photograph_file(folder: Path, path: str) -> Path:
    """The file of a photograph.

    Args:
        folder: the folder of the book.
        path: the path as the piece has it; a relative one counts from the folder.

    Raises:
        BadInput: it is not there, cannot be looked at, is no file, or is too large to draw.
    """
    try:
        file = folder / Path(path).expanduser()
        found = file.stat()
    except FileNotFoundError:
        raise BadInput("there is no such file", str(folder / path), "look at the path with e") from None
    except (OSError, ValueError, RuntimeError) as error:
        raise _unreadable(str(folder / path), error) from None
    if stat.S_ISDIR(found.st_mode):
        raise BadInput("this is a folder and no picture", str(file), "name one of the files in it")
    if not stat.S_ISREG(found.st_mode):
        raise BadInput("this is no plain file", str(file), "name a picture")
    if found.st_size > MOST_BYTES:
        raise BadInput(
            f"its {found.st_size / 1_000_000:.0f} MB are more than the {MOST_BYTES // 1_000_000} MB drawn here",
            str(file),
            "name a smaller copy",
        )
    return file


def picture(file: Path) -> Any:
    """A picture, upright and no larger than a terminal needs.

    Args:
        file: the file, as `photograph_file` gives it.

    Returns:
        The picture as Pillow has it, in red, green and blue.

    Raises:
        BadInput: it cannot be read, is no picture, or has too many pixels.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            opened = Image.open(file)
        with opened:
            opened.draft("RGB", (DRAWN_PIXELS, DRAWN_PIXELS))
            upright = ImageOps.exif_transpose(opened)
            upright.thumbnail((DRAWN_PIXELS, DRAWN_PIXELS))
            return upright.convert("RGB")
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        most = Image.MAX_IMAGE_PIXELS // 1_000_000 if Image.MAX_IMAGE_PIXELS else 0
        raise BadInput(f"it has more than {most} million pixels", str(file), "name a smaller copy") from None
    except UnidentifiedImageError:
        raise BadInput("this is no picture that can be drawn", str(file), "name a JPEG or a PNG") from None
    except PermissionError as error:
        raise _unreadable(str(file), error) from None
    except Exception:  # noqa: BLE001 - a damaged picture makes the readers of Pillow fail with errors of every kind
        raise BadInput("the picture is damaged or of a kind that cannot be drawn", str(file), "try a copy") from None


def cells(width: int, height: int, most_columns: int, most_rows: int) -> tuple[int, int]:
    """Columns and rows of a picture as large as its place allows; a cell is taken as twice as high as it is wide.

    Args:
        width: of the picture, pixels.
        height: of the picture, pixels.
        most_columns: width of the place.
        most_rows: height of the place.
    """
    columns = max(1, min(most_columns, round(2 * most_rows * width / height)))
    return columns, max(1, min(most_rows, round(columns * height / width / 2)))


def _unreadable(where: str, error: Exception) -> BadInput:
    reason = (error.strerror or "").lower() if isinstance(error, OSError) else ""
    return BadInput(f"it cannot be read{f' ({reason})' if reason else ''}", where, "look at the path with e")


class PhotographsDialog(Dialog):
    """The photographs of a piece, one of them drawn.

    Args:
        name: name of the piece.
        photographs: paths as the piece has them, at least one.
        folder: the folder of the book.
        draw: the widget that draws; None where there is none.
    """

    DEFAULT_CSS = """
    PhotographsDialog .dialog-title { padding: 0; }
    PhotographsDialog #dialog { width: 100%; height: 100%; }
    PhotographsDialog #drawn { height: 1fr; align: center middle; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("q,v", "dismiss_dialog", "close")]

    def __init__(self, name: str, photographs: Sequence[str], folder: Path, draw: type[Widget] | None) -> None:
        super().__init__()
        self.piece_name, self.photographs, self.folder, self.draw = name, tuple(photographs), folder, draw
        self.wanted = -1

    def compose(self) -> ComposeResult:
        """Lay the widgets out."""
        with Vertical(id="dialog"):
            yield Static(plain(f"Photographs of {self.piece_name}"), classes="dialog-title")
            yield OptionList(*(Option(plain(path)) for path in self.photographs), id="paths")
            yield Static("", id="said")
            yield Center(Static(""), id="drawn")
            yield Static(
                "Esc closes." if len(self.photographs) == 1 else "Up and down choose, Esc closes.", classes="muted"
            )

    def on_mount(self) -> None:
        """Begin with the first."""
        self.query_one(OptionList).styles.max_height = LISTED
        self.query_one(OptionList).focus()

    @on(OptionList.OptionHighlighted)
    def chosen(self, event: OptionList.OptionHighlighted) -> None:
        """Draw the one under the cursor."""
        self.wanted = at = event.option_index
        place = self.query_one("#drawn", Center)
        place.remove_children()
        place.mount(Static(""))  # an empty place would draw its own name
        try:
            file = photograph_file(self.folder, self.photographs[at])
        except ShowrunnerError as error:
            self._say(error.sentence(), trouble=True)
            return
        if self.draw is None:
            self._say(f"{file}\n{INSTALL}")
            return
        self._say(f"reading {file} …")
        self.run_worker(lambda: self._read(at, file), thread=True, exit_on_error=False)

    def _read(self, at: int, file: Path) -> None:
        """Read a picture beside the screen."""
        found, said = None, ""
        try:
            found = picture(file)
        except ShowrunnerError as error:
            said = error.sentence()
        self.from_thread(self._show, at, file, found, said)

    def _show(self, at: int, file: Path, found: Any, said: str) -> None:
        """Draw a picture, if it is still the one that is wanted, as large as its place allows."""
        if at != self.wanted or self.draw is None:
            return
        if found is None:
            self._say(said, trouble=True)
            return
        place = self.query_one("#drawn", Center)
        widget = self.draw(found)
        widget.styles.width, widget.styles.height = cells(found.width, found.height, *place.size)
        place.remove_children()
        place.mount(widget)
        self._say(f"{file}")

    def _say(self, text: str, *, trouble: bool = False) -> None:
        said = self.query_one("#said", Static)
        said.update(plain(text))
        said.set_class(trouble, "trouble")
