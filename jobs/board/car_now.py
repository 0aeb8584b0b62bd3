"""How a car stands now, told to its page: the last job and what it waits for, the unit, the map in the car."""

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format

from garage.vehicles.car_now import CarNow, Told
from garage.vehicles.models import Vehicle
from jobs.job import stages
from jobs.job.models import Job, JobState, Stage
from jobs.job.pages import next_action
from jobs.maps import queries as maps


def car_now(vehicle: Vehicle) -> CarNow:
    """From the newest job; the map is that of the newest job whose version is proven in the car."""
    jobs = list(Job.objects.with_car().filter(vehicle=vehicle).order_by("-made_at", "-pk"))
    if not jobs:
        return CarNow()
    last = jobs[0]
    stages.prefetch_progress([last])
    return CarNow(
        last_job=Told(last.code, _state_of(last), reverse("board:job", args=[last.code])),
        next_action=_next_of(last),
        unit=_unit_in(vehicle),
        map=next((told for job in jobs if (told := _map_of(job)).text), Told()),
    )


def _state_of(job: Job) -> str:
    if job.state == JobState.OPEN:
        return job.get_stage_display()
    return f"{job.get_stage_display()}, {job.get_state_display()}: {job.state_reason}"


def _next_of(job: Job) -> Told:
    stage = Stage(job.stage)
    action = next_action(job, stages.progress_of(job, stage))
    if action is None:
        return Told()
    # A car's page only shows: what would change the record is done on the job's own page.
    return Told(action["label"], url=stages.stage_url(job, stage) if action.get("method") == "post" else action["url"])


def _unit_in(vehicle: Vehicle) -> Told:
    unit = vehicle.units.filter(removed_at=None).select_related("revision__unit_type").last()
    if unit is None:
        return Told()
    return Told(str(unit.revision.unit_type), f"no. {unit.serial_number}", reverse("units:fitted", args=[unit.pk]))


def _map_of(job: Job) -> Told:
    now = maps.in_car(job)
    if now.version is None or now.proof is None:
        return Told()
    at = date_format(timezone.localtime(now.proof.made_at), "j M Y")
    doubt = "; in doubt: a later read-back did not agree" if now.doubt else ""
    url = reverse("bench:version", args=[job.code, now.version.number])
    return Told(str(now.version), f"{now.source}, {at}{doubt}", url)
