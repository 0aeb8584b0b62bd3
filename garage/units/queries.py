"""What the pages of the units ask."""

from django.db.models import Count, Prefetch, QuerySet
from django.http import Http404

from garage.units.models import FittedUnit, UnitType, UnitTypeRevision


def unit_types() -> QuerySet[UnitType]:
    """Every unit type with its newest description first, and how many of it there are."""
    revisions = UnitTypeRevision.objects.select_related("made_by").annotate(count=Count("units")).order_by("-number")
    return UnitType.objects.prefetch_related(Prefetch("revisions", revisions)).order_by("retired", "name")


def unit_type(pk: int) -> UnitType:
    try:
        return unit_types().get(pk=pk)
    except UnitType.DoesNotExist:
        raise Http404 from None


def units() -> QuerySet[FittedUnit]:
    return FittedUnit.objects.select_related("revision__unit_type", "vehicle__customer")


def unit(pk: int) -> FittedUnit:
    try:
        return units().get(pk=pk)
    except FittedUnit.DoesNotExist:
        raise Http404 from None


def newest_revision(unit_type: UnitType) -> UnitTypeRevision:
    revision = unit_type.revisions.order_by("-number").first()
    if revision is None:  # a unit type is made with its first description
        raise Http404
    return revision


def on_the_shelf() -> QuerySet[FittedUnit]:
    """Units that are in no car and were never taken out of one."""
    return FittedUnit.objects.filter(removed_at=None, vehicle=None).select_related("revision__unit_type")
