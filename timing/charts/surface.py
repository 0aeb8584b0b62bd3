"""Total advance over engine speed and manifold vacuum: one hue by lightness, the degrees in each cell, contours."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from timing import inputs
from timing.charts import styles
from timing.charts.contour import contour
from timing.charts.errors import ChartError
from timing.charts.layout import WIDE, check_width
from timing.charts.marks import degrees
from timing.charts.page import (
    ASIDE,
    CENTRED,
    GAP,
    HEAD,
    INSET,
    LETTER,
    LINE,
    MARGIN,
    Text,
    width_of,
)
from timing.charts.palette import PRINT, Palette
from timing.charts.points import axis_ends
from timing.charts.scale import Point, figure_text, outward, path
from timing.charts.styles import Layer
from timing.charts.surface_drawing import Cell, SurfaceChart
from timing.charts.surface_points import Cells, SurfacePoint, place_points
from timing.charts.svg import uid_for
from timing.charts.text import opening
from timing.inputs import FloatArray


def surface_chart(
    *,
    rpm: ArrayLike,
    vacuum: ArrayLike,
    advance: ArrayLike,
    uid: str | None = None,
    title: str = "Total advance over engine speed and vacuum",
    points: Iterable[SurfacePoint] = (),
    says: Sequence[Sequence[str]] | None = None,
    links: Sequence[Sequence[str]] | None = None,
    visits: ArrayLike | None = None,
    selected: tuple[int, int] | None = None,
    limits: tuple[float, float] | None = None,
    contour_step: float = 5.0,
    pressure_unit: str = "kPa",
    width: float = WIDE,
    palette: Palette = PRINT,
) -> SurfaceChart:
    """The surface as a table: speed across, vacuum up, a cell to every crossing of the nodes.

    Cells are of one size whatever the distance between nodes, so that every figure can be read; contours and named
    points are placed between the nodes accordingly.

    Parameters
    ----------
    rpm, vacuum : sequence of float, lengths m and n
        Rising nodes; negative vacuum is boost. [rpm], [`pressure_unit`]
    advance : array, shape (n, m)
        Degrees at every crossing; rows are vacuum, as `TotalAdvance.table` gives them. [degrees BTDC]
    uid : str, optional
        Unique on the page; becomes part of ids. Derived from the drawing where it is left out.
    title : str
        What it is.
    points : sequence of SurfacePoint
        Idle, cruise, full load; outside the nodes they are shown at the edge.
    says : n rows of m strings, optional
        What a cursor on the cell tells, such as '8 + 12 + 6 = 26'; by default the figure with its speed and vacuum.
    links : n rows of m strings, optional
        Where more is said of each cell: an address that a script may lead to.
    visits : array, shape (n, m), optional
        Share of time spent in each cell, drawn as a bar along its foot. [any unit, 0 or more]
    selected : (row, column), optional
        The cell under the cursor.
    limits : (low, high), optional
        Degrees of the palest and of the darkest shade; by default round figures around all of them.
    contour_step : float
        Distance of the contour lines. [degrees]
    pressure_unit : str
        The unit of `vacuum`, printed beside it.
    width : float
        Width of the drawing. [units of the drawing]
    palette : Palette
        Colours of print, which a screen overrides by class.

    Returns
    -------
    SurfaceChart
        The drawing.

    Raises
    ------
    TimingError
        If the shapes do not go together, nodes do not rise, or a figure is not finite.
    """
    table = _lay_out(rpm, vacuum, advance, width)
    step = inputs.number(contour_step, "the distance of the contour lines", above=0.0, unit="degrees")
    named = tuple(points)
    pale, dark = axis_ends(limits, "the shades") or outward(float(table.degrees.min()), float(table.degrees.max()), 5.0)
    if not pale < dark:
        raise ChartError(f"shades run upwards: {pale:g} is not below {dark:g} degrees")
    decimals = 1 if table.cell_width >= 34 else 0
    size = LETTER if table.cell_width >= 30 else 10.5
    cells = _cells(table, decimals, size, (pale, dark), says, links, visits, selected, pressure_unit, palette)
    texts = _along_the_edges(table, pressure_unit, step, palette)
    description = _description(table, named, pressure_unit)
    return SurfaceChart(
        uid_for(uid, "surface", title, description, width, named),
        title,
        description,
        width,
        round(table.bottom + 2 * LINE + GAP, 2),
        round(table.cell_width, 2),
        round(table.cell_height, 2),
        cells,
        _contours(table, step, palette),
        place_points(table, named),
        texts,
        size,
        palette,
    )


def _lay_out(rpm: ArrayLike, vacuum: ArrayLike, advance: ArrayLike, width: float) -> Cells:
    speeds = inputs.within(rpm, "engine speed", low=0.0, unit="rpm")
    vacua = inputs.finite(vacuum, "vacuum")
    figures = inputs.finite(advance, "the advance")
    for nodes, what in ((speeds, "speed"), (vacua, "vacuum")):
        if nodes.ndim != 1 or len(nodes) < 2 or not (np.diff(nodes) > 0).all():
            raise ChartError(f"a surface needs two or more rising nodes of {what}")
    if figures.shape != (len(vacua), len(speeds)):
        raise ChartError(
            f"the advance has the shape {figures.shape}, but there are {len(vacua)} nodes of vacuum "
            f"and {len(speeds)} of speed"
        )
    check_width(width)
    left = round(max(width_of(_vacuum_text(node)) for node in vacua) + ASIDE + GAP, 2)
    cell_width = (width - left - MARGIN) / len(speeds)
    cell_height = min(max(cell_width * 0.66, 26.0), 40.0)
    rises, goes = tuple(map(float, speeds)), tuple(map(float, vacua))
    return Cells(rises, goes, figures, left, LETTER + HEAD, cell_width, cell_height)


def _vacuum_text(vacuum: float) -> str:
    return f"boost {figure_text(-vacuum)}" if vacuum < 0 else figure_text(vacuum)


def _cells(
    table: Cells,
    decimals: int,
    size: float,
    limits: tuple[float, float],
    says: Sequence[Sequence[str]] | None,
    links: Sequence[Sequence[str]] | None,
    visits: ArrayLike | None,
    selected: tuple[int, int] | None,
    unit: str,
    palette: Palette,
) -> tuple[Cell, ...]:
    levels = len(palette.shades)
    share = _visit_shares(table, visits)
    cells = []
    for row, vacuum in enumerate(table.vacuum):
        for column, rpm in enumerate(table.rpm):
            value = float(table.degrees[row, column])
            part = (value - limits[0]) / (limits[1] - limits[0])
            level = min(max(math.floor(part * levels), 0), levels - 1)
            x, y = table.centre(column, row)
            told = f"{degrees(value)} at {rpm:.0f} rpm, {_vacuum_text(vacuum)} {unit}"
            cells.append(
                Cell(
                    row,
                    column,
                    round(x - table.cell_width / 2, 2),
                    round(y - table.cell_height / 2, 2),
                    round(x, 2),
                    round(y + size * 0.36, 2),
                    figure_text(value, decimals),
                    level,
                    palette.shades[level],
                    palette.on_shades[level],
                    told if says is None else f"{told}: {says[row][column]}",
                    round(table.cell_width * float(share[row, column]), 2),
                    round(y + table.cell_height / 2 - 4.5, 2),
                    selected == (row, column),
                    links[row][column] if links is not None else "",
                )
            )
    return tuple(cells)


def _visit_shares(table: Cells, visits: ArrayLike | None) -> FloatArray:
    if visits is None:
        return np.zeros(table.degrees.shape)
    spent = inputs.within(visits, "the time spent in a cell", low=0.0)
    if spent.shape != table.degrees.shape:
        raise ChartError(f"the time spent has the shape {spent.shape}, the surface {table.degrees.shape}")
    most = float(spent.max())
    return spent / most if most > 0 else spent


def _contours(table: Cells, step: float, palette: Palette) -> tuple[Layer, ...]:
    # Held half a cell beyond the outer nodes, so that the lines reach the edge of the drawing.
    padded = np.pad(table.degrees, 1, mode="edge")
    lowest = math.floor(float(padded.min()) / step) + 1
    highest = math.floor(float(padded.max()) / step)
    layers = []
    for index in range(lowest, highest + 1):
        level = index * step
        lines = contour(padded, level)
        d = "".join(path([_inside(table, *point) for point in line]) for line in lines)
        if d:
            layers.append(Layer("contour-halo", styles.contour_halo(palette), d))
            layers.append(Layer(f"contour-{level:g}", styles.contour(palette), d, f"{level:g}°"))
    return tuple(layers)


def _inside(table: Cells, column: float, row: float) -> Point:
    """Place of a point of the padded table, the padding shrunk to the half cell that there is."""
    across = min(max(column - 1, -0.5), len(table.rpm) - 0.5)
    up = min(max(row - 1, -0.5), len(table.vacuum) - 0.5)
    return table.centre(across, up)


def _along_the_edges(table: Cells, unit: str, step: float, palette: Palette) -> tuple[Text, ...]:
    every = math.ceil(max(width_of(f"{rpm:.0f}") + GAP for rpm in table.rpm) / table.cell_width)
    line = table.bottom + LINE
    texts = []
    for column, rpm in enumerate(table.rpm):
        if column % every == 0:
            x, _ = table.centre(column, 0)
            texts.append(Text(round(x, 2), round(line, 2), f"{rpm:.0f}", fill=palette.pencil))
    for row, vacuum in enumerate(table.vacuum):
        _, y = table.centre(0, row)
        label = _vacuum_text(vacuum)
        texts.append(Text(round(table.left - ASIDE, 2), round(y + CENTRED, 2), label, "end", fill=palette.pencil))
    foot = round(line + LINE, 2)
    texts.append(Text(INSET, LETTER, f"manifold vacuum, {unit}", "start", "chart-name", palette.ink))
    texts.append(Text(round(table.right, 2), foot, "crank rpm", "end", "chart-name", palette.ink))
    lines = f"lines every {figure_text(step)}°"
    texts.append(Text(round(table.left, 2), foot, lines, "start", "chart-figure", palette.pencil))
    return tuple(texts)


def _description(table: Cells, named: Sequence[SurfacePoint], unit: str) -> str:
    lowest, highest = float(table.degrees.min()), float(table.degrees.max())
    sentences = [
        f"{degrees(lowest)} to {degrees(highest)} before top dead centre, "
        f"from {table.rpm[0]:.0f} to {table.rpm[-1]:.0f} rpm and from {_vacuum_text(table.vacuum[0])} "
        f"to {_vacuum_text(table.vacuum[-1])} {unit}."
    ]
    for row, vacuum in enumerate(table.vacuum):
        figures = ", ".join(degrees(float(value)) for value in table.degrees[row])
        sentences.append(f"At {_vacuum_text(vacuum)} {unit}: {figures}.")
    sentences += [
        f"{opening(point.name)}: {point.rpm:.0f} rpm, {_vacuum_text(point.vacuum)} {unit}." for point in named
    ]
    return " ".join(sentences)
