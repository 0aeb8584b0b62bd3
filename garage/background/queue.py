"""Work put in once, taken again after a failure or a dead worker, and forgotten in the end.

django-tasks keeps the rows and runs them. What it leaves to others stands here: a row of its own for each key, the
second try, and the tasks of a worker that is no more.
"""

from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models.functions import Now
from django.utils import timezone
from django_tasks.base import Task, TaskResultStatus
from django_tasks_db.models import DBTaskResult

from garage.background.identity import id_for, its_id
from garage.background.models import BackgroundWorker

# Before the second try, the third, and so on: a disk may come back, a network, a server that was being restarted.
PAUSES = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 20, 60, 180))
TRIES = len(PAUSES) + 1
KEPT_FOR = timedelta(days=30)
LEFT_BEHIND = "garage.background.queue.WorkerEnded: The worker ended in the middle of it."


def put_in(task: Task[Any, Any], key: str, **arguments: Any) -> bool:
    """Put in `task` to be done once for `key`, in the transaction that is open; whether it was not there before.

    A key is forgotten `KEPT_FOR` after its task has ended.
    """
    wanted = id_for(task.module_path, key)
    if DBTaskResult.objects.filter(pk=wanted).exists():
        return False
    try:
        with its_id(wanted), transaction.atomic():
            task.enqueue(**arguments)
    except IntegrityError:  # another machine was quicker
        return False
    return True


def tries_of(row: DBTaskResult) -> int:
    """How often it was begun: the library notes the worker of each try."""
    return len(row.worker_ids)


def take_back_from_the_dead() -> int:
    """What silent workers had in hand waits again, or has failed where it was tried often enough; how many.

    A task that ends its worker each time must not go round for ever.
    """
    silence = timedelta(seconds=settings.BACKGROUND_SILENCE)
    taken = 0
    running = list(DBTaskResult.objects.running())
    # Asked after: a worker says that it lives before it takes anything.
    living = set(BackgroundWorker.objects.filter(heard_at__gte=Now() - silence).values_list("pk", flat=True))
    for row in running:
        if row.worker_ids[-1] in living:
            continue
        # Only as it was found: somebody else may have taken it back, or its worker ended it after all.
        found = DBTaskResult.objects.filter(
            pk=row.pk, status=TaskResultStatus.RUNNING, started_at=row.started_at, worker_ids=row.worker_ids
        )
        taken += found.update(
            status=TaskResultStatus.FAILED,
            finished_at=timezone.now(),
            exception_class_path=LEFT_BEHIND.partition(":")[0],
            traceback=LEFT_BEHIND,
        )
    return taken


def put_off_what_failed() -> int:
    """What failed waits again, each time for longer, until it was tried `TRIES` times; how many."""
    put_off = 0
    for row in DBTaskResult.objects.failed():
        tries = tries_of(row)
        if 0 < tries < TRIES and row.finished_at is not None:
            pause = timedelta(0) if row.traceback == LEFT_BEHIND else PAUSES[tries - 1]
            found = DBTaskResult.objects.filter(pk=row.pk, status=TaskResultStatus.FAILED, finished_at=row.finished_at)
            put_off += found.update(
                status=TaskResultStatus.READY, run_after=row.finished_at + pause, started_at=None, finished_at=None
            )
    return put_off


def forget_old() -> None:
    """Take away what ended long ago, and the workers nobody has heard of since."""
    before = timezone.now() - KEPT_FOR
    DBTaskResult.objects.finished().filter(finished_at__lt=before).delete()
    BackgroundWorker.objects.filter(heard_at__lt=before).delete()
