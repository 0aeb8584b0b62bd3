"""What the unit delivers of a version: worked out afresh for a draft, read from the record for a released one."""

from dataclasses import dataclass

from jobs.maps.models import MapVersion
from jobs.maps.stored_map import to_json
from timing.errors import TimingError
from timing.gridfit import GridFit
from timing.ignition_map import IgnitionMap
from timing.unit import FittedMap, KeyInLine, UnitCannotHold, UnitType, fit_map, key_in_lines

# What stands over a table of a unit's own entries.
RECKONING = {
    "base": "degrees from base timing",
    "absolute": "degrees before top dead centre, base timing included",
}
# What rounds by less is not said. [degrees of crank]
WORTH_SAYING_DEG = 0.1


@dataclass(frozen=True, slots=True)
class UnitFit:
    """What the unit delivers of a map, or why it cannot.

    `problems` are sentences; `fitted` is None exactly when there are any.
    """

    fitted: FittedMap | None
    problems: tuple[str, ...] = ()

    @property
    def open_entries(self) -> tuple[str, ...]:
        """What the unit asks for and the map does not say."""
        return self.fitted.unset if self.fitted else ()

    @property
    def error_says_something(self) -> bool:
        """Whether the unit strays from the map by as much as anybody would care to read."""
        return self.fitted is not None and self.fitted.worst_error >= WORTH_SAYING_DEG


def reckoning_of(unit: UnitType) -> str:
    """From where the points of the curve are counted as they are keyed in, in words."""
    return RECKONING[unit.counted_from]


def fit_to_unit(target: IgnitionMap, unit: UnitType) -> UnitFit:
    """What `unit` delivers of a map that is not released yet."""
    try:
        return UnitFit(fit_map(target, unit))
    except UnitCannotHold as refusal:
        return UnitFit(None, refusal.problems)
    except TimingError as refusal:
        return UnitFit(None, (str(refusal),))


def fit_of_version(version: MapVersion) -> UnitFit:
    """What the unit delivers of `version`, by the record once it is released.

    The record keeps the figures and not the sentences about their cost: those are added as long as the map is still
    fitted in the same way today.
    """
    unit = version.unit_revision.holds()
    today = fit_to_unit(version.ignition_map(), unit)
    if version.released_at is None:
        return today
    recorded = recorded_fit(version)
    if today.fitted is None or recorded.fitted is None:
        return recorded
    return today if to_json(today.fitted.map) == to_json(recorded.fitted.map) else recorded


def recorded_fit(version: MapVersion) -> UnitFit:
    """What the unit delivers of a released version, from the record alone."""
    unit = version.unit_revision.holds()
    return UnitFit(as_recorded(version.delivered_map(), version.ignition_map(), unit))


def as_recorded(delivered: IgnitionMap, target: IgnitionMap, unit: UnitType) -> FittedMap:
    """The recorded map `delivered` with its largest distance from `target`."""
    total = delivered.curve.shift(delivered.base_deg)
    as_counted = delivered.curve if unit.counted_from == "base" else total
    gap = total.largest_difference(target.curve.shift(target.base_deg))
    return FittedMap(
        map=delivered,
        curve_fit=GridFit(as_counted, abs(gap.degrees), gap.at_rpm),
        worst_error=abs(gap.degrees),
        at_rpm=gap.at_rpm,
    )


def lines_of(version: MapVersion) -> tuple[KeyInLine, ...]:
    """The key-in sheet of a released version.

    Raises
    ------
    TimingError
        If the record is not one this unit type could hold.
    """
    fitted = recorded_fit(version).fitted
    if fitted is None:
        return ()
    return key_in_lines(fitted, version.unit_revision.holds())
