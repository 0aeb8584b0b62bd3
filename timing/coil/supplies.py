"""The dwell budget at the voltages that were measured in one car: at rest, while cranking, and charging."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from timing.coil.circuit import CoilError, Primary
from timing.coil.dwell import DwellBudget, dwell_budget
from timing.inputs import FloatArray, number, within

# A starter turns no engine faster than this (common practice, no source). [rpm at the crank]
CRANKING_RPM: Final = 400.0

SupplyName: TypeAlias = Literal["cranking", "resting", "charging"]


@dataclass(frozen=True, slots=True)
class Voltages:
    """What was measured at the coil's feed; None where nobody has.

    Attributes
    ----------
    cranking_v : float or None
        While the starter turns the engine. [V]
    resting_v : float or None
        Engine stopped, battery off charge. [V]
    charging_v : float or None
        Engine running at about 2000 rpm. [V]

    Raises
    ------
    TimingError
        If a voltage is not above zero.
    """

    cranking_v: float | None = None
    resting_v: float | None = None
    charging_v: float | None = None

    def __post_init__(self) -> None:
        for name, volts in self.measured:
            object.__setattr__(self, f"{name}_v", number(volts, f"the {name} voltage", above=0.0, unit="V"))

    @property
    def measured(self) -> tuple[tuple[SupplyName, float], ...]:
        """Each voltage that is known, with its name, cranking first."""
        named: tuple[tuple[SupplyName, float | None], ...] = (
            ("cranking", self.cranking_v),
            ("resting", self.resting_v),
            ("charging", self.charging_v),
        )
        return tuple((name, volts) for name, volts in named if volts is not None)


class SupplyBudget(NamedTuple):
    """The dwell budget at one measured voltage.

    Attributes
    ----------
    name : 'cranking', 'resting' or 'charging'
        Which voltage.
    volts : float
        The voltage. [V]
    budget : DwellBudget
        At the first speeds of `SupplyBudgets.rpm`: all of them, or as far as a starter turns.
    """

    name: SupplyName
    volts: float
    budget: DwellBudget


@dataclass(frozen=True, slots=True, eq=False)
class SupplyBudgets:
    """The dwell budget at every measured voltage.

    Attributes
    ----------
    rpm : array, shape (m,)
        The speeds asked for, and the cranking speed among them. [rpm at the crank]
    lines : tuple of SupplyBudget
        From the lowest voltage in use to the highest: cranking, resting, charging.
    """

    rpm: FloatArray
    lines: tuple[SupplyBudget, ...]


def budgets_by_supply(
    primary: Primary,
    cylinders: int,
    dwell_ms: float,
    spark_ms: float,
    *,
    rpm: ArrayLike,
    voltages: Voltages,
    cranking: Primary | None = None,
    cranking_rpm: float = CRANKING_RPM,
    strokes: int = 4,
    intervals_deg: ArrayLike | None = None,
    wasted_spark: bool = False,
) -> SupplyBudgets:
    """The dwell budget at each measured voltage, that of cranking no further than a starter turns.

    Parameters
    ----------
    primary : Primary
        The coil's circuit at working temperature; its own supply is not used.
    cylinders, dwell_ms, spark_ms, strokes, intervals_deg, wasted_spark
        As for `dwell_budget`.
    rpm : sequence of float, shape (k,)
        Speeds, above zero, in any order. [rpm at the crank]
    voltages : Voltages
        What was measured, one or more.
    cranking : Primary, optional
        The circuit while cranking: the coil as cold as it was measured, a ballast by-passed where it is. Left out,
        `primary` with its ballast.
    cranking_rpm : float
        Highest speed at which the starter turns the engine. [rpm at the crank]

    Returns
    -------
    SupplyBudgets
        The speeds in order, the cranking speed among them, and a budget for each voltage.

    Raises
    ------
    CoilError
        If no voltage is known, or as `dwell_budget`.
    TimingError
        If a figure is out of its range or not finite.
    """
    if not voltages.measured:
        raise CoilError("no voltage has been measured")
    top = number(cranking_rpm, "the cranking speed", above=0.0, unit="rpm")
    speeds = np.union1d(np.atleast_1d(within(rpm, "engine speed", above=0.0, unit="rpm")), [top])
    lines = []
    for name, volts in voltages.measured:
        is_cranking = name == "cranking"
        budget = dwell_budget(
            (cranking or primary) if is_cranking else primary,
            cylinders,
            dwell_ms,
            spark_ms,
            rpm=speeds[speeds <= top] if is_cranking else speeds,
            supply_v=volts,
            strokes=strokes,
            intervals_deg=intervals_deg,
            wasted_spark=wasted_spark,
        )
        lines.append(SupplyBudget(name, volts, budget))
    return SupplyBudgets(rpm=speeds, lines=tuple(lines))
