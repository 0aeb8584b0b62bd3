"""What a tablet sends and asks, as the browser would."""

import gzip
import json
import re
import uuid
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from jobs.checklists.models import Confirmation, Entry, JobSheet, Photograph
from jobs.checklists.photographs import NOT_READABLE
from jobs.checklists.queries import PAGE_OF
from tests.checklists.factories import enter, photograph, sheet_with, whole_sheet
from tests.pages import assert_not_found

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 5, 14, 12, 0, tzinfo=UTC)
JSON = {"Accept": "application/json"}


def message(person, item, *, body=None, **more):
    now = timezone.now().isoformat()
    return {
        "message": "entry", "id": str(uuid.uuid4()), "maker": person.pk, "item": item, "madeAt": now, "sentAt": now,
        "outcome": "done", **(body or {}), **more,
    }  # fmt: skip


def send(client, sheet, message):
    address = f"/jobs/{sheet.job.code}/sheet/fitting/send/"
    return client.post(address, json.dumps(message), content_type="application/json", headers=JSON)


@pytest.fixture
def sheet(mechanic):
    coil = {"key": "coil", "kind": "measure", "unit": "ohm", "low": 1.35, "high": 1.65}
    return sheet_with([{"key": "fuse"}, coil, {"key": "torque", "second_person": True}], person=mechanic)


def test_a_message_becomes_an_entry_of_its_maker(sheet, mechanic, browser_of):
    sent = message(mechanic, "coil", measure=1.5, note="cold")
    answer = send(browser_of(mechanic), sheet, sent)
    assert (answer.status_code, answer.json()) == (200, {"kept": sent["id"]})
    entry = Entry.objects.get()
    assert (str(entry.pk), entry.by, entry.measure, entry.note) == (sent["id"], mechanic, 1.5, "cold")
    assert entry.device is not None


def test_a_message_sent_three_times_is_one_entry_and_three_good_answers(sheet, mechanic, browser_of):
    client, sent = browser_of(mechanic), message(mechanic, "fuse")
    assert [send(client, sheet, sent).status_code for _ in range(3)] == [200, 200, 200]
    assert Entry.objects.count() == 1


def test_another_persons_message_is_not_taken_under_this_name(sheet, mechanic, second_mechanic, browser_of):
    answer = send(browser_of(second_mechanic), sheet, message(mechanic, "fuse"))
    assert answer.status_code == 409
    assert "another person" in answer.json()["problem"]
    assert not Entry.objects.exists()


def test_nobody_signed_in_is_told_so_and_not_redirected(sheet, mechanic, client):
    answer = send(client, sheet, message(mechanic, "fuse"))
    assert (answer.status_code, answer.json()) == (401, {"problem": "signed out"})


def test_who_may_only_read_is_refused_with_a_sentence(sheet, front_desk, browser_of):
    answer = send(browser_of(front_desk), sheet, message(front_desk, "fuse"))
    assert (answer.status_code, answer.json()["problem"]) == (403, "You can read this sheet but not fill it in.")


@pytest.mark.parametrize(
    "spoilt",
    [
        {"id": "no id"}, {"maker": None}, {"madeAt": "yesterday"}, {"madeAt": "2026-05-14T12:00:00"},
        {"message": "order"}, {"item": "no-such-item"}, {"outcome": "perhaps"}, {"measure": "1.5"}, {"measure": True},
        {"measure": [1]},
        {"note": 5}, {"replaces": ["x"]}, {"replaces": 7},
    ],
    ids=str,
)  # fmt: skip
def test_a_message_that_makes_no_sense_is_refused_with_a_sentence(sheet, mechanic, browser_of, spoilt):
    answer = send(browser_of(mechanic), sheet, message(mechanic, "coil", body={"measure": 1.5}) | spoilt)
    assert answer.status_code == 422
    assert answer.json()["problem"]
    assert not Entry.objects.exists()


@pytest.mark.parametrize("text", ["", "[]", "null", "{", '"x"', "{}"])
def test_what_is_no_message_is_refused(sheet, mechanic, browser_of, text):
    address = f"/jobs/{sheet.job.code}/sheet/fitting/send/"
    answer = browser_of(mechanic).post(address, text, content_type="application/json", headers=JSON)
    assert answer.status_code == 422
    assert "cannot be read" in answer.json()["problem"]
    assert not Entry.objects.exists()


def test_an_entry_made_long_ago_by_a_wrong_clock_is_dated_by_how_long_it_waited(sheet, mechanic, browser_of):
    wrong = datetime(2019, 1, 1, 3, 0, tzinfo=UTC)  # a tablet whose battery had been empty
    sent = message(mechanic, "fuse", madeAt=wrong.isoformat(), sentAt=(wrong + timedelta(hours=2)).isoformat())
    client = browser_of(mechanic)
    JobSheet.objects.update(begun_at=NOON - timedelta(days=1))
    with time_machine.travel(NOON, tick=False):
        client.force_login(mechanic, backend="django.contrib.auth.backends.ModelBackend")
        send(client, sheet, sent)
    entry = Entry.objects.get()
    assert (entry.received_at, entry.made_at) == (NOON, NOON - timedelta(hours=2))


def test_no_entry_is_made_after_it_was_received(sheet, mechanic, browser_of):
    later = (timezone.now() + timedelta(hours=5)).isoformat()
    send(browser_of(mechanic), sheet, message(mechanic, "fuse", madeAt=later))
    entry = Entry.objects.get()
    assert entry.made_at <= entry.received_at


def test_a_photograph_and_its_message_come_together(sheet, mechanic, browser_of):
    sent = message(mechanic, "fuse", message="photograph", entry=str(uuid.uuid4()))
    upload = SimpleUploadedFile("x.jpg", photograph(), content_type="image/jpeg")
    address = f"/jobs/{sheet.job.code}/sheet/fitting/send/"
    answer = browser_of(mechanic).post(address, {"message": json.dumps(sent), "photograph": upload}, headers=JSON)
    assert answer.status_code == 200
    assert str(Photograph.objects.get().pk) == sent["id"]


def test_a_script_called_jpg_is_refused_with_a_sentence(sheet, mechanic, browser_of):
    sent = message(mechanic, "fuse", message="photograph", entry=str(uuid.uuid4()))
    upload = SimpleUploadedFile("loom.jpg", b"<script>alert(1)</script>", content_type="image/jpeg")
    address = f"/jobs/{sheet.job.code}/sheet/fitting/send/"
    answer = browser_of(mechanic).post(address, {"message": json.dumps(sent), "photograph": upload}, headers=JSON)
    assert answer.status_code == 422
    assert NOT_READABLE in answer.json()["problem"]


def test_a_second_person_confirms_from_another_tablet(sheet, mechanic, second_mechanic, browser_of):
    entry = enter(sheet, "torque", mechanic)
    sent = message(second_mechanic, "torque", message="confirmation", entry=str(entry.pk))
    assert send(browser_of(second_mechanic), sheet, sent).status_code == 200
    assert Confirmation.objects.get().by == second_mechanic


def test_a_tablet_that_asks_sees_what_others_entered(sheet, mechanic, second_mechanic, browser_of):
    client, address = browser_of(second_mechanic), f"/jobs/{sheet.job.code}/sheet/fitting/state/"
    first = client.get(address, headers=JSON)
    assert first.json()["rows"]["fuse"]["open"]
    enter(sheet, "fuse", mechanic)
    second = client.get(address, headers=JSON | {"If-None-Match": first["ETag"]})
    assert second.status_code == 200
    assert second.json()["rows"]["fuse"]["who"].startswith("Ines Marlow")


def test_asking_about_an_unchanged_sheet_costs_few_questions_and_an_empty_answer(
    sheet, mechanic, browser_of, django_assert_max_num_queries
):
    client, address = browser_of(mechanic), f"/jobs/{sheet.job.code}/sheet/fitting/state/"
    tag = client.get(address, headers=JSON)["ETag"]
    with django_assert_max_num_queries(14):
        answer = client.get(address, headers=JSON | {"If-None-Match": tag})
    assert (answer.status_code, answer.content) == (304, b"")


def test_what_is_learnt_of_the_car_reaches_the_tablets(sheet, mechanic, browser_of):
    client, address = browser_of(mechanic), f"/jobs/{sheet.job.code}/sheet/fitting/state/"
    before = client.get(address, headers=JSON)
    sheet.job.vehicle.earth_polarity = "positive"
    sheet.job.vehicle.save()
    after = client.get(address, headers=JSON | {"If-None-Match": before["ETag"]})
    assert after.json()["version"] != before.json()["version"]


def test_the_state_is_kept_by_no_cache_but_our_own(sheet, mechanic, browser_of):
    answer = browser_of(mechanic).get(f"/jobs/{sheet.job.code}/sheet/fitting/state/", headers=JSON)
    assert answer["Cache-Control"] == "no-store"


def test_the_service_worker_is_served_where_it_reaches_every_job(client, workshop):
    answer = client.get("/jobs/service-worker.js")
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/javascript")
    assert "no-cache" in answer["Cache-Control"]
    assert "/static/js/fitting/sheet.js" in answer.text


def test_every_stylesheet_of_a_sheet_is_kept_for_a_dead_spot(sheet, mechanic, browser_of):
    client = browser_of(mechanic)
    page = client.get(f"/jobs/{sheet.job.code}/fitting/").text
    wanted = set(re.findall(r'<link rel="stylesheet" href="([^"]+)"', page))
    worker = client.get(reverse("checklists:service-worker")).text
    kept = json.loads(worker.splitlines()[0].removeprefix("const SETTINGS = ").removesuffix(";"))["files"]
    assert {"fitting", "dock", "check-lists"} <= {url.rsplit("/", 1)[1].split(".")[0] for url in wanted}
    assert wanted <= set(kept)


def test_an_unknown_kind_of_sheet_is_a_quiet_404(sheet, mechanic, browser_of):
    assert_not_found(browser_of(mechanic).get(f"/jobs/{sheet.job.code}/sheet/gossip/state/"))


def test_a_sheet_that_was_not_begun_has_no_state_and_says_so(sheet, mechanic, browser_of):
    answer = browser_of(mechanic).get(f"/jobs/{sheet.job.code}/sheet/inspection/state/")
    assert (answer.status_code, answer.json()) == (404, {"problem": "This sheet was not started."})


def test_the_pages_kept_for_a_dead_spot_are_sheets_strobe_sessions_and_runs_on_the_road(mechanic, browser_of):
    worker = browser_of(mechanic).get(reverse("checklists:service-worker")).content.decode()
    pages = json.loads(worker.splitlines()[0].removeprefix("const SETTINGS = ").removesuffix(";"))["pages"]
    kept = [re.compile(f"/jobs/26-0001/{end}/") for end in pages]
    names = {name: ["26-0001"] for name in PAGE_OF.values()} | {
        "strobe:session": ["26-0001", 12],
        "roadtest:run": ["26-0001", 3],
    }
    for address in [reverse(name, args=args) for name, args in names.items()]:
        assert [pattern for pattern in kept if pattern.fullmatch(address)], address
    assert len(kept) == len(names)


def test_what_goes_over_bad_wi_fi_is_packed_and_still_known_when_it_comes_back(mechanic, browser_of):
    sheet = sheet_with(whole_sheet(), person=mechanic)
    client, packing = browser_of(mechanic), JSON | {"Accept-Encoding": "gzip"}
    address = f"/jobs/{sheet.job.code}/sheet/fitting/state/"
    plain, packed = client.get(address, headers=JSON), client.get(address, headers=packing)
    assert packed["Content-Encoding"] == "gzip"
    assert len(packed.content) < len(plain.content) / 4
    assert json.loads(gzip.decompress(packed.content)) == plain.json()
    again = client.get(address, headers=packing | {"If-None-Match": packed["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    page = client.get(f"/jobs/{sheet.job.code}/fitting/", headers={"Accept-Encoding": "gzip"})
    assert page["Content-Encoding"] == "gzip"
