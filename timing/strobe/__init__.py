"""Strobe sessions: readings against a map, what they show, how sure that is, and what to do about it."""

from timing.strobe.base import BaseProof, SpeedMean, prove_base
from timing.strobe.doubt import DoubtfulReadings, SlipKind, doubtful_readings
from timing.strobe.fit import MeanError, SpeedCurve, StrobeFit, fit_readings
from timing.strobe.limits import DEFAULT_LIMITS, StrobeLimits
from timing.strobe.outlier import Outlier
from timing.strobe.readings import LampKind, StrobeError
from timing.strobe.verdict import Figure, Verdict, VerdictKind, judge

__all__ = [
    "DEFAULT_LIMITS",
    "BaseProof",
    "DoubtfulReadings",
    "Figure",
    "LampKind",
    "MeanError",
    "Outlier",
    "SlipKind",
    "SpeedCurve",
    "SpeedMean",
    "StrobeError",
    "StrobeFit",
    "StrobeLimits",
    "Verdict",
    "VerdictKind",
    "doubtful_readings",
    "fit_readings",
    "judge",
    "prove_base",
]
