"""What an earlier job of the same car left in it: the start of a car that comes back."""

from dataclasses import dataclass
from datetime import datetime

from garage.units.models import FittedUnit
from jobs.job.models import Job
from jobs.maps.models import MapVersion, ReadBack


@dataclass(frozen=True, slots=True)
class CarriedOver:
    """The version last proven in the unit that is in the car, from an earlier job; nobody has checked it for this one.

    `unit` is the unit it was proven in: another one than the car has now where that was replaced.
    """

    job: Job
    version: MapVersion
    proof: ReadBack
    unit: FittedUnit

    @property
    def proven_at(self) -> datetime:
        return self.proof.made_at


def carried_over(job: Job) -> CarriedOver | None:
    """What the last earlier job of this car left in it; None for a car that was never here, or left without proof."""
    proof = (
        ReadBack.objects.filter(
            map_version__job__vehicle_id=job.vehicle_id, map_version__job__made_at__lt=job.made_at, clean=True
        )
        .exclude(map_version__job=job)
        .select_related("map_version__job__vehicle", "map_version__unit_revision", "unit__revision__unit_type", "by")
        .order_by("-made_at", "-received_at")
        .first()
    )
    if proof is None:
        return None
    return CarriedOver(proof.map_version.job, proof.map_version, proof, proof.unit)
