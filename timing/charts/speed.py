"""Advance over engine speed on graph paper: the map bench's curve, and the old distributor's sweep."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from timing.charts import marks, pens
from timing.charts.errors import ChartError
from timing.charts.graph import WIDE, Graph, Rows, curve, held, on_one_sheet, pairs, sheet_plot, triples, value_at
from timing.charts.marks import FindingMark, Node, Rule, degrees
from timing.charts.palette import PRINT, Palette
from timing.charts.paper import Axis, Plot, Text, degrees_axis, rpm_axis, width_of
from timing.charts.pens import Layer, Pen
from timing.charts.scale import Point, outward, path

Triple = tuple[float, float, float]

LEAST_DEGREES = 15.0  # [degrees] A flat curve on a tall scale would show its steps as cliffs.
WORTH_SHOWING = 0.05  # [degrees] A smaller deviation is none: it is printed to a tenth.


@dataclass(frozen=True, slots=True)
class _Given:
    """The checked figures of a speed chart, before anything has a place."""

    unit: tuple[Point, ...] = ()
    wanted: tuple[Point, ...] = ()
    earlier: tuple[tuple[str, tuple[Point, ...]], ...] = ()
    band: tuple[Triple, ...] = ()
    rising: tuple[Point, ...] = ()
    falling: tuple[Point, ...] = ()
    readings: tuple[Point, ...] = ()
    road_notes: tuple[Point, ...] = ()
    rules: tuple[Rule, ...] = field(default=())

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
            _mean_line(self.rising),
        ):
            if points:
                return points
        return tuple((rpm, (low + high) / 2) for rpm, low, high in self.band) or ((0.0, 0.0),)


def speed_chart(
    *,
    uid: str,
    title: str = "Advance over engine speed",
    unit: Rows = (),
    wanted: Rows = (),
    earlier: Iterable[tuple[str, Rows]] = (),
    band: Rows = (),
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
    unit_name: str = "as the unit holds it",
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
    uid : str
        Unique on the page; becomes part of ids.
    unit, wanted : sequence of (rpm, degrees)
        The fitted curve, as the unit holds it, and the wanted one. Either may be empty.
    earlier : sequence of (name, curve)
        Other versions, drawn in pencil.
    band : sequence of (rpm, lowest, highest)
        The factory band. [rpm at the crank, degrees of crank]
    as_found, readings, road_notes : sequence of (rpm, degrees)
        The old distributor's sweep, strobe readings, and the spark that road notes point at; in any order.
    nodes : sequence of (rpm, degrees), optional
        Nodes to be drawn as open circles; by default those of `unit`, else of `wanted`.
    selected : int, optional
        Index of the node that is drawn filled.
    findings : sequence of FindingMark
        Findings, shown on the unit's curve (else the wanted one).
    idle_rpm, rev_limit_rpm, red_line_rpm : float, optional
        Speeds worth a rule. [rpm]
    rpm_limits, degrees_limits : (low, high), optional
        Ends of the axes; by default round figures that hold everything.
    editable : bool
        Nodes become sliders that can be focused; `step` is what a key press moves them by. [degrees]
    width : float
        Width of the drawing; below 480 it is laid out for a phone or half a column.

    Raises
    ------
    TimingError
        If there is nothing to draw, a curve does not rise in rpm, or a figure is not finite.
    """
    given = _Given(
        unit=curve(unit, "the unit's curve"),
        wanted=curve(wanted, "the wanted curve"),
        earlier=tuple((name, curve(points, f"version {name}")) for name, points in earlier),
        band=triples(band, "the factory band"),
        rising=pairs(as_found, "the as-found sweep"),
        readings=pairs(readings, "the readings"),
        road_notes=pairs(road_notes, "the road notes"),
        rules=_rules(idle_rpm, rev_limit_rpm, red_line_rpm),
    )
    circles = given.unit or given.wanted if nodes is None else curve(nodes, "the nodes")
    across, up = _axes(given, circles, rpm_limits, degrees_limits, degrees_name)
    plot = sheet_plot(across, up, width=width, rules=given.rules)
    worst = _worst(given.wanted, given.unit)
    under = [*_band_area(given, plot, palette), *_reaches(findings, given, plot, palette)]
    rules, rule_names = marks.place_rules(given.rules, plot, palette)
    layers = [
        *_band_outline(given, plot, palette),
        *_lines(given, plot, palette, unit_name),
        *_crosses(given, plot, palette),
    ]
    texts = list(rule_names)
    if worst is not None:
        layer, text = _deviation(worst, plot, palette)
        layers.append(layer)
        texts.append(text)
    spoken_curve = given.curve_to_speak_of()
    return on_one_sheet(
        uid=uid,
        kind="speed",
        title=title,
        words=_in_words(given, unit_name, worst, findings),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=_key(given, palette, unit_name),
        under=under,
        rules=rules,
        layers=layers,
        nodes=_nodes(circles, plot, selected),
        findings=marks.place_findings(findings, plot, lambda rpm: value_at(spoken_curve, rpm), palette),
        texts=texts,
        rows=marks.rows_of_rules(given.rules, plot),
        editable=editable,
        step=step,
    )


def sweep_chart(
    *,
    uid: str,
    title: str = "The old advance as found",
    rising: Rows = (),
    falling: Rows = (),
    band: Rows = (),
    findings: Sequence[FindingMark] = (),
    idle_rpm: float | None = None,
    red_line_rpm: float | None = None,
    rpm_limits: tuple[float, float] | None = None,
    degrees_limits: tuple[float, float] | None = None,
    degrees_name: str = "degrees of crank",
    width: float = WIDE,
    palette: Palette = PRINT,
) -> Graph:
    """The strobe sweep of the old distributor against the factory band, rising and falling speeds told apart.

    Parameters
    ----------
    rising, falling : sequence of (rpm, degrees)
        Readings taken while the speed rose, and while it fell; several at one speed are allowed.
    band : sequence of (rpm, lowest, highest)
        The factory band, counted as the readings are. Its mid-line is drawn dashed. [rpm, degrees of crank]

    Others as `speed_chart`.

    Raises
    ------
    TimingError
        As `speed_chart`.
    """
    given = _Given(
        band=triples(band, "the factory band"),
        rising=pairs(rising, "the rising sweep"),
        falling=pairs(falling, "the falling sweep"),
        rules=_rules(idle_rpm, None, red_line_rpm),
    )
    across, up = _axes(given, (), rpm_limits, degrees_limits, degrees_name)
    plot = sheet_plot(across, up, width=width, rules=given.rules)
    rules, rule_names = marks.place_rules(given.rules, plot, palette)
    layers = _band_outline(given, plot, palette)
    layers += _mid_line(given, plot, palette)
    layers += _crosses(given, plot, palette)
    spoken_curve = given.curve_to_speak_of()
    return on_one_sheet(
        uid=uid,
        kind="sweep",
        title=title,
        words=_in_words(given, "", None, findings),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=_key(given, palette, ""),
        under=[*_band_area(given, plot, palette), *_reaches(findings, given, plot, palette)],
        rules=rules,
        layers=[
            *_band_outline(given, plot, palette),
            *_mid_line(given, plot, palette),
            *_crosses(given, plot, palette),
        ],
        findings=marks.place_findings(findings, plot, lambda rpm: value_at(spoken_curve, rpm), palette),
        texts=rule_names,
        rows=marks.rows_of_rules(given.rules, plot),
    )


def _rules(idle: float | None, limit: float | None, red_line: float | None) -> tuple[Rule, ...]:
    named = (("idle", idle, "idle"), ("limit", limit, "rev limit"), ("red-line", red_line, "red line"))
    return tuple(Rule(kind, float(rpm), f"{words} {rpm:.0f}") for kind, rpm, words in named if rpm is not None)


def _axes(
    given: _Given,
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


def _mean_line(points: Sequence[Point]) -> tuple[Point, ...]:
    """Readings in order of speed, those at one speed as their mean."""
    at: dict[float, list[float]] = {}
    for rpm, height in points:
        at.setdefault(rpm, []).append(height)
    return tuple((rpm, math.fsum(heights) / len(heights)) for rpm, heights in sorted(at.items()))


def _polyline(points: Sequence[Point], plot: Plot) -> str:
    return path([plot.at(*point) for point in points])


def _held_line(points: Sequence[Point], plot: Plot) -> str:
    return _polyline(held(points, plot.across.low, plot.across.high), plot)


def _band_area(given: _Given, plot: Plot, palette: Palette) -> list[Layer]:
    if not given.band:
        return []
    low, high = _band_edges(given, plot)
    d = path([*low, *reversed(high)], closed=True)
    return [Layer("band", pens.area(pens.band(palette)), d, "factory band")]


def _band_outline(given: _Given, plot: Plot, palette: Palette) -> list[Layer]:
    if not given.band:
        return []
    low, high = _band_edges(given, plot)
    return [Layer("band-edge", pens.edge(pens.band(palette)), path(low) + path(high))]


def _band_edges(given: _Given, plot: Plot) -> tuple[list[Point], list[Point]]:
    low = held([(rpm, low) for rpm, low, _ in given.band], plot.across.low, plot.across.high)
    high = held([(rpm, high) for rpm, _, high in given.band], plot.across.low, plot.across.high)
    return [plot.at(*point) for point in low], [plot.at(*point) for point in high]


def _mid_line(given: _Given, plot: Plot, palette: Palette) -> list[Layer]:
    if not given.band:
        return []
    middle = [(rpm, (low + high) / 2) for rpm, low, high in given.band]
    return [Layer("mid-line", pens.wanted(palette), _held_line(middle, plot), "middle of the band")]


def _lines(given: _Given, plot: Plot, palette: Palette, unit_name: str) -> list[Layer]:
    layers = [
        Layer("earlier", pens.earlier(palette, which), _held_line(points, plot), name)
        for which, (name, points) in enumerate(given.earlier)
        if points
    ]
    # The wanted curve goes on top: dashed, it lets the unit's curve be seen where both run together.
    if given.unit:
        layers.append(Layer("unit", pens.unit(palette), _held_line(given.unit, plot), unit_name))
    if given.wanted:
        layers.append(Layer("wanted", pens.wanted(palette), _held_line(given.wanted, plot), "wanted"))
    return layers


def _crosses(given: _Given, plot: Plot, palette: Palette) -> list[Layer]:
    def places(points: Sequence[Point]) -> list[Point]:
        return [plot.at(*point) for point in points]

    layers = []
    if given.rising:
        line = _polyline(_mean_line(given.rising), plot)
        layers.append(Layer("as-found-line", pens.as_found_line(palette), line))
        layers.append(Layer("as-found", pens.as_found(palette), marks.diagonal_crosses(places(given.rising))))
    if given.falling:
        line = _polyline(_mean_line(given.falling), plot)
        layers.append(Layer("falling-line", pens.falling_line(palette), line))
        layers.append(Layer("falling", pens.falling(palette), marks.upright_crosses(places(given.falling), 4.5)))
    if given.readings:
        layers.append(Layer("readings", pens.reading(palette), marks.upright_crosses(places(given.readings))))
    if given.road_notes:
        layers.append(Layer("road-notes", pens.road_note(palette), marks.diamonds(places(given.road_notes))))
    return layers


def _reaches(findings: Sequence[FindingMark], given: _Given, plot: Plot, palette: Palette) -> list[Layer]:
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
        layers.append(Layer(f"reach-{finding.letter}", pens.reach(palette, finding.kind), _polyline(stretch, plot)))
    return layers


def _nodes(points: Sequence[Point], plot: Plot, selected: int | None) -> list[Node]:
    placed = []
    for index, (rpm, height) in enumerate(points):
        x, y = plot.at(rpm, height)
        spoken = f"{degrees(height)} at {rpm:.0f} rpm"
        placed.append(Node(index, round(x, 2), round(y, 2), rpm, height, spoken, index == selected))
    return placed


def _worst(wanted: Sequence[Point], unit: Sequence[Point]) -> Triple | None:
    """Where the two curves are furthest apart: rpm, wanted, unit; None if that is nowhere worth showing.

    Both are straight between their points, so the largest difference stands at a point of one of them.
    """
    if not wanted or not unit:
        return None
    speeds = sorted({rpm for rpm, _ in [*wanted, *unit]})
    worst = max(speeds, key=lambda rpm: abs(value_at(wanted, rpm) - value_at(unit, rpm)))
    pair = value_at(wanted, worst), value_at(unit, worst)
    return (worst, *pair) if abs(pair[0] - pair[1]) >= WORTH_SHOWING else None


def _deviation(worst: Triple, plot: Plot, palette: Palette) -> tuple[Layer, Text]:
    rpm, wanted, unit = worst
    x, y_wanted, y_unit = plot.across.at(rpm), plot.up.at(wanted), plot.up.at(unit)
    top, bottom = min(y_wanted, y_unit), max(y_wanted, y_unit)
    bars = path([(x - 5, top), (x + 5, top)]) + path([(x - 5, bottom), (x + 5, bottom)])
    # Off the curve, which goes up to the right as a rule: beneath it to the right, or above it to the left.
    beneath = bottom + 32 < plot.bottom
    stem = path([(x, top), (x, bottom + 14)]) if beneath else path([(x, bottom), (x, top - 14)])
    words = f"{degrees(abs(wanted - unit))} apart"
    to_the_right = x + width_of(words) < plot.right and (beneath or x - width_of(words) < plot.left)
    name = Text(
        round(x + (2 if to_the_right else -2), 2),
        round(bottom + 28 if beneath else top - 19, 2),
        words,
        "start" if to_the_right else "end",
        "chart-deviation-name",
        palette.marking,
    )
    return Layer("deviation", pens.deviation(palette), bars + stem, "largest deviation"), name


def _key(given: _Given, palette: Palette, unit_name: str) -> list[tuple[Pen, str, str]]:
    entries: list[tuple[Pen, str, str]] = []
    if given.unit:
        entries.append((pens.unit(palette), "line", unit_name))
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


def _in_words(given: _Given, unit_name: str, worst: Triple | None, findings: Sequence[FindingMark]) -> str:
    sentences = []
    spoken: list[tuple[str, Sequence[Point]]] = [
        (unit_name.capitalize(), given.unit),
        ("Wanted", given.wanted),
    ]
    spoken += [(name, points) for name, points in given.earlier]
    sentences += [f"{name}: {_list(points)}." for name, points in spoken if points]
    if worst is not None:
        rpm, wanted, unit = worst
        sentences.append(f"Largest deviation {degrees(abs(wanted - unit))} at {rpm:.0f} rpm.")
    if given.band:
        rows = ", ".join(f"{degrees(low)} to {degrees(high)} at {rpm:.0f}" for rpm, low, high in given.band)
        sentences.append(f"Factory band: {rows} rpm.")
    crosses = (
        ("As found", given.rising),
        ("As found, falling", given.falling),
        ("Strobe", given.readings),
        ("Road notes", given.road_notes),
    )
    sentences += [f"{name}: {_list(_mean_line(points))}." for name, points in crosses if points]
    if given.rules:
        sentences.append(", ".join(rule.words for rule in given.rules).capitalize() + " rpm.")
    sentences += [f"{one.letter}, {one.kind}: {one.words}" for one in findings if one.words]
    return " ".join(sentences)


def _list(points: Sequence[Point]) -> str:
    return ", ".join(f"{degrees(height)} at {rpm:.0f}" for rpm, height in points) + " rpm"
