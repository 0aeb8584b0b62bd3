"""The pictures of the bench: the curve, the vacuum part, the total as a surface, and the dwell budget."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from garage.vehicles.models import Engine
from jobs.bench.overlays import Layers
from jobs.maps.car_values import CarValues
from jobs.maps.findings import Judged
from jobs.maps.surface_nodes import surface_nodes
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


@dataclass(frozen=True, slots=True)
class Missing:
    """A figure that a picture lacks, and where it is entered."""

    label: str
    url: str


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
        cars=layers.like,
        cars_name=layers.like_name,
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
    target: IgnitionMap, unit_fit: UnitFit, engine: Engine, car: CarValues, *, pressure_unit: str
) -> SurfaceChart:
    """Total advance as the unit delivers it, every cell explained as a sum, with idle, cruise and full load named.

    Idle stands at the vacuum that the pipe has there: none on a throttle port, else what was measured on this car, or
    where an ordinary engine idles.
    """
    delivered = unit_fit.fitted.map if unit_fit.fitted else target
    rpm, vacuum = surface_nodes(delivered, engine)
    total = delivered.total_advance()
    top = engine.red_line_rpm or float(rpm[-1])
    points = [("cruise", CRUISE_SHARE * top, CRUISE_KPA), ("full load", 0.75 * top, FULL_LOAD_KPA)]
    if car.engine.idle_rpm:
        at_idle = car.engine.vacuum_at_idle_kpa
        points.insert(0, ("idle", car.engine.idle_rpm, IDLE_KPA if at_idle is None else at_idle))
    shown = np.asarray(convert(vacuum, "kPa", pressure_unit))
    return surface_chart(
        rpm=rpm,
        vacuum=shown,
        advance=total.table(rpm=rpm, vacuum=vacuum),
        uid="surface",
        says=sums_in_words(total, rpm=rpm, vacuum=vacuum),
        links=[[_why(speed, at, pressure_unit) for speed in rpm] for at in shown],
        points=[
            SurfacePoint(name, rpm=_within(at, rpm), vacuum=float(convert(_within(kpa, vacuum), "kPa", pressure_unit)))
            for name, at, kpa in points
        ],
        pressure_unit=pressure_unit,
    )


def _why(rpm: float, vacuum: float, pressure_unit: str) -> str:
    """Beside a version's own address: where the figure of a cell comes from."""
    return f"why/?rpm={rpm:g}&vacuum_kpa={vacuum:.6g}&vacuum_kpa_unit={pressure_unit}"


def _within(figure: float, nodes: FloatArray) -> float:
    return float(np.clip(figure, nodes[0], nodes[-1]))


def dwell_picture(target: IgnitionMap, car: CarValues) -> Drawn | None:
    """The dwell budget at this car's voltages, cranking no further than a starter turns.

    None where too little is known. A voltage that nobody has measured is drawn as is usual, and called so.
    """
    circuit, cylinders = car.circuit, car.engine.cylinders
    if circuit is None or circuit.inductance_mh is None or cylinders is None or target.dwell_ms is None:
        return None
    measured, usual = dict(car.voltages.measured), dict(car.usual.measured)
    top = max(target.rev_limit_rpm or 0.0, car.engine.red_line_rpm or 0.0, 4000.0)
    try:
        budgets = budgets_by_supply(
            circuit,
            cylinders,
            target.dwell_ms,
            SPARK_MS,
            rpm=np.linspace(100.0, top, 60),
            voltages=Voltages(**{f"{name}_v": volts for name, volts in (usual | measured).items()}),
            cranking=replace(car.coil, cranking_v=circuit.supply_v).cranking,
            strokes=car.engine.strokes,
            wasted_spark=car.engine.wasted_spark,
        )
    except TimingError:  # a voltage that the unit's switch would take whole: a slip, of which the findings speak
        return None
    supplies = [
        Supply(
            line.name if line.name in measured else f"usual {line.name}",
            line.volts,
            target.dwell_ms,
            np.asarray(line.budget.on_ms),
            np.asarray(line.budget.energy_mj),
        )
        for line in budgets.lines
    ]
    limit = float(np.max(budgets.lines[-1].budget.limit_rpm))
    picture = partial(
        dwell_chart,
        budgets.rpm,
        supplies,
        limit_rpm=limit,
        rev_limit_rpm=target.rev_limit_rpm,
        red_line_rpm=car.engine.red_line_rpm,
    )
    return drawn("dwell", picture)


def missing_for_dwell(target: IgnitionMap, car: CarValues) -> list[Missing]:
    """What the dwell budget lacks, each with the place where it is entered."""
    circuit, places = car.circuit, car.places
    lacking = [
        (circuit is None, "coil or ballast resistance", "missing-coil"),
        (circuit is not None and circuit.inductance_mh is None, "coil inductance", "missing-inductance"),
        (car.engine.cylinders is None, "number of cylinders", "missing-cylinders"),
        (target.dwell_ms is None, "dwell of this map", "missing-dwell"),
    ]
    return [Missing(label, places[code]) for is_missing, label, code in lacking if is_missing]


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
