"""What is set down on the paper: crosses, nodes, rules with their names, the key."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from timing.charts import styles
from timing.charts.errors import ChartError
from timing.charts.page import ASIDE, CAPITAL, CENTRED, GAP, INSET, LETTER, ROW, Plot, Text, width_of
from timing.charts.palette import Palette
from timing.charts.scale import Point, figure_text, path, place
from timing.charts.styles import Layer, Style

RULE_HEAD = 8.0  # [units of the drawing] From the plot up to the base line of a rule's name.
BESIDE = LETTER + 2.0  # [units of the drawing] From one name beside a plot to the next.
SAMPLE = 26.0  # [units of the drawing] Length of a sample in the key.
KEY_ROW = LETTER + 7.0  # [units of the drawing] From one row of the key to the next.
KEY_GAP = 16.0  # [units of the drawing] Between two entries of the key.


def diagonal_crosses(places: Sequence[Point], arm: float = 4.0) -> str:
    """Path data of small crosses lying on their side, as one plots by hand.

    Parameters
    ----------
    places : sequence of (x, y)
        Their middles. [units of the drawing]
    arm : float
        From the middle to the tips, across and upwards. [units of the drawing]

    Returns
    -------
    str
        Path data.
    """
    return "".join(
        f"M{place(x - arm)} {place(y - arm)}L{place(x + arm)} {place(y + arm)}"
        f"M{place(x - arm)} {place(y + arm)}L{place(x + arm)} {place(y - arm)}"
        for x, y in places
    )


def upright_crosses(places: Sequence[Point], arm: float = 5.5) -> str:
    """Path data of small upright crosses.

    Parameters
    ----------
    places : sequence of (x, y)
        Their middles. [units of the drawing]
    arm : float
        From the middle to the tips, across and upwards. [units of the drawing]

    Returns
    -------
    str
        Path data.
    """
    return "".join(
        f"M{place(x - arm)} {place(y)}H{place(x + arm)}M{place(x)} {place(y - arm)}V{place(y + arm)}" for x, y in places
    )


def diamonds(places: Sequence[Point], arm: float = 5.0) -> str:
    """Path data of small open diamonds.

    Parameters
    ----------
    places : sequence of (x, y)
        Their middles. [units of the drawing]
    arm : float
        From the middle to the tips, across and upwards. [units of the drawing]

    Returns
    -------
    str
        Path data.
    """
    return "".join(
        f"M{place(x)} {place(y - arm)}L{place(x + arm)} {place(y)}L{place(x)} {place(y + arm)}"
        f"L{place(x - arm)} {place(y)}Z"
        for x, y in places
    )


@dataclass(frozen=True, slots=True)
class Node:
    """A node of the curve, for the eye and for the editor.

    Attributes
    ----------
    index : int
        Its place in the row of nodes, from 0.
    x, y : float
        Its place. [units of the drawing]
    across, up : float
        Its figures, such as rpm and degrees.
    spoken : str
        The pair in words.
    selected : bool
        Drawn filled.
    """

    index: int
    x: float
    y: float
    across: float
    up: float
    spoken: str
    selected: bool = False


@dataclass(frozen=True, slots=True)
class Rule:
    """A speed worth a line: `kind` 'idle', 'limit' or 'red-line'."""

    kind: str
    across: float
    label: str


def place_rules(rules: Sequence[Rule], plot: Plot, palette: Palette) -> tuple[tuple[Layer, ...], tuple[Text, ...]]:
    """Upright rules, each with its name over the plot and to the left of it, where no later rule can cross it.

    Parameters
    ----------
    rules : sequence of Rule
        Those outside the plot are left out.
    plot : Plot
        What they cross.
    palette : Palette
        Colours.

    Returns
    -------
    tuple of Layer, tuple of Text
        The rules and their names, from the left.
    """
    layers, texts = [], []
    for rule, row, end in _rows(rules, plot):
        x = plot.across.at(rule.across)
        style = styles.rule(palette, rule.kind)
        y = plot.top - RULE_HEAD - row * ROW
        css = f"chart-rule-name-{rule.kind}"
        layers.append(Layer(rule.kind, style, path([(x, y - CAPITAL), (x, plot.bottom)])))
        texts.append(Text(round(end, 2), y, rule.label, "end", css, style.stroke))
    return tuple(layers), tuple(texts)


def rows_of_rules(rules: Sequence[Rule], plot: Plot) -> int:
    """How many rows the names of `rules` need above `plot`.

    Parameters
    ----------
    rules : sequence of Rule
        Those outside the plot are left out.
    plot : Plot
        What they cross.

    Returns
    -------
    int
        0 for no rule.
    """
    return max((row + 1 for _, row, _ in _rows(rules, plot)), default=0)


def _rows(rules: Sequence[Rule], plot: Plot) -> list[tuple[Rule, int, float]]:
    """Each rule that falls on the plot with the row of its name, counted upwards, and where the name ends."""
    placed: list[tuple[Rule, int, float]] = []
    for rule in sorted(rules, key=lambda one: one.across):
        if not plot.across.low <= rule.across <= plot.across.high:
            continue
        span = width_of(rule.label)
        end = max(plot.across.at(rule.across) - GAP, INSET + span)
        row = 0
        for _, other_row, other_end in placed:
            # A name may not touch another, nor lie across the upper part of a rule named above it.
            if other_row >= row and other_end + 2 * GAP > end - span:
                row = other_row + 1
        placed.append((rule, row, end))
    return placed


def names_beside(ends: Sequence[tuple[float, str, str, str]], plot: Plot) -> tuple[Text, ...]:
    """Names at the right of `plot` for lines that end there, moved apart where they would touch.

    An end is the line's place at the right edge, its name, the class of the text and its colour. Names of lines that
    end in one place stand in the order given.

    Parameters
    ----------
    ends : sequence of (height, name, class, colour)
        Where each line ends at the right edge [units of the drawing], its name, and the class and colour of the text.
    plot : Plot
        What the lines end at.

    Returns
    -------
    tuple of Text
        From the top.
    """
    ordered = sorted(ends, key=lambda end: round(end[0], 2))
    heights: list[float] = []
    highest = plot.top + LETTER / 2
    for y, *_ in ordered:
        heights.append(max(y, highest))
        highest = heights[-1] + BESIDE
    lowest = plot.bottom
    for index in reversed(range(len(heights))):  # what would lie under the plot is pushed up again
        heights[index] = min(heights[index], lowest)
        lowest = heights[index] - BESIDE
    return tuple(
        Text(plot.right + ASIDE, round(y + CENTRED, 2), name, "start", css, fill)
        for y, (_, name, css, fill) in zip(heights, ordered, strict=True)
    )


@dataclass(frozen=True, slots=True)
class KeyEntry:
    """A sample of a style and what it stands for, at its place under the plot."""

    layer: Layer
    text: Text


def place_key(
    entries: Sequence[tuple[Style, str, str]], left: float, right: float, top: float, palette: Palette
) -> tuple[tuple[KeyEntry, ...], float]:
    """The key in rows from `top` down, and the height it takes.

    An entry is its style, its sample and its text; the sample is 'line', 'band', 'diagonal', 'upright' or 'diamond'.

    Parameters
    ----------
    entries : sequence of (Style, sample, text)
        The sample is 'line', 'band', 'diagonal', 'upright' or 'diamond'.
    left, right : float
        Between which the rows stand. [units of the drawing]
    top : float
        Where the first row begins. [units of the drawing]
    palette : Palette
        Colours.

    Returns
    -------
    tuple of KeyEntry, float
        The entries at their places, and the height of the rows. [units of the drawing]

    Raises
    ------
    ChartError
        For another sample.
    """
    placed = []
    x, y = left, top
    for style, sample, text in entries:
        span = SAMPLE + ASIDE + width_of(text)
        if x > left and x + span > right:
            x, y = left, y + KEY_ROW
        middle = y + KEY_ROW / 2
        layer = Layer("key", style, _sample(sample, x, middle))
        name = Text(round(x + SAMPLE + ASIDE, 2), round(middle + CENTRED, 2), text, "start", "chart-key", palette.ink)
        placed.append(KeyEntry(layer, name))
        x += span + KEY_GAP
    return tuple(placed), y - top + KEY_ROW if placed else 0.0


def _sample(sample: str, x: float, y: float) -> str:
    centre = (x + SAMPLE / 2, y)
    if sample == "band":
        return path([(x, y - 5), (x + SAMPLE, y - 5), (x + SAMPLE, y + 5), (x, y + 5)], closed=True)
    if sample == "diagonal":
        return diagonal_crosses([centre])
    if sample == "upright":
        return upright_crosses([centre])
    if sample == "diamond":
        return diamonds([centre])
    if sample == "line":
        return path([(x, y), (x + SAMPLE, y)])
    raise ChartError(f"the key has no sample '{sample}'")


def degrees(value: float) -> str:
    """Degrees as spoken and printed: '12.5°', with a true minus sign."""
    return f"{figure_text(value)}°"
