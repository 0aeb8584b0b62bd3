"""Figures as they come out of a spreadsheet."""

from collections.abc import Sequence

from garage.quantities.typed import NotAFigureError, figure
from garage.record.refusals import RuleRefusedError


class PasteError(RuleRefusedError):
    """Pasted cells that cannot be understood; the message names the row."""


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
        raise PasteError("Nothing to paste.")
    first = 1
    if not any(_is_figure(cell) for cell in rows[0]):
        rows, first = rows[1:], 2
    if not rows:
        raise PasteError("Only a heading was pasted.")
    width = len(rows[0])
    if width not in widths:
        allowed_widths = " or ".join(str(allowed) for allowed in widths)
        raise PasteError(f"Row {first} has {width} cells; this table takes {allowed_widths}.")
    return [_figures(row, number, width) for number, row in enumerate(rows, start=first)]


def _cells(line: str) -> list[str]:
    separator = "\t" if "\t" in line else ";"
    cells = line.split(separator)
    # Columns of figures may also come with blanks between them; words with blanks are one cell.
    if len(cells) == 1 and all(_is_figure(word) for word in line.split()):
        cells = line.split()
    while len(cells) > 1 and not cells[-1].strip():
        cells.pop()
    return [cell.strip().strip('"') for cell in cells]


def _figures(row: list[str], number: int, width: int) -> list[float]:
    if len(row) != width:
        cells = "1 cell" if len(row) == 1 else f"{len(row)} cells"
        raise PasteError(f"Row {number} has {cells} where the others have {width}.")
    figures = []
    for cell in row:
        try:
            figures.append(figure(cell))
        except NotAFigureError as problem:
            raise PasteError(f"Row {number}: {problem}") from None
    return figures


def _is_figure(cell: str) -> bool:
    try:
        figure(cell)
    except NotAFigureError:
        return False
    return True
