"""What begins with a sign-in, by whichever way somebody came in."""

import time
from uuid import uuid4

from django.contrib.auth import login
from django.http import HttpRequest

from garage.people.devices import words_for
from garage.people.fresh_proof import PROVED, note_proof
from garage.people.guessing import address_of
from garage.people.models import Staff
from garage.people.pin import mark_of
from garage.people.second_step import OWED, is_owed_by
from garage.people.sessions import OPENED

BACKEND = "django.contrib.auth.backends.ModelBackend"


def begin(request: HttpRequest, person: Staff) -> None:
    """Sign `person` in here: password, and second factor where there is one, were right."""
    login(request, person, backend=BACKEND)
    # For the same person Django goes on with the session, but it has just risen above a PIN's.
    request.session.pop("by_pin", None)
    request.session.pop(OWED, None)
    if is_owed_by(person):
        request.session[OWED] = True
    request.session.cycle_key()
    note_proof(request)
    _note(request)


def begin_by_pin(request: HttpRequest, person: Staff) -> None:
    """Sign `person` in here by what a PIN opens."""
    login(request, person, backend=BACKEND)
    request.session["by_pin"] = mark_of(person)
    request.session.pop(PROVED, None)
    _note(request)


def _note(request: HttpRequest) -> None:
    request.session[OPENED] = {
        "name": str(uuid4()),
        "since": int(time.time()),
        "device": words_for(request),
        "address": address_of(request),
    }
