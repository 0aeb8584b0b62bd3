"""What the unit holds of a version: worked out afresh for a draft, read from the record for a released one."""

from dataclasses import dataclass

from jobs.maps.models import MapVersion
from timing.errors import TimingError
from timing.gridfit import GridFit
from timing.ignition_map import IgnitionMap
from timing.unit import FittedMap, KeyInLine, UnitCannotHold, UnitType, fit_map, key_in_lines


@dataclass(frozen=True, slots=True)
class UnitFit:
    """What the unit holds of a map, or why it cannot.

    `problems` are sentences; `fitted` is None exactly when there are any.
    """

    fitted: FittedMap | None
    problems: tuple[str, ...] = ()

    @property
    def open_entries(self) -> tuple[str, ...]:
        """What the unit asks for and the map does not say."""
        return self.fitted.unset if self.fitted else ()


def fit_to_unit(wanted: IgnitionMap, unit: UnitType) -> UnitFit:
    """What `unit` holds of a map that is not released yet."""
    try:
        return UnitFit(fit_map(wanted, unit))
    except UnitCannotHold as refusal:
        return UnitFit(None, refusal.problems)
    except TimingError as refusal:
        return UnitFit(None, (str(refusal),))


def fit_of_version(version: MapVersion) -> UnitFit:
    """What the unit holds of `version`, by the record once it is released.

    The record keeps the figures and not the sentences about their cost: those are added as long as the map is still
    fitted in the same way today.
    """
    unit = version.unit_revision.holds()
    today = fit_to_unit(version.ignition_map(), unit)
    if version.released_at is None:
        return today
    recorded = recorded_fit(version)
    same = today.fitted is not None and recorded.fitted is not None and today.fitted.map == recorded.fitted.map
    return today if same else recorded


def recorded_fit(version: MapVersion) -> UnitFit:
    """What the unit holds of a released version, from the record alone."""
    unit = version.unit_revision.holds()
    return UnitFit(as_recorded(version.held_map(), version.ignition_map(), unit))


def as_recorded(held: IgnitionMap, wanted: IgnitionMap, unit: UnitType) -> FittedMap:
    """The recorded `held` map with what it strays from the wanted one."""
    as_counted = held.curve if unit.counted_from == "base" else held.curve.shift(held.base_deg)
    gap = held.curve.shift(held.base_deg).largest_difference(wanted.curve.shift(wanted.base_deg))
    return FittedMap(
        map=held,
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
