"""Blank sheets for a day without a tablet: what is on them, and that it is typed in by the same numbers."""

from io import BytesIO

import pypdf
import pytest
from django.urls import reverse
from django.utils import timezone

from jobs.checklists import queries
from jobs.documents.blank_sheets import set_blank_sheets, sheets_for
from jobs.job.cautions import CAUTIONS_OF
from jobs.job.models import JobKind, Stage
from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory
from tests.signed_in import client_of

ITEMS = [
    {"key": "fuel", "text": "Fuel pipes dry", "hold_point": True, "caution": "No flame while a pipe is open."},
    {"key": "coil", "kind": "measure", "text": "Coil primary", "unit": "ohm", "low": 2.5, "high": 3.5, "decimals": 2},
    {"key": "cap", "kind": "choice", "text": "Cap inside", "choices": ["sound", "tracked"], "good_choices": ["sound"]},
    {"key": "lead", "kind": "measure", "text": "Longest lead", "unit": "kohm", "correction": "per metre"},
    {"key": "edge", "text": "Trigger edge told", "hold_point": True, "second_person": True},
    {"key": "fuse", "kind": "text", "text": "Fuse and where it sits"},
]


@pytest.fixture
def sheet(mechanic):
    return sheet_with(ITEMS, person=mechanic)


@pytest.fixture
def at_the_car(mechanic):
    return client_of(mechanic)


def pages_of(made):
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(BytesIO(made)).pages]


def typed_in(client, sheet, lines, written="T. Reed, 28 Nov"):
    address = reverse("checklists:from-paper", args=[sheet.job.code, sheet.kind])
    key = "5f0e6c1e-0000-4000-8000-000000000001"
    return client.post(address, {"idempotency_key": key, "written": written, "lines": lines})


def line(sheet, key):
    return queries.sheet(type(sheet.job).objects.get(pk=sheet.job.pk), sheet.kind).line(key)


def test_each_item_stands_under_its_number_with_its_limits_unit_and_caution(sheet):
    job = sheet.job
    pages = pages_of(set_blank_sheets(job, ["fitting"], timezone.now()))
    text = " ".join(pages)
    for number, item in enumerate(ITEMS, start=1):
        assert f"{number} Stop here until this passes {item['text']}" in text or f"{number} {item['text']}" in text
    assert "2.50 to 3.50 ohm" in text
    assert "No flame while a pipe is open." in text
    assert "a sound" in text
    assert "b tracked" in text
    assert "Second check by" in text
    for caution in CAUTIONS_OF[Stage.FITTING]:
        assert caution.text.split(";")[0].replace("  ", " ")[:60] in text
    for count, page in enumerate(pages, start=1):
        assert f"{job.vehicle.registration} · job {job.code}" in page
        assert f"page {count} of {len(pages)}" in page


def test_the_numbers_on_paper_are_those_on_the_screen(sheet, at_the_car):
    page = at_the_car.get(queries.sheet_page(sheet.job, sheet.kind)).content.decode()
    assert '<span class="line-number">2</span>' in page
    assert (
        "No. 2"
        in at_the_car.get(reverse("checklists:item", args=[sheet.job.code, sheet.kind, "coil"])).content.decode()
    )


def test_what_was_entered_already_is_on_the_paper_and_asked_no_second_time(sheet, mechanic):
    enter(sheet, "fuel", mechanic)
    text = " ".join(pages_of(set_blank_sheets(sheet.job, ["fitting"], timezone.now())))
    assert f"Entered: done ({mechanic}" in text


@pytest.mark.parametrize(
    ("kind", "offered"),
    [
        (JobKind.CONVERSION, ["inspection", "fitting", "strobe", "road"]),
        (JobKind.UNIT_REPLACED, ["fitting", "strobe"]),
        (JobKind.CHECK, ["inspection", "strobe"]),
    ],
)
def test_a_job_is_offered_the_sheets_of_its_kind(db, kind, offered):
    assert [blank.value for blank in sheets_for(JobFactory(kind=kind))] == offered


def test_strobe_and_road_sheets_have_their_limits_and_numbered_lines(sheet):
    strobe, road = pages_of(set_blank_sheets(sheet.job, ["strobe", "road"], timezone.now()))
    assert "Limit: ±1.0°" in strobe
    assert "Several readings at once" in strobe
    assert "pinking, flat spot" in road
    assert "The driver only drives" in road
    assert " 14 " in f"{road} "


def test_lines_typed_in_by_number_are_entries_that_say_that_they_come_from_paper(sheet, at_the_car):
    answer = typed_in(at_the_car, sheet, "3 b; hairline at post 2\n1 ok\n 2   2.96  \n4 4.8   0.4\n")
    assert answer.status_code == 302
    assert line(sheet, "coil").current.measure == 2.96
    assert line(sheet, "cap").current.choice == "tracked"
    assert line(sheet, "cap").current.note == "from paper, T. Reed, 28 Nov: hairline at post 2"
    assert (line(sheet, "lead").current.measure, line(sheet, "lead").current.beside) == (4.8, 0.4)


def test_sent_twice_they_are_entered_once(sheet, at_the_car):
    typed_in(at_the_car, sheet, "1 ok\n2 2.96")
    typed_in(at_the_car, sheet, "1 ok\n2 2.96")
    assert sheet.entries.count() == 2


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("77 ok", "No. 77 is not on this sheet."),
        ("2 warm", "No. 2: "),
        ("3 c", "No. 3: write one of: a sound, b tracked."),
        ("2 2.9 3.1", "No. 2: one figure, in ohm."),
        ("1 ok\n1 ok", "No. 1 is here twice."),
        ("coil 2.9", "write the no., a blank and the answer"),
    ],
)
def test_what_cannot_be_read_is_said_by_its_number_and_nothing_is_saved(sheet, at_the_car, typed, said):
    answer = typed_in(at_the_car, sheet, f"{typed}\n6 5 A, behind the heater")
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert sheet.entries.count() == 0


def test_a_hold_point_that_waits_ends_it_there_and_the_rest_stays_in_the_box(sheet, at_the_car):
    answer = typed_in(at_the_car, sheet, "1 ok\n2 2.96\n3 a\n4 4.8 0.4\n5 ok\n6 5 A")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sheet.entries.count() == 5
    assert "No. 6: First the hold point" in page
    assert "6 5 A</textarea>" in page


def test_what_has_an_answer_is_not_overwritten_from_paper(sheet, mechanic, at_the_car):
    enter(sheet, "fuel", mechanic)
    answer = typed_in(at_the_car, sheet, "1 ok")
    assert "No. 1 has an answer already." in answer.content.decode()


def test_the_papers_page_prints_them_for_whoever_works_on_the_car(sheet, at_the_car, front_desk):
    address = reverse("documents:blank-sheets", args=[sheet.job.code])
    assert address in at_the_car.get(reverse("handover:page", args=[sheet.job.code])).content.decode()
    assert at_the_car.get(address, {"sheets": ["fitting"]})["Content-Type"] == "application/pdf"
    assert at_the_car.get(address, {"sheets": ["bill"]}).status_code == 302
    assert client_of(front_desk).get(address, {"sheets": ["fitting"]}).status_code == 403
