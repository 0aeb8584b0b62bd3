"""How a log is laid out as text: guessed from its beginning, shown to a person, and kept as they confirm it."""

import codecs
import csv
import hashlib
import io
import re
from dataclasses import asdict, dataclass, replace
from typing import Any, Self

from jobs.roadlogs.refusals import LogRefusedError

SHOWN_ROWS = 20
# What is looked at of a file before a person confirms it.
HEAD_BYTES = 64 * 1024
MOST_COLUMNS = 200
MOST_HEADER_ROWS = 40
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", " ": "space", "|": "bar"}
DECIMALS = {".": "point", ",": "comma"}

# How files begin that are no text, whatever their name says.
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_OTHERS = (b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"\x1f\x8b", b"Rar!", b"7z\xbc\xaf")

EMPTY = "This file is empty."
WORKBOOK = "This is a workbook, not CSV. In the spreadsheet choose Save as, then CSV."
NOT_TEXT = "This is not a CSV file. Export the log from the logger as CSV."
ONE_COLUMN = "Row 1: only one column found. Separate columns with commas, semicolons or tabs."
NO_ROWS = "No row of figures found in the first rows."

_FIGURE = re.compile(r"\s*[-+]?([0-9]+([.,][0-9]*)?|[.,][0-9]+)([eE][-+]?[0-9]+)?\s*")
_CLOCK = re.compile(r"\s*([0-9]{4}-[0-9]{2}-[0-9]{2}[T ])?[0-9]{1,2}:[0-9]{2}(:[0-9]{2}([.,][0-9]+)?)?\s*")
_UNIT = re.compile(r"[\[(]([^\])]{1,12})[\])]\s*$")


@dataclass(frozen=True, slots=True)
class FileShape:
    """How the text is laid out. `decimal` is what figures have before their decimals."""

    encoding: str
    delimiter: str
    decimal: str
    header_rows: int

    def as_json(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_json(cls, kept: dict[str, Any]) -> Self:
        return cls(**kept)

    @property
    def decimal_hides_in_quotes(self) -> bool:
        """Whether a comma may stand within a figure as well as between two, which only quotes tell apart."""
        return self.delimiter == "," and self.decimal == ","


@dataclass(frozen=True, slots=True)
class Preview:
    """The beginning of a log as a table: a name and a unit (or nothing) for each column, and the first rows."""

    names: list[str]
    units: list[str]
    rows: list[list[str]]

    @property
    def header_sha256(self) -> str:
        """By which a log with the same columns is known again."""
        return hashlib.sha256("\n".join([*self.names, *self.units]).casefold().encode()).hexdigest()


def refuse_unless_text(head: bytes) -> None:
    """Nothing for the beginning of a text file.

    Raises
    ------
    LogRefusedError
        If the file is empty, or of a kind that is no text.
    """
    if not head.strip():
        raise LogRefusedError(EMPTY)
    if head.startswith(_WORKBOOKS):
        raise LogRefusedError(WORKBOOK)
    if head.startswith(_OTHERS):
        raise LogRefusedError(NOT_TEXT)


def guessed(head: bytes) -> FileShape:
    """The likeliest layout of a file that begins with `head`.

    Raises
    ------
    LogRefusedError
        If it is no text, or has one column.
    """
    refuse_unless_text(head)
    encoding = _encoding_of(head)
    lines = _lines(head, encoding)
    candidates = [
        FileShape(encoding, delimiter, decimal, 0)
        for delimiter in DELIMITERS
        for decimal in DECIMALS
        if not (delimiter == "," and decimal == "," and '"' not in head.decode(encoding, "replace"))
    ]
    best = max(candidates, key=lambda shape: _agreement(lines, shape))
    if _agreement(lines, best)[0] <= 0:
        raise LogRefusedError(ONE_COLUMN)
    return replace(best, header_rows=_header_rows(lines, best))


def preview_of(head: bytes, shape: FileShape) -> Preview:
    """The first rows as `shape` reads them.

    Raises
    ------
    LogRefusedError
        If that gives one column, too many, or no rows.
    """
    lines = _lines(head, shape.encoding)
    header = [cells_of(line, shape) for line in lines[: shape.header_rows]]
    rows = [cells_of(line, shape) for line in lines[shape.header_rows :] if line.strip()][:SHOWN_ROWS]
    if not rows:
        raise LogRefusedError(NO_ROWS)
    width = max(len(row) for row in rows)
    if width < 2:
        raise LogRefusedError(ONE_COLUMN)
    if width > MOST_COLUMNS:
        raise LogRefusedError(f"Row 1: {width} columns. At most {MOST_COLUMNS} can be read.")
    units = [""] * width
    if len(header) > 1 and _is_units(header[-1]):
        units = _as_wide(header.pop(), width)
    named = next((row for row in reversed(header) if sum(bool(cell.strip()) for cell in row) > 1), [])
    names = _as_wide(named, width)
    for place, name in enumerate(names):
        if (found := _UNIT.search(name)) and not units[place]:
            units[place] = found.group(1).strip()
            names[place] = name[: found.start()].strip()
    names = [name or f"Column {place + 1}" for place, name in enumerate(names)]
    return Preview(names, [unit.strip("[]() ") for unit in units], [_as_wide(row, width) for row in rows])


def cells_of(line: str, shape: FileShape) -> list[str]:
    """The cells of one line, without what surrounds them."""
    if shape.delimiter == " ":
        return line.split()
    if '"' in line:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=shape.delimiter), [])]
    return [cell.strip() for cell in line.split(shape.delimiter)]


def is_clock(cell: str) -> bool:
    """Whether a cell is a time of day, with or without its date."""
    return _CLOCK.fullmatch(cell) is not None


def _as_wide(cells: list[str], width: int) -> list[str]:
    return [" ".join(cell.split())[:80] for cell in [*cells, *[""] * (width - len(cells))][:width]]


def _encoding_of(head: bytes) -> str:
    if head.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "utf-16"
    odd, even = head[1:400:2], head[0:400:2]
    if odd.count(0) > len(odd) / 2:
        return "utf-16-le"
    if even.count(0) > len(even) / 2:
        return "utf-16-be"
    try:
        # The beginning of a file may end in the middle of a letter.
        codecs.getincrementaldecoder("utf-8-sig")().decode(head, final=False)
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"


def _lines(head: bytes, encoding: str) -> list[str]:
    text = codecs.getincrementaldecoder(encoding)("replace").decode(head, final=False)
    lines = io.StringIO(text).read().replace("\r\n", "\n").replace("\r", "\n").split("\n")
    # The last line of a beginning may be half a line.
    return lines[:-1] if len(head) >= HEAD_BYTES and len(lines) > 1 else [line for line in lines if line.strip()]


def _is_figure(cell: str, shape: FileShape) -> bool:
    other = "," if shape.decimal == "." else "."
    return bool(_FIGURE.fullmatch(cell)) and other not in cell


def _agreement(lines: list[str], shape: FileShape) -> tuple[float, int]:
    """How many cells of the later lines are figures, where most lines are equally wide; 0 for one column."""
    rows = [cells_of(line, shape) for line in lines[-40:] if line.strip()]
    widths = [len(row) for row in rows]
    if not widths or (usual := max(set(widths), key=widths.count)) < 2:
        return 0.0, 0
    whole = [row for row in rows if len(row) == usual]
    figures = sum(_is_figure(cell, shape) or is_clock(cell) for row in whole for cell in row)
    share = figures / (usual * len(rows))
    return share, usual if shape.decimal == "." else usual - 1


def _header_rows(lines: list[str], shape: FileShape) -> int:
    """How many lines stand above the figures."""
    for place, line in enumerate(lines[: MOST_HEADER_ROWS + 1]):
        cells = [cell for cell in cells_of(line, shape) if cell]
        if len(cells) > 1 and sum(_is_figure(cell, shape) or is_clock(cell) for cell in cells) * 2 >= len(cells):
            return place
    return 0


_KNOWN_UNITS = re.compile(
    r"(s|ms|min|sec|seconds?|rpm|1/min|u/min|k?pa|m?bar|inhg|in\.? ?hg|mmhg|psi[ag]?|%|°?[cf]|deg ?[cf]|km/h|kph|mph|v|"
    r"lambda|afr|λ|-|hh:mm:ss(\.\w+)?)",
    re.IGNORECASE,
)


def _is_units(cells: list[str]) -> bool:
    given = [cell.strip("[]() ") for cell in cells if cell.strip("[]() ")]
    return bool(given) and sum(bool(_KNOWN_UNITS.fullmatch(cell)) for cell in given) * 2 > len(given)
