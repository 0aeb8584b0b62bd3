"""A form that was cut off on its way is refused: '32.5' that arrived as '3' must not become a reading.

RFC 9112, 6.3: a message whose body ends before its Content-Length is incomplete.
"""

import io
import uuid

import pytest
from django.urls import reverse

from garage.models import Customer

URLENCODED, MULTIPART = "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"


def sent(client, address, body, announced, content_type, stream=io.BytesIO):
    return client.request(
        PATH_INFO=address, REQUEST_METHOD="POST", CONTENT_TYPE=content_type, CONTENT_LENGTH=str(announced),
        **{"wsgi.input": stream(body)},
    )  # fmt: skip


def urlencoded(name):
    return f"idempotency_key={uuid.uuid4()}&name={name}".encode()


def multipart(name):
    rows = {"idempotency_key": uuid.uuid4(), "name": name}
    parts = [f'--x\r\nContent-Disposition: form-data; name="{key}"\r\n\r\n{value}\r\n' for key, value in rows.items()]
    return "".join([*parts, "--x--\r\n"]).encode()


KINDS = [(urlencoded, URLENCODED), (multipart, MULTIPART)]


@pytest.mark.parametrize(("body", "kind"), KINDS)
def test_a_whole_form_is_taken(browser_of, front_desk, body, kind):
    whole = body("Mira Holt")
    assert sent(browser_of(front_desk), reverse("customers:new"), whole, len(whole), kind).status_code == 302
    assert Customer.objects.get().name == "Mira Holt"


@pytest.mark.parametrize("cut", [1, 4, 17, 30])
@pytest.mark.parametrize(("body", "kind"), KINDS)
def test_a_form_that_was_cut_off_is_refused_and_nothing_of_it_is_kept(browser_of, front_desk, body, kind, cut):
    whole = body("Mira Holt")
    answer = sent(browser_of(front_desk), reverse("customers:new"), whole[:-cut], len(whole), kind)
    assert answer.status_code == 400
    assert not Customer.objects.exists()


class Dropped(io.BytesIO):
    """A connection that is reset after what it holds."""

    def read(self, *size):
        return super().read(*size) or self.reset()

    readline = read

    def reset(self):
        raise ConnectionResetError


@pytest.mark.parametrize(("body", "kind"), KINDS)
def test_a_connection_that_is_dropped_is_refused_and_no_server_error(browser_of, front_desk, body, kind):
    whole = body("Mira Holt")
    answer = sent(browser_of(front_desk), reverse("customers:new"), whole[:40], len(whole), kind, stream=Dropped)
    assert answer.status_code == 400
    assert not Customer.objects.exists()
