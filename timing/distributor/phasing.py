"""Rotor phasing of a locked distributor: where the tip stands under the cap when the spark comes.

Once the old advance is locked, every degree of programmed advance moves the spark against the rotor. The tip must
still overlap its own post at the lowest and at the highest advance, and be much nearer to it than to any other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from timing.crank import crank_from_distributor
from timing.distributor.errors import DistributorError
from timing.inputs import number, whole

# Beyond these a figure is no spark advance, whatever the engine: a slipped digit.
LOWEST_SPARK_DEG = -60.0
HIGHEST_SPARK_DEG = 90.0


class Neighbour(StrEnum):
    """Which other post the tip is nearest to."""

    JUST_LEFT = "the post just left"
    NEXT = "the next post"
    EITHER = "either neighbouring post"


class PhasingKind(StrEnum):
    """What the geometry comes to."""

    HOLDS = "holds"
    MOVE_THE_LOCK = "move_the_lock"
    RANGE_TOO_WIDE = "range_too_wide"


@dataclass(frozen=True, slots=True)
class PhasingEnd:
    """The rotor under the cap at one spark.

    Attributes
    ----------
    spark_deg : float
        Advance of the spark. [degrees of crank before top dead centre]
    offset_deg, offset_mm : float
        From the tip to the middle of its post, positive while the tip is not yet there.
        [degrees of the distributor; mm along the arc at the tip's radius]
    overlap_mm : float
        Of tip and post along the arc; negative is the gap between their edges. [mm]
    own_gap_mm, neighbour_gap_mm : float
        Shortest way for the spark to its own and to the nearest other post. [mm]
    ratio : float
        Neighbour's gap over own gap.
    neighbour : Neighbour
        Which post that is.
    """

    spark_deg: float
    offset_deg: float
    offset_mm: float
    overlap_mm: float
    own_gap_mm: float
    neighbour_gap_mm: float
    ratio: float
    neighbour: Neighbour


@dataclass(frozen=True, slots=True)
class Phasing:
    """Rotor phasing over a range of advance, made by `rotor_phasing`.

    Attributes
    ----------
    crank_turns : float
        Crank turns for one turn of the distributor.
    best_aligned_deg : float
        Advance at which tip and post should be in line: the middle of the range. [degrees of crank]
    aligned_at_deg : float
        Advance at which they are in line as reckoned here. [degrees of crank]
    lowest, highest : PhasingEnd
        At the two ends of the range.
    widest_range_deg : float
        Widest range of advance this cap and rotor could serve, centred; 0 if none. [degrees of crank]
    kind : PhasingKind
        holds; move_the_lock: it would hold at `best_aligned_deg`; range_too_wide: not even there.
    sentences : tuple of str
        What is wrong at which end, and what to do.
    """

    terminals: int
    tip_radius_mm: float
    tip_width_mm: float
    post_width_mm: float
    radial_gap_mm: float
    crank_turns: float
    best_aligned_deg: float
    aligned_at_deg: float
    lowest: PhasingEnd
    highest: PhasingEnd
    widest_range_deg: float
    kind: PhasingKind
    sentences: tuple[str, ...]

    @property
    def ends(self) -> tuple[PhasingEnd, PhasingEnd]:
        """The lowest and the highest advance."""
        return self.lowest, self.highest

    def at(self, spark_deg: float) -> PhasingEnd:
        """The rotor under the cap at any spark, -60 to 90 degrees of crank before top dead centre."""
        cap = _Cap(
            self.terminals,
            self.tip_radius_mm,
            self.tip_width_mm,
            self.post_width_mm,
            self.radial_gap_mm,
            self.crank_turns,
        )
        return cap.at(_spark(spark_deg, "the spark"), self.aligned_at_deg)


@dataclass(frozen=True, slots=True)
class _Cap:
    terminals: int
    tip_radius: float
    tip_width: float
    post_width: float
    radial_gap: float
    turn: float

    @property
    def pitch(self) -> float:
        return 360.0 / self.terminals

    @property
    def reach(self) -> float:
        """Along the arc from the middle of the tip to the middle of a post when their edges meet. [mm]"""
        return (self.tip_width + self.post_width) / 2.0

    def arc(self, degrees: float) -> float:
        return math.radians(degrees) * self.tip_radius

    def gap(self, degrees: float) -> float:
        """From the tip to a post whose middle is this far away. [mm]"""
        return math.hypot(self.radial_gap, max(0.0, self.arc(abs(degrees)) - self.reach))

    def at(self, spark: float, aligned: float) -> PhasingEnd:
        offset = (spark - aligned) / self.turn
        others = [post * self.pitch for post in range(1 - self.terminals, self.terminals) if post]
        # The tip stands `offset` before its own post, the posts already passed lie the same way.
        nearest = min(abs(offset - post) for post in others)
        own, neighbour = self.gap(offset), self.gap(nearest)
        which = Neighbour.JUST_LEFT if offset > 0 else Neighbour.NEXT if offset < 0 else Neighbour.EITHER
        return PhasingEnd(
            spark_deg=spark,
            offset_deg=offset,
            offset_mm=self.arc(offset),
            overlap_mm=self.reach - abs(self.arc(offset)),
            own_gap_mm=own,
            neighbour_gap_mm=neighbour,
            ratio=neighbour / own,
            neighbour=which,
        )

    def widest_range(self, least_overlap: float, least_ratio: float) -> float:
        """Crank degrees between the two sparks at which both limits are just met, the range centred."""
        by_overlap = (self.reach - least_overlap) / self.tip_radius
        clear = self.radial_gap * math.sqrt(max(least_ratio**2 - 1.0, 0.0))
        by_ratio = math.radians(self.pitch) - (self.reach + clear) / self.tip_radius
        return max(0.0, 2.0 * self.turn * math.degrees(min(by_overlap, by_ratio)))


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
        Radius of the tip's end, widths of tip and post along the arc, and the air between them in line. [mm]
    aligned_at_deg : float, optional
        Advance at which tip and post are in line; the middle of the range if left out. [degrees of crank]
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.
    least_overlap_mm, least_ratio : float
        Least overlap of tip and post, and least ratio of the neighbour's gap to the own. Common practice, no source.

    Raises
    ------
    DistributorError
        If the range is upside down, or tip or posts are too wide for the cap.
    TimingError
        If a figure is not finite or out of its range.

    Notes
    -----
    Geometry: offset = (spark - aligned) / crank turns for one turn of the distributor. Turning the distributor's
    body moves sensor and cap together, so it changes the timing and not the phasing; that is set by the angle at
    which the mechanism is locked, or by a re-indexed rotor. Lengths are arcs at the tip's radius.
    """
    cap = _checked_cap(
        terminals,
        tip_radius_mm,
        tip_width_mm,
        post_width_mm,
        radial_gap_mm,
        float(crank_from_distributor(1.0, strokes)),
    )
    lowest, highest = _spark(lowest_deg, "the lowest advance"), _spark(highest_deg, "the highest advance")
    if lowest > highest:
        raise DistributorError(f"the lowest advance, {lowest:g}°, is above the highest, {highest:g}°")
    overlap = number(least_overlap_mm, "the least overlap", low=0.0, unit="mm")
    ratio = number(least_ratio, "the least ratio of gaps", above=0.0)
    best = (lowest + highest) / 2.0
    aligned = (
        best if aligned_at_deg is None else _spark(aligned_at_deg, "the advance at which rotor and post are in line")
    )
    ends = cap.at(lowest, aligned), cap.at(highest, aligned)
    # At both ends of a range of nothing the same is wrong: said once.
    wrong = list(dict.fromkeys(sentence for end in ends for sentence in _faults(end, overlap, ratio)))
    centred_is_wrong = any(_faults(cap.at(end, best), overlap, ratio) for end in (lowest, highest))
    widest = cap.widest_range(overlap, ratio)
    if not wrong:
        kind = PhasingKind.HOLDS
        least = min(end.overlap_mm for end in ends)
        wrong.append(
            f"The rotor tip covers its post by {least:.1f} mm or more from {lowest:g}° to {highest:g}°, "
            f"and is {min(end.ratio for end in ends):.1f} times nearer to it than to any other."
        )
    elif centred_is_wrong:
        kind = PhasingKind.RANGE_TOO_WIDE
        narrower = math.floor(widest)
        remedy = f"narrow the range to {narrower}° or fit a rotor with a wider tip" if narrower else "they cannot stay"
        wrong.append(
            f"From {lowest:g}° to {highest:g}° is more than this rotor and cap can serve even when centred: {remedy}."
        )
    else:
        kind = PhasingKind.MOVE_THE_LOCK
        wrong.append(
            f"Lock the mechanism so that tip and post are in line at {best:g}° instead of {aligned:g}°, or re-index "
            "the rotor; turning the distributor's body does not change this."
        )
    wrong.append(
        "Prove it with a cut-open old cap and the strobe on that lead, at cranking, idle and the highest advance. A "
        "cap with carbon tracks inside fails whatever the geometry says."
    )
    return Phasing(
        terminals=cap.terminals,
        tip_radius_mm=cap.tip_radius,
        tip_width_mm=cap.tip_width,
        post_width_mm=cap.post_width,
        radial_gap_mm=cap.radial_gap,
        crank_turns=cap.turn,
        best_aligned_deg=best,
        aligned_at_deg=aligned,
        lowest=ends[0],
        highest=ends[1],
        widest_range_deg=widest,
        kind=kind,
        sentences=tuple(wrong),
    )


def _spark(degrees: float, what: str) -> float:
    return number(degrees, what, low=LOWEST_SPARK_DEG, high=HIGHEST_SPARK_DEG, unit="degrees")


def _checked_cap(
    terminals: int, tip_radius: float, tip_width: float, post_width: float, radial_gap: float, turn: float
) -> _Cap:
    cap = _Cap(
        terminals=whole(terminals, "the number of cap terminals", low=2, high=24),
        tip_radius=number(tip_radius, "the radius of the rotor tip", above=0.0, unit="mm"),
        tip_width=number(tip_width, "the width of the rotor tip", above=0.0, unit="mm"),
        post_width=number(post_width, "the width of a cap post", above=0.0, unit="mm"),
        radial_gap=number(radial_gap, "the gap between rotor tip and post", above=0.0, unit="mm"),
        turn=turn,
    )
    room = cap.arc(cap.pitch)
    for width, what in ((cap.post_width, "posts"), (cap.tip_width, "a rotor tip")):
        if width >= room:
            raise DistributorError(
                f"{what} {width:g} mm wide would reach from post to post: at a radius of {cap.tip_radius:g} mm "
                f"{cap.terminals} posts stand {room:.1f} mm apart"
            )
    return cap


def _faults(end: PhasingEnd, least_overlap: float, least_ratio: float) -> list[str]:
    faults = []
    if end.overlap_mm < least_overlap:
        side = "before" if end.offset_deg > 0 else "past"
        covers = (
            f"covers its post by only {end.overlap_mm:.1f} mm"
            if end.overlap_mm >= 0
            else f"is {-end.overlap_mm:.1f} mm clear of its post"
        )
        faults.append(
            f"At {end.spark_deg:g}° the rotor tip is {abs(end.offset_deg):.1f} distributor degrees {side} its post and "
            f"{covers}; {least_overlap:g} mm of overlap is wanted."
        )
    if end.ratio < least_ratio:
        charge = {
            Neighbour.JUST_LEFT: ", whose cylinder is at the end of its expansion",
            Neighbour.NEXT: ", whose cylinder holds fresh charge: the dangerous side",
            Neighbour.EITHER: "",
        }[end.neighbour]
        faults.append(
            f"At {end.spark_deg:g}° the spark has {end.own_gap_mm:.1f} mm to its own post and "
            f"{end.neighbour_gap_mm:.1f} mm to {end.neighbour}{charge}; {least_ratio:g} times as far is wanted."
        )
    return faults


@dataclass(frozen=True, slots=True)
class SensorPosition:
    """Where the rotor stands when the trigger sensor speaks, made by `sensor_position`.

    Attributes
    ----------
    rotor_offset_deg : float
        From the tip to its post at the sensor's edge, positive while not yet there. [degrees of the distributor]
    room_deg : float
        Sensor's edge less the highest advance; the unit can time every spark from this edge only if it is above 0.
        [degrees of crank]
    previous_edge_deg : float
        The edge before. [degrees of crank before top dead centre]
    holds : bool
        Whether every spark comes after its own edge.
    sentence : str
        How to set it, or what is wrong.
    """

    rotor_offset_deg: float
    room_deg: float
    previous_edge_deg: float
    holds: bool
    sentence: str


def sensor_position(
    sensor_deg: float, aligned_at_deg: float, highest_deg: float, terminals: int, strokes: int = 4
) -> SensorPosition:
    """Where the rotor must stand at the trigger's edge, and whether the highest advance comes after that edge.

    Parameters
    ----------
    sensor_deg : float
        Where the sensor's edge comes, 0 to 180. [degrees of crank before top dead centre]
    aligned_at_deg : float
        Advance at which tip and post are in line. [degrees of crank]
    highest_deg : float
        Highest advance of the map. [degrees of crank]
    terminals : int
        Posts round the cap, and edges in one turn of the distributor, 2 or more.
    strokes : int
        4: the distributor turns at half the crank's speed. 2: at the crank's speed.

    Raises
    ------
    TimingError
        If a figure is not finite or out of its range.

    Notes
    -----
    Geometry: rotor offset = (sensor - aligned) / crank turns for one turn of the distributor. A unit can only delay.
    """
    turn = float(crank_from_distributor(1.0, strokes))
    sensor = number(sensor_deg, "the sensor's edge", low=0.0, high=180.0, unit="degrees")
    aligned = _spark(aligned_at_deg, "the advance at which rotor and post are in line")
    highest = _spark(highest_deg, "the highest advance")
    posts = whole(terminals, "the number of cap terminals", low=2, high=24)
    offset, room = (sensor - aligned) / turn, sensor - highest
    previous = sensor + 360.0 * turn / posts
    if room > 0.0:
        side = "before" if offset >= 0 else "past"
        sentence = (
            f"With the sensor's edge at {sensor:g}° the rotor tip must stand {abs(offset):g} distributor degrees "
            f"{side} its post; {room:g}° are left above the highest advance."
        )
    else:
        sentence = (
            f"The highest advance, {highest:g}°, is not below the sensor's edge at {sensor:g}°: a unit can only "
            f"delay, so it would have to time that spark from the edge before, at {previous:g}°. Lower the map or "
            "move the sensor."
        )
    return SensorPosition(offset, room, previous, room > 0.0, sentence)
