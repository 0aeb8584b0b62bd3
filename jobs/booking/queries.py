"""The photographs of a booking, as the pages show them."""

from typing import Any

from django.urls import reverse
from django.utils import timezone

from jobs.booking.models import BookingPhotograph
from jobs.job.models import Job


def photographs_at_booking(job: Job) -> list[BookingPhotograph]:
    """Those that are still there, oldest first."""
    return list(BookingPhotograph.objects.filter(job=job).exclude(file=""))


def shown(photographs: list[BookingPhotograph]) -> list[dict[str, Any]]:
    """As `jobs/checklists/_photographs.html` takes them."""
    return [
        {
            "url": reverse("booking:photograph", args=[one.pk]),
            "small": reverse("booking:photograph-small", args=[one.pk]),
            "words": f"Photograph at booking, {timezone.localtime(one.made_at):%d %b %Y, %H:%M}",
        }
        for one in photographs
    ]
