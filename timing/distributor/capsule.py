"""The vacuum capsule: whether it holds vacuum, and whether it moves the plate as its data say."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from timing.distributor.errors import DistributorError
from timing.inputs import FloatArray, number, within
from timing.units import HIGHEST_BAROMETER_KPA
from timing.vacuum import VacuumRamp


class CapsuleKind(StrEnum):
    """What a test of the capsule comes to."""

    HOLDS = "holds"
    LEAKS = "leaks"
    DOES_NOT_MOVE = "does_not_move"
    BEGINS_LATE = "begins_late"
    BEGINS_EARLY = "begins_early"
    SHORT_OF_FULL = "short_of_full"
    TOO_MUCH = "too_much"
    AS_DATA = "as_data"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True)
class CapsuleLimits:
    """When a capsule is called faulty. Every default is common practice, no source.

    Attributes
    ----------
    applied_kpa, seconds, lost_kpa : float
        The capsule is to hold this vacuum for so long, and lose no more than this. [kPa, s, kPa]
    kpa, deg : float
        How far its begin may be off its data, and its advance. [kPa below atmosphere, degrees of crank]
    """

    applied_kpa: float = 50.0
    seconds: float = 30.0
    lost_kpa: float = 5.0
    kpa: float = 4.0
    deg: float = 2.0

    def __post_init__(self) -> None:
        for limit in fields(self):
            figure = number(getattr(self, limit.name), f"the limit {limit.name}", above=0.0)
            object.__setattr__(self, limit.name, figure)
        if self.lost_kpa >= self.applied_kpa:
            raise DistributorError("a capsule may not lose all the vacuum that was applied")


DEFAULT_CAPSULE_LIMITS = CapsuleLimits()

# Exactly the allowed loss is allowed, and the logarithm does not give it back exactly.
_ROUNDING_KPA = 1e-9


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

    Raises
    ------
    DistributorError
        If more vacuum is left than was applied.
    TimingError
        If a figure is not finite or out of its range.

    Notes
    -----
    A leak passes air roughly in proportion to the vacuum, so vacuum falls by the same share in equal times:
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
        comes_to = f", in {limits.seconds:.0f} s from {limits.applied_kpa:.0f} kPa that is {in_full:.1f} kPa"
    allowed = f"{limits.lost_kpa:.1f} kPa is allowed"
    if in_full > limits.lost_kpa + _ROUNDING_KPA:
        kind = CapsuleKind.LEAKS
        sentence = (
            f"The capsule leaks: {read}{comes_to}, {allowed}; try it without its pipe, and renew whichever leaks."
        )
    elif applied < limits.applied_kpa or time < limits.seconds:
        kind = CapsuleKind.CANNOT_TELL
        sentence = f"Cannot tell yet: {read}{comes_to}; hold {limits.applied_kpa:.0f} kPa for {limits.seconds:.0f} s."
    else:
        kind = CapsuleKind.HOLDS
        sentence = f"The capsule holds: {read}{comes_to}, {allowed}."
    return CapsuleLeak(lost, in_full, kind, sentence)


@dataclass(frozen=True, slots=True)
class CapsuleFinding:
    """One finding on the capsule's advance, with the sentence for the mechanic."""

    kind: CapsuleKind
    sentence: str


@dataclass(frozen=True, slots=True)
class CapsuleComparison:
    """A capsule's advance against its data, made by `compare_capsule`.

    Attributes
    ----------
    off : tuple of float
        Each reading less the data's advance, in the order given. [degrees of crank]
    begins_kpa : float or None
        Vacuum at which the advance leaves 0, from the readings; None if they do not show it. [kPa below atmosphere]
    full_deg : float or None
        Largest advance read at or above the vacuum of full advance; None if none was taken there. [degrees of crank]
    findings : tuple of CapsuleFinding
        At least one.
    """

    off: tuple[float, ...]
    begins_kpa: float | None
    full_deg: float | None
    findings: tuple[CapsuleFinding, ...]

    @property
    def kinds(self) -> frozenset[CapsuleKind]:
        """The kinds found."""
        return frozenset(finding.kind for finding in self.findings)


def compare_capsule(
    vacuum_kpa: ArrayLike, degrees: ArrayLike, data: VacuumRamp, limits: CapsuleLimits = DEFAULT_CAPSULE_LIMITS
) -> CapsuleComparison:
    """Compare the advance the capsule gives, at a steady speed, with its data.

    Parameters
    ----------
    vacuum_kpa : array, shape (n,)
        Vacuum applied, 0 or more, in any order. [kPa below atmosphere]
    degrees : array, shape (n,)
        Advance read less the advance without vacuum. [degrees of crank]
    data : VacuumRamp
        Where the data say it begins and is full, and by how much.
    limits : CapsuleLimits
        How far off it may be.

    Raises
    ------
    DistributorError
        If lists differ in length or are empty.
    TimingError
        If a figure is not finite or out of its range.
    """
    applied = within(vacuum_kpa, "vacuum", low=0.0, high=HIGHEST_BAROMETER_KPA, unit="kPa")
    moved = within(degrees, "an advance of the capsule", low=-90.0, high=90.0, unit="degrees")
    if applied.ndim != 1 or not applied.size:
        raise DistributorError("the capsule's readings must be a list of vacua and a list of advances")
    if applied.shape != moved.shape:
        raise DistributorError(f"{applied.size} vacua but {moved.size} advances: each reading needs one of each")
    order = np.argsort(applied, kind="stable")
    vacua, advances = applied[order], moved[order]
    at_full = vacua >= data.full
    full = float(advances[at_full].max()) if at_full.any() else None
    begins = _begin(vacua, advances, limits.deg / 2.0)
    return CapsuleComparison(
        off=tuple((moved - np.interp(applied, (data.start, data.full), (0.0, data.full_deg))).tolist()),
        begins_kpa=begins,
        full_deg=full,
        findings=tuple(_capsule_findings(vacua, advances, begins, full, data, limits)),
    )


def _begin(vacua: FloatArray, advances: FloatArray, moved_deg: float) -> float | None:
    """Where the advance leaves 0: the line of the rise carried back, or None where no reading is before it."""
    moving = np.flatnonzero(advances > moved_deg)
    if not moving.size or moving[0] == 0:
        return None
    first = int(moving[0])
    following = first + 1
    on_the_rise = following < vacua.size and advances[first] < advances[following] < 0.95 * advances.max()
    if not on_the_rise or vacua[following] == vacua[first]:
        # The next reading is on the stop: its line would lie too flat and lead too far back.
        return float(np.interp(0.0, advances[first - 1 : following], vacua[first - 1 : following]))
    slope = (advances[following] - advances[first]) / (vacua[following] - vacua[first])
    still = vacua[:first][advances[:first] <= moved_deg / 4.0]
    return float(max(vacua[first] - advances[first] / slope, still[-1] if still.size else 0.0))


def _capsule_findings(
    vacua: FloatArray,
    advances: FloatArray,
    begins: float | None,
    full: float | None,
    data: VacuumRamp,
    limits: CapsuleLimits,
) -> list[CapsuleFinding]:
    if vacua[-1] <= data.start + limits.kpa:
        sentence = f"Cannot tell: no reading above {data.start:.0f} kPa, where the advance should begin."
        return [CapsuleFinding(CapsuleKind.CANNOT_TELL, sentence)]
    expected = np.interp(vacua, (data.start, data.full), (0.0, data.full_deg))
    if advances.max() < limits.deg <= expected.max():
        sentence = (
            f"The capsule does not move the plate: {advances.max():.1f}° at {vacua[-1]:.0f} kPa where "
            f"{expected.max():.1f}° is due; a torn diaphragm, a blocked pipe or a seized plate."
        )
        return [CapsuleFinding(CapsuleKind.DOES_NOT_MOVE, sentence)]
    findings = _begin_findings(begins, data, limits)
    if full is None:
        sentence = f"Cannot tell whether it comes to full advance: no reading at {data.full:.0f} kPa or more."
        findings.append(CapsuleFinding(CapsuleKind.CANNOT_TELL, sentence))
    elif full < data.full_deg - limits.deg:
        sentence = (
            f"The full advance is {full:.1f}°, {data.full_deg - full:.1f}° short of the data; a leak, a sticking "
            "plate or the capsule of another distributor."
        )
        findings.append(CapsuleFinding(CapsuleKind.SHORT_OF_FULL, sentence))
    elif full > data.full_deg + limits.deg:
        sentence = (
            f"The full advance is {full:.1f}°, {full - data.full_deg:.1f}° more than the data; the capsule or the "
            "stop of another distributor."
        )
        findings.append(CapsuleFinding(CapsuleKind.TOO_MUCH, sentence))
    if findings:
        return findings
    sentence = (
        f"The capsule moves as its data say: it begins near {begins or data.start:.0f} kPa and gives {full:.1f}°."
    )
    return [CapsuleFinding(CapsuleKind.AS_DATA, sentence)]


def _begin_findings(begins: float | None, data: VacuumRamp, limits: CapsuleLimits) -> list[CapsuleFinding]:
    if begins is None:
        sentence = f"Cannot tell where it begins: a reading below {data.start:.0f} kPa and one just above are missing."
        return [CapsuleFinding(CapsuleKind.CANNOT_TELL, sentence)]
    off = begins - data.start
    if abs(off) <= limits.kpa:
        return []
    kind, why = (
        (CapsuleKind.BEGINS_LATE, "a stiff plate, a strong spring or a small leak")
        if off > 0
        else (CapsuleKind.BEGINS_EARLY, "a weak spring or the capsule of another distributor")
    )
    way = "late" if off > 0 else "early"
    sentence = f"The advance begins at {begins:.0f} kPa, {abs(off):.0f} kPa {way} against the data; {why}."
    return [CapsuleFinding(kind, sentence)]
