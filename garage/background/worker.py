"""A worker: takes what is ready, says that it lives meanwhile, and looks after what others left behind."""

import logging
import os
import socket
import threading
import time
import uuid
from collections.abc import Callable

from django.conf import settings
from django.db import DatabaseError, close_old_connections, connection
from django.db.models.functions import Now
from django.utils import timezone
from django_tasks.base import TaskResultStatus
from django_tasks_db.management.commands.db_worker import Worker
from django_tasks_db.models import DBTaskResult

from garage.background import queue, schedule
from garage.background.models import BackgroundWorker
from garage.background.queries import label_of, sentence_of

Say = Callable[[str], None]
LOOKS_EVERY = 2.0  # [seconds] for something that is ready
FORGETS_EVERY = 60 * 60  # [seconds]

log = logging.getLogger(__name__)


class SpokenWorker(Worker):
    """The library's worker, which says on the console what came of each task."""

    def __init__(self, say: Say, *, until_empty: bool) -> None:
        super().__init__(
            queue_names=["*"],
            interval=LOOKS_EVERY,
            batch=until_empty,
            backend_name="default",
            startup_delay=False,
            max_tasks=None,
            worker_id=f"{os.getpid()}-{uuid.uuid4().hex}",
            excluded_queue_names=[],
        )
        self._say = say

    def run_task(self, db_task_result: DBTaskResult) -> None:
        super().run_task(db_task_result)
        label = label_of(db_task_result.task_path)
        if db_task_result.status == TaskResultStatus.SUCCESSFUL:
            self._say(f"{label}: {db_task_result.return_value or 'done.'}")
        else:
            tries = queue.tries_of(db_task_result)
            self._say(f"{label} failed, try {tries} of {queue.TRIES}: {sentence_of(db_task_result)}")
            log.error("Task %s failed: %s", db_task_result.task_path, db_task_result.exception_class_path)


def work(say: Say, *, until_empty: bool = False) -> None:
    """Work until told to end by a signal; with `until_empty`, until nothing is ready."""
    worker = SpokenWorker(say, until_empty=until_empty)
    _say_that_it_lives(worker.worker_id)
    _tend()
    threading.Thread(target=_tend_for_ever, args=[worker.worker_id], daemon=True).start()
    worker.configure_signals()
    worker.run()


def _tend_for_ever(worker_id: str) -> None:
    """Beside the work, whatever it is busy with, on a database connection of its own."""
    forgot_at = 0.0
    while True:
        try:
            _say_that_it_lives(worker_id)
            _tend()
            if time.monotonic() - forgot_at > FORGETS_EVERY or not forgot_at:
                queue.forget_old()
                forgot_at = time.monotonic()
        except DatabaseError as problem:
            # It comes back, or the worker itself ends over it and is started again.
            log.warning("The background worker could not look after its tasks: %s", type(problem).__name__)
            connection.close()
        except Exception:
            # One schedule that breaks must not make this worker look dead to the others.
            log.exception("The background worker could not look after its tasks")
        close_old_connections()
        time.sleep(min(LOOKS_EVERY, settings.BACKGROUND_SILENCE / 4))


def _say_that_it_lives(worker_id: str) -> None:
    heard = BackgroundWorker.objects.filter(pk=worker_id).update(heard_at=Now())
    if not heard:
        BackgroundWorker.objects.create(pk=worker_id, machine=socket.gethostname())


def _tend() -> None:
    queue.take_back_from_the_dead()
    queue.put_off_what_failed()
    schedule.put_in_what_is_due(timezone.now())
