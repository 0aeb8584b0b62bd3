"""What a workshop asks of a strobe session. Every limit is a setting."""

from __future__ import annotations

from dataclasses import dataclass, fields

from timing.inputs import number, whole
from timing.strobe.readings import StrobeError

# Limits that may be 0 and the like; the others must be above 0. No strobe tells speeds nearer than 1 rpm apart.
_MAY_BE_AS_LOW_AS = {
    "same_speed_rpm": 1.0,
    "outlier_deg": 0.0,
    "least_span_rpm": 0.0,
    "lag_us": 0.0,
    "scale_step_deg": 0.0,
}


@dataclass(frozen=True, slots=True)
class StrobeLimits:
    """What a workshop asks of a strobe session. Every default is common practice, no source.

    Attributes
    ----------
    confidence : float
        Of every interval, above 0 and below 1.
    least_readings, least_lag_readings, least_shape_readings : int
        Fewest readings for a verdict, for a lag, and for the test against the old curve.
    least_span_rpm : float
        Least distance between the lowest and the highest speed read, for a verdict and for a lag. [rpm at the crank]
    lag_us : float
        A lag surely beyond this is a matter for the unit or the lamp. [microseconds]
    scatter_deg : float
        Largest standard deviation of the readings about their line. [degrees of crank]
    repeat_deg : float
        Largest difference between two readings at one speed. [degrees of crank]
    same_speed_rpm : float
        Readings no further apart than this count as taken at one speed. [rpm at the crank]
    mark_deg : float
        Largest difference between the timing mark and the piston stop. [degrees of crank]
    shape_share : float
        Share of the old curve that must be exceeded before the mechanism is suspected, above 0.
    shape_condition : float
        Condition number of the three columns above which lag and old curve are too alike to be told apart.
    outlier_deg : float
        A reading nearer than this to the line of the others is never an outlier. [degrees of crank]
    outlier_chance : float
        Chance of calling a reading an outlier in a session without one, above 0 and below 1.
    base_span_rpm : float
        Least distance between the two speeds at which base timing is proven. [rpm at the crank]
    scale_step_deg : float
        Smallest step to which the timing scale is read; every interval counts it, and a whole degree where all readings
        are whole. 0 counts no step. [degrees of crank]
    """

    confidence: float = 0.95
    least_readings: int = 4
    least_lag_readings: int = 6
    least_shape_readings: int = 6
    least_span_rpm: float = 1500.0
    lag_us: float = 50.0
    scatter_deg: float = 1.0
    repeat_deg: float = 2.0
    same_speed_rpm: float = 25.0
    mark_deg: float = 1.0
    shape_share: float = 0.25
    shape_condition: float = 1e3
    outlier_deg: float = 1.0
    outlier_chance: float = 0.05
    base_span_rpm: float = 500.0
    scale_step_deg: float = 0.5

    def __post_init__(self) -> None:
        for limit in fields(self):
            value = getattr(self, limit.name)
            what = f"the limit {limit.name}"
            if limit.name in ("least_readings", "least_lag_readings", "least_shape_readings"):
                # A line needs a third reading, the shape test a fourth, before anything is known of their scatter.
                object.__setattr__(self, limit.name, whole(value, what, low=4 if "shape" in limit.name else 3))
                continue
            low = _MAY_BE_AS_LOW_AS.get(limit.name)
            above = 0.0 if low is None else None
            limit_value = number(value, what, low=low, above=above)
            if limit.name in ("confidence", "outlier_chance") and limit_value >= 1.0:
                raise StrobeError(f"{what} must be below 1, not {limit_value:g}")
            object.__setattr__(self, limit.name, limit_value)


DEFAULT_LIMITS = StrobeLimits()
