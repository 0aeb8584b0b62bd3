"""What is set down on the paper: crosses, nodes, rules with their names, findings in their marks, the key."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from timing import inputs
from timing.charts import styles
from timing.charts.errors import ChartError
from timing.charts.page import ASIDE, CAPITAL, CENTRED, GAP, INSET, LETTER, ROW, Plot, Text, width_of
from timing.charts.palette import Palette
from timing.charts.scale import Point, figure_text, path, place
from timing.charts.styles import Layer, Style

KINDS = ("stop", "caution", "note")
MARK = 10.5  # [units of the drawing] Half the height of a finding's mark: a letter must be readable inside it.
IN_TRIANGLE = 0.48 * LETTER  # [units of the drawing] As CENTRED, where the mark is wide at its foot.

# Where a mark may stand, in halves of a mark:
RINGS = tuple(2.8 + 1.1 * ring for ring in range(24))  # from what it speaks of
LONGEST_LEADER = 12.0  # beyond it a mark that covers the curve is better than one far away
FROM_EDGE = 1.5  # from the edge of the plot
FROM_MARK = 2.6  # between two marks
FROM_CURVE = 1.7  # between a mark and the curve
FROM_LEADER = 1.5  # between a mark and another's leader
# Straight above first, then fanned out to both sides, at last beneath. [degrees from upright]
TURNS = (0, -25, 25, -50, 50, -75, 75, 180, -155, 155, -130, 130, -105, 105)

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
class FindingMark:
    """A finding to be shown where it speaks of.

    Attributes
    ----------
    letter : str
        The letter repeated beside the sentence.
    kind : str
        'stop', 'caution' or 'note'.
    low_rpm, high_rpm : float
        The stretch it speaks of; equal for a single speed. [rpm]
    sentence : str
        The sentence, for those who cannot see the mark.

    Raises
    ------
    ChartError
        For another kind, a letter of more than two characters, or a stretch that runs backwards.
    """

    letter: str
    kind: str
    low_rpm: float
    high_rpm: float
    sentence: str = ""

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ChartError(f"a finding is a stop, a caution or a note, not '{self.kind}'")
        if not 1 <= len(self.letter) <= 2:
            raise ChartError(f"a mark has room for one or two letters, not '{self.letter}'")
        for name in ("low_rpm", "high_rpm"):
            object.__setattr__(self, name, inputs.number(getattr(self, name), f"the stretch of finding {self.letter}"))
        if self.low_rpm > self.high_rpm:
            raise ChartError(f"finding {self.letter} cannot speak of {self.low_rpm:g} to {self.high_rpm:g} rpm")


@dataclass(frozen=True, slots=True)
class PlacedFinding:
    """A finding's mark on the drawing: outline, letter, and the leader down to what it speaks of."""

    letter: str
    kind: str
    sentence: str
    x: float
    y: float
    letter_y: float
    outline: str
    leader: str
    colour: str


def outline(kind: str, x: float, y: float, half: float = MARK) -> str:
    """Path data of the mark: an octagon for stop, a triangle for caution, a dot for a note.

    Parameters
    ----------
    kind : 'stop', 'caution' or 'note'
        Which mark.
    x, y : float
        Its middle. [units of the drawing]
    half : float
        Half its height. [units of the drawing]

    Returns
    -------
    str
        Path data.
    """
    if kind == "note":
        return (
            f"M{place(x - half)} {place(y)}a{place(half)} {place(half)} 0 1 0 {place(2 * half)} 0"
            f"a{place(half)} {place(half)} 0 1 0 {place(-2 * half)} 0Z"
        )
    if kind == "caution":
        return path([(x, y - half * 1.25), (x + half * 1.3, y + half), (x - half * 1.3, y + half)], closed=True)
    cut = half * math.tan(math.pi / 8)
    corners = [
        (-cut, -half),
        (cut, -half),
        (half, -cut),
        (half, cut),
        (cut, half),
        (-cut, half),
        (-half, cut),
        (-half, -cut),
    ]
    return path([(x + dx, y + dy) for dx, dy in corners], closed=True)


def place_findings(
    findings: Sequence[FindingMark], plot: Plot, line: Sequence[Point], palette: Palette
) -> tuple[PlacedFinding, ...]:
    """Each mark beside the middle of its stretch of a curve, clear of the curve, the others and the edges.

    `line` holds the corners of the curve from edge to edge. [units of the drawing]

    Parameters
    ----------
    findings : sequence of FindingMark
        What is marked.
    plot : Plot
        What the marks have to stay on.
    line : sequence of (x, y)
        The corners of the curve from edge to edge. [units of the drawing]
    palette : Palette
        Colours.

    Returns
    -------
    tuple of PlacedFinding
        From the lowest speed upwards.
    """
    placed: list[PlacedFinding] = []
    taken: list[tuple[Point, Point]] = []  # centre and foot
    for finding in sorted(findings, key=lambda one: (one.low_rpm + one.high_rpm, one.letter)):
        along = plot.across.clamped((finding.low_rpm + finding.high_rpm) / 2)
        foot = (along, min(max(height_at(line, along), plot.top), plot.bottom))
        x, y = centre = _free_place(foot, plot, line, taken)
        taken.append((centre, foot))
        placed.append(
            PlacedFinding(
                finding.letter,
                finding.kind,
                finding.sentence,
                round(x, 2),
                round(y, 2),
                round(y + (IN_TRIANGLE if finding.kind == "caution" else CENTRED), 2),
                outline(finding.kind, x, y),
                path([_rim(centre, foot), foot]),
                styles.finding_colour(palette, finding.kind),
            )
        )
    return tuple(placed)


def _rim(centre: Point, foot: Point) -> Point:
    """Where the leader from a mark to its foot begins."""
    angle = math.atan2(foot[1] - centre[1], foot[0] - centre[0])
    return centre[0] + MARK * math.cos(angle), centre[1] + MARK * math.sin(angle)


def _free_place(foot: Point, plot: Plot, line: Sequence[Point], taken: Sequence[tuple[Point, Point]]) -> Point:
    """The nearest free centre for a mark that speaks of `foot`; in a crowd, one that at least covers no other."""
    edge = MARK * FROM_EDGE
    crowded = None
    for far in RINGS:
        for turn in TURNS:
            x = foot[0] + MARK * far * math.sin(math.radians(turn))
            y = foot[1] - MARK * far * math.cos(math.radians(turn))
            if not (plot.left + edge <= x <= plot.right - edge and plot.top + edge <= y <= plot.bottom - edge):
                continue
            if any(math.dist((x, y), other) < MARK * FROM_MARK for other, _ in taken):
                continue
            crowded = crowded or (x, y)
            if far < LONGEST_LEADER and _is_clear((x, y), foot, line, taken):
                return x, y
    return crowded or (
        min(max(foot[0], plot.left + edge), plot.right - edge),
        min(max(foot[1] - MARK * RINGS[0], plot.top + edge), plot.bottom - edge),
    )


def _is_clear(centre: Point, foot: Point, line: Sequence[Point], taken: Sequence[tuple[Point, Point]]) -> bool:
    """Whether a mark covers no curve, its leader crosses no other mark and no other leader crosses it."""
    if any(distance(centre, *ends) < MARK * FROM_CURVE for ends in pairwise(line)):
        return False
    return all(
        min(distance(other, centre, foot), distance(centre, other, its_foot)) >= MARK * FROM_LEADER
        for other, its_foot in taken
    )


def height_at(line: Sequence[Point], along: float) -> float:
    """Where the line with the corners `line` stands at `along`. [units of the drawing]

    Parameters
    ----------
    line : sequence of (x, y)
        Its corners, from left to right. [units of the drawing]
    along : float
        Where. [units of the drawing]

    Returns
    -------
    float
        Its place upwards. [units of the drawing]
    """
    return float(np.interp(along, [x for x, _ in line], [y for _, y in line]))


def distance(point: Point, start: Point, end: Point) -> float:
    """From `point` to the straight between `start` and `end`.

    Parameters
    ----------
    point, start, end : (x, y)
        The point, and the ends of the straight. [units of the drawing]

    Returns
    -------
    float
        [units of the drawing]
    """
    along = (end[0] - start[0], end[1] - start[1])
    length = along[0] ** 2 + along[1] ** 2
    if not length:
        return math.dist(point, start)
    part = ((point[0] - start[0]) * along[0] + (point[1] - start[1]) * along[1]) / length
    part = min(max(part, 0.0), 1.0)
    return math.dist(point, (start[0] + part * along[0], start[1] + part * along[1]))


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
