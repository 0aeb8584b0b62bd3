"""The rotor under the cap at both ends of the advance range, to scale: tip, posts, overlap and the way across."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from timing import inputs
from timing.charts import pens
from timing.charts.errors import ChartError
from timing.charts.graph import WIDE, check_uid
from timing.charts.marks import degrees
from timing.charts.palette import PRINT, Palette
from timing.charts.paper import LETTER, NARROW, Text
from timing.charts.pens import Layer
from timing.charts.scale import Point, figure_text, path, place

OUTSIDE = "outside the limits"
POST_DEPTH = 3.2  # [mm] How deep posts are drawn; nothing depends on it.
SHAFT = 4.5  # [mm] Radius of the shaft as drawn; nothing depends on it.


@dataclass(frozen=True, slots=True)
class PhasingEnd:
    """One end of the advance range.

    Attributes
    ----------
    name : str
        Such as 'cranking' or 'highest advance'.
    advance_deg : float
        The spark. [degrees of crank BTDC]
    offset_deg : float
        How far the tip is before its post at that spark; negative once it is past. [degrees of distributor]
    overlap_mm : float
        Of tip and post along the arc; negative when they do not face each other. [mm]
    own_gap_mm, neighbour_gap_mm : float
        What the spark has to jump to its own post, and to the nearest other. [mm]
    allowed : bool
        Whether this end is within the workshop's limits.

    Raises
    ------
    TimingError
        If a figure is not finite, or a gap is negative.
    """

    name: str
    advance_deg: float
    offset_deg: float
    overlap_mm: float
    own_gap_mm: float
    neighbour_gap_mm: float
    allowed: bool = True

    def __post_init__(self) -> None:
        for figure, what in (
            (self.advance_deg, "the advance"),
            (self.offset_deg, "the offset"),
            (self.overlap_mm, "the overlap"),
        ):
            inputs.number(figure, f"{what} at {self.name}")
        inputs.number(self.own_gap_mm, f"the gap at {self.name}", low=0.0, unit="mm")
        inputs.number(self.neighbour_gap_mm, f"the gap to the neighbour at {self.name}", low=0.0, unit="mm")


@dataclass(frozen=True, slots=True)
class PhasingChart:
    """Rotor and cap ready to be written out by `timing/charts/phasing.svg`; places in units of the drawing."""

    uid: str
    title: str
    words: str
    width: float
    height: float
    layers: tuple[Layer, ...]
    texts: tuple[Text, ...]
    palette: Palette

    @property
    def template(self) -> str:
        return "timing/charts/phasing.svg"

    @property
    def kind(self) -> str:
        return "phasing"

    @property
    def narrow(self) -> bool:
        """Whether it is laid out for a phone or half a column."""
        return self.width < NARROW


@dataclass(frozen=True, slots=True)
class _Cap:
    """One cap on the drawing. Angles are degrees of distributor from its own post, positive in rotation."""

    centre: Point
    per_mm: float
    clockwise: bool
    pitch: float
    tip_radius: float
    tip_width: float
    post_width: float
    radial_gap: float

    def at(self, radius_mm: float, angle: float) -> Point:
        turn = math.radians(angle if self.clockwise else -angle)
        reach = radius_mm * self.per_mm
        return self.centre[0] + reach * math.sin(turn), self.centre[1] - reach * math.cos(turn)

    def degrees_of(self, arc_mm: float) -> float:
        """The angle of an arc at the tip's radius. [degrees of distributor]"""
        return math.degrees(arc_mm / self.tip_radius)

    def arc(self, radius_mm: float, start: float, end: float, *, onward: bool = False) -> str:
        """Path data along a circle about the shaft, as a line on from where the pen is or as a stroke of its own."""
        reach = place(radius_mm * self.per_mm)
        large = 1 if abs(end - start) > 180 else 0
        sweep = 1 if (end > start) == self.clockwise else 0
        begin, finish = self.at(radius_mm, start), self.at(radius_mm, end)
        lead = "L" if onward else "M"
        return (
            f"{lead}{place(begin[0])} {place(begin[1])}"
            f"A{reach} {reach} 0 {large} {sweep} {place(finish[0])} {place(finish[1])}"
        )

    def sector(self, inner: float, outer: float, middle: float, spread: float) -> str:
        """Path data of a piece of ring, `spread` degrees wide about `middle`."""
        low, high = middle - spread / 2, middle + spread / 2
        return self.arc(inner, low, high) + self.arc(outer, high, low, onward=True) + "Z"

    def ring(self, radius_mm: float) -> str:
        reach = radius_mm * self.per_mm
        x, y = self.centre
        half = f"a{place(reach)} {place(reach)} 0 1 0"
        return f"M{place(x - reach)} {place(y)}{half} {place(2 * reach)} 0{half} {place(-2 * reach)} 0Z"


def phasing_chart(
    terminals: int,
    ends: Sequence[PhasingEnd],
    *,
    uid: str,
    tip_radius_mm: float,
    tip_width_mm: float,
    post_width_mm: float,
    radial_gap_mm: float,
    title: str = "Rotor under the cap",
    clockwise: bool = True,
    width: float = WIDE,
    palette: Palette = PRINT,
) -> PhasingChart:
    """The cap seen from above with the post whose turn it is on top, once for each end of the range.

    Parameters
    ----------
    terminals : int
        Posts of the cap, evenly spread, 2 or more.
    ends : sequence of PhasingEnd
        One or two ends of the advance range, lowest advance first.
    uid : str
        Unique on the page; becomes part of ids.
    tip_radius_mm, tip_width_mm, post_width_mm, radial_gap_mm : float
        Rotor and cap. [mm]
    clockwise : bool
        Sense of rotation, seen from above.
    width : float
        Width of the drawing; below 480 the ends stand under one another.

    Raises
    ------
    TimingError
        If there is no end or more than two, a length is not above 0, or posts overlap.
    """
    check_uid(uid)
    posts = inputs.whole(terminals, "the number of posts", low=2, high=16)
    lengths = [
        inputs.number(length, what, above=0.0, unit="mm")
        for length, what in (
            (tip_radius_mm, "the radius of the tip"),
            (tip_width_mm, "the width of the tip"),
            (post_width_mm, "the width of a post"),
            (radial_gap_mm, "the radial gap"),
        )
    ]
    radius, tip, post, gap = lengths
    if not 1 <= len(ends) <= 2:
        raise ChartError(f"the rotor is drawn at one or two ends of the range, not at {len(ends)}")
    pitch = 360.0 / posts
    if math.degrees(post / radius) >= pitch:
        raise ChartError(f"{posts} posts of {post:g} mm do not fit round a radius of {radius:g} mm")
    if not width >= 240:
        raise ChartError(f"a drawing must be 240 or wider, not {width:g}")
    stacked = width < NARROW
    room = width if stacked or len(ends) == 1 else width / 2
    outer = radius + gap + POST_DEPTH + 1.2
    reach = min(room / 2 - 30, 150.0)
    head, foot = LETTER + 16, (3 if all(end.allowed for end in ends) else 4) * (LETTER + 5)
    panel = head + 2 * reach + foot + 14
    layers: list[Layer] = []
    texts: list[Text] = []
    for index, end in enumerate(ends):
        x = room * (0.5 if stacked or len(ends) == 1 else index + 0.5)
        top = panel * index if stacked else 0.0
        cap = _Cap((x, top + head + reach), reach / outer, clockwise, pitch, radius, tip, post, gap)
        layers += _draw(cap, end, posts, outer, palette)
        texts += _name(cap, end, top, head + 2 * reach, palette)
    height = panel * (len(ends) if stacked else 1)
    return PhasingChart(
        uid,
        title,
        _in_words(posts, ends, clockwise),
        width,
        round(height, 2),
        tuple(layers),
        tuple(texts),
        palette,
    )


def _draw(cap: _Cap, end: PhasingEnd, posts: int, outer: float, palette: Palette) -> list[Layer]:
    face = cap.tip_radius + cap.radial_gap
    spread = cap.degrees_of(cap.post_width)
    tip_spread = cap.degrees_of(cap.tip_width)
    tip = -end.offset_deg  # positive offset: the tip has not yet reached its post
    others = "".join(cap.sector(face, face + POST_DEPTH, cap.pitch * n, spread) for n in range(1, posts))
    own = cap.sector(face, face + POST_DEPTH, 0.0, spread)
    layers = [
        Layer("cap", pens.cap(palette), cap.ring(outer)),
        Layer("posts", pens.post(palette), others),
        Layer("own-post", pens.own_post(palette), own),
        Layer("in-line", pens.sight(palette), path([cap.at(SHAFT + 1.5, 0.0), cap.at(face, 0.0)])),
        Layer("rotor", pens.rotor(palette), _rotor(cap, tip, tip_spread)),
        Layer("shaft", pens.rotor(palette), cap.ring(SHAFT)),
        Layer("offset", pens.sight(palette), path([cap.at(0.0, tip), cap.at(cap.tip_radius, tip)])),
        Layer("rotation", pens.rotation(palette), _arrow(cap)),
    ]
    between = cap.tip_radius + cap.radial_gap / 2
    low = max(tip - tip_spread / 2, -spread / 2)
    high = min(tip + tip_spread / 2, spread / 2)
    if low < high:
        layers.append(Layer("overlap", pens.overlap(palette, end.allowed), cap.arc(between, low, high)))
    else:  # what the spark has to jump, from edge to edge
        side = 1 if tip < 0 else -1
        leap = [cap.at(cap.tip_radius, tip + side * tip_spread / 2), cap.at(face, -side * spread / 2)]
        layers.append(Layer("leap", pens.overlap(palette, False), path(leap)))
    side = -1 if tip < 0 else 1
    start, finish = tip + side * tip_spread / 2, side * (cap.pitch - spread / 2)
    if side * (finish - start) > 0:
        layers.append(Layer("neighbour", pens.measure(palette), cap.arc(between, start, finish)))
    return layers


def _rotor(cap: _Cap, tip: float, spread: float) -> str:
    """The arm from the shaft outwards, broadening to the tip."""
    inner = cap.tip_radius - 2.2
    arm = min(spread * 0.3, 14.0)
    low, high = tip - spread / 2, tip + spread / 2
    corners = [cap.at(0.0, tip), cap.at(inner - 1.5, tip - arm), cap.at(inner, low), cap.at(cap.tip_radius, low)]
    back = [cap.at(inner, high), cap.at(inner - 1.5, tip + arm)]
    there = "".join(f"L{place(x)} {place(y)}" for x, y in back)
    return path(corners) + cap.arc(cap.tip_radius, low, high, onward=True) + there + "Z"


def _arrow(cap: _Cap) -> str:
    """An arc with its head in the sense of rotation, in the lower half where nothing else is."""
    radius = cap.tip_radius * 0.55
    head = [cap.at(radius - 1.6, 200.0), cap.at(radius, 214.0), cap.at(radius + 1.6, 200.0)]
    return cap.arc(radius, 146.0, 212.0) + path(head)


def _name(cap: _Cap, end: PhasingEnd, top: float, foot: float, palette: Palette) -> list[Text]:
    x = round(cap.centre[0], 2)
    heading = f"{end.name}, {degrees(end.advance_deg)} BTDC"
    texts = [Text(x, round(top + LETTER + 2, 2), heading, "middle", "chart-name", palette.ink)]
    figures = [
        _offset_words(end),
        f"{_overlap_words(end)}, gap {figure_text(end.own_gap_mm)} mm",
        f"nearest other post {figure_text(end.neighbour_gap_mm)} mm",
    ]
    for index, words in enumerate(figures):
        line = round(top + foot + LETTER + 10 + index * (LETTER + 5), 2)
        texts.append(Text(x, line, words, "middle", "chart-key", palette.ink))
    if not end.allowed:
        line = round(top + foot + LETTER + 10 + len(figures) * (LETTER + 5), 2)
        texts.append(Text(x, line, OUTSIDE, "middle", "chart-key chart-refused", palette.stop, weight=700))
    return texts


def _offset_words(end: PhasingEnd) -> str:
    if abs(end.offset_deg) < 0.05:
        return "in line with its post"
    side = "before" if end.offset_deg > 0 else "past"
    return f"tip {degrees(abs(end.offset_deg))} {side} its post"


def _overlap_words(end: PhasingEnd) -> str:
    if end.overlap_mm > 0:
        return f"overlap {figure_text(end.overlap_mm)} mm"
    return f"no overlap, {figure_text(-end.overlap_mm)} mm apart"


def _in_words(posts: int, ends: Sequence[PhasingEnd], clockwise: bool) -> str:
    sense = "clockwise" if clockwise else "anticlockwise"
    sentences = [f"Cap of {posts} posts seen from above, rotor turning {sense}."]
    for end in ends:
        sentences.append(
            f"{end.name.capitalize()}, {degrees(end.advance_deg)} BTDC: {_offset_words(end)}, {_overlap_words(end)}, "
            f"gap {figure_text(end.own_gap_mm)} mm, nearest other post {figure_text(end.neighbour_gap_mm)} mm"
            f"{'' if end.allowed else f'; {OUTSIDE}'}."
        )
    return " ".join(sentences)
