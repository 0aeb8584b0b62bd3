"""The proposal drawn over the map that is in the car: before and after."""

from functools import partial
from typing import Any

from jobs.bench.pictures import Drawn, drawn
from jobs.proposals.queries import OpenProposal
from timing.charts import speed_chart, vacuum_chart
from timing.ignition_map import IgnitionMap
from timing.roadlog import Part
from timing.units import convert
from timing.vacuum import VacuumRamp, VacuumTable


def curve_picture(proposal: OpenProposal) -> Drawn:
    """The speed curve as it is in the car, and with every point accepted; the road notes lie on the first."""
    now, after, engine = proposal.target, proposal.after(), proposal.job.vehicle.engine
    noted = sorted({piece.place.rpm for drive in proposal.drives for piece in drive.pinking if _is_on_curve(proposal)})
    return drawn(
        "proposal",
        partial(
            speed_chart,
            title=f"Proposal over version {proposal.version.number}",
            delivered=after.curve,
            delivered_name="with the proposal",
            earlier=[(f"version {proposal.version.number}", _pairs(now))],
            road_notes=[(rpm, float(now.curve.advance(rpm))) for rpm in noted],
            idle_rpm=engine.idle_rpm,
            red_line_rpm=engine.red_line_rpm,
            rev_limit_rpm=now.rev_limit_rpm,
            degrees_name="degrees from base timing",
        ),
    )


def vacuum_picture(proposal: OpenProposal, *, pressure_unit: str) -> Drawn | None:
    """The vacuum part before and after; None where nothing of it is proposed."""
    if all(point.part == Part.REVS for point in proposal.points):
        return None
    now, after = proposal.target.vacuum, proposal.after().vacuum

    def shown(kpa: float) -> float:
        return float(convert(kpa, "kPa", pressure_unit))

    before = f"version {proposal.version.number}"
    picture: dict[str, Any] = {"title": "Vacuum part with the proposal", "pressure_unit": pressure_unit}
    if isinstance(now, VacuumRamp) and isinstance(after, VacuumRamp):
        picture["ramp"] = [(shown(after.start), 0.0), (shown(after.full), after.full_deg)]
        picture["earlier"] = [(before, [(shown(now.start), 0.0), (shown(now.full), now.full_deg)])]
        picture["from_rpm"] = after.from_rpm
    if isinstance(now, VacuumTable) and isinstance(after, VacuumTable):
        changed = {point.rpm for point in proposal.points if point.part == Part.VACUUM}
        columns = [(at, rpm) for at, rpm in enumerate(after.rpm) if rpm in changed]
        picture["rows"] = [
            (rpm, [(shown(kpa), row[at]) for kpa, row in zip(after.vacuum, after.degrees, strict=True)])
            for at, rpm in columns
        ]
        picture["earlier"] = [
            (
                f"{before}, {rpm:g} rpm",
                [(shown(kpa), row[at]) for kpa, row in zip(now.vacuum, now.degrees, strict=True)],
            )
            for at, rpm in columns
        ]
    return drawn("proposal-vacuum", partial(vacuum_chart, **picture))


def _is_on_curve(proposal: OpenProposal) -> bool:
    return any(point.part == Part.REVS for point in proposal.points)


def _pairs(ignition_map: IgnitionMap) -> list[tuple[float, float]]:
    return list(zip(ignition_map.curve.rpm, ignition_map.curve.degrees, strict=True))
