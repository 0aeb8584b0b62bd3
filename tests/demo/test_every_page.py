"""Every page of the demo, walked by its links as each of the roles."""

import re
from zlib import crc32

import pytest
from django.test import Client

from garage.people.models import Staff
from tests.demo.walk import LEFT_BEHIND, Page, walk
from tests.signed_in import client_of

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def walked(demo, django_db_blocker) -> dict[str, list[Page]]:
    """Each person's walk from the board, the customer's from the link they were given."""
    walks = {}
    for username, passing_by in (("rowan", one_of_hundreds), ("ines", one_of_three), ("bea", one_of_three)):
        walks[username] = walk(client_of(Staff.objects.get(username=username)), "/", passing_by=passing_by)
    walks["customer"] = walk(Client(), demo.customer_path)
    return walks


def one_of_hundreds(path: str) -> bool:
    """Lines of sheets, cars behind figures, points of maps and weeks share a template each: some are walked."""
    one_of = 40 if "/items/" in path or "/week/?from=" in path or "/why/?" in path else 1
    one_of = 5 if "/learned/cars/" in path else one_of
    return crc32(path.encode()) % one_of != 0


def one_of_three(path: str) -> bool:
    """The owner walks every car; whoever else sees the same pages walks every third."""
    car = re.match(r"/jobs/\d\d-(\d{4})/", path)
    return one_of_hundreds(path) or bool(car and int(car[1]) % 3 != 1)


PEOPLE = ["rowan", "ines", "bea", "customer"]


@pytest.mark.parametrize("person", PEOPLE)
def test_every_link_leads_to_a_page_that_is_open_to_whoever_is_shown_it(walked, person):
    wrong = [f"{page.status} {page.path} from {page.came_from}" for page in walked[person] if page.status != 200]
    assert wrong == []


@pytest.mark.parametrize("person", PEOPLE)
def test_no_page_shows_what_a_template_left_behind(walked, person):
    shown = {
        page.path: page.words[max(0, found.start() - 60) : found.end() + 40]
        for page in walked[person]
        if (found := LEFT_BEHIND.search(page.words))
    }
    assert shown == {}


@pytest.mark.parametrize("person", PEOPLE)
def test_every_page_is_well_formed(walked, person):
    assert {page.path: page.mistakes for page in walked[person] if page.mistakes} == {}


def test_the_walk_reaches_every_car_at_every_stage(walked):
    paths = {page.path for page in walked["rowan"]}
    stages = ("inspection", "fitting", "base-timing", "map", "road-test", "handover", "after-care", "costs", "journal")
    year = next(path for path in paths if path.startswith("/jobs/") and path.endswith("-0001/"))[6:8]
    wanted = {f"/jobs/{year}-{serial:04d}/{stage}/" for serial in range(1, 9) for stage in stages}
    assert wanted - paths == set()


def test_the_customers_link_leads_to_nothing_but_the_customers_papers(walked):
    assert all(page.path.startswith("/papers/") for page in walked["customer"])
    assert len(walked["customer"]) > 1
