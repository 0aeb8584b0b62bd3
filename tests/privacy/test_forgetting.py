"""A customer who is forgotten is in no table and no file any more, and the car's figures are all there."""

import uuid
from datetime import date

import pytest
from django.core.files.storage import default_storage
from django.db import connection
from django.utils import timezone

from garage.backup.checks import problems_of_the_book
from garage.files.issued import PaperErasedError
from garage.record.models import TrailEntry
from jobs.documents.queries import stored_bytes
from jobs.models import CostLine, Erasure, FileToRemove, MapVersion, Photograph, ReadBack
from jobs.privacy.actions import ErasingRefusedError, erase_what_is_due, forget
from tests.factories import CustomerFactory, JobFactory
from tests.privacy.conftest import NAME, PHONE, PLATE

TRACES = ("quillon", "abernethy", "960777", "960111", "tollgate")


@pytest.fixture
def forgotten(job, customer, actor, django_capture_on_commit_callbacks):
    """`forgotten()`: the erasing done, with the choices of the owner."""

    def done(**chosen):
        asked = {
            "customer": customer, "reason": "Quillon Abernethy asked for it by letter", "photographs": [],
            "plates": False, "words": [], "idempotency_key": uuid.uuid4(), "actor": actor,
        }  # fmt: skip
        with django_capture_on_commit_callbacks(execute=True):
            return forget(**asked | chosen)

    return done


def traces(*words):
    """Where in the whole database, whatever the table or column, and in the files, one of `words` stands."""
    found = []
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f'SELECT * FROM "{table}"')
            for row in cursor.fetchall():
                text = " ".join(map(str, row)).casefold()
                found += [(table, word) for word in words if word in text]
    for folder in ("documents", "photographs"):
        for name in default_storage.listdir(folder)[1] if default_storage.exists(folder) else []:
            with default_storage.open(f"{folder}/{name}") as opened:
                content = opened.read().decode("latin-1").casefold()
            found += [(name, word) for word in words if word in content]
    return found


def every_photograph():
    return list(Photograph.objects.values_list("pk", flat=True))


def test_the_test_finds_the_person_while_they_are_there(job):
    tables = {place for place, _ in traces(*TRACES)}
    assert len(tables) >= 10


def test_afterwards_the_name_is_in_no_table_and_no_file(forgotten, settings):
    forgotten(photographs=every_photograph())
    assert {place for place, _ in traces(*TRACES)} <= {"jobs_costline"}  # named as kept by law


def test_what_was_measured_and_set_stays_as_it_was(forgotten, job):
    figures = ("base_deg", "curve", "content_hash", "released_at", "rev_limit_rpm")
    before = list(MapVersion.objects.values(*figures)), list(ReadBack.objects.values())
    forgotten()
    assert (list(MapVersion.objects.values(*figures)), list(ReadBack.objects.values())) == before
    assert all(version.is_sound() for version in MapVersion.objects.exclude(released_at=None))
    paper = job.documents.get()
    assert paper.made_from["map"] == {"number": 1, "base_deg": 8.0}
    assert problems_of_the_book() == []


def test_a_paper_that_named_the_person_leaves_its_kind_number_and_hash(forgotten, job):
    before = job.documents.get()
    forgotten()
    paper = job.documents.get()
    assert (paper.kind, paper.number, paper.sha256) == (before.kind, before.number, before.sha256)
    assert not default_storage.exists(before.file.name)
    with pytest.raises(PaperErasedError, match=r"no\. 1 was erased with its customer"):
        stored_bytes(paper)


def test_photographs_go_as_chosen(forgotten, job):
    kept = forgotten()
    assert "photographs" not in kept.gone
    assert Photograph.objects.get().file


def test_the_plate_stays_or_goes_as_chosen(forgotten, job):
    forgotten(plates=True)
    job.vehicle.refresh_from_db()
    assert (job.vehicle.registration, job.vehicle.chassis_number) == ("erased", "")
    assert traces(PLATE.casefold(), "ch0042") == []


def test_links_are_withdrawn(forgotten, job):
    forgotten()
    assert job.customer_links.get().revoked_at


def test_what_is_kept_says_the_kind_the_person_who_did_it_and_why_and_not_what_it_was(forgotten, owner):
    made = forgotten(photographs=every_photograph())
    line = TrailEntry.objects.get(event="customer-erased")
    assert (made.by, line.by) == (owner, owner)
    assert made.gone["papers"] == 1
    assert made.gone["photographs"] == 1
    assert "1 papers" in line.sentence
    assert made.reason == "[erased] asked for it by letter"


def test_hours_and_parts_are_kept_until_their_day_and_go_then(forgotten, workshop, actor):
    made = forgotten(photographs=every_photograph())
    until = date.fromisoformat(made.kept[0]["until"])
    assert until == date(timezone.now().year + 6, 12, 31)
    assert erase_what_is_due(today=until, actor=actor) == 0
    assert CostLine.objects.get().description == "Cap for Abernethy"
    assert erase_what_is_due(today=date(until.year + 1, 1, 1), actor=actor) == 1
    assert CostLine.objects.get().description == "[erased]"
    assert traces(*TRACES[:2]) == []


def test_where_nothing_is_kept_by_law_nothing_stays(forgotten, workshop):
    type(workshop).objects.update(keep_bills_years=0)
    made = forgotten(photographs=every_photograph())
    assert made.kept[0]["until"] == f"{timezone.now().year}-12-31"


def test_another_customer_of_the_same_name_stays(forgotten, actor):
    namesake = CustomerFactory(name=NAME)
    other = JobFactory(vehicle__customer=namesake, wanted=f"{NAME} collects it")
    forgotten()
    namesake.refresh_from_db()
    other.refresh_from_db()
    assert (namesake.name, other.wanted) == (NAME, f"{NAME} collects it")


def test_a_word_that_the_owner_adds_goes_everywhere(forgotten, actor):
    elsewhere = JobFactory(complaint="as on Quill's saloon")
    forgotten(words=["Quill's"])
    elsewhere.refresh_from_db()
    assert elsewhere.complaint == "as on [erased] saloon"


def test_other_peoples_texts_are_left_alone(forgotten, actor):
    elsewhere = JobFactory(complaint="misfires when hot, rang twice", wanted="start hot")
    forgotten()
    elsewhere.refresh_from_db()
    assert (elsewhere.complaint, elsewhere.wanted) == ("misfires when hot, rang twice", "start hot")


def test_it_is_done_once(forgotten, customer):
    key = uuid.uuid4()
    assert forgotten(idempotency_key=key) == forgotten(idempotency_key=key)
    with pytest.raises(ErasingRefusedError, match="erased before"):
        forgotten()
    assert Erasure.objects.count() == 1


def test_a_failure_on_the_way_leaves_everything(forgotten, monkeypatch, job):
    from jobs.privacy import actions

    monkeypatch.setattr(actions, "_without_a_person", lambda *_: 1 / 0)
    before = traces(PHONE.replace(" ", "")[-6:], "abernethy")
    with pytest.raises(ZeroDivisionError):
        forgotten()
    assert traces(PHONE.replace(" ", "")[-6:], "abernethy") == before
    assert not FileToRemove.objects.exists()
