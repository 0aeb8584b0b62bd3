"""What no honest tablet or form sends: refused with a sentence on every database, and never a broken page."""

import json
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from jobs.checklists import forms, tablet
from jobs.checklists.models import ChecklistItem, ChecklistTemplate, Entry, Outcome, TemplateRevision
from jobs.checklists.photographs import prepared
from jobs.checklists.refusals import SENT_TWICE
from tests.checklists.factories import enter, photograph, published_list, published_revision, sheet_with
from tests.checklists.test_tablet import JSON, message, send
from tests.factories import JobFactory
from tests.pages import assert_not_found

pytestmark = pytest.mark.django_db

NUL, HALF_A_PAIR = "\x00", "\ud83d"  # PostgreSQL keeps no NUL; half of a surrogate pair is no character (RFC 3629, 3)


@pytest.fixture
def sheet(mechanic):
    rows = [
        {"key": "fuse"},
        {"key": "coil", "kind": "measure", "unit": "ohm", "low": 1.35, "high": 1.65},
        {"key": "plugs", "kind": "text"},
        {"key": "cap", "kind": "choice", "choices": ["sound", "tracked"]},
    ]
    return sheet_with(rows, person=mechanic)


@pytest.fixture
def job_without_sheet(workshop):
    return JobFactory(stage="fitting")


@pytest.fixture
def client(browser_of, mechanic):
    """Answers a broken page with 500, as a server does, instead of raising what broke it."""
    client = browser_of(mechanic)
    client.raise_request_exception = False
    return client


@pytest.mark.parametrize("strange", [NUL, HALF_A_PAIR], ids=["NUL", "half a surrogate pair"])
@pytest.mark.parametrize(
    ("item", "field"),
    [("plugs", "text"), ("fuse", "note"), ("cap", "choice"), ("coil", "note"), ("fuse", "item"), ("fuse", "outcome")],
)
def test_words_that_no_database_keeps_are_refused_with_a_sentence(client, mechanic, sheet, item, field, strange):
    body = {"text": "BP6"} if item == "plugs" else {"choice": "sound"} if item == "cap" else {}
    body |= {"measure": 1.5} if item == "coil" else {}
    sent = message(mechanic, item, body=body) | {field: f"before{strange}after"}
    answer = send(client, sheet, sent)
    assert answer.status_code == 422
    assert answer.json()["problem"]
    assert not Entry.objects.exists()


@pytest.mark.parametrize("words", ["🏁 runs", "李雷", "Ångström e\u0301", "line\nbreak", "\u202eevil"])
def test_words_in_any_script_are_kept_as_they_were_written(client, mechanic, sheet, words):
    assert send(client, sheet, message(mechanic, "plugs", text=words)).status_code == 200
    assert Entry.objects.get().text == words


@pytest.mark.parametrize(
    "text",
    [
        "[" * 100_000,
        '{"message": ' * 20_000,
        b"\xff\xfe",
    ],
    ids=["deep list", "deep mapping", "no UTF-8"],
)
def test_what_breaks_readers_of_json_is_refused(client, sheet, text):
    address = f"/jobs/{sheet.job.code}/sheet/fitting/send/"
    answer = client.post(address, text, content_type="application/json", headers=JSON)
    assert answer.status_code == 422
    assert answer.json()["problem"]


@pytest.mark.parametrize("figure", ["1" * 400, "-" + "9" * 400, "1e400", "NaN", "1e7"])
def test_a_figure_beyond_all_measure_is_refused(client, mechanic, sheet, figure):
    text = json.dumps(message(mechanic, "coil", measure="FIGURE")).replace('"FIGURE"', figure)
    address = f"/jobs/{sheet.job.code}/sheet/fitting/send/"
    answer = client.post(address, text, content_type="application/json", headers=JSON)
    assert answer.status_code == 422
    assert not Entry.objects.exists()


@pytest.mark.parametrize("made", ["0001-01-01T00:00:00+00:00", "1970-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00"])
@pytest.mark.parametrize("sent", ["9999-12-31T23:59:59+00:00", "9999-12-31T23:59:59-14:00", "2026-05-14T12:00:00Z"])
def test_however_wrong_a_tablets_clock_no_entry_is_older_than_its_sheet(client, mechanic, sheet, made, sent):
    answer = send(client, sheet, message(mechanic, "fuse", madeAt=made, sentAt=sent))
    assert answer.status_code == 200
    entry = Entry.objects.get()
    assert sheet.begun_at <= entry.made_at <= entry.received_at


def test_a_confirmation_under_a_number_that_is_taken_is_refused(client, mechanic, second_mechanic):
    sheet = sheet_with(
        [{"key": "torque", "second_person": True}, {"key": "gap", "second_person": True}], person=second_mechanic
    )
    first, other = enter(sheet, "torque", second_mechanic), enter(sheet, "gap", second_mechanic)
    sent = message(mechanic, "torque", message="confirmation", entry=str(first.pk))
    assert send(client, sheet, sent).status_code == 200
    answer = send(client, sheet, sent | {"item": "gap", "entry": str(other.pk)})
    assert answer.status_code == 422
    assert SENT_TWICE in answer.json()["problem"]


def form_of(item, **typed):
    return {
        "row_version": item.row_version, "section": "Wiring", "text": "Cap", "kind": "choice", "decimals": 1,
        "choices": "sound\ntracked", "good_choices": "", **typed,
    }  # fmt: skip


@pytest.fixture
def drafted(owner):
    template = ChecklistTemplate.objects.create(name="Ours", kind="fitting")
    draft = TemplateRevision.objects.create(template=template, number=1, made_by=owner, made_at=timezone.now())
    return ChecklistItem.objects.create(
        revision=draft, key="cap", position=1, kind="choice", text="Cap", section="Wiring", choices=["sound", "worn"]
    )


@pytest.fixture
def desk(browser_of, owner):
    desk = browser_of(owner)
    desk.raise_request_exception = False
    return desk


@pytest.mark.parametrize("field", ["section", "text", "help", "caution", "source", "unit", "choices", "good_choices"])
def test_a_nul_in_a_check_list_is_refused_beside_the_field(desk, drafted, field):
    answer = desk.post(
        reverse("checklists:edit-item", args=[drafted.pk]), form_of(drafted, **{field: "so\x00und\nworn"})
    )
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert ChecklistItem.objects.get().choices == ["sound", "worn"]


def test_a_choice_longer_than_an_entry_holds_is_refused_while_the_list_is_written(desk, drafted):
    longest = Entry._meta.get_field("choice").max_length
    answer = desk.post(
        reverse("checklists:edit-item", args=[drafted.pk]), form_of(drafted, choices=f"sound\n{'x' * (longest + 1)}")
    )
    assert answer.status_code == 422
    assert str(longest) in str(answer.context["form"].errors["choices"])
    answer = desk.post(
        reverse("checklists:edit-item", args=[drafted.pk]), form_of(drafted, choices=f"sound\n{'x' * longest}")
    )
    assert answer.status_code == 302


@pytest.mark.parametrize("name", ["a\x00b", "x" * 81])
def test_a_list_s_name_that_no_database_keeps_is_refused_beside_the_field(desk, name):
    form = {"idempotency_key": uuid.uuid4(), "name": name, "kind": "fitting"}
    answer = desk.post(reverse("checklists:new-template"), form)
    assert answer.status_code == 422
    assert "name" in answer.context["form"].errors


def test_a_nul_in_the_reason_of_a_revision_is_refused(desk, drafted):
    answer = desk.post(reverse("checklists:publish", args=[drafted.revision_id]), {"reason": "new\x00plugs"})
    assert answer.status_code == 422
    assert "reason" in answer.context["form"].errors
    drafted.revision.refresh_from_db()
    assert drafted.revision.published_at is None


@pytest.mark.parametrize("field", ["note", "text"])
def test_a_nul_typed_without_script_is_refused_beside_the_field(client, sheet, field):
    form = {"id": uuid.uuid4(), "outcome": Outcome.DONE, "text": "BP6", "note": ""} | {field: "a\x00b"}
    answer = client.post(reverse("checklists:item", args=[sheet.job.code, "fitting", "plugs"]), form)
    assert answer.status_code == 422
    assert field in answer.context["form"].errors
    assert not Entry.objects.exists()


@pytest.mark.parametrize(
    "typed", ["1,250", "-1,250", "999,999", "1_000", "1e3", "١٢", "nan", "inf", "1\x00", "--1", "1.2.3"]
)
def test_a_figure_that_could_be_two_or_none_is_refused_beside_the_field(client, sheet, typed):
    form = {"id": uuid.uuid4(), "outcome": Outcome.DONE, "measure": typed}
    answer = client.post(reverse("checklists:item", args=[sheet.job.code, "fitting", "coil"]), form)
    assert answer.status_code == 422
    assert "measure" in answer.context["form"].errors
    assert not Entry.objects.exists()


@pytest.mark.parametrize(
    ("typed", "figure"), [("1,48", 1.48), ("0,125", 0.125), (".5", 0.5), ("−3", -3.0), ("1250", 1250.0), ("12,5", 12.5)]
)
def test_a_figure_is_read_with_a_point_or_a_comma(client, sheet, typed, figure):
    form = {"id": uuid.uuid4(), "outcome": Outcome.DONE, "measure": typed}
    assert client.post(reverse("checklists:item", args=[sheet.job.code, "fitting", "coil"]), form).status_code == 302
    assert Entry.objects.get().measure == figure


def test_an_old_form_brought_back_with_another_figure_is_not_taken_for_the_first(client, sheet):
    address, form = reverse("checklists:item", args=[sheet.job.code, "fitting", "coil"]), {"id": uuid.uuid4()}
    client.post(address, form | {"outcome": Outcome.DONE, "measure": "1.4"})
    assert client.post(address, form | {"outcome": Outcome.DONE, "measure": "1.4"}).status_code == 302
    answer = client.post(address, form | {"outcome": Outcome.DONE, "measure": "1.6"})
    assert answer.status_code == 422
    assert "sent before" in answer.content.decode()
    assert Entry.objects.get().measure == 1.4


@pytest.mark.parametrize("outcome", [Outcome.DONE, Outcome.NOT_POSSIBLE, Outcome.NOTED])
def test_a_photograph_beside_an_answer_leaves_the_answer_what_it_is(client, sheet, outcome):
    upload = SimpleUploadedFile("x.jpg", photograph(), content_type="image/jpeg")
    form = {"id": uuid.uuid4(), "outcome": outcome, "note": "holder broken", "photograph": upload}
    assert client.post(reverse("checklists:item", args=[sheet.job.code, "fitting", "fuse"]), form).status_code == 302
    entry = Entry.objects.get()
    assert (entry.outcome, entry.note, entry.photographs.count()) == (outcome, "holder broken", 1)


def test_a_refused_photograph_leaves_no_half_of_an_entry(client, sheet):
    upload = SimpleUploadedFile("x.jpg", b"<script>", content_type="image/jpeg")
    form = {"id": uuid.uuid4(), "outcome": Outcome.DONE, "measure": "1.4", "photograph": upload}
    answer = client.post(reverse("checklists:item", args=[sheet.job.code, "fitting", "coil"]), form)
    assert answer.status_code == 422
    assert "photograph" in answer.context["form"].errors
    assert not Entry.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_nobody_waits_for_a_photograph_to_be_decoded(monkeypatch, client, mechanic, sheet):
    opened = []

    def watched(upload):
        opened.append(connection.in_atomic_block)
        return prepared(upload)

    for room in (tablet, forms):
        monkeypatch.setattr(room, "prepared", watched)
    sent = message(mechanic, "fuse", message="photograph", entry=str(uuid.uuid4()))
    upload = {"photograph": SimpleUploadedFile("x.jpg", photograph(), content_type="image/jpeg")}
    address = f"/jobs/{sheet.job.code}/sheet/fitting/send/"
    assert client.post(address, {"message": json.dumps(sent)} | upload, headers=JSON).status_code == 200
    form = {"id": uuid.uuid4(), "outcome": Outcome.NOTED, "note": "as it runs"}
    upload["photograph"].seek(0)
    client.post(reverse("checklists:item", args=[sheet.job.code, "fitting", "fuse"]), form | upload)
    assert opened == [False, False]


@pytest.mark.parametrize("revision", ["9" * 5000, "9" * 30, "x", "-1", "\x00", "²"])
def test_a_list_without_sense_begins_no_sheet(client, job_without_sheet, revision):
    address = reverse("checklists:begin", args=[job_without_sheet.code, "fitting"])
    assert_not_found(client.post(address, {"revision": revision}))
    assert not job_without_sheet.sheets.exists()


def test_a_retired_list_begins_no_sheet(client, job_without_sheet):
    revision = published_list([{"key": "fuse"}], retired=True)
    address = reverse("checklists:begin", args=[job_without_sheet.code, "fitting"])
    answer = client.post(address, {"revision": revision.pk}, follow=True)
    assert "withdrawn" in answer.content.decode()
    assert not job_without_sheet.sheets.exists()


def test_an_abandoned_job_s_sheet_is_not_moved_and_says_so(client, sheet):
    published_revision(sheet.revision.template, [{"key": "fuse"}], number=2)
    sheet.job.state = "abandoned"
    sheet.job.state_reason = "sold"
    sheet.job.save()
    address = reverse("checklists:newer", args=[sheet.job.code, "fitting"])
    newest = sheet.revision.template.revisions.first()
    answer = client.post(address, {"revision": newest.pk}, follow=True)
    assert answer.status_code == 200
    assert "is abandoned" in answer.content.decode()
    sheet.refresh_from_db()
    assert sheet.revision.number == 1


def test_a_sheet_is_moved_to_the_revision_that_was_shown_and_no_later_one(client, sheet):
    shown = published_revision(sheet.revision.template, [{"key": "fuse"}], number=2)
    published_revision(sheet.revision.template, [{"key": "plugs", "kind": "text"}], number=3)
    answer = client.post(reverse("checklists:newer", args=[sheet.job.code, "fitting"]), {"revision": shown.pk})
    assert answer.status_code == 409
    assert "A newer revision" in answer.content.decode()
    sheet.refresh_from_db()
    assert sheet.revision.number == 1


def test_a_second_person_confirms_the_figure_that_was_shown_and_no_later_one(browser_of, mechanic, second_mechanic):
    torque = {"key": "torque", "kind": "measure", "unit": "Nm", "second_person": True}
    sheet = sheet_with([torque], person=mechanic)
    shown = enter(sheet, "torque", mechanic, measure=20.0)
    later = enter(sheet, "torque", mechanic, measure=12.0, replaces=[shown.pk])
    client, address = (
        browser_of(second_mechanic),
        reverse("checklists:confirm", args=[sheet.job.code, "fitting", "torque"]),
    )
    answer = client.post(address, {"entry": shown.pk}, follow=True)
    assert "was corrected meanwhile" in answer.content.decode()
    assert not hasattr(Entry.objects.get(pk=later.pk), "confirmation")
    client.post(address, {"entry": later.pk})
    assert Entry.objects.get(pk=later.pk).confirmation.by == second_mechanic


@pytest.mark.parametrize("maker", ["1e400", "-1e400", "Infinity", "NaN"])
def test_a_message_whose_maker_is_no_person_s_number_is_refused(browser_of, mechanic, sheet, maker):
    body = json.dumps({**message(mechanic, "fuse"), "maker": "MAKER"}).replace('"MAKER"', maker)
    url = reverse("checklists:send", args=[sheet.job.code, "fitting"])
    answer = browser_of(mechanic).post(url, body, content_type="application/json", headers=JSON)
    assert answer.status_code == 422
