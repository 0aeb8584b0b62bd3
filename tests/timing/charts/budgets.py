"""Dwell budgets drawn for the tests: of the handbook's coil A, and of figures given by hand."""

import numpy as np

from timing.charts import Supply, dwell_chart
from timing.coil import Primary, dwell_budget

SPEEDS = np.linspace(300, 6500, 63)  # every 100 rpm
COIL_A = Primary(3.0, 8.0, 12.8, 0.0)
NAMES = ("cranking", "running", "charging")


def budget_chart(cylinders, dwell_ms, **look):
    volts = (9.0, 12.8, 14.2)
    budget = dwell_budget(COIL_A, cylinders, dwell_ms, 1.0, rpm=SPEEDS, supply_v=volts)
    asked = np.broadcast_to(dwell_ms, 3)
    supplies = [
        Supply(name, volts[row], float(asked[row]), budget.on_ms[row], budget.energy_mj[row])
        for row, name in enumerate(NAMES)
    ]
    return dwell_chart(SPEEDS, supplies, uid="d", **{"limit_rpm": float(np.min(budget.limit_rpm)), **look})


def supply(name="running", volts=12.8, asked=3.5, on=(3.5, 2.0), energy=(36.0, 20.0)):
    return Supply(name, volts, asked, on, energy)


def drawn(*supplies, **look):
    """Two speeds, 1000 and 5800 rpm."""
    return dwell_chart([1000, 5800], supplies or [supply()], uid="d", **look)


def layers(chart, name):
    return [layer for layer in chart.layers if layer.name == name]
