"""What the inspection has measured that a map is judged by."""

from dataclasses import dataclass

from garage.vehicles.circuit import CRANKING_V, supply
from jobs.checklists import queries as checklists
from jobs.checklists.measuring import Reading
from jobs.checklists.models import Correction
from jobs.job.models import Job
from timing.units import PASCALS, convert, vacuum_lost


@dataclass(frozen=True, slots=True)
class Measured:
    """Figures of this car, None where nobody has measured them."""

    idle_vacuum_kpa: float | None = None
    cranking_v: float | None = None
    charging_v: float | None = None


def measured(job: Job, altitude_m: float) -> Measured:
    """The figures that stand on the job's inspection sheet; the idle vacuum is what the manifold has at this height."""
    volts = job.vehicle.system_volts or 12
    keys = ("idle-vacuum", f"cranking-{volts}", f"charging-{volts}")
    vacuum, cranking, charging = checklists.entered_readings(job, "inspection", keys).values()
    return Measured(_manifold_kpa(vacuum, altitude_m), _volts(cranking), _volts(charging))


def _manifold_kpa(found: Reading | None, altitude_m: float) -> float | None:
    """Vacuum as the gauge showed it.

    An older list asked for it 'corrected to sea level', in whatever unit its workshop had written beside it: what was
    entered by that list is taken back to the workshop's height.
    """
    if found is None or found.measure.unit not in PASCALS:
        return None
    kpa = float(convert(found.measure.figure, found.measure.unit, "kPa"))
    if found.correction != Correction.SEA_LEVEL:
        kpa -= float(vacuum_lost(altitude_m))
    return kpa if kpa > 0 else None


def _volts(found: Reading | None) -> float | None:
    return found.measure.value if found is not None and found.measure.value > 0 else None


def cranking_volts(job: Job, found: Measured) -> float:
    """As measured at the coil's feed, or what is usual."""
    return found.cranking_v or supply(job.vehicle, CRANKING_V)
