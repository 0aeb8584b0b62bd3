"""Graph paper: the plot, its fine and strong graduations, the figures along it and the names at its ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from timing.charts import styles
from timing.charts.palette import Palette
from timing.charts.scale import CLOSEST_GRADUATION, Scale, figure_text, path, place, round_step
from timing.charts.styles import Layer

LETTER = 13.0  # [units of the drawing] Height of the lettering; a drawing is shown near its own size.
INSET = 3.0  # [units of the drawing] Free at the left of a drawing, before its first lettering.
MARGIN = 14.0  # [units of the drawing] Free at the right of a plot, for half of the last figure.
LETTER_WIDTH = 0.62  # [share of the height] A figure of a wide sans; others are narrower.
CENTRED = 0.36 * LETTER  # [units of the drawing] From the middle of a figure down to its base line.
CAPITAL = 10.0  # [units of the drawing] Height of figures and capitals above their base line. Generous.
LINE = LETTER + 5.0  # [units of the drawing] From one line of lettering under a plot to the next.
ROW = LETTER + 3.0  # [units of the drawing] From one row of names over a plot to the next.
ASIDE = 7.0  # [units of the drawing] Between the plot, or a sample in the key, and the lettering beside it.
GAP = 5.0  # [units of the drawing] Least distance of lettering from what is drawn and from the edge.
HEAD = 14.0  # [units of the drawing] From the plot up to the base line of the name over its left corner.
NARROW = 480.0  # [units of the drawing] Below this width a drawing is meant for a phone or half a column.


@dataclass(frozen=True, slots=True)
class Text:
    """A line of lettering; `y` is its base line, `anchor` start, middle or end."""

    x: float
    y: float
    text: str
    anchor: str = "middle"
    css: str = "chart-figure"
    fill: str = ""
    size: float = LETTER
    weight: int = 400


def width_of(text: str, size: float = LETTER) -> float:
    """About how wide `text` comes out. [units of the drawing] Generous, for wide fonts.

    Parameters
    ----------
    text : str
        The lettering.
    size : float
        Its height. [units of the drawing]

    Returns
    -------
    float
        [units of the drawing]
    """
    return len(text) * size * LETTER_WIDTH


@dataclass(frozen=True, slots=True)
class Axis:
    """What one axis shows and how it is graduated.

    Attributes
    ----------
    low, high : float
        Its ends. [its own unit]
    name : str
        Quantity and unit, printed at the end of the axis.
    fine, strong : float
        Steps of the fine and of the strong graduations. [its own unit]
    figures : tuple of float
        Steps at which figures may stand; the closest that leaves room is taken.
    suffix : str
        Printed after every figure, such as the degree sign.
    decimals : int
        Most decimals of a figure.
    """

    low: float
    high: float
    name: str
    fine: float
    strong: float
    figures: tuple[float, ...]
    suffix: str = ""
    decimals: int = 0


def rpm_axis(low: float, high: float, name: str = "crank rpm") -> Axis:
    """Engine speed: fine graduations of 100 rpm, strong ones of 500.

    Parameters
    ----------
    low, high : float
        Its ends. [rpm]
    name : str
        Quantity and unit, printed at its end.

    Returns
    -------
    Axis
        The axis.
    """
    return Axis(low, high, name, 100.0, 500.0, (500.0, 1000.0, 2000.0, 5000.0))


def degrees_axis(low: float, high: float, name: str) -> Axis:
    """Degrees of crank: fine graduations of 1 degree, strong ones of 5.

    Parameters
    ----------
    low, high : float
        Its ends. [degrees of crank]
    name : str
        Quantity and unit, printed at its end.

    Returns
    -------
    Axis
        The axis.
    """
    return Axis(low, high, name, 1.0, 5.0, (5.0, 10.0, 20.0), suffix="°")


def plain_axis(low: float, high: float, name: str, parts: int = 8, suffix: str = "") -> Axis:
    """Any other quantity: strong graduations at a round step, five fine ones to each (four to a 2).

    Parameters
    ----------
    low, high : float
        Its ends. [its own unit]
    name : str
        Quantity and unit, printed at its end.
    parts : int
        Most strong graduations.
    suffix : str
        Printed after every figure.

    Returns
    -------
    Axis
        The axis.
    """
    strong = round_step(high - low, parts)
    leading = f"{strong:e}"[0]
    fine = strong / (4 if leading == "2" else 5)
    decimals = 0 if strong >= 1 else 1 if strong >= 0.1 else 2
    return Axis(low, high, name, fine, strong, (strong, strong * 2, strong * 4), suffix, decimals)


@dataclass(frozen=True, slots=True)
class Plot:
    """The ruled part of the paper, and the way between a figure and its place.

    Attributes
    ----------
    across, up : Scale
        The scales; `up` runs from the bottom to the top, so its places fall as figures rise.
    across_name, up_name : str
        What the axes show.
    """

    across: Scale
    up: Scale
    across_name: str
    up_name: str

    @property
    def left(self) -> float:
        """Its left edge. [units of the drawing]"""
        return self.across.start

    @property
    def right(self) -> float:
        """Its right edge. [units of the drawing]"""
        return self.across.end

    @property
    def top(self) -> float:
        """Its upper edge. [units of the drawing]"""
        return self.up.end

    @property
    def bottom(self) -> float:
        """Its lower edge. [units of the drawing]"""
        return self.up.start

    @property
    def width(self) -> float:
        """From edge to edge. [units of the drawing]"""
        return round(self.right - self.left, 2)

    @property
    def height(self) -> float:
        """From edge to edge. [units of the drawing]"""
        return round(self.bottom - self.top, 2)

    def at(self, across: float, up: float) -> tuple[float, float]:
        """The place of a pair of figures. [units of the drawing]

        Parameters
        ----------
        across, up : float
            The figures. [units of the axes]

        Returns
        -------
        (float, float)
            [units of the drawing]
        """
        return self.across.at(across), self.up.at(up)


@dataclass(frozen=True, slots=True)
class Panel:
    """One plot with everything printed on and around it before the first line is drawn."""

    plot: Plot
    grid: tuple[Layer, ...]
    frame: Layer
    texts: tuple[Text, ...]


def _upright(plot: Plot, figures: Sequence[float]) -> str:
    return "".join(f"M{place(plot.across.at(x))} {place(plot.top)}V{place(plot.bottom)}" for x in figures)


def _level(plot: Plot, figures: Sequence[float]) -> str:
    return "".join(f"M{place(plot.left)} {place(plot.up.at(y))}H{place(plot.right)}" for y in figures)


def _between(scale: Scale, step: float, strong: float) -> list[float]:
    """The fine graduations that no strong one covers; none at all where they would run together."""
    if abs(step * scale.per_unit) < CLOSEST_GRADUATION:
        return []
    covered = set(scale.graduations(strong))
    return [figure for figure in scale.graduations(step) if figure not in covered]


def panel_of(plot: Plot, across: Axis, up: Axis, palette: Palette, *, foot: bool = True, lift: float = 0.0) -> Panel:
    """The paper for `plot`.

    Without `foot` the figures and the name along the bottom are left out; `lift` raises the name of the
    upward axis above whatever else stands over the plot. [units of the drawing]

    Parameters
    ----------
    plot : Plot
        Where it lies.
    across, up : Axis
        What its axes show.
    palette : Palette
        Colours.
    foot : bool
        Whether figures and name stand along the bottom.
    lift : float
        What raises the name of the upward axis above whatever else stands over the plot. [units of the drawing]

    Returns
    -------
    Panel
        The plot with everything printed on and around it.
    """
    d_fine = _upright(plot, _between(plot.across, across.fine, across.strong)) + _level(
        plot, _between(plot.up, up.fine, up.strong)
    )
    d_strong = _upright(plot, plot.across.graduations(across.strong)) + _level(plot, plot.up.graduations(up.strong))
    grid = (Layer("fine", styles.fine(palette), d_fine), Layer("strong", styles.strong(palette), d_strong))
    corner = path([(plot.left, plot.top), (plot.left, plot.bottom), (plot.right, plot.bottom)])
    texts = _beside(plot, up, lift, palette)
    if foot:
        texts += _beneath(plot, across, palette)
    return Panel(plot, grid, Layer("frame", styles.axis(palette), corner), tuple(texts))


def _beneath(plot: Plot, axis: Axis, palette: Palette) -> list[Text]:
    longest = max(len(_figure(axis, end)) for end in (axis.low, axis.high))
    step = plot.across.widest_step(axis.figures, width_of("0" * (longest + 2)))
    line = plot.bottom + LINE
    texts = []
    for figure in plot.across.graduations(step):
        label = _figure(axis, figure)
        x = min(plot.across.at(figure), plot.right + MARGIN - width_of(label) / 2)
        texts.append(Text(round(x, 2), line, label, fill=palette.pencil))
    texts.append(_name(plot.right, line + LINE, axis.name, "end", palette))
    return texts


def _beside(plot: Plot, axis: Axis, lift: float, palette: Palette) -> list[Text]:
    step = plot.up.widest_step(axis.figures, LETTER * 2)
    texts = [
        Text(
            plot.left - ASIDE,
            round(plot.up.at(figure) + CENTRED, 2),
            _figure(axis, figure),
            "end",
            fill=palette.pencil,
        )
        for figure in plot.up.graduations(step)
    ]
    texts.append(_name(INSET, plot.top - HEAD - lift, axis.name, "start", palette))
    return texts


def _figure(axis: Axis, figure: float) -> str:
    return figure_text(figure, axis.decimals) + axis.suffix


def _name(x: float, y: float, label: str, anchor: str, palette: Palette) -> Text:
    return Text(x, y, label, anchor, "chart-name", palette.ink)
