"""The made workshop, filled once for the tests that ask it."""

from collections.abc import Iterator

import pytest
from django.db import transaction

from jobs.learning.group import Group, group_of
from jobs.likeness.like import Likeness
from tests.learning.made_workshop import MadeWorkshop, made_workshop


@pytest.fixture(scope="module")
def made(django_db_setup, django_db_blocker) -> Iterator[MadeWorkshop]:
    """Filled within one transaction that is given up at the end: the next module finds an empty house."""
    with django_db_blocker.unblock():
        held = transaction.atomic()
        held.__enter__()
        try:
            yield made_workshop()
        finally:
            transaction.set_rollback(True)
            held.__exit__(None, None, None)


@pytest.fixture
def alders(db, made) -> Group:
    """The 240 cars with an engine of the family Alder B."""
    return group_of(Likeness(family="alder b"))
