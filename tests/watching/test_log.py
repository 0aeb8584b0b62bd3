"""The log names the request by a number and its route, and says nothing personal."""

import io
import json
import logging

import pytest
from django.db import connection
from django.test import RequestFactory
from django.urls import reverse

from garage.watching.log import JsonLines, NumberAndRoute
from garage.watching.slow import SlowQueries, shape_of
from tests.factories import CustomerFactory


@pytest.fixture
def log():
    """Everything that is logged, as it goes to the collector."""
    written = io.StringIO()
    handler = logging.StreamHandler(written)
    handler.addFilter(NumberAndRoute())
    handler.setFormatter(JsonLines())
    logging.getLogger().addHandler(handler)
    yield lambda: [json.loads(line) for line in written.getvalue().splitlines()]
    logging.getLogger().removeHandler(handler)


def broken(*args, **kwargs):
    raise ValueError("KEY 7 MRS SOMEBODY of plate XYZ 123")


def test_an_error_has_a_number_on_its_page_and_in_the_log(client, db, log, monkeypatch):
    client.raise_request_exception = False
    monkeypatch.setattr("garage.site.middleware._end_what_lay_idle", broken)
    answer = client.get(reverse("people:sign-in"))
    assert answer.status_code == 500
    line = next(each for each in log() if each["level"] == "ERROR")
    assert line["number"] == answer["X-Request-ID"]
    assert line["number"] in answer.content.decode()


def test_the_log_says_where_it_broke_and_none_of_the_words(client, db, log, monkeypatch):
    monkeypatch.setattr("garage.site.middleware._end_what_lay_idle", broken)
    client.raise_request_exception = False
    client.get("/customers/?q=MRS+SOMEBODY")
    written = json.dumps(log())
    assert "builtins.ValueError" in written
    assert "in broken" in written
    assert "SOMEBODY" not in written
    assert "XYZ" not in written


def test_a_customers_token_never_stands_in_the_log(client, workshop, log):
    client.get(reverse("documents:customer-page", args=["a-token-that-opens-papers"]))
    written = json.dumps(log())
    assert "a-token-that-opens-papers" not in written
    assert "<str:token>" in written


def test_every_answer_has_a_number_of_its_own(client, db):
    assert client.get("/health/live/")["X-Request-ID"] != client.get("/health/live/")["X-Request-ID"]


def test_a_slow_query_is_named_by_its_route_and_its_shape_alone(browser_of, owner, log, settings):
    CustomerFactory(name="Somebody Particular")
    settings.SLOW_QUERY_MS = 0
    browser_of(owner).get(reverse("customers:list"), {"q": "Particular"})
    slow = [line for line in log() if line["logger"] == "garage.watching.slow"]
    assert "/customers/" in {line["route"] for line in slow}
    assert any("garage_customer" in line["query"] for line in slow)
    assert "Particular" not in json.dumps(slow)


def test_a_quick_query_is_not_named(db, log, settings):
    settings.SLOW_QUERY_MS = 60_000
    with connection.execute_wrapper(SlowQueries(RequestFactory().get("/"))), connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    assert log() == []


@pytest.mark.parametrize(
    ("sql", "shape"),
    [
        ("SELECT x FROM t WHERE name = 'O''Brien'", "SELECT x FROM t WHERE name = ?"),
        ("SELECT x FROM t2 LIMIT 21", "SELECT x FROM t2 LIMIT ?"),
        ('SELECT "t2"."x1" FROM t WHERE id IN (%s, %s,\n %s)', 'SELECT "t2"."x1" FROM t WHERE id IN (…)'),
        ("SELECT x FROM t WHERE n = -3.5", "SELECT x FROM t WHERE n = ?"),
    ],
)
def test_a_shape_has_no_values(sql, shape):
    assert shape_of(sql) == shape
