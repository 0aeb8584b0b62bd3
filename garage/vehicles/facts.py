"""A car's parts as plain figures for `timing`, and what is missing for it, in words."""

from garage.vehicles.models import TriggerKind, TriggerPlace, Vehicle
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


def has_rotor(vehicle: Vehicle) -> bool | None:
    """Whether a rotor shares out the sparks; None where nobody has said so and either is usual."""
    told, cylinders = vehicle.distributor.has_rotor, vehicle.engine.cylinders
    if told is not None:
        return told
    # A single fires without a cap, a twin often does: both plugs at once.
    return None if cylinders in (None, 2) else cylinders != 1


def trigger_place(vehicle: Vehicle) -> TriggerPlace | None:
    """Where the unit's trigger sits; a contact breaker sits in the distributor unless the record says otherwise."""
    distributor = vehicle.distributor
    if distributor.trigger_place:
        return TriggerPlace(distributor.trigger_place)
    return TriggerPlace.DISTRIBUTOR if distributor.trigger == TriggerKind.CONTACT_BREAKER else None


def rim_radius_mm(vehicle: Vehicle) -> float | None:
    """Radius at which marks on the rim of the distributor's body stand. [mm]"""
    diameter = vehicle.distributor.rim_diameter_mm
    return None if diameter is None else diameter / 2.0
