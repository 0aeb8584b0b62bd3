"""What a review says: one finding, with its reason."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from timing.errors import TimingError

COMMON_PRACTICE: Final = "common practice"

DELIVERED_ONLY: Final = "Only in what the unit delivers, not in the map as set."
SET_ONLY: Final = "So it is set: what the unit delivers is not so."

Span = tuple[float, float]


class ReviewError(TimingError):
    """Facts or limits that a review cannot work with."""


class Kind(StrEnum):
    """How much a finding weighs, heaviest first."""

    STOP = "stop"  # the car does not leave with this unless a person answers for it
    CAUTION = "caution"  # likely wrong: look, and change it or say why not
    NOTE = "note"  # worth knowing, or a figure that is missing


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a review found.

    Attributes
    ----------
    kind : Kind
        'stop', 'caution' or 'note'.
    code : str
        Which finding, in words that never change: 'full-load-advance'. A missing figure is 'missing-…'.
    sentence : str
        What it is, with figures, and what to do.
    reason : str
        Why it matters.
    source : str
        Where the rule comes from, or 'common practice'.
    rpm : (low, high) or None
        Speeds it is about. [rpm at the crank]
    vacuum : (low, high) or None
        Vacuum it is about; negative is boost. [kPa below atmosphere]
    """

    kind: Kind
    code: str
    sentence: str
    reason: str
    source: str = COMMON_PRACTICE
    rpm: Span | None = None
    vacuum: Span | None = None


_WEIGHT = {kind: weight for weight, kind in enumerate(Kind)}


def delivered_and_set(delivered: list[Finding], as_set: list[Finding]) -> list[Finding]:
    """The findings on the map as the unit delivers it, and those on the map as set that it does not share.

    Parameters
    ----------
    delivered : list of Finding
        On what the unit delivers. Where the map as set lacks one of them, it says so.
    as_set : list of Finding
        On the map as set. One that is not in the car says so, and weighs one kind less: a note is left out.

    Returns
    -------
    list of Finding
        Not yet in order.
    """
    both = [
        found if any(_same(found, other) for other in as_set) else _saying(found, DELIVERED_ONLY) for found in delivered
    ]
    lighter = {Kind.STOP: Kind.CAUTION, Kind.CAUTION: Kind.NOTE}
    both += [
        replace(_saying(found, SET_ONLY), kind=lighter[found.kind])
        for found in as_set
        if found.kind in lighter and not any(_same(found, other) for other in delivered)
    ]
    return both


def _same(one: Finding, other: Finding) -> bool:
    """Whether two findings speak of one thing: of one code, and of speeds that touch."""
    if one.code != other.code:
        return False
    if one.rpm is None or other.rpm is None:
        return True
    return one.rpm[0] <= other.rpm[1] and other.rpm[0] <= one.rpm[1]


def _saying(finding: Finding, sentence: str) -> Finding:
    return replace(finding, sentence=f"{finding.sentence} {sentence}")


def in_order(findings: list[Finding]) -> list[Finding]:
    """Stops first, then cautions, then notes; each by speed, those about no speed last."""
    return sorted(findings, key=_place)


def _place(finding: Finding) -> tuple[int, bool, Span, str]:
    return _WEIGHT[finding.kind], finding.rpm is None, finding.rpm or (0.0, 0.0), finding.code


def degrees(value: float) -> str:
    """An angle as a mechanic reads it: one decimal, and none where it is nought."""
    return f"{round(value, 1) + 0.0:g}°"


def speed(rpm: float) -> str:
    """A speed to the nearest whole rpm."""
    return f"{rpm:.0f} rpm"


def speeds(span: Span) -> str:
    """A range of speeds, or the one speed it is."""
    low, high = (f"{rpm:.0f}" for rpm in span)
    return f"at {low} rpm" if low == high else f"from {low} to {high} rpm"
