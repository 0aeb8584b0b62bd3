"""Advance over manifold vacuum: the ramp of a capsule or a unit, or the rows of a table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from timing import inputs
from timing.charts import marks, styles
from timing.charts.cars import Cars, Quarters, cars_area, cars_in_words, cars_key, cars_lines, ends_of, quarters
from timing.charts.errors import ChartError
from timing.charts.graph import Graph
from timing.charts.layout import WIDE, check_width, on_one_sheet, sheet_plot
from timing.charts.marks import Node, Rule, degrees
from timing.charts.page import ASIDE, GAP, LETTER, Axis, Plot, degrees_axis, plain_axis, width_of
from timing.charts.palette import PRINT, Palette
from timing.charts.points import Rows, axis_ends, curve, extended, pairs, value_at
from timing.charts.scale import Point, figure_text, outward, path, round_step
from timing.charts.styles import Layer, Style
from timing.charts.text import DELIVERED, TARGET, opening


def vacuum_chart(
    *,
    uid: str | None = None,
    title: str = "Advance over manifold vacuum",
    ramp: Rows = (),
    rows: Iterable[tuple[float, Rows]] = (),
    target: Rows = (),
    earlier: Iterable[tuple[str, Rows]] = (),
    cars: Cars = (),
    cars_name: str = "other cars",
    readings: Rows = (),
    nodes: Rows | None = None,
    selected: int | None = None,
    idle_vacuum: float | None = None,
    most_vacuum: float | None = None,
    from_rpm: float = 0.0,
    pressure_unit: str = "kPa",
    vacuum_limits: tuple[float, float] | None = None,
    degrees_limits: tuple[float, float] | None = None,
    editable: bool = False,
    step: float | None = None,
    width: float = WIDE,
    palette: Palette = PRINT,
) -> Graph:
    """What the vacuum part adds over vacuum; boost, if any, lies left of nought as negative vacuum.

    All pressures are in `pressure_unit`: convert once, before. Curves are held beyond their ends.

    Parameters
    ----------
    uid : str, optional
        Unique on the page; becomes part of ids. Derived from the drawing where it is left out.
    ramp : sequence of (vacuum, degrees) or VacuumRamp
        The ramp, or any curve over vacuum alone; with boost, the retard as negative degrees.
    rows : sequence of (rpm, curve)
        The rows of a table, each a curve over vacuum at its speed. [rpm]
    target : sequence of (vacuum, degrees) or VacuumRamp
        What it was fitted to.
    earlier : sequence of (name, curve)
        Other versions, in pencil.
    cars : sequence of (vacuum, quarter, median, three quarters)
        What vacuum adds in several cars, as `timing.spread` gives it. [kPa below atmosphere, degrees of crank]
    cars_name : str
        Which cars they are, for the key.
    readings : sequence of (vacuum, degrees)
        What a hand pump and the strobe gave, in any order.
    nodes : sequence of (vacuum, degrees), optional
        Nodes drawn as open circles; by default those of `ramp`.
    idle_vacuum, most_vacuum : float, optional
        Where the engine idles, and the most vacuum there is at the workshop's height. [kPa below atmosphere]
    from_rpm : float
        Lowest speed at which the vacuum part acts, for the description. [rpm]

    Others as `speed_chart`.

    Returns
    -------
    Graph
        The drawing.

    Raises
    ------
    TimingError
        If there is nothing to draw, a curve does not rise in vacuum, or a figure is not finite.
    """
    check_width(width)
    given = _Given(
        line=curve(ramp, "the vacuum part"),
        table=_rows(rows),
        asked=curve(target, "the target of the vacuum part"),
        others=tuple((name, curve(points, f"version {name}")) for name, points in earlier),
        read=pairs(readings, "the readings"),
        cars=quarters(cars),
    )
    acts_from = inputs.number(from_rpm, "the lowest speed of the vacuum part", low=0, unit="rpm")
    circles = given.line if nodes is None else curve(nodes, "the nodes")
    points = [*given.points, *circles]
    if not points:
        raise ChartError("there is nothing to draw: no vacuum part and no reading")
    rules = _rules(idle_vacuum, most_vacuum, pressure_unit)
    across = _vacuum_axis([vacuum for vacuum, _ in points], rules, vacuum_limits, pressure_unit)
    up = _added_axis([height for _, height in points], degrees_limits)
    room = max(width_of(_row_name(rpm)) for rpm, _ in given.table) + ASIDE + GAP if given.table else 0.0
    plot = sheet_plot(across, up, width=width, rules=rules, room=room, plot_height=_height(width))

    rule_layers, texts = marks.place_rules(rules, plot, palette)
    beside = [
        (plot.up.at(row[-1][1]), _row_name(rpm), "chart-figure", palette.pencil)
        for rpm, row in _from_the_top(given.table)
    ]
    return on_one_sheet(
        uid=uid,
        kind="vacuum",
        title=title,
        description=_description(given, rules, acts_from, pressure_unit, cars_name),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=[*_key(given, palette), *cars_key(given.cars, cars_name, palette)],
        under=cars_area(given.cars, plot, palette),
        rules=rule_layers,
        layers=_layers(given, plot, palette),
        nodes=_nodes(circles, plot, selected, pressure_unit),
        texts=[*texts, *marks.names_beside(beside, plot)],
        rows=marks.rows_of_rules(rules, plot),
        editable=editable,
        step=step,
    )


@dataclass(frozen=True, slots=True)
class _Given:
    """What is to be drawn: points of vacuum and degrees, rows by their speed, other versions by name.

    Vacuum is in the unit of the drawing. [degrees of crank], [rpm]
    """

    line: tuple[Point, ...]
    table: tuple[tuple[float, tuple[Point, ...]], ...]
    asked: tuple[Point, ...]
    others: tuple[tuple[str, tuple[Point, ...]], ...]
    read: tuple[Point, ...]
    cars: Sequence[Quarters]

    @property
    def points(self) -> list[Point]:
        curves = [self.line, self.asked, self.read, *(row for _, row in [*self.table, *self.others])]
        return [point for points in curves for point in points] + ends_of(self.cars)


def _rows(rows: Iterable[tuple[float, Rows]]) -> tuple[tuple[float, tuple[Point, ...]], ...]:
    # Every speed is looked at before the first curve is.
    speeds = [(inputs.number(rpm, "the speed of a row", low=0, unit="rpm"), points) for rpm, points in rows]
    return tuple((rpm, curve(points, f"the row of {rpm:g} rpm")) for rpm, points in speeds)


def _row_name(rpm: float) -> str:
    return f"{rpm:.0f} rpm"


def _vacuum_axis(
    pressures: Sequence[float], rules: Sequence[Rule], limits: tuple[float, float] | None, unit: str
) -> Axis:
    reached = [*pressures, *(rule.across for rule in rules)]
    low, high = min(*reached, 0.0), max(reached)
    # A ramp that ends at the last graduation would hide that it is held from there on.
    fitting = outward(low, high + 0.04 * (high - low), round_step(max(high - low, 1.0), 8))
    ends = axis_ends(limits, "the ends of the vacuum axis") or fitting
    return plain_axis(*ends, f"manifold vacuum, {unit}")


def _added_axis(heights: Sequence[float], limits: tuple[float, float] | None) -> Axis:
    fitting = outward(min(*heights, 0.0), max(heights) + 1.0, 5.0)
    down, up_end = axis_ends(limits, "the ends of the degrees") or fitting
    return degrees_axis(down, max(up_end, down + 15.0), "degrees of crank added")


def _layers(given: _Given, plot: Plot, palette: Palette) -> list[Layer]:
    layers = cars_lines(given.cars, plot, palette)
    layers += [
        Layer("earlier", styles.earlier(palette, which), _line(points, plot), name)
        for which, (name, points) in enumerate(given.others)
        if points
    ]
    layers += [Layer("row", styles.row(palette), _line(row, plot), _row_name(rpm)) for rpm, row in given.table if row]
    if given.line:
        layers.append(Layer("unit", styles.delivered(palette), _line(given.line, plot), DELIVERED))
    if given.asked:
        layers.append(Layer("wanted", styles.target(palette), _line(given.asked, plot), TARGET))
    if given.read:
        crosses = marks.upright_crosses([plot.at(*point) for point in given.read])
        layers.append(Layer("readings", styles.reading(palette), crosses, "strobe"))
    return layers


def _height(width: float) -> float:
    return round(max(width * 0.4, 200 + LETTER))


def _rules(idle: float | None, most: float | None, unit: str) -> tuple[Rule, ...]:
    named = (
        ("idle", idle, "idle", "the vacuum at idle"),
        ("vacuum", most, "most there is", "the most vacuum there is"),
    )
    return tuple(
        Rule(kind, inputs.number(vacuum, what), f"{label} {figure_text(vacuum)} {unit}")
        for kind, vacuum, label, what in named
        if vacuum is not None
    )


def _line(points: Sequence[Point], plot: Plot) -> str:
    return path([plot.at(*point) for point in extended(points, low=plot.across.low, high=plot.across.high)])


def _from_the_top(table: Sequence[tuple[float, tuple[Point, ...]]]) -> list[tuple[float, tuple[Point, ...]]]:
    """The rows that have figures, the uppermost first at their right ends; where they meet, as they lie before that."""
    drawn = [(rpm, row) for rpm, row in table if row]
    places = sorted({vacuum for _, row in drawn for vacuum, _ in row}, reverse=True)
    return sorted(drawn, key=lambda named: [-value_at(named[1], vacuum) for vacuum in places])


def _nodes(points: Sequence[Point], plot: Plot, selected: int | None, unit: str) -> list[Node]:
    placed = []
    for index, (vacuum, height) in enumerate(points):
        x, y = plot.at(vacuum, height)
        spoken = f"{degrees(height)} at {figure_text(vacuum)} {unit}"
        placed.append(Node(index, round(x, 2), round(y, 2), vacuum, height, spoken, index == selected))
    return placed


def _key(given: _Given, palette: Palette) -> list[tuple[Style, str, str]]:
    entries: list[tuple[Style, str, str]] = []
    if given.line:
        entries.append((styles.delivered(palette), "line", DELIVERED))
    if given.asked:
        entries.append((styles.target(palette), "line", TARGET))
    entries += [(styles.earlier(palette, which), "line", name) for which, (name, row) in enumerate(given.others) if row]
    if given.read:
        entries.append((styles.reading(palette), "upright", "strobe"))
    return entries


def _description(given: _Given, rules: Sequence[Rule], from_rpm: float, unit: str, cars_name: str) -> str:
    def listed(points: Sequence[Point]) -> str:
        return ", ".join(f"{degrees(height)} at {figure_text(vacuum)}" for vacuum, height in points) + f" {unit}"

    spoken: list[tuple[str, Sequence[Point]]] = [(DELIVERED, given.line), (TARGET, given.asked)]
    spoken += [(f"at {_row_name(rpm)}", row) for rpm, row in given.table]
    spoken += [*given.others, ("strobe", sorted(given.read))]
    sentences = [f"{opening(name)}: {listed(points)}." for name, points in spoken if points]
    if given.cars:
        sentences.append(cars_in_words(given.cars, cars_name, unit))
    if from_rpm > 0:
        sentences.append(f"Acts from {from_rpm:.0f} rpm.")
    sentences += [f"{opening(rule.label)}." for rule in rules]
    return " ".join(sentences)
