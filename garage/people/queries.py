"""The workshop and its limits of practice."""

from garage.people.models import Workshop


def the_workshop() -> Workshop:
    """The workshop; before it is set up, one that is not stored, with the usual limits."""
    return Workshop.objects.first() or Workshop()
