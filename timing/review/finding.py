"""What a review says: one finding, with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from timing.errors import TimingError

COMMON_PRACTICE = "common practice"

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


def in_order(findings: list[Finding]) -> list[Finding]:
    """Stops first, then cautions, then notes; each by speed, those about no speed last."""
    return sorted(findings, key=_place)


def _place(finding: Finding) -> tuple[int, bool, Span, str]:
    return _WEIGHT[finding.kind], finding.rpm is None, finding.rpm or (0.0, 0.0), finding.code


def degrees(figure: float) -> str:
    """An angle as a mechanic reads it: one decimal, and none where it is nought."""
    return f"{round(figure, 1) + 0.0:g}°"


def speed(figure: float) -> str:
    """A speed to the nearest whole rpm."""
    return f"{figure:.0f} rpm"


def speeds(span: Span) -> str:
    """A range of speeds, or the one speed it is."""
    low, high = (f"{figure:.0f}" for figure in span)
    return f"at {low} rpm" if low == high else f"from {low} to {high} rpm"
