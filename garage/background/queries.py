"""What waits, runs and failed, in the words of the owner's page."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db.models.functions import Now
from django.utils.module_loading import import_string
from django_tasks.base import Task, TaskResultStatus
from django_tasks_db.models import DBTaskResult

from garage.background.models import BackgroundWorker
from garage.background.queue import tries_of

SHOWN = 50
# Whose words are sentences for people. Anything else that breaks is named in the log alone.
SPEAKS_TO_PEOPLE = ("garage.", "jobs.", "django.core.management.base.CommandError")


@dataclass(frozen=True, slots=True)
class TaskLine:
    """One task as the page shows it. `sentence` is what came of it, empty while nothing has."""

    id: UUID
    label: str
    put_in_at: datetime
    began_at: datetime | None
    ended_at: datetime | None
    due_at: datetime | None
    tries: int
    sentence: str


@dataclass(frozen=True, slots=True)
class Work:
    waiting: list[TaskLine]
    running: list[TaskLine]
    failed: list[TaskLine]
    done: list[TaskLine]


def work() -> Work:
    def entries(status: TaskResultStatus) -> list[TaskLine]:
        rows = DBTaskResult.objects.filter(status=status).order_by("-finished_at", "-enqueued_at")
        return [_line(row) for row in rows[:SHOWN]]

    return Work(
        waiting=entries(TaskResultStatus.READY),
        running=entries(TaskResultStatus.RUNNING),
        failed=entries(TaskResultStatus.FAILED),
        done=entries(TaskResultStatus.SUCCESSFUL),
    )


def counts() -> dict[str, int]:
    """How many tasks wait, run and failed."""
    rows = DBTaskResult.objects
    return {
        "waiting": rows.filter(status=TaskResultStatus.READY).count(),
        "running": rows.running().count(),
        "failed": rows.failed().count(),
    }


def somebody_works() -> bool:
    """Whether any worker was heard of lately."""
    silence = timedelta(seconds=settings.BACKGROUND_SILENCE)
    return BackgroundWorker.objects.filter(heard_at__gte=Now() - silence).exists()


def label_of(task_path: str) -> str:
    """The first line of the task's docstring: what the owner calls it."""
    try:
        task = import_string(task_path)
    except ImportError:  # put in by another release
        return task_path.rpartition(".")[2].replace("_", " ").capitalize()
    said = task.func.__doc__ if isinstance(task, Task) else None
    return (said or task_path).strip().splitlines()[0].rstrip(".")


def sentence_of(row: DBTaskResult) -> str:
    """What came of the last try."""
    if row.status == TaskResultStatus.SUCCESSFUL:
        return str(row.return_value or "")
    if not row.traceback:
        return ""
    if not row.exception_class_path.startswith(SPEAKS_TO_PEOPLE):
        return "Something broke. The log names it."
    last = row.traceback.strip().rpartition(f"{row.exception_class_path}: ")[2]
    return last.strip().splitlines()[0]


def _line(row: DBTaskResult) -> TaskLine:
    # The library writes the last day of the calendar for 'at once'.
    due = row.run_after if row.run_after.year < 9999 else None
    return TaskLine(
        id=row.pk,
        label=label_of(row.task_path),
        put_in_at=row.enqueued_at,
        began_at=row.started_at,
        ended_at=row.finished_at,
        due_at=due,
        tries=tries_of(row),
        sentence=sentence_of(row),
    )
