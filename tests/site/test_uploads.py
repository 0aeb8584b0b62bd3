"""What is too large is refused by what it announces, before any of it is read."""

import pytest
from django.test import Client
from django.urls import reverse

from garage.site.uploads import LARGEST_REQUEST, LARGEST_UPLOAD

MULTIPART = "multipart/form-data; boundary=x"


class NeverRead:
    def read(self, *size):
        raise AssertionError("the body was read")

    readline = read


def sent(client, address, length, body=None, **headers):
    return client.request(
        PATH_INFO=address, REQUEST_METHOD="POST", CONTENT_TYPE=MULTIPART, CONTENT_LENGTH=length,
        **{"wsgi.input": body or NeverRead()}, **headers,
    )  # fmt: skip


@pytest.fixture
def address(workshop):
    return reverse("checklists:send", args=["26-0001", "fitting"])


@pytest.mark.parametrize("length", [LARGEST_REQUEST + 1, 10**12, 10**30])
def test_a_tablet_s_photograph_that_is_too_large_is_refused_unread_with_a_sentence(
    browser_of, mechanic, address, length
):
    answer = sent(browser_of(mechanic), address, str(length), HTTP_ACCEPT="application/json")
    assert answer.status_code == 413
    assert "25 MB" in answer.json()["problem"]


def test_a_form_that_is_too_large_is_refused_unread_on_a_page_with_a_way_back(browser_of, mechanic, address):
    answer = sent(browser_of(mechanic), address, str(10**9))
    assert answer.status_code == 413
    assert "25 MB" in answer.content.decode()
    assert "Today" in answer.content.decode()


def test_nobody_has_to_be_signed_in_to_be_refused_unread(address):
    assert sent(Client(), address, str(10**9)).status_code == 413


def test_the_largest_photograph_that_is_taken_passes_with_the_words_beside_it():
    assert LARGEST_REQUEST >= LARGEST_UPLOAD + 500_000


@pytest.mark.parametrize("length", ["", "-1", "x", "1" * 5000])
def test_a_length_that_is_none_breaks_nothing_and_nothing_is_read(browser_of, mechanic, address, length):
    client = browser_of(mechanic)
    client.raise_request_exception = False
    assert sent(client, address, length, HTTP_ACCEPT="application/json").status_code < 500


def test_a_body_longer_than_it_announces_is_read_no_further(browser_of, mechanic, address):
    class Endless:
        given = 0

        def read(self, size=-1):
            assert size >= 0, "everything was asked for"
            self.given += size
            return b"x" * size

        def readline(self, size=-1):
            return self.read(size if size >= 0 else 1024)

    body = Endless()
    answer = sent(browser_of(mechanic), address, "200", body, HTTP_ACCEPT="application/json")
    assert answer.status_code < 500
    assert body.given <= 200
