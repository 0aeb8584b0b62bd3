"""What a drawing is written as, part by part: classes for the screen, colours of print, names for script and reader.

The drawings beside this file are what `_repr_svg_`, the pages and the documents all show. They were compared with what
the site's templates wrote before the drawing moved here; a change in them is a change on every screen and paper.
"""

from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest

from timing.charts import PRINT, ChartError, PhasingChart, SurfaceChart, styles, svg
from timing.charts.findings import PlacedFinding
from timing.charts.graph import Graph
from timing.charts.layout import panel_of
from timing.charts.marks import KeyEntry, Node
from timing.charts.page import Axis, Plot, Text
from timing.charts.scale import Scale
from timing.charts.styles import Layer, Style
from timing.charts.surface_drawing import Cell
from timing.charts.surface_points import PlacedPoint

HERE = Path(__file__).parent
PLOT = Plot(Scale(0, 1000, 40, 140), Scale(0, 10, 90, 10), "crank rpm", "degrees")
ACROSS, UP = Axis(0, 1000, "crank rpm", 100, 500, (500,)), Axis(0, 10, "degrees", 1, 5, (5,), "°")
BAND = styles.band(PRINT)
LINE = Layer("unit", Style("chart-unit", "#000001", 2.2, opacity=0.5), "M0 0L1 1", "unit delivers")
DASHED = Layer("wanted", Style("chart-wanted", "#000002", 1.5, dash="7 4"), "M0 1L1 0")
AREA = Layer("band", styles.area(BAND), "M0 0L1 0L1 1Z")

GRAPH = Graph(
    uid="g",
    kind="speed",
    title="A <title> & more",
    description='What it "shows".',
    width=480,
    height=120,
    panels=(panel_of(PLOT, ACROSS, UP, PRINT),),
    under=(AREA,),
    rules=(Layer("idle", styles.rule(PRINT, "idle"), "M5 0L5 9"),),
    layers=(LINE, DASHED),
    nodes=(
        Node(0, 40.5, 80, 5, 1.25, "1.3° at 5 rpm"),
        Node(1, 90, 50, 500, 5, "5° at 500 rpm", True),
        Node(2, 140, 10, 1000, 10, "10°"),
    ),
    findings=(PlacedFinding("A", "stop", "too much < here", 50, 20, 24.68, "M1 1Z", "M50 30L50 40", PRINT.stop),),
    texts=(Text(12, 8, "idle & 5", "end", "chart-rule-name-idle", PRINT.pencil), Text(3, 4, "<b>", weight=700)),
    key=(
        KeyEntry(Layer("key", BAND, "M0 0Z"), Text(9, 9, "factory band", "start", "chart-key", PRINT.ink)),
        KeyEntry(Layer("key", DASHED.style, "M0 0L9 0"), Text(9, 29, "set", "start", "chart-key", PRINT.ink)),
    ),
    palette=PRINT,
    editable=True,
    step=0.5,
)
BARE = replace(
    GRAPH,
    width=479,
    panels=GRAPH.panels * 2,
    nodes=(),
    findings=(),
    key=(),
    editable=False,
    step=None,
)
TO_BE_READ = replace(GRAPH, editable=False, nodes=(replace(GRAPH.nodes[0], index=2), GRAPH.nodes[1]), step=0)

SURFACE = SurfaceChart(
    uid="s",
    title="Surface",
    description="Two cells.",
    width=360,
    height=90,
    cell_width=40,
    cell_height=26,
    cells=(
        Cell(0, 0, 30, 40, 50, 55.5, "8", 0, "#F4F5F5", "#1B1F23", "8° <at> 1000 rpm", 0.0, 60, False),
        Cell(
            0,
            1,
            70,
            40,
            90,
            55.5,
            "36",
            8,
            "#174E8C",
            "#FFFFFF",
            "36° at 2500 rpm",
            12.5,
            60,
            True,
            "why/?rpm=2500&vacuum=0",
        ),
    ),
    contours=(Layer("contour-10", styles.contour(PRINT), "M0 0L9 9", "10°"),),
    points=(PlacedPoint("idle & on", 50, 50, 12, 60, 70, 55, 61, 20, 14),),
    texts=(Text(3, 13, "manifold vacuum, kPa", "start", "chart-name", PRINT.ink),),
    size=10.5,
    palette=PRINT,
)
PHASING = PhasingChart(
    uid="p",
    title="Rotor",
    description="Cap of 4 posts.",
    width=720,
    height=300,
    layers=(LINE,),
    texts=(Text(9, 9, "lowest advance"),),
    palette=PRINT,
)
DRAWINGS = {"graph": GRAPH, "bare": BARE, "read": TO_BE_READ, "surface": SURFACE, "phasing": PHASING}


def plainly(text):
    """The drawing without what makes no difference: order of attributes, blanks between elements."""
    return ElementTree.canonicalize(text, strip_text=True)


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_is_written_as_it_always_was(name):
    written = (HERE / "drawings" / f"{name}.svg").read_text(encoding="utf-8")
    assert plainly(DRAWINGS[name].svg) == plainly(written)


@pytest.mark.parametrize("drawing", DRAWINGS.values(), ids=DRAWINGS)
def test_each_element_stands_on_a_line_of_its_own(drawing):
    lines = drawing.svg.splitlines()
    assert len(lines) >= drawing.svg.count("</text>")
    assert all(line.startswith("<") for line in lines)
    assert type(drawing.svg) is svg.Svg


def test_an_attribute_that_is_none_is_left_out_and_others_are_escaped():
    assert svg.element("a", {"b": None, "c": '<"&'}) == '<a c="&lt;&quot;&amp;"/>\n'
    assert svg.element("a", {}, "<b/>") == "<a><b/></a>\n"
    assert svg.element("a", {"n": 0}, "") == '<a n="0"></a>\n'
    assert svg.group({"class": "k"}, ["<b/>\n", "<c/>\n"]) == '<g class="k">\n<b/>\n<c/>\n</g>\n'


def test_a_name_is_kept_or_made_of_what_is_drawn():
    assert svg.uid_for("a-b_1", "speed") == "a-b_1"
    made = svg.uid_for(None, "speed", 1, "two")
    assert made == svg.uid_for(None, "speed", 1, "two")
    assert made.startswith("speed-")
    assert len(made) == len("speed-") + 12
    assert made != svg.uid_for(None, "speed", 1, "too")
    for wrong in ("", "X Y", "a.b", 5):
        with pytest.raises(
            ChartError, match=rf"^the name of a drawing is letters, digits, '-' and '_', not '{wrong}'$"
        ):
            svg.uid_for(wrong, "speed")
