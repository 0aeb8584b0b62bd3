"""Figures as they come out of a keyboard or a spreadsheet."""

import re
from collections.abc import Sequence

_FIGURE = re.compile(r"[-+]?(\d+(\.\d*)?|\.\d+)")
# '1,000' is a thousand to one spreadsheet and one to another.
_AMBIGUOUS = re.compile(r"[-+]?\d{1,3}(,\d{3})+")


class PasteError(ValueError):
    """Pasted cells that cannot be understood; the message names the row."""


def figure(text: str) -> float | None:
    """The figure in `text`, with a decimal point or a decimal comma; None if there is none."""
    plain = text.strip().replace("\u2212", "-").replace("\u00a0", "").replace(",", ".")
    return float(plain) if _FIGURE.fullmatch(plain) else None


def pasted(text: str, widths: Sequence[int]) -> list[list[float]]:
    """The cells of `text`, copied from a spreadsheet: rows of as many figures as one of `widths` allows.

    A first row of words is a heading and is left out. Understood as a whole or refused as a whole.

    Raises
    ------
    PasteError
        Naming the first row that is not understood.
    """
    rows = [_cells(line) for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n") if line.strip()]
    if not rows:
        raise PasteError("There is nothing to paste.")
    first = 1
    if all(figure(cell) is None for cell in rows[0]):
        rows, first = rows[1:], 2
    if not rows:
        raise PasteError("Only a heading was pasted.")
    width = len(rows[0])
    if width not in widths:
        wanted = " or ".join(str(allowed) for allowed in widths)
        raise PasteError(f"Row {first} has {width} cells; this table takes {wanted}.")
    return [_figures(row, number, width) for number, row in enumerate(rows, start=first)]


def _cells(line: str) -> list[str]:
    separator = "\t" if "\t" in line else ";"
    cells = line.split(separator)
    # Columns of figures may also come with blanks between them; words with blanks are one cell.
    if len(cells) == 1 and all(figure(word) is not None for word in line.split()):
        cells = line.split()
    while len(cells) > 1 and not cells[-1].strip():
        cells.pop()
    return [cell.strip().strip('"') for cell in cells]


def _figures(row: list[str], number: int, width: int) -> list[float]:
    if len(row) != width:
        raise PasteError(f"Row {number} has {len(row)} cells where the others have {width}.")
    figures = []
    for cell in row:
        if _AMBIGUOUS.fullmatch(cell):
            raise PasteError(
                f"Row {number}: '{cell}' could mean {cell.replace(',', '')} or {cell.replace(',', '.', 1)}."
            )
        value = figure(cell)
        if value is None:
            raise PasteError(f"Row {number}: '{cell}' is not a figure.")
        figures.append(value)
    return figures
