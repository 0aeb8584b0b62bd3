"""Strobe sessions to judge: the handbook's worked sets, and made-up ones late by a known amount."""

import numpy as np

from tests.timing.published import rows
from timing.curve import AdvanceCurve
from timing.strobe import StrobeLimits, fit_readings

# The old mechanism of the handbook's worked sets: crank degrees over crank rpm.
OLD = AdvanceCurve([800, 2000, 3500], [0, 12, 18])
SWEEP = np.array([900, 1200, 1500, 2000, 2500, 3000, 3500, 4000.0])
# Eight deviations that sum to nothing and have no slope over SWEEP, so that a made-up line is found exactly.
NOISE = np.array([1, -1, -1, 1, 1, -1, -1, 1.0])


def readings_of(name):
    chosen = [row for row in rows("strobe_readings.csv") if row["set"] == name]
    return [[row[column] for row in chosen] for column in ("rpm", "measured_deg", "map_deg")]


def fine(**limits):
    """Limits for a scale without steps, for figures that are made up exactly or printed without regard to the scale."""
    return StrobeLimits(**{"scale_step_deg": 0, **limits})


def fit_of(rpm, measured, expected, old_curve=None, tolerance=1.0, **settings):
    """Readings on a scale without steps, unless told otherwise, against their map."""
    settings.setdefault("limits", fine())
    return fit_readings(
        rpm=rpm, measured=measured, expected=expected, old_curve=old_curve, tolerance=tolerance, **settings
    )


def worked(name, **settings):
    return fit_of(*readings_of(name), OLD, **settings)


def flat(noise, rpm=SWEEP):
    """`noise` without the part that looks like a constant or a lag."""
    columns = np.column_stack([np.ones_like(rpm), rpm])
    return noise - columns @ np.linalg.lstsq(columns, noise, rcond=None)[0]


def session(sync=0.0, lag_us=0.0, noise=0.0, free=0.0, rpm=SWEEP, old_curve=None, **settings):
    """A session in which the spark is late by just that much."""
    late = sync + lag_us * 1e-6 * 6 * rpm - free * OLD.advance(rpm) + noise
    return fit_of(rpm, 20 - late, 20, old_curve, **settings)
