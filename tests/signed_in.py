"""A client signed in as somebody, just now and by the password, without the pages in between."""

import time

from django.test import Client

from garage.people.fresh_proof import PROVED
from garage.people.models import Staff


def client_of(person: Staff) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    session = client.session
    session[PROVED] = int(time.time())
    session.save()
    return client
