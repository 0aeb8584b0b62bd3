"""The maps that stayed in like cars, speed by speed, wide open and with vacuum, and the settings beside them."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from garage.quantities.words import plain
from jobs.learning.behind import Behind, car_of
from jobs.learning.group import Group
from jobs.likeness.stayed import StayedMap
from timing.ignition_map import IgnitionMap
from timing.inputs import FloatArray
from timing.spread import AdvanceBand, Spread, band_of, spread_of, totals, vacuum_band

SPEEDS = np.arange(500.0, 7001.0, 250.0)
TABLE_STEP_RPM = 500.0
VACUA = np.arange(0.0, 71.0, 5.0)
CRUISE_RPM = 2500.0  # at which the vacuum part is shown over vacuum (common practice, no source)


@dataclass(frozen=True, slots=True)
class AtSpeed:
    """Total advance of the cars at one speed: wide open and with vacuum. [degrees BTDC]"""

    rpm: float
    open: Spread
    vacuum: Spread
    behind: Behind


@dataclass(frozen=True, slots=True)
class Setting:
    """One figure besides the curve, over the cars that have it set."""

    label: str
    unit: str
    spread: Spread
    behind: Behind


@dataclass(frozen=True, slots=True)
class StayedMaps:
    """All that the maps say together."""

    count: int
    damaged: int
    open: AdvanceBand
    with_vacuum: AdvanceBand
    over_vacuum: AdvanceBand
    speeds: Sequence[AtSpeed]
    settings: Sequence[Setting]

    def figures(self) -> Iterator[Behind]:
        yield from (row.behind for row in self.speeds)
        yield from (row.behind for row in self.settings)


def maps_that_stayed(group: Group, *, vacuum_kpa: float) -> StayedMaps:
    stayed = group.stayed
    maps = [one.map for one in stayed.maps]
    wide_open, with_vacuum = totals(maps, rpm=SPEEDS, vacuum=[0.0, vacuum_kpa])
    at_speeds = zip(SPEEDS.tolist(), wide_open.T, with_vacuum.T, strict=True)
    return StayedMaps(
        count=len(maps),
        damaged=len(stayed.damaged),
        open=band_of(SPEEDS, wide_open),
        with_vacuum=band_of(SPEEDS, with_vacuum),
        over_vacuum=vacuum_band(maps, vacuum=VACUA, rpm=CRUISE_RPM),
        speeds=[
            row
            for rpm, *columns in at_speeds
            if rpm % TABLE_STEP_RPM == 0 and (row := _at_speed(stayed.maps, rpm, *columns))
        ],
        settings=[found for setting in SETTINGS if (found := _setting(stayed.maps, *setting))],
    )


def _at_speed(
    stayed: Sequence[StayedMap], rpm: float, wide_open: FloatArray, with_vacuum: FloatArray
) -> AtSpeed | None:
    """The cars that rev so high, with their advance; None for fewer than three."""
    there = np.isfinite(wide_open)
    spread, other = spread_of(wide_open[there]), spread_of(with_vacuum[there])
    if spread is None or other is None:
        return None
    figures = zip(wide_open[there].tolist(), with_vacuum[there].tolist(), np.flatnonzero(there).tolist(), strict=True)
    cars = tuple(
        car_of(
            stayed[which].handover,
            f"{plain(at, 1)}° wide open, {plain(vacuum, 1)}° with vacuum, {stayed[which].version}",
        )
        for at, vacuum, which in sorted(figures)
    )
    return AtSpeed(rpm, spread, other, Behind(f"speed-{rpm:.0f}", f"Advance at {rpm:.0f} rpm", cars))


def _vacuum_full(one: IgnitionMap) -> float | None:
    return getattr(one.vacuum, "full_deg", None)


SETTINGS: tuple[tuple[str, str, str, Callable[[IgnitionMap], float | None]], ...] = (
    ("base", "Base timing", "°", lambda one: one.base_deg),
    ("vacuum", "Full vacuum advance, as a ramp", "°", _vacuum_full),
    ("dwell", "Dwell", "ms", lambda one: one.dwell_ms),
    ("limit", "Rev limit", "rpm", lambda one: one.rev_limit_rpm),
)


def _setting(
    stayed: Sequence[StayedMap], key: str, label: str, unit: str, read: Callable[[IgnitionMap], float | None]
) -> Setting | None:
    rows = [(value, one) for one in stayed if (value := read(one.map)) is not None]
    spread = spread_of([value for value, _ in rows])
    if spread is None:
        return None
    rows.sort(key=lambda row: (row[0], row[1].handover.code))
    cars = tuple(car_of(one.handover, f"{plain(value)} {unit}") for value, one in rows)
    return Setting(label, unit, spread, Behind(f"set-{key}", label, cars))
