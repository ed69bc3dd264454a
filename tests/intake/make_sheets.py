"""Makes the files of `tests/intake/sheets` with general tools, each as a person would leave it.

`python tests/intake/make_sheets.py` writes them anew. What must come out of each stands beside it in a `.json` file
that is written by hand: the answers given, and what the book then holds.
"""

from __future__ import annotations

import datetime as dt
import zipfile
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import duckdb
import openpyxl
import pandas as pd
import xlwt
from odf import number, style, table, text
from odf.opendocument import OpenDocumentSpreadsheet

HERE = Path(__file__).parent / "sheets"
DAY = dt.date


def titled() -> None:
    """A title, a remark, a blank row, then headings; boxes merged; dates shown as months; a total below."""
    book = openpyxl.Workbook()
    page = book.active
    page.title = "Wardrobe"
    page.merge_cells("A1:F1")
    page["A1"] = "What is in the boxes"
    page["A2"] = "counted in the spring"
    rows: list[list[Any]] = [
        ["No.", "Piece", "Date", "Bought", "Price", "Box", "Shown?"],
        [7, "Day dress, striped", "c. 1868", DAY(2019, 8, 31), 120, "A", "yes"],
        [8, "Sleeve supports", 1895, DAY(2020, 1, 1), 12.5, None, "no"],
        [9, "Mourning bonnet", "Victorian", DAY(2021, 3, 14), None, None, "?"],
        [10, "Canvas gaiters", "WW1", "don't know", 8, "B", "no"],
        ["Total", None, None, None, 140.5, None, None],
    ]
    for at, row in enumerate(rows, 4):
        for column, value in enumerate(row, 1):
            page.cell(at, column, value)
    for at in range(5, 9):
        page.cell(at, 1).number_format = "000"
    page["D5"].number_format = "mmm\\ yyyy"
    page["D6"].number_format = "yyyy"
    page["D7"].number_format = "d\\ mmmm\\ yyyy"
    page.merge_cells("F5:F7")
    book.save(HERE / "titled.xlsx")


def hidden() -> None:
    """One sheet that is seen and one that is hidden; Dutch headings; a formula with no value."""
    book = openpyxl.Workbook()
    page = book.active
    page.title = "Kleding"
    page.append(["Inventarisnummer", "Naam", "Datering", "Aankoopdatum", "Doos", "Getoond"])
    page.append(["007", "Rok van zijde", "1880s", DAY(2022, 5, 4), 3, "ja"])
    page.append(["012", "Kanten kraag", "about 1910", DAY(2022, 6, 1), 3, "nee"])
    page["G2"] = "=LEN(B2)"
    page["D2"].number_format = "dd-mm-yyyy"
    page["D3"].number_format = "mmm-yy"
    book.create_sheet("oud").sheet_state = "hidden"
    book["oud"].append(["Naam"])
    book.save(HERE / "hidden.xlsx")


def two_sheets() -> None:
    """Two sheets that are seen, written from frames."""
    pieces = pd.DataFrame({"Number": ["01", "02"], "Name": ["Riding habit", "Wool cape"], "Shown": ["yes", "no"]})
    bought = pd.DataFrame({"Shop": ["fair"], "Paid": [12.0]})
    with pd.ExcelWriter(HERE / "two_sheets.xlsx", engine="openpyxl") as out:
        pieces.to_excel(out, sheet_name="Pieces", index=False)
        bought.to_excel(out, sheet_name="Money", index=False)


def old() -> None:
    """An old workbook, which does not tell how its dates are shown; crosses in a column of yes and no."""
    book = xlwt.Workbook()
    page = book.add_sheet("Sheet1")
    months = xlwt.easyxf(num_format_str="MMM YYYY")
    for column, name in enumerate(("Ref", "Item", "Acquired", "Shown", "Box")):
        page.write(0, column, name)
    rows = (("A1", "Parasol", DAY(2019, 8, 1), "x"), ("A2", "Fan", DAY(2020, 2, 1), ""), ("A3", "Muff", None, "x"))
    for at, (ref, item, day, shown) in enumerate(rows, 1):
        page.write(at, 0, ref)
        page.write(at, 1, item)
        if day:
            page.write(at, 2, day, months)
        page.write(at, 3, shown)
    page.write_merge(1, 3, 4, 4, "C")
    book.save(str(HERE / "old.xls"))


def french() -> None:
    """An open document whose dates show a month, a year or a day; a box merged over two rows."""
    book = OpenDocumentSpreadsheet()
    parts = {"jour": (number.Day, number.Month, number.Year), "mois": (number.Month, number.Year), "an": (number.Year,)}
    for name, held in parts.items():
        shown = number.DateStyle(name=f"N{name}")
        for part in held:
            shown.addElement(part())
        book.automaticstyles.addElement(shown)
        book.automaticstyles.addElement(style.Style(name=name, family="table-cell", datastylename=f"N{name}"))
    page = table.Table(name="Pièces")

    def row(*cells: tuple[str, dict[str, Any]]) -> None:
        line = table.TableRow()
        for said, more in cells:
            cell = table.TableCell(**({"valuetype": "string"} if said and "valuetype" not in more else {}), **more)
            if said:
                cell.addElement(text.P(text=said))
            line.addElement(cell)
        page.addElement(line)

    def day(said: str, value: str, how: str) -> tuple[str, dict[str, Any]]:
        return said, {"valuetype": "date", "datevalue": value, "stylename": how}

    row(*((name, {}) for name in ("Numéro", "Désignation", "Époque", "Acheté le", "Boîte", "Montré")))
    row(("007", {}), ("Robe du matin", {}), ("1870s", {}), day("08/2024", "2024-08-31", "mois"),
        ("D", {"numberrowsspanned": "2"}), ("oui", {}))  # fmt: skip
    row(("008", {}), ("Coiffe", {}), ("1911", {}), day("2023", "2023-01-01", "an"), ("", {}), ("non", {}))
    row(("009", {}), ("Gants", {}), ("", {}), day("03/02/2022", "2022-02-03", "jour"), ("E", {}), ("", {}))
    empty = table.TableRow(numberrowsrepeated="1048000")
    empty.addElement(table.TableCell(numbercolumnsrepeated="16384"))
    page.addElement(empty)
    book.spreadsheet.addElement(page)
    book.save(str(HERE / "french.ods"))


def german() -> None:
    """What a spreadsheet in German saves: semicolons, decimal commas, Windows-1252."""
    frame = pd.DataFrame(
        {
            "Nr.": ["01", "02", ""],
            "Bezeichnung": ["Taillenkleid, grün", "Schürze", "Summe"],
            "Datierung": ["1868", "1890s", ""],
            "Kaufpreis": [120.5, 18.0, 138.5],
            "Zustand": ["gut", "geflickt", ""],
            "Gezeigt": ["ja", "nein", ""],
        }
    )
    frame.to_csv(HERE / "german.csv", sep=";", decimal=",", index=False, encoding="cp1252", lineterminator="\r\n")


def spanish() -> None:
    """Tabs and UTF-16, as a spreadsheet saves `Unicode text`; no column says what was shown."""
    frame = pd.DataFrame({"Número": ["1", "2"], "Prenda": ["Mantilla", "Enagua"], "Época": ["1880s", "about 1905"]})
    frame.to_csv(HERE / "spanish.csv", sep="\t", index=False, encoding="utf-16", lineterminator="\r\n")


def italian() -> None:
    """Two columns of one name, and one column with remarks that nothing can be made of."""
    lines = ["Inventario 2025,,,,", ",,,,", "Numero,Oggetto,Datazione,Note,Note", "3,Scialle,1850s,seta,da lavare",
             "4,Guanti,1920,,\u00bf???"]  # fmt: skip
    (HERE / "italian.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def questions() -> None:
    """A form that asks whole questions."""
    frame = pd.DataFrame(
        {
            "Timestamp": ["2025/03/01 10:00:00", "2025/03/01 10:02:00"],
            "What is it called?": ["Tea gown", "Boots"],
            "When do you think it was made?": ["Edwardian", "1890s"],
            "When did you get it?": ["Mar-24", "2019"],
            "Has it been shown in an episode yet?": ["yes?", "not yet"],
            "Which box is it in?": ["4", "5, layer 2"],
            "Anything else we should know?": ["hem let down", ""],
        }
    )
    frame.to_csv(HERE / "questions.csv", index=False)


def guarded() -> None:
    """A database's export with numbers guarded as ="007", and the same number twice."""
    duckdb.sql(
        """COPY (SELECT * FROM (VALUES ('="007"', 'Corset', '5'' 2"', 'no', 'Aug 2024'),
        ('="008"', 'Chemise', '157 cm', 'yes', 'perhaps 2023'), ('="008"', 'Chemise', '157 cm', 'yes', '2023'))
        AS pieces("Object no", "Object name", "Length", "Shown", "Shown on"))
        TO '"""
        + str(HERE / "guarded.csv")
        + "' (HEADER, DELIMITER ',')"
    )


def episodes() -> None:
    """Past episodes from a frame, with times of day for run times."""
    frame = pd.DataFrame(
        {
            "Title": ["A close look: the riding habit", "Diary, week 1", "A close look: the cape"],
            "Published": pd.to_datetime(["2026-01-03", "2026-01-07", "2026-01-10"]),
            "Piece no.": ["01", None, "02"],
            "Run time": [dt.time(0, 14, 30), dt.time(0, 9, 5), None],
        }
    )
    frame.to_excel(HERE / "episodes.xlsx", index=False, engine="openpyxl")


def feed() -> None:
    """A feed on one line, one entry of it twice and one id for two entries; its times are half a world away."""
    root = ET.Element("rss", version="2.0")
    channel = ET.SubElement(root, "channel")
    for title, guid, when in (
        ("Diary, week 3", "e4", "Sat, 24 Jan 2026 23:30:00 -0800"),
        ("A close look: the cape", "e3", "Sat, 17 Jan 2026 23:30:00 -0800"),
        ("A close look: the cape", "e3", "Sat, 17 Jan 2026 23:30:00 -0800"),
        ("Diary, week 2", "e1", "Sat, 10 Jan 2026 23:30:00 -0800"),
        ("Diary, week 1", "e1", "Sat, 03 Jan 2026 23:30:00 -0800"),
    ):
        item = ET.SubElement(channel, "item")
        ET.SubElement(item, "title").text = title
        ET.SubElement(item, "guid", isPermaLink="false").text = guid
        ET.SubElement(item, "pubDate").text = when
    (HERE / "feed.xml").write_bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True).replace(b"\n", b""))


def main() -> None:
    HERE.mkdir(exist_ok=True)
    for make in (titled, hidden, two_sheets, old, french, german, spanish, italian, questions, guarded, episodes, feed):
        make()
    with zipfile.ZipFile(HERE / "titled.xlsx") as whole:
        assert whole.testzip() is None


if __name__ == "__main__":
    main()
