"""The learned page, and the cars behind each of its figures. Everybody reads; hours are for whoever keeps the costs."""

from collections.abc import Callable, Iterable
from typing import Any

from django.db.models import Count
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from garage.people.models import Staff
from garage.quantities.words import pressure
from garage.vehicles.models import Engine
from jobs.learning import pictures
from jobs.learning.behind import Behind, find
from jobs.learning.forms import LikenessForm
from jobs.learning.group import Group, group_of
from jobs.learning.hours import hours_by_stage
from jobs.learning.maps_that_stayed import CRUISE_RPM, maps_that_stayed
from jobs.learning.returns import returns
from jobs.learning.road_changes import road_changes
from jobs.learning.starts import starts
from jobs.learning.unit_failures import unit_failures
from jobs.learning.words import how_sure
from jobs.likeness.stayed import MOST_CARS, MOST_HANDOVERS, counts_all

Figures = Callable[[Group, float], Iterable[Behind]]

# Which part of the page a figure's key belongs to, by how it begins.
PARTS: dict[str, Figures] = {
    **dict.fromkeys(("speed", "set"), lambda group, kpa: maps_that_stayed(group, vacuum_kpa=kpa).figures()),
    **dict.fromkeys(("less", "more", "noted"), lambda group, kpa: road_changes(group, vacuum_kpa=kpa).figures()),
    "start": lambda group, kpa: starts(group).figures(),
    "back": lambda group, kpa: returns(group, now=timezone.now()).figures(),
    **dict.fromkeys(("units", "replaced", "doubted"), lambda group, kpa: unit_failures(group).figures()),
    "hours": lambda group, kpa: hours_by_stage(group).figures(),
}
NEEDS_COSTS = {"hours"}
MOST_FAMILIES = 30


@require_safe
@gzip_page
def page(request: HttpRequest) -> HttpResponse:
    user = _person(request)
    form = LikenessForm(request.GET or None, vacuum_unit=user.vacuum_unit)
    context: dict[str, Any] = {"form": form, "query": request.GET.urlencode(), "families": _families()}
    if not form.is_bound or form.is_valid():
        group, kpa = group_of(form.likeness()), form.vacuum()
        context |= {
            "group": group,
            "asked": group.like.words(),
            "counts_all": counts_all(group.handovers),
            "most_cars": MOST_CARS,
            "most_handovers": MOST_HANDOVERS,
            **_of_the_engine(group, kpa, user.vacuum_unit),
            **_of_the_work(group, user),
        }
    return render(request, "jobs/learning/page.html", context)


@require_safe
@gzip_page
def cars(request: HttpRequest, key: str) -> HttpResponse:
    """The cars behind one figure of the page, which is asked for as the page was."""
    user = _person(request)
    part = key.partition("-")[0]
    if part not in PARTS or (part in NEEDS_COSTS and not user.has_perm("garage.keep_costs")):
        raise Http404
    form = LikenessForm(request.GET or None, vacuum_unit=user.vacuum_unit)
    if form.is_bound and not form.is_valid():
        raise Http404
    group = group_of(form.likeness())
    behind = find(PARTS[part](group, form.vacuum()), key)
    if behind is None:
        raise Http404
    context = {"behind": behind, "asked": group.like.words(), "query": request.GET.urlencode()}
    return render(request, "jobs/learning/cars.html", context)


def _of_the_engine(group: Group, vacuum_kpa: float, pressure_unit: str) -> dict[str, Any]:
    """What only like engines have in common: the maps, and what was changed in them."""
    if not group.like.asks_for_an_engine:
        return {}
    maps, changes = maps_that_stayed(group, vacuum_kpa=vacuum_kpa), road_changes(group, vacuum_kpa=vacuum_kpa)
    return {
        "maps": maps,
        "maps_how_sure": how_sure(maps.count),
        "map_pictures": pictures.map_pictures(maps, pressure_unit=pressure_unit),
        "vacuum_rows": [
            (pressure(kpa, pressure_unit), low, middle, high) for kpa, low, middle, high in maps.over_vacuum.rows()
        ],
        "vacuum_text": pressure(vacuum_kpa, pressure_unit),
        "cruise_rpm": CRUISE_RPM,
        "changes": changes,
        "changes_how_sure": how_sure(changes.cars),
        "change_picture": pictures.change_picture(changes),
    }


def _of_the_work(group: Group, user: Staff) -> dict[str, Any]:
    """What holds for any engine: starts, returns, units, and hours for whoever may see them."""
    began, back, units = starts(group), returns(group, now=timezone.now()), unit_failures(group)
    context: dict[str, Any] = {
        "starts": began,
        "start_picture": pictures.start_picture(began),
        "returns": back,
        "return_picture": pictures.return_picture(back),
        "units": units,
        "unit_picture": pictures.unit_picture(units),
    }
    if user.has_perm("garage.keep_costs"):
        hours = hours_by_stage(group)
        context |= {"hours": hours, "hours_picture": pictures.hours_picture(hours)}
    return context


def _families() -> list[tuple[str, int]]:
    """The engine families of the cars that were handed over, the most frequent first."""
    cars = [one.vehicle_id for one in group_of(LikenessForm(None, vacuum_unit="kPa").likeness()).cars]
    found = Engine.objects.filter(vehicle_id__in=cars).exclude(family="").values_list("family")
    return list(found.annotate(count=Count("pk")).order_by("-count", "family")[:MOST_FAMILIES])


def _person(request: HttpRequest) -> Staff:
    assert isinstance(request.user, Staff)  # noqa: S101 - the middleware asks everybody to sign in
    return request.user
