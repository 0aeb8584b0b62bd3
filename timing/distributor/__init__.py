"""The old distributor: its factory band, its wear, its capsule and dwell, and the rotor once it is locked."""

from timing.distributor.band import FactoryBand, factory_band
from timing.distributor.capsule import (
    CapsuleComparison,
    CapsuleFinding,
    CapsuleKind,
    CapsuleLeak,
    CapsuleLimits,
    capsule_leak,
    compare_capsule,
)
from timing.distributor.dwell_check import DwellCheck, compare_dwell
from timing.distributor.errors import DistributorError
from timing.distributor.phasing import (
    Neighbour,
    Phasing,
    PhasingEnd,
    PhasingKind,
    SensorPosition,
    rotor_phasing,
    sensor_position,
)
from timing.distributor.sweep import Direction, SweepLimits, SweepReading
from timing.distributor.wear import SweepComparison, WearFinding, WearKind, compare_sweep

__all__ = [
    "CapsuleComparison",
    "CapsuleFinding",
    "CapsuleKind",
    "CapsuleLeak",
    "CapsuleLimits",
    "Direction",
    "DistributorError",
    "DwellCheck",
    "FactoryBand",
    "Neighbour",
    "Phasing",
    "PhasingEnd",
    "PhasingKind",
    "SensorPosition",
    "SweepComparison",
    "SweepLimits",
    "SweepReading",
    "WearFinding",
    "WearKind",
    "capsule_leak",
    "compare_capsule",
    "compare_dwell",
    "compare_sweep",
    "factory_band",
    "rotor_phasing",
    "sensor_position",
]
