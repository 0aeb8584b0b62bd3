"""How each layer of a speed chart is drawn, what the key calls it, and the chart in sentences."""

from __future__ import annotations

from collections.abc import Sequence

from timing.charts import marks, styles
from timing.charts.cars import cars_in_words, cars_key
from timing.charts.findings import FindingMark
from timing.charts.marks import degrees
from timing.charts.page import Plot
from timing.charts.palette import Palette
from timing.charts.points import Triple, extended, value_at
from timing.charts.scale import Point, path
from timing.charts.speed_figures import Given, mean_line
from timing.charts.styles import Layer, Style
from timing.charts.text import TARGET, opening


def polyline(points: Sequence[Point], plot: Plot) -> str:
    """The straight lines between points.

    Parameters
    ----------
    points : sequence of (rpm, degrees)
        The points.
    plot : Plot
        Where they lie.

    Returns
    -------
    str
        Path data.
    """
    return path([plot.at(*point) for point in points])


def edge_to_edge(points: Sequence[Point], plot: Plot) -> list[Point]:
    """The corners of a curve that is held beyond its ends. [units of the drawing]

    Parameters
    ----------
    points : sequence of (rpm, degrees)
        At least one, rising.
    plot : Plot
        Where they lie.

    Returns
    -------
    list of (x, y)
        [units of the drawing]
    """
    return [plot.at(*point) for point in extended(points, low=plot.across.low, high=plot.across.high)]


def extended_line(points: Sequence[Point], plot: Plot) -> str:
    """A curve with its ends held out to the edges.

    Parameters
    ----------
    points : sequence of (rpm, degrees)
        At least one, rising.
    plot : Plot
        Where they lie.

    Returns
    -------
    str
        Path data.
    """
    return path(edge_to_edge(points, plot))


def band_area(given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    """The pale inside of the factory band.

    Parameters
    ----------
    given : Given
        The checked figures of the chart.
    plot : Plot
        Where the layers lie.
    palette : Palette
        Colours.

    Returns
    -------
    list of Layer
        Empty where nothing of the kind is given.
    """
    if not given.band:
        return []
    low, high = _band_edges(given, plot)
    d = path([*low, *reversed(high)], closed=True)
    return [Layer("band", styles.area(styles.band(palette)), d)]


def band_outline(given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    """The edges of the factory band.

    Parameters
    ----------
    given : Given
        The checked figures of the chart.
    plot : Plot
        Where the layers lie.
    palette : Palette
        Colours.

    Returns
    -------
    list of Layer
        Empty where nothing of the kind is given.
    """
    if not given.band:
        return []
    low, high = _band_edges(given, plot)
    return [Layer("band-edge", styles.edge(styles.band(palette)), path(low) + path(high))]


def _band_edges(given: Given, plot: Plot) -> tuple[list[Point], list[Point]]:
    low = edge_to_edge([(rpm, low) for rpm, low, _ in given.band], plot)
    high = edge_to_edge([(rpm, high) for rpm, _, high in given.band], plot)
    return low, high


def crosses(given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    """The signs of everything that was read or noted, and the lines through the readings.

    Parameters
    ----------
    given : Given
        The checked figures of the chart.
    plot : Plot
        Where the layers lie.
    palette : Palette
        Colours.

    Returns
    -------
    list of Layer
        Empty where nothing of the kind is given.
    """

    def places(points: Sequence[Point]) -> list[Point]:
        return [plot.at(*point) for point in points]

    layers = []
    if given.rising:
        line = polyline(mean_line(given.rising), plot)
        layers.append(Layer("as-found-line", styles.as_found_line(palette), line))
        layers.append(Layer("as-found", styles.as_found(palette), marks.diagonal_crosses(places(given.rising))))
    if given.falling:
        line = polyline(mean_line(given.falling), plot)
        layers.append(Layer("falling-line", styles.falling_line(palette), line))
        layers.append(Layer("falling", styles.falling(palette), marks.upright_crosses(places(given.falling), 4.5)))
    if given.readings:
        layers.append(Layer("readings", styles.reading(palette), marks.upright_crosses(places(given.readings))))
    if given.road_notes:
        layers.append(Layer("road-notes", styles.road_note(palette), marks.diamonds(places(given.road_notes))))
    return layers


def reaches(findings: Sequence[FindingMark], given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    """The stretch of the curve each finding speaks of, drawn broad and pale beneath it.

    Parameters
    ----------
    findings : sequence of FindingMark
        What is marked.
    given : Given
        The checked figures of the chart.
    plot : Plot
        Where the layers lie.
    palette : Palette
        Colours.

    Returns
    -------
    list of Layer
        One for each that speaks of more than one speed.
    """
    points = given.curve_to_speak_of()
    layers = []
    for finding in findings:
        low = min(max(finding.low_rpm, plot.across.low), plot.across.high)
        high = min(max(finding.high_rpm, plot.across.low), plot.across.high)
        if high <= low:
            continue
        stretch = [(low, value_at(points, low))]
        stretch += [point for point in points if low < point[0] < high]
        stretch.append((high, value_at(points, high)))
        layers.append(Layer(f"reach-{finding.letter}", styles.reach(palette, finding.kind), polyline(stretch, plot)))
    return layers


def key_of(given: Given, palette: Palette) -> list[tuple[Style, str, str]]:
    """What the key tells.

    Parameters
    ----------
    given : Given
        The checked figures of the chart.
    palette : Palette
        Colours.

    Returns
    -------
    list of (Style, sample, text)
        As `place_key` takes them.
    """
    entries: list[tuple[Style, str, str]] = []
    if given.delivered:
        entries.append((styles.delivered(palette), "line", given.delivered_name))
    if given.target:
        entries.append((styles.target(palette), "line", TARGET))
    entries += [
        (styles.earlier(palette, which), "line", name) for which, (name, points) in enumerate(given.earlier) if points
    ]
    if given.band:
        entries.append((styles.band(palette), "band", "factory band"))
    if given.band and not given.curves():
        entries.append((styles.target(palette), "line", "its middle"))
    entries += cars_key(given.cars, given.cars_name, palette)
    if given.rising:
        entries.append((styles.as_found(palette), "diagonal", "as found, rising" if given.falling else "as found"))
    if given.falling:
        entries.append((styles.falling(palette), "upright", "as found, falling"))
    if given.readings:
        entries.append((styles.reading(palette), "upright", "strobe"))
    if given.road_notes:
        entries.append((styles.road_note(palette), "diamond", "road notes"))
    return entries


def description_of(given: Given, findings: Sequence[FindingMark], worst: Triple | None = None) -> str:
    """Everything the chart shows, in sentences.

    Parameters
    ----------
    given : Given
        The checked figures of the chart.
    findings : sequence of FindingMark
        What is marked.
    worst : (rpm, target, delivered), optional
        Where the two curves are furthest apart.

    Returns
    -------
    str
        For those who cannot see it.
    """
    spoken: list[tuple[str, Sequence[Point]]] = [
        (opening(given.delivered_name), given.delivered),
        (opening(TARGET), given.target),
    ]
    spoken += [(f"{name[:1].upper()}{name[1:]}", points) for name, points in given.earlier]
    sentences = [f"{name}: {_list(points)}." for name, points in spoken if points]
    if worst is not None:
        rpm, target, delivered = worst
        sentences.append(f"Largest deviation {degrees(abs(target - delivered))} at {rpm:.0f} rpm.")
    if given.band:
        rows = ", ".join(f"{degrees(low)} to {degrees(high)} at {rpm:.0f}" for rpm, low, high in given.band)
        sentences.append(f"Factory band: {rows} rpm.")
    if given.cars:
        sentences.append(cars_in_words(given.cars, given.cars_name, "rpm"))
    readings = (
        ("As found", given.rising),
        ("As found, falling", given.falling),
        ("Strobe", given.readings),
        ("Road notes", given.road_notes),
    )
    sentences += [f"{name}: {_list(mean_line(points))}." for name, points in readings if points]
    if given.rules:
        sentences.append(opening(", ".join(rule.label for rule in given.rules)) + " rpm.")
    sentences += [f"{one.letter}, {one.kind}: {one.sentence}" for one in findings if one.sentence]
    return " ".join(sentences)


def _list(points: Sequence[Point]) -> str:
    return ", ".join(f"{degrees(height)} at {rpm:.0f}" for rpm, height in points) + " rpm"
