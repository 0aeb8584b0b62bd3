"""The sheet's pages as they work without any script."""

import io
import re
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from jobs.checklists.models import Entry, JobSheet, Outcome, Photograph
from jobs.checklists.photographs import NOT_READABLE
from tests.checklists.factories import enter, every_kind, photograph, published_list, sheet_with
from tests.factories import JobFactory
from tests.pages import assert_not_found, assert_not_open

pytestmark = pytest.mark.django_db


@pytest.fixture
def sheet(mechanic):
    return sheet_with(every_kind(), person=mechanic)


def item(sheet, key):
    return f"/jobs/{sheet.job.code}/sheet/fitting/items/{key}/"


def form(**values):
    return {"id": str(uuid.uuid4()), "outcome": "done", **values}


def page(client, sheet):
    return client.get(f"/jobs/{sheet.job.code}/fitting/")


def test_a_job_without_a_sheet_offers_the_lists_the_one_for_this_car_first(mechanic, browser_of):
    published_list([{"key": "a"}], name="Electronic trigger kept", suits={"trigger": ["hall"]})
    published_list([{"key": "a"}], name="Points stay", suits={"trigger": ["contact breaker"]})
    job = JobFactory(stage="fitting")
    job.vehicle.distributor.trigger = "contact breaker"
    job.vehicle.distributor.save()
    text = browser_of(mechanic).get(f"/jobs/{job.code}/fitting/").text
    assert text.index("Points stay") < text.index("Electronic trigger kept")
    assert text.count("fits this car") == 1


def test_the_first_sheet_of_a_workshop_brings_the_lists_along(mechanic, browser_of):
    job, client = JobFactory(stage="fitting"), browser_of(mechanic)
    address = f"/jobs/{job.code}/fitting/"
    assert "Add Crankmark lists" in client.get(address).text
    answer = client.post("/check-lists/put-in/", {"next": address})
    assert answer["Location"] == address
    assert "Start this list" in client.get(address).text


def test_putting_the_lists_in_leads_nowhere_outside(mechanic, browser_of):
    answer = browser_of(mechanic).post("/check-lists/put-in/", {"next": "https://elsewhere.example/"})
    assert answer["Location"] == "/check-lists/"


def test_beginning_a_sheet_keeps_its_revision(mechanic, browser_of):
    job, revision, client = JobFactory(stage="fitting"), published_list([{"key": "fuse"}]), browser_of(mechanic)
    for _ in range(2):
        client.post(f"/jobs/{job.code}/sheet/fitting/begin/", {"revision": revision.pk})
    assert JobSheet.objects.get().revision == revision


def test_a_tick_leads_to_the_next_open_item(sheet, mechanic, browser_of):
    answer = browser_of(mechanic).post(item(sheet, "battery-isolated"), form())
    assert answer["Location"] == f"/jobs/{sheet.job.code}/fitting/#item-coil-primary"


def test_a_form_sent_twice_is_one_entry(sheet, mechanic, browser_of):
    client, sent = browser_of(mechanic), form()
    for _ in range(2):
        client.post(item(sheet, "battery-isolated"), sent)
    assert Entry.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "figure"), [("1.48", 1.48), ("1,48", 1.48), (" 1.5 ", 1.5), ("−2", -2.0), ("-.5", -0.5)]
)
def test_a_figure_is_read_as_people_type_it(sheet, mechanic, browser_of, typed, figure):
    enter(sheet, "battery-isolated", mechanic)
    browser_of(mechanic).post(item(sheet, "coil-primary"), form(measure=typed))
    assert Entry.objects.get(item__key="coil-primary").measure == figure


@pytest.mark.parametrize("typed", ["1.4.8", "ohm", "1e999", "nan", "inf", "1 4 8"])
def test_what_is_no_figure_comes_back_filled_in_with_the_reason(sheet, mechanic, browser_of, typed):
    enter(sheet, "battery-isolated", mechanic)
    answer = browser_of(mechanic).post(item(sheet, "coil-primary"), form(measure=typed, note="hot"))
    assert answer.status_code == 422
    assert "is not a figure" in answer.text
    assert f'value="{typed}"' in answer.text
    assert 'value="hot"' in answer.text


def test_an_entry_past_an_open_hold_point_comes_back_with_the_reason(sheet, mechanic, browser_of):
    answer = browser_of(mechanic).post(item(sheet, "coil-primary"), form(measure="1.5"))
    assert answer.status_code == 422
    assert "Battery isolated" in answer.text
    assert not Entry.objects.exists()


def test_not_possible_without_a_reason_comes_back(sheet, mechanic, browser_of):
    answer = browser_of(mechanic).post(item(sheet, "battery-isolated"), form(outcome="not possible"))
    assert answer.status_code == 422
    assert "give the reason in the note" in answer.text


def test_a_photograph_is_stored_by_the_form(sheet, mechanic, browser_of):
    enter(sheet, "battery-isolated", mechanic)
    upload = SimpleUploadedFile("loom.heic", photograph(), content_type="image/heic")
    browser_of(mechanic).post(item(sheet, "loom"), form(photograph=upload))
    assert Photograph.objects.get().entry.item.key == "loom"


def test_a_tick_with_a_photograph_is_both(sheet, mechanic, browser_of):
    upload = SimpleUploadedFile("x.jpg", photograph(), content_type="image/jpeg")
    browser_of(mechanic).post(item(sheet, "battery-isolated"), form(photograph=upload))
    assert Entry.objects.get().outcome == Outcome.DONE
    assert Photograph.objects.count() == 1


def test_a_text_file_for_a_photograph_comes_back_with_the_reason(sheet, mechanic, browser_of):
    enter(sheet, "battery-isolated", mechanic)
    upload = SimpleUploadedFile("loom.jpg", b"not a picture", content_type="image/jpeg")
    answer = browser_of(mechanic).post(item(sheet, "loom"), form(photograph=upload))
    assert answer.status_code == 422
    assert NOT_READABLE in answer.text


def test_the_history_of_an_item_is_one_tap_from_the_sheet(sheet, mechanic, browser_of):
    enter(sheet, "battery-isolated", mechanic, note="clock lead too")
    client = browser_of(mechanic)
    # Its section is done and folded to a line: the item's own page has the history.
    link = re.search(rf'href="({re.escape(item(sheet, "battery-isolated"))})"', page(client, sheet).text)
    text = client.get(link[1]).text
    assert "clock lead too" in text
    assert "Ines Marlow" in text


def test_an_entry_can_be_taken_back_from_the_page(sheet, mechanic, browser_of):
    entry = enter(sheet, "battery-isolated", mechanic)
    browser_of(mechanic).post(item(sheet, "battery-isolated"), form(outcome="withdrawn", replaces=str(entry.pk)))
    assert "undone" in browser_of(mechanic).get(item(sheet, "battery-isolated")).text


def test_two_different_entries_are_both_shown_and_one_can_be_kept(sheet, mechanic, second_mechanic, browser_of):
    enter(sheet, "battery-isolated", mechanic)
    enter(sheet, "coil-primary", mechanic, measure=1.5)
    enter(sheet, "coil-primary", second_mechanic, measure=1.6)
    client = browser_of(mechanic)
    text = client.get(item(sheet, "coil-primary")).text
    assert "Keep 1.50 ohm (Ines Marlow" in text
    assert "Keep 1.60 ohm (Tam Okoro" in text
    kept = re.search(r'name="id" value="([^"]+)">\s*<input type="hidden" name="replaces" value="([^"]+)"', text)
    client.post(item(sheet, "coil-primary"), form(id=kept[1], replaces=kept[2], outcome="withdrawn"))
    assert "Keep" not in client.get(item(sheet, "coil-primary")).text


def test_a_second_person_is_offered_to_confirm_and_the_first_is_not(mechanic, second_mechanic, browser_of):
    sheet = sheet_with([{"key": "torque", "second_person": True}], person=mechanic)
    entry = enter(sheet, "torque", mechanic)
    words = "Second check</button>"
    assert words not in browser_of(mechanic).get(item(sheet, "torque")).text
    assert words in browser_of(second_mechanic).get(item(sheet, "torque")).text
    shown = browser_of(second_mechanic).get(item(sheet, "torque")).text
    assert f'name="entry" value="{entry.pk}"' in shown
    browser_of(second_mechanic).post(item(sheet, "torque") + "second/", {"entry": entry.pk})
    assert "second check: Tam Okoro" in page(browser_of(mechanic), sheet).text


def test_the_front_desk_reads_the_sheet_and_writes_nothing(sheet, front_desk, browser_of):
    client = browser_of(front_desk)
    text = page(client, sheet).text
    assert "Battery isolated" in text
    assert "Tick: done" not in text
    assert_not_open(client.post(item(sheet, "battery-isolated"), form()))
    assert_not_open(client.post(f"/jobs/{sheet.job.code}/sheet/fitting/begin/", {"revision": 1}))


def test_who_has_no_role_sees_no_sheet(sheet, stranger, browser_of):
    answer = page(browser_of(stranger), sheet)
    assert_not_open(answer)
    assert "Battery isolated" not in answer.text


@pytest.mark.parametrize("address", ["/jobs/99-9999/fitting/", "/jobs/99-9999/sheet/fitting/items/x/"])
def test_an_unknown_job_is_a_quiet_404(mechanic, browser_of, address):
    assert_not_found(browser_of(mechanic).get(address))


def test_moving_to_a_newer_revision_is_asked_for_and_shown_before(sheet, mechanic, browser_of):
    from tests.checklists.factories import published_revision

    enter(sheet, "battery-isolated", mechanic)
    rows = [*every_kind(), {"key": "relay", "text": "Relay fitted"}]
    newer = published_revision(sheet.revision.template, rows, number=2)
    client, address = browser_of(mechanic), f"/jobs/{sheet.job.code}/sheet/fitting/newer/"
    assert "show changes in revision 2" in page(client, sheet).text
    shown = client.get(address).text
    assert "Relay fitted" in shown
    assert f'name="revision" value="{newer.pk}"' in shown
    assert JobSheet.objects.get().revision.number == 1
    client.post(address, {"revision": newer.pk})
    assert JobSheet.objects.get().revision.number == 2


def test_an_item_of_unknown_use_says_which_fact_of_the_car_is_missing(mechanic, browser_of):
    rows = [{"key": "case", "text": "Case isolated", "applies": {"earth_polarity": ["positive"]}}]
    sheet = sheet_with(rows, person=mechanic)
    assert "the earth polarity of this car is not known" in page(browser_of(mechanic), sheet).text


def test_the_sheet_page_leaves_no_markup_of_a_note_alive(sheet, mechanic, browser_of):
    enter(sheet, "battery-isolated", mechanic, note="</script><script>alert(1)</script>")
    assert "<script>alert" not in page(browser_of(mechanic), sheet).text


def test_a_stored_photograph_is_no_larger_than_a_screen_needs(sheet, mechanic, browser_of):
    from PIL import Image

    enter(sheet, "battery-isolated", mechanic)
    upload = SimpleUploadedFile("x.jpg", photograph(4000, 3000), content_type="image/jpeg")
    browser_of(mechanic).post(item(sheet, "loom"), form(photograph=upload))
    with Photograph.objects.get().file.open() as stored:
        assert Image.open(io.BytesIO(stored.read())).size == (2048, 1536)
