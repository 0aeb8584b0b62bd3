"""A surface of total advance, drawn for the tests, and the way to one of its cells."""

from timing.charts import surface_chart
from timing.curve import AdvanceCurve
from timing.surface import TotalAdvance
from timing.vacuum import VacuumRamp

SPEEDS = [800, 1600, 2500, 3500, 5000]
VACUA = [0, 20, 40, 60]
# The vacuum ramp of the handbook's section 4: 0, 4.666667, 7, 14, 14 degrees at 10, 20, 25, 40, 60 kPa.
TOTAL = TotalAdvance(8, AdvanceCurve([800, 2500, 3500], [0, 17, 22]), VacuumRamp(10, 40, 14))


def drawn(**look):
    return surface_chart(rpm=SPEEDS, vacuum=VACUA, advance=TOTAL.table(rpm=SPEEDS, vacuum=VACUA), uid="s", **look)


def cell(chart, row, column):
    [found] = [one for one in chart.cells if (one.row, one.column) == (row, column)]
    return found
