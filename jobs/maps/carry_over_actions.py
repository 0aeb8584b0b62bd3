"""Taking over what an earlier job of the same car left in it."""

from uuid import UUID

from django.db import transaction

from garage.record.actor import Actor
from jobs.job.models import Job
from jobs.maps.actions import MapRefusedError, release, start_version
from jobs.maps.carried_over import carried_over
from jobs.maps.models import MapVersion


@transaction.atomic
def carry_over(*, job: Job, idempotency_key: UUID, actor: Actor) -> MapVersion:
    """Make the version that an earlier job left in this car a released version of this job, unchanged.

    It is not proven for this job by that: the unit is still keyed in or read back.

    Raises
    ------
    MapRefusedError
        If no earlier job left a version, the unit of this job cannot hold it, or a finding says stop and the person
        may not decide on that.
    """
    known = MapVersion.objects.filter(idempotency_key=idempotency_key, job=job).first()
    if known is not None:
        return known
    found = carried_over(job)
    if found is None:
        raise MapRefusedError("No earlier job left a proven version in this car.")
    origin = f"version {found.version.number} of {found.job.code}, this car"
    draft = start_version(
        job=job,
        parent=None,
        reason=f"as it left {found.job.code}, unchanged",
        start=found.version.ignition_map(),
        origin=origin,
        copied_from=found.version,
        entered_in={"vacuum_unit": found.version.vacuum_unit, "boost_unit": found.version.boost_unit},
        idempotency_key=idempotency_key,
        actor=actor,
    )
    release(draft=draft, row_version=draft.row_version, actor=actor, over=f"unchanged from {origin}")
    return draft
