"""The README as a package index shows it.

An index has none of the files beside the README, and this project names no address under which they could be had. So
pictures are left out of it, and a link to a file becomes the file's name. Run by the build (`pyproject.toml`).
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from hatchling.metadata.plugin.interface import MetadataHookInterface

_PICTURE = re.compile(r"^!\[[^\]]*\]\([^)]*\)\n+", re.MULTILINE)
_FILE_LINK = re.compile(r"\[([^\]]*)\]\((?!\w+:|#)([^)]*)\)")


def for_index(text: str) -> str:
    """The text without pictures, and with the name of a file in place of a link to it."""
    return _FILE_LINK.sub(r"\1 (`\2`)", _PICTURE.sub("", text))


class IndexReadme(MetadataHookInterface):
    """Puts the README into the metadata of the package."""

    def update(self, metadata: dict[str, Any]) -> None:
        """Add the text to the metadata."""
        text = (Path(self.root) / "README.md").read_text(encoding="utf-8")
        metadata["readme"] = {"content-type": "text/markdown", "text": for_index(text)}
