"""What each stage still wants before the car may leave it. The stages' rooms answer; this only knows whom to ask."""

from collections import defaultdict
from collections.abc import Callable, Iterable

from django.db.models import prefetch_related_objects
from django.urls import reverse

from jobs.card.models import STAGES, Job, Stage
from jobs.card.progress import StageProgress
from jobs.fitting import queries as fitting
from jobs.handover import queries as handover
from jobs.inspection import queries as inspection
from jobs.maps import queries as maps
from jobs.roadtest import queries as roadtest
from jobs.strobe import queries as strobe


def booking_progress(job: Job) -> StageProgress:
    """A booking is complete once a day is set and the car stands in the yard."""
    missing = []
    if job.booked_for is None:
        missing.append("the day the car comes in")
    if job.odometer is None:
        missing.append("the odometer on arrival")
    return StageProgress(
        missing=missing,
        done=2 - len(missing),
        total=2,
        next_label="Complete the booking" if missing else "",
        next_url=reverse("card:edit", args=[job.code]) if missing else "",
    )


PROGRESS_OF: dict[Stage, Callable[[Job], StageProgress]] = {
    Stage.BOOKED: booking_progress,
    Stage.INSPECTION: inspection.progress,
    Stage.FITTING: fitting.progress,
    Stage.BASE_TIMING: strobe.progress,
    Stage.MAP: maps.progress,
    Stage.ROAD_TEST: roadtest.progress,
    Stage.HANDOVER: handover.progress,
    Stage.AFTER_CARE: handover.after_care_progress,
}

# What the rooms read for it, to be gathered for many jobs at once.
GATHERED_FOR: dict[Stage, tuple[str, ...]] = {
    Stage.BOOKED: (),
    Stage.INSPECTION: (*inspection.GATHERED, *fitting.GATHERED),
    Stage.FITTING: fitting.GATHERED,
    Stage.BASE_TIMING: strobe.GATHERED,
    Stage.MAP: maps.GATHERED,
    Stage.ROAD_TEST: roadtest.GATHERED,
    Stage.HANDOVER: handover.GATHERED,
    Stage.AFTER_CARE: handover.GATHERED_AFTERWARDS,
}

# Every stage's page by its name. The booking's page is the card itself.
PAGE_OF: dict[Stage, str] = {
    Stage.BOOKED: "card:job",
    Stage.INSPECTION: "inspection:page",
    Stage.FITTING: "fitting:page",
    Stage.BASE_TIMING: "strobe:page",
    Stage.MAP: "maps:page",
    Stage.ROAD_TEST: "roadtest:page",
    Stage.HANDOVER: "handover:page",
    Stage.AFTER_CARE: "handover:after-care",
}


# Whose work a stage is: the desk books, everything after that is found and set at the car.
WORK_OF: dict[Stage, str] = {
    stage: "garage.book_jobs" if stage == Stage.BOOKED else "garage.record_readings" for stage in STAGES
}


def gather(jobs: Iterable[Job]) -> None:
    """Ask for what the rooms will read of `jobs`, each thing once for all the cars it is wanted of."""
    wanted_of: dict[str, list[Job]] = defaultdict(list)
    for job in jobs:
        for name in dict.fromkeys(("crossings", *GATHERED_FOR[Stage(job.stage)])):
            wanted_of[name].append(job)
    for name, cars in wanted_of.items():
        prefetch_related_objects(cars, name)


def progress_of(job: Job, stage: Stage) -> StageProgress:
    return PROGRESS_OF[stage](job)


def stage_url(job: Job, stage: Stage) -> str:
    return reverse(PAGE_OF[stage], args=[job.code])


def is_before(stage: Stage, other: Stage) -> bool:
    return STAGES.index(stage) < STAGES.index(other)


def go_on_url(job: Job) -> str:
    """The address names the stage that is left: sent twice, it takes the car one stage on and not two."""
    return reverse("card:go-on", args=[job.code, job.stage])
