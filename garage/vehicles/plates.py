"""The cars that bear a plate."""

from django.db.models import QuerySet

from garage.lists.numbers import bare, without_separators
from garage.vehicles.models import Vehicle


def cars_with_plate(typed: str) -> QuerySet[Vehicle]:
    """The cars whose plate reads like what was typed, however it was typed."""
    cars = Vehicle.objects.select_related("customer")
    return cars.alias(bare_plate=without_separators("registration")).filter(bare_plate=bare(typed))
