"""All that lies on the bench for one version: its map, what the unit holds, the findings, the pictures."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from garage.people.models import Workshop
from garage.quantities.words import plain, pressure
from jobs.bench import pictures
from jobs.bench.overlays import Choice, Layers, choices_for, laid
from jobs.maps.findings import Judged, judged
from jobs.maps.inspection_values import measured
from jobs.maps.models import MapVersion, VacuumScheme
from jobs.maps.unit_fit import UnitFit, fit_of_version, fit_to_unit
from timing.charts import Graph
from timing.ignition_map import IgnitionMap
from timing.unit import UnitType

WORTH_SAYING_DEG = 0.005  # a smaller error shows as nought


@dataclass(frozen=True, slots=True)
class Bench:
    """One version on the bench, worked out once and shown in several places."""

    version: MapVersion
    wanted: IgnitionMap
    unit: UnitType
    unit_fit: UnitFit
    findings: list[Judged]
    layers: Layers
    editable: bool
    narrow: bool
    vacuum_unit: str
    asked: Sequence[str]

    def layer_choices(self) -> list[Choice]:
        """What may be laid underneath."""
        surface = self.wanted.total_advance()
        return choices_for(self.version.job, self.version, self.wanted.base_deg, surface, self.asked)

    @property
    def chart(self) -> Graph:
        """The curve, as wide as it is looked at."""
        return self._curve(pictures.NARROW) if self.narrow else self._curve(pictures.WIDE)

    def curve_to_look_at(self) -> pictures.Drawn:
        """The curve at both widths, where nobody drags its nodes."""
        return pictures.drawn("speed", self._curve)

    def _curve(self, width: float, uid: str = "speed") -> Graph:
        return pictures.speed_picture(
            self.wanted,
            self.unit,
            self.version.job.vehicle.engine,
            self.unit_fit,
            self.findings,
            self.layers,
            editable=self.editable,
            uid=uid,
            width=width,
        )

    def held_figures(self) -> list[str]:
        """What the unit shows at each wanted node, counted as the unit counts."""
        fitted = self.unit_fit.fitted
        if fitted is None:
            return ["" for _ in self.wanted.curve.rpm]
        return [plain(round(float(fitted.curve_fit.curve.advance(rpm)), 2)) for rpm in self.wanted.curve.rpm]

    def pictures(self) -> dict[str, Any]:
        """The pictures under the bench."""
        vehicle = self.version.job.vehicle
        workshop = Workshop.objects.first()
        altitude_m = workshop.altitude_m if workshop else 0.0
        idle_vacuum_kpa = measured(self.version.job, altitude_m).idle_vacuum_kpa
        dwell, missing = pictures.dwell_picture(self.wanted, vehicle)
        return {
            "vacuum": pictures.vacuum_picture(
                self.wanted,
                self.unit_fit,
                pressure_unit=self.vacuum_unit,
                altitude_m=altitude_m,
            ),
            "surface": pictures.surface_picture(
                self.wanted,
                self.unit_fit,
                vehicle.engine,
                idle_vacuum_kpa=idle_vacuum_kpa,
                pressure_unit=self.vacuum_unit,
            ),
            "idle_measured": idle_vacuum_kpa is not None,
            "dwell": dwell,
            "missing_for_dwell": missing,
        }

    def context(self) -> dict[str, Any]:
        """What the fragments of the bench show."""
        return {
            "bench": self,
            "version": self.version,
            "chart": self.chart,
            "fitted": self.unit_fit.fitted,
            "shows_worst_error": self.unit_fit.fitted is not None
            and self.unit_fit.fitted.worst_error >= WORTH_SAYING_DEG,
            "problems": self.unit_fit.problems,
            "open_entries": self.unit_fit.open_entries,
            "findings": self.findings,
            "counted_absolute": self.unit.counted_from == "absolute",
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
    wanted: IgnitionMap | None = None,
    vacuum_unit: str = "",
    editable: bool = False,
    narrow: bool = False,
) -> Bench:
    """`version` on the bench; with `wanted`, as it stands typed in the form and not yet saved.

    `narrow` draws the curve for a phone.
    """
    unit = version.unit_revision.holds()
    unit_fit = fit_of_version(version) if wanted is None else fit_to_unit(wanted, unit)
    shown_in = vacuum_unit or version.vacuum_unit
    the_map = wanted or version.ignition_map()
    return Bench(
        version=version,
        wanted=the_map,
        unit=unit,
        unit_fit=unit_fit,
        findings=judged(the_map, unit, version.job, unit_fit, vacuum_unit=shown_in),
        layers=laid(version.job, version, the_map.base_deg, the_map.total_advance(), asked),
        editable=editable,
        narrow=narrow,
        vacuum_unit=shown_in,
        asked=asked,
    )
