"""Form fields of many cells: rows of two figures, and a table over speed and vacuum. Each cell is refused by itself."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.forms.boundfield import BoundField

from garage.quantities.fields import NO_UNIT, InAUnit
from garage.quantities.measure import PRESSURE, VACUUM
from garage.quantities.typed import NotAFigureError, figure
from garage.quantities.words import bare, plain
from timing.errors import TimingError

MOST_ROWS = 64


@dataclass(frozen=True, slots=True)
class Column:
    """One column of figures: the name of its cells, what stands over it, and between what its figures may lie."""

    name: str
    label: str
    unit: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell for the template: as typed, with its refusal."""

    name: str
    value: str
    label: str
    error: str = ""


class ManyCells(forms.Widget):
    """Reads every cell by its column's name; the page writes the cells out itself."""

    def __init__(self, names: Sequence[str]) -> None:
        super().__init__()
        self.names = names

    def value_from_datadict(self, data: Any, files: Any, name: str) -> dict[str, list[str]]:
        read = data.getlist if hasattr(data, "getlist") else lambda key: list(data.get(key, []))
        return {key: [str(cell)[:40] for cell in read(key)][: MOST_ROWS * MOST_ROWS] for key in self.names}

    def value_omitted_from_data(self, data: Any, files: Any, name: str) -> bool:
        return not any(key in data for key in self.names)


class CellsField(forms.Field):
    """What both kinds of table share: a refusal a cell, and figures read the same way."""

    def __init__(self, columns: Sequence[Column], **kwargs: Any) -> None:
        self.columns = columns
        self.cell_errors: dict[tuple[str, int], str] = {}
        super().__init__(widget=ManyCells([column.name for column in columns]), **kwargs)

    def __deepcopy__(self, memo: Any) -> "CellsField":
        copy: CellsField = super().__deepcopy__(memo)
        copy.cell_errors = {}
        return copy

    def read(self, column: Column, place: int, text: str) -> float | None:
        """One cell's figure; None with its refusal noted if it is none."""
        try:
            value = figure(text)
        except NotAFigureError as problem:
            self.refuse(column, place, str(problem))
            return None
        if not column.low <= value <= column.high:
            spaced = f" {column.unit}" if column.unit else ""
            self.refuse(column, place, f"Must be between {plain(column.low)} and {plain(column.high)}{spaced}.")
            return None
        return value

    def refuse(self, column: Column, place: int, message: str) -> None:
        self.cell_errors.setdefault((column.name, place), message)

    def raise_if_refused(self) -> None:
        if self.cell_errors:
            count = len(self.cell_errors)
            count_said = "One figure refused" if count == 1 else f"{count} figures refused"
            raise ValidationError(f"{count_said}: see beside {'it' if count == 1 else 'them'}.", code="cells")


class RowsField(CellsField):
    """Rows of two figures, rising in the first; rows left wholly blank are none. Cleans to a list of lists."""

    def __init__(self, columns: Sequence[Column], *, needed: int = 0, **kwargs: Any) -> None:
        self.needed = needed
        super().__init__(columns, required=needed > 0, **kwargs)

    def to_python(self, value: dict[str, list[str]]) -> list[list[float]]:  # type: ignore[override]
        first, second = self.columns
        # A box may have been blanked: rows are counted as they stand on the page, so that a refusal finds its cell.
        rows: list[list[float]] = []
        last = ""
        for place, (a, b) in enumerate(zip(value[first.name], value[second.name], strict=False)):
            if not a.strip() and not b.strip():
                continue
            figures = (self.read(first, place, a), self.read(second, place, b))
            if figures[0] is not None and figures[1] is not None:
                if rows and figures[0] <= rows[-1][0]:
                    self.refuse(first, place, f"Must be above {last}: rpm must increase from row to row.")
                last = a.strip()
                rows.append([figures[0], figures[1]])
        self.raise_if_refused()
        if len(rows) < self.needed:
            raise ValidationError("A curve needs at least one point.", code="required")
        if len(rows) > MOST_ROWS:
            raise ValidationError(f"At most {MOST_ROWS} rows.", code="too_many")
        return rows

    def validate(self, value: Any) -> None:
        """`to_python` has seen to it."""

    def texts(self, value: list[list[float]]) -> list[tuple[str, ...]]:
        """The cells of a cleaned list of rows."""
        return [tuple(bare(figure) for figure in row) for row in value]

    def rows(self, value: Any, spare: int = 0) -> list[list[Cell]]:
        """The cells as they stand on the page: `value` is what was typed, or a cleaned list of rows."""
        if isinstance(value, dict):
            texts = list(zip(*(value[column.name] for column in self.columns), strict=False))
        else:
            texts = self.texts(value or [])
        texts += [("",) * len(self.columns)] * spare
        return [
            [
                Cell(
                    column.name,
                    text,
                    f"{column.label}, row {place + 1}",
                    self.cell_errors.get((column.name, place), ""),
                )
                for column, text in zip(self.columns, row, strict=True)
            ]
            for place, row in enumerate(texts)
        ]


class MeasuredCells(InAUnit, CellsField):
    """Beside a table of cells: one column is a pressure, in the unit that the page carries. It cleans to kPa."""

    measured: str  # the name of that column, whose bounds are in kPa
    carried_as: str

    def __init__(self, columns: Sequence[Column], *, carried_as: str, **kwargs: Any) -> None:
        self.unit, self.carried_as = self.quantity.canonical, carried_as
        super().__init__(columns, **kwargs)

    def get_bound_field(self, form: forms.BaseForm, field_name: str) -> BoundField:
        self.take_unit_of(form, field_name)
        return super().get_bound_field(form, field_name)

    def read(self, column: Column, place: int, text: str) -> float | None:
        if column.name != self.measured:
            return super().read(column, place, text)
        if self.unit_is_missing:
            self.refuse(column, place, NO_UNIT)
            return None
        try:
            kpa = self.quantity.canonical_of(figure(text), self.unit)
        except (NotAFigureError, TimingError) as problem:
            self.refuse(column, place, str(problem))
            return None
        if not column.low <= kpa <= column.high:
            places = self.quantity.decimals_in(self.unit, 0)
            low = self.quantity.lowest_text(column.low, self.unit, places)
            high = self.quantity.highest_text(column.high, self.unit, places)
            self.refuse(column, place, f"Must be between {low} and {high} {self.unit}.")
            return None
        return kpa

    def shown(self, kpa: float) -> str:
        return bare(round(self.quantity.in_unit(kpa, self.unit), 4))


class BoostField(MeasuredCells, RowsField):
    """Retard over boost: rows of boost and degrees. Cleans to kPa."""

    quantity, measured = PRESSURE, "boost_at"

    def __init__(self, **kwargs: Any) -> None:
        columns = (Column("boost_at", "boost", "kPa", 0, 300), Column("boost_deg", "retard", "degrees", 0, 40))
        super().__init__(columns, **kwargs)

    def texts(self, value: list[list[float]]) -> list[tuple[str, ...]]:
        return [(self.shown(kpa), bare(degrees)) for kpa, degrees in value]


class VacuumTableField(MeasuredCells):
    """Advance over speed and vacuum. Cleans to {"rpm", "vacuum", "degrees"} in kPa."""

    quantity, measured = VACUUM, "table_vacuum"

    def __init__(self, **kwargs: Any) -> None:
        columns = (
            Column("table_rpm", "speed", "rpm", 0, 15000),
            Column("table_vacuum", "vacuum", "kPa", -250, 100),
            Column("table_deg", "degrees", "degrees", -40, 40),
        )
        super().__init__(columns, required=False, **kwargs)

    def to_python(self, value: dict[str, list[str]]) -> dict[str, list[Any]]:  # type: ignore[override]
        speed, vacuum, degrees = self.columns
        speeds = [self.read(speed, place, text) for place, text in enumerate(value[speed.name])]
        vacua = [self.read(vacuum, place, text) for place, text in enumerate(value[vacuum.name])]
        cells = [self.read(degrees, place, text) for place, text in enumerate(value[degrees.name])]
        self._refuse_falling(speed, speeds)
        self._refuse_falling(vacuum, vacua)
        self.raise_if_refused()
        if not cells:
            return {}
        if len(cells) != len(speeds) * len(vacua):
            raise ValidationError("The vacuum table arrived incomplete. Reload the page.", code="cells")
        width = len(speeds)
        return {
            "rpm": speeds,
            "vacuum": vacua,
            "degrees": [cells[row * width : (row + 1) * width] for row in range(len(vacua))],
        }

    def validate(self, value: Any) -> None:
        """`to_python` has seen to it."""

    def _refuse_falling(self, column: Column, values: list[float | None]) -> None:
        for place in range(1, len(values)):
            before, here = values[place - 1], values[place]
            if before is not None and here is not None and here <= before:
                self.refuse(column, place, "Must be above the last.")

    def head_cells(self, value: Any) -> list[Cell]:
        return self._cells(0, self._texts(value, "table_rpm"))

    def body_rows(self, value: Any) -> list[tuple[Cell, list[Cell]]]:
        """Each row of the table: the cell of its vacuum, and its cells of degrees."""
        width = len(self._texts(value, "table_rpm"))
        heads = self._cells(1, self._texts(value, "table_vacuum"))
        cells = self._cells(2, self._texts(value, "table_deg"))
        return [(head, cells[row * width : (row + 1) * width]) for row, head in enumerate(heads)]

    def _texts(self, value: Any, name: str) -> list[str]:
        if not value:
            return []
        if name in value:
            return list(value[name])
        if name == "table_rpm":
            return [bare(rpm) for rpm in value["rpm"]]
        if name == "table_vacuum":
            return [self.shown(kpa) for kpa in value["vacuum"]]
        return [bare(cell) for row in value["degrees"] for cell in row]

    def _cells(self, which: int, texts: list[str]) -> list[Cell]:
        column = self.columns[which]
        return [
            Cell(column.name, text, f"{column.label} {place + 1}", self.cell_errors.get((column.name, place), ""))
            for place, text in enumerate(texts)
        ]
