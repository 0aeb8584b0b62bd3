"""What the unit is to give at a reading of a session."""

from jobs.maps import queries as maps
from jobs.strobe.models import StrobeSession


def expected_deg(session: StrobeSession, rpm: float, vacuum_kpa: float | None) -> float:
    """The flat base timing, or what the map version gives there. [degrees of crank before top dead centre]

    Raises
    ------
    TimingError
        If a figure is out of the range of the map.
    """
    if session.map_version_id is None:
        return float(session.base_deg or 0.0)
    return maps.expected_advance(session.map_version_id, rpm, vacuum_kpa or 0.0)
