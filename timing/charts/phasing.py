"""The rotor under the cap at both ends of the advance range, to scale, and again after a remedy."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from timing.charts import styles
from timing.charts.drawing import Drawing
from timing.charts.layout import WIDE, check_width
from timing.charts.marks import degrees
from timing.charts.page import CAPITAL, GAP, HEAD, LINE, Text, width_of
from timing.charts.palette import PRINT, Palette
from timing.charts.scale import Point, figure_text, path, place
from timing.charts.styles import Layer
from timing.charts.svg import uid_for
from timing.charts.text import opening
from timing.distributor import CrankTrigger, Phasing, PhasingEnd, Remedy, RotorSetting

OUTSIDE = "outside the limits"
NOW, AFTER = "now", "after"
POST_DEPTH = 3.2  # [mm] How deep terminals are drawn; nothing depends on it.
RIM = 1.2  # [mm] From the back of the terminals to the rim of the cap as drawn; nothing depends on it.
SHAFT = 4.5  # [mm] Radius of the shaft as drawn; nothing depends on it.


class PhasingChart(Drawing):
    """Rotor and cap as seen from above at both ends of the advance."""

    __slots__ = ()
    kind = "phasing"


@dataclass(frozen=True, slots=True)
class _Cap:
    """One cap on the drawing. Angles are degrees of distributor from its own terminal, positive in rotation."""

    centre: Point
    per_mm: float
    clockwise: bool
    phasing: Phasing

    @property
    def face(self) -> float:
        """Radius of the terminals' inner face. [mm]"""
        return self.phasing.parts.tip_radius_mm + self.phasing.parts.radial_gap_mm

    @property
    def pitch(self) -> float:
        return 360.0 / self.phasing.parts.terminals

    def at(self, radius_mm: float, angle: float) -> Point:
        turn = math.radians(angle if self.clockwise else -angle)
        reach = radius_mm * self.per_mm
        return self.centre[0] + reach * math.sin(turn), self.centre[1] - reach * math.cos(turn)

    def degrees_of(self, arc_mm: float) -> float:
        """The angle of an arc at the tip's radius. [degrees of distributor]"""
        return math.degrees(arc_mm / self.phasing.parts.tip_radius_mm)

    def arc(self, radius_mm: float, start: float, end: float, *, onward: bool = False) -> str:
        """Path data along a circle about the shaft, half a turn at most.

        A line on from where the style is, or a stroke of its own.
        """
        reach = place(radius_mm * self.per_mm)
        sweep = 1 if (end > start) == self.clockwise else 0
        begin, finish = self.at(radius_mm, start), self.at(radius_mm, end)
        lead = "L" if onward else "M"
        return (
            f"{lead}{place(begin[0])} {place(begin[1])}"
            f"A{reach} {reach} 0 0 {sweep} {place(finish[0])} {place(finish[1])}"
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
    phasing: Phasing,
    *,
    uid: str | None = None,
    title: str = "Rotor under the cap",
    names: tuple[str, str] = ("lowest advance", "highest advance"),
    clockwise: bool = True,
    setting: RotorSetting | None = None,
    remedy: Remedy | None = None,
    width: float = WIDE,
    palette: Palette = PRINT,
) -> PhasingChart:
    """The cap seen from above with the terminal whose turn it is on top, once for each end of the range, to scale.

    Parameters
    ----------
    phasing : Phasing
        What `rotor_phasing` found, or `rotor_advice` before any remedy. An end beyond its limits is said to be.
    uid : str, optional
        Unique on the page; becomes part of ids. Derived from the drawing where it is left out.
    title : str
        Name of the drawing.
    names : pair of str
        What the two ends are called, such as 'cranking'.
    clockwise : bool
        Sense of rotation, seen from above.
    setting : RotorSetting, optional
        What sets the rotor; told in the words, which differ where the distributor triggers nothing.
    remedy : Remedy, optional
        Both ends are drawn again as they are afterwards.
    width : float
        Width of the drawing. [units of the drawing]
        The ends stand under one another where their words have no room side by side.
    palette : Palette
        Colours and font.

    Returns
    -------
    PhasingChart
        Two caps, or four with a remedy: now lowest and highest, then after it.

    Raises
    ------
    TimingError
        If the width is below 240 or `uid` could not stand in an id.
    """
    check_width(width)
    panels = _panels(phasing, remedy, names)
    stacked = width / 2 < max(width_of(line) for panel in panels for line in panel.caption) + 2 * GAP
    across = 1 if stacked else 2
    room = width / across
    outer = phasing.parts.tip_radius_mm + phasing.parts.radial_gap_mm + POST_DEPTH + RIM
    reach = min(room / 2 - 30, 150.0)
    head, foot = GAP + CAPITAL + HEAD, GAP + (4 if any(panel.is_refused for panel in panels) else 3) * LINE + GAP
    height = head + 2 * reach + foot
    layers: list[Layer] = []
    texts: list[Text] = []
    for index, panel in enumerate(panels):
        x, top = room * (index % across + 0.5), height * (index // across)
        cap = _Cap((x, top + head + reach), reach / outer, clockwise, panel.phasing)
        layers += _draw(cap, panel.end, panel.is_refused, outer, palette)
        texts += _captioned(x, panel.caption, panel.is_refused, (top, top + head + 2 * reach), palette)
    description = _description(panels, clockwise, setting, remedy)
    return PhasingChart(
        uid_for(uid, "phasing", title, description, width),
        title,
        description,
        width,
        round(height * len(panels) / across, 2),
        tuple(layers),
        tuple(texts),
        palette,
    )


@dataclass(frozen=True, slots=True)
class _Panel:
    """One cap to draw, and what is said of it: its heading, then its figures."""

    phasing: Phasing
    end: PhasingEnd
    caption: tuple[str, ...]

    @property
    def is_refused(self) -> bool:
        return self.phasing.fails_at(self.end)


def _panels(phasing: Phasing, remedy: Remedy | None, names: tuple[str, str]) -> list[_Panel]:
    rows = [("", phasing)] if remedy is None else [(f"{NOW}: ", phasing), (f"{AFTER}: ", remedy.phasing)]
    return [
        _Panel(row, end, _caption(end, when + name))
        for when, row in rows
        for end, name in zip(row.ends, names, strict=True)
    ]


def _draw(cap: _Cap, end: PhasingEnd, is_refused: bool, outer: float, palette: Palette) -> list[Layer]:
    parts = cap.phasing.parts
    radius, face = parts.tip_radius_mm, cap.face
    spread, tip_spread = cap.degrees_of(parts.post_width_mm), cap.degrees_of(parts.tip_width_mm)
    tip = -end.offset_dist_deg  # positive offset: the tip has not yet reached its terminal
    others = "".join(
        cap.sector(face, face + POST_DEPTH, cap.pitch * number, spread) for number in range(1, parts.terminals)
    )
    layers = [
        Layer("cap", styles.cap(palette), cap.ring(outer)),
        Layer("posts", styles.post(palette), others),
        Layer("own-post", styles.own_post(palette), cap.sector(face, face + POST_DEPTH, 0.0, spread)),
        Layer("in-line", styles.sight(palette), path([cap.at(SHAFT + 1.5, 0.0), cap.at(face, 0.0)])),
        Layer("rotor", styles.rotor(palette), _rotor(cap, tip, tip_spread)),
        Layer("shaft", styles.rotor(palette), cap.ring(SHAFT)),
        Layer("offset", styles.sight(palette), path([cap.at(0.0, tip), cap.at(radius, tip)])),
        Layer("rotation", styles.rotation(palette), _arrow(cap)),
    ]
    between = (radius + face) / 2
    low, high = max(tip - tip_spread / 2, -spread / 2), min(tip + tip_spread / 2, spread / 2)
    style = styles.overlap(palette, not is_refused)
    past = 1 if tip > 0 else -1
    if low < high:
        layers.append(Layer("overlap", style, cap.arc(between, low, high)))
    else:  # what the spark has to jump, from edge to edge
        edges = [cap.at(radius, tip - past * tip_spread / 2), cap.at(face, past * spread / 2)]
        layers.append(Layer("leap", style, path(edges)))
    start, finish = tip + past * tip_spread / 2, past * (cap.pitch - spread / 2)
    if past * (finish - start) > 0:
        layers.append(Layer("neighbour", styles.measure(palette), cap.arc(between, start, finish)))
    return layers


def _rotor(cap: _Cap, tip: float, spread: float) -> str:
    """The arm from the shaft outwards, broadening to the tip."""
    outer = cap.phasing.parts.tip_radius_mm
    inner = outer - 2.2
    arm = min(spread * 0.3, 14.0)
    low, high = tip - spread / 2, tip + spread / 2
    out = [cap.at(0.0, tip), cap.at(inner - 1.5, tip - arm), cap.at(inner, low)]
    back = [cap.at(inner, high), cap.at(inner - 1.5, tip + arm)]
    there = "".join(f"L{place(x)} {place(y)}" for x, y in back)
    return path(out) + cap.arc(outer, low, high, onward=True) + there + "Z"


def _arrow(cap: _Cap) -> str:
    """An arc with its head in the sense of rotation, in the lower half where nothing else is."""
    radius = cap.phasing.parts.tip_radius_mm * 0.55
    head = [cap.at(radius - 1.6, 200.0), cap.at(radius, 214.0), cap.at(radius + 1.6, 200.0)]
    return cap.arc(radius, 146.0, 212.0) + path(head)


def _caption(end: PhasingEnd, name: str) -> tuple[str, ...]:
    """What is said of one end: its heading, then its figures."""
    neighbour = f"{end.neighbour}: {figure_text(end.neighbour_gap_mm)} mm away"
    return f"{name}, {degrees(end.spark_deg)} BTDC", _tip_words(end.offset_dist_deg), _overlap_words(end), neighbour


def _captioned(
    x: float, caption: tuple[str, ...], is_refused: bool, lines: tuple[float, float], palette: Palette
) -> list[Text]:
    """The heading over a cap and the figures under it; `lines` are the top of the panel and the foot of the cap."""
    top, foot = lines
    heading, *figures = caption
    texts = [Text(round(x, 2), round(top + GAP + CAPITAL, 2), heading, "middle", "chart-name", palette.ink)]
    for index, text in enumerate(figures):
        line = round(foot + GAP + (index + 1) * LINE, 2)
        texts.append(Text(round(x, 2), line, text, "middle", "chart-key", palette.ink))
    if is_refused:
        line = round(foot + GAP + (len(figures) + 1) * LINE, 2)
        css = "chart-key chart-refused"
        texts.append(Text(round(x, 2), line, OUTSIDE, "middle", css, palette.stop, weight=700))
    return texts


def _tip_words(offset_dist_deg: float) -> str:
    if abs(offset_dist_deg) < 0.05:
        return "tip in line with its terminal"
    side = "before" if offset_dist_deg > 0 else "past"
    return f"tip {degrees(abs(offset_dist_deg))} {side} its terminal"


def _overlap_words(end: PhasingEnd) -> str:
    gap = f"gap {figure_text(end.own_gap_mm)} mm"
    if end.overlap_mm > 0:
        return f"overlap {figure_text(end.overlap_mm)} mm, {gap}"
    return f"no overlap, {gap}"


def _description(panels: Sequence[_Panel], clockwise: bool, setting: RotorSetting | None, remedy: Remedy | None) -> str:
    sense = "clockwise" if clockwise else "anticlockwise"
    terminals = panels[0].phasing.parts.terminals
    sentences = [f"Cap of {terminals} terminals seen from above, rotor turning {sense}."]
    if setting is not None:
        sentences.append(_setting_in_words(setting))
    for panel in panels:
        heading, *figures = panel.caption
        beyond = f"; {OUTSIDE}" if panel.is_refused else ""
        sentences.append(f"{opening(heading)}: {', '.join(figures)}{beyond}.")
    if remedy is not None:
        sentences += remedy.sentences
    return " ".join(sentences)


def _setting_in_words(setting: RotorSetting) -> str:
    if isinstance(setting, CrankTrigger):
        aligned = degrees(setting.aligned_at_deg)
        return f"This distributor triggers nothing; tip and terminal are in line at {aligned} BTDC."
    offset = setting.tip_at_edge_dist_deg
    return f"The trigger's edge comes at {degrees(setting.edge_deg)} BTDC with the {_tip_words(offset)}."
