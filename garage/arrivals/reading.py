"""A spreadsheet saved as CSV, read whole or refused with the line and column of what is wrong.

CSV is what RFC 4180 describes, and what spreadsheets make of it: the delimiter of the country, the encoding of the
machine, Excel's line 'sep=;'. Every cell is text, one that begins with '=' as well.
"""

import codecs
import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass

from garage.record.refusals import RuleRefusedError

LARGEST_BYTES = 5 * 1024 * 1024
MOST_ROWS = 5000
MOST_COLUMNS = 60
LONGEST_CELL = 100_000  # letters; what a column takes is asked later, with the column's name
DELIMITERS = (",", ";", "\t")
_LOOKED_AT = 60  # records that say which delimiter it is

# How files begin that are no text, whatever their name says.
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_OTHERS = (b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"\x1f\x8b", b"Rar!")

EMPTY = "This file is empty."
TOO_LARGE = "More than 5 MB. Split the list."
WORKBOOK = "This is a workbook, not CSV. In the spreadsheet choose Save as, then CSV."
NOT_TEXT = "This is not a CSV file. In the spreadsheet choose Save as, then CSV."
HEADER_ONLY = "Line 1 is the only one. Below the header a row is missing."
ONE_COLUMN = "Line 1: only one column found. Separate columns with commas, semicolons or tabs."


class ListRefusedError(RuleRefusedError):
    """The file is no list that can be read. Says where and why."""


@dataclass(frozen=True, slots=True)
class Table:
    """The words of the header, and the rows that hold something, each with the line of the file it begins on."""

    header: list[str]
    rows: list[tuple[int, list[str]]]


def table_of(content: bytes) -> Table:
    """The list in the file `content`.

    Raises
    ------
    ListRefusedError
        If it is empty, too large, no text, cut off, or has no header and rows.
    """
    if len(content) > LARGEST_BYTES:
        raise ListRefusedError(TOO_LARGE)
    text = _text_of(content)
    if not text.strip():
        raise ListRefusedError(EMPTY)
    delimiter, text, first_line = _delimiter_named(text)
    records = _records(text, delimiter or _delimiter_of(text), first_line)
    _, header = next(records)
    header = [" ".join(word.split()) for word in header]
    _refuse_header(header)
    rows = []
    for line, cells in records:
        if any(cell.strip() for cell in cells):
            rows.append((line, cells))
        if len(rows) > MOST_ROWS:
            raise ListRefusedError(f"Line {line}: more than 5,000 rows. Split the list.")
    if not rows:
        raise ListRefusedError(HEADER_ONLY)
    return Table(header, rows)


def _text_of(content: bytes) -> str:
    if not content:
        raise ListRefusedError(EMPTY)
    if content.startswith(_WORKBOOKS):
        raise ListRefusedError(WORKBOOK)
    if content.startswith(_OTHERS):
        raise ListRefusedError(NOT_TEXT)
    text = _decoded(content)
    if (place := text.find("\x00")) >= 0:
        line, column = _place(text, place)
        raise ListRefusedError(f"Line {line}, column {column}: a NUL character. This is damaged, or not a CSV file.")
    return text


def _decoded(content: bytes) -> str:
    """UTF-8 with or without its mark, UTF-16 likewise, else the Western code page of Windows (cp1252)."""
    encodings = ["utf-8-sig", "cp1252"]
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encodings = ["utf-16"]
    elif content[1:40:2].count(0) > len(content[1:40:2]) / 2:
        encodings = ["utf-16-le"]
    elif content[0:40:2].count(0) > len(content[0:40:2]) / 2:
        encodings = ["utf-16-be"]
    for encoding in encodings:
        try:
            return content.decode(encoding)
        except UnicodeDecodeError as problem:
            line = content[: problem.start].count(b"\n") + 1
    raise ListRefusedError(f"Line {line}: letters in an unknown encoding. Save the list as CSV in UTF-8.")


def _delimiter_named(text: str) -> tuple[str, str, int]:
    """The delimiter of a first line 'sep=;', the text below it, and the line on which that begins."""
    first, _, rest = text.partition("\n")
    named = first.strip("\r ")
    if named.lower().startswith("sep=") and named[4:] in DELIMITERS:
        return named[4:], rest, 2
    return "", text, 1


def _delimiter_of(text: str) -> str:
    """The delimiter by which most of the first rows have as many cells as the header, and the header most."""

    def agreement(delimiter: str) -> tuple[float, int]:
        widths = []
        try:
            for cells in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
                if cells:
                    widths.append(len(cells))
                if len(widths) >= _LOOKED_AT:
                    break
        except csv.Error:
            pass  # said by whoever reads the whole
        if not widths or widths[0] < 2:
            return (0.0, 0)
        return (sum(width == widths[0] for width in widths) / len(widths), widths[0])

    return max(DELIMITERS, key=agreement)


def _records(text: str, delimiter: str, first_line: int) -> Iterator[tuple[int, list[str]]]:
    """Every record with the line it begins on; blank lines are passed over."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    while True:
        begins = reader.line_num + first_line
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as problem:
            raise _broken(text, delimiter, begins - first_line, begins, str(problem)) from None
        for column, cell in enumerate(cells, start=1):
            if len(cell) > LONGEST_CELL:
                raise _too_long(begins, column)
        if cells:
            yield begins, cells


def _broken(text: str, delimiter: str, lines_before: int, line: int, problem: str) -> ListRefusedError:
    """What is wrong in the record that begins on `line`, with its column."""
    rest = "".join(list(io.StringIO(text, newline=""))[lines_before:])
    try:
        column = len(next(csv.reader(io.StringIO(rest, newline=""), delimiter=delimiter), [""])) or 1
    except csv.Error:
        return _too_long(line, 1)
    if "unexpected end" in problem:
        return ListRefusedError(
            f"Line {line}, column {column}: a quote opens here and never closes. The file is cut off."
        )
    if "field larger" in problem:
        return _too_long(line, column)
    return ListRefusedError(f"Line {line}, near column {column}: a quote closes in the middle of a cell.")


def _too_long(line: int, column: int) -> ListRefusedError:
    return ListRefusedError(f"Line {line}, column {column}: more than 100,000 letters in one cell.")


def _refuse_header(header: list[str]) -> None:
    if len(header) < 2:
        raise ListRefusedError(ONE_COLUMN)
    if len(header) > MOST_COLUMNS:
        raise ListRefusedError(f"Line 1: {len(header)} columns. At most {MOST_COLUMNS} can be read.")
    seen: dict[str, int] = {}
    for column, word in enumerate(header, start=1):
        if word and word.casefold() in seen:
            first = seen[word.casefold()]
            raise ListRefusedError(f"Line 1: columns {first} and {column} are both ‘{word[:60]}’. Rename one.")
        seen[word.casefold()] = column


def _place(text: str, place: int) -> tuple[int, int]:
    """Line and column, as people count, of a letter of `text`; delimiters within quotes are counted too."""
    before = text[:place]
    line_begins = before.rfind("\n") + 1
    in_line = before[line_begins:]
    return before.count("\n") + 1, max(in_line.count(one) for one in DELIMITERS) + 1
