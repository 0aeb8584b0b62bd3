"""Cars that went home with a map that was proven in them."""

from django.utils import timezone

from garage.record.actor import Actor
from jobs.models import GateCrossing, Job
from tests.jobs_factories import proven_version


def leave(job: Job, actor: Actor, *, at=None) -> None:
    """The car goes home."""
    Job.objects.filter(pk=job.pk).update(stage="after-care")
    GateCrossing.objects.create(
        job=job, left="handover", entered="after-care", by=actor.person, at=at or timezone.now()
    )


def home(actor: Actor, **kwargs):
    """A version proven in a car that went home with it."""
    version = proven_version(actor, **kwargs)
    leave(version.job, actor)
    return version
