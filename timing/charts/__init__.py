"""The geometry of the pictures: scales, graduations, paths and words, ready to be written out by a template.

A function here takes plain figures and gives a frozen dataclass of plain strings and floats; the template it
names, under `templates/timing/charts/`, writes it out and decides nothing. The same picture stands on the screen
and in a document: colours are presentation attributes (a document's style sheet does not reach into an inline
SVG), and `static/css/charts.css` overrides them by class on the screen.

Every chart answers to the same context name, `chart`, and carries the name of its `template`.
"""

from timing.charts.dwell import Supply, dwell_chart
from timing.charts.errors import ChartError
from timing.charts.graph import Graph
from timing.charts.marks import FindingMark
from timing.charts.palette import PRINT, Palette
from timing.charts.phasing import PhasingChart, phasing_chart
from timing.charts.residual import residual_chart, residual_chart_of
from timing.charts.speed import speed_chart
from timing.charts.speed_layers import band_rows
from timing.charts.sums import sums_in_words
from timing.charts.surface import SurfaceChart, surface_chart
from timing.charts.surface_points import SurfacePoint
from timing.charts.sweep import sweep_chart
from timing.charts.vacuum import vacuum_chart

__all__ = [
    "PRINT",
    "ChartError",
    "FindingMark",
    "Graph",
    "Palette",
    "PhasingChart",
    "Supply",
    "SurfaceChart",
    "SurfacePoint",
    "band_rows",
    "dwell_chart",
    "phasing_chart",
    "residual_chart",
    "residual_chart_of",
    "speed_chart",
    "sums_in_words",
    "surface_chart",
    "sweep_chart",
    "vacuum_chart",
]
