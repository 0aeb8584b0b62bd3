"""What the owner may do about work in the background."""

from uuid import UUID

from django.db import transaction
from django.utils import timezone
from django_tasks.base import TaskResultStatus
from django_tasks_db.models import DBTaskResult

from garage.background.queries import label_of
from garage.people.queries import get_workshop
from garage.record import trail
from garage.record.actor import Actor
from garage.record.events import Event


@transaction.atomic
def try_again(*, task_id: UUID, actor: Actor) -> None:
    """Let a task that failed for good be tried from the beginning. Nothing for one that waits or runs already."""
    failed = DBTaskResult.objects.filter(pk=task_id, status=TaskResultStatus.FAILED)
    row = failed.first()
    if row is None:
        return
    put_back = failed.update(
        status=TaskResultStatus.READY,
        run_after=timezone.now(),
        started_at=None,
        finished_at=None,
        worker_ids=[],
        exception_class_path="",
        traceback="",
    )
    if put_back:
        sentence = f"{label_of(row.task_path)}: tried again"
        trail.write(Event.TASK_TRIED_AGAIN, get_workshop(), sentence, actor=actor)
