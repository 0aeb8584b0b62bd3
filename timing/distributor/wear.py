"""What a sweep of the old advance says about springs, weights, shaft and drive, in words."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from timing.distributor.band import FactoryBand
from timing.distributor.sweep import (
    DEFAULT_SWEEP_LIMITS,
    Direction,
    SpeedGroup,
    SweepLimits,
    SweepReading,
    Zone,
    as_readings,
    group_by_speed,
)
from timing.inputs import number
from timing.tolerance import exceeds, falls_short


class WearKind(StrEnum):
    """What was found."""

    WITHIN_BAND = "within_band"
    BASE_OFFSET = "base_offset"
    WEAK_SPRINGS = "weak_springs"
    TOO_MUCH_ADVANCE = "too_much_advance"
    SEIZED_WEIGHTS = "seized_weights"
    STICKY_WEIGHTS = "sticky_weights"
    WORN_DRIVE = "worn_drive"
    CANNOT_TELL = "cannot_tell"


@dataclass(frozen=True, slots=True)
class WearFinding:
    """One finding on a sweep.

    Attributes
    ----------
    kind : WearKind
        For the machine.
    sentence : str
        For the mechanic, with the figures.
    degrees : float or None
        The figure it rests on: the largest amount outside the band (early positive), the hysteresis, or the widest
        difference at one speed. [degrees of crank]
    from_rpm, to_rpm : float or None
        Where it was seen. [rpm at the crank]
    """

    kind: WearKind
    sentence: str
    degrees: float | None = None
    from_rpm: float | None = None
    to_rpm: float | None = None


@dataclass(frozen=True, slots=True)
class SweepComparison:
    """A sweep against its band, made by `compare_sweep`.

    Attributes
    ----------
    readings : tuple of SweepReading
        In the order given.
    advance : tuple of float
        Each reading less base timing. [degrees of crank]
    outside : tuple of float
        How far each lies outside the band: positive early, negative late, 0 inside. [degrees of crank]
    findings : tuple of WearFinding
        What was found, at least one.
    not_judged : tuple of str
        What this sweep cannot show, and the readings that would.
    """

    readings: tuple[SweepReading, ...]
    advance: tuple[float, ...]
    outside: tuple[float, ...]
    findings: tuple[WearFinding, ...]
    not_judged: tuple[str, ...]

    @property
    def kinds(self) -> frozenset[WearKind]:
        """The kinds found."""
        return frozenset(finding.kind for finding in self.findings)


def compare_sweep(
    readings: Iterable[SweepReading | Sequence[float | str]],
    band: FactoryBand,
    base_deg: float = 0.0,
    limits: SweepLimits = DEFAULT_SWEEP_LIMITS,
) -> SweepComparison:
    """Compare a sweep with the factory's band and say in words what is worn.

    Parameters
    ----------
    readings : iterable of SweepReading, or of (rpm, degrees[, 'rising' or 'falling'])
        Vacuum pipe off; at least one. [rpm at the crank, degrees of crank before top dead centre]
    band : FactoryBand
        What a sound distributor does.
    base_deg : float
        Static or base timing contained in the readings, taken off before they are compared. [degrees of crank]
    limits : SweepLimits
        When it is called worn.

    Returns
    -------
    SweepComparison
        At least one finding.

    Raises
    ------
    DistributorError
        If there is no reading, or one is not understood.
    TimingError
        If a figure is not finite or out of its range.

    Notes
    -----
    Common practice, no source: weak springs let the weights out too soon; seized or sticky weights come late, stay
    short, and hang back when the speed falls; a worn shaft or drive scatters the spark at a constant speed. The same
    error at every speed, at rest as well, is not the mechanism but the base timing or the mark.
    """
    given = as_readings(readings)
    base = number(base_deg, "base timing", low=-180.0, high=180.0, unit="degrees")
    groups = group_by_speed(given, band, base, limits)
    rising = tuple(group for group in groups if group.direction is Direction.RISING)
    falling = tuple(group for group in groups if group.direction is Direction.FALLING)
    judged = rising or falling
    findings = [*_mechanism(judged, limits), *_hysteresis(rising, falling, limits), *_drive(groups, limits)]
    if not findings:
        findings = [_sound(judged)]
    speeds = np.array([reading.rpm for reading in given])
    advance = np.array([reading.degrees for reading in given]) - base
    outside = np.asarray(band.outside(advance, rpm=speeds))
    return SweepComparison(
        readings=given,
        advance=tuple(advance.tolist()),
        outside=tuple(outside.tolist()),
        findings=tuple(findings),
        not_judged=tuple(_not_judged(groups, rising, falling, band, limits)),
    )


def _mechanism(groups: Sequence[SpeedGroup], limits: SweepLimits) -> list[WearFinding]:
    if len(groups) < limits.least_speeds:
        sentence = (
            f"Not enough for springs and weights: {_speeds(len(groups))} read, {limits.least_speeds} needed, from idle "
            "to full advance."
        )
        return [WearFinding(WearKind.CANNOT_TELL, sentence)]
    early = [group for group in groups if exceeds(group.outside_deg, limits.beyond_deg)]
    late = [group for group in groups if falls_short(group.outside_deg, -limits.beyond_deg)]
    offset = _base_offset(groups, early or late, limits)
    if offset is not None:
        return [offset]
    findings: list[WearFinding] = []
    for odd in (early, late):
        # One reading alone is no pattern; two that agree are.
        if len(odd) == 1 and len(odd[0].from_middle) == 1:
            findings.append(_alone(odd[0]))
            odd.clear()
    findings += _early(early, groups)
    # Weights at rest cannot go back further: what lies below rest is not theirs.
    below_rest = [
        group for group in late if group.zone is Zone.REST and falls_short(group.advance_deg, -limits.beyond_deg)
    ]
    findings += _below_rest(below_rest)
    findings += _late([group for group in late if group not in below_rest], groups)
    return findings


def _base_offset(groups: Sequence[SpeedGroup], odd: Sequence[SpeedGroup], limits: SweepLimits) -> WearFinding | None:
    zones = {group.zone for group in groups}
    if Zone.REST not in zones or len(zones) == 1 or not any(group.zone is Zone.REST for group in odd):
        return None
    off = [group.mean_from_middle for group in groups]
    if exceeds(max(off) - min(off), limits.repeat_deg) or len(odd) * 2 < len(groups):
        return None
    mean = math.fsum(off) / len(off)
    way = "early" if mean > 0 else "late"
    sentence = (
        f"Base timing or mark: every reading is about {abs(mean):.1f}° {way}, with the weights at rest as well. First "
        "check base timing, the mark against the piston stop, and how the distributor is set."
    )
    return WearFinding(WearKind.BASE_OFFSET, sentence, mean, groups[0].rpm, groups[-1].rpm)


def _alone(group: SpeedGroup) -> WearFinding:
    way = "above" if group.outside_deg > 0 else "below"
    sentence = (
        f"Only the reading at {group.rpm:.0f} rpm is outside, {abs(group.outside_deg):.1f}° {way} the band. "
        "Take it again, and one on either side."
    )
    return WearFinding(WearKind.CANNOT_TELL, sentence, group.outside_deg, group.rpm, group.rpm)


def _early(early: Sequence[SpeedGroup], groups: Sequence[SpeedGroup]) -> list[WearFinding]:
    findings = []
    too_soon = [group for group in early if group.zone is not Zone.FULL]
    too_far = [group for group in early if group.zone is Zone.FULL]
    if too_soon:
        worst = max(too_soon, key=lambda group: group.outside_deg)
        at_full = [group for group in groups if group.zone is Zone.FULL]
        and_then = "" if too_far or not at_full else " The full advance is right."
        sentence = (
            f"Weak or stretched springs: {_range(too_soon)} the advance comes too soon. "
            f"Most: {worst.outside_deg:.1f}° above the band at {worst.rpm:.0f} rpm.{and_then}"
        )
        findings.append(_finding(WearKind.WEAK_SPRINGS, sentence, worst.outside_deg, too_soon))
    if too_far:
        worst = max(too_far, key=lambda group: group.outside_deg)
        sentence = (
            f"Too much advance: {_range(too_far)} the full advance is up to {worst.outside_deg:.1f}° above the band. "
            "Look for a worn or missing stop, or parts or data of another distributor."
        )
        findings.append(_finding(WearKind.TOO_MUCH_ADVANCE, sentence, worst.outside_deg, too_far))
    return findings


def _below_rest(late: Sequence[SpeedGroup]) -> list[WearFinding]:
    if not late:
        return []
    worst = min(late, key=lambda group: group.advance_deg)
    sentence = (
        f"Base timing or mark: {_range(late)}, at rest, the spark is up to {-worst.advance_deg:.1f}° below base "
        "timing. Weights cannot do that: check the base timing taken off."
    )
    return [_finding(WearKind.BASE_OFFSET, sentence, worst.advance_deg, late)]


def _late(late: Sequence[SpeedGroup], groups: Sequence[SpeedGroup]) -> list[WearFinding]:
    if not late:
        return []
    worst = min(late, key=lambda group: group.outside_deg)
    moved = max(group.advance_deg for group in groups) - min(group.advance_deg for group in groups)
    most = f"Most: {-worst.outside_deg:.1f}° below the band at {worst.rpm:.0f} rpm."
    at_full = [group for group in groups if group.zone is Zone.FULL]
    if any(group.zone is Zone.FULL for group in late):
        comes = "late and " if any(group.zone is Zone.RISE for group in late) else ""
        sentence = (
            f"Seized or sticky weights: {_range(late)} the advance is {comes}short of full. {most} "
            f"It moved {moved:.1f}° in all."
        )
        return [_finding(WearKind.SEIZED_WEIGHTS, sentence, worst.outside_deg, late)]
    reaches = "It is full in the end." if at_full else "Full advance was not read."
    sentence = f"Sticky weights or springs too strong: {_range(late)} the advance comes late. {most} {reaches}"
    return [_finding(WearKind.STICKY_WEIGHTS, sentence, worst.outside_deg, late)]


def _compared(rising: Sequence[SpeedGroup], falling: Sequence[SpeedGroup]) -> list[tuple[float, float]]:
    """(rpm, falling less rising) where a falling speed lies within the rising ones. [rpm, degrees of crank]"""
    if len(rising) < 2:
        return []
    speeds = [group.rpm for group in rising]
    # Against the middle of the band the steep part cannot pass for hysteresis when the speeds are not quite equal.
    off = [group.mean_from_middle for group in rising]
    return [
        (group.rpm, group.mean_from_middle - float(np.interp(group.rpm, speeds, off)))
        for group in falling
        if speeds[0] <= group.rpm <= speeds[-1]
    ]


def _hysteresis(rising: Sequence[SpeedGroup], falling: Sequence[SpeedGroup], limits: SweepLimits) -> list[WearFinding]:
    compared = _compared(rising, falling)
    if len(compared) < 2:
        return []
    rpm, most = max(compared, key=lambda pair: pair[1])
    mean = math.fsum(difference for _, difference in compared) / len(compared)
    # Weights that hang back do so over a stretch; a single odd pair with the rest the other way is a misreading.
    if not exceeds(most, limits.hysteresis_deg) or mean <= 0.0:
        return []
    sentence = (
        f"Sticky weights: with revs falling the advance is up to {most:.1f}° more than rising, at {rpm:.0f} rpm. "
        f"Average {mean:.1f}° over {_speeds(len(compared))}; limit {limits.hysteresis_deg:.1f}°."
    )
    speeds = [pair[0] for pair in compared]
    return [WearFinding(WearKind.STICKY_WEIGHTS, sentence, most, min(speeds), max(speeds))]


def _drive(groups: Sequence[SpeedGroup], limits: SweepLimits) -> list[WearFinding]:
    repeated = [group for group in groups if len(group.from_middle) > 1]
    if not repeated:
        return []
    spare = sum(len(group.from_middle) - 1 for group in repeated)
    squares = math.fsum((off - group.mean_from_middle) ** 2 for group in repeated for off in group.from_middle)
    scatter = math.sqrt(squares / spare)
    widest = max(repeated, key=lambda group: max(group.from_middle) - min(group.from_middle))
    apart = max(widest.from_middle) - min(widest.from_middle)
    # From a single pair no standard deviation is worth its name.
    wanders = spare >= 2 and exceeds(scatter, limits.scatter_deg)
    if not wanders and not exceeds(apart, limits.repeat_deg):
        return []
    sentence = (
        f"Worn shaft, drive or chain: at a constant {widest.rpm:.0f} rpm the readings are {apart:.1f}° apart; limit "
        f"{limits.repeat_deg:.1f}°. Scatter over all repeated speeds {scatter:.1f}°; limit {limits.scatter_deg:.1f}°. "
        "Feel the shaft for side play, and rock the crank for slack in the drive."
    )
    return [_finding(WearKind.WORN_DRIVE, sentence, apart, repeated)]


def _sound(groups: Sequence[SpeedGroup]) -> WearFinding:
    worst = max((group.outside_deg for group in groups), key=abs)
    where = f"{_speeds(len(groups))} from {groups[0].rpm:.0f} to {groups[-1].rpm:.0f} rpm"
    sentence = (
        f"Within the band at {where}." if worst == 0.0 else f"At most {abs(worst):.1f}° outside the band at {where}."
    )
    return _finding(WearKind.WITHIN_BAND, sentence, worst, groups)


def _not_judged(
    groups: Sequence[SpeedGroup],
    rising: Sequence[SpeedGroup],
    falling: Sequence[SpeedGroup],
    band: FactoryBand,
    limits: SweepLimits,
) -> list[str]:
    missing = []
    zones = {group.zone for group in groups}
    if Zone.REST not in zones:
        missing.append("No reading with the weights at rest: a wrong base timing would look like wear.")
    if Zone.FULL not in zones:
        full = band.middle.rpm[int(np.argmax(band.middle.degrees))]
        missing.append(f"No reading at full advance, near {full:.0f} rpm: not known whether it is reached.")
    if len(_compared(rising, falling)) < 2:
        missing.append(
            "Revs rising and falling were not both read at two speeds: sticking on the way back is not judged."
        )
    if all(len(group.from_middle) == 1 for group in groups):
        missing.append("No speed was read twice the same way: play of shaft and drive is not judged.")
    return missing


def _finding(kind: WearKind, sentence: str, degrees: float, groups: Sequence[SpeedGroup]) -> WearFinding:
    speeds = [group.rpm for group in groups]
    return WearFinding(kind, sentence, degrees, min(speeds), max(speeds))


def _range(groups: Sequence[SpeedGroup]) -> str:
    low, high = min(group.rpm for group in groups), max(group.rpm for group in groups)
    return f"at {low:.0f} rpm" if low == high else f"from {low:.0f} to {high:.0f} rpm"


def _speeds(count: int) -> str:
    return "1 speed" if count == 1 else f"{count} speeds"
