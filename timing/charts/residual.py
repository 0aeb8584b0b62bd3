"""Strobe readings against the map: how late each was seen, the fitted line, and how sure that line is."""

from __future__ import annotations

import numpy as np

from timing import inputs
from timing.charts import marks, styles
from timing.charts.errors import ChartError
from timing.charts.findings import outline
from timing.charts.graph import Graph
from timing.charts.layout import WIDE, check_width, on_one_sheet, room_beside, sheet_plot
from timing.charts.marks import degrees
from timing.charts.page import CAPITAL, GAP, NARROW, Axis, Text, rpm_axis
from timing.charts.palette import PRINT, Palette
from timing.charts.points import Band, Rows, axis_ends, curve, pairs, triples
from timing.charts.scale import Point, outward, path
from timing.charts.styles import Layer, Style
from timing.strobe import StrobeFit


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
    read = pairs(readings, "the readings")
    aside = pairs(outliers, "the outliers")
    fitted = curve(line, "the fitted line")
    sure = triples(band, "the band of the fitted line")
    allowed = inputs.number(tolerance, "the tolerance", above=0, unit="degrees")
    if not read and not aside:
        raise ChartError("there is nothing to draw: no strobe reading yet")
    speeds = [rpm for rpm, _ in [*read, *aside, *fitted]] + [rpm for rpm, _, _ in sure]
    if min(speeds) < 0:
        raise ChartError(f"engine speed cannot be {min(speeds):g} rpm")
    heights = [late for _, late in [*read, *aside, *fitted]]
    heights += [end for _, low, high in sure for end in (low, high)]
    across = rpm_axis(*(axis_ends(rpm_limits, "the ends of the speed axis") or outward(0.0, max(speeds) + 200, 500.0)))
    up = _late_axis(min(*heights, -1.5 * allowed), max(*heights, 1.5 * allowed))
    height = round(width * (0.62 if width < NARROW else 0.4))
    plot = sheet_plot(across, up, width=width, plot_height=height, left=room_beside(up))

    left, right = plot.left, plot.right
    top, bottom = plot.up.at(allowed), plot.up.at(-allowed)
    oblong = path([(left, top), (right, top), (right, bottom), (left, bottom)], closed=True)
    under = [Layer("tolerance", styles.area(styles.tolerance(palette)), oblong, "tolerance")]
    sides = path([(left, top), (right, top)]) + path([(left, bottom), (right, bottom)])
    layers = [Layer("tolerance-edge", styles.edge(styles.tolerance(palette)), sides)]
    if sure:
        low_side = [plot.at(rpm, low) for rpm, low, _ in sure]
        high_side = [plot.at(rpm, high) for rpm, _, high in sure]
        style = styles.confidence(palette)
        around = path([*low_side, *reversed(high_side)], closed=True)
        under.append(Layer("confidence", styles.area(style), around, "likely range"))
        layers.append(Layer("confidence-edge", styles.edge(style), path(low_side) + path(high_side)))
    layers.append(Layer("nought", styles.nought(palette), path([plot.at(across.low, 0), plot.at(across.high, 0)])))
    if fitted:
        layers.append(Layer("fitted", styles.fitted(palette), path([plot.at(*point) for point in fitted]), "fitted"))
    if aside:
        places = [plot.at(*point) for point in aside]
        ringed = marks.upright_crosses(places, 4) + "".join(outline("note", x, y, 7.5) for x, y in places)
        layers.append(Layer("outlier", styles.set_aside(palette), ringed, "outlier"))
    if read:
        crosses = marks.upright_crosses([plot.at(*point) for point in read])
        layers.append(Layer("readings", styles.measured(palette), crosses, "reading"))

    key: list[tuple[Style, str, str]] = []
    if read:
        key.append((styles.measured(palette), "upright", "reading"))
    if aside:
        key.append((styles.set_aside(palette), "upright", "outlier"))
    if fitted:
        key.append((styles.fitted(palette), "line", "fitted line"))
    if sure:
        key.append((styles.confidence(palette), "band", "likely range"))
    key.append((styles.tolerance(palette), "band", f"within {degrees(allowed)}"))

    # At the left, where the engine would stand still, no reading can lie under them.
    ends = [
        Text(left + GAP, plot.top + GAP + CAPITAL, "late", "start", "chart-name", palette.ink),
        Text(left + GAP, plot.bottom - GAP, "early", "start", "chart-name", palette.ink),
    ]
    return on_one_sheet(
        uid=uid,
        kind="residual",
        title=title,
        description=_description(read, aside, fitted, sure, allowed, confidence),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=key,
        under=under,
        layers=layers,
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

    Parameters
    ----------
    fit : StrobeFit
        The fitted session.
    set_aside : sequence of (rpm, residual)
        Readings that were left out of `fit`. [rpm, degrees of crank]
    uid, title, rpm_limits, width, palette
        As for `speed_chart`.

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


def _late_axis(low: float, high: float) -> Axis:
    """Degrees late: fine graduations of a tenth while there is room, figures at whole or half degrees."""
    span = high - low
    strong = 0.5 if span <= 6 else 1.0 if span <= 14 else 5.0
    down, up = outward(low - 0.1 * strong, high + 0.1 * strong, strong)
    name = "map minus reading, degrees"
    return Axis(down, up, name, strong / 5, strong, (strong, 2 * strong, 4 * strong), "°", 1)


def _description(
    read: tuple[tuple[float, float], ...],
    aside: tuple[tuple[float, float], ...],
    fitted: tuple[tuple[float, float], ...],
    sure: tuple[tuple[float, float, float], ...],
    allowed: float,
    confidence: str,
) -> str:
    def spoken(rpm: float, late: float) -> str:
        return f"{degrees(abs(late))} {'late' if late > 0 else 'early' if late < 0 else 'off'} at {rpm:.0f}"

    sentences = []
    if read:
        sentences.append("Read: " + ", ".join(spoken(*point) for point in sorted(read)) + " rpm.")
    if aside:
        sentences.append("Outlier: " + ", ".join(spoken(*point) for point in sorted(aside)) + " rpm.")
    if fitted:
        sentences.append(f"Fitted line: {spoken(*fitted[0])}, {spoken(*fitted[-1])} rpm.")
    if sure:
        widest = max(high - low for _, low, high in sure) / 2
        sentences.append(f"Likely range of the line ({confidence}): ±{degrees(widest)} or better.")
    sentences.append(f"Tolerance {degrees(allowed)} either way.")
    return " ".join(sentences)
