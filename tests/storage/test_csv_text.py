"""CSV sheets: what files in practice look like, what is refused, and the way out and back."""

import csv
import io
import random
import re
import zipfile
from typing import Any

import pytest
from effort import examples
from hypothesis import assume, example, given
from hypothesis import strategies as st

from showrunner.errors import BadInput
from showrunner.storage import csv_text
from showrunner.storage.csv_text import Row, Sheet, neutral, read_sheet, restored, write_sheet

MARKS = {"utf-8-sig": b"\xef\xbb\xbf", "utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}


def read(text: str, encoding: str = "utf-8") -> Sheet:
    data = text.encode(encoding.removesuffix("-sig"))
    return read_sheet(MARKS.get(encoding, b"") + data, "pieces.csv")


def cells(sheet: Sheet) -> list[tuple[str, ...]]:
    return [row.cells for row in sheet.rows]


def refusal(data: bytes) -> str:
    with pytest.raises(BadInput) as caught:
        read_sheet(data, "pieces.csv")
    sentence = caught.value.sentence()
    assert sentence.startswith("pieces.csv: ")
    assert caught.value.way_out
    assert sentence.isprintable()
    return sentence


# Reading


def test_a_plain_file() -> None:
    sheet = read("id,name\r\n1,coat\r\n2,hat\r\n")
    assert sheet == Sheet(("id", "name"), (Row(2, ("1", "coat"), ()), Row(3, ("2", "hat"), ())), "utf-8", ",", ())


@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
@pytest.mark.parametrize("last", [True, False])
def test_line_ends(end: str, last: bool) -> None:
    sheet = read(f'id,name{end}1,"coat{end}with cape"{end}{end}2,hat' + (end if last else ""))
    assert [(row.line, row.cells) for row in sheet.rows] == [(2, ("1", f"coat{end}with cape")), (5, ("2", "hat"))]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16-le", "utf-16-be"])
def test_delimiters_and_encodings(delimiter: str, encoding: str) -> None:
    sheet = read(delimiter.join(("name", "made")) + "\r\n" + delimiter.join(("robe à l'anglaise", "1785~")), encoding)
    assert sheet.columns == ("name", "made")
    assert cells(sheet) == [("robe à l'anglaise", "1785~")]
    assert (sheet.delimiter, sheet.encoding) == (delimiter, encoding)
    assert sheet.notes == ()


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf16_without_its_mark(encoding: str) -> None:
    sheet = read_sheet("name\tmade\r\nrobe à la française\t1765\r\n".encode(encoding), "a.csv")
    assert (sheet.encoding, cells(sheet)) == (encoding, [("robe à la française", "1765")])
    assert "UTF-16" in sheet.notes[0]


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_utf16_of_other_letters_is_known_by_one_sign_in_twelve_that_has_a_zero(encoding: str) -> None:
    """Cyrillic, Greek or Georgian text has zeros at line ends, spaces and delimiters alone."""
    sheet = read_sheet(("ж" * 11 + "\n").encode(encoding), "a.csv")
    assert (sheet.encoding, sheet.columns) == (encoding, ("ж" * 11,))
    assert "it holds what no text has" in refusal(("ж" * 12 + "\n").encode(encoding))


def test_windows_1252_is_the_fallback_and_is_said() -> None:
    sheet = read("Name;Länge;Preis\r\nMantel – grün;112,5;€ 3,20\r\nKleid, rot;98,0;10,00\r\n", "cp1252")
    assert sheet.columns == ("Name", "Länge", "Preis")
    assert cells(sheet) == [("Mantel – grün", "112,5", "€ 3,20"), ("Kleid, rot", "98,0", "10,00")]
    assert (sheet.encoding, sheet.delimiter) == ("cp1252", ";")
    assert sheet.notes == ("It was read as older programs save text (Windows-1252); look at the letters with accents.",)


def test_windows_1252_keeps_the_codes_it_leaves_open() -> None:
    sheet = read_sheet(b"name\r\ngr\xfcn\x81 silk\r\n", "a.csv")
    assert cells(sheet) == [("grün\x81 silk",)]
    assert sheet.notes[1] == "It has 1 sign that cannot be seen, which was kept."


def test_a_tab_sheet_in_utf16_as_spreadsheets_save_it() -> None:
    text = 'Nr\tBezeichnung\tNotiz\r\n1\tKleid, rot; lang\t"Zoll: 5"" breit"\r\n2\tHut\t"zwei\nZeilen"\r\n'
    sheet = read(text, "utf-16-le")
    assert cells(sheet) == [("1", "Kleid, rot; lang", '5" breit'.join(("Zoll: ", ""))), ("2", "Hut", "zwei\nZeilen")]
    assert [row.line for row in sheet.rows] == [2, 3]


@pytest.mark.parametrize(
    ("text", "delimiter", "columns"),
    [
        ("a,b\nsilk; wool,x; y; z\nlinen; lace,q\n", ",", 2),
        ("Name;Preis, netto, EUR, ca.\nMantel;1,50\nHut;2,50\n", ";", 2),
        ('Name;"Preis, EUR";Maß\nMantel;1,5;M\n', ";", 3),
        ('name,"a;b;c;d"\ncoat,"1;2;3;4"\n', ",", 2),
        ("name|notes\ncoat|red, long; worn\n", "|", 2),
        ("name\tnotes, a, b, c\ncoat\tx\nhat\ty, z\n", "\t", 2),
        ('width,notes\n5" wide,"a;b"\n6" wide,"c;d"\n', ",", 2),
        ("a,b,c\n1\n", ",", 3),
        ("name\nCoat, red\nHat, blue\n", ";", 1),
        ('name\n"Coat, red"\n', ",", 1),
        ("name\n", ",", 1),
    ],
)
def test_the_delimiter_is_the_one_that_makes_a_table(text: str, delimiter: str, columns: int) -> None:
    sheet = read(text)
    assert (sheet.delimiter, len(sheet.columns)) == (delimiter, columns)
    assert not any(row.extra for row in sheet.rows)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Name;Preis, netto\nMantel;1,50\n", "semicolons"),
        ("name,box; layer\ncoat,A\n", "commas"),
        ("name\tnotes, a\ncoat\tx\n", "tabs"),
        ("name|notes, a\ncoat|x\n", "upright strokes"),
    ],
)
def test_a_doubted_delimiter_is_said(text: str, words: str) -> None:
    assert read(text).notes == (f"It was read with {words} between the cells; its header has others too.",)
    assert read("Name;Preis\nMantel;1,50\n").notes == ()


@pytest.mark.parametrize(
    ("text", "delimiter"),
    [
        ("Dresses, all\nid;name;box\n1;coat;A\n", ";"),
        ("Dresses, all\nid\tname\tbox\n1\tcoat\tA\n", "\t"),
        ("Dresses\nid;name;box\n1;coat;A\n", ";"),
        ("Dresses, all\nid;name;box\n1;coat;A\nx\ny\n", ";"),  # half of the lines below
        ("Dresses, all\nid;name;box\n1;coat;A\nx\ny\nz\n", ","),  # fewer
        ("Dresses, all\nid;name;box\n1;coat;A\nx, y\n", ";"),  # two of three, of which one would fit the title
        ("Dresses, all\nid;name;box\n", ","),  # one line alone
        ("Dresses, all\nid;name\n1;coat\n", ","),  # two columns may be sentences
        ("Dresses, all\n", ","),
    ],
)
def test_below_a_title_the_lines_of_equal_width_tell_the_delimiter(text: str, delimiter: str) -> None:
    records = csv_text.read_records(text.encode(), "a.csv")
    assert (records.delimiter, records.notes) == (delimiter, ())


@pytest.mark.parametrize(
    ("cell", "text"),
    [('="007"', "007"), ('="5"" wide"', '5" wide'), ('=""', ""), ("'=x", "=x"), ("'tis", "'tis"), ("=1", "=1")],
)
def test_what_a_cell_says(cell: str, text: str) -> None:
    assert csv_text.cell_text(cell) == text


@pytest.mark.parametrize(
    ("line", "sign", "words"),
    [
        ("sep=;", ";", "semicolons"),
        ("SEP=\t", "\t", "tabs"),
        ('"sep=|"', "|", "upright strokes"),
        ("sep=,", ",", "commas"),
        ("sep=:", ":", "the signs ':'"),
    ],
)
def test_a_first_line_may_name_the_delimiter(line: str, sign: str, words: str) -> None:
    other = ";" if sign == "," else ","
    sheet = read(f"{line}\r\na{other}b{sign}c\r\n1{other}5{sign}2\r\n")
    assert (sheet.columns, sheet.delimiter) == ((f"a{other}b", "c"), sign)
    assert sheet.rows == (Row(3, (f"1{other}5", "2"), ()),)
    assert sheet.notes == (f"Its first line says that {words} part the cells.",)


def test_blank_lines_are_skipped_but_not_quoted_ones() -> None:
    sheet = read('\n , \na,b\n\n;\n,,,\n \xa0 \n"",\n1,2\n,\n')
    assert sheet.columns == ("a", "b")
    assert [(row.line, row.cells) for row in sheet.rows] == [(5, (";", "")), (8, ("", "")), (9, ("1", "2"))]


@pytest.mark.parametrize("more", range(5))
def test_empty_cells_at_the_end_of_a_long_row_are_dropped(more: int) -> None:
    assert read("a,b\n1,2,3,4" + "," * more).rows == (Row(2, ("1", "2"), ("3", "4")),)
    assert len(read("a,b,c" + "," * more + "\n1\n").columns) == 3


def test_short_rows_are_padded_and_long_ones_keep_the_rest() -> None:
    sheet = read("a,b\n1\n1,2,3,,4,,\n1,2,,\n")
    assert sheet.rows == (Row(2, ("1", ""), ()), Row(3, ("1", "2"), ("3", "", "4")), Row(4, ("1", "2"), ()))


def test_a_sheet_of_one_column_is_parted_by_no_sign_that_stands_anywhere_in_it() -> None:
    sheet = read("name\n" + "coat\n" * 3_000 + "hat, blue; with | and\ttabs\nshoe, red\n")
    assert cells(sheet)[-1] == ("shoe",)
    assert cells(read("name\n" + "coat\n" * 3_000 + "shoe, red\n"))[-1] == ("shoe, red",)


def test_names_of_columns_are_stripped() -> None:
    """Of what Unicode calls white space, and of three signs without width."""
    spaces = {sign for sign in map(chr, range(0x10000)) if sign.isspace()}
    assert set(csv_text._EDGES) == spaces | {"\u200b", "\u2060", "\ufeff"}
    sheet = read_sheet("\ufeff\ufeff  id\xa0,\u200bname , Größe \t\n1,2,3\n".encode(), "a.csv")
    assert sheet.columns == ("id", "name", "Größe")


def test_unnamed_columns() -> None:
    sheet = read("a,,b,,,\n1,,2,x,,\n1,,2,,,\n")
    assert sheet.columns == ("a", "column 2", "b", "column 4")
    assert cells(sheet) == [("1", "", "2", "x"), ("1", "", "2", "")]
    assert sheet.notes == ("2 columns without a name: column 2 and column 4.",)


def test_a_header_alone_is_an_empty_sheet() -> None:
    assert read("id,name,,\n") == Sheet(("id", "name"), (), "utf-8", ",", ())


def test_quotes_within_cells() -> None:
    sheet = read('a,b,c\n"said ""no""",5" wide,"x" \n')
    assert cells(sheet) == [('said "no"', '5" wide', "x")]
    assert sheet.notes == ()


def test_quotes_that_were_not_doubled_are_kept_and_said() -> None:
    sheet = read('a,b\n,"5" wide"\n"a "b" c","d"\n4,5\n')
    assert cells(sheet) == [("", '5" wide'), ('a "b" c', "d"), ("4", "5")]
    assert [row.line for row in sheet.rows] == [2, 3, 4]
    assert sheet.notes == ("3 quotes inside quoted cells were not doubled and were kept, the first on line 2.",)


def test_a_cell_of_several_lines_beside_a_quote_that_was_not_doubled() -> None:
    sheet = read('a,b\n"x\n\ny","5" wide"\n1,2\n')
    assert [(row.line, row.cells) for row in sheet.rows] == [(2, ("x\n\ny", '5" wide')), (5, ("1", "2"))]


def test_control_characters_are_kept_and_counted() -> None:
    sheet = read("a,b\nline\vbreak,x\x7fy\nt\tab,\x85\n")
    assert cells(sheet) == [("line\vbreak", "x\x7fy"), ("t\tab", "\x85")]
    assert sheet.notes == ("It has 3 signs that cannot be seen, which were kept.",)


# Refusing


@pytest.mark.parametrize("data", [b"", b"\xef\xbb\xbf", b" \r\n\r\n", b"\xff\xfe", b";;;\r\n"])
def test_empty_files_are_refused(data: bytes) -> None:
    assert "the file is empty" in refusal(data)


def zipped(*names: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name in names:
            archive.writestr(
                zipfile.ZipInfo(name), "application/vnd.oasis.opendocument.spreadsheet" if name == "mimetype" else "x"
            )
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (zipped("[Content_Types].xml", "xl/workbook.xml"), "this is an .xlsx workbook; save it as CSV"),
        (zipped("mimetype", "content.xml"), "this is an .ods workbook; save it as CSV"),
        (zipped("notes.txt"), "this is a .zip archive"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512), ".xls workbook; save it as CSV"),
        (b"\x89PNG\r\n\x1a\n" + bytes(16), "this is a picture"),
        (b"\xff\xd8\xff\xe0" + bytes(16), "this is a picture"),
        (b"GIF89a\x01\x00", "this is a picture"),
        (b"RIFF\x10\x00\x00\x00WEBPVP8 ", "this is a picture"),
        (b"\x00\x00\x00\x18ftypheic", "this is a picture"),
        (b"%PDF-1.7\n", "this is a PDF document"),
        (b"<!DOCTYPE html><html><table>", "this is a web page"),
        (b"SQLite format 3\x00" + bytes(80), "this is a database"),
        (b"a,b\x00\n1,2\n", "it holds what no text has"),
        ("\ufeffa,b\0\n".encode(), "it holds what no text has"),
        ("\ufeffa,\0b\n".encode("utf-16-le"), "it holds what no text has"),
        (bytes(range(1, 32)) * 4, "are none that can be seen"),
    ],
)
def test_what_is_no_text_is_refused(data: bytes, said: str) -> None:
    assert said in refusal(data)


def test_which_signs_no_text_has_in_every_third_place() -> None:
    """All of the control codes of ASCII but tab, line feed and carriage return."""
    refused = set()
    for code in range(1, 128):
        try:
            read_sheet(b"aa" + bytes([code]) + b"bb" + bytes([code]), "a.csv")
        except BadInput as error:
            if "none that can be seen" in error.what:
                refused.add(code)
    assert refused == {*range(1, 32), 127} - {9, 10, 13}


def test_a_name_that_looks_like_other_kinds_is_no_other_kind() -> None:
    assert read("no,,ftyp\n1,2,3\n").columns == ("no", "column 2", "ftyp")


def test_damaged_encodings_are_refused_by_line() -> None:
    assert "line 3 is garbled, for the rest is UTF-8" in refusal("a,b\né,ü\nñ".encode() + b"\xe9,x\n\xc3\xb6")
    assert "line 2 is garbled, for the rest is UTF-8" in refusal(b"\xef\xbb\xbfa,b\n\xe9,x\n")
    assert "line 2 is garbled, for the rest is UTF-16" in refusal(b"\xff\xfe" + "a\n".encode("utf-16-le") + b"\x00\xd8")
    assert "line 1 is garbled, for the rest is UTF-16" in refusal(b"\xff\xfea\x00b")


def test_sizes_are_limited() -> None:
    assert "its 21.1 MB are more than the 20 MB" in refusal(b"a,b\n" + b"x" * (21 * 1024**2))
    wide = ",".join(f"c{number}" for number in range(201))
    assert "its 201 columns are more than the 200" in refusal(wide.encode())
    assert len(read(wide.rpartition(",")[0] + "," * 300).columns) == 200
    long = csv_text.MAX_CELL * "x"
    assert cells(read(f'a,b\n1,"{long}"\n')) == [("1", long)]
    for cell in (f"{long}x", f'"{long}x"'):
        assert "a cell that begins on line 3 has 1,048,577 characters" in refusal(f"a,b\n1,2\n1,{cell}\n3,4".encode())
    rows = b"a\n" + b"1\n\n" * 9_999
    assert len(read_sheet(rows, "pieces.csv").rows) == 9_999
    assert "it has more than the 10,000 rows that are read; split it into parts" in refusal(rows + b"1\n")


def test_two_columns_of_the_same_name_are_told_apart_by_their_place() -> None:
    sheet = read_sheet(b"\nName,id, NAME \n1,2,3\n", "s.csv")
    assert sheet.columns == ("Name", "id", "NAME (column 3)")
    assert sheet.notes == ("Two columns are called 'NAME'; the one in place 3 is 'NAME (column 3)'.",)
    assert read_sheet(b"column 2,,x\n1,2,3\n", "s.csv").columns == ("column 2", "column 2 (column 2)", "x")


def test_a_sheet_without_any_name_is_refused() -> None:
    assert "line 1 names no column" in refusal(b'"",""\n"",""\n')


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ('a,b\n1,"x\n2,3\n4,5\n', 2),
        ('a,b\n1,2\n"x\n\ny","z\n4,5\n', 5),
        ('"a,b\n1,2\n', 1),
        ('a,b\n"1","x\n"2","y"\n"3","z"\n', 2),
        ('a,b\n"1","x" y\n2,3\n4,"5"\n', 2),
        ('a,b\r1,"x\r', 2),
        ('a,b\n1,"', 2),
        ('a,b\n1,"x""\n', 2),
    ],
)
def test_a_quote_that_never_closes_is_named_by_its_line(text: str, line: int) -> None:
    assert f"the quote that opens on line {line} never closes" in refusal(text.encode())


def test_a_quote_that_swallows_a_large_file_is_named_by_its_line() -> None:
    assert "the quote that opens on line 2 never closes" in refusal(b'a,b\n1,"x\n' + b"1,2\n" * 500_000)


@pytest.mark.parametrize("data", [b"a,b\n1,2\n", b'a,b\n1,"\n', b"a\n" + b"x" * 2_000_000])
def test_the_limit_of_the_csv_module_is_put_back(data: bytes) -> None:
    before = csv.field_size_limit(4321)
    try:
        try:
            read_sheet(data, "a.csv")
        except BadInput:
            assert data != b"a,b\n1,2\n"
        assert csv.field_size_limit() == 4321
    finally:
        csv.field_size_limit(before)


@examples(300)
@given(st.one_of(st.binary(max_size=300), st.text('a"\n\r,;\t| \x00é=', max_size=60).map(str.encode)))
def test_bytes_of_any_kind_give_a_whole_sheet_or_one_sentence(data: bytes) -> None:
    try:
        sheet = read_sheet(data, "a.csv")
    except BadInput as error:
        assert error.where == "a.csv"
        return
    assert sheet.columns
    assert all(sheet.columns)
    assert len({column.casefold() for column in sheet.columns}) == len(sheet.columns)
    lines = [row.line for row in sheet.rows]
    assert lines == sorted(set(lines))
    for row in sheet.rows:
        assert len(row.cells) == len(sheet.columns)
        assert not row.extra or row.extra[-1].strip()
        "".join(row.cells).encode()


@pytest.mark.slow
@pytest.mark.parametrize(
    ("head", "row"),
    [
        (b"id,name,notes\r\n", b'12,"Coat, red","She said ""no"""\r\n' + b"\r\n" * 20),
        (b"a;b;c\n", b"\xe9toffe;1,5;long enough to be a row\n"),
        (b"a,b\n", b'"1","5" wide' + b" and not doubled" * 8 + b'"\n'),
        (b",".join(b"c%d" % n for n in range(200)) + b"\n", b"," * 199 + b"x\n"),
    ],
    ids=["plain", "accents", "quotes", "wide"],
)
def test_the_most_rows_are_read_whole(head: bytes, row: bytes) -> None:
    sheet = read_sheet(head + row * 9_999, "a.csv")
    assert len(sheet.rows) == 9_999


# Writing, and reading it back


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("=1+1", "'=1+1"),
        ("+49", "'+49"),
        ("-5", "'-5"),
        ("@x", "'@x"),
        ("\tx", "'\tx"),
        ("\rx", "'\rx"),
        ("'=x", "''=x"),
        ("''=x", "'''=x"),
        ("'tis", "'tis"),
        ("", ""),
        ("5-3=2", "5-3=2"),
        (" =x", " =x"),
    ],
)
def test_formulas_are_made_harmless(text: str, kept: str) -> None:
    assert neutral(text) == kept
    assert restored(kept) == text


@given(st.one_of(st.text(), st.text("'=+-@\t\rx")))
def test_what_was_made_harmless_is_restored(text: str) -> None:
    assert restored(neutral(text)) == text
    assert not neutral(text).startswith(("=", "+", "-", "@", "\t", "\r"))


def test_what_is_written() -> None:
    written = write_sheet(["id", "notes"], [["1", 'He said "no"'], ["2", "a, b"], ["=x"], [], ["3", "two\nlines"]])
    assert written == (b'\xef\xbb\xbfid,notes\r\n1,"He said ""no"""\r\n2,"a, b"\r\n\'=x,\r\n"",\r\n3,"two\nlines"\r\n')


def test_other_readers_read_the_same() -> None:
    rows = [["1", 'a "b", c'], ["", " "], ["x\r\ny", "é; | \t"]]
    out = write_sheet(["id", "notes"], rows).decode("utf-8-sig")
    assert list(csv.reader(io.StringIO(out, newline=""), strict=True)) == [["id", "notes"], *rows]


@pytest.mark.parametrize("odd", ["\ud800", "\0"])
@pytest.mark.parametrize(
    ("row", "near"),
    [
        (["1", "a{}b"], "id,notes 1,a�b"),
        (["1" * 30, "a{}123456789012345678901"], "111111111111111111,a�1234567890123456789"),
    ],
)
def test_what_no_file_can_hold_is_refused(odd: str, row: list[str], near: str) -> None:
    with pytest.raises(BadInput) as caught:
        write_sheet(["id", "notes"], [[cell.format(odd) for cell in row]])
    told = f"text near '{near}': it holds a broken letter, which no file can keep; retype it."
    assert caught.value.sentence() == told


@pytest.mark.parametrize("odd", ["\ud800", "\0"])
def test_what_no_file_can_hold_is_refused_at_its_very_start(odd: str) -> None:
    with pytest.raises(BadInput, match="text near '�id'"):
        write_sheet([f"{odd}id"], [])


def test_rows_must_fit_the_columns() -> None:
    with pytest.raises(ValueError, match="3 cells in a sheet of 2"):
        write_sheet(["a", "b"], [["1", "2", "3"]])
    with pytest.raises(ValueError, match="without columns"):
        write_sheet([], [])


TEXT = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=20)
TRICKY = st.text("\"',;\t|\r\n =@x\u2028\x85\x1c\ufeff", max_size=8)
CELL = st.one_of(TEXT, TRICKY)


@st.composite
def tables(draw: st.DrawFn, cell: st.SearchStrategy[str]) -> list[list[str]]:
    width = draw(st.integers(1, 4))
    return draw(st.lists(st.lists(cell, min_size=width, max_size=width), min_size=1, max_size=6))


def same_name(text: str) -> str:
    return neutral(text).casefold()


@examples(500)
@given(tables(CELL), st.data())
@example([["", ""], [" ", "\t"]], None)
@example([[""]], None)
@example([["\ufeff"]], None)
def test_what_is_written_is_read_again(table: list[list[str]], data: Any) -> None:
    width = len(table[0])
    columns = [f"c{number}" for number in range(width)]
    if data:
        edges = csv_text._EDGES
        name = CELL.map(lambda text: text.strip(edges)).filter(bool)
        columns = data.draw(st.lists(name, min_size=width, max_size=width, unique_by=same_name))
    sheet = read_sheet(write_sheet(columns, table), "a.csv")
    assert [restored(column) for column in sheet.columns] == columns
    assert [[restored(cell) for cell in row.cells] for row in sheet.rows] == table
    assert not any(row.extra for row in sheet.rows)
    assert (sheet.encoding, sheet.delimiter) == ("utf-8-sig", "," if width > 1 else sheet.delimiter)


def written_by(dialect: str, delimiter: str, table: list[list[str]]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, dialect, delimiter=delimiter).writerows(table)
    return out.getvalue()


ANY_TEXT = st.text(st.characters(exclude_characters="\0", exclude_categories=["Cs"]), max_size=12)
PRINTED = st.text(st.characters(exclude_categories=["Cs", "Cc"], include_characters="\n\r\t"), max_size=12)
LOW = st.text(st.sampled_from("abc \"',;\t|\r\n€‘’–£¼ "), max_size=12)
HIGH = st.text(st.sampled_from("abc \"',;\t|\r\nÀÉßéüÿ"), max_size=12)
KINDS = [
    ("utf-8", PRINTED),
    ("utf-8-sig", ANY_TEXT),
    ("utf-16-le", ANY_TEXT),
    ("utf-16-be", ANY_TEXT),
    ("cp1252", LOW),
    ("cp1252", HIGH),
]


@pytest.mark.slow
@pytest.mark.parametrize(("encoding", "cell"), KINDS)
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("dialect", ["excel", "unix"])
@examples(40)
@given(data=st.data())
def test_sheets_of_another_writer(
    dialect: str, delimiter: str, encoding: str, cell: st.SearchStrategy[str], data: st.DataObject
) -> None:
    table = data.draw(tables(cell))
    table = [row for row in table if "".join(row).strip()]
    assume(table)
    if len(table[0]) == 1:  # what looks like a title over a table is read as one
        assume(not any(sign in row[0] for row in table for sign in ",;\t|"))
    text = written_by(dialect, delimiter, [[f"c{number}" for number in range(len(table[0]))], *table])
    sheet = read(text, encoding)
    assert cells(sheet) == [tuple(row) for row in table]
    assert not any(row.extra for row in sheet.rows)
    if encoding != "cp1252":
        assert sheet.encoding == encoding
    lines = re.split(r"\r\n|\r|\n", text)
    for row in sheet.rows:
        shown = re.split(r"\r\n|\r|\n", row.cells[0])[0].replace('"', '""')
        assert lines[row.line - 1].removeprefix('"').startswith(shown)


@pytest.mark.parametrize("seed", range(5))
def test_a_long_sheet_of_decimals_with_commas(seed: int) -> None:
    rng = random.Random(seed)
    words = ["Kleid", "Hut, klein", "Mantel; lang", "Größe 5", 'Zoll 5" breit', "zwei\r\nZeilen", ""]
    table = [
        [str(number), rng.choice(words), f"{rng.randint(1, 99)},{rng.randint(0, 9)}", rng.choice(words)]
        for number in range(400)
    ]
    text = written_by("excel", ";", [["Nr", "Name", "Preis, EUR", "Notiz"], *table])
    sheet = read(text, "cp1252")
    assert sheet.columns == ("Nr", "Name", "Preis, EUR", "Notiz")
    assert [list(row) for row in cells(sheet)] == table
