"""What is measured is held against the car's record, and a person decides which of both is right."""

import uuid

import pytest
from django.urls import reverse

from garage.record.events import Event
from garage.record.models import TrailEntry
from jobs.checklists.actions import EntryRefusedError
from jobs.checklists.car_facts import CAR_FACTS
from jobs.checklists.models import Entry, Outcome
from jobs.checklists.queries import sheet_progress
from jobs.checklists.record_actions import correct_record
from jobs.checklists.sheet import sheet_of
from tests.checklists.factories import enter, sheet_with, signed_by
from tests.checklists.test_tablet import message, send
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db

POST = {"key": "post", "kind": "choice", "text": "Post to the body", "choices": ["negative", "positive"],
        "hold_point": True, "car_fact": "earth_polarity"}  # fmt: skip
COIL = {"key": "coil", "kind": "measure", "text": "Coil primary", "unit": "ohm", "decimals": 2, "correction": "20 °C",
        "car_fact": "coil_ohm"}  # fmt: skip
ORDER = {"key": "order", "kind": "text", "text": "Firing order", "car_fact": "firing_order"}
COUNT = {"key": "count", "kind": "choice", "text": "Cylinders", "choices": ["4", "6"], "car_fact": "cylinders"}
BALLAST = {"key": "ballast", "kind": "choice", "text": "Ballast", "choices": ["fitted", "none"], "car_fact": "ballast"}
NEXT = {"key": "next"}


@pytest.fixture
def job():
    job = JobFactory(stage="fitting", vehicle__earth_polarity="negative")
    vehicle = job.vehicle
    vehicle.engine.cylinders, vehicle.engine.firing_order = 4, "1-3-4-2"
    vehicle.coil.primary_ohm, vehicle.coil.has_ballast, vehicle.coil.ballast_ohm = 3.0, True, 1.5
    vehicle.engine.save()
    vehicle.coil.save()
    return job


@pytest.fixture
def sheet(job, mechanic):
    return sheet_with([POST, COIL, ORDER, COUNT, BALLAST, NEXT], person=mechanic, job=job)


def line(sheet, key):
    return sheet_of(type(sheet).objects.get(pk=sheet.pk)).line(key)


def settle(entry, seen, person):
    correct_record(entry=entry, seen=seen, actor=signed_by(person))


def test_positive_earth_on_a_car_recorded_as_negative_stops_at_the_hold_point(sheet, job, mechanic):
    enter(sheet, "post", mechanic, choice="positive")
    found = line(sheet, "post")
    assert (found.verdict.mark, found.is_done, found.holds) == ("stop", False, False)
    assert found.comparison.sentence == (
        f"measured {CAR_FACTS['earth_polarity'].text('positive')}, "
        f"the car’s record says {CAR_FACTS['earth_polarity'].text('negative')}"
    )
    assert line(sheet, "next").hold.item.key == "post"
    assert any("the car’s record says" in words for words in sheet_progress(job, "fitting").missing)
    assert sheet_progress(job, "fitting").next_url.endswith("#item-post")


def test_equal_values_pass_in_silence(sheet, mechanic):
    enter(sheet, "post", mechanic, choice="negative")
    assert (line(sheet, "post").verdict.mark, line(sheet, "post").is_done) == ("good", True)


def test_the_record_is_corrected_with_the_trail_naming_both_values_and_the_job(sheet, job, mechanic):
    entry = enter(sheet, "post", mechanic, choice="positive")
    fact = CAR_FACTS["earth_polarity"]
    settle(entry, fact.text("negative"), mechanic)
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "positive"
    assert line(sheet, "post").holds
    of_car = TrailEntry.objects.get(subject_kind="vehicle", event="changed")
    assert job.code in of_car.sentence
    assert f"from {fact.text('negative')} to {fact.text('positive')}" in of_car.sentence
    assert [row["before"] for row in of_car.changes] == [fact.text("negative")]
    of_job = TrailEntry.objects.get(event="record-corrected")
    assert (of_job.job_id, of_job.figures["after"]) == (job.pk, fact.text("positive"))


def test_correcting_it_twice_is_once(sheet, mechanic):
    entry = enter(sheet, "post", mechanic, choice="positive")
    for _ in range(2):
        settle(entry, CAR_FACTS["earth_polarity"].text("negative"), mechanic)
    assert TrailEntry.objects.filter(event="record-corrected").count() == 1


def test_measuring_again_undoes_the_entry_and_leaves_the_record(sheet, job, mechanic):
    entry = enter(sheet, "post", mechanic, choice="positive")
    enter(sheet, "post", mechanic, outcome=Outcome.WITHDRAWN, replaces=[entry.pk])
    assert line(sheet, "post").is_open
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "negative"


def test_an_empty_record_takes_what_was_seen_with_the_entry(mechanic):
    job = JobFactory(stage="fitting", vehicle__earth_polarity="")
    sheet = sheet_with([POST, NEXT], person=mechanic, job=job)
    enter(sheet, "post", mechanic, choice="positive")
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "positive"
    assert line(sheet, "post").is_done
    said = TrailEntry.objects.filter(event=Event.RECORD_CORRECTED).get()
    assert "put in the car’s record: earth polarity, positive earth" in said.sentence


def test_a_second_answer_does_not_go_over_the_first_unseen(mechanic):
    job = JobFactory(stage="fitting", vehicle__earth_polarity="")
    sheet = sheet_with([POST, NEXT], person=mechanic, job=job)
    entry = enter(sheet, "post", mechanic, choice="positive")
    enter(sheet, "post", mechanic, choice="negative", replaces=[entry.pk])
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "positive"
    assert line(sheet, "post").is_unsettled


def test_a_figure_goes_into_an_empty_record_with_one_button(mechanic):
    """What a coil measures is not what its data say: a person decides."""
    job = JobFactory(stage="fitting", vehicle__coil__primary_ohm=None)
    sheet = sheet_with([COIL, NEXT], person=mechanic, job=job)
    entry = enter(sheet, "coil", mechanic, measure=3.0, beside=20)
    assert (line(sheet, "coil").verdict.mark, line(sheet, "coil").is_done) == ("caution", False)
    settle(entry, "", mechanic)
    job.vehicle.coil.refresh_from_db()
    assert job.vehicle.coil.primary_ohm == 3.0
    assert line(sheet, "coil").is_done


def test_what_somebody_else_wrote_in_the_record_meanwhile_is_not_overwritten_unseen(sheet, job, mechanic):
    enter(sheet, "post", mechanic, choice="negative")
    entry = enter(sheet, "coil", mechanic, measure=1.5, beside=20)
    job.vehicle.coil.primary_ohm = 3.4
    job.vehicle.coil.save()
    with pytest.raises(EntryRefusedError, match=r"the car’s record says 3\.40 ohm by now"):
        settle(entry, "3.00 ohm", mechanic)


def test_a_hot_coil_is_held_against_its_data_at_20_degrees(sheet, job, mechanic):
    """3.0 ohm is 3.7074 at 80 °C: copper by IEC 60028, handbook section 10. ±10 %: common practice, no source."""
    enter(sheet, "post", mechanic, choice="negative")
    entry = enter(sheet, "coil", mechanic, measure=3.7074, beside=80)
    assert line(sheet, "coil").is_done
    entry = enter(sheet, "coil", mechanic, measure=1.8537, beside=80, replaces=[entry.pk])
    assert line(sheet, "coil").comparison.measured_text == "1.50 ohm"
    settle(entry, "3.00 ohm", mechanic)
    job.vehicle.coil.refresh_from_db()
    assert job.vehicle.coil.primary_ohm == 1.5


def test_a_firing_order_is_kept_with_hyphens_and_refused_where_it_is_none(sheet, mechanic):
    enter(sheet, "post", mechanic, choice="negative")
    with pytest.raises(EntryRefusedError, match="each of the 4 cylinders once"):
        enter(sheet, "order", mechanic, text="1-3-2")
    sent = uuid.uuid4()
    entry = enter(sheet, "order", mechanic, id=sent, text="1342")
    assert (entry.text, line(sheet, "order").is_done) == ("1-3-4-2", True)
    assert enter(sheet, "order", mechanic, id=sent, text="1342") == entry


def test_a_record_that_would_contradict_itself_lets_go_of_what_no_longer_holds(sheet, job, mechanic):
    enter(sheet, "post", mechanic, choice="negative")
    settle(enter(sheet, "count", mechanic, choice="6"), "4", mechanic)
    settle(enter(sheet, "ballast", mechanic, choice="none"), CAR_FACTS["ballast"].text(True), mechanic)
    job.vehicle.engine.refresh_from_db()
    job.vehicle.coil.refresh_from_db()
    assert (job.vehicle.engine.cylinders, job.vehicle.engine.firing_order) == (6, "")
    assert (job.vehicle.coil.has_ballast, job.vehicle.coil.ballast_ohm) == (False, None)
    said = list(TrailEntry.objects.filter(subject_kind="vehicle", event="changed").values_list("sentence", flat=True))
    assert [sentence.partition("; ")[2] for sentence in said] == [
        "removed with it: firing order", "removed with it: ballast resistance"
    ]  # fmt: skip


def test_an_absurd_measure_never_gets_into_the_record(sheet, mechanic):
    enter(sheet, "post", mechanic, choice="negative")
    entry = enter(sheet, "coil", mechanic, measure=400, beside=20)
    with pytest.raises(EntryRefusedError, match="record does not take this"):
        settle(entry, "3.00 ohm", mechanic)


def test_the_owner_s_override_is_held_against_nothing(sheet, owner):
    enter(sheet, "post", owner, outcome=Outcome.LET_PASS, note="card sent back, goes on the lift first")
    assert line(sheet, "post").holds


def test_the_tablet_corrects_the_record_from_its_queue(sheet, job, mechanic, browser_of):
    client = browser_of(mechanic)
    entry = enter(sheet, "post", mechanic, choice="positive")
    seen = CAR_FACTS["earth_polarity"].text("negative")
    sent = message(mechanic, "post", message="correction", entry=str(entry.pk), seen=seen)
    assert [send(client, sheet, sent).status_code for _ in range(2)] == [200, 200]
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "positive"
    late = message(mechanic, "post", message="correction", entry=str(uuid.uuid4()), seen="")
    assert send(client, sheet, late).status_code == 422


def test_the_page_without_script_shows_both_values_and_one_button_each_way(sheet, job, mechanic, browser_of):
    client = browser_of(mechanic)
    entry = enter(sheet, "post", mechanic, choice="positive")
    address = reverse("checklists:item", args=[job.code, "fitting", "post"])
    page = client.get(address).content.decode()
    assert "Correct the record" in page
    assert "Measure again" in page
    client.post(
        reverse("checklists:correct-record", args=[job.code, "fitting", "post"]),
        {"entry": entry.pk, "seen": CAR_FACTS["earth_polarity"].text("negative")},
    )
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "positive"
    assert "Correct the record" not in client.get(address).content.decode()


# --- what the inspection answered -----------------------------------------------------------------------------------


def both_sheets(mechanic, row, **again):
    job = JobFactory(stage="fitting")
    before = sheet_with([row], person=mechanic, job=job, kind="inspection")
    return before, sheet_with([row | {"inspection_key": row["key"], **again}], person=mechanic, job=job)


LEAD = {"key": "lead", "kind": "measure", "text": "Longest lead", "unit": "kohm", "correction": "per metre"}


def test_what_the_inspection_measured_is_shown_and_confirmed_by_one_tap(mechanic, second_mechanic, browser_of):
    before, now = both_sheets(mechanic, LEAD)
    found = enter(before, "lead", mechanic, measure=9.4, beside=0.8)
    assert line(now, "lead").is_open
    assert line(now, "lead").inspected == found
    client = browser_of(second_mechanic)
    page = client.get(reverse("checklists:item", args=[now.job.code, "fitting", "lead"])).content.decode()
    assert "9.4 kohm" in page
    sent = message(second_mechanic, "lead", measure=9.4, unit="kohm", beside=0.8, confirms=str(found.pk))
    assert send(client, now, sent).status_code == 200
    entry = Entry.objects.get(pk=sent["id"])
    assert (entry.confirms, entry.by, entry.measure) == (found, second_mechanic, 9.4)
    assert line(now, "lead").is_done


def test_a_photograph_of_the_inspection_is_confirmed_without_another_one(mechanic):
    before, now = both_sheets(mechanic, {"key": "bay", "kind": "photo", "text": "Engine bay"})
    found = Entry.objects.create(
        pk=uuid.uuid4(), sheet=before, item=before.revision.items.get(), by=mechanic, made_at=before.begun_at,
        received_at=before.begun_at, outcome=Outcome.DONE,
    )  # fmt: skip
    enter(now, "bay", mechanic, confirms=found.pk)
    assert line(now, "bay").is_done


def test_confirmed_is_what_was_found_and_nothing_else(mechanic):
    before, now = both_sheets(mechanic, LEAD)
    found = enter(before, "lead", mechanic, measure=9.4, beside=0.8)
    with pytest.raises(EntryRefusedError, match="not what the inspection found"):
        enter(now, "lead", mechanic, measure=9.5, beside=0.8, confirms=found.pk)


def test_what_was_corrected_since_is_not_confirmed(mechanic):
    before, now = both_sheets(mechanic, LEAD)
    found = enter(before, "lead", mechanic, measure=9.4, beside=0.8)
    enter(before, "lead", mechanic, measure=12, beside=0.8, replaces=[found.pk])
    with pytest.raises(EntryRefusedError, match="was corrected since"):
        enter(now, "lead", mechanic, measure=9.4, beside=0.8, confirms=found.pk)


def test_a_figure_of_another_meaning_is_not_offered(mechanic):
    before, now = both_sheets(mechanic, LEAD, correction="")
    enter(before, "lead", mechanic, measure=9.4, beside=0.8)
    assert line(now, "lead").inspected is None


def test_a_forgotten_second_figure_brings_the_form_back_filled(mechanic, browser_of):
    _, now = both_sheets(mechanic, LEAD)
    address = reverse("checklists:item", args=[now.job.code, "fitting", "lead"])
    answer = browser_of(mechanic).post(
        address, {"id": uuid.uuid4(), "replaces": "", "outcome": "done", "measure": "9.4", "beside": "", "note": "No 3"}
    )
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="9.4"' in page
    assert "No 3" in page
    # the reason stands beside the box that was forgotten
    assert list(answer.context["form"].errors) == ["beside"]
    assert "length in m too" in page


TWIN = {"key": "twin", "kind": "choice", "text": "Twin", "choices": ["rotor and cap", "no rotor"], "car_fact": "rotor"}
ROTOR = {"key": "range", "kind": "text", "applies": {"cylinders": [2, 4], "rotor": [True]}}


def test_a_twin_that_is_seen_without_a_rotor_is_asked_nothing_more_of_one(job, mechanic):
    """Handbook, section 2: a twin with a spark on every crank turn wastes one, and shares out none."""
    job.vehicle.engine.cylinders, job.vehicle.engine.firing_order = 2, "1-2"
    job.vehicle.engine.save()
    sheet = sheet_with([TWIN, ROTOR, NEXT], person=mechanic, job=job)
    assert line(sheet, "range").applies.unknown == ("rotor",)
    enter(sheet, "twin", mechanic, choice="no rotor")
    job.vehicle.distributor.refresh_from_db()
    assert job.vehicle.distributor.has_rotor is False
    assert line(sheet, "range") is None
    assert line(sheet, "twin").is_done
