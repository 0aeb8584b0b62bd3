"""Charts: the geometry of each, and the SVG it is written as.

A function here takes plain figures or a curve and gives a frozen dataclass of plain strings and floats, whose `svg`
is the drawing. The same drawing stands on the screen, in a document and in a notebook: colours are presentation
attributes (a document's style sheet does not reach into an inline SVG), and a screen may override them by class.
"""

from timing.charts.dwell import Supply, dwell_chart
from timing.charts.errors import ChartError
from timing.charts.findings import FindingMark
from timing.charts.graph import Graph
from timing.charts.loop import LoopChart, Station, StationState, loop_chart
from timing.charts.palette import PRINT, Palette
from timing.charts.phasing import PhasingChart, phasing_chart
from timing.charts.points import band_rows
from timing.charts.residual import residual_chart, residual_chart_of
from timing.charts.rows import Row, rows_chart
from timing.charts.speed import speed_chart
from timing.charts.sums import sums_in_words
from timing.charts.surface import surface_chart
from timing.charts.surface_drawing import SurfaceChart
from timing.charts.surface_points import SurfacePoint
from timing.charts.sweep import sweep_chart
from timing.charts.vacuum import vacuum_chart

__all__ = [
    "PRINT",
    "ChartError",
    "FindingMark",
    "Graph",
    "LoopChart",
    "Palette",
    "PhasingChart",
    "Row",
    "Station",
    "StationState",
    "Supply",
    "SurfaceChart",
    "SurfacePoint",
    "band_rows",
    "dwell_chart",
    "loop_chart",
    "phasing_chart",
    "residual_chart",
    "residual_chart_of",
    "rows_chart",
    "speed_chart",
    "sums_in_words",
    "surface_chart",
    "sweep_chart",
    "vacuum_chart",
]
