"""The stages of a job and who answers for each: the roof installs the rooms, this only knows whom to ask."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from django.db.models import prefetch_related_objects
from django.urls import reverse

from jobs.job.models import STAGES, Job, Stage
from jobs.job.progress import StageProgress


@dataclass(frozen=True, slots=True)
class StageRoom:
    """What the room of one stage answers.

    `progress` says what is missing before the car may leave the stage. `prefetch` names what it reads of a job, to be
    fetched for many jobs at once. `page` is the address name of the stage's page.
    """

    progress: Callable[[Job], StageProgress]
    page: str
    prefetch: tuple[str, ...] = ()


# Filled by `install` when Django starts: the ground knows no room, the roof (`jobs.board.stages`) names them all.
_rooms: dict[Stage, StageRoom] = {}

# Whose work a stage is: the desk books, everything after that is found and set at the car.
WORK_OF: dict[Stage, str] = {
    stage: "garage.book_jobs" if stage == Stage.BOOKED else "garage.record_readings" for stage in STAGES
}


def install(rooms: Mapping[Stage, StageRoom]) -> None:
    """Name the room of every stage.

    Raises
    ------
    LookupError
        If a stage has no room.
    """
    unnamed = [stage for stage in STAGES if stage not in rooms]
    if unnamed:
        raise LookupError(f"no room answers for {', '.join(unnamed)}")
    _rooms.update(rooms)


def booking_progress(job: Job) -> StageProgress:
    """A booking is complete once a day is set and the car stands in the yard."""
    missing = []
    if job.booked_for is None:
        missing.append("the day in")
    if job.odometer is None:
        missing.append("the odometer on arrival")
    return StageProgress(
        missing=missing,
        done=2 - len(missing),
        total=2,
        next_label="Complete booking" if missing else "",
        next_url=reverse("board:edit", args=[job.code]) if missing else "",
    )


def prefetch_progress(jobs: Iterable[Job]) -> None:
    """Fetch what the rooms will read of `jobs`, each thing once for all the cars whose stage reads it."""
    readers: dict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        for name in dict.fromkeys(("crossings", *_rooms[Stage(job.stage)].prefetch)):
            readers[name].append(job)
    for name, cars in readers.items():
        prefetch_related_objects(cars, name)


def progress_of(job: Job, stage: Stage) -> StageProgress:
    return _rooms[stage].progress(job)


def stage_url(job: Job, stage: Stage) -> str:
    return reverse(_rooms[stage].page, args=[job.code])


def work_url(job: Job) -> str:
    """The page on which the work of the job's stage goes on; the stage's own page where nothing is left to do."""
    stage = Stage(job.stage)
    return progress_of(job, stage).next_url or stage_url(job, stage)


def is_before(stage: Stage, other: Stage) -> bool:
    return STAGES.index(stage) < STAGES.index(other)


def go_on_url(job: Job) -> str:
    """The address names the stage that is left: sent twice, it takes the car one stage on and not two."""
    return reverse("board:go-on", args=[job.code, job.stage])
