"""A whole drawing on graph paper: what stands on it, and how it is written as SVG."""

from __future__ import annotations

from dataclasses import dataclass

from timing.charts import svg
from timing.charts.findings import PlacedFinding
from timing.charts.marks import KeyEntry, Node
from timing.charts.page import NARROW, Panel, Plot, Text
from timing.charts.palette import Palette
from timing.charts.styles import Layer
from timing.charts.svg import Svg


@dataclass(frozen=True, slots=True)
class Graph:
    """A drawing on graph paper; everything in units of the drawing.

    Attributes
    ----------
    uid : str
        Unique on the page; the ids of title and description begin with it.
    kind : str
        'speed', 'sweep', 'vacuum', 'residual' or 'dwell'; also a class of the drawing.
    title, description : str
        What it is, and what it shows, for those who cannot see it.
    width, height : float
        Size of the view box.
    panels : tuple of Panel
        One plot, or several above one another.
    under : tuple of Layer
        Pale areas, beneath the graduations.
    rules, layers : tuple of Layer
        Upright rules; then lines and crosses in the order in which they are drawn.
    nodes : tuple of Node
        Nodes of the curve.
    findings : tuple of PlacedFinding
        Letters in their marks.
    texts : tuple of Text
        Names of rules and lines.
    key : tuple of KeyEntry
        Samples and what they stand for.
    palette : Palette
        Colours as presentation attributes.
    editable : bool
        Whether nodes are sliders to be focused and moved.
    step : float or None
        What one press of a key moves a node by. [unit of the upward axis]
    """

    uid: str
    kind: str
    title: str
    description: str
    width: float
    height: float
    panels: tuple[Panel, ...]
    under: tuple[Layer, ...]
    rules: tuple[Layer, ...]
    layers: tuple[Layer, ...]
    nodes: tuple[Node, ...]
    findings: tuple[PlacedFinding, ...]
    texts: tuple[Text, ...]
    key: tuple[KeyEntry, ...]
    palette: Palette
    editable: bool = False
    step: float | None = None

    @property
    def narrow(self) -> bool:
        """Whether it is laid out for a phone or half a column."""
        return self.width < NARROW

    @property
    def plot(self) -> Plot:
        """The plot of the (first) panel."""
        return self.panels[0].plot

    @property
    def svg(self) -> Svg:
        """The drawing as SVG, the same on a screen, in a document and in a notebook."""
        return svg.document(self, _children(self), role="group" if self.editable else "img")

    def _repr_svg_(self) -> str:
        """What a notebook shows."""
        return self.svg


def _children(graph: Graph) -> list[str]:
    """Everything on `graph`, in the order of painting."""
    # A layer that reaches beyond the plot is cut off, which only a drawing of one panel needs.
    clipped = f"url(#{graph.uid}-clip-1)" if len(graph.panels) == 1 else None
    return [
        *(ground for count, panel in enumerate(graph.panels, start=1) for ground in _ground(graph, panel, count)),
        svg.group({"class": "chart-under", "clip-path": clipped}, svg.paths(graph.under)),
        *(part for panel in graph.panels for part in _graduated(panel)),
        *svg.paths(graph.rules),
        svg.group({"class": "chart-layers", "clip-path": clipped}, svg.paths(graph.layers)),
        *([svg.group({"class": "chart-nodes"}, [_node(graph, node) for node in graph.nodes])] if graph.nodes else []),
        *svg.findings(graph.findings, graph.palette),
        svg.group({"class": "chart-names", "aria-hidden": "true"}, svg.texts(graph.texts)),
        *svg.key(graph.key),
    ]


def _ground(graph: Graph, panel: Panel, count: int) -> list[str]:
    """The sheet under a plot, which tells a script the scales, and what its layers are clipped to."""
    plot = panel.plot
    place = {"x": plot.left, "y": plot.top, "width": plot.width, "height": plot.height}
    scales = {
        "data-across-low": plot.across.low,
        "data-across-high": plot.across.high,
        "data-up-low": plot.up.low,
        "data-up-high": plot.up.high,
        "data-left": plot.left,
        "data-right": plot.right,
        "data-top": plot.top,
        "data-bottom": plot.bottom,
        "data-step": graph.step or None,
    }
    return [
        svg.element("rect", {"class": "chart-plot", **place, "fill": graph.palette.sheet, **scales}),
        svg.element("clipPath", {"id": f"{graph.uid}-clip-{count}"}, svg.element("rect", place)),
    ]


def _graduated(panel: Panel) -> list[str]:
    """The graduations of a panel, its figures and its frame."""
    frame = panel.frame
    corner = {
        "class": frame.style.css,
        "d": frame.d,
        "fill": "none",
        "stroke": frame.style.stroke,
        "stroke-width": frame.style.width,
    }
    return [
        svg.group({"class": "chart-grid", "aria-hidden": "true"}, svg.paths(panel.grid)),
        svg.group(
            {"class": "chart-axes", "aria-hidden": "true"}, [*svg.texts(panel.texts), svg.element("path", corner)]
        ),
    ]


def _node(graph: Graph, node: Node) -> str:
    """A node as an open circle; in a drawing that can be edited a slider with room for a finger."""
    place = {"cx": node.x, "cy": node.y}
    palette = graph.palette
    attributes: dict[str, object] = {
        "class": "chart-node chart-node-selected" if node.selected else "chart-node",
        "data-index": node.index,
        "data-across": node.across,
        "data-up": node.up,
    }
    circles = [
        svg.element(
            "circle",
            {
                "class": "chart-node-ring",
                **place,
                "r": 5,
                "fill": palette.marking if node.selected else palette.sheet,
                "stroke": palette.marking if node.selected else palette.ink,
                "stroke-width": "1.8",
            },
        )
    ]
    if graph.editable:
        attributes |= {
            "role": "slider",
            "tabindex": 0 if node.selected or not node.index else -1,
            "aria-label": f"node {node.index + 1}",
            "aria-orientation": "vertical",
            "aria-valuemin": graph.plot.up.low,
            "aria-valuemax": graph.plot.up.high,
            "aria-valuenow": node.up,
            "aria-valuetext": node.spoken,
        }
        reach = {"class": "chart-node-reach", **place, "r": 24, "fill": "none", "pointer-events": "all"}
        circles.insert(0, svg.element("circle", reach))
    return svg.group(attributes, circles)
