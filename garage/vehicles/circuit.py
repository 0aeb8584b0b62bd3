"""The coil's circuit of a car for `timing`, as far as its figures are known."""

from garage.vehicles.models import Vehicle
from timing.coil import Primary
from timing.copper import resistance_at
from timing.errors import TimingError

# Common practice, no source: what the feed of a 12 V car carries, half of it on 6 V, and what wiring and switch take.
CRANKING_V, RESTING_V, CHARGING_V = 9.0, 12.6, 14.2
WIRING_OHM = 0.2
SWITCH_DROP_V = 1.0
# A coil works hot, and its resistance was measured cold.
WORKING_C = 70.0


def usual_volts(vehicle: Vehicle, volts_of_twelve: float) -> float:
    """A voltage of the usual 12 V car in this car's system."""
    return round(volts_of_twelve * (vehicle.system_volts or 12) / 12, 2)


def warm_ohm(primary_20_ohm: float) -> float:
    """What a coil of that resistance at 20 °C has at work. [ohm]"""
    return float(resistance_at(primary_20_ohm, WORKING_C))


def circuit(
    *, primary_20_ohm: float | None, ballast_ohm: float | None, inductance_mh: float | None, supply_v: float
) -> Primary | None:
    """The circuit at working temperature; `ballast_ohm` is 0 without a ballast.

    None where a resistance is not known, or cannot be. Without an inductance it tells what the resistances alone
    decide.
    """
    if primary_20_ohm is None or ballast_ohm is None:
        return None
    try:
        return Primary(
            resistance_ohm=warm_ohm(primary_20_ohm),
            inductance_mh=inductance_mh,
            supply_v=supply_v,
            ballast_ohm=ballast_ohm,
            wiring_ohm=WIRING_OHM,
            switch_drop_v=SWITCH_DROP_V,
        )
    except TimingError:
        return None
