"""The maps that stayed in like cars, speed by speed, wide open and with vacuum, and the settings beside them."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from garage.quantities.words import plain
from jobs.learning.behind import Behind, car_of
from jobs.learning.group import Group
from jobs.likeness.stayed import StayedMap
from timing.ignition_map import IgnitionMap
from timing.spread import AdvanceBand, Spread, advance_band, spread_of, vacuum_band

SPEEDS = np.arange(500.0, 7001.0, 250.0)
TABLE_SPEEDS = [float(rpm) for rpm in range(500, 7001, 500)]
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
    return StayedMaps(
        count=len(maps),
        damaged=len(stayed.damaged),
        open=advance_band(maps, rpm=SPEEDS),
        with_vacuum=advance_band(maps, rpm=SPEEDS, vacuum=vacuum_kpa),
        over_vacuum=vacuum_band(maps, vacuum=VACUA, rpm=CRUISE_RPM),
        speeds=_speeds(stayed.maps, vacuum_kpa),
        settings=[row for setting in SETTINGS if (row := _setting(stayed.maps, *setting))],
    )


def _speeds(stayed: Sequence[StayedMap], vacuum_kpa: float) -> list[AtSpeed]:
    """The cars at each speed to which three of them rev."""
    totals = [
        (np.asarray(one.map.total(rpm=TABLE_SPEEDS, vacuum=0.0)), one.map.total(rpm=TABLE_SPEEDS, vacuum=vacuum_kpa))
        for one in stayed
    ]
    rows = []
    for place, rpm in enumerate(TABLE_SPEEDS):
        there = sorted(
            (
                (float(wide_open[place]), float(np.asarray(with_vacuum)[place]), one.handover.code, one)
                for one, (wide_open, with_vacuum) in zip(stayed, totals, strict=True)
                if one.map.rev_limit_rpm is None or rpm <= one.map.rev_limit_rpm
            ),
            key=lambda row: row[:3],
        )
        spread, other = spread_of([row[0] for row in there]), spread_of([row[1] for row in there])
        if spread is None or other is None:
            continue
        cars = tuple(
            car_of(one.handover, f"{plain(at, 1)}° wide open, {plain(vacuum, 1)}° with vacuum, {one.version}")
            for at, vacuum, _, one in there
        )
        behind = Behind(f"speed-{rpm:.0f}", f"Advance at {rpm:.0f} rpm", cars)
        rows.append(AtSpeed(rpm, spread, other, behind))
    return rows


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
