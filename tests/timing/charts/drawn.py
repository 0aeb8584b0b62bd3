"""Reads a drawing back: places out of path data, and figures out of places."""

import re
from itertools import pairwise

from timing.charts.page import Plot
from timing.charts.styles import Layer

NUMBER = r"-?\d+(?:\.\d+)?"


def corners(d: str) -> list[tuple[float, float]]:
    """The corners of a path made of straight lines only."""
    assert re.fullmatch(rf"(?:[ML]{NUMBER} {NUMBER}|Z)+", d), d
    return [(float(x), float(y)) for x, y in re.findall(rf"({NUMBER}) ({NUMBER})", d)]


def figures(layer: Layer, plot: Plot) -> list[tuple[float, float]]:
    """The corners of a layer as figures of the axes."""
    return [(plot.across.value(x), plot.up.value(y)) for x, y in corners(layer.d)]


def one(layers, name: str) -> Layer:
    found = [layer for layer in layers if layer.name == name]
    assert len(found) == 1, [layer.name for layer in layers]
    return found[0]


def distance_to_line(point: tuple[float, float], line: list[tuple[float, float]]) -> float:
    """From a point to the nearest of the straights between the points of a line."""
    nearest = min((point[0] - x) ** 2 + (point[1] - y) ** 2 for x, y in line) ** 0.5
    for (ax, ay), (bx, by) in pairwise(line):
        length = (bx - ax) ** 2 + (by - ay) ** 2
        if not length:
            continue
        part = max(0.0, min(1.0, ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / length))
        x, y = ax + part * (bx - ax), ay + part * (by - ay)
        nearest = min(nearest, ((point[0] - x) ** 2 + (point[1] - y) ** 2) ** 0.5)
    return nearest
