"""Addresses, headers and entries that no honest browser sends."""

import uuid

import pytest
from axes.models import AccessAttempt
from django.test import Client
from django.urls import reverse

from garage.models import Customer, Vehicle
from jobs.models import Job
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.people.test_signing_in import OPEN_TO_ALL, every_address

STRANGE_WORDS = ["\x00", "../../etc/passwd", "é" * 300]
HUGE = 10**25


def strange_address(name, converters, job, word):
    stand_ins = {"UUIDConverter": "00000000-0000-4000-8000-000000000000", "IntConverter": HUGE}
    values = {key: stand_ins.get(type(converter).__name__, word) for key, converter in converters.items()}
    if "code" in values and len(values) > 1:
        values["code"] = job.code
    try:
        return reverse(name, kwargs=values)
    except Exception:
        return None


@pytest.mark.parametrize("word", STRANGE_WORDS)
def test_no_address_however_strange_breaks_a_page(browser_of, owner, word):
    job, client = JobFactory(), browser_of(owner)
    client.raise_request_exception = False
    broken = []
    for name, converters in every_address():
        url = strange_address(name, converters, job, word)
        if url is None or name in OPEN_TO_ALL:
            continue
        for ask in (client.get, client.post):
            if name != "people:sign-out" and ask(url).status_code >= 500:
                broken.append((name, ask.__name__))
    assert broken == []


@pytest.mark.parametrize("code", ["26-0001\n", "٢٦-٠٠٠١", "26-1", "26-0001 ", "\x00"])
def test_what_is_no_job_number_is_a_quiet_404(browser_of, mechanic, code):
    assert browser_of(mechanic).get(reverse("board:job", args=[code])).status_code == 404


@pytest.mark.parametrize("query", ["%00", "a" * 5000, "%25" * 90, "_ " * 60, "%ED%A0%80", "' OR 1=1 --"])
def test_no_search_breaks_the_page_or_finds_what_is_not_there(browser_of, mechanic, query):
    VehicleFactory(registration="KLM 204 B")
    answer = browser_of(mechanic).get(f"/search/?q={query}")
    assert answer.status_code == 200
    assert "Nothing found" in answer.content.decode() or "Type a registration" in answer.content.decode()


@pytest.mark.parametrize("page", ["0", "-1", "x", str(HUGE), "%00"])
def test_no_page_number_breaks_a_list(browser_of, mechanic, page):
    for url in ("/customers/", "/vehicles/"):
        assert browser_of(mechanic).get(f"{url}?page={page}").status_code == 200


def test_a_page_asked_for_under_another_host_s_name_is_refused_in_plain_words(workshop):
    answer = Client().get("/sign-in/", headers={"Host": "elsewhere.example"})
    assert answer.status_code == 400
    assert "Page not understood" in answer.content.decode()
    assert "elsewhere" not in answer.content.decode()


@pytest.mark.parametrize("figure", ["nan", "inf", "-inf", "1e400", "1e30", "-5", "0x10", "\x00", "١٢٣٤٥٦"])
@pytest.mark.parametrize("name", ["engine-bore_mm", "engine-compression_ratio", "distributor-capsule_full_kpa", "year"])
def test_no_figure_without_sense_enters_the_book(browser_of, front_desk, name, figure):
    form = {
        "idempotency_key": uuid.uuid4(),
        "customer": CustomerFactory().pk,
        "registration": "K",
        "maker": "A",
        "model": "B",
    }
    answer = browser_of(front_desk).post(reverse("vehicles:new"), form | {"engine-strokes": "4", name: figure})
    assert answer.status_code == 422


@pytest.mark.parametrize("row", ["nan 0 1", "400 -inf 1", "400 0 1e400", "0 0 0\n0 0 0", "1e300 0 1\n1e301 0 1"])
def test_no_factory_band_without_sense_enters_the_book(browser_of, front_desk, row):
    form = {
        "idempotency_key": uuid.uuid4(),
        "customer": CustomerFactory().pk,
        "registration": "K",
        "maker": "A",
        "model": "B",
    }
    form |= {"engine-strokes": "4", "distributor-factory_band": row}
    assert browser_of(front_desk).post(reverse("vehicles:new"), form).status_code == 422


@pytest.mark.parametrize("odometer", ["-1", "99999999999999999999", "2000001", "1.5", "nan"])
def test_no_odometer_without_sense_enters_the_book(browser_of, front_desk, odometer):
    job = JobFactory()
    form = {"row_version": 1, "wanted": "x", "odometer": odometer, "odometer_unit": "miles"}
    assert browser_of(front_desk).post(reverse("board:edit", args=[job.code]), form).status_code == 422
    assert Job.objects.get().odometer is None


@pytest.mark.parametrize("quantity", ["NaN", "Infinity", "-1", "0", "1e9", "99999999"])
def test_no_cost_without_sense_enters_the_book(browser_of, front_desk, quantity):
    job = JobFactory()
    form = {"id": uuid.uuid4(), "kind": "part", "description": "rotor", "quantity": quantity, "unit_price": "1"}
    assert browser_of(front_desk).post(reverse("costs:page", args=[job.code]), form).status_code == 422


def test_a_nul_in_a_name_is_refused_beside_the_field(browser_of, front_desk):
    answer = browser_of(front_desk).post(
        reverse("customers:new"), {"idempotency_key": uuid.uuid4(), "name": "Mira\x00Holt"}
    )
    assert answer.status_code == 422
    assert not Customer.objects.exists()


def test_text_as_long_as_a_book_is_refused_with_the_limit(browser_of, front_desk):
    form = {"idempotency_key": uuid.uuid4(), "vehicle": VehicleFactory().pk, "wanted": "a" * 100_000}
    answer = browser_of(front_desk).post(reverse("board:book"), form)
    assert answer.status_code == 422
    assert "2000" in answer.content.decode()


@pytest.mark.parametrize("name", ["Zoë Ångström", "李雷", "🏁 Racing", "O'Neill & Söhne", "\u202eevil", "e\u0301"])
def test_a_name_in_any_script_is_kept_as_it_is_written(browser_of, front_desk, name):
    answer = browser_of(front_desk).post(
        reverse("customers:new"), {"idempotency_key": uuid.uuid4(), "name": name}, follow=True
    )
    assert answer.status_code == 200
    assert Customer.objects.get().name == name


def test_pages_are_kept_by_nobody(browser_of, owner):
    client, job = browser_of(owner), JobFactory()
    for url in ("/", "/customers/", f"/jobs/{job.code}/", f"/jobs/{job.code}/costs/", "/workshop/", "/nothing-here/"):
        assert "no-store" in client.get(url)["Cache-Control"], url


def test_cookies_are_out_of_reach_of_scripts_and_other_sites(mechanic):
    client = Client()
    client.post(reverse("people:sign-in"), {"username": "ines", "password": "a long workshop password"})
    for name in ("sessionid", "bench_device"):
        assert client.cookies[name]["httponly"]
        assert client.cookies[name]["samesite"] == "Lax"


@pytest.mark.parametrize("version", ["9223372036854775807", "9223372036854775808", "-1", "1e400"])
def test_no_row_version_breaks_a_page_that_edits(browser_of, owner, version):
    customer = CustomerFactory()
    form = {"row_version": version, "name": "Mira Holt"}
    answer = browser_of(owner).post(reverse("customers:edit", args=[customer.pk]), form)
    assert answer.status_code == 422


@pytest.mark.parametrize("typed", ["1,3,4,2", "1, 3, 4, 2", "1 3 4 2", "1-3-4-2", "1342", "1 – 3 – 4 – 2"])
def test_a_firing_order_is_taken_as_people_type_it(browser_of, front_desk, typed):
    form = {
        "idempotency_key": uuid.uuid4(),
        "customer": CustomerFactory().pk,
        "registration": "K",
        "maker": "A",
        "model": "B",
        "engine-strokes": "4",
        "engine-cylinders": "4",
        "engine-firing_order": typed,
    }
    assert browser_of(front_desk).post(reverse("vehicles:new"), form).status_code == 302
    assert Vehicle.objects.get().engine.firing_order == "1-3-4-2"


def test_a_user_name_longer_than_any_is_a_wrong_one_and_reaches_no_table(workshop):
    answer = Client().post(reverse("people:sign-in"), {"username": "u" * 256, "password": "a long workshop password"})
    assert answer.status_code == 422
    assert not AccessAttempt.objects.exists()
