"""What one person has set for the program, beside any book; losing it is no loss."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from showrunner.storage import settings
from showrunner.storage.settings import keep_setting, setting, settings_path


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    return tmp_path / "config"


def test_it_lies_in_the_folder_of_the_program(own: Path) -> None:
    """The XDG base directory specification names the folder; there is none for an author."""
    assert settings_path() == own / "showrunner" / "settings.json"


def test_what_is_set_is_kept_beside_all_else() -> None:
    assert setting("theme") == ""
    keep_setting("theme", "linen")
    keep_setting("letters", "große")
    keep_setting("theme", "dusk")
    assert (setting("theme"), setting("letters"), setting("other")) == ("dusk", "große", "")
    assert json.loads(settings_path().read_text(encoding="utf-8")) == {"theme": "dusk", "letters": "große"}


ODD = {
    "empty": "",
    "list": "[1]",
    "cut": "{",
    "text": '"a"',
    "deep": "[" * 100_000,
    "bytes": "\udcff",
    "number": '{"theme": 3}',
}


@pytest.mark.parametrize("text", ODD.values(), ids=ODD)
def test_what_cannot_be_read_counts_as_nothing_and_is_written_anew(text: str) -> None:
    settings_path().parent.mkdir(parents=True)
    settings_path().write_bytes(text.encode("utf-8", "surrogateescape"))
    assert setting("theme") == ""
    keep_setting("theme", "linen")
    assert setting("theme") == "linen"


def test_what_cannot_be_kept_is_no_loss(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own.write_text("a file in place of the folder")
    keep_setting("theme", "linen")
    assert setting("theme") == ""

    def nowhere() -> Path:
        raise RuntimeError("no home")

    monkeypatch.setattr(settings, "settings_path", nowhere)
    keep_setting("theme", "linen")
    assert setting("theme") == ""
