"""Figures of several groups one beneath another: for each its middle, its middle half, and how far it reaches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from timing import inputs
from timing.charts import styles
from timing.charts.errors import ChartError
from timing.charts.graph import Graph
from timing.charts.layout import WIDE, check_width, on_one_sheet, sheet_plot
from timing.charts.page import ASIDE, CAPITAL, LETTER, NARROW, Axis, Plot, Text, plain_axis
from timing.charts.palette import PRINT, Palette
from timing.charts.points import axis_ends
from timing.charts.scale import figure_text, outward, path, round_step
from timing.charts.styles import Layer, Style

ROW_HEIGHT = 40.0  # [units of the drawing] A line of lettering, and the line it speaks of beneath.
TICK = 7.0  # [units of the drawing] Half of the height of the mark in the middle.


@dataclass(frozen=True, slots=True)
class Row:
    """One group, in the unit of the axis.

    Attributes
    ----------
    label : str
        Which group, and of how many.
    middle : float or None
        Median or share; None where so few say nothing, and only the label stands there.
    low, high : float
        How far it reaches: lowest and highest, or where the share of all is likely to lie.
    half : (float, float) or None
        Quarter and three quarters, where there are such.
    """

    label: str
    middle: float | None = None
    low: float = 0.0
    high: float = 0.0
    half: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if self.middle is None:
            return
        half = axis_ends(self.half, f"the middle half of {self.label}")
        quarter, three_quarters = ([half[0]], [half[1]]) if half else ([], [])
        figures = [
            inputs.number(figure, f"a figure of {self.label}")
            for figure in (self.low, *quarter, self.middle, *three_quarters, self.high)
        ]
        if figures != sorted(figures):
            raise ChartError(f"the figures of {self.label} do not rise from lowest to highest")


def rows_chart(
    rows: Sequence[Row],
    *,
    axis_name: str,
    group_name: str,
    uid: str | None = None,
    title: str = "Groups beside one another",
    suffix: str = "",
    limits: tuple[float, float] | None = None,
    reach_name: str = "lowest to highest",
    middle_name: str = "median",
    width: float = WIDE,
    palette: Palette = PRINT,
) -> Graph:
    """One row a group: its middle as a stroke, its middle half broad, its reach as a thin line.

    Parameters
    ----------
    rows : sequence of Row
        From the top; at least one.
    axis_name, group_name : str
        What is measured, with its unit, and what the rows are.
    uid, title, width, palette
        As `speed_chart`.
    suffix : str
        Printed after every figure along the axis.
    limits : (low, high), optional
        Ends of the axis; by default from nought to a round figure that holds everything.
    reach_name, middle_name : str
        What the thin line and the stroke are called in the key.

    Returns
    -------
    Graph
        The drawing.

    Raises
    ------
    TimingError
        If there is no row.
    """
    check_width(width)
    if not rows:
        raise ChartError("there is nothing to draw: no group")
    told = [(place, row) for place, row in enumerate(rows) if row.middle is not None]
    low, high = axis_ends(limits, "the ends of the axis") or _round_ends([row for _, row in told])
    across = plain_axis(low, high, axis_name, 5 if width < NARROW else 10, suffix)
    nowhere = 10.0 * (len(rows) + 1)  # no graduation between the rows: they are no scale
    up = Axis(0.5, len(rows) + 0.5, group_name, nowhere, nowhere, (nowhere,))
    plot = sheet_plot(across, up, width=width, plot_height=ROW_HEIGHT * len(rows))
    halves = [(place, row.half) for place, row in told if row.half is not None]
    layers = [
        Layer("reach", styles.whole_range(palette), "".join(_level(plot, n, row.low, row.high) for n, row in told)),
        Layer("half", styles.middle_half(palette), "".join(_level(plot, n, *half) for n, half in halves)),
        Layer("middle", styles.middle(palette), "".join(_stroke(plot, n, row.middle or 0.0) for n, row in told)),
    ]
    return on_one_sheet(
        uid=uid,
        kind="rows",
        title=title,
        description=_description(rows, middle_name, reach_name, suffix),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=_key(bool(told), bool(halves), middle_name, reach_name, palette),
        layers=[layer for layer in layers if layer.d],
        texts=[_label(plot, place, row, palette) for place, row in enumerate(rows)],
    )


def _round_ends(rows: Sequence[Row]) -> tuple[float, float]:
    highest = max((row.high for row in rows), default=0.0) or 1.0
    lowest = min(0.0, *(row.low for row in rows)) if rows else 0.0
    return outward(lowest, highest, round_step(highest - lowest, 5))


def _height(plot: Plot, place: int) -> float:
    """Where the line of a row lies, under its label. [units of the drawing]"""
    return plot.top + ROW_HEIGHT * (place + 1) - TICK - 4.0


def _level(plot: Plot, place: int, low: float, high: float) -> str:
    y = _height(plot, place)
    return path([(plot.across.at(low), y), (plot.across.at(high), y)])


def _stroke(plot: Plot, place: int, figure: float) -> str:
    x, y = plot.across.at(figure), _height(plot, place)
    return path([(x, y - TICK), (x, y + TICK)])


def _label(plot: Plot, place: int, row: Row, palette: Palette) -> Text:
    y = plot.top + ROW_HEIGHT * place + CAPITAL + 5.0
    return Text(plot.left + ASIDE, round(y, 2), row.label, "start", "chart-key", palette.ink, LETTER)


def _key(told: bool, halves: bool, middle_name: str, reach_name: str, palette: Palette) -> list[tuple[Style, str, str]]:
    entries = [(styles.middle(palette), "line", middle_name)] if told else []
    if halves:
        entries.append((styles.middle_half(palette), "line", "middle half"))
    if told:
        entries.append((styles.whole_range(palette), "line", reach_name))
    return entries


def _description(rows: Sequence[Row], middle_name: str, reach_name: str, suffix: str) -> str:
    def said(figure: float) -> str:
        return f"{figure_text(figure)}{suffix}"

    sentences = []
    for row in rows:
        if row.middle is None:
            sentences.append(f"{row.label}: too few.")
            continue
        half = f"middle half {said(row.half[0])} to {said(row.half[1])}, " if row.half else ""
        sentences.append(
            f"{row.label}: {middle_name} {said(row.middle)}, {half}{reach_name} {said(row.low)} to {said(row.high)}."
        )
    return " ".join(sentences)
