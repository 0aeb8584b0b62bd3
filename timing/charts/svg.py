"""SVG as text: elements with their attributes, and the parts that every drawing is written with."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Protocol, TypeAlias

from timing.charts.errors import ChartError
from timing.charts.findings import PlacedFinding
from timing.charts.marks import KeyEntry
from timing.charts.page import LETTER, Text
from timing.charts.palette import Palette
from timing.charts.styles import Layer

Attributes: TypeAlias = Mapping[str, object]


class Svg(str):
    """A finished drawing. It is markup already, which `__html__` tells a template that would escape it."""

    __slots__ = ()

    def __html__(self) -> str:
        return self


class Drawing(Protocol):
    """What every chart has, whatever it draws."""

    @property
    def uid(self) -> str:
        """Name of the drawing, unique on its page."""

    @property
    def kind(self) -> str:
        """'speed', 'surface' and so on."""

    @property
    def title(self) -> str:
        """What it is."""

    @property
    def description(self) -> str:
        """What it shows, in sentences."""

    @property
    def width(self) -> float:
        """Width of the view box."""

    @property
    def height(self) -> float:
        """Height of the view box."""

    @property
    def narrow(self) -> bool:
        """Whether it is laid out for a phone or half a column."""

    @property
    def palette(self) -> Palette:
        """Its colours."""


def uid_for(uid: str | None, kind: str, *parts: object) -> str:
    """`uid`, or one derived from what is drawn: the same for the same drawing, whenever it is made.

    Parameters
    ----------
    uid : str or None
        Name of the drawing, unique on its page: it becomes part of ids.
    kind : str
        'speed', 'surface' and so on, which a derived name begins with.
    *parts : object
        What the drawing is made of; their `repr` tells one drawing from another.

    Returns
    -------
    str
        Letters, digits, '-' and '_'.

    Raises
    ------
    ChartError
        If `uid` is empty or holds anything else.
    """
    if uid is None:
        return f"{kind}-{hashlib.sha256(repr(parts).encode()).hexdigest()[:12]}"
    if not isinstance(uid, str) or not uid or not all(letter.isalnum() or letter in "-_" for letter in uid):
        raise ChartError(f"the name of a drawing is letters, digits, '-' and '_', not '{uid}'")
    return uid


def element(name: str, attributes: Attributes, content: str | None = None) -> str:
    """One element of SVG.

    Parameters
    ----------
    name : str
        Name of the element.
    attributes : mapping
        Written in their order and escaped; one that is None is left out.
    content : str, optional
        Markup between the tags, already escaped; without it the element closes itself.

    Returns
    -------
    str
        The element on a line of its own.
    """
    written = "".join(f' {key}="{escape(str(value))}"' for key, value in attributes.items() if value is not None)
    return f"<{name}{written}/>\n" if content is None else f"<{name}{written}>{content}</{name}>\n"


def group(attributes: Attributes, children: Iterable[str]) -> str:
    """A `g` element around `children`.

    Parameters
    ----------
    attributes : mapping
        As for `element`.
    children : iterable of str
        Markup, one element after the other.

    Returns
    -------
    str
        The element.
    """
    return element("g", attributes, "\n" + "".join(children))


def document(chart: Drawing, children: Iterable[str], *, role: str = "img", linecap: str | None = "round") -> Svg:
    """The whole drawing, with its title and description for those who cannot see it.

    Parameters
    ----------
    chart : Drawing
        What is drawn.
    children : iterable of str
        Markup of everything on it, in the order of painting.
    role : str
        'img', or 'group' where parts of the drawing can be focused.
    linecap : str, optional
        How the ends of lines are drawn.

    Returns
    -------
    Svg
        One `svg` element.
    """
    title, description = f"{chart.uid}-title", f"{chart.uid}-desc"
    attributes = {
        "class": f"chart chart-{chart.kind} {'chart-narrow' if chart.narrow else 'chart-wide'}",
        "xmlns": "http://www.w3.org/2000/svg",
        "viewBox": f"0 0 {chart.width} {chart.height}",
        "role": role,
        "aria-labelledby": f"{title} {description}",
        "font-family": chart.palette.font,
        "stroke-linejoin": "round",
        "stroke-linecap": linecap,
    }
    head = [
        element("title", {"id": title}, escape(chart.title)),
        element("desc", {"id": description}, escape(chart.description)),
    ]
    return Svg(element("svg", attributes, "\n" + "".join([*head, *children])))


def paths(layers: Iterable[Layer]) -> list[str]:
    """Each layer as one path with its presentation attributes."""
    return [
        element(
            "path",
            {
                "class": layer.style.css,
                "data-layer": layer.name,
                "d": layer.d,
                "fill": layer.style.fill,
                "fill-opacity": _unless(layer.style.fill_opacity, 1),
                "stroke": layer.style.stroke,
                "stroke-width": layer.style.width,
                "stroke-opacity": _unless(layer.style.opacity, 1),
                "stroke-dasharray": layer.style.dash or None,
            },
        )
        for layer in layers
    ]


def texts(lettering: Iterable[Text]) -> list[str]:
    """Each line of lettering as one text element."""
    return [
        element(
            "text",
            {
                "class": text.css,
                "x": text.x,
                "y": text.y,
                "text-anchor": text.anchor,
                "font-size": text.size,
                "font-weight": _unless(text.weight, 400),
                "fill": text.fill,
            },
            escape(text.text),
        )
        for text in lettering
    ]


def findings(placed: Iterable[PlacedFinding], palette: Palette) -> list[str]:
    """Each finding as a group of its title, leader, mark and letter.

    Parameters
    ----------
    placed : iterable of PlacedFinding
        The marks at their places.
    palette : Palette
        For the ground of a mark.

    Returns
    -------
    list of str
        One group a finding.
    """
    return [
        group(
            {"class": f"chart-finding chart-finding-{finding.kind}", "data-letter": finding.letter},
            [
                element("title", {}, escape(f"{finding.letter}, {finding.kind}: {finding.sentence}")),
                element(
                    "path",
                    {
                        "class": "chart-finding-leader",
                        "d": finding.leader,
                        "fill": "none",
                        "stroke": finding.colour,
                        "stroke-width": "1.2",
                    },
                ),
                element(
                    "path",
                    {
                        "class": "chart-finding-mark",
                        "d": finding.outline,
                        "fill": palette.sheet,
                        "stroke": finding.colour,
                        "stroke-width": "1.8",
                    },
                ),
                element(
                    "text",
                    {
                        "class": "chart-finding-letter",
                        "x": finding.x,
                        "y": finding.letter_y,
                        "text-anchor": "middle",
                        "font-size": f"{LETTER:g}",
                        "font-weight": 700,
                        "fill": finding.colour,
                    },
                    escape(finding.letter),
                ),
            ],
        )
        for finding in placed
    ]


def key(entries: Sequence[KeyEntry]) -> list[str]:
    """The key under a plot, which the description replaces for those who cannot see it; nothing for no entries."""
    if not entries:
        return []
    samples = []
    for entry in entries:
        style, name = entry.layer.style, entry.text
        # An area is one class beneath the graduations and another above them; its sample is both at once.
        css = style.css if style.fill_opacity == 1 else f"{style.css} {style.css}-area {style.css}-edge"
        samples.append(
            element(
                "path",
                {
                    "class": css,
                    "d": entry.layer.d,
                    "fill": style.fill,
                    "fill-opacity": _unless(style.fill_opacity, 1),
                    "stroke": style.stroke,
                    "stroke-width": style.width,
                    "stroke-dasharray": style.dash or None,
                },
            )
        )
        lettering = {"class": name.css, "x": name.x, "y": name.y, "font-size": name.size, "fill": name.fill}
        samples.append(element("text", lettering, escape(name.text)))
    return [group({"class": "chart-key-rows", "aria-hidden": "true"}, samples)]


def _unless(value: float, usual: float) -> float | None:
    """What need not be written, because it is so without."""
    return None if value == usual else value
