"""The pictures of the bench: the curve, the vacuum part, the total as a surface, and the dwell budget."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from garage.vehicles.circuit import CHARGING_V, CRANKING_V, RUNNING_V, circuit_of, missing_for_circuit, supply
from garage.vehicles.models import Engine, Vehicle
from jobs.bench.overlays import Layers
from jobs.maps.findings import Judged
from jobs.maps.inspection_values import Measured
from jobs.maps.unit_fit import UnitFit
from timing.charts import (
    Graph,
    Supply,
    SurfaceChart,
    SurfacePoint,
    dwell_chart,
    speed_chart,
    sums_in_words,
    surface_chart,
    vacuum_chart,
)
from timing.coil import Voltages, budgets_by_supply
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray
from timing.review import CoilFacts
from timing.unit import UnitType
from timing.units import convert, standard_pressure
from timing.vacuum import VacuumRamp, VacuumTable

# Time kept for a spark where the coil's own is not known, and the vacuum of an ordinary idle, cruise and full load
# where nobody has measured them (common practice, no source).
SPARK_MS = 1.0
IDLE_KPA, CRUISE_KPA, FULL_LOAD_KPA = 55.0, 40.0, 0.0
CRUISE_SHARE = 0.45  # of the red line
LOWEST_MANIFOLD_KPA = 30.0

WIDE, NARROW = 720.0, 360.0


@dataclass(frozen=True, slots=True)
class Drawn:
    """One picture laid out twice: for a desk, and for a phone or half a column."""

    wide: Graph
    narrow: Graph


def drawn(uid: str, draw: Callable[..., Graph]) -> Drawn:
    """`draw` at both widths."""
    return Drawn(draw(uid=uid, width=WIDE), draw(uid=f"{uid}-narrow", width=NARROW))


def speed_picture(
    target: IgnitionMap,
    unit: UnitType,
    engine: Engine,
    unit_fit: UnitFit,
    findings: Sequence[Judged],
    layers: Layers,
    *,
    editable: bool,
    uid: str = "speed",
    width: float = WIDE,
) -> Graph:
    """The curve as it was set and as the unit delivers it, counted from the base timing of this map."""
    delivered: list[tuple[float, float]] = []
    if unit_fit.fitted is not None:
        moved = unit_fit.fitted.map.base_deg - target.base_deg
        curve = unit_fit.fitted.map.curve
        delivered = [(rpm, degrees + moved) for rpm, degrees in zip(curve.rpm, curve.degrees, strict=True)]
    points = list(zip(target.curve.rpm, target.curve.degrees, strict=True))
    marks = [one.mark for one in findings]
    return speed_chart(
        uid=uid,
        delivered=delivered,
        target=points,
        nodes=points,
        earlier=layers.earlier,
        band=layers.band,
        as_found=layers.as_found,
        readings=layers.readings,
        road_notes=layers.road_notes,
        findings=[mark for mark in marks if mark is not None],
        idle_rpm=engine.idle_rpm,
        rev_limit_rpm=target.rev_limit_rpm,
        red_line_rpm=engine.red_line_rpm,
        degrees_name="degrees from base timing",
        editable=editable,
        step=unit.degree.step,
        width=width,
    )


def vacuum_picture(target: IgnitionMap, unit_fit: UnitFit, *, pressure_unit: str, altitude_m: float) -> Drawn | None:
    """What vacuum adds, and boost takes, over vacuum; None where the map has neither."""
    delivered = unit_fit.fitted.map if unit_fit.fitted else target
    part = delivered.vacuum
    boost = delivered.boost if delivered.boost is not None and any(delivered.boost.degrees) else None
    if (part is None or not np.any(_height(part))) and boost is None:
        return None
    most = float(convert(max(standard_pressure(altitude_m) - LOWEST_MANIFOLD_KPA, 1.0), "kPa", pressure_unit))

    def shown(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        return [(float(convert(kpa, "kPa", pressure_unit)), degrees) for kpa, degrees in points]

    retard = (
        [] if boost is None else [(-at, -degrees) for at, degrees in zip(boost.boost, boost.degrees, strict=True)][::-1]
    )
    if isinstance(part, VacuumTable):
        rows = [
            (rpm, shown([*_below(retard, part.vacuum[0]), *((kpa, row[column]) for kpa, row in _by_vacuum(part))]))
            for column, rpm in enumerate(part.rpm)
        ]
        return drawn("vacuum", partial(vacuum_chart, rows=rows, most_vacuum=most, pressure_unit=pressure_unit))
    return drawn(
        "vacuum",
        partial(
            vacuum_chart,
            ramp=shown(_joined(retard, _ramp_points(part))),
            target=shown(_joined([], _ramp_points(target.vacuum))) if isinstance(target.vacuum, VacuumRamp) else (),
            most_vacuum=most,
            from_rpm=part.from_rpm if part else 0.0,
            pressure_unit=pressure_unit,
        ),
    )


def surface_picture(
    target: IgnitionMap, unit_fit: UnitFit, engine: Engine, *, idle_vacuum_kpa: float | None, pressure_unit: str
) -> SurfaceChart:
    """Total advance as the unit delivers it, every cell explained as a sum, with idle, cruise and full load named.

    `idle_vacuum_kpa` is what this car was measured at; without it idle stands where an ordinary one does.
    """
    delivered = unit_fit.fitted.map if unit_fit.fitted else target
    rpm, vacuum = surface_nodes(delivered, engine)
    total = delivered.total_advance()
    top = engine.red_line_rpm or float(rpm[-1])
    points = [("cruise", CRUISE_SHARE * top, CRUISE_KPA), ("full load", 0.75 * top, FULL_LOAD_KPA)]
    if engine.idle_rpm:
        points.insert(0, ("idle", engine.idle_rpm, idle_vacuum_kpa or IDLE_KPA))
    return surface_chart(
        rpm=rpm,
        vacuum=np.asarray(convert(vacuum, "kPa", pressure_unit)),
        advance=total.table(rpm=rpm, vacuum=vacuum),
        uid="surface",
        says=sums_in_words(total, rpm=rpm, vacuum=vacuum),
        points=[
            SurfacePoint(name, rpm=_within(at, rpm), vacuum=float(convert(_within(kpa, vacuum), "kPa", pressure_unit)))
            for name, at, kpa in points
        ],
        pressure_unit=pressure_unit,
    )


def _within(figure: float, nodes: FloatArray) -> float:
    return float(np.clip(figure, nodes[0], nodes[-1]))


def surface_nodes(delivered: IgnitionMap, engine: Engine) -> tuple[FloatArray, FloatArray]:
    """Speeds and vacua that show the whole of a map: at most a dozen columns, from boost to a closed throttle."""
    top = max(delivered.curve.rpm[-1], engine.red_line_rpm or 0.0, 3000.0)
    step = 500.0 if top <= 6500 else 1000.0
    rpm = np.arange(500.0, top + step, step)
    vacuum = [0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0]
    if delivered.boost is not None and any(delivered.boost.degrees):
        most = delivered.boost.boost[-1]
        vacuum = [*sorted({-round(most, 1), -round(most / 2, 1)}), *vacuum]
    return rpm, np.array(vacuum)


def dwell_picture(
    target: IgnitionMap, vehicle: Vehicle, found: Measured | None = None
) -> tuple[Drawn | None, list[str]]:
    """The dwell budget at cranking, resting and charging voltage, measured or usual; or what is missing, in words."""
    found = found or Measured()
    circuit = circuit_of(vehicle)
    engine = vehicle.engine
    missing = missing_for_circuit(vehicle)
    if engine.cylinders is None:
        missing.append("the number of cylinders")
    if target.dwell_ms is None:
        missing.append("the dwell of this map")
    if circuit is None or missing or engine.cylinders is None or target.dwell_ms is None:
        return None, missing
    top = max(target.rev_limit_rpm or 0.0, engine.red_line_rpm or 0.0, 4000.0)
    try:
        budgets = budgets_by_supply(
            circuit,
            engine.cylinders,
            target.dwell_ms,
            SPARK_MS,
            rpm=np.linspace(100.0, top, 60),
            voltages=Voltages(
                cranking_v=found.cranking_v or supply(vehicle, CRANKING_V),
                resting_v=supply(vehicle, RUNNING_V),
                charging_v=found.charging_v or supply(vehicle, CHARGING_V),
            ),
            cranking=CoilFacts(circuit, cranking_v=circuit.supply_v, cold_ohm=vehicle.coil.primary_ohm).cranking,
            strokes=engine.strokes,
        )
    except TimingError as problem:
        return None, [str(problem)]
    supplies = [
        Supply(line.name, line.volts, target.dwell_ms, np.asarray(line.budget.on_ms), np.asarray(line.budget.energy_mj))
        for line in budgets.lines
    ]
    speeds = budgets.rpm
    limit = float(np.max(budgets.lines[-1].budget.limit_rpm))
    picture = partial(
        dwell_chart,
        speeds,
        supplies,
        limit_rpm=limit,
        rev_limit_rpm=target.rev_limit_rpm,
        red_line_rpm=engine.red_line_rpm,
    )
    return drawn("dwell", picture), []


def _height(part: VacuumRamp | VacuumTable) -> FloatArray:
    return np.asarray(part.degrees if isinstance(part, VacuumTable) else [part.full_deg])


def _ramp_points(part: VacuumRamp | VacuumTable | None) -> list[tuple[float, float]]:
    return [(part.start, 0.0), (part.full, part.full_deg)] if isinstance(part, VacuumRamp) else []


def _by_vacuum(part: VacuumTable) -> list[tuple[float, tuple[float, ...]]]:
    return list(zip(part.vacuum, part.degrees, strict=True))


def _below(points: list[tuple[float, float]], lowest: float) -> list[tuple[float, float]]:
    return [point for point in points if point[0] < min(lowest, 0.0)]


def _joined(retard: list[tuple[float, float]], ramp: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Boost on the left, vacuum on the right, and nought between them where neither acts."""
    points = {**dict(retard), **dict(ramp)}
    points.setdefault(0.0, 0.0)
    return sorted(points.items())
