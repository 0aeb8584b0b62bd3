"""The picture of the old advance against the factory's band."""

from garage.vehicles.facts import band_of
from jobs.inspection.queries import sweep_points
from jobs.job.models import Job
from timing.charts.graph import Graph
from timing.charts.sweep import sweep_chart

NARROW = 360


def sweep_pictures(job: Job) -> dict[str, Graph] | None:
    """The chart for a desk and for a phone; nothing while there is nothing to draw."""
    points, band = sweep_points(job), band_of(job.vehicle)
    if not points and band is None:
        return None
    base = job.vehicle.distributor.base_timing_deg or 0.0
    # The readings hold base timing, the factory's data do not: one sheet, one way of counting.
    rows = (
        [
            (rpm, float(band.lower.advance(rpm)) + base, float(band.upper.advance(rpm)) + base)
            for rpm in sorted({*band.lower.rpm, *band.upper.rpm})
        ]
        if band
        else []
    )
    engine = job.vehicle.engine
    asked = {
        "rising": [(rpm, degrees) for rpm, degrees, way in points if way == "rising"],
        "falling": [(rpm, degrees) for rpm, degrees, way in points if way == "falling"],
        "band": rows,
        "idle_rpm": engine.idle_rpm,
        "red_line_rpm": engine.red_line_rpm,
    }
    return {
        "wide": sweep_chart(uid="sweep-wide", **asked),  # type: ignore[arg-type]
        "narrow": sweep_chart(uid="sweep-narrow", width=NARROW, **asked),  # type: ignore[arg-type]
    }
