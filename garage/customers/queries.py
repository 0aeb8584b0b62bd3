"""Finding a customer by what somebody types of them."""

from garage.customers.models import Customer
from garage.finding.index import best_first
from garage.finding.words import Asked, fold, holds


def customers_named(typed: str, *, most: int) -> list[Customer]:
    """The customers whose name, phone or address holds every word of `typed`, the best first."""
    keys = [int(thing) for _, thing in best_first("customers", Asked.of(typed), most=most)]
    known = Customer.objects.filter(forgotten_at=None).in_bulk(keys)
    return [known[key] for key in keys if key in known]


def is_named(customer: Customer, typed: str) -> bool:
    """Whether `typed` is a part of what `customer` is called, or of their phone."""
    said = f"{fold(customer.name)}{fold(customer.phone)}{fold(customer.phone).replace(' ', '')} "
    return all(holds(said, word) for word in Asked.of(typed).words)
