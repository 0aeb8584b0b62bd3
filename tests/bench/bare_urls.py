"""The workshop's addresses and one more: a view that writes one row, behind the same middleware. For benchmarks."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import include, path

from garage.people.actor import actor_of
from garage.record import trail
from garage.record.events import Event


def one_row(request: HttpRequest) -> HttpResponse:
    """The least that a view can do which writes the record: who and from where, and one line of the trail."""
    actor = actor_of(request)
    trail.write(Event.NOTED, actor.person, "one row", actor=actor)
    return JsonResponse({"kept": ""})


urlpatterns = [path("bare/", one_row), path("", include("garage.site.urls"))]
