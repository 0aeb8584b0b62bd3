"""Usual answers to an item that is answered in words: one tap in place of typing, and any other can be typed."""

from collections import defaultdict
from collections.abc import Iterable

from garage.vehicles.models import Vehicle
from jobs.checklists.models import ChecklistItem, Entry, ItemKind, JobSheet, Outcome
from jobs.checklists.refusals import FIRING_ORDER
from jobs.job.models import Job

# Orders that in-line engines of so many cylinders usually have. Common practice, no source. Of engines in V there are
# as many orders as ways to number them.
USUAL_ORDERS: dict[int, tuple[str, ...]] = {
    3: ("1-2-3", "1-3-2"),
    4: ("1-3-4-2", "1-2-4-3"),
    6: ("1-5-3-6-2-4", "1-4-2-6-3-5"),
}

# What a workshop buys and how it works: no number of a car, nothing an owner said, nobody's name.
OWN_WORDS = frozenset({"wires", "fuse", "lock-method", "coil-type", "plug-type"})
LOOKED_AT = 60  # sheets, the newest: a page costs the same however many there are
FROM_CUSTOMERS = 2  # words of one customer's cars alone may be about that customer
MOST, LONGEST = 4, 80


def usual_answers(items: Iterable[ChecklistItem], job: Job) -> dict[str, list[str]]:
    """For the keys of `items` what this car may have; none says what its record holds, for that is to be found."""
    in_words = [item for item in items if item.kind == ItemKind.TEXT]
    asked = [item.key for item in in_words if item.key in OWN_WORDS and not item.car_fact]
    found = _own_words(asked, job) if asked else {}
    return found | {item.key: _orders(job.vehicle) for item in in_words if item.car_fact == FIRING_ORDER}


def _orders(vehicle: Vehicle) -> list[str]:
    return list(USUAL_ORDERS.get(vehicle.engine.cylinders or 0, ()))


def _own_words(keys: list[str], job: Job) -> dict[str, list[str]]:
    """What the workshop wrote for `keys` on its other jobs' sheets, the most frequent first, then the newest."""
    newest = JobSheet.objects.exclude(job=job).order_by("-pk").values_list("pk", flat=True)[:LOOKED_AT]
    entries = (
        Entry.objects.filter(sheet__in=list(newest), item__key__in=keys, outcome=Outcome.DONE, successors=None)
        .exclude(text="")
        .order_by("-received_at")
        .values_list("item__key", "text", "sheet__job__vehicle__customer")
    )
    customers: dict[str, dict[str, set[int]]] = defaultdict(lambda: defaultdict(set))
    written: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    spelled: dict[str, str] = {}
    for key, text, customer in entries:
        if len(text) > LONGEST:
            continue
        alike = " ".join(text.casefold().split())
        customers[key][alike].add(customer)
        written[key][alike] += 1
        spelled.setdefault(alike, text)
    return {
        key: [
            spelled[alike]
            for alike, _ in sorted(counts.items(), key=lambda one: -one[1])
            if len(customers[key][alike]) >= FROM_CUSTOMERS
        ][:MOST]
        for key, counts in written.items()
    }
