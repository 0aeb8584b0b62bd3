"""Whatever is sent to whichever address, no page breaks.

A few hundred requests in each run; `CRANKMARK_FUZZ=100000` sends as many, by a seed that is said when one breaks.
"""

import json
import os
import random
import re
import traceback

import pytest
from django.test import Client
from django.urls import reverse

from garage.people.models import Staff
from tests.checklists.factories import every_kind, sheet_with
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.jobs_factories import MapVersionFactory
from tests.people.test_signing_in import every_address

REQUESTS = int(os.environ.get("CRANKMARK_FUZZ", "400"))
SEED = int(os.environ.get("CRANKMARK_FUZZ_SEED", "11"))

VALUES = [
    "", " ", "0", "-1", "1", "2", "on", "1,3,4,2", "1-3-4-2", "1e400", "-1e400", "1e308", "Infinity", "NaN", "0x10",
    "9223372036854775807", "9223372036854775808", "-9223372036854775809", "1" * 400, "32.5", "32,5", "1,234", "--", "½",
    "٢٤", "\x00", "a\x00b", "\ud83d", "\u202e", "é" * 300, "x" * 256, "x" * 5000, "../../etc/passwd", "%00", "%s%s%s",
    "<script>alert(1)</script>", "' OR 1=1 --", "{{ 7 }}", "[]", "{}", "null", "[1, 2", '{"a": 1e400}', "2026-02-30",
    "2026-11-28T25:61", "0000-00-00", "9999-12-31", "00000000-0000-4000-8000-000000000000", "kPa", "inHg", "owner",
    "fitting", "booked", "done", "\r\n", "\t", "0 0 0\n0 0 0", "400 0 1e400", "nan 0 1", "a@b", "+44", "€", "26-0001",
]  # fmt: skip
HEADERS = [
    {}, {"HX-Request": "true"}, {"Accept": "application/json"}, {"If-None-Match": '"x"'}, {"Range": "bytes=0-"},
    {"Accept-Language": "\x00"}, {"Referer": "javascript:1"}, {"X-Forwarded-For": "nobody"},
]  # fmt: skip
NAMED = re.compile(r'\sname="([^"]+)"')


@pytest.fixture
def clients(browser_of, owner, mechanic, front_desk):
    job = JobFactory(stage="fitting")
    sheet_with(every_kind(), person=mechanic, job=job)
    MapVersionFactory(job=job)
    CustomerFactory()
    VehicleFactory()
    people = [owner, owner, mechanic, front_desk]
    for person in people:
        person.roles_at_first = list(person.groups.all())
    found = [browser_of(person) for person in people] + [Client()]
    for client in found:
        client.raise_request_exception = False
    return job, people, found


def some_address(dice, job, addresses):
    name, converters = dice.choice(addresses)
    values = {}
    for key, converter in converters.items():
        match type(converter).__name__:
            case "IntConverter":
                values[key] = dice.choice([1, 1, 1, 2, 0, 10**25])
            case "UUIDConverter":
                values[key] = "00000000-0000-4000-8000-000000000000"
            case _:
                values[key] = dice.choice([job.stage, "inspection", "fitting", "fuse", "no-such"])
    if "code" in values:
        values["code"] = job.code
    return reverse(name, kwargs=values)


def some_form(dice, fields):
    return {name: dice.choice(VALUES) for name in fields if dice.random() < 0.9}


def body_of(dice, fields):
    form = some_form(dice, fields)
    if dice.random() < 0.25:
        return {"data": json.dumps(dice.choice([form, [form], "x", None, 1e308])), "content_type": "application/json"}
    if dice.random() < 0.1:
        return {
            "data": dice.randbytes(200),
            "content_type": dice.choice(["multipart/form-data; boundary=x", "x/y", ""]),
        }
    return {"data": {name: value.encode("utf-8", "surrogatepass") for name, value in form.items()}}


MESSAGE = ["message", "id", "maker", "item", "madeAt", "sentAt", "outcome", "measure", "unit", "replaces", "entry"]
# Signing out and locking oneself out by wrong passwords would end the test, not the site.
LEFT_ALONE = {"people:sign-out", "people:sign-in", "people:switch"}
ENOUGH = 20  # of broken answers: they are to be read


def said(number, method, url, answer, **sent):
    """What is needed to send it again, and where it broke."""
    where = traceback.format_exception(*answer.exc_info)[-6:] if getattr(answer, "exc_info", None) else []
    return f"request {number}: {method} {url} {answer.status_code} {sent!r:.1500}\n{''.join(where)}"


def let_in_again(browser_of, people, found):
    """One of these requests may let somebody go or end a sign-in: the others would be sent by nobody then."""
    for person, client in zip(people, found, strict=False):
        if "_auth_user_id" in client.session:
            continue
        Staff.objects.filter(pk=person.pk).update(is_active=True)
        person.refresh_from_db()
        person.groups.set(person.roles_at_first)
        client.cookies = browser_of(person).cookies


def test_no_request_however_strange_breaks_a_page(clients, browser_of):
    job, people, found = clients
    dice, broken = random.Random(SEED), []
    addresses = [one for one in every_address() if one[0] not in LEFT_ALONE]
    for number in range(1, REQUESTS, 2):
        client, url = dice.choice(found), some_address(dice, job, addresses)
        if dice.random() < 0.3:
            url += f"?{dice.choice(['page', 'q', 'next', 'vehicle'])}={dice.choice(VALUES[:20])}"
        headers = dice.choice(HEADERS)
        shown = client.get(url, headers=headers)
        if shown.status_code >= 500:
            broken.append(said(number, "GET", url, shown, headers=headers))
        fields = NAMED.findall(shown.content.decode(errors="replace")) if not shown.streaming else []
        body = body_of(dice, fields or MESSAGE)
        sent = client.post(url.partition("?")[0], headers=headers, **body)
        if sent.status_code >= 500:
            broken.append(said(number + 1, "POST", url, sent, headers=headers, **body))
        for answer in (shown, sent):
            if answer.streaming:
                b"".join(answer.streaming_content)  # to its end, which closes the file
        if len(broken) >= ENOUGH:
            break
        if shown.status_code == 302 or sent.status_code == 302:
            let_in_again(browser_of, people, found)
    assert not broken, f"CRANKMARK_FUZZ_SEED={SEED} CRANKMARK_FUZZ={REQUESTS}\n" + "\n".join(broken)
