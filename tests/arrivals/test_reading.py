"""Files as they come out of spreadsheets, and files that are none. CSV as RFC 4180 describes it."""

import csv
import io

import pytest

from garage.arrivals.reading import ListRefusedError, table_of

PLAIN = "Name,Phone\r\nZoë Hålt,0171\r\n"


def refusal(content):
    with pytest.raises(ListRefusedError) as refused:
        table_of(content if isinstance(content, bytes) else content.encode())
    return str(refused.value)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_letters_come_in_as_they_were_written_in_every_usual_encoding(encoding):
    assert table_of(PLAIN.encode(encoding)).rows == [(2, ["Zoë Hålt", "0171"])]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_the_delimiter_is_found_though_the_others_stand_in_the_cells(delimiter):
    """Written by Python's csv module, which quotes as RFC 4180 has it."""
    out = io.StringIO(newline="")
    rows = [
        ["Name", "Address", "Notes"],
        ["Holt, Mira", "3; Quarry Hill", "a\tb, c; d\nsecond line"],
        ["Reed", "", "x"],
    ]
    csv.writer(out, delimiter=delimiter).writerows(rows)
    table = table_of(out.getvalue().encode())
    assert table.header == rows[0]
    assert table.rows == [(2, rows[1]), (4, rows[2])]  # the cell of two lines moves the next row down


def test_the_delimiter_that_a_spreadsheet_names_is_taken():
    assert table_of(b"sep=;\r\nName;Phone, home\r\nMira;0171\r\n").rows == [(3, ["Mira", "0171"])]


def test_a_cell_that_begins_with_an_equals_sign_is_plain_text():
    assert table_of(b"Name,Notes\n=cmd|' /C calc'!A0,+1\n").rows == [(2, ["=cmd|' /C calc'!A0", "+1"])]


def test_blank_lines_are_passed_over_and_counted():
    assert table_of(b"Name,Phone\n\n,\nMira,1\n").rows == [(4, ["Mira", "1"])]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "This file is empty."),
        (b"  \r\n \r\n", "This file is empty."),
        (b"\xef\xbb\xbf", "This file is empty."),
        (b"Name,Phone\n", "Line 1 is the only one. Below the header a row is missing."),
        (b"Name\nMira\n", "Line 1: only one column found. Separate columns with commas, semicolons or tabs."),
        (b"PK\x03\x04rest", "This is a workbook, not CSV. In the spreadsheet choose Save as, then CSV."),
        (b"\xd0\xcf\x11\xe0rest", "This is a workbook, not CSV. In the spreadsheet choose Save as, then CSV."),
        (b"%PDF-1.7", "This is not a CSV file. In the spreadsheet choose Save as, then CSV."),
        (
            b"Name,Phone\nMira,01\x0071\nJonah,1\nReed,2\nHolt,3\n",
            "Line 2, column 2: a NUL character. This is damaged, or not a CSV file.",
        ),
        (b"Name,Phone,name\nMira,1,2\n", "Line 1: columns 1 and 3 are both ‘name’. Rename one."),
        (
            b'Name,Phone\nMira,1\nJonah,"0171\nReed,2\n',
            "Line 3, column 2: a quote opens here and never closes. The file is cut off.",
        ),
        (b'Name,Phone\n"Mi"ra,1\n', "Line 2, near column 2: a quote closes in the middle of a cell."),
        (b"Name,Phone\nMira,\x81\x8d\n", "Line 2: letters in an unknown encoding. Save the list as CSV in UTF-8."),
        (b"a,b\n" + b"x" * 120_000 + b",1\n", "Line 2, column 1: more than 100,000 letters in one cell."),
        (b"a,b\n" + b"x" * 140_000 + b",1\n", "Line 2, column 1: more than 100,000 letters in one cell."),
        (b"a,b\n" + b"x,y\n" * 5001, "Line 5002: more than 5,000 rows. Split the list."),
        (b"a,b\n" + b"x" * (5 * 1024 * 1024), "More than 5 MB. Split the list."),
        (",".join(f"c{n}" for n in range(61)).encode() + b"\n1,2\n", "Line 1: 61 columns. At most 60 can be read."),
    ],
)  # fmt: skip
def test_what_is_no_list_is_refused_with_the_line_and_column(content, says):
    assert refusal(content) == says


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_end_as_any_machine_ends_them(end):
    assert table_of(f"Name,Phone{end}Mira,1{end}Jonah,2".encode()).rows == [(2, ["Mira", "1"]), (3, ["Jonah", "2"])]


def test_five_thousand_rows_are_read():
    assert len(table_of(b"a,b\n" + b"x,y\n" * 5000).rows) == 5000
