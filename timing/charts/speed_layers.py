"""What may lie on the paper of a speed chart, and how each layer of it is drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from timing.charts import marks, pens
from timing.charts.errors import ChartError
from timing.charts.graph import held, value_at
from timing.charts.marks import FindingMark, Rule, degrees
from timing.charts.palette import Palette
from timing.charts.paper import Axis, Plot, degrees_axis, rpm_axis
from timing.charts.pens import Layer, Pen
from timing.charts.scale import Point, outward, path
from timing.charts.words import opening
from timing.distributor import FactoryBand

Triple = tuple[float, float, float]

LEAST_DEGREES = 15.0  # [degrees] A flat curve on a tall scale would show its steps as cliffs.


@dataclass(frozen=True, slots=True)
class Given:
    """The checked figures of a speed chart, before anything has a place."""

    unit: tuple[Point, ...] = ()
    unit_name: str = ""
    wanted: tuple[Point, ...] = ()
    earlier: tuple[tuple[str, tuple[Point, ...]], ...] = ()
    band: tuple[Triple, ...] = ()
    rising: tuple[Point, ...] = ()
    falling: tuple[Point, ...] = ()
    readings: tuple[Point, ...] = ()
    road_notes: tuple[Point, ...] = ()
    rules: tuple[Rule, ...] = ()

    def points(self) -> list[Point]:
        """Every point that has to be on the paper."""
        found = [*self.unit, *self.wanted, *self.rising, *self.falling, *self.readings, *self.road_notes]
        for _, points in self.earlier:
            found += points
        for rpm, low, high in self.band:
            found += [(rpm, low), (rpm, high)]
        return found

    def curves(self) -> bool:
        """Whether there is any curve of a map, and not only the old distributor."""
        return bool(self.unit or self.wanted or self.earlier)

    def curve_to_speak_of(self) -> tuple[Point, ...]:
        """The curve on which findings are marked: the unit's, else the wanted one, else what there is."""
        for points in (
            self.unit,
            self.wanted,
            *(points for _, points in self.earlier),
            mean_line(self.rising),
            mean_line(self.falling),
        ):
            if points:
                return points
        return tuple((rpm, (low + high) / 2) for rpm, low, high in self.band) or ((0.0, 0.0),)


def band_rows(band: FactoryBand, base: float = 0.0) -> tuple[Triple, ...]:
    """The rows (rpm, lowest, highest) of a factory band, `base` added for sweeps counted from top dead centre."""
    speeds = sorted({*band.lower.rpm, *band.upper.rpm})
    return tuple(
        (float(rpm), base + float(band.lower.advance(rpm)), base + float(band.upper.advance(rpm))) for rpm in speeds
    )


def rules_at(idle: float | None, limit: float | None, red_line: float | None) -> tuple[Rule, ...]:
    named = (("idle", idle, "idle"), ("limit", limit, "rev limit"), ("red-line", red_line, "red line"))
    return tuple(Rule(kind, float(rpm), f"{words} {rpm:.0f}") for kind, rpm, words in named if rpm is not None)


def axes_for(
    given: Given,
    circles: Sequence[Point],
    rpm_limits: tuple[float, float] | None,
    degrees_limits: tuple[float, float] | None,
    degrees_name: str,
) -> tuple[Axis, Axis]:
    points = [*given.points(), *circles]
    if not points:
        raise ChartError("there is nothing to draw: no curve, no band and no reading")
    speeds = [rpm for rpm, _ in points] + [rule.across for rule in given.rules]
    if min(speeds) < 0:
        raise ChartError(f"engine speed cannot be {min(speeds):g} rpm")
    low_rpm, high_rpm = rpm_limits or _round_rpm(min(speeds), max(speeds))
    heights = [height for _, height in points]
    low_deg, high_deg = degrees_limits or _round_degrees(min(heights), max(heights))
    return rpm_axis(low_rpm, high_rpm), degrees_axis(low_deg, high_deg, degrees_name)


def _round_rpm(low: float, high: float) -> tuple[float, float]:
    """From standstill, unless all lies well above; and beyond the last figure, to keep it visible."""
    down, up = outward(low if low > 1500 else 0.0, high, 500.0)
    return (down, up + 500.0) if up - high < 100 else (down, up)


def _round_degrees(low: float, high: float) -> tuple[float, float]:
    """Nought is always on the paper, and there is room above the highest point for a mark and a finger."""
    down, up = outward(min(low, 0.0), high + 2.0, 5.0)
    return down, max(up, down + LEAST_DEGREES)


def mean_line(points: Sequence[Point]) -> tuple[Point, ...]:
    """Readings in order of speed, those at one speed as their mean."""
    at: dict[float, list[float]] = {}
    for rpm, height in points:
        at.setdefault(rpm, []).append(height)
    return tuple((rpm, math.fsum(heights) / len(heights)) for rpm, heights in sorted(at.items()))


def polyline(points: Sequence[Point], plot: Plot) -> str:
    return path([plot.at(*point) for point in points])


def edge_to_edge(points: Sequence[Point], plot: Plot) -> list[Point]:
    """The corners of a curve that is held beyond its ends. [units of the drawing]"""
    return [plot.at(*point) for point in held(points, plot.across.low, plot.across.high)]


def held_line(points: Sequence[Point], plot: Plot) -> str:
    return path(edge_to_edge(points, plot))


def band_area(given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    if not given.band:
        return []
    low, high = _band_edges(given, plot)
    d = path([*low, *reversed(high)], closed=True)
    return [Layer("band", pens.area(pens.band(palette)), d)]


def band_outline(given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    if not given.band:
        return []
    low, high = _band_edges(given, plot)
    return [Layer("band-edge", pens.edge(pens.band(palette)), path(low) + path(high))]


def _band_edges(given: Given, plot: Plot) -> tuple[list[Point], list[Point]]:
    low = edge_to_edge([(rpm, low) for rpm, low, _ in given.band], plot)
    high = edge_to_edge([(rpm, high) for rpm, _, high in given.band], plot)
    return low, high


def crosses(given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    def places(points: Sequence[Point]) -> list[Point]:
        return [plot.at(*point) for point in points]

    layers = []
    if given.rising:
        line = polyline(mean_line(given.rising), plot)
        layers.append(Layer("as-found-line", pens.as_found_line(palette), line))
        layers.append(Layer("as-found", pens.as_found(palette), marks.diagonal_crosses(places(given.rising))))
    if given.falling:
        line = polyline(mean_line(given.falling), plot)
        layers.append(Layer("falling-line", pens.falling_line(palette), line))
        layers.append(Layer("falling", pens.falling(palette), marks.upright_crosses(places(given.falling), 4.5)))
    if given.readings:
        layers.append(Layer("readings", pens.reading(palette), marks.upright_crosses(places(given.readings))))
    if given.road_notes:
        layers.append(Layer("road-notes", pens.road_note(palette), marks.diamonds(places(given.road_notes))))
    return layers


def reaches(findings: Sequence[FindingMark], given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    """The stretch of the curve each finding speaks of, drawn broad and pale beneath it."""
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
        layers.append(Layer(f"reach-{finding.letter}", pens.reach(palette, finding.kind), polyline(stretch, plot)))
    return layers


def key_of(given: Given, palette: Palette) -> list[tuple[Pen, str, str]]:
    entries: list[tuple[Pen, str, str]] = []
    if given.unit:
        entries.append((pens.unit(palette), "line", given.unit_name))
    if given.wanted:
        entries.append((pens.wanted(palette), "line", "wanted"))
    entries += [
        (pens.earlier(palette, which), "line", name) for which, (name, points) in enumerate(given.earlier) if points
    ]
    if given.band:
        entries.append((pens.band(palette), "band", "factory band"))
    if given.band and not given.curves():
        entries.append((pens.wanted(palette), "line", "its middle"))
    if given.rising:
        entries.append((pens.as_found(palette), "diagonal", "as found, rising" if given.falling else "as found"))
    if given.falling:
        entries.append((pens.falling(palette), "upright", "as found, falling"))
    if given.readings:
        entries.append((pens.reading(palette), "upright", "strobe"))
    if given.road_notes:
        entries.append((pens.road_note(palette), "diamond", "road notes"))
    return entries


def in_words(given: Given, findings: Sequence[FindingMark], worst: Triple | None = None) -> str:
    spoken: list[tuple[str, Sequence[Point]]] = [
        (opening(given.unit_name), given.unit),
        ("Wanted", given.wanted),
    ]
    spoken += [(f"{name[:1].upper()}{name[1:]}", points) for name, points in given.earlier]
    sentences = [f"{name}: {_list(points)}." for name, points in spoken if points]
    if worst is not None:
        rpm, wanted, unit = worst
        sentences.append(f"Largest deviation {degrees(abs(wanted - unit))} at {rpm:.0f} rpm.")
    if given.band:
        rows = ", ".join(f"{degrees(low)} to {degrees(high)} at {rpm:.0f}" for rpm, low, high in given.band)
        sentences.append(f"Factory band: {rows} rpm.")
    readings = (
        ("As found", given.rising),
        ("As found, falling", given.falling),
        ("Strobe", given.readings),
        ("Road notes", given.road_notes),
    )
    sentences += [f"{name}: {_list(mean_line(points))}." for name, points in readings if points]
    if given.rules:
        sentences.append(opening(", ".join(rule.words for rule in given.rules)) + " rpm.")
    sentences += [f"{one.letter}, {one.kind}: {one.words}" for one in findings if one.words]
    return " ".join(sentences)


def _list(points: Sequence[Point]) -> str:
    return ", ".join(f"{degrees(height)} at {rpm:.0f}" for rpm, height in points) + " rpm"
