"""The dwell budget over engine speed: what is asked for, what fits between two sparks, what energy is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from timing import inputs
from timing.charts import marks, styles
from timing.charts.errors import ChartError
from timing.charts.graph import Graph
from timing.charts.label_placement import BELOW_BASE, clear_place
from timing.charts.layout import BELOW, FOOT, WIDE, check_width, room_beside, sheet_plot
from timing.charts.marks import Rule
from timing.charts.page import (
    ASIDE,
    CAPITAL,
    GAP,
    NARROW,
    ROW,
    Axis,
    Plot,
    Text,
    panel_of,
    plain_axis,
    rpm_axis,
    width_of,
)
from timing.charts.palette import PRINT, Palette
from timing.charts.points import optional
from timing.charts.scale import Point, figure_text, outward, path, round_step
from timing.charts.styles import Layer, Style
from timing.charts.svg import uid_for
from timing.charts.text import opening


@dataclass(frozen=True, slots=True)
class Supply:
    """The coil at one supply voltage, over the speeds of the drawing.

    Attributes
    ----------
    name : str
        Such as 'cranking' or 'charging'.
    volts : float
        The supply. [V]
    asked_ms : float
        Requested dwell. [ms]
    on_ms, energy_mj : tuple of float
        What fits, and the energy in the coil when the spark begins, one figure for each speed from the lowest on.
        A line with fewer figures than there are speeds ends early, as that of cranking does. [ms], [mJ]

    Raises
    ------
    TimingError
        If a figure is negative or not finite, or the two lists are of different length.
    """

    name: str
    volts: float
    asked_ms: float
    on_ms: tuple[float, ...]
    energy_mj: tuple[float, ...]

    def __init__(self, name: str, volts: float, asked_ms: float, on_ms: ArrayLike, energy_mj: ArrayLike) -> None:
        volts = inputs.number(volts, "the supply voltage", above=0.0, unit="V")
        on = inputs.within(on_ms, f"the dwell that fits at {volts:g} V", low=0.0, unit="ms")
        energy = inputs.within(energy_mj, f"the energy at {volts:g} V", low=0.0, unit="mJ")
        if on.ndim != 1 or on.shape != energy.shape:
            raise ChartError(f"at {volts:g} V there must be one dwell and one energy for each speed")
        object.__setattr__(self, "name", name)
        object.__setattr__(self, "volts", volts)
        object.__setattr__(self, "asked_ms", inputs.number(asked_ms, "the requested dwell", above=0.0, unit="ms"))
        object.__setattr__(self, "on_ms", tuple(map(float, on)))
        object.__setattr__(self, "energy_mj", tuple(map(float, energy)))

    @property
    def label(self) -> str:
        """Name and voltage, as printed."""
        return f"{self.name} {figure_text(self.volts)} V"


def dwell_chart(
    rpm: ArrayLike,
    supplies: Sequence[Supply],
    *,
    uid: str | None = None,
    title: str = "Dwell and spark energy over engine speed",
    limit_rpm: float | None = None,
    rev_limit_rpm: float | None = None,
    red_line_rpm: float | None = None,
    ordinary_mj: float | None = 30.0,
    least_mj: float | None = 15.0,
    width: float = WIDE,
    palette: Palette = PRINT,
) -> Graph:
    """Two plots over one another: dwell asked for and dwell that fits, and the energy that is left.

    Parameters
    ----------
    rpm : sequence of float
        Rising speeds at which the supplies' figures stand. [rpm]
    supplies : sequence of Supply
        From the lowest voltage up; three have styles of their own: cranking, running, charging.
    uid : str, optional
        Unique on the page; becomes part of ids. Derived from the drawing where it is left out.
    limit_rpm : float, optional
        Highest speed at which the whole dwell fits. [rpm] Beyond the speeds drawn it is told in the description alone.
    rev_limit_rpm, red_line_rpm : float, optional
        Speeds worth a rule. [rpm]
    ordinary_mj, least_mj : float or None
        Energy that is ordinary, and below which a warning is due. [mJ] From memory, common practice.

    Others as `speed_chart`.

    Returns
    -------
    Graph
        The drawing.

    Raises
    ------
    TimingError
        If there is no supply, a list has another length than `rpm`, speeds do not rise, or a figure is out of range.
    """
    check_width(width)
    places = _speeds(rpm, supplies)
    limit_rpm, rev_limit_rpm, red_line_rpm = (
        optional(figure, what, low=0, unit="rpm")
        for figure, what in (
            (limit_rpm, "the highest speed of the whole dwell"),
            (rev_limit_rpm, "the rev limit"),
            (red_line_rpm, "the red line"),
        )
    )
    ordinary_mj = optional(ordinary_mj, "the ordinary energy", low=0, unit="mJ")
    least_mj = optional(least_mj, "the least energy", low=0, unit="mJ")
    narrow = width < NARROW
    across = rpm_axis(*outward(0.0, max([places[-1], *_present(rev_limit_rpm, red_line_rpm)]), 500.0))
    longest = max(max(supply.asked_ms, *supply.on_ms) for supply in supplies)
    strongest = max([max(supply.energy_mj) for supply in supplies] + _present(ordinary_mj, least_mj))
    dwell_axis = _from_nought(longest, "dwell, ms")
    energy_axis = _from_nought(strongest, "energy at the spark, mJ")
    rules = [rule for rule in _rules(limit_rpm, rev_limit_rpm, red_line_rpm) if rule.across <= across.high]
    room = 0.0 if narrow else max(width_of(supply.label) for supply in supplies) + ASIDE + GAP
    height = round(width * (0.5 if narrow else 0.27))
    left = max(room_beside(dwell_axis), room_beside(energy_axis))
    upper = sheet_plot(across, dwell_axis, width=width, plot_height=height, rules=rules, room=room, left=left)
    lower = sheet_plot(across, energy_axis, width=width, plot_height=height, top=upper.bottom, room=room, left=left)

    rule_layers, rule_names = marks.place_rules(rules, upper, palette)
    rule_layers += tuple(_through(rule, lower, palette) for rule in rules)
    layers = [*_dwell_lines(supplies, places, upper, palette), *_energy_lines(supplies, places, lower, palette)]
    layers += _thresholds(ordinary_mj, least_mj, lower, palette)
    drawn = [[lower.at(*point) for point in zip(places, supply.energy_mj, strict=False)] for supply in supplies]
    uprights = [lower.across.at(rule.across) for rule in rules]
    texts = [*rule_names, *_threshold_names(ordinary_mj, least_mj, lower, drawn, uprights, palette)]
    if not narrow:
        texts += _names_beside(supplies, len(places), lower, palette)
    rows = marks.rows_of_rules(rules, upper)
    entries, key_height = marks.place_key(
        _key(supplies, narrow, palette), lower.left, width, lower.bottom + FOOT, palette
    )
    description = _description(supplies, places, limit_rpm, rules)
    return Graph(
        uid=uid_for(uid, "dwell", title, description, width, layers),
        kind="dwell",
        title=title,
        description=description,
        width=width,
        height=lower.bottom + FOOT + key_height + BELOW,
        panels=(
            panel_of(upper, across, dwell_axis, palette, foot=False, lift=rows * ROW),
            panel_of(lower, across, energy_axis, palette),
        ),
        under=_shortfalls(supplies, places, upper, palette),
        rules=rule_layers,
        layers=tuple(layers),
        nodes=(),
        findings=(),
        texts=tuple(texts),
        key=entries,
        palette=palette,
    )


def _speeds(rpm: ArrayLike, supplies: Sequence[Supply]) -> tuple[float, ...]:
    """The speeds, rising, at which every supply has its figures. [rpm]"""
    speeds = inputs.within(rpm, "engine speed", low=0.0, unit="rpm")
    if speeds.ndim != 1 or len(speeds) < 2 or not (np.diff(speeds) > 0).all():
        raise ChartError("the dwell budget needs two or more rising speeds")
    if not supplies:
        raise ChartError("there is nothing to draw: no supply voltage")
    for supply in supplies:
        if not 2 <= len(supply.on_ms) <= len(speeds):
            raise ChartError(f"{supply.label} has {len(supply.on_ms)} figures for {len(speeds)} speeds")
    return tuple(map(float, speeds))


def _names_beside(supplies: Sequence[Supply], speeds: int, plot: Plot, palette: Palette) -> Sequence[Text]:
    """The names of those whose lines end at the right edge; the others are named in the key."""
    ends = [
        (plot.up.at(supply.energy_mj[-1]), supply.label, *_named(which, palette))
        for which, supply in enumerate(supplies)
        if len(supply.on_ms) == speeds
    ]
    return marks.names_beside(ends, plot)


def _present(*figures: float | None) -> list[float]:
    return [figure for figure in figures if figure is not None]


def _from_nought(most: float, name: str) -> Axis:
    step = round_step(most, 6)
    return plain_axis(0.0, outward(0.0, most * 1.04, step)[1], name, 6)


def _rules(fits: float | None, limit: float | None, red_line: float | None) -> tuple[Rule, ...]:
    named = (("fits", fits, "dwell fits up to"), ("limit", limit, "rev limit"), ("red-line", red_line, "red line"))
    return tuple(Rule(kind, float(rpm), f"{label} {rpm:.0f}") for kind, rpm, label in named if rpm is not None)


def _through(rule: Rule, plot: Plot, palette: Palette) -> Layer:
    x = plot.across.at(rule.across)
    return Layer(rule.kind, styles.rule(palette, rule.kind), path([(x, plot.top), (x, plot.bottom)]))


def _along(places: Sequence[float], figures: Sequence[float], plot: Plot) -> str:
    return path([plot.at(rpm, figure) for rpm, figure in zip(places, figures, strict=False)])


def _asked_apart(supplies: Sequence[Supply]) -> list[tuple[int, Supply]]:
    """The supplies whose dwell differs from that of all before: the same line is drawn once."""
    apart: list[tuple[int, Supply]] = []
    # The longest lines first: one that ends early on the line of another is not drawn again.
    for which, supply in sorted(enumerate(supplies), key=lambda one: -len(one[1].on_ms)):
        end = len(supply.on_ms)
        if all(supply.on_ms != other.on_ms[:end] or supply.asked_ms != other.asked_ms for _, other in apart):
            apart.append((which, supply))
    return sorted(apart, key=lambda one: one[0])


def _dwell_style(which: int, supplies: Sequence[Supply], palette: Palette) -> Style:
    return styles.supply(palette, which if len(_asked_apart(supplies)) > 1 else 1)


def _dwell_lines(supplies: Sequence[Supply], places: Sequence[float], plot: Plot, palette: Palette) -> list[Layer]:
    layers = []
    for which, supply in _asked_apart(supplies):
        y = plot.up.at(supply.asked_ms)
        layers.append(Layer("asked", styles.target(palette), path([(plot.left, y), (plot.right, y)]), "asked for"))
        style = _dwell_style(which, supplies, palette)
        layers.append(Layer("fits", style, _along(places, supply.on_ms, plot), supply.label))
    return layers


def _energy_lines(supplies: Sequence[Supply], places: Sequence[float], plot: Plot, palette: Palette) -> list[Layer]:
    return [
        Layer("energy", styles.supply(palette, which), _along(places, supply.energy_mj, plot), supply.label)
        for which, supply in enumerate(supplies)
    ]


def _shortfalls(supplies: Sequence[Supply], places: Sequence[float], plot: Plot, palette: Palette) -> tuple[Layer, ...]:
    """Between the dwell asked for and the dwell that fits, wherever less fits."""
    layers = []
    for _, supply in _asked_apart(supplies):
        if min(supply.on_ms) >= supply.asked_ms:
            continue
        under = [plot.at(rpm, on) for rpm, on in zip(places, supply.on_ms, strict=False)]
        over = [plot.at(rpm, supply.asked_ms) for rpm in reversed(places[: len(supply.on_ms)])]
        layers.append(Layer("short", styles.short_of(palette), path([*under, *over], closed=True), "does not fit"))
    return tuple(layers)


def _thresholds(ordinary: float | None, least: float | None, plot: Plot, palette: Palette) -> list[Layer]:
    return [
        Layer(name, styles.threshold(palette), path([plot.at(plot.across.low, mj), plot.at(plot.across.high, mj)]))
        for name, mj in (("ordinary", ordinary), ("least", least))
        if mj is not None
    ]


def _threshold_names(
    ordinary: float | None,
    least: float | None,
    plot: Plot,
    drawn: Sequence[Sequence[Point]],
    uprights: Sequence[float],
    palette: Palette,
) -> list[Text]:
    """Over its line what begins there, under its line what ends there; on the other side where that is crossed."""
    over, under = -GAP, GAP + CAPITAL
    heights = {mj: plot.up.at(mj) for mj in _present(ordinary, least)}
    lines = [*drawn, *([(plot.left, height), (plot.right, height)] for height in heights.values())]
    texts: list[Text] = []
    for start, mj, lifts in (("ordinary from", ordinary, (over, under)), ("weak below", least, (under, over))):
        if mj is None:
            continue
        text = f"{start} {figure_text(mj)} mJ"
        span = width_of(text)
        x, y = clear_place(span, [heights[mj] + lift for lift in lifts], plot, lines, uprights)
        texts.append(Text(round(x, 2), round(y, 2), text, "start", "chart-threshold-name", palette.caution))
        lines += [[(x, edge), (x + span, edge)] for edge in (y - CAPITAL, y + BELOW_BASE)]  # no other lies on it
    return texts


def _named(which: int, palette: Palette) -> tuple[str, str]:
    return ("chart-name", palette.ink) if which % 3 == 1 else ("chart-figure", palette.pencil)


def _key(supplies: Sequence[Supply], narrow: bool, palette: Palette) -> list[tuple[Style, str, str]]:
    entries: list[tuple[Style, str, str]] = [(styles.target(palette), "line", "dwell asked for")]
    if len(_asked_apart(supplies)) == 1 and len(supplies) > 1:
        entries.append((styles.supply(palette, 1), "line", "dwell that fits"))
    if narrow:  # elsewhere the names stand beside the lines
        entries += [(styles.supply(palette, which), "line", supply.label) for which, supply in enumerate(supplies)]
    else:
        longest = max(len(supply.on_ms) for supply in supplies)
        early = [(which, supply) for which, supply in enumerate(supplies) if len(supply.on_ms) < longest]
        entries += [(styles.supply(palette, which), "line", supply.label) for which, supply in early]
    if any(min(supply.on_ms) < supply.asked_ms for supply in supplies):
        entries.append((styles.short_of(palette), "band", "does not fit"))
    return entries


def _description(
    supplies: Sequence[Supply], places: Sequence[float], limit: float | None, rules: Sequence[Rule]
) -> str:
    sentences = []
    if limit is not None:
        sentences.append(f"The whole dwell fits up to {limit:.0f} rpm.")
    for supply in supplies:
        first, last = figure_text(supply.energy_mj[0]), figure_text(supply.energy_mj[-1])
        end_rpm = places[len(supply.on_ms) - 1]
        sentences.append(
            f"{opening(supply.label)}: {figure_text(supply.asked_ms, 2)} ms asked for, "
            f"{figure_text(supply.on_ms[-1], 2)} ms at {end_rpm:.0f} rpm; "
            f"{first} mJ at {places[0]:.0f} rpm, {last} mJ at {end_rpm:.0f} rpm."
        )
    rest = [rule.label for rule in rules if rule.kind != "fits"]
    if rest:
        sentences.append(opening(", ".join(rest)) + " rpm.")
    return " ".join(sentences)
