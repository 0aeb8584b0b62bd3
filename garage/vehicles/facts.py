"""A car's parts as plain figures for `timing`, and what is missing for it, in words."""

from garage.vehicles.models import Vehicle
from timing.distributor import FactoryBand, factory_band
from timing.vacuum import VacuumRamp


def band_of(vehicle: Vehicle) -> FactoryBand | None:
    """The factory's advance band in crank degrees and crank rpm; None where its data are not known."""
    rows = vehicle.distributor.factory_band
    return factory_band(rows, strokes=vehicle.engine.strokes) if rows else None


def capsule_of(vehicle: Vehicle) -> VacuumRamp | None:
    """The vacuum capsule in crank degrees; None where its data are not known."""
    distributor = vehicle.distributor
    start, full, degrees = distributor.capsule_start_kpa, distributor.capsule_full_kpa, distributor.capsule_full_deg
    if start is None or full is None or degrees is None:
        return None
    turns = vehicle.engine.strokes // 2
    return VacuumRamp(start=start, full=full, full_deg=degrees * turns)
