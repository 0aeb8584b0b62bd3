"""What the inspection has measured that a map is judged by."""

from dataclasses import dataclass

from garage.vehicles.circuit import CRANKING_V, supply
from jobs.checklists import queries as checklists
from jobs.job.models import Job
from timing.units import standard_pressure


@dataclass(frozen=True, slots=True)
class Measured:
    """Figures of this car, None where nobody has measured them."""

    idle_vacuum_kpa: float | None = None
    cranking_v: float | None = None
    charging_v: float | None = None


def measured(job: Job, altitude_m: float) -> Measured:
    """The figures that stand on the job's inspection sheet.

    The sheet's idle vacuum is corrected to sea level; here it is what the manifold really has at the workshop's height.
    """
    volts = job.vehicle.system_volts or 12
    keys = ("idle-vacuum", f"cranking-{volts}", f"charging-{volts}")
    vacuum, cranking, charging = (
        float(value) if isinstance(value, int | float) and not isinstance(value, bool) and value > 0 else None
        for value in checklists.entered_values(job, "inspection", keys).values()
    )
    if vacuum is not None:
        vacuum = max(vacuum - float(standard_pressure(0.0)) + float(standard_pressure(altitude_m)), 0.0) or None
    return Measured(vacuum, cranking, charging)


def cranking_volts(job: Job, found: Measured) -> float:
    """As measured at the coil's feed, or what is usual."""
    return found.cranking_v or supply(job.vehicle, CRANKING_V)
