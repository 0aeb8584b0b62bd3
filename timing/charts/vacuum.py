"""Advance over manifold vacuum: the ramp of a capsule or a unit, or the rows of a table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from timing import inputs
from timing.charts import marks, styles
from timing.charts.cars import Cars, Quarters, cars_area, cars_in_words, cars_key, cars_lines, ends_of, quarters
from timing.charts.errors import ChartError
from timing.charts.graph import Graph
from timing.charts.layout import WIDE, check_width, on_one_sheet, sheet_plot
from timing.charts.marks import Node, Rule, degrees
from timing.charts.page import ASIDE, GAP, LETTER, Plot, degrees_axis, plain_axis, width_of
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
    line = curve(ramp, "the vacuum part")
    speeds = [(inputs.number(rpm, "the speed of a row", low=0, unit="rpm"), points) for rpm, points in rows]
    table = [(rpm, curve(points, f"the row of {rpm:g} rpm")) for rpm, points in speeds]
    asked = curve(target, "the target of the vacuum part")
    others = [(name, curve(points, f"version {name}")) for name, points in earlier]
    read = pairs(readings, "the readings")
    others_band = quarters(cars)
    acts_from = inputs.number(from_rpm, "the lowest speed of the vacuum part", low=0, unit="rpm")
    circles = line if nodes is None else curve(nodes, "the nodes")
    points = [*line, *asked, *read, *circles]
    points += [point for _, row in [*table, *others] for point in row]
    points += ends_of(others_band)
    if not points:
        raise ChartError("there is nothing to draw: no vacuum part and no reading")
    rules = _rules(idle_vacuum, most_vacuum, pressure_unit)

    pressures = [vacuum for vacuum, _ in points] + [rule.across for rule in rules]
    low, high = min(*pressures, 0.0), max(pressures)
    # A ramp that ends at the last graduation would hide that it is held from there on.
    fitting = outward(low, high + 0.04 * (high - low), round_step(max(high - low, 1.0), 8))
    limits = axis_ends(vacuum_limits, "the ends of the vacuum axis") or fitting
    heights = [height for _, height in points]
    fitting = outward(min(*heights, 0.0), max(heights) + 1.0, 5.0)
    down, up_end = axis_ends(degrees_limits, "the ends of the degrees") or fitting
    across = plain_axis(*limits, f"manifold vacuum, {pressure_unit}")
    up = degrees_axis(down, max(up_end, down + 15.0), "degrees of crank added")
    names = [f"{rpm:.0f} rpm" for rpm, _ in table]
    room = max(width_of(name) for name in names) + ASIDE + GAP if names else 0.0
    plot = sheet_plot(across, up, width=width, rules=rules, room=room, plot_height=_height(width))

    rule_layers, texts = marks.place_rules(rules, plot, palette)
    layers = cars_lines(others_band, plot, palette)
    layers += [
        Layer("earlier", styles.earlier(palette, which), _line(points, plot), name)
        for which, (name, points) in enumerate(others)
        if points
    ]
    layers += [
        Layer("row", styles.row(palette), _line(row, plot), name)
        for (_, row), name in zip(table, names, strict=True)
        if row
    ]
    beside = [
        (plot.up.at(row[-1][1]), f"{rpm:.0f} rpm", "chart-figure", palette.pencil) for rpm, row in _from_the_top(table)
    ]
    if line:
        layers.append(Layer("unit", styles.delivered(palette), _line(line, plot), DELIVERED))
    if asked:
        layers.append(Layer("wanted", styles.target(palette), _line(asked, plot), TARGET))
    if read:
        crosses = marks.upright_crosses([plot.at(*point) for point in read])
        layers.append(Layer("readings", styles.reading(palette), crosses, "strobe"))
    return on_one_sheet(
        uid=uid,
        kind="vacuum",
        title=title,
        description=_description(
            line, table, asked, others, read, rules, acts_from, pressure_unit, (others_band, cars_name)
        ),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=[
            *_key(bool(line), bool(asked), others, bool(read), palette),
            *cars_key(others_band, cars_name, palette),
        ],
        under=cars_area(others_band, plot, palette),
        rules=rule_layers,
        layers=layers,
        nodes=_nodes(circles, plot, selected, pressure_unit),
        texts=[*texts, *marks.names_beside(beside, plot)],
        rows=marks.rows_of_rules(rules, plot),
        editable=editable,
        step=step,
    )


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


def _key(
    line: bool, asked: bool, others: Sequence[tuple[str, Sequence[Point]]], read: bool, palette: Palette
) -> list[tuple[Style, str, str]]:
    entries: list[tuple[Style, str, str]] = []
    if line:
        entries.append((styles.delivered(palette), "line", DELIVERED))
    if asked:
        entries.append((styles.target(palette), "line", TARGET))
    entries += [(styles.earlier(palette, which), "line", name) for which, (name, row) in enumerate(others) if row]
    if read:
        entries.append((styles.reading(palette), "upright", "strobe"))
    return entries


def _description(
    line: Sequence[Point],
    table: Sequence[tuple[float, Sequence[Point]]],
    asked: Sequence[Point],
    others: Sequence[tuple[str, Sequence[Point]]],
    read: Sequence[Point],
    rules: Sequence[Rule],
    from_rpm: float,
    unit: str,
    cars: tuple[Sequence[Quarters], str],
) -> str:
    def listed(points: Sequence[Point]) -> str:
        return ", ".join(f"{degrees(height)} at {figure_text(vacuum)}" for vacuum, height in points) + f" {unit}"

    spoken: list[tuple[str, Sequence[Point]]] = [(DELIVERED, line), (TARGET, asked)]
    spoken += [(f"at {rpm:.0f} rpm", row) for rpm, row in table]
    spoken += [*others, ("strobe", sorted(read))]
    sentences = [f"{opening(name)}: {listed(points)}." for name, points in spoken if points]
    if cars[0]:
        sentences.append(cars_in_words(*cars, unit))
    if from_rpm > 0:
        sentences.append(f"Acts from {from_rpm:.0f} rpm.")
    sentences += [f"{opening(rule.label)}." for rule in rules]
    return " ".join(sentences)
