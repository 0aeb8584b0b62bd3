"""No page asks for more rows, or more often, because the book has grown."""

import pytest
from django.db import connection
from django.urls import reverse

from garage.units.models import UnitTypeRevision
from jobs.board.queries import AT_FIRST
from jobs.job.models import Job, Stage
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.jobs_factories import FittedUnitFactory

pytestmark = pytest.mark.django_db
MOST_ROWS = 61  # the longest any list is, and one more to see that it goes on
PAGES = [
    "/", "/lists/in-hand/", "/lists/booked/", "/vehicles/", "/customers/", "/units/", "/units/new/",
    "/vehicles/new/", "/jobs/book/", "/search/?q=alder", "/search/?q=alder+1500", "/search/?q=nobody",
]  # fmt: skip


class Counted:
    """How many rows each question brings back."""

    def __init__(self):
        self.rows, self.counting = [], False

    def __call__(self, execute, sql, params, many, context):
        answer = execute(sql, params, many, context)
        if not self.counting and sql.startswith("SELECT"):
            self.counting = True
            with connection.cursor() as cursor:
                cursor.execute(f"SELECT count(*) FROM ({sql}) AS asked", params)
                self.rows.append((cursor.fetchone()[0], sql))
            self.counting = False
        return answer


def questions_of(client, page):
    counted = Counted()
    with connection.execute_wrapper(counted):
        assert client.get(page).status_code == 200
    return counted.rows


def fill(jobs):
    """So many customers, cars, units and jobs in the yard."""
    customers = CustomerFactory.create_batch(jobs)
    cars = [VehicleFactory(customer=customer) for customer in customers]
    described = UnitTypeRevision.objects.first() or FittedUnitFactory().revision
    for place, car in enumerate(cars):
        FittedUnitFactory(serial_number=f"F-{car.pk:05d}", vehicle=car, revision=described)
        JobFactory(vehicle=car, stage=Stage.FITTING if place % 2 else Stage.BOOKED)


def test_pages_ask_as_often_and_for_no_more_of_a_larger_book(browser_of, owner):
    client = browser_of(owner)
    client.get("/")
    fill(60)
    before = {page: len(questions_of(client, page)) for page in PAGES}
    fill(90)
    for page in PAGES:
        asked = questions_of(client, page)
        assert len(asked) == before[page], page
        most, sql = max(asked)
        assert most <= MOST_ROWS, f"{page} asks for {most} rows: {sql[:200]}"


def test_the_board_shows_the_first_of_a_long_list_and_the_way_to_all(browser_of, owner):
    fill(2 * AT_FIRST + 4)
    client = browser_of(owner)
    in_hand = Job.objects.filter(stage=Stage.FITTING).order_by("code")
    page = client.get("/").content.decode()
    way = reverse("board:list", args=["in-hand"])
    assert way in page
    assert [job.code in page for job in in_hand] == [True] * AT_FIRST + [False] * 2
    listed = client.get(f"{way}?after={list(in_hand)[AT_FIRST - 1].pk}").content.decode()
    assert [job.code in listed for job in in_hand] == [False] * AT_FIRST + [True] * 2


def test_the_new_car_form_takes_a_customer_by_name_and_asks_which_of_several(browser_of, owner):
    client = browser_of(owner)
    one, other = CustomerFactory(name="Ida Marsh", phone="01632 960001"), CustomerFactory(name="Tom Marsh")
    CustomerFactory(name="Nobody Else")
    form = {
        "idempotency_key": "3f0b4c1e-0000-4000-8000-000000000001", "registration": "KLM 1 B", "maker": "Alder",
        "model": "1500", "engine-strokes": "4",
    }  # fmt: skip
    assert "Enter the customer." in client.post("/vehicles/new/", form).content.decode()
    assert (
        "No customer is called so."
        in client.post("/vehicles/new/", form | {"customer_named": "Quill"}).content.decode()
    )
    asked = client.post("/vehicles/new/", form | {"customer_named": "marsh"})
    assert asked.status_code == 422
    assert "Ida Marsh · 01632 960001" in asked.content.decode()
    assert "Nobody Else" not in asked.content.decode()
    assert client.post("/vehicles/new/", form | {"customer_named": "marsh", "customer": other.pk}).status_code == 302
    assert other.vehicles.count() == 1
    again = form | {"idempotency_key": "3f0b4c1e-0000-4000-8000-000000000002", "customer_named": "01632960001"}
    assert client.post("/vehicles/new/", again).status_code == 302
    assert one.vehicles.count() == 1
