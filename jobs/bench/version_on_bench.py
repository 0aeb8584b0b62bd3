"""All that lies on the bench for one version: its map, what the unit delivers, the findings, the pictures."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from garage.people.models import Workshop
from garage.quantities.words import plain, pressure
from jobs.bench import pictures
from jobs.bench.overlays import Choice, Layers, choices_for, laid
from jobs.likeness.like import likeness_of
from jobs.maps.car_values import CarValues, car_values
from jobs.maps.findings import Judged, judged
from jobs.maps.models import MapVersion, VacuumScheme
from jobs.maps.unit_fit import UnitFit, fit_of_version, fit_to_unit
from jobs.roadtest.suggested import pinking_noted
from timing.charts import Graph
from timing.ignition_map import IgnitionMap
from timing.unit import UnitType

WORTH_SAYING_DEG = 0.005  # a smaller error shows as nought


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One row of the curve's table, as texts: both degrees are counted from the version's base timing."""

    rpm: str
    set: str
    delivered: str


@dataclass(frozen=True, slots=True)
class Bench:
    """One version on the bench, worked out once and shown in several places."""

    version: MapVersion
    target: IgnitionMap
    unit: UnitType
    unit_fit: UnitFit
    car: CarValues
    findings: list[Judged]
    layers: Layers
    editable: bool
    narrow: bool
    vacuum_unit: str
    asked: Sequence[str]

    def layer_choices(self) -> list[Choice]:
        """What may be laid underneath."""
        surface = self.target.total_advance()
        return choices_for(self.version.job, self.version, self.target.base_deg, surface, self.asked)

    @property
    def like_query(self) -> str:
        """The address part under which the learned page shows the engines like this one."""
        return likeness_of(self.version.job.vehicle.engine).query()

    @property
    def chart(self) -> Graph:
        """The curve, as wide as it is looked at."""
        return self._curve(pictures.NARROW) if self.narrow else self._curve(pictures.WIDE)

    def curve_to_look_at(self) -> pictures.Drawn:
        """The curve at both widths, where nobody drags its points."""
        return pictures.drawn("speed", self._curve)

    def _curve(self, width: float, uid: str = "speed") -> Graph:
        return pictures.speed_picture(
            self.target,
            self.unit,
            self.version.job.vehicle.engine,
            self.unit_fit,
            self.findings,
            self.layers,
            editable=self.editable,
            uid=uid,
            width=width,
        )

    def delivered_figures(self) -> list[str]:
        """What the unit delivers at each point of the curve, counted from the same base timing as the curve."""
        fitted = self.unit_fit.fitted
        if fitted is None:
            return ["" for _ in self.target.curve.rpm]
        curve = fitted.map.curve.shift(fitted.map.base_deg - self.target.base_deg)
        return [plain(round(float(curve.advance(rpm)), 2)) for rpm in self.target.curve.rpm]

    def curve_points(self) -> list[CurvePoint]:
        """The curve as a table: what was set, and what the unit delivers."""
        curve = self.target.curve
        return [
            CurvePoint(plain(rpm), plain(degrees), delivered)
            for rpm, degrees, delivered in zip(curve.rpm, curve.degrees, self.delivered_figures(), strict=True)
        ]

    def pictures(self) -> dict[str, Any]:
        """The pictures under the bench, and what can be said where one cannot be drawn."""
        vehicle, circuit = self.version.job.vehicle, self.car.circuit
        workshop = Workshop.objects.first()
        at_idle = self.car.engine.vacuum_at_idle_kpa
        return {
            "vacuum": pictures.vacuum_picture(
                self.target,
                self.unit_fit,
                pressure_unit=self.vacuum_unit,
                altitude_m=workshop.altitude_m if workshop else 0.0,
            ),
            "surface": pictures.surface_picture(
                self.target, self.unit_fit, vehicle.engine, self.car, pressure_unit=self.vacuum_unit
            ),
            "idle_is_without_vacuum": self.car.engine.vacuum_port == "throttle",
            "idle_measured": at_idle is not None,
            "dwell": pictures.dwell_picture(self.target, self.car),
            "missing_for_dwell": pictures.missing_for_dwell(self.target, self.car),
            "circuit": circuit,
            "at_volts": f"at {plain(circuit.supply_v)} V" if circuit else "",
            "usual_voltages": [
                name for name, _ in self.car.usual.measured if name not in dict(self.car.voltages.measured)
            ],
        }

    def context(self) -> dict[str, Any]:
        """What the fragments of the bench show."""
        return {
            "bench": self,
            "version": self.version,
            "chart": self.chart,
            "fitted": self.unit_fit.fitted,
            "error_says_something": self.unit_fit.error_says_something,
            "problems": self.unit_fit.problems,
            "open_entries": self.unit_fit.open_entries,
            "findings": self.findings,
        }


def other_settings(version: MapVersion) -> list[dict[str, str]]:
    """What a version sets besides its curve, as lines of label and value."""
    boost = [f"{plain(degrees)}° at {pressure(kpa, version.boost_unit)}" for kpa, degrees in version.boost]
    return [
        {"label": "Vacuum part", "value": _vacuum_part(version)},
        {"label": "Retard under boost", "value": ", ".join(boost) or "none"},
        {"label": "Repeated sparks while cranking", "value": "on" if version.repeated_sparks else "off"},
        {"label": "Trigger", "value": version.get_trigger_display(), "missing": "not set"},
    ]


def _vacuum_part(version: MapVersion) -> str:
    if version.vacuum_scheme == VacuumScheme.TABLE:
        return "table, drawn below"
    start, full, most = version.vacuum_start_kpa, version.vacuum_full_kpa, version.vacuum_full_deg
    is_ramp = version.vacuum_scheme == VacuumScheme.RAMP
    if not is_ramp or start is None or full is None or most is None:
        return "none"
    above = f", above {plain(version.vacuum_from_rpm)} rpm" if version.vacuum_from_rpm else ""
    unit = version.vacuum_unit
    return f"{plain(most)}° from {pressure(start, unit)} to {pressure(full, unit)}{above}"


def on_the_bench(
    version: MapVersion,
    *,
    asked: Sequence[str] = (),
    target: IgnitionMap | None = None,
    vacuum_unit: str = "",
    editable: bool = False,
    narrow: bool = False,
) -> Bench:
    """`version` on the bench; with `target`, as it stands typed in the form and not yet saved.

    `narrow` draws the curve for a phone.
    """
    unit = version.unit_revision.holds()
    unit_fit = fit_of_version(version) if target is None else fit_to_unit(target, unit)
    shown_in = vacuum_unit or version.vacuum_unit
    the_map = target or version.ignition_map()
    car = car_values(version.job)
    return Bench(
        version=version,
        target=the_map,
        unit=unit,
        unit_fit=unit_fit,
        car=car,
        findings=judged(the_map, unit, car, unit_fit, pinking=pinking_noted(version), vacuum_unit=shown_in),
        layers=laid(version.job, version, the_map.base_deg, the_map.total_advance(), asked),
        editable=editable,
        narrow=narrow,
        vacuum_unit=shown_in,
        asked=asked,
    )
