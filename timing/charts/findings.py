"""Findings on a curve: each in its mark, with a leader down to what it speaks of, clear of everything else."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from timing import inputs
from timing.charts import styles
from timing.charts.errors import ChartError
from timing.charts.page import CENTRED, LETTER, Plot
from timing.charts.palette import Palette
from timing.charts.scale import Point, path, place

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
