"""A strobe sweep of the old advance: its readings, and those of one speed taken together."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from enum import StrEnum

import numpy as np

from timing.distributor.band import FactoryBand
from timing.distributor.errors import DistributorError
from timing.inputs import number, whole
from timing.tolerance import exceeds, falls_short


class Direction(StrEnum):
    """Which way the speed was changing when the reading was taken."""

    RISING = "rising"
    FALLING = "falling"


@dataclass(frozen=True, slots=True)
class SweepReading:
    """One strobe reading with the vacuum pipe off.

    Attributes
    ----------
    rpm : float
        Engine speed, above 0. [rpm at the crank]
    degrees : float
        Advance read. [degrees of crank before top dead centre]
    direction : Direction
        Rising unless said otherwise.
    """

    rpm: float
    degrees: float
    direction: Direction = Direction.RISING

    def __post_init__(self) -> None:
        object.__setattr__(self, "rpm", number(self.rpm, "a speed of the sweep", above=0.0, high=30_000.0, unit="rpm"))
        advance = number(self.degrees, "an advance of the sweep", low=-180.0, high=180.0, unit="degrees")
        object.__setattr__(self, "degrees", advance)
        try:
            object.__setattr__(self, "direction", Direction(self.direction))
        except ValueError as problem:
            raise DistributorError(f"a sweep is rising or falling, not {self.direction!r}") from problem


@dataclass(frozen=True, slots=True)
class SweepLimits:
    """When a sweep is called worn. Every default is common practice, no source.

    Attributes
    ----------
    least_speeds : int
        Fewest different speeds on which springs and weights are judged.
    beyond_deg : float
        An advance is early or late once it is this far outside the band. [degrees of crank]
    same_speed_rpm : float
        Readings no further apart count as taken at one speed. [rpm at the crank]
    scatter_deg, repeat_deg : float
        Largest standard deviation, and largest difference of two readings, at one speed. [degrees of crank]
    hysteresis_deg : float
        Largest difference between falling and rising speed. [degrees of crank]
    rest_share, full_share : float
        Share of the full advance up to which the weights are at rest, and from which they are on their stop.
    """

    least_speeds: int = 4
    beyond_deg: float = 0.5
    same_speed_rpm: float = 50.0
    scatter_deg: float = 1.0
    repeat_deg: float = 2.0
    hysteresis_deg: float = 2.0
    rest_share: float = 0.1
    full_share: float = 0.95

    def __post_init__(self) -> None:
        object.__setattr__(self, "least_speeds", whole(self.least_speeds, "the limit least_speeds", low=2))
        for limit in fields(self)[1:]:
            figure = number(getattr(self, limit.name), f"the limit {limit.name}", low=0.0)
            object.__setattr__(self, limit.name, figure)
        if not self.rest_share < self.full_share <= 1.0:
            raise DistributorError("rest_share must be below full_share, and that 1 or less")


DEFAULT_SWEEP_LIMITS = SweepLimits()


class Zone(StrEnum):
    """What the weights of a sound distributor do at a speed."""

    REST = "rest"
    RISE = "rise"
    FULL = "full"


@dataclass(frozen=True, slots=True)
class SpeedGroup:
    """The readings taken at one speed in one direction.

    Attributes
    ----------
    rpm : float
        Their mean speed. [rpm at the crank]
    direction : Direction
        Rising or falling.
    zone : Zone
        What the weights should be doing there.
    advance_deg : float
        Mean advance without base timing. [degrees of crank]
    outside_deg : float
        Of that mean, outside the band: positive early, negative late. [degrees of crank]
    from_middle : tuple of float
        Each reading less the middle of the band. [degrees of crank]
    """

    rpm: float
    direction: Direction
    zone: Zone
    advance_deg: float
    outside_deg: float
    from_middle: tuple[float, ...]

    @property
    def mean_from_middle(self) -> float:
        """Mean of `from_middle`. [degrees of crank]"""
        return math.fsum(self.from_middle) / len(self.from_middle)


def as_readings(readings: Iterable[SweepReading | Sequence[float | str]]) -> tuple[SweepReading, ...]:
    """Readings, also those given as (rpm, degrees) or (rpm, degrees, direction).

    Raises
    ------
    DistributorError
        If there is none, or one has another length.
    """
    made = []
    for reading in readings:
        if isinstance(reading, SweepReading):
            made.append(reading)
            continue
        parts = tuple(reading)
        if len(parts) not in (2, 3):
            raise DistributorError("a reading of a sweep is a speed, an advance and, if known, rising or falling")
        made.append(SweepReading(*parts))  # type: ignore[arg-type]
    if not made:
        raise DistributorError("the sweep has no reading")
    return tuple(made)


def group_by_speed(
    readings: Sequence[SweepReading], band: FactoryBand, base_deg: float, limits: SweepLimits
) -> tuple[SpeedGroup, ...]:
    """Readings of one speed taken together, each direction from the lowest speed to the highest.

    Parameters
    ----------
    readings : sequence of SweepReading
        In any order.
    band : FactoryBand
        What a sound distributor does.
    base_deg : float
        Base timing contained in the readings. [degrees of crank]
    limits : SweepLimits
        Which speeds count as one.

    Returns
    -------
    tuple of SpeedGroup
        Rising ones first.
    """
    groups = []
    for direction in Direction:
        same_way = sorted((r.rpm, r.degrees - base_deg) for r in readings if r.direction is direction)
        together: list[list[tuple[float, float]]] = []
        for pair in same_way:
            if together and not exceeds(pair[0] - together[-1][0][0], limits.same_speed_rpm):
                together[-1].append(pair)
            else:
                together.append([pair])
        groups += [_group(pairs, direction, band, limits) for pairs in together]
    return tuple(groups)


def _group(
    pairs: list[tuple[float, float]], direction: Direction, band: FactoryBand, limits: SweepLimits
) -> SpeedGroup:
    speeds, advances = np.array(pairs).T
    middle = band.middle
    rpm, advance = float(speeds.mean()), float(advances.mean())
    full = max(middle.degrees)
    share = float(middle.advance(rpm)) / full if full > 0.0 else 0.0
    zone = Zone.RISE
    if not exceeds(share, limits.rest_share):
        zone = Zone.REST
    elif not falls_short(share, limits.full_share):
        zone = Zone.FULL
    # Outside the band on average: each reading has its own speed, which matters where the band is steep.
    return SpeedGroup(
        rpm=rpm,
        direction=direction,
        zone=zone,
        advance_deg=advance,
        outside_deg=float(np.mean(band.outside(advances, rpm=speeds))),
        from_middle=tuple((advances - middle.advance(speeds)).tolist()),
    )
