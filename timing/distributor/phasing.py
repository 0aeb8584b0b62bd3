"""Rotor phasing of a locked distributor: where the tip stands under the cap when the spark comes.

Once the old advance is locked, every degree of programmed advance moves the spark against the rotor. The tip must
still overlap its own terminal at the lowest and at the highest advance, and be much nearer to it than to any other.
What sets the advance at which they are in line, and which bolt changes it, is in `timing.distributor.rotor_setting`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from timing.crank import crank_from_distributor
from timing.distributor.cap import Neighbour, PhasingEnd, RotorAndCap, rotor_and_cap
from timing.distributor.errors import DistributorError
from timing.inputs import number
from timing.minus import with_minus
from timing.tolerance import exceeds, falls_short

# Beyond these a figure is no spark advance, whatever the engine: a slipped digit.
LOWEST_SPARK_DEG = -60.0
HIGHEST_SPARK_DEG = 90.0

# Tip and terminal are in line once a cycle: half a cycle of a four-stroke either way says it all.
_HALF_CYCLE_DEG = 360.0


class PhasingKind(StrEnum):
    """What the geometry comes to."""

    HOLDS = "holds"
    OUT_OF_LINE = "out_of_line"
    RANGE_TOO_WIDE = "range_too_wide"


@dataclass(frozen=True, slots=True)
class Phasing:
    """Rotor phasing over a range of advance, made by `rotor_phasing`.

    Attributes
    ----------
    parts : RotorAndCap
        The measures of rotor and cap.
    best_aligned_deg : float
        Advance at which tip and terminal should be in line: the middle of the range. [degrees of crank]
    aligned_at_deg : float
        Advance at which they are in line as reckoned here. [degrees of crank]
    lowest, highest : PhasingEnd
        At the two ends of the range.
    least_overlap_mm, least_ratio : float
        The limits it was judged by. [mm], [-]
    widest_range_deg : float
        Widest range of advance this cap and rotor could serve, centred; 0 if none. [degrees of crank]
    tip_widths_mm : tuple of float, or None
        Narrowest and widest tip that would serve this range, centred; None if no tip would. [mm]
    kind : PhasingKind
        holds; out_of_line: it would hold at `best_aligned_deg`; range_too_wide: not even there.
    sentences : tuple of str
        What is wrong at which end, and what would serve; the last one says how to prove it.
    """

    parts: RotorAndCap
    best_aligned_deg: float
    aligned_at_deg: float
    lowest: PhasingEnd
    highest: PhasingEnd
    least_overlap_mm: float
    least_ratio: float
    widest_range_deg: float
    tip_widths_mm: tuple[float, float] | None
    kind: PhasingKind
    sentences: tuple[str, ...]

    @property
    def ends(self) -> tuple[PhasingEnd, PhasingEnd]:
        """The lowest and the highest advance."""
        return self.lowest, self.highest

    @property
    def crank_turns(self) -> float:
        """Crank turns for one turn of the distributor."""
        return self.parts.crank_turns

    def at(self, spark_deg: float) -> PhasingEnd:
        """The rotor under the cap at any spark, -60 to 90 degrees of crank before top dead centre."""
        return self.parts.end_at(_spark(spark_deg, "the spark"), self.aligned_at_deg)

    def fails_at(self, end: PhasingEnd) -> bool:
        """Whether overlap or ratio of gaps is below its limit at `end`."""
        return falls_short(end.overlap_mm, self.least_overlap_mm) or falls_short(end.ratio, self.least_ratio)

    def again(
        self, *, aligned_at_deg: float, lowest_deg: float | None = None, highest_deg: float | None = None
    ) -> Phasing:
        """The same rotor and cap judged by the same limits, in line elsewhere and over another range.

        Parameters
        ----------
        aligned_at_deg : float
            Advance at which tip and terminal are in line. [degrees of crank]
        lowest_deg, highest_deg : float, optional
            Range of the spark; as before where left out. [degrees of crank before top dead centre]

        Returns
        -------
        Phasing
            As `rotor_phasing` makes it.

        Raises
        ------
        DistributorError, TimingError
            As `rotor_phasing`.
        """
        lowest = self.lowest.spark_deg if lowest_deg is None else lowest_deg
        highest = self.highest.spark_deg if highest_deg is None else highest_deg
        return _judged(self.parts, lowest, highest, aligned_at_deg, self.least_overlap_mm, self.least_ratio)


def rotor_phasing(
    terminals: int,
    lowest_deg: float,
    highest_deg: float,
    tip_radius_mm: float,
    tip_width_mm: float,
    post_width_mm: float,
    radial_gap_mm: float,
    aligned_at_deg: float | None = None,
    *,
    strokes: int = 4,
    least_overlap_mm: float = 1.0,
    least_ratio: float = 5.0,
) -> Phasing:
    """Where the rotor tip stands at both ends of the advance range, and whether that will do.

    Parameters
    ----------
    terminals : int
        Posts round the cap, 2 or more; evenly spaced.
    lowest_deg, highest_deg : float
        Range of the spark, from cranking to the highest light-load total. [degrees of crank before top dead centre]
    tip_radius_mm, tip_width_mm, post_width_mm, radial_gap_mm : float
        Radius of the tip's end, widths of tip and terminal along the arc, and the air between them in line. [mm]
    aligned_at_deg : float, optional
        Advance at which tip and terminal are in line; the middle of the range if left out. [degrees of crank]
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.
    least_overlap_mm, least_ratio : float
        Least overlap of tip and terminal [mm], and least ratio of the neighbour's gap to the own. Common practice, no
        source.

    Returns
    -------
    Phasing
        Both ends, the verdict and its sentences.

    Raises
    ------
    DistributorError
        If the range is upside down, or tip or terminals are too wide for the cap.
    TimingError
        If a figure is not finite or out of its range.

    References
    ----------
    Derived: offset = (spark - aligned) / crank turns for one turn of the distributor; lengths are arcs at the tip's
    radius.
    """
    parts = rotor_and_cap(
        terminals,
        tip_radius_mm,
        tip_width_mm,
        post_width_mm,
        radial_gap_mm,
        float(crank_from_distributor(1.0, strokes)),
    )
    return _judged(
        parts,
        lowest_deg,
        highest_deg,
        aligned_at_deg,
        number(least_overlap_mm, "the least overlap", low=0.0, unit="mm"),
        number(least_ratio, "the least ratio of gaps", above=0.0),
    )


def _judged(
    parts: RotorAndCap,
    lowest_deg: float,
    highest_deg: float,
    aligned_at_deg: float | None,
    least_overlap: float,
    least_ratio: float,
) -> Phasing:
    lowest, highest = _spark(lowest_deg, "the lowest advance"), _spark(highest_deg, "the highest advance")
    if lowest > highest:
        raise DistributorError(f"the lowest advance, {lowest:g}°, is above the highest, {highest:g}°")
    best = (lowest + highest) / 2.0
    what = "the advance at which rotor and terminal are in line"
    aligned = (
        best
        if aligned_at_deg is None
        else number(aligned_at_deg, what, low=-_HALF_CYCLE_DEG, high=_HALF_CYCLE_DEG, unit="degrees")
    )
    ends = parts.end_at(lowest, aligned), parts.end_at(highest, aligned)
    # At both ends of a range of nothing the same is wrong: said once.
    faults = list(dict.fromkeys(sentence for end in ends for sentence in _faults(end, least_overlap, least_ratio)))
    centred_fails = any(_faults(parts.end_at(end, best), least_overlap, least_ratio) for end in (lowest, highest))
    widest = parts.widest_range_deg(least_overlap, least_ratio)
    tips = parts.tip_widths_mm(highest - lowest, least_overlap, least_ratio)
    if not faults:
        kind, said = PhasingKind.HOLDS, _holding(ends)
    elif centred_fails:
        kind, said = PhasingKind.RANGE_TOO_WIDE, [*faults, *_too_wide(ends, widest, parts.tip_width_mm, tips)]
    else:
        in_line = f"Set tip and terminal in line at {best:g}° instead of {aligned:g}°: the middle of the range."
        kind, said = PhasingKind.OUT_OF_LINE, [*faults, in_line]
    said.append(
        "Prove it with a cut-open old cap and the strobe on that lead: at cranking, idle and the highest advance. A "
        "cap with carbon tracks inside fails whatever the geometry says."
    )
    return Phasing(
        parts=parts,
        best_aligned_deg=best,
        aligned_at_deg=aligned,
        lowest=ends[0],
        highest=ends[1],
        least_overlap_mm=least_overlap,
        least_ratio=least_ratio,
        widest_range_deg=widest,
        tip_widths_mm=tips,
        kind=kind,
        sentences=tuple(said),
    )


def _spark(degrees: float, what: str) -> float:
    return number(degrees, what, low=LOWEST_SPARK_DEG, high=HIGHEST_SPARK_DEG, unit="degrees")


def _said(end: PhasingEnd) -> str:
    return with_minus(f"{end.spark_deg:g}")


def _holding(ends: tuple[PhasingEnd, PhasingEnd]) -> list[str]:
    lowest, highest = ends
    return [
        f"From {_said(lowest)}° to {_said(highest)}° the tip overlaps its terminal by "
        f"{min(end.overlap_mm for end in ends):.1f} mm or more. "
        f"Any other terminal is {min(end.ratio for end in ends):.1f} times as far or more."
    ]


def _faults(end: PhasingEnd, least_overlap: float, least_ratio: float) -> list[str]:
    faults = []
    if falls_short(end.overlap_mm, least_overlap):
        side = "before" if end.offset_dist_deg > 0 else "past"
        how = (
            f"overlaps it by only {end.overlap_mm:.1f} mm"
            if end.overlap_mm >= 0
            else f"clears it by {-end.overlap_mm:.1f} mm"
        )
        faults.append(
            f"At {_said(end)}° the rotor tip is {abs(end.offset_dist_deg):.1f} distributor degrees {side} its "
            f"terminal and {how}. Limit: {least_overlap:g} mm of overlap."
        )
    if falls_short(end.ratio, least_ratio):
        charge = {
            Neighbour.JUST_LEFT: " The cylinder of that terminal is at the end of its expansion.",
            Neighbour.NEXT: " The cylinder of that terminal holds fresh charge: the dangerous side.",
            Neighbour.EITHER: "",
        }[end.neighbour]
        faults.append(
            f"At {_said(end)}° the spark has {end.own_gap_mm:.1f} mm to its own terminal, "
            f"{end.neighbour_gap_mm:.1f} mm to {end.neighbour}.{charge} Limit: {least_ratio:g} times as far."
        )
    return faults


def _too_wide(
    ends: tuple[PhasingEnd, PhasingEnd], widest: float, tip_mm: float, tips: tuple[float, float] | None
) -> list[str]:
    lowest, highest = ends
    said = [
        f"From {_said(lowest)}° to {_said(highest)}° is too wide for this rotor and cap, even in line at the middle."
        if widest > 0.0
        else "This rotor and cap serve no range of advance, however they are set."
    ]
    if math.floor(widest) > 0:
        said.append(f"Narrow the range to {math.floor(widest)}°.")
    # Inward to what a rule can measure.
    narrowest_mm, widest_mm = (math.ceil(tips[0] * 10) / 10, math.floor(tips[1] * 10) / 10) if tips else (1.0, 0.0)
    if narrowest_mm > widest_mm:
        said.append("No other width of tip serves this range under this cap.")
    elif exceeds(tip_mm, widest_mm):
        said.append(f"A rotor with a narrower tip serves this range: {narrowest_mm:.1f} to {widest_mm:.1f} mm wide.")
    else:
        said.append(f"A rotor with a wider tip serves this range: {narrowest_mm:.1f} to {widest_mm:.1f} mm wide.")
    return said
