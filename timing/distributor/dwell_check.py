"""Dwell of the points at two speeds: against the data, and as a sign of a worn shaft."""

from __future__ import annotations

from dataclasses import dataclass

from timing.inputs import number
from timing.minus import with_minus
from timing.tolerance import exceeds


@dataclass(frozen=True, slots=True)
class DwellCheck:
    """Dwell at idle and at speed, made by `compare_dwell`.

    Attributes
    ----------
    change_dist_deg : float
        At speed less at idle. [degrees of the distributor]
    as_data : bool or None
        Whether dwell at idle is as the data say; None without data.
    steady : bool
        Whether the change is small enough for a sound shaft.
    sentences : tuple of str
        For the mechanic.
    """

    change_dist_deg: float
    as_data: bool | None
    steady: bool
    sentences: tuple[str, ...]


def compare_dwell(
    idle_dist_deg: float,
    fast_dist_deg: float,
    data_dist_deg: float | None = None,
    *,
    off_data_dist_deg: float = 3.0,
    largest_change_dist_deg: float = 3.0,
) -> DwellCheck:
    """Judge dwell of the points at idle and at about 2000 rpm.

    Parameters
    ----------
    idle_dist_deg, fast_dist_deg : float
        Dwell read, above 0 and at most 360. [degrees of the distributor]
    data_dist_deg : float, optional
        What the car's data say. [degrees of the distributor]
    off_data_dist_deg, largest_change_dist_deg : float
        How far dwell may be off the data, and how far it may change; exactly so far is within. Common practice, no
        source. [degrees of the distributor]

    Returns
    -------
    DwellCheck
        Both verdicts and what to do.

    Raises
    ------
    TimingError
        If a figure is not finite or out of its range.
    """
    idle = number(idle_dist_deg, "dwell at idle", above=0.0, high=360.0, unit="degrees")
    fast = number(fast_dist_deg, "dwell at speed", above=0.0, high=360.0, unit="degrees")
    slack = number(off_data_dist_deg, "the largest distance from the data", low=0.0, unit="degrees")
    limit = number(largest_change_dist_deg, "the largest change of dwell", low=0.0, unit="degrees")
    change = fast - idle
    sentences = []
    as_data = None
    if data_dist_deg is not None:
        data = number(data_dist_deg, "dwell of the data", above=0.0, high=360.0, unit="degrees")
        as_data = not exceeds(abs(idle - data), slack)
        if not as_data:
            gap = "close" if idle < data else "open"
            sentences.append(
                f"Dwell is {idle:g} distributor degrees; the data say {data:g} ± {slack:g}. "
                f"{gap.capitalize()} the points gap."
            )
    steady, changed = not exceeds(abs(change), limit), with_minus(f"{change:+g}")
    if not steady:
        sentences.append(
            f"Dwell changes by {changed} distributor degrees from idle to speed. Limit: {limit:g}. "
            "Look for a worn shaft or bushes, or a loose plate."
        )
    if not sentences:
        sentences.append(f"Dwell is {idle:g} distributor degrees at idle and changes by {changed} at speed.")
    return DwellCheck(change, as_data, steady, tuple(sentences))
