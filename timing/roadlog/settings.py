"""What a workshop may set about its road logs. All of it is common practice, none has a source."""

from __future__ import annotations

from dataclasses import dataclass

from timing.errors import TimingError
from timing.inputs import number


class RoadLogError(TimingError):
    """A log, a note or a cell that cannot be worked with."""


@dataclass(frozen=True, slots=True)
class RoadLogSettings:
    """The limits of road-log analysis (common practice, no source).

    Attributes
    ----------
    longest_gap_s : float
        A sample counts for no longer than this, however late the next one comes. [s]
    lowest_rpm : float
        Slower samples are dropped: the engine is being started, or has stalled. [rpm at the crank]
    window_from_s, window_to_s : float
        A note comes late: it belongs to the time from `window_from_s` to `window_to_s` before it. [s]
    quiet_s : float
        A cell driven for less than this, without a note, is not driven. [s]
    least_score : float
        Below this score nothing is proposed.
    degrees_per_score : float
        Retard for one point of score. [degrees of crank]
    retard_step_deg : float
        Proposals are rounded up to a multiple of this. [degrees of crank]
    most_retard_deg : float
        Never more than this from one drive. [degrees of crank]
    neighbour_limit_deg : float
        Largest difference between neighbouring cells that a proposal may leave behind. [degrees of crank]
    curve_slope_deg : float
        Steepest stretch of the speed curve that a proposal may leave behind. [degrees of crank per 1000 rpm]
    give_back_deg : float
        Most advance given back to a cell after a clean drive. [degrees of crank]
    full_load_kpa : float
        Up to this vacuum the engine is at full load. [kPa below atmosphere]
    steady_s : float
        A stretch held for so long is steady. [s]
    steady_rpm, steady_kpa : float
        How far speed and vacuum may wander within it, lowest to highest. [rpm at the crank], [kPa]
    heaviest : float
        Highest severity of a note: 1 trace, 2 clear, 3 heavy.
    """

    longest_gap_s: float = 2.0
    lowest_rpm: float = 400.0
    window_from_s: float = 2.0
    window_to_s: float = 0.5
    quiet_s: float = 2.0
    least_score: float = 0.25
    degrees_per_score: float = 1.0
    retard_step_deg: float = 0.5
    most_retard_deg: float = 4.0
    neighbour_limit_deg: float = 6.0
    curve_slope_deg: float = 25.0
    give_back_deg: float = 1.0
    full_load_kpa: float = 5.0
    steady_s: float = 5.0
    steady_rpm: float = 150.0
    steady_kpa: float = 5.0
    heaviest: float = 3.0

    def __post_init__(self) -> None:
        def keep(name: str, label: str, unit: str = "", *, above: float | None = None) -> None:
            low = 0.0 if above is None else None
            object.__setattr__(self, name, number(getattr(self, name), label, above=above, low=low, unit=unit))

        keep("longest_gap_s", "the longest gap kept", "s", above=0.0)
        keep("lowest_rpm", "the lowest speed kept", "rpm")
        keep("window_from_s", "the beginning of a note's window", "s", above=0.0)
        keep("window_to_s", "the end of a note's window", "s")
        keep("quiet_s", "the time that makes a cell driven", "s")
        keep("least_score", "the least score that counts", above=0.0)
        keep("degrees_per_score", "the retard for one point of score", "degrees", above=0.0)
        keep("retard_step_deg", "the step of a proposed retard", "degrees", above=0.0)
        keep("most_retard_deg", "the most retard from one drive", "degrees", above=0.0)
        keep("neighbour_limit_deg", "the largest step between neighbouring cells", "degrees", above=0.0)
        keep("curve_slope_deg", "the steepest stretch of the curve", "degrees", above=0.0)
        keep("give_back_deg", "the most advance given back", "degrees")
        keep("full_load_kpa", "the vacuum of full load", "kPa")
        keep("steady_s", "the time that makes a stretch steady", "s", above=0.0)
        keep("steady_rpm", "how far the speed may wander", "rpm", above=0.0)
        keep("steady_kpa", "how far the vacuum may wander", "kPa", above=0.0)
        keep("heaviest", "the highest severity", above=0.0)
        if self.window_from_s <= self.window_to_s:
            raise RoadLogError(
                f"a note's window must begin before it ends, not {self.window_from_s:g} s before the note"
                f" with its end {self.window_to_s:g} s before it"
            )


USUAL = RoadLogSettings()
