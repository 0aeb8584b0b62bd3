"""How a drawing is laid out: head, plot, foot and key, and the room that lettering takes beside a plot."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from timing import inputs
from timing.charts.errors import ChartError
from timing.charts.findings import PlacedFinding
from timing.charts.graph import Graph
from timing.charts.marks import Node, Rule, place_key, rows_of_rules
from timing.charts.page import (
    ASIDE,
    GAP,
    HEAD,
    LETTER,
    LINE,
    MARGIN,
    NARROW,
    ROW,
    Axis,
    Plot,
    Text,
    panel_of,
    width_of,
)
from timing.charts.palette import Palette
from timing.charts.points import optional
from timing.charts.scale import Scale, figure_text
from timing.charts.styles import Layer, Style
from timing.charts.svg import uid_for

WIDE = 720.0  # [units of the drawing]
ABOVE = 6.0  # [units of the drawing] Free over the first line of lettering.
BELOW = 2.0  # [units of the drawing] Free under the last row of the key.
FOOT = 2 * LINE + 6  # [units of the drawing] Figures and name beneath a plot.


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

    Parameters
    ----------
    across, up : Axis
        What the axes show.
    width : float
        Width of the drawing. [units of the drawing]
    plot_height : float, optional
        Height of the plot; by default a share of the width. [units of the drawing]
    top : float
        Where its head begins. [units of the drawing]
    left : float
        Where the plot may begin at the earliest. [units of the drawing]
    room : float
        What stays free at its right for the names of lines. [units of the drawing]
    rules : sequence of Rule
        Rules whose names stand in rows over the plot.

    Returns
    -------
    Plot
        Its place and scales.

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
    uid: str | None,
    kind: str,
    title: str,
    description: str,
    width: float,
    plot: Plot,
    across: Axis,
    up: Axis,
    palette: Palette,
    key: Sequence[tuple[Style, str, str]] = (),
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

    Parameters
    ----------
    uid : str or None
        Unique on the page; derived from the drawing where it is None.
    kind, title, description : str
        As `Graph` has them.
    width : float
        Width of the drawing. [units of the drawing]
    plot : Plot
        Where the plot lies, as `sheet_plot` gives it.
    across, up : Axis
        What its axes show.
    palette : Palette
        Colours.
    key : sequence of (Style, sample, text)
        As for `place_key`.
    under, rules, layers, nodes, findings, texts
        As `Graph` has them.
    rows : int
        How many rows of rule names stand over the plot.
    editable : bool
        Whether nodes are sliders to be focused and moved.
    step : float or None
        What one press of a key moves a node by. [unit of the upward axis]

    Returns
    -------
    Graph
        The drawing.

    Raises
    ------
    ChartError
        If `uid` could not stand in an id.
    """
    paper = panel_of(plot, across, up, palette, lift=rows * ROW)
    entries, key_height = place_key(key, plot.left, plot.right, plot.bottom + FOOT, palette)
    return Graph(
        uid_for(uid, kind, title, description, width, layers, nodes),
        kind,
        title,
        description,
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
        optional(step, "the step of a node", low=0),
    )


def check_width(width: float) -> None:
    """Refuse a drawing on which nothing could be read.

    Raises
    ------
    ChartError
        If it is narrower than 240.
    """
    if inputs.number(width, "the width of a drawing") < 240:
        raise ChartError(f"a drawing must be 240 or wider, not {width:g}")


def room_beside(axis: Axis) -> float:
    """Where a plot may begin at the earliest, so that the longest figure of its upward axis stands on the paper.

    The longest is seldom at an end: '−0.5°' is longer than '−2°'. [units of the drawing]
    """
    figures = Scale(axis.low, axis.high, 0.0, 1.0).graduations(axis.strong)
    return max(width_of(figure_text(figure, axis.decimals) + axis.suffix) for figure in figures) + ASIDE + GAP
