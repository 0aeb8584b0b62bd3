"""Strobe readings against the map: how late each was seen, the fitted line, and how sure that line is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from timing import inputs
from timing.charts import marks, styles
from timing.charts.errors import ChartError
from timing.charts.findings import outline
from timing.charts.graph import Graph
from timing.charts.layout import WIDE, check_width, on_one_sheet, room_beside, sheet_plot
from timing.charts.marks import degrees
from timing.charts.page import CAPITAL, GAP, NARROW, Axis, Plot, Text, rpm_axis
from timing.charts.palette import PRINT, Palette
from timing.charts.points import Band, Rows, Triple, axis_ends, curve, pairs, triples
from timing.charts.scale import Point, outward, path
from timing.charts.styles import Layer, Style
from timing.strobe import StrobeFit


@dataclass(frozen=True, slots=True)
class _Given:
    """What is to be drawn: points of speed and residual, and the tolerance. [rpm, degrees of crank]"""

    read: tuple[Point, ...]
    aside: tuple[Point, ...]
    fitted: tuple[Point, ...]
    sure: tuple[Triple, ...]
    allowed: float

    @property
    def points(self) -> list[Point]:
        return [*self.read, *self.aside, *self.fitted]


def residual_chart(
    readings: Rows,
    *,
    uid: str | None = None,
    title: str = "Strobe readings against the map",
    line: Rows = (),
    band: Band = (),
    tolerance: float = 1.0,
    outliers: Rows = (),
    confidence: str = "95 %",
    rpm_limits: tuple[float, float] | None = None,
    width: float = WIDE,
    palette: Palette = PRINT,
) -> Graph:
    """Residuals over engine speed; a residual is the map minus the reading, so positive is late.

    Parameters
    ----------
    readings : sequence of (rpm, residual)
        What was read, in any order. [rpm, degrees of crank]
    uid, title, rpm_limits, width, palette
        As `speed_chart`.
    line : sequence of (rpm, residual)
        The fitted line, over the speeds it holds for; two points are enough. [rpm, degrees of crank]
    band : sequence of (rpm, lowest, highest)
        The likely range of the mean. [rpm, degrees of crank]
    tolerance : float
        Half width of the tolerance. [degrees of crank]
    outliers : sequence of (rpm, residual)
        Readings that the others contradict, drawn in pencil with a ring. [rpm, degrees of crank]
    confidence : str
        How often the likely range holds the mean, as it is printed.

    Returns
    -------
    Graph
        The drawing.

    Raises
    ------
    TimingError
        If there is no reading, a figure is not finite, or the tolerance is not above 0.
    """
    check_width(width)
    given = _Given(
        read=pairs(readings, "the readings"),
        aside=pairs(outliers, "the outliers"),
        fitted=curve(line, "the fitted line"),
        sure=triples(band, "the band of the fitted line"),
        allowed=inputs.number(tolerance, "the tolerance", above=0, unit="degrees"),
    )
    if not given.read and not given.aside:
        raise ChartError("there is nothing to draw: no strobe reading yet")
    across, up = _axes(given, axis_ends(rpm_limits, "the ends of the speed axis"))
    height = round(width * (0.62 if width < NARROW else 0.4))
    plot = sheet_plot(across, up, width=width, plot_height=height, left=room_beside(up))
    under, layers = _ranges(given, plot, palette)
    # At the left, where the engine would stand still, no reading can lie under them.
    ends = [
        Text(plot.left + GAP, plot.top + GAP + CAPITAL, "late", "start", "chart-name", palette.ink),
        Text(plot.left + GAP, plot.bottom - GAP, "early", "start", "chart-name", palette.ink),
    ]
    return on_one_sheet(
        uid=uid,
        kind="residual",
        title=title,
        description=_description(given, confidence),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=_key(given, palette),
        under=under,
        layers=[*layers, *_lines(given, plot, palette)],
        texts=ends,
    )


def residual_chart_of(
    fit: StrobeFit,
    *,
    uid: str | None = None,
    title: str = "Strobe readings against the map",
    rpm_limits: tuple[float, float] | None = None,
    width: float = WIDE,
    palette: Palette = PRINT,
) -> Graph:
    """Draw a strobe session: its readings, its line over the speeds read, its likely range, its tolerance.

    A session too short for a line, or read at one speed only, shows its readings alone. A reading that the others
    contradict is ringed; the line counts it.

    Parameters
    ----------
    fit : StrobeFit
        The session.
    uid, title, rpm_limits, width, palette
        As `residual_chart`.

    Returns
    -------
    Graph
        The drawing.

    Raises
    ------
    TimingError
        As `residual_chart`.
    """
    line: list[Point] = []
    band: list[tuple[float, float, float]] = []
    if fit.line is not None:
        speeds = np.linspace(min(fit.rpm), max(fit.rpm), 33)
        mean = fit.mean_at(speeds)
        parts = (np.atleast_1d(part) for part in (mean.mean_deg, mean.low_deg, mean.high_deg))
        for rpm, middle, low, high in zip(speeds, *parts, strict=True):
            line.append((float(rpm), float(middle)))
            band.append((float(rpm), float(low), float(high)))
    readings = list(zip(fit.rpm, fit.residuals, strict=True))
    outlier = fit.outlier
    ringed = [] if outlier is None else [readings.pop(outlier.place)]
    return residual_chart(
        readings,
        uid=uid,
        title=title,
        line=line,
        band=band,
        tolerance=fit.tolerance,
        outliers=ringed,
        confidence=f"{100 * fit.limits.confidence:g} %",
        rpm_limits=rpm_limits,
        width=width,
        palette=palette,
    )


def _axes(given: _Given, limits: tuple[float, float] | None) -> tuple[Axis, Axis]:
    speeds = [rpm for rpm, _ in given.points] + [rpm for rpm, _, _ in given.sure]
    if min(speeds) < 0:
        raise ChartError(f"engine speed cannot be {min(speeds):g} rpm")
    heights = [late for _, late in given.points]
    heights += [end for _, low, high in given.sure for end in (low, high)]
    across = rpm_axis(*(limits or outward(0.0, max(speeds) + 200, 500.0)))
    return across, _late_axis(min(*heights, -1.5 * given.allowed), max(*heights, 1.5 * given.allowed))


def _late_axis(low: float, high: float) -> Axis:
    """Degrees late: fine graduations of a tenth while there is room, figures at whole or half degrees."""
    span = high - low
    strong = 0.5 if span <= 6 else 1.0 if span <= 14 else 5.0
    down, up = outward(low - 0.1 * strong, high + 0.1 * strong, strong)
    name = "map minus reading, degrees"
    return Axis(down, up, name, strong / 5, strong, (strong, 2 * strong, 4 * strong), "°", 1)


def _ranges(given: _Given, plot: Plot, palette: Palette) -> tuple[list[Layer], list[Layer]]:
    """The tolerance and the likely range: their areas, and the edges that lie above those."""
    left, right = plot.left, plot.right
    top, bottom = plot.up.at(given.allowed), plot.up.at(-given.allowed)
    oblong = path([(left, top), (right, top), (right, bottom), (left, bottom)], closed=True)
    areas = [Layer("tolerance", styles.area(styles.tolerance(palette)), oblong, "tolerance")]
    sides = path([(left, top), (right, top)]) + path([(left, bottom), (right, bottom)])
    edges = [Layer("tolerance-edge", styles.edge(styles.tolerance(palette)), sides)]
    if given.sure:
        low_side = [plot.at(rpm, low) for rpm, low, _ in given.sure]
        high_side = [plot.at(rpm, high) for rpm, _, high in given.sure]
        style = styles.confidence(palette)
        around = path([*low_side, *reversed(high_side)], closed=True)
        areas.append(Layer("confidence", styles.area(style), around, "likely range"))
        edges.append(Layer("confidence-edge", styles.edge(style), path(low_side) + path(high_side)))
    return areas, edges


def _lines(given: _Given, plot: Plot, palette: Palette) -> list[Layer]:
    """The line at nought, the fitted line, and the crosses of the readings."""
    nought = path([plot.at(plot.across.low, 0), plot.at(plot.across.high, 0)])
    layers = [Layer("nought", styles.nought(palette), nought)]
    if given.fitted:
        along = path([plot.at(*point) for point in given.fitted])
        layers.append(Layer("fitted", styles.fitted(palette), along, "fitted"))
    if given.aside:
        places = [plot.at(*point) for point in given.aside]
        ringed = marks.upright_crosses(places, 4) + "".join(outline("note", x, y, 7.5) for x, y in places)
        layers.append(Layer("outlier", styles.set_aside(palette), ringed, "outlier"))
    if given.read:
        crosses = marks.upright_crosses([plot.at(*point) for point in given.read])
        layers.append(Layer("readings", styles.measured(palette), crosses, "reading"))
    return layers


def _key(given: _Given, palette: Palette) -> list[tuple[Style, str, str]]:
    entries: list[tuple[Style, str, str]] = []
    if given.read:
        entries.append((styles.measured(palette), "upright", "reading"))
    if given.aside:
        entries.append((styles.set_aside(palette), "upright", "outlier"))
    if given.fitted:
        entries.append((styles.fitted(palette), "line", "fitted line"))
    if given.sure:
        entries.append((styles.confidence(palette), "band", "likely range"))
    entries.append((styles.tolerance(palette), "band", f"within {degrees(given.allowed)}"))
    return entries


def _description(given: _Given, confidence: str) -> str:
    def spoken(rpm: float, late: float) -> str:
        return f"{degrees(abs(late))} {'late' if late > 0 else 'early' if late < 0 else 'off'} at {rpm:.0f}"

    sentences = []
    if given.read:
        sentences.append("Read: " + ", ".join(spoken(*point) for point in sorted(given.read)) + " rpm.")
    if given.aside:
        sentences.append("Outlier: " + ", ".join(spoken(*point) for point in sorted(given.aside)) + " rpm.")
    if given.fitted:
        sentences.append(f"Fitted line: {spoken(*given.fitted[0])}, {spoken(*given.fitted[-1])} rpm.")
    if given.sure:
        widest = max(high - low for _, low, high in given.sure) / 2
        sentences.append(f"Likely range of the line ({confidence}): ±{degrees(widest)} or better.")
    sentences.append(f"Tolerance {degrees(given.allowed)} either way.")
    return " ".join(sentences)
