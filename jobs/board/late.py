"""Which car is late: promised for a day that is over, or expected on one and not here yet."""

from datetime import date

from django.db.models import Case, F, Q, QuerySet, When
from django.utils.formats import date_format

from jobs.job.models import Job, JobState, Stage


def late_jobs(today: date) -> QuerySet[Job]:
    """Every car that is late, wherever it stands, with the `day` since which it is. What is on hold is not late."""
    promised = Q(promised_for__lt=today)
    expected = Q(stage=Stage.BOOKED, booked_for__lt=today)
    # Named one by one, so that an index finds them among all that were ever handed over.
    here_or_coming = [stage for stage in Stage if stage != Stage.AFTER_CARE]
    late = Job.objects.filter(promised | expected, state=JobState.OPEN, stage__in=here_or_coming)
    return late.annotate(day=Case(When(promised, then=F("promised_for")), default=F("booked_for")))


def late_since(job: Job, today: date) -> str:
    """Since when a car is late, in words: 'late: promised Wed 25 Nov'; nothing where it is not, or is on hold."""
    if job.state != JobState.OPEN or job.stage == Stage.AFTER_CARE:
        return ""
    if job.promised_for and job.promised_for < today:
        return f"late: promised {date_format(job.promised_for, 'D j M')}"
    if job.stage == Stage.BOOKED and job.booked_for and job.booked_for < today:
        return f"late: expected {date_format(job.booked_for, 'D j M')}"
    return ""
