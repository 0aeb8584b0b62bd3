"""One act of a colleague beside whoever is signed in, who stays so: by the PIN typed on the page."""

from django.http import HttpRequest

from garage.people.actor import actor_of
from garage.people.forms import ColleagueForm
from garage.people.pin import PinRefusedError, actor_by_pin
from garage.record.actor import Actor


def actor_beside(request: HttpRequest, permission: str) -> Actor:
    """The colleague whose PIN was sent with the form; whoever is signed in, where no PIN was asked for.

    Raises
    ------
    PinRefusedError
        If the PIN is wrong, or was tried too often.
    """
    actor = actor_of(request)
    if "pin" not in request.POST:
        return actor
    form = ColleagueForm(request.POST, beside=actor.person, permission=permission)
    if not form.is_valid():
        raise PinRefusedError(str(next(iter(form.errors.values()))[0]))
    return actor_by_pin(form.cleaned_data["person"], form.cleaned_data["pin"], typed_by=actor)
