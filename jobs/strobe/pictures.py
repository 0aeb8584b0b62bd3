"""The picture of a session: how late each reading is, over the speed."""

from jobs.strobe.queries import Judged
from timing.charts.graph import Graph
from timing.charts.residual import residual_chart, residual_chart_of

NARROW = 360
WIDE = 720


def session_pictures(found: Judged) -> dict[str, Graph] | None:
    """The chart for a desk and for a phone; nothing while there is nothing to draw."""
    if not found.readings:
        return None
    return {"wide": _picture(found, "session-wide", WIDE), "narrow": _picture(found, "session-narrow", NARROW)}


def _picture(found: Judged, uid: str, width: float) -> Graph:
    if found.fit is not None:
        return residual_chart_of(found.fit, uid=uid, width=width)
    return residual_chart(
        [(reading.rpm, late) for reading, late in found.rows],
        uid=uid,
        title="Strobe readings against the base timing",
        tolerance=found.tolerance_deg,
        width=width,
    )
