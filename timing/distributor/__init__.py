"""The old distributor: its factory band, its wear, its capsule and dwell, and the rotor once it is locked."""

from timing.distributor.band import FactoryBand, factory_band
from timing.distributor.cap import Neighbour, PhasingEnd, RotorAndCap
from timing.distributor.capsule import CapsuleComparison, CapsuleFinding, compare_capsule
from timing.distributor.capsule_leak import CapsuleLeak, capsule_leak
from timing.distributor.capsule_limits import CapsuleKind, CapsuleLimits
from timing.distributor.dwell_check import DwellCheck, compare_dwell
from timing.distributor.errors import DistributorError
from timing.distributor.phasing import Phasing, PhasingKind, rotor_phasing
from timing.distributor.ramp_fit import Likely
from timing.distributor.rotor_advice import Remedy, RemedyKind, RotorAdvice, rotor_advice
from timing.distributor.rotor_setting import (
    CrankTrigger,
    DistributorTrigger,
    Effect,
    Move,
    Part,
    RotorSetting,
    TriggerPlace,
    angle_of_arc,
    effect_of,
)
from timing.distributor.sweep import Direction, SweepLimits, SweepReading
from timing.distributor.wear import SweepComparison, WearFinding, WearKind, compare_sweep

__all__ = [
    "CapsuleComparison",
    "CapsuleFinding",
    "CapsuleKind",
    "CapsuleLeak",
    "CapsuleLimits",
    "CrankTrigger",
    "Direction",
    "DistributorError",
    "DistributorTrigger",
    "DwellCheck",
    "Effect",
    "FactoryBand",
    "Likely",
    "Move",
    "Neighbour",
    "Part",
    "Phasing",
    "PhasingEnd",
    "PhasingKind",
    "Remedy",
    "RemedyKind",
    "RotorAdvice",
    "RotorAndCap",
    "RotorSetting",
    "SweepComparison",
    "SweepLimits",
    "SweepReading",
    "TriggerPlace",
    "WearFinding",
    "WearKind",
    "angle_of_arc",
    "capsule_leak",
    "compare_capsule",
    "compare_dwell",
    "compare_sweep",
    "effect_of",
    "factory_band",
    "rotor_advice",
    "rotor_phasing",
]
