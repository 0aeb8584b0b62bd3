"""The rotor tip under the cap: how it stands to its own terminal and to the nearest other one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from timing.distributor.errors import DistributorError
from timing.inputs import number, whole


class Neighbour(StrEnum):
    """Which other terminal the tip is nearest to."""

    JUST_LEFT = "the terminal just left"
    NEXT = "the next terminal"
    EITHER = "either neighbour"


@dataclass(frozen=True, slots=True)
class PhasingEnd:
    """The rotor under the cap at one spark.

    Attributes
    ----------
    spark_deg : float
        Advance of the spark. [degrees of crank before top dead centre]
    offset_dist_deg, offset_mm : float
        From the tip to the middle of its terminal, positive while the tip is not there yet.
        [degrees of the distributor; mm along the arc at the tip's radius]
    overlap_mm : float
        Of tip and terminal along the arc; negative is the gap between their edges. [mm]
    own_gap_mm, neighbour_gap_mm : float
        Shortest way for the spark to its own and to the nearest other terminal. [mm]
    ratio : float
        Neighbour's gap over own gap.
    neighbour : Neighbour
        Which terminal that is.
    """

    spark_deg: float
    offset_dist_deg: float
    offset_mm: float
    overlap_mm: float
    own_gap_mm: float
    neighbour_gap_mm: float
    ratio: float
    neighbour: Neighbour


@dataclass(frozen=True, slots=True)
class RotorAndCap:
    """Rotor tip and cap terminals, evenly spaced; lengths along the arc at the tip's radius. Made by `rotor_and_cap`.

    Attributes
    ----------
    terminals : int
        Posts round the cap.
    tip_radius_mm, tip_width_mm, post_width_mm, radial_gap_mm : float
        Radius of the tip's end, widths of tip and terminal, and the air between them in line. [mm]
    crank_turns : float
        Crank turns for one turn of the distributor.
    """

    terminals: int
    tip_radius_mm: float
    tip_width_mm: float
    post_width_mm: float
    radial_gap_mm: float
    crank_turns: float

    @property
    def pitch_dist_deg(self) -> float:
        """From one terminal to the next. [degrees of the distributor]"""
        return 360.0 / self.terminals

    @property
    def reach_mm(self) -> float:
        """From the middle of the tip to the middle of a terminal when their edges meet. [mm]"""
        return (self.tip_width_mm + self.post_width_mm) / 2.0

    def arc_mm(self, dist_deg: float) -> float:
        """Length of an angle of the distributor at the tip's radius. [mm]"""
        return math.radians(dist_deg) * self.tip_radius_mm

    def end_at(self, spark_deg: float, aligned_at_deg: float) -> PhasingEnd:
        """The rotor at one spark.

        Parameters
        ----------
        spark_deg, aligned_at_deg : float
            Advance of the spark, and the advance at which tip and terminal are in line.
            [degrees of crank before top dead centre]

        Returns
        -------
        PhasingEnd
            With the offset the short way round, -180 to 180 degrees of the distributor.

        References
        ----------
        Derived: offset = (spark - aligned) / crank turns for one turn of the distributor.
        """
        offset = math.remainder((spark_deg - aligned_at_deg) / self.crank_turns, 360.0)
        others = [post * self.pitch_dist_deg for post in range(1, self.terminals)]
        # The tip stands `offset` before its own terminal; the terminals it has passed lie the same way.
        nearest = min(abs(math.remainder(offset - post, 360.0)) for post in others)
        own, neighbour = self._gap_mm(offset), self._gap_mm(nearest)
        which = Neighbour.JUST_LEFT if offset > 0 else Neighbour.NEXT if offset < 0 else Neighbour.EITHER
        return PhasingEnd(
            spark_deg=spark_deg,
            offset_dist_deg=offset,
            offset_mm=self.arc_mm(offset),
            overlap_mm=self.reach_mm - abs(self.arc_mm(offset)),
            own_gap_mm=own,
            neighbour_gap_mm=neighbour,
            ratio=neighbour / own,
            neighbour=which,
        )

    def widest_range_deg(self, least_overlap_mm: float, least_ratio: float) -> float:
        """Widest range of advance at whose ends both limits still hold, tip and terminal in line in its middle.

        Parameters
        ----------
        least_overlap_mm, least_ratio : float
            Least overlap of tip and terminal, 0 or more [mm], and least ratio of the neighbour's gap to the own gap.

        Returns
        -------
        float
            0 where there is none. [degrees of crank]
        """
        by_overlap = self.reach_mm - least_overlap_mm
        by_ratio = self.arc_mm(self.pitch_dist_deg) - self.reach_mm - self._clear_mm(least_ratio)
        off = math.degrees(min(by_overlap, by_ratio) / self.tip_radius_mm)
        return max(0.0, 2.0 * self.crank_turns * off)

    def tip_widths_mm(
        self, range_deg: float, least_overlap_mm: float, least_ratio: float
    ) -> tuple[float, float] | None:
        """The narrowest and the widest tip that serve a range of advance under this cap, in line in its middle.

        Parameters
        ----------
        range_deg : float
            Highest less lowest advance, 0 or more. [degrees of crank]
        least_overlap_mm, least_ratio : float
            As for `widest_range_deg`.

        Returns
        -------
        tuple of float, or None
            None where no tip serves it. [mm along the arc]
        """
        room = self.arc_mm(self.pitch_dist_deg)
        off = self.arc_mm(range_deg / (2.0 * self.crank_turns))
        narrowest = max(0.0, 2.0 * (least_overlap_mm + off) - self.post_width_mm)
        widest = min(room, 2.0 * (room - off - self._clear_mm(least_ratio)) - self.post_width_mm)
        return (narrowest, widest) if narrowest < widest else None

    def _gap_mm(self, dist_deg: float) -> float:
        """From the tip to a terminal whose middle is this far away."""
        return math.hypot(self.radial_gap_mm, max(0.0, self.arc_mm(abs(dist_deg)) - self.reach_mm))

    def _clear_mm(self, least_ratio: float) -> float:
        """Along the arc between the edges of tip and neighbour, when that gap is `least_ratio` times the radial one."""
        return self.radial_gap_mm * math.sqrt(max(least_ratio**2 - 1.0, 0.0))


def rotor_and_cap(
    terminals: int,
    tip_radius_mm: float,
    tip_width_mm: float,
    post_width_mm: float,
    radial_gap_mm: float,
    crank_turns: float,
) -> RotorAndCap:
    """Rotor and cap, their measures checked.

    Parameters
    ----------
    terminals : int
        Posts round the cap, 2 to 24.
    tip_radius_mm, tip_width_mm, post_width_mm, radial_gap_mm : float
        As in `RotorAndCap`, each above zero. [mm]
    crank_turns : float
        Crank turns for one turn of the distributor.

    Returns
    -------
    RotorAndCap
        The same figures as floats.

    Raises
    ------
    DistributorError
        If tip or terminals would reach from terminal to terminal.
    TimingError
        If a figure is not finite or out of its range.
    """
    made = RotorAndCap(
        terminals=whole(terminals, "the number of cap terminals", low=2, high=24),
        tip_radius_mm=number(tip_radius_mm, "the radius of the rotor tip", above=0.0, unit="mm"),
        tip_width_mm=number(tip_width_mm, "the width of the rotor tip", above=0.0, unit="mm"),
        post_width_mm=number(post_width_mm, "the width of a cap terminal", above=0.0, unit="mm"),
        radial_gap_mm=number(radial_gap_mm, "the gap between rotor tip and terminal", above=0.0, unit="mm"),
        crank_turns=crank_turns,
    )
    room = made.arc_mm(made.pitch_dist_deg)
    for width, what in ((made.post_width_mm, "terminals"), (made.tip_width_mm, "a rotor tip")):
        if width >= room:
            raise DistributorError(
                f"{what} {width:g} mm wide would reach from terminal to terminal: at a radius of "
                f"{made.tip_radius_mm:g} mm "
                f"{made.terminals} terminals stand {room:.1f} mm apart"
            )
    return made
