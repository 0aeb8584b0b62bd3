"""What several cars have in common, on any graph paper: the band of their quarters and the line of their middle."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

from timing import inputs
from timing.charts import styles
from timing.charts.errors import ChartError
from timing.charts.marks import degrees
from timing.charts.page import Plot
from timing.charts.palette import Palette
from timing.charts.points import listed, triples
from timing.charts.scale import Point, figure_text, path
from timing.charts.styles import Layer, Style

Quarters: TypeAlias = tuple[float, float, float, float]
Cars: TypeAlias = Iterable[Sequence[float]] | inputs.FloatArray


def quarters(rows: Cars) -> tuple[Quarters, ...]:
    """`rows` of the band of several cars, checked. [units of the axes]

    Parameters
    ----------
    rows : sequence of (place, quarter, middle, three quarters)
        Rising in place, and within each row.

    Returns
    -------
    tuple of (float, float, float, float)
        Empty for none.

    Raises
    ------
    TimingError
        If they are no such rows.
    """
    what = "the band of the cars"
    figures = inputs.finite(listed(rows, what), what)
    if figures.size == 0:
        return ()
    if figures.ndim != 2 or figures.shape[1] != 4:
        raise ChartError(f"{what} must be rows of a place, a quarter, a middle and three quarters")
    triples(figures[:, [0, 1, 2]], what)
    triples(figures[:, [0, 2, 3]], what)
    return tuple((float(x), float(low), float(middle), float(high)) for x, low, middle, high in figures)


def middle_of(rows: Sequence[Quarters]) -> tuple[Point, ...]:
    """The line of the middle.

    Parameters
    ----------
    rows : sequence of (place, quarter, middle, three quarters)
        As `quarters` gives them.

    Returns
    -------
    tuple of (float, float)
        In the units of the axes.
    """
    return tuple((x, middle) for x, _, middle, _ in rows)


def ends_of(rows: Sequence[Quarters]) -> list[Point]:
    """Everything of the band that has to be on the paper.

    Parameters
    ----------
    rows : sequence of (place, quarter, middle, three quarters)
        As `quarters` gives them.

    Returns
    -------
    list of (float, float)
        In the units of the axes.
    """
    return [point for x, low, _, high in rows for point in ((x, low), (x, high))]


def cars_area(rows: Sequence[Quarters], plot: Plot, palette: Palette) -> list[Layer]:
    """The pale inside of the band, for beneath the graduations.

    Parameters
    ----------
    rows : sequence of (place, quarter, middle, three quarters)
        As `quarters` gives them.
    plot : Plot
        Where they lie.
    palette : Palette
        Colours.

    Returns
    -------
    list of Layer
        Empty where there are no cars.
    """
    if not rows:
        return []
    low, high = _edges(rows, plot)
    return [Layer("cars", styles.area(styles.cars(palette)), path([*low, *reversed(high)], closed=True))]


def cars_lines(rows: Sequence[Quarters], plot: Plot, palette: Palette) -> list[Layer]:
    """The edges of the band and the line of the middle; no further than there are cars enough.

    Parameters
    ----------
    rows : sequence of (place, quarter, middle, three quarters)
        As `quarters` gives them.
    plot : Plot
        Where they lie.
    palette : Palette
        Colours.

    Returns
    -------
    list of Layer
        Empty where there are no cars.
    """
    if not rows:
        return []
    low, high = _edges(rows, plot)
    return [
        Layer("cars-edge", styles.edge(styles.cars(palette)), path(low) + path(high)),
        Layer("cars-middle", styles.middle_of_cars(palette), path([plot.at(*point) for point in middle_of(rows)])),
    ]


def cars_key(rows: Sequence[Quarters], name: str, palette: Palette) -> list[tuple[Style, str, str]]:
    """What the key tells of the band.

    Parameters
    ----------
    rows : sequence of (place, quarter, middle, three quarters)
        As `quarters` gives them.
    name : str
        Which cars they are, such as '11 like this one'.
    palette : Palette
        Colours.

    Returns
    -------
    list of (Style, sample, text)
        Empty where there are no cars.
    """
    if not rows:
        return []
    return [(styles.cars(palette), "band", f"{name}: middle half"), (styles.middle_of_cars(palette), "line", "median")]


def cars_in_words(rows: Sequence[Quarters], name: str, unit: str) -> str:
    """The band as a sentence, for those who cannot see it.

    Parameters
    ----------
    rows : sequence of (place, quarter, middle, three quarters)
        As `quarters` gives them.
    name : str
        Which cars they are.
    unit : str
        Of the places, such as 'rpm'.

    Returns
    -------
    str
        Empty where there are no cars.
    """
    if not rows:
        return ""
    told = ", ".join(
        f"{degrees(middle)} at {figure_text(place)} (middle half {degrees(low)} to {degrees(high)})"
        for place, low, middle, high in rows
    )
    return f"{name[:1].upper()}{name[1:]}, median: {told} {unit}."


def _edges(rows: Sequence[Quarters], plot: Plot) -> tuple[list[Point], list[Point]]:
    return [plot.at(x, low) for x, low, _, _ in rows], [plot.at(x, high) for x, _, _, high in rows]
