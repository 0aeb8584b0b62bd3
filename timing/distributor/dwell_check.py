"""Dwell of the points at two speeds: against the data, and as a sign of a worn shaft."""

from __future__ import annotations

from dataclasses import dataclass

from timing.inputs import number


@dataclass(frozen=True, slots=True)
class DwellCheck:
    """Dwell at idle and at speed, made by `compare_dwell`.

    Attributes
    ----------
    change_deg : float
        At speed less at idle. [degrees of the distributor]
    as_data : bool or None
        Whether dwell at idle is as the data want; None without data.
    steady : bool
        Whether the change is small enough for a sound shaft.
    sentences : tuple of str
        For the mechanic.
    """

    change_deg: float
    as_data: bool | None
    steady: bool
    sentences: tuple[str, ...]


def compare_dwell(
    idle_deg: float,
    fast_deg: float,
    data_deg: float | None = None,
    *,
    off_data_deg: float = 3.0,
    largest_change_deg: float = 3.0,
) -> DwellCheck:
    """Judge dwell of the points at idle and at about 2000 rpm.

    Parameters
    ----------
    idle_deg, fast_deg : float
        Dwell read, above 0 and at most 360. [degrees of the distributor]
    data_deg : float, optional
        What the car's data want. [degrees of the distributor]
    off_data_deg, largest_change_deg : float
        How far dwell may be off the data, and how far it may change. Common practice, no source.
        [degrees of the distributor]

    Raises
    ------
    TimingError
        If a figure is not finite or out of its range.
    """
    idle = number(idle_deg, "dwell at idle", above=0.0, high=360.0, unit="degrees")
    fast = number(fast_deg, "dwell at speed", above=0.0, high=360.0, unit="degrees")
    slack = number(off_data_deg, "the largest distance from the data", low=0.0, unit="degrees")
    limit = number(largest_change_deg, "the largest change of dwell", low=0.0, unit="degrees")
    change = fast - idle
    sentences = []
    as_data = None
    if data_deg is not None:
        data = number(data_deg, "dwell of the data", above=0.0, high=360.0, unit="degrees")
        as_data = abs(idle - data) <= slack
        if not as_data:
            gap = "close" if idle < data else "open"
            sentences.append(
                f"Dwell is {idle:.0f} distributor degrees where the data want {data:.0f} ± {slack:g}: {gap} the "
                "points gap."
            )
    steady = abs(change) <= limit
    if not steady:
        sentences.append(
            f"Dwell changes by {change:+.0f} distributor degrees between idle and speed, {limit:g} is the limit: the "
            "shaft or its bushes are worn, or the breaker plate is loose."
        )
    if not sentences:
        sentences.append(f"Dwell is {idle:.0f} distributor degrees at idle and changes by {change:+.0f} at speed.")
    return DwellCheck(change, as_data, steady, tuple(sentences))
