"""The coil's circuit of a car for `timing`, as far as its figures are known."""

from garage.vehicles.models import Vehicle
from timing.coil import Primary
from timing.copper import resistance_at
from timing.errors import TimingError

# Common practice, no source: what the feed of a 12 V car carries, half of it on 6 V, and what wiring and switch take.
CRANKING_V, RUNNING_V, CHARGING_V = 9.0, 12.6, 14.2
WIRING_OHM = 0.2
SWITCH_DROP_V = 1.0
# A coil works hot, and its resistance was measured cold.
WORKING_C = 70.0


def supply(vehicle: Vehicle, volts_of_twelve: float) -> float:
    """A voltage of the usual 12 V car in this car's system."""
    return volts_of_twelve * (vehicle.system_volts or 12) / 12


def missing_for_circuit(vehicle: Vehicle) -> list[str]:
    """What must be known before the circuit can be worked with, in words."""
    coil = vehicle.coil
    missing = []
    if coil.primary_ohm is None:
        missing.append("the coil's primary resistance")
    if coil.inductance_mh is None:
        missing.append("the coil's inductance")
    if coil.has_ballast and coil.ballast_ohm is None:
        missing.append("the ballast's resistance")
    return missing


def circuit_of(vehicle: Vehicle, charging_v: float | None = None) -> Primary | None:
    """The circuit at charging voltage (as measured, or what is usual) and working temperature; None where a resistance
    is missing. Without an inductance it tells what the resistances alone decide."""
    coil = vehicle.coil
    if coil.primary_ohm is None or (coil.has_ballast and coil.ballast_ohm is None):
        return None
    try:
        return Primary(
            resistance_ohm=float(resistance_at(coil.primary_ohm, WORKING_C)),
            inductance_mh=coil.inductance_mh,
            supply_v=charging_v or supply(vehicle, CHARGING_V),
            ballast_ohm=coil.ballast_ohm if coil.has_ballast and coil.ballast_ohm else 0.0,
            wiring_ohm=WIRING_OHM,
            switch_drop_v=SWITCH_DROP_V,
        )
    except TimingError:
        return None
