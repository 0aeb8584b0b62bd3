"""The photographs of a booking."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import etag, require_GET

from jobs.booking.models import BookingPhotograph
from jobs.checklists import stored
from jobs.checklists.serving import photograph_answer


def _hash(request: HttpRequest, pk: UUID) -> str | None:
    found = BookingPhotograph.objects.filter(pk=pk).values_list("sha256", flat=True).first()
    return f'"{found}"' if found else None


@require_GET
@etag(_hash)
def photograph(request: HttpRequest, pk: UUID) -> HttpResponse:
    return photograph_answer(request, get_object_or_404(BookingPhotograph, pk=pk), stored.stored_photograph)


@require_GET
@etag(_hash)
def photograph_small(request: HttpRequest, pk: UUID) -> HttpResponse:
    return photograph_answer(request, get_object_or_404(BookingPhotograph, pk=pk), stored.stored_thumbnail)
