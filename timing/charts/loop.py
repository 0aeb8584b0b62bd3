"""The loop of a map: version, read-back, drive, notes, proposal, and on to the next version, row by row."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple, TypeAlias

from timing.charts.drawing import Drawing
from timing.charts.errors import ChartError
from timing.charts.layout import WIDE, check_width
from timing.charts.page import CAPITAL, GAP, LETTER, LINE, NARROW, Text
from timing.charts.palette import PRINT, Palette
from timing.charts.scale import place
from timing.charts.styles import Layer, Style
from timing.charts.svg import uid_for

StationState: TypeAlias = Literal["done", "now", "ahead"]

RADIUS = 7.0  # [units of the drawing] Of a station.
EDGE = 72.0  # [units of the drawing] From the edge of a wide drawing to the middle of its first station.


class Station(NamedTuple):
    """One step of a round.

    Attributes
    ----------
    name : str
        'version 2', 'read back', 'driven'.
    detail : str
        What came of it, in a few letters.
    state : 'done', 'now' or 'ahead'
        A full disc, a ring, a dashed ring.
    """

    name: str
    detail: str
    state: StationState


class LoopChart(Drawing):
    """Rounds of the loop below each other."""

    __slots__ = ()
    kind = "loop"


def loop_chart(
    rounds: Sequence[Sequence[Station]],
    *,
    uid: str | None = None,
    title: str = "From version to version",
    width: float = WIDE,
    palette: Palette = PRINT,
) -> LoopChart:
    """The rounds of a map's loop: on a wide drawing a row each, on a narrow one a line for each station.

    Parameters
    ----------
    rounds : sequence of sequence of Station
        The first round first; none is empty.
    uid : str, optional
        Unique on the page; becomes part of ids. Derived from the drawing where it is left out.
    title : str
        Name of the drawing.
    width : float
        Below 480 it is laid out for a phone or half a column. [units of the drawing]
    palette : Palette
        Colours of print, which a screen overrides by class.

    Returns
    -------
    LoopChart
        The drawing, described round by round.

    Raises
    ------
    ChartError
        If there is no round, or one has no station.
    """
    check_width(width)
    if not rounds or not all(rounds):
        raise ChartError("a loop needs at least one round, and each round a station")
    places = _in_lines(rounds) if width < NARROW else _in_rows(rounds, width)
    stations = [station for one in rounds for station in one]
    line = "M" + "L".join(f"{place(x)} {place(y)}" for x, y in _way(rounds, places, width))
    layers = [Layer("way", Style("chart-earlier", palette.pencil), line)]
    layers += [
        Layer("station", _style(station.state, palette), _disc(x, y), station.name)
        for station, (x, y) in zip(stations, places, strict=True)
    ]
    lowest = max(y for _, y in places)
    return LoopChart(
        uid=uid_for(uid, "loop", rounds, title, width),
        title=title,
        description=" ".join(_said(one) for one in rounds),
        width=width,
        height=round(lowest + (RADIUS if width < NARROW else RADIUS + 2 * LINE + GAP) + GAP, 2),
        layers=tuple(layers),
        texts=tuple(
            text
            for station, at in zip(stations, places, strict=True)
            for text in _lettering(station, at, width, palette)
        ),
        palette=palette,
    )


def _said(stations: Sequence[Station]) -> str:
    words = {"done": "", "now": " (now)", "ahead": " (still to come)"}
    return f"{', '.join(f'{one.name}: {one.detail}' + words[one.state] for one in stations)}."


def _in_rows(rounds: Sequence[Sequence[Station]], width: float) -> list[tuple[float, float]]:
    step = (width - 2 * EDGE) / max(len(one) - 1 for one in [*rounds, [None, None]])
    row = 2 * RADIUS + 3 * LINE + GAP
    return [
        (round(EDGE + at * step, 2), round(RADIUS + GAP + number * row, 2))
        for number, one in enumerate(rounds)
        for at in range(len(one))
    ]


def _in_lines(rounds: Sequence[Sequence[Station]]) -> list[tuple[float, float]]:
    count = sum(len(one) for one in rounds)
    return [(RADIUS + GAP, round(RADIUS + GAP + at * 2 * LINE, 2)) for at in range(count)]


def _way(
    rounds: Sequence[Sequence[Station]], places: Sequence[tuple[float, float]], width: float
) -> list[tuple[float, float]]:
    """Along the stations; from the end of a row back to the beginning of the next, between the two."""
    if width < NARROW:
        return list(places)
    way: list[tuple[float, float]] = []
    at = 0
    for one in rounds:
        row = places[at : at + len(one)]
        if way:
            over = row[0][1] - RADIUS - GAP
            way += [
                (way[-1][0] + EDGE - GAP, way[-1][1]),
                (way[-1][0] + EDGE - GAP, over),
                (GAP, over),
                (GAP, row[0][1]),
            ]
        way += row
        at += len(one)
    return way


def _lettering(station: Station, at: tuple[float, float], width: float, palette: Palette) -> list[Text]:
    x, y = at
    if width < NARROW:
        beside = x + RADIUS + 2 * GAP
        said = f"{station.name}: {station.detail}" if station.detail else station.name
        return [Text(beside, round(y + CAPITAL / 2, 2), said, "start", "chart-name", palette.ink)]
    under = y + RADIUS + LINE
    return [
        Text(x, round(under, 2), station.name, "middle", "chart-name", palette.ink),
        Text(x, round(under + LINE, 2), station.detail, fill=palette.pencil, size=LETTER),
    ]


def _style(state: StationState, palette: Palette) -> Style:
    if state == "done":
        return Style("chart-station-done", palette.ink, fill=palette.ink)
    if state == "now":
        return Style("chart-station-now", palette.marking, 3.0, fill=palette.sheet)
    return Style("chart-station-ahead", palette.pencil, dash="3 3", fill=palette.sheet)


def _disc(x: float, y: float) -> str:
    half = f"a{place(RADIUS)} {place(RADIUS)} 0 1 0"
    return f"M{place(x - RADIUS)} {place(y)}{half} {place(2 * RADIUS)} 0{half} {place(-2 * RADIUS)} 0Z"
