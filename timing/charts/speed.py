"""Advance over engine speed on graph paper: the curve of the map bench, with what is laid beneath it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from timing.charts import marks, styles
from timing.charts.cars import Cars, cars_area, cars_lines, quarters
from timing.charts.findings import FindingMark, height_at, place_findings
from timing.charts.graph import Graph
from timing.charts.layout import WIDE, on_one_sheet, sheet_plot
from timing.charts.marks import Node, degrees
from timing.charts.page import GAP, LETTER, Plot, Text, width_of
from timing.charts.palette import PRINT, Palette
from timing.charts.points import Band, Rows, Triple, curve, pairs, triples, value_at
from timing.charts.scale import Point, path
from timing.charts.speed_figures import Given, axes_for, rules_at
from timing.charts.speed_layers import (
    band_area,
    band_outline,
    crosses,
    description_of,
    edge_to_edge,
    extended_line,
    key_of,
    reaches,
)
from timing.charts.styles import Layer
from timing.charts.text import DELIVERED

WORTH_SHOWING = 0.05  # [degrees] A smaller deviation is none: it is printed to a tenth.


def speed_chart(
    *,
    uid: str | None = None,
    title: str = "Advance over engine speed",
    delivered: Rows = (),
    target: Rows = (),
    earlier: Iterable[tuple[str, Rows]] = (),
    band: Band = (),
    cars: Cars = (),
    cars_name: str = "other cars",
    as_found: Rows = (),
    readings: Rows = (),
    road_notes: Rows = (),
    nodes: Rows | None = None,
    selected: int | None = None,
    findings: Sequence[FindingMark] = (),
    idle_rpm: float | None = None,
    rev_limit_rpm: float | None = None,
    red_line_rpm: float | None = None,
    rpm_limits: tuple[float, float] | None = None,
    degrees_limits: tuple[float, float] | None = None,
    degrees_name: str = "degrees of crank",
    delivered_name: str = DELIVERED,
    editable: bool = False,
    step: float | None = None,
    width: float = WIDE,
    palette: Palette = PRINT,
) -> Graph:
    """The advance curve over engine speed, with whatever is to be laid beneath it.

    All degrees must be counted alike, from base timing or from top dead centre; `degrees_name` says which.
    Curves are straight between their points and held beyond their ends.

    Parameters
    ----------
    title : str
        What it is.
    uid : str, optional
        Unique on the page; becomes part of ids. Derived from the drawing where it is left out.
    delivered, target : sequence of (rpm, degrees) or AdvanceCurve
        What the unit delivers, and the curve it was fitted to. Either may be empty.
    earlier : sequence of (name, points)
        Other versions, drawn in pencil.
    band : sequence of (rpm, lowest, highest) or FactoryBand
        The factory band. [rpm at the crank, degrees of crank]
    cars : sequence of (rpm, quarter, median, three quarters)
        The maps of several cars, as `timing.spread` gives them; drawn no further than it goes. [rpm, degrees of crank]
    cars_name : str
        Which cars they are, for the key.
    as_found, readings, road_notes : sequence of (rpm, degrees)
        The old distributor's sweep, strobe readings, and the spark that road notes point at; in any order.
    nodes : sequence of (rpm, degrees), optional
        Nodes to be drawn as open circles; by default those of `delivered`, else of `target`.
    selected : int, optional
        Index of the node that is drawn filled.
    findings : sequence of FindingMark
        Findings, shown on the curve delivered (else on the target).
    idle_rpm, rev_limit_rpm, red_line_rpm : float, optional
        Speeds worth a rule. [rpm]
    rpm_limits, degrees_limits : (low, high), optional
        Ends of the axes; by default round figures that hold everything.
    degrees_name, delivered_name : str
        What the upward axis shows, and what the curve delivered is called in the key.
    editable, step : bool, float
        Nodes become sliders that can be focused; `step` is what a key press moves them by. [degrees]
    width : float
        Width of the drawing; below 480 it is laid out for a phone or half a column. [units of the drawing]
    palette : Palette
        Colours of print, which a screen overrides by class.

    Returns
    -------
    Graph
        The drawing.

    Raises
    ------
    TimingError
        If there is nothing to draw, a curve does not rise in rpm, or a figure is not finite.
    """
    given = Given(
        delivered=curve(delivered, "the curve delivered"),
        delivered_name=delivered_name,
        target=curve(target, "the target curve"),
        earlier=tuple((name, curve(points, f"version {name}")) for name, points in earlier),
        band=triples(band, "the factory band"),
        cars=quarters(cars),
        cars_name=cars_name,
        rising=pairs(as_found, "the as-found sweep"),
        readings=pairs(readings, "the readings"),
        road_notes=pairs(road_notes, "the road notes"),
        rules=rules_at(idle_rpm, rev_limit_rpm, red_line_rpm),
    )
    circles = given.delivered or given.target if nodes is None else curve(nodes, "the nodes")
    across, up = axes_for(given, circles, rpm_limits, degrees_limits, degrees_name)
    plot = sheet_plot(across, up, width=width, rules=given.rules)
    worst = _worst(given.target, given.delivered)
    under = [
        *band_area(given, plot, palette),
        *cars_area(given.cars, plot, palette),
        *reaches(findings, given, plot, palette),
    ]
    rules, rule_names = marks.place_rules(given.rules, plot, palette)
    layers = [
        *band_outline(given, plot, palette),
        *cars_lines(given.cars, plot, palette),
        *_lines(given, plot, palette),
        *crosses(given, plot, palette),
    ]
    texts = list(rule_names)
    if worst is not None:
        layer, text = _deviation(worst, (given.delivered, given.target), plot, palette)
        layers.append(layer)
        texts.append(text)
    return on_one_sheet(
        uid=uid,
        kind="speed",
        title=title,
        description=description_of(given, findings, worst),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=key_of(given, palette),
        under=under,
        rules=rules,
        layers=layers,
        nodes=_nodes(circles, plot, selected),
        findings=place_findings(findings, plot, edge_to_edge(given.curve_to_speak_of(), plot), palette),
        texts=texts,
        rows=marks.rows_of_rules(given.rules, plot),
        editable=editable,
        step=step,
    )


def _lines(given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    layers = [
        Layer("earlier", styles.earlier(palette, which), extended_line(points, plot))
        for which, (_, points) in enumerate(given.earlier)
        if points
    ]
    # The target goes on top: dashed, it lets the curve delivered be seen where both run together.
    if given.delivered:
        layers.append(Layer("unit", styles.delivered(palette), extended_line(given.delivered, plot)))
    if given.target:
        layers.append(Layer("wanted", styles.target(palette), extended_line(given.target, plot)))
    return layers


def _nodes(points: Sequence[Point], plot: Plot, selected: int | None) -> list[Node]:
    placed = []
    for index, (rpm, height) in enumerate(points):
        x, y = plot.at(rpm, height)
        spoken = f"{degrees(height)} at {rpm:.0f} rpm"
        placed.append(Node(index, round(x, 2), round(y, 2), rpm, height, spoken, index == selected))
    return placed


def _worst(target: Sequence[Point], delivered: Sequence[Point]) -> Triple | None:
    """Where the two curves are furthest apart: rpm, target, delivered; None if that is nowhere worth showing.

    Both are straight between their points, so the largest difference stands at a point of one of them.
    """
    if not target or not delivered:
        return None
    speeds = sorted({rpm for rpm, _ in [*target, *delivered]})
    worst = max(speeds, key=lambda rpm: abs(value_at(target, rpm) - value_at(delivered, rpm)))
    pair = value_at(target, worst), value_at(delivered, worst)
    return (worst, *pair) if abs(pair[0] - pair[1]) >= WORTH_SHOWING else None


# Where the name of the deviation may stand, the first free place of all: beneath to the right at first, for most
# curves rise to the right, and the marks of findings stand above them.
LEADERS = (14, 30, 46, 70, 95, 120, 150, 180, 210)  # [units of the drawing] From the bar to the lettering.
QUARTERS = ((True, True), (False, False), (True, False), (False, True))  # (beneath, to the right)
BAR = 5.0  # [units of the drawing] Half the width of the bars on both curves.
BESIDE_STEM = 2.0  # [units of the drawing] From the stem to the lettering.
DESCENT = 4.0  # [units of the drawing] What is kept free under a base line,
AROUND = 3.0  # and before and after the name.


def _deviation(worst: Triple, curves: Sequence[Sequence[Point]], plot: Plot, palette: Palette) -> tuple[Layer, Text]:
    """The bar between both curves where they are furthest apart, and its name where it covers neither."""
    rpm, target, delivered = worst
    label = f"{degrees(abs(target - delivered))} apart"
    x = plot.across.at(rpm)
    top, bottom = sorted((plot.up.at(target), plot.up.at(delivered)))
    lines = [edge_to_edge(points, plot) for points in curves]

    def stem(beneath: bool, far: float) -> tuple[Point, Point]:
        return ((x, top), (x, bottom + far)) if beneath else ((x, bottom), (x, top - far))

    def name(beneath: bool, rightwards: bool, far: float) -> Text:
        _, (_, end) = stem(beneath, far)
        y = end + LETTER if beneath else end - GAP
        near, anchor = (x + BESIDE_STEM, "start") if rightwards else (x - BESIDE_STEM, "end")
        return Text(round(near, 2), round(y, 2), label, anchor, "chart-deviation-name", palette.marking)

    def is_free(beneath: bool, rightwards: bool, far: float) -> bool:
        text = name(beneath, rightwards, far)
        left = text.x if rightwards else text.x - width_of(label)
        right = left + width_of(label)
        high, low = text.y - LETTER, text.y + DESCENT
        if left < plot.left or right > plot.right or high < plot.top or low > plot.bottom:
            return False
        return not any(_passes(line, (left - AROUND, right + AROUND), (high, low)) for line in lines)

    places = [(beneath, rightwards, far) for far in LEADERS for beneath, rightwards in QUARTERS]
    beneath, rightwards, far = next((place for place in places if is_free(*place)), places[0])
    bars = path([(x - BAR, top), (x + BAR, top)]) + path([(x - BAR, bottom), (x + BAR, bottom)])
    line = bars + path(stem(beneath, far))
    return Layer("deviation", styles.deviation(palette), line), name(beneath, rightwards, far)


def _passes(line: Sequence[Point], across: tuple[float, float], down: tuple[float, float]) -> bool:
    """Whether a line of a curve passes through an oblong. [units of the drawing]"""
    left, right = across
    heights = [height_at(line, left), height_at(line, right), *(y for x, y in line if left < x < right)]
    return min(heights) <= down[1] and max(heights) >= down[0]
