"""Usual answers to an item that is answered in words: one tap in place of typing, and any other can be typed."""

from garage.vehicles.models import Vehicle
from jobs.checklists.models import ChecklistItem
from jobs.checklists.refusals import FIRING_ORDER

# Orders that in-line engines of so many cylinders usually have. Common practice, no source. Of engines in V there are
# as many orders as ways to number them.
USUAL_ORDERS: dict[int, tuple[str, ...]] = {
    3: ("1-2-3", "1-3-2"),
    4: ("1-3-4-2", "1-2-4-3"),
    6: ("1-5-3-6-2-4", "1-4-2-6-3-5"),
}


def usual_answers(item: ChecklistItem, vehicle: Vehicle) -> list[str]:
    """Those that this car may have; none says what its record holds, for the item is there to be found."""
    if item.car_fact != FIRING_ORDER:
        return []
    return list(USUAL_ORDERS.get(vehicle.engine.cylinders or 0, ()))
