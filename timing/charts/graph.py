"""A whole drawing on graph paper, and how it is laid out: head, plot, foot and key."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from timing import inputs
from timing.charts.errors import ChartError
from timing.charts.marks import KeyEntry, Node, PlacedFinding, Rule, place_key, rows_of_rules
from timing.charts.palette import Palette
from timing.charts.paper import (
    ASIDE,
    GAP,
    HEAD,
    LETTER,
    LINE,
    MARGIN,
    NARROW,
    ROW,
    Axis,
    Paper,
    Plot,
    Text,
    lay,
    width_of,
)
from timing.charts.pens import Layer, Pen
from timing.charts.scale import Point, Scale, figure_text

Rows: TypeAlias = Iterable[Sequence[float]] | inputs.FloatArray

WIDE = 720.0  # [units of the drawing]
ABOVE = 6.0  # [units of the drawing] Free over the first line of lettering.
BELOW = 2.0  # [units of the drawing] Free under the last row of the key.
FOOT = 2 * LINE + 6  # [units of the drawing] Figures and name beneath a plot.


@dataclass(frozen=True, slots=True)
class Graph:
    """A drawing ready to be written out by `timing/charts/graph.svg`; everything in units of the drawing.

    Attributes
    ----------
    uid : str
        Unique on the page; the ids of title and description begin with it.
    kind : str
        'speed', 'sweep', 'vacuum', 'residual' or 'dwell'; also a class of the drawing.
    title, words : str
        What it is, and what it shows, for those who cannot see it.
    width, height : float
        Size of the view box.
    papers : tuple of Paper
        One plot, or several above one another.
    under : tuple of Layer
        Pale areas, beneath the graduations.
    rules, layers : tuple of Layer
        Upright rules; then lines and crosses in the order in which they are drawn.
    nodes : tuple of Node
        Nodes of the curve.
    findings : tuple of PlacedFinding
        Letters in their marks.
    texts : tuple of Text
        Names of rules and lines.
    key : tuple of KeyEntry
        Samples and what they stand for.
    palette : Palette
        Colours as presentation attributes.
    editable : bool
        Whether nodes are sliders to be focused and moved.
    step : float or None
        What one press of a key moves a node by. [unit of the upward axis]
    """

    uid: str
    kind: str
    title: str
    words: str
    width: float
    height: float
    papers: tuple[Paper, ...]
    under: tuple[Layer, ...]
    rules: tuple[Layer, ...]
    layers: tuple[Layer, ...]
    nodes: tuple[Node, ...]
    findings: tuple[PlacedFinding, ...]
    texts: tuple[Text, ...]
    key: tuple[KeyEntry, ...]
    palette: Palette
    editable: bool = False
    step: float | None = None

    @property
    def template(self) -> str:
        return "timing/charts/graph.svg"

    @property
    def narrow(self) -> bool:
        """Whether it is laid out for a phone or half a column."""
        return self.width < NARROW

    @property
    def plot(self) -> Plot:
        """The plot of the (first) paper."""
        return self.papers[0].plot


def pairs(points: Rows, what: str) -> tuple[Point, ...]:
    """`points` as pairs of floats.

    Raises
    ------
    TimingError
        If they are no pairs of finite numbers; the message names `what`.
    """
    rows = inputs.finite(list(points), what)
    if rows.size == 0:
        return ()
    if rows.ndim != 2 or rows.shape[1] != 2:
        raise ChartError(f"{what} must be pairs of figures")
    return tuple((float(x), float(y)) for x, y in rows)


def curve(points: Rows, what: str) -> tuple[Point, ...]:
    """`points` as a curve: pairs whose first figure rises.

    Raises
    ------
    TimingError
        As `pairs`, and if the first figures do not rise strictly.
    """
    checked = pairs(points, what)
    for (x, _), (following, _) in pairwise(checked):
        if following <= x:
            raise ChartError(f"{what} must rise along the axis, but {following:g} follows {x:g}")
    return checked


def triples(rows: Rows, what: str) -> tuple[tuple[float, float, float], ...]:
    """`rows` as (place, low, high), rising, low at most high.

    Raises
    ------
    TimingError
        If they are not; the message names `what`.
    """
    figures = inputs.finite(list(rows), what)
    if figures.size == 0:
        return ()
    if figures.ndim != 2 or figures.shape[1] != 3:
        raise ChartError(f"{what} must be rows of a place, a lowest and a highest figure")
    checked = tuple((float(x), float(low), float(high)) for x, low, high in figures)
    curve([(x, low) for x, low, _ in checked], what)
    for x, low, high in checked:
        if low > high:
            raise ChartError(f"{what} has its lowest {low:g} above its highest {high:g} at {x:g}")
    return checked


def held(points: Sequence[Point], low: float, high: float) -> list[Point]:
    """`points` with their end values held out to `low` and `high`."""
    first, last = points[0], points[-1]
    before = [(low, first[1])] if low < first[0] else []
    after = [(high, last[1])] if high > last[0] else []
    return [*before, *points, *after]


def value_at(points: Sequence[Point], across: float) -> float:
    """Value of the curve at `across`, its ends held."""
    return float(np.interp(across, [x for x, _ in points], [y for _, y in points]))


def sheet_plot(
    across: Axis,
    up: Axis,
    *,
    width: float,
    plot_height: float | None = None,
    top: float = 0.0,
    left: float = 0.0,
    room: float = 0.0,
    rules: Sequence[Rule] = (),
) -> Plot:
    """Where the plot lies on a drawing `width` wide, its head just high enough for the names of `rules`.

    `top` is where its head begins, `left` where the plot may begin at the earliest, `room` what stays free at its
    right for the names of lines. [units of the drawing]

    Raises
    ------
    ChartError
        If `width` is less than 240: nothing would be readable on it.
    """
    check_width(width)
    narrow = width < NARROW
    longest = max(len(figure_text(end, up.decimals) + up.suffix) for end in (up.low, up.high))
    left = round(max(left, width_of("0" * longest) + ASIDE + GAP), 2)
    right = round(width - max(MARGIN, room), 2)
    height = plot_height if plot_height is not None else round(width * (0.78 if narrow else 0.52))
    head = top + LETTER + HEAD + ABOVE
    flat = Plot(
        Scale(across.low, across.high, left, right), Scale(up.low, up.high, head + height, head), across.name, up.name
    )
    lift = rows_of_rules(rules, flat) * ROW
    return replace(flat, up=replace(flat.up, start=flat.bottom + lift, end=flat.top + lift))


def on_one_sheet(
    *,
    uid: str,
    kind: str,
    title: str,
    words: str,
    width: float,
    plot: Plot,
    across: Axis,
    up: Axis,
    palette: Palette,
    key: Sequence[tuple[Pen, str, str]] = (),
    under: Sequence[Layer] = (),
    rules: Sequence[Layer] = (),
    layers: Sequence[Layer] = (),
    nodes: Sequence[Node] = (),
    findings: Sequence[PlacedFinding] = (),
    texts: Sequence[Text] = (),
    rows: int = 0,
    editable: bool = False,
    step: float | None = None,
) -> Graph:
    """The finished drawing of one plot, with `rows` rows of rule names over it.

    Raises
    ------
    ChartError
        If `uid` could not stand in an id.
    """
    check_uid(uid)
    paper = lay(plot, across, up, palette, lift=rows * ROW)
    entries, key_height = place_key(key, plot.left, plot.right, plot.bottom + FOOT, palette)
    return Graph(
        uid,
        kind,
        title,
        words,
        width,
        plot.bottom + FOOT + key_height + BELOW,
        (paper,),
        tuple(under),
        tuple(rules),
        tuple(layers),
        tuple(nodes),
        tuple(findings),
        tuple(texts),
        entries,
        palette,
        editable,
        step,
    )


def check_width(width: float) -> None:
    """Refuse a drawing on which nothing could be read.

    Raises
    ------
    ChartError
        If it is narrower than 240.
    """
    if not 240 <= width < math.inf:
        raise ChartError(f"a drawing must be 240 or wider, not {width:g}")


def check_uid(uid: str) -> None:
    """Refuse a `uid` that is no plain word: it becomes part of ids.

    Raises
    ------
    ChartError
        If it is empty or holds anything but letters, digits, '-' and '_'.
    """
    if not uid or not all(letter.isalnum() or letter in "-_" for letter in uid):
        raise ChartError(f"the name of a drawing is letters, digits, '-' and '_', not '{uid}'")
