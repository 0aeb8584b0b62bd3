"""The car that is ready to be handed over, and every paper of five cars whose maps are as different as can be."""

import pytest
from django.db import transaction
from django.utils import timezone

from garage.record.actor import Actor
from jobs.documents.models import DocumentKind
from jobs.documents.setting import set_document
from tests.documents.cars import MAPS, facts_of, proven
from tests.factories import StaffFactory, WorkshopFactory
from tests.handover.ready_car import checked, job, second_actor, signed_off, version  # noqa: F401 - fixtures


class Papers:
    """Papers as they were issued by a workshop whose book is gone; each is set once, when it is first asked for."""

    def __init__(self, facts):
        self.facts = facts
        self._made = {}

    def of(self, name, kind):
        if (name, kind) not in self._made:
            self._made[name, kind] = set_document(kind, self.facts[name])
        return self._made[name, kind]


@pytest.fixture(scope="session")
def papers(django_db_setup, django_db_blocker):
    with django_db_blocker.unblock(), transaction.atomic():
        WorkshopFactory(name="Hollow Lane Motors", phone="01632 960111")
        actor = Actor(person=StaffFactory(name="Gwen Sarto"), at=timezone.now())
        facts = {
            name: facts_of(proven(name, actor, registration=f"HLM {place} A", chassis_number=f"A{place}").job)
            for place, name in enumerate(MAPS)
        }
        transaction.set_rollback(True)
    return Papers(facts)


@pytest.fixture(params=DocumentKind, ids=str)
def kind(request):
    return request.param
