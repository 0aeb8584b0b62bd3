"""The coil: dwell, charge, energy and heat, and what of the dwell is left as the engine turns faster."""

from timing.coil.circuit import Charge, CoilError, Primary, Steady
from timing.coil.dwell import (
    DwellBudget,
    dwell_angle,
    dwell_budget,
    dwell_duty,
    dwell_for_supplies,
    dwell_time,
    steady_over_speed,
)

__all__ = [
    "Charge",
    "CoilError",
    "DwellBudget",
    "Primary",
    "Steady",
    "dwell_angle",
    "dwell_budget",
    "dwell_duty",
    "dwell_for_supplies",
    "dwell_time",
    "steady_over_speed",
]
