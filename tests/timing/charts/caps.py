"""The caps of the handbook as they are drawn: each read back with its scale and its layers."""

import math

from tests.timing.charts.arcs import arcs, circle, turned
from timing.charts import phasing_chart
from timing.distributor import rotor_phasing

# Rows of the table in the project's handbook, section 7: N, range, radius, tip, post, gap, in line at.
FOUR = (4, 8, 40, 20, 7, 4, 0.7, 24)
SIX = (6, 6, 42, 21, 8, 4, 0.7, 24)
EIGHT = (8, 6, 46, 24, 9, 5, 0.7, 26)
AT_REST = (8, 6, 46, 24, 9, 5, 0.7, 6)  # in line at the lowest advance: 1.3776 mm short of its post at 46 degrees


def drawn(case=FOUR, limits=None, **look):
    return phasing_chart(rotor_phasing(*case, **(limits or {})), uid="p", **look)


class Cap:
    """One of the caps of a drawing, with its scale and its layers."""

    def __init__(self, chart, which, tip_radius_mm):
        begins = [index for index, layer in enumerate(chart.layers) if layer.name == "cap"] + [len(chart.layers)]
        self.layers = chart.layers[begins[which] : begins[which + 1]]
        self.centre, self.radius = circle(self.one("cap").d)
        self.per_mm = self.arc("rotor").radius / tip_radius_mm  # [units of the drawing per mm]

    def one(self, name):
        [layer] = [layer for layer in self.layers if layer.name == name]
        return layer

    def names(self):
        return [layer.name for layer in self.layers]

    def arc(self, name):
        [arc] = arcs(self.one(name).d)
        return arc

    def reach(self, place):
        return math.dist(place, self.centre)

    def angle(self, place):
        return turned(place, self.centre)


def caps(case, **look):
    """The lowest and the highest advance, as drawn; with a remedy, then both again after it."""
    return caps_of(drawn(case, **look), case[3])


def caps_of(chart, tip_radius_mm):
    count = sum(layer.name == "cap" for layer in chart.layers)
    return tuple(Cap(chart, which, tip_radius_mm) for which in range(count))
