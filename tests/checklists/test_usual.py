"""What the workshop itself wrote before is offered for a tap; never what was written of one customer's car alone."""

import json
import re

import pytest
from django.urls import reverse

from jobs.checklists.models import ChecklistItem, ItemKind
from jobs.checklists.usual import LOOKED_AT, MOST, OWN_WORDS, usual_answers
from tests.checklists.along import LISTS
from tests.checklists.factories import enter, published_list, sheet_with
from tests.factories import JobFactory, VehicleFactory

pytestmark = pytest.mark.django_db

FUSE = {"key": "fuse", "kind": "text", "text": "Fuse fitted"}
OWNER_SAYS = {"key": "owner-says", "kind": "text", "text": "What the owner says"}


@pytest.fixture
def job():
    return JobFactory(stage="fitting")


def wrote(mechanic, text, key="fuse", vehicle=None, **entry):
    """Another job of the workshop on whose sheet `text` was written."""
    job = JobFactory(stage="fitting", vehicle=vehicle or VehicleFactory())
    sheet = sheet_with([FUSE, OWNER_SAYS], person=mechanic, job=job)
    return sheet, enter(sheet, key, mechanic, text=text, **entry)


def offered(job, row=FUSE):
    item = published_list([row]).items.get()
    return usual_answers([item], job).get(item.key, [])


def test_the_most_frequent_words_come_first_however_they_were_spelled(job, mechanic):
    for text in ("10 A at the switch", "5 A, beside the battery", "5 a,  beside the Battery", "10 A at the switch"):
        wrote(mechanic, text)
    wrote(mechanic, "5 A, beside the battery")
    assert offered(job) == ["5 A, beside the battery", "10 A at the switch"]


def test_words_of_one_customer_s_cars_alone_are_not_offered(job, mechanic):
    car = VehicleFactory()
    for _ in range(3):
        wrote(mechanic, "as Mrs Farrant wished", vehicle=VehicleFactory(customer=car.customer))
    assert offered(job) == []


def test_what_an_owner_said_is_offered_nowhere(job, mechanic):
    for _ in range(3):
        wrote(mechanic, "runs hot", key="owner-says")
    assert offered(job, OWNER_SAYS) == []


def test_what_was_corrected_undone_or_not_possible_is_not_offered(job, mechanic):
    for _ in range(2):
        sheet, first = wrote(mechanic, "15 A")
        enter(sheet, "fuse", mechanic, text="8 A", replaces=[first.pk])
        sheet, second = wrote(mechanic, "20 A")
        enter(sheet, "fuse", mechanic, outcome="withdrawn", replaces=[second.pk])
    assert offered(job) == ["8 A"]


def test_few_are_offered_and_only_of_the_newest_sheets(job, mechanic):
    for rating in range(MOST + 2):
        for _ in range(2):
            wrote(mechanic, f"{rating + 2} A")
    assert len(offered(job)) == MOST
    for _ in range(LOOKED_AT):
        sheet_with([FUSE], person=mechanic)
    assert offered(job) == []


def test_the_page_carries_them_for_a_dead_spot_and_the_page_without_script_lists_them(browser_of, job, mechanic):
    for _ in range(2):
        wrote(mechanic, "5 A, beside the battery")
    sheet_with([FUSE], person=mechanic, job=job)
    client = browser_of(mechanic)
    page = client.get(reverse("fitting:page", args=[job.code])).content.decode()
    data = json.loads(re.search(r'<script id="sheet-data"[^>]*>(.*?)</script>', page, re.S)[1])
    assert [item["usual"] for item in data["items"]] == [["5 A, beside the battery"]]
    alone = client.get(reverse("checklists:item", args=[job.code, "fitting", "fuse"])).content.decode()
    assert '<option value="5 A, beside the battery">' in alone
    assert 'list="usual"' in alone


def test_they_are_items_of_our_lists_that_ask_for_words_and_hold_no_fact_of_a_car():
    known = {item.key: item for listed in LISTS.values() for item in listed.items}
    assert set(known) >= OWN_WORDS
    assert {known[key].kind for key in OWN_WORDS} == {ItemKind.TEXT}
    assert not any(known[key].car_fact for key in OWN_WORDS)


def test_firing_orders_are_those_of_the_number_of_cylinders(job):
    job.vehicle.engine.cylinders = 4
    order = ChecklistItem(key="order", kind="text", car_fact="firing_order")
    assert usual_answers([order], job) == {"order": ["1-3-4-2", "1-2-4-3"]}
