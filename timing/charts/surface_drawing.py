"""A surface as it is drawn: its cells, contours and named points, and how they are written as SVG."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

from timing.charts import svg
from timing.charts.page import NARROW, Text
from timing.charts.palette import Palette
from timing.charts.styles import Layer
from timing.charts.surface_points import SLIP_LETTER, PlacedPoint
from timing.charts.svg import Svg


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its place in the table and on the drawing, its figure, its shade.

    `row` and `column` count from 0 in the order of the nodes given; `says` is the cell explained in words, `link` the
    address where more is said of it, if there is one.
    """

    row: int
    column: int
    x: float
    y: float
    text_x: float
    text_y: float
    figure: str
    level: int
    fill: str
    ink: str
    says: str
    visit_width: float
    visit_y: float
    selected: bool
    link: str = ""


@dataclass(frozen=True, slots=True)
class SurfaceChart:
    """A surface as a table of shaded cells; places in units of the drawing.

    Attributes
    ----------
    uid, title, description : str
        As `Graph`.
    width, height : float
        Size of the view box.
    cell_width, cell_height : float
        Size of every cell.
    cells : tuple of Cell
        Row by row, lowest vacuum first.
    contours : tuple of Layer
        One for each level that the surface reaches.
    points : tuple of PlacedPoint
        Idle, cruise, full load.
    texts : tuple of Text
        Figures along the axes and their names.
    size : float
        Height of the figures in the cells.
    palette : Palette
        Colours as presentation attributes.
    """

    uid: str
    title: str
    description: str
    width: float
    height: float
    cell_width: float
    cell_height: float
    cells: tuple[Cell, ...]
    contours: tuple[Layer, ...]
    points: tuple[PlacedPoint, ...]
    texts: tuple[Text, ...]
    size: float
    palette: Palette

    @property
    def kind(self) -> str:
        """Also a class of the drawing."""
        return "surface"

    @property
    def narrow(self) -> bool:
        """Whether it is laid out for a phone or half a column."""
        return self.width < NARROW

    @property
    def svg(self) -> Svg:
        """The drawing as SVG, the same on a screen, in a document and in a notebook."""
        return svg.document(self, _children(self))

    def _repr_svg_(self) -> str:
        """What a notebook shows."""
        return self.svg


def _children(chart: SurfaceChart) -> list[str]:
    """Everything on `chart`, in the order of painting."""
    unseen = {"aria-hidden": "true", "pointer-events": "none"}
    figures = {"class": "chart-cell-figures", **unseen, "text-anchor": "middle", "font-size": chart.size}
    return [
        svg.group({"class": "chart-cells"}, [_cell(chart, cell) for cell in chart.cells]),
        *svg.paths(chart.contours),
        svg.group({"class": "chart-visits"}, [_visit(cell) for cell in chart.cells if cell.visit_width]),
        svg.group({"class": "chart-rings", "pointer-events": "none"}, [_ring(chart, point) for point in chart.points]),
        svg.group(figures, [_figure(cell) for cell in chart.cells]),
        *(_selected(chart, cell) for cell in chart.cells if cell.selected),
        svg.group({"class": "chart-points", **unseen}, [_slip(chart, point) for point in chart.points]),
        svg.group({"class": "chart-axes", "aria-hidden": "true"}, svg.texts(chart.texts)),
    ]


def _oblong(chart: SurfaceChart, cell: Cell) -> dict[str, object]:
    return {"x": cell.x, "y": cell.y, "width": chart.cell_width, "height": chart.cell_height}


def _cell(chart: SurfaceChart, cell: Cell) -> str:
    attributes = {
        "class": f"chart-cell level-{cell.level}",
        "data-row": cell.row,
        "data-column": cell.column,
        "data-says": cell.says,
        "data-link": cell.link or None,
        **_oblong(chart, cell),
        "fill": cell.fill,
        "stroke": chart.palette.sheet,
        "stroke-width": 1,
    }
    return svg.element("rect", attributes)


def _visit(cell: Cell) -> str:
    place = {"x": cell.x, "y": cell.visit_y, "width": cell.visit_width, "height": 4}
    return svg.element("rect", {"class": f"chart-visit on-level-{cell.level}", **place, "fill": cell.ink})


def _ring(chart: SurfaceChart, point: PlacedPoint) -> str:
    """A ring in ink with a pale one beneath, to be seen on dark shades too."""
    place = {"cx": point.x, "cy": point.y, "r": point.radius, "fill": "none"}
    sheet, ink = chart.palette.sheet, chart.palette.ink
    return svg.element("circle", {"class": "chart-point", **place, "stroke": sheet, "stroke-width": 5}) + svg.element(
        "circle", {"class": "chart-point-ring", **place, "stroke": ink, "stroke-width": 2}
    )


def _figure(cell: Cell) -> str:
    classes = f"on-level-{cell.level} ground-{cell.level}"
    return svg.element("text", {"class": classes, "x": cell.text_x, "y": cell.text_y, "fill": cell.ink}, cell.figure)


def _selected(chart: SurfaceChart, cell: Cell) -> str:
    frame = {"fill": "none", "stroke": chart.palette.ink, "stroke-width": 3}
    return svg.element("rect", {"class": "chart-cell-selected", **_oblong(chart, cell), **frame})


def _slip(chart: SurfaceChart, point: PlacedPoint) -> str:
    """The name of a point on its slip."""
    slip = {"x": point.slip_x, "y": point.slip_y, "width": point.slip_width, "height": point.slip_height}
    edge = {"fill": chart.palette.sheet, "stroke": chart.palette.ink, "stroke-width": 1}
    name = {
        "class": "chart-point-name",
        "x": point.text_x,
        "y": point.text_y,
        "text-anchor": "middle",
        "font-size": SLIP_LETTER,
        "fill": chart.palette.ink,
    }
    return svg.element("rect", {"class": "chart-slip", **slip, **edge}) + svg.element("text", name, escape(point.name))
