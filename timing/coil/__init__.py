"""The coil: dwell, charge, energy and heat, and what of the dwell is left as the engine turns faster."""

from timing.coil.circuit import Charge, CoilError, Primary
from timing.coil.dwell import DwellBudget, dwell_budget
from timing.coil.rhythm import spark_intervals
from timing.coil.steady import Steady, steady_state
from timing.coil.supplies import CRANKING_RPM, SupplyBudget, SupplyBudgets, Voltages, budgets_by_supply

__all__ = [
    "CRANKING_RPM",
    "Charge",
    "CoilError",
    "DwellBudget",
    "Primary",
    "Steady",
    "SupplyBudget",
    "SupplyBudgets",
    "Voltages",
    "budgets_by_supply",
    "dwell_budget",
    "spark_intervals",
    "steady_state",
]
