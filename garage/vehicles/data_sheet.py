"""A car's data as its page lists them: label, value and unit of each line."""

from collections.abc import Iterable
from typing import Any

from garage.quantities.words import advance, plain, pressure
from garage.vehicles.models import Coil, Distributor, Engine, Vehicle

Fact = dict[str, Any]

FITTED = {None: "", True: "fitted", False: "none"}
MOVES = {None: "", True: "can be moved", False: "cannot be moved"}
EVENLY = {True: "evenly spaced", False: "not evenly spaced"}


def data_sheet(vehicle: Vehicle, *, vacuum_unit: str) -> dict[str, list[Fact]]:
    """The lines of each part of the car; those that most cars have are listed although they are not known."""
    return {
        "car": [
            _fact("Year", vehicle.year),
            _fact("Chassis number", vehicle.chassis_number),
            _fact("Earth", vehicle.get_earth_polarity_display()),
            _fact("System", vehicle.get_system_volts_display()),
            _fact("Charging", vehicle.get_charging_display()),
            _fact("Tachometer", vehicle.get_tachometer_display()),
        ],
        "engine": _engine(vehicle.engine),
        "distributor": _distributor(vehicle.distributor, vacuum_unit),
        "coil": _coil(vehicle.coil),
    }


def _engine(engine: Engine) -> list[Fact]:
    bore_and_stroke = [plain(size) for size in (engine.bore_mm, engine.stroke_mm) if size]
    compression = f"{plain(engine.compression_ratio)} : 1" if engine.compression_ratio else ""
    cylinders = str(engine.cylinders or "number not known")
    return [
        _fact("Family", engine.family),
        _fact("Engine number", engine.number),
        _fact("Cylinders", f"{cylinders}, {engine.get_strokes_display()}"),
        _fact("Bore × stroke", " × ".join(bore_and_stroke) if len(bore_and_stroke) == 2 else "", "mm"),
        *_where_known("Rod length", engine.rod_mm, "mm"),
        _fact("Compression ratio", compression),
        _fact("Firing order", engine.firing_order),
        _figure("Fuel", engine.fuel_ron, "RON"),
        _figure("Idle", engine.idle_rpm, "rpm"),
        _figure("Red line", engine.red_line_rpm, "rpm"),
        *_where_known("Diameter at the timing tape", engine.pulley_diameter_mm, "mm"),
        *([_fact("Cap terminals", EVENLY[engine.cap_terminals_even])] if engine.cap_terminals_even is not None else []),
        *([_fact("Boost", "supercharged or turbocharged")] if engine.boosted else []),
    ]


def _distributor(distributor: Distributor, vacuum_unit: str) -> list[Fact]:
    base = distributor.base_timing_deg
    return [
        _fact("Distributor number", distributor.number),
        _fact("Direction", distributor.get_rotation_display()),
        _fact("Trigger", distributor.get_trigger_display()),
        _fact("Factory base timing", "" if base is None else advance(base)),
        _fact("Vacuum capsule", _joined(_capsule(distributor, vacuum_unit))),
        *_where_known("Dwell", distributor.dwell_deg, "° distributor"),
        _fact("Rotor tip", _joined(_rotor_tip(distributor))),
        *_where_known("Cap terminal", distributor.post_width_mm, "mm wide"),
        *_where_known("Rotor air gap", distributor.rotor_gap_mm, "mm"),
        *_told("Rotor and cap", FITTED[distributor.has_rotor]),
        *_told("Cap terminals", distributor.cap_posts),
        *_told("Place of the trigger", distributor.get_trigger_place_display()),
        *_told("Plate or pick-up", MOVES[distributor.plate_moves]),
        *_where_known("Distributor rim, diameter", distributor.rim_diameter_mm, "mm"),
    ]


def _capsule(distributor: Distributor, vacuum_unit: str) -> Iterable[str]:
    if distributor.capsule_start_kpa is not None:
        yield f"starts at {pressure(distributor.capsule_start_kpa, distributor.capsule_start_unit or vacuum_unit)}"
    if distributor.capsule_full_kpa is not None:
        yield f"full at {pressure(distributor.capsule_full_kpa, distributor.capsule_full_unit or vacuum_unit)}"
    if distributor.capsule_full_deg is not None:
        yield f"maximum {plain(distributor.capsule_full_deg)}° distributor"


def _rotor_tip(distributor: Distributor) -> Iterable[str]:
    if distributor.rotor_tip_width_mm:
        yield f"{plain(distributor.rotor_tip_width_mm)} mm wide"
    if distributor.rotor_tip_radius_mm:
        yield f"radius {plain(distributor.rotor_tip_radius_mm)} mm"


def _coil(coil: Coil) -> list[Fact]:
    ballast = f", {plain(coil.ballast_ohm)} Ω" if coil.has_ballast and coil.ballast_ohm else ""
    return [
        _figure("Primary", coil.primary_ohm, "Ω at 20 °C"),
        _figure("Inductance", coil.inductance_mh, "mH", missing="not measured"),
        _fact("Ballast", FITTED[coil.has_ballast] + ballast),
        *_told("By-pass while cranking", FITTED[coil.has_bypass]),
        *_where_known("Coil dissipation, max", coil.heat_limit_w, "W"),
    ]


def _fact(label: str, value: object, unit: str = "", missing: str = "not known") -> Fact:
    return {"label": label, "value": value, "unit": unit, "missing": missing}


def _figure(label: str, value: float | None, unit: str, missing: str = "not known") -> Fact:
    return _fact(label, plain(value) if value else "", unit, missing)


def _where_known(label: str, value: float | None, unit: str) -> list[Fact]:
    return [_figure(label, value, unit)] if value else []


def _told(label: str, value: object) -> list[Fact]:
    return [_fact(label, value)] if value else []


def _joined(parts: Iterable[str]) -> str:
    return ", ".join(parts)
