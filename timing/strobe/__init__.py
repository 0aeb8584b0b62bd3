"""Strobe sessions: readings against a map, what they show, how sure that is, and what to do about it."""

from timing.strobe.base import BaseProof, SpeedMean, prove_base
from timing.strobe.fit import MeanError, SpeedCurve, StrobeFit, WildReading, fit_readings
from timing.strobe.limits import DEFAULT_LIMITS, StrobeLimits
from timing.strobe.plan import Precision, expected_precision, speeds_to_read
from timing.strobe.readings import StrobeError
from timing.strobe.verdict import Figure, Verdict, VerdictKind

__all__ = [
    "DEFAULT_LIMITS",
    "BaseProof",
    "Figure",
    "MeanError",
    "Precision",
    "SpeedCurve",
    "SpeedMean",
    "StrobeError",
    "StrobeFit",
    "StrobeLimits",
    "Verdict",
    "VerdictKind",
    "WildReading",
    "expected_precision",
    "fit_readings",
    "prove_base",
    "speeds_to_read",
]
