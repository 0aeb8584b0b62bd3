"""From the text of a log to figures: numpy's own reader, block by block, and row by row where it stumbles.

A block is read as a whole by `numpy.loadtxt`. Where that refuses, the rows of that block alone are read one at a time,
so that each bad row is known by its number and every other row is kept.
"""

import codecs
import io
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from jobs.roadlogs.columns import CLOCK, ColumnMap
from jobs.roadlogs.raw import MOST_ROWS, TOO_MANY_ROWS
from jobs.roadlogs.refusals import LogRefusedError
from jobs.roadlogs.shape import FileShape, cells_of

# The rows of a block fit the processor's cache; larger blocks are slower (tests.bench.bench_road_log).
BLOCK_BYTES = 256 * 1024
# Without a line's end in so many bytes a file is no table.
LONGEST_LINE = 64 * 1024
SHOWN_BAD_ROWS = 200
REQUIRED = ("time", "rpm", "manifold")
_DAY_S = 86_400.0

Progress = Callable[[int], None]


class Reads(Protocol):
    """A file as it was sent."""

    def read(self, size: int, /) -> bytes: ...


@dataclass(slots=True)
class BadRows:
    """Rows that could not be read: the first of them with their numbers and reasons, and how many in all."""

    shown: list[tuple[int, str]] = field(default_factory=list)
    count: int = 0

    def add(self, row: int, reason: str) -> None:
        self.count += 1
        if len(self.shown) < SHOWN_BAD_ROWS:
            self.shown.append((row, reason))

    def in_order(self) -> list[tuple[int, str]]:
        return sorted(self.shown)


@dataclass(frozen=True, slots=True)
class Figures:
    """The rows that could be read. `row` is the number of each in the file, from 1; `t` is in the column's own unit."""

    t: NDArray[np.float64]
    columns: dict[str, NDArray[np.float32]]
    row: NDArray[np.int32]
    bad: BadRows
    is_cut_off: bool  # the last row ends in its middle


def read_figures(
    opened: Reads, shape: FileShape, mapped: ColumnMap, names: list[str], progress: Progress = lambda _: None
) -> Figures:
    """The mapped columns of a file.

    Parameters
    ----------
    opened : file
        As it was sent.
    shape : FileShape
        Its layout.
    mapped : dict of Mapped by role
        Its columns.
    names : list of str
        What its columns are called, for what is said of a bad row.
    progress : callable
        Told after each block how many bytes were read.

    Raises
    ------
    LogRefusedError
        If there are more rows than can be taken, a NUL character, letters of another encoding, or no rows at all.
    """
    reader = _BlockReader(shape, mapped, names)
    for block, read in _blocks(opened, shape):
        reader.take(block)
        progress(read)
    return reader.figures()


def _blocks(opened: Reads, shape: FileShape) -> Iterator[tuple[bytes, int]]:
    """Whole lines, each ended by a newline but for the last of the file, and how many bytes of the file were read.

    The next piece is unpacked by a second thread while the last is turned into figures.
    """
    decode = codecs.getincrementaldecoder(shape.encoding)().decode if shape.encoding.startswith("utf-16") else None
    rest, read = b"", 0
    with ThreadPoolExecutor(max_workers=1) as ahead:
        coming = ahead.submit(opened.read, BLOCK_BYTES)
        while piece := coming.result():
            coming = ahead.submit(opened.read, BLOCK_BYTES)
            read += len(piece)
            if decode is not None:
                piece = _in_utf_8(decode, piece)
            if b"\r" in piece and b"\n" not in piece:  # the line ends of an old logger
                piece = piece.replace(b"\r", b"\n")
            rest += piece
            end = rest.rfind(b"\n") + 1
            if not end and len(rest) > LONGEST_LINE:
                raise LogRefusedError("A row is longer than 64,000 letters. This is not a table.")
            if end:
                yield rest[:end], read
                rest = rest[end:]
    if rest.strip():
        yield rest, read


def _in_utf_8(decode: Callable[[bytes], str], piece: bytes) -> bytes:
    try:
        return decode(piece).encode()
    except UnicodeDecodeError:
        raise LogRefusedError("Letters in an unknown encoding. Export the log as CSV in UTF-8.") from None


class _BlockReader:
    """Takes blocks of whole lines one after the other."""

    def __init__(self, shape: FileShape, mapped: ColumnMap, names: list[str]) -> None:
        self._shape, self._names = shape, names
        self._roles = [*REQUIRED, *(key for key in mapped if key not in REQUIRED)]
        self._places = [mapped[role].column for role in self._roles]
        self._is_clock = mapped["time"].unit == CLOCK
        # The first column is the time; where it is a time of day it is read as text.
        self._kind: np.dtype | type[float] = float
        if self._is_clock:
            self._kind = np.dtype([("time", "S32"), *((role, "f8") for role in self._roles[1:])])
        self._row = 0  # rows of the file before this block
        self._header_left = shape.header_rows
        self._times: list[NDArray[np.float64]] = []
        self._figures: list[NDArray[np.float32]] = []
        self._numbers: list[NDArray[np.int32]] = []
        self._count = 0
        self._bad, self._is_cut_off = BadRows(), False

    def take(self, block: bytes) -> None:
        while self._header_left and block:
            _, _, block = block.partition(b"\n")
            self._header_left -= 1
            self._row += 1
        if not block:
            return
        if (place := block.find(b"\x00")) >= 0:
            row = self._row + block.count(b"\n", 0, place) + 1
            raise LogRefusedError(f"Row {row:,}: a NUL character. This is damaged, or not a CSV file.")
        lines = block.count(b"\n") + (not block.endswith(b"\n"))
        if not self._taken_whole(block, lines):
            self._take_one_by_one(block)
        self._row += lines
        if self._count > MOST_ROWS:
            raise LogRefusedError(TOO_MANY_ROWS)

    def _taken_whole(self, block: bytes, lines: int) -> bool:
        """Whether numpy's reader took every line of `block`."""
        shape = self._shape
        if b'"' in block:
            if shape.decimal_hides_in_quotes:
                return False
            block = block.replace(b'"', b"")
        if shape.decimal == ",":
            block = block.replace(b",", b".")
        try:
            table = np.loadtxt(
                io.BytesIO(block),
                dtype=self._kind,
                comments=None,
                delimiter=None if shape.delimiter == " " else shape.delimiter,
                usecols=self._places,
                ndmin=1 if self._is_clock else 2,
                encoding="latin1",
            )
            if len(table) != lines:
                return False
            if self._is_clock:
                times = _seconds_of_clocks(table["time"])
                rest = np.stack([table[role].astype(np.float32) for role in self._roles[1:]], axis=1)
            else:
                times, rest = table[:, 0], table[:, 1:].astype(np.float32)
        except ValueError:
            return False
        needed = np.isfinite(rest[:, : len(REQUIRED) - 1]).all() and np.isfinite(times).all()
        if not needed:
            return False
        self._keep(times, rest, np.arange(self._row + 1, self._row + 1 + lines, dtype=np.int32))
        return True

    def _take_one_by_one(self, block: bytes) -> None:
        times: list[float] = []
        rest: list[list[float]] = []
        numbers: list[int] = []
        lines = block.decode("latin1").split("\n")
        ends_whole = block.endswith(b"\n")
        if ends_whole:
            lines.pop()
        for place, line in enumerate(lines):
            row = self._row + place + 1
            if not line.strip():
                continue
            try:
                figures = self._figures_of(line)
            except ValueError as problem:
                if not ends_whole and place == len(lines) - 1:
                    self._is_cut_off = True
                    self._bad.add(row, "the file ends in the middle of this row")
                else:
                    self._bad.add(row, str(problem))
                continue
            times.append(figures[0])
            rest.append(figures[1:])
            numbers.append(row)
        if times:
            self._keep(np.array(times), np.array(rest, dtype=np.float32), np.array(numbers, dtype=np.int32))

    def _figures_of(self, line: str) -> list[float]:
        """The figures of one row, or a ValueError with what is wrong in it."""
        cells = cells_of(line.rstrip("\r"), self._shape)
        figures = []
        for role, place in zip(self._roles, self._places, strict=True):
            if place >= len(cells):
                raise ValueError(f"ends before column ‘{self._names[place]}’")
            cell = cells[place].replace(",", ".") if self._shape.decimal == "," else cells[place]
            if not cell and role not in REQUIRED:
                figures.append(np.nan)
                continue
            figures.append(self._figure(cell, role, place))
        return figures

    def _figure(self, cell: str, role: str, place: int) -> float:
        try:
            if role == "time" and self._is_clock:
                figure = float(_seconds_of_clocks(np.array([cell.encode("ascii", "replace")]))[0])
            else:
                figure = float(cell)
        except ValueError:
            said = f"‘{cell[:40]}’ is no figure" if cell else "nothing"
            raise ValueError(f"column ‘{self._names[place]}’: {said}") from None
        if role in REQUIRED and not np.isfinite(figure):
            raise ValueError(f"column ‘{self._names[place]}’: ‘{cell[:40]}’ is no figure")
        return figure

    def _keep(self, times: NDArray[np.float64], rest: NDArray[np.float32], rows: NDArray[np.int32]) -> None:
        self._times.append(times.copy())
        self._figures.append(rest)
        self._numbers.append(rows)
        self._count += len(rows)

    def figures(self) -> Figures:
        if not self._count:
            reason = f" Row {self._bad.shown[0][0]:,}, {self._bad.shown[0][1]}." if self._bad.shown else ""
            raise LogRefusedError(f"No row could be read.{reason}")
        times = np.concatenate(self._times)
        columns = {
            role: np.concatenate([block[:, place] for block in self._figures])
            for place, role in enumerate(self._roles[1:])
        }
        if self._is_clock:
            times = _over_midnight(times)
        return Figures(times, columns, np.concatenate(self._numbers), self._bad, self._is_cut_off)


def _seconds_of_clocks(cells: NDArray[np.bytes_]) -> NDArray[np.float64]:
    """Seconds of '2026-05-14T10:20:30.5' since 1970, of '10:20:30.5' since midnight. ValueError for anything else."""
    text = np.char.replace(np.char.strip(cells.astype("U32")), ",", ".")
    if "-" in str(text[0]):
        moments = text.astype("datetime64[us]")
    else:
        short = np.char.find(text, ":") == 1
        text = np.where(short, np.char.add("0", text), text)
        moments = np.char.add("1970-01-01T", text).astype("datetime64[us]")
    if np.isnat(moments).any():
        raise ValueError("no time")
    return np.asarray(moments.astype(np.int64) / 1e6)


def _over_midnight(times: NDArray[np.float64]) -> NDArray[np.float64]:
    """Times of day that go on after midnight where a clock without a date begins again."""
    if times[0] >= _DAY_S:
        return times
    begins_again = np.diff(times, prepend=times[0]) < -_DAY_S / 2
    return times + _DAY_S * np.cumsum(begins_again)
