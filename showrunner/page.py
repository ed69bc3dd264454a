"""Pages to print or to carry on a phone: one HTML file with nothing outside it, no script, all user text escaped."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum
from html import escape

from showrunner.report import clean


class Paper(StrEnum):
    """What a page is printed on."""

    ANY = ""
    """Whatever the printer holds; the lines fit either size."""
    A4 = "A4"
    LETTER = "letter"


STYLE = """
* { box-sizing: border-box; }
body { font: 10.5pt/1.4 Georgia, "DejaVu Serif", serif; color: #2b2620; background: #fff; }
body { max-width: 44em; margin: 2em auto; padding: 0 1em; }
h1 { font-size: 17pt; margin: 0 0 .3em; line-height: 1.2; overflow-wrap: anywhere; }
h2 { font-size: 12pt; border-bottom: .5pt solid #8a7f6a; margin: 1.3em 0 .4em; padding-bottom: .15em; }
h2, h3 { break-after: avoid; overflow-wrap: anywhere; }
p { margin: .3em 0; overflow-wrap: anywhere; }
ul { list-style: none; margin: 0; padding: 0; }
li { padding: .12em 0 .12em 1.7em; text-indent: -1.7em; break-inside: avoid; overflow-wrap: anywhere; }
li::before { display: inline-block; width: 1.7em; text-indent: 0; }
li.tick { padding-left: 0; text-indent: 0; }
li.tick label { display: flex; gap: .6em; align-items: baseline; }
li.tick label > span { flex: 1; min-width: 0; }
li.tick input { flex: none; width: 1em; height: 1em; margin: 0; position: relative; top: .12em; }
li.note::before { content: "\\2013"; }
li.touch { font-weight: bold; padding-top: .35em; }
li.gate { border-left: 1.5pt solid #2b2620; margin: .4em 0 0 1.7em; padding-left: .6em; text-indent: 0; }
li.gate { font-style: italic; break-after: avoid; }
.cues { color: #4d453a; break-inside: avoid; break-after: avoid; }
.clash, .warning { font-weight: bold; }
.source { color: #5b5347; font-size: 9pt; }
.fields { display: flex; flex-wrap: wrap; gap: .6em 2em; margin: .8em 0; }
.fields span { flex: 1; min-width: 7em; border-bottom: .5pt solid #2b2620; padding: 0 0 .2em; }
.room p { height: 2em; margin: 0; border-bottom: .5pt solid #8a7f6a; }
.room { break-inside: avoid; margin: .4em 0; }
.keep { break-inside: avoid; }
@media screen and (max-width: 45em) {
  body { font-size: 12.5pt; margin: 1em auto; }
  li.tick label { padding: .45em 0; }
  li.tick input { width: 1.5em; height: 1.5em; }
}
@media print {
  body { margin: 0; max-width: none; padding: 0; }
  .screen { display: none; }
  section.set-up { break-before: page; }
  li.tick input { appearance: none; -webkit-appearance: none; border: .8pt solid #2b2620; }
  li.tick input:checked::after { content: "\\2713"; position: absolute; left: .1em; top: -.35em; }
}
"""


def page(title: str, parts: Sequence[str], paper: Paper = Paper.ANY) -> str:
    """A whole page.

    Args:
        title: what it is, as plain text.
        parts: its HTML, user text escaped already.
        paper: what it is printed on.
    """
    size = f" size: {paper.value};" if paper else ""
    return (
        "\n".join(
            [
                "<!DOCTYPE html>",
                '<html lang="en"><head><meta charset="utf-8">',
                '<meta name="viewport" content="width=device-width, initial-scale=1">',
                f"<title>{text(title)}</title><style>\n@page {{ margin: 14mm;{size} }}{STYLE}</style></head><body>",
                *parts,
                "</body></html>",
            ]
        )
        + "\n"
    )


def section(
    title: str, rows: Sequence[tuple[str, str]], after: str = "", *, before: str = "", kind: str = ""
) -> list[str]:
    """A heading and its rows.

    Args:
        title: the heading, plain text.
        rows: class and HTML of each; a `tick` can be ticked.
        after: HTML below the rows.
        before: HTML between heading and rows.
        kind: class of the section.
    """
    items = "\n".join(f'<li class="{row}">{_box(html) if "tick" in row.split() else html}</li>' for row, html in rows)
    named = f' class="{kind}"' if kind else ""
    listed = f"<ul>{items}</ul>" if rows else ""
    return [f"<section{named}><h2>{text(title)}</h2>{before}", f"{listed}{after}</section>"]


def _box(html: str) -> str:
    return f'<label><input type="checkbox"><span>{html}</span></label>'


def fields(*names: str) -> str:
    """Lines to fill in, each with its name."""
    return '<div class="fields">' + "".join(f"<span>{text(name)}</span>" for name in names) + "</div>"


def room(lines: int) -> str:
    """Ruled lines to write on."""
    return f'<div class="room">{"<p></p>" * lines}</div>'


def text(plain: str) -> str:
    """User text as HTML: no markup, nothing that a browser or printer would obey."""
    return escape(clean(plain))
