"""Reads arcs of a circle back out of path data."""

import math
import re
from dataclasses import dataclass

from tests.timing.charts.drawn import NUMBER


@dataclass(frozen=True)
class Arc:
    """An arc as it is drawn: its ends, its radius, and the centre it goes about."""

    start: tuple[float, float]
    end: tuple[float, float]
    radius: float
    centre: tuple[float, float]
    clockwise: bool

    def from_upright(self) -> tuple[float, float]:
        """Its ends in degrees clockwise from upright, as seen on the drawing."""
        return turned(self.start, self.centre), turned(self.end, self.centre)


def turned(place, centre) -> float:
    """Degrees clockwise from upright, as seen on the drawing."""
    return math.degrees(math.atan2(place[0] - centre[0], centre[1] - place[1]))


def arcs(d: str) -> list[Arc]:
    """Every arc of a path of straight lines and arcs, none of them more than half a turn."""
    assert re.fullmatch(
        rf"(?:M{NUMBER} {NUMBER}(?:L{NUMBER} {NUMBER}|A{NUMBER} {NUMBER} 0 0 [01] {NUMBER} {NUMBER})*Z?)+", d
    ), d
    steps = re.findall(rf"([ML])({NUMBER}) ({NUMBER})|(A)({NUMBER}) \5 0 0 ([01]) ({NUMBER}) ({NUMBER})|(Z)", d)
    found, here = [], (0.0, 0.0)
    for line, x, y, arc, radius, sweep, end_x, end_y, _ in steps:
        if line:
            here = float(x), float(y)
        elif arc:
            end = float(end_x), float(end_y)
            found.append(_arc(here, end, float(radius), sweep == "1"))
            here = end
    assert len(found) == d.count("A"), d  # both radii of each are the same
    return found


def _arc(start, end, radius, sweep) -> Arc:
    """Source of the centre: W3C, Scalable Vector Graphics 1.1 (second edition), F.6.5, for a circle and f_A = 0."""
    half = ((start[0] - end[0]) / 2, (start[1] - end[1]) / 2)
    square = half[0] ** 2 + half[1] ** 2
    root = math.sqrt(max(radius**2 / square - 1, 0.0)) * (1 if sweep else -1)
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    return Arc(start, end, radius, (middle[0] + root * half[1], middle[1] - root * half[0]), sweep)


def circle(d: str) -> tuple[tuple[float, float], float]:
    """Centre and radius of a full circle made of two half turns."""
    read = re.fullmatch(
        rf"M({NUMBER}) ({NUMBER})a({NUMBER}) \3 0 1 0 ({NUMBER}) 0a\3 \3 0 1 0 (-{NUMBER}) 0Z",
        d,
    )
    assert read, d
    x, y, radius, there, back = map(float, read.groups())
    assert there == -back
    assert abs(there - 2 * radius) < 0.02
    return (x + radius, y), radius
