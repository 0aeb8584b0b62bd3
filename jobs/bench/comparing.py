"""Two versions side by side: the chart, the table of differences, findings gained and lost, one sentence."""

from functools import partial
from typing import Any

from garage.quantities.words import pressure
from jobs.bench.pictures import drawn
from jobs.bench.version_on_bench import on_the_bench
from jobs.job.models import Job
from jobs.maps.findings import findings_gained_and_lost
from jobs.maps.models import MapVersion
from timing.charts import speed_chart
from timing.comparison import compare


def side_by_side(job: Job, before: MapVersion, after: MapVersion, *, vacuum_unit: str) -> dict[str, Any]:
    """What the comparison page shows of two versions of `job`."""
    first, second = on_the_bench(before, vacuum_unit=vacuum_unit), on_the_bench(after, vacuum_unit=vacuum_unit)
    difference = compare(first.target, second.target, lambda kpa: pressure(round(kpa, 3), vacuum_unit))
    moved = first.target.base_deg - second.target.base_deg
    points = list(zip(second.target.curve.rpm, second.target.curve.degrees, strict=True))
    picture = partial(
        speed_chart,
        title=f"Version {after.number} against version {before.number}",
        delivered=points,
        delivered_name=f"version {after.number}",
        earlier=[
            (
                f"version {before.number}",
                [(rpm, degrees + moved) for rpm, degrees in zip(*_points(first.target.curve), strict=True)],
            )
        ],
        idle_rpm=job.vehicle.engine.idle_rpm,
        red_line_rpm=job.vehicle.engine.red_line_rpm,
        rev_limit_rpm=second.target.rev_limit_rpm,
        degrees_name=f"degrees from base timing of version {after.number}",
    )
    gained, lost = findings_gained_and_lost(first.findings, second.findings)
    return {
        "comparison": difference,
        "chart": drawn("compare", picture),
        "gained": gained,
        "lost": lost,
        "base_moved": moved,
        "other_unit": before.unit_revision_id != after.unit_revision_id,
    }


def _points(curve: Any) -> tuple[tuple[float, ...], tuple[float, ...]]:
    return curve.rpm, curve.degrees
