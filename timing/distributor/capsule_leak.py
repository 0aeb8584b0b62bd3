"""Whether the vacuum capsule and its pipe hold vacuum."""

from __future__ import annotations

import math
from dataclasses import dataclass

from timing.distributor.capsule_limits import DEFAULT_CAPSULE_LIMITS, CapsuleKind, CapsuleLimits
from timing.distributor.errors import DistributorError
from timing.inputs import number
from timing.tolerance import exceeds, falls_short
from timing.units import HIGHEST_BAROMETER_KPA


@dataclass(frozen=True, slots=True)
class CapsuleLeak:
    """How a capsule held vacuum, made by `capsule_leak`.

    Attributes
    ----------
    lost_kpa : float
        As read. [kPa]
    lost_in_full_test_kpa : float
        What it would lose in a test of full vacuum and length. [kPa]
    kind : CapsuleKind
        holds, leaks or cannot_tell.
    sentence : str
        For the mechanic.
    """

    lost_kpa: float
    lost_in_full_test_kpa: float
    kind: CapsuleKind
    sentence: str


def capsule_leak(
    applied_kpa: float, left_kpa: float, seconds: float, limits: CapsuleLimits = DEFAULT_CAPSULE_LIMITS
) -> CapsuleLeak:
    """Whether the capsule and its pipe hold vacuum.

    Parameters
    ----------
    applied_kpa, left_kpa : float
        Vacuum at the beginning, above 0, and at the end. [kPa below atmosphere]
    seconds : float
        Time between, above 0. [s]
    limits : CapsuleLimits
        The full test and what may be lost in it.

    Returns
    -------
    CapsuleLeak
        What was lost, and what that comes to.

    Raises
    ------
    DistributorError
        If more vacuum is left than was applied.
    TimingError
        If a figure is not finite or out of its range.

    References
    ----------
    Derived. A leak passes air roughly in proportion to the vacuum, so vacuum falls by the same share in equal times:
    left = applied * exp(-t / T). A test of other vacuum or length is brought to the full test by that rule; one that
    was gentler than the full test can prove a leak, never that there is none.
    """
    applied = number(applied_kpa, "the vacuum applied", above=0.0, high=HIGHEST_BAROMETER_KPA, unit="kPa")
    left = number(left_kpa, "the vacuum left", low=0.0, high=HIGHEST_BAROMETER_KPA, unit="kPa")
    time = number(seconds, "the time", above=0.0, unit="s")
    if left > applied:
        raise DistributorError(f"{left:g} kPa left is more than the {applied:g} kPa applied")
    lost = applied - left
    # By a logarithm, for a short test of a bad leak would otherwise ask for a power too large for a float.
    kept = limits.seconds / time * (math.log(left / applied) if left > 0.0 else -math.inf)
    in_full = limits.applied_kpa * -math.expm1(kept)
    read = f"{lost:.1f} of {applied:.0f} kPa lost in {time:.0f} s"
    comes_to = ""
    if (applied, time) != (limits.applied_kpa, limits.seconds):
        comes_to = f" That is {in_full:.1f} kPa in {limits.seconds:.0f} s from {limits.applied_kpa:.0f} kPa."
    allowed = f" Limit: {limits.lost_kpa:.1f} kPa."
    if exceeds(in_full, limits.lost_kpa):
        kind = CapsuleKind.LEAKS
        sentence = f"The capsule leaks: {read}.{comes_to}{allowed} Test it without its pipe and renew whichever leaks."
    elif falls_short(applied, limits.applied_kpa) or falls_short(time, limits.seconds):
        kind = CapsuleKind.CANNOT_TELL
        full_test = f"{limits.applied_kpa:.0f} kPa for {limits.seconds:.0f} s"
        sentence = f"Test too short or too weak: {read}.{comes_to} Hold {full_test}."
    else:
        kind = CapsuleKind.HOLDS
        sentence = f"The capsule holds: {read}.{comes_to}{allowed}"
    return CapsuleLeak(lost, in_full, kind, sentence)
