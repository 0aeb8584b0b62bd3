"""A drawing of layers with words upon them: what charts without axes have in common."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from timing.charts import svg
from timing.charts.page import NARROW, Text
from timing.charts.palette import Palette
from timing.charts.styles import Layer
from timing.charts.svg import Svg


@dataclass(frozen=True, slots=True)
class Drawing:
    """Layers and words; places in units of the drawing. Which kind of drawing it is, a class of its own says."""

    kind: ClassVar[str]  # also a class of the drawing

    uid: str
    title: str
    description: str
    width: float
    height: float
    layers: tuple[Layer, ...]
    texts: tuple[Text, ...]
    palette: Palette

    @property
    def narrow(self) -> bool:
        """Whether it is laid out for a phone or half a column."""
        return self.width < NARROW

    @property
    def svg(self) -> Svg:
        """The drawing as SVG, the same on a screen, in a document and in a notebook."""
        names = svg.group({"class": "chart-names", "aria-hidden": "true"}, svg.texts(self.texts))
        return svg.document(self, [*svg.paths(self.layers), names], linecap=None)

    def _repr_svg_(self) -> str:
        """What a notebook shows."""
        return self.svg
