"""What the rotor page asks for: each figure once, written where it belongs."""

import math
import re
from uuid import uuid4

import pytest
from django.urls import reverse

from garage.models import TrailEntry
from jobs.checklists.models import Entry
from jobs.fitting.rotor import rotor_page
from tests.checklists.factories import sheet_with
from tests.fitting.rotor_cars import CONTACTS, CRANK, FOUR, ITEMS, job_with, mapped, measured
from timing.distributor import PhasingKind

pytestmark = pytest.mark.django_db


def address(job):
    return reverse("fitting:rotor", args=[job.code])


def asked(html):
    """The names of what the form asks for."""
    form = html[html.index('<form class="form"') :] if '<form class="form"' in html else ""
    return set(re.findall(r'name="([a-z_]+)"', form)) - {
        "csrfmiddlewaretoken", "theme", "id", "row_version", "replaces",
    }  # fmt: skip


def hidden(html, name):
    tag = re.search(rf'<input type="hidden" name="{name}"[^>]*>', html)
    value = re.search(r'value="([^"]*)"', tag.group(0)) if tag else None
    return value.group(1) if value else ""


def sent(client, job, **typed):
    """Fill the form of the page and send it."""
    html = client.get(address(job)).text
    form = {name: hidden(html, name) for name in ("id", "row_version", "replaces")}
    return client.post(address(job), {**form, **typed})


def test_what_is_known_is_not_asked_for(mechanic, browser_of):
    job = job_with(**(FOUR | CONTACTS | {"post_width_mm": None, "rim_diameter_mm": None}), trigger_place="distributor")
    measured(job, mechanic)
    names = asked(browser_of(mechanic).get(address(job)).text)
    assert names == {"post_width_mm", "rim_diameter_mm", "edge_told", "tip_at_edge", "tip_degrees"}


def test_of_a_twin_is_asked_whether_it_has_a_rotor(mechanic, browser_of):
    assert "has_rotor" in asked(browser_of(mechanic).get(address(job_with(cylinders=2, **CONTACTS))).text)


def test_a_place_that_nobody_told_is_asked_for_before_what_hangs_on_it(mechanic, browser_of):
    job = job_with(**FOUR, trigger="hall")
    measured(job, mechanic)
    names = asked(browser_of(mechanic).get(address(job)).text)
    assert "trigger_place" in names
    assert not {"tip_at_edge", "rotor_in_line_at"} & names


def test_a_trigger_on_the_crank_is_asked_for_the_angle_in_line_alone(mechanic, browser_of):
    job = job_with(**FOUR, **CRANK)
    measured(job, mechanic)
    names = asked(browser_of(mechanic).get(address(job)).text)
    assert "rotor_in_line_at" in names
    assert not {"tip_at_edge", "edge_told", "plate_moves"} & names


def test_measures_of_the_car_go_to_its_record_with_a_line_in_the_trail(mechanic, browser_of):
    job = job_with(**(FOUR | {"rotor_tip_width_mm": None}), trigger="hall")
    answer = sent(browser_of(mechanic), job, rotor_tip_width_mm="7,2", trigger_place="distributor", plate_moves="True")
    assert answer.status_code == 302
    distributor = job.vehicle.distributor
    distributor.refresh_from_db()
    assert (distributor.rotor_tip_width_mm, distributor.trigger_place, distributor.plate_moves) == (
        7.2, "distributor", True,
    )  # fmt: skip
    [change] = TrailEntry.objects.filter(subject_kind="vehicle", subject_id=job.vehicle_id)
    assert change.by == mechanic
    assert {row["label"] for row in change.changes} == {
        "distributor, rotor tip width", "distributor, place of the trigger",
        "distributor, plate or pick-up can be moved",
    }  # fmt: skip


def test_the_tip_at_the_edge_goes_on_the_sheet_and_stands_there(mechanic, browser_of):
    job = job_with(**FOUR, **CONTACTS)
    mapped(job, 8, 40)
    sheet = measured(job, mechanic)
    assert sent(browser_of(mechanic), job, tip_at_edge="-4.4").status_code == 302
    entry = Entry.objects.get(sheet=sheet, item__key="tip-at-edge")
    assert (entry.measure, entry.by) == (-4.4, mechanic)
    assert rotor_page(job).phasing.kind is PhasingKind.HOLDS


def test_measured_again_it_corrects_what_stood_and_keeps_it(mechanic, browser_of):
    job = job_with(**FOUR, **CONTACTS)
    mapped(job, 8, 40)
    sheet = measured(job, mechanic, tip_at_edge=0.0)
    assert rotor_page(job).phasing.kind is PhasingKind.OUT_OF_LINE
    sent(browser_of(mechanic), job, tip_at_edge="-4.4")
    first, second = Entry.objects.filter(sheet=sheet, item__key="tip-at-edge").order_by("received_at")
    assert (first.measure, second.measure, second.supersedes_id) == (0.0, -4.4, first.pk)
    assert rotor_page(job).phasing.kind is PhasingKind.HOLDS


def test_degrees_of_a_wheel_are_kept_as_the_arc_with_what_was_read(mechanic, browser_of):
    job = job_with(**FOUR, **CONTACTS)
    sheet = measured(job, mechanic)
    sent(browser_of(mechanic), job, tip_degrees="-8")
    entry = Entry.objects.get(sheet=sheet, item__key="tip-at-edge")
    assert entry.measure == pytest.approx(-8 * math.pi / 180 * 32)
    assert entry.note == "read as −8 distributor degrees"
    assert rotor_page(job).facts.tip_at_edge_dist_deg == pytest.approx(-8)


@pytest.mark.parametrize(
    ("rim", "typed", "words"),
    [
        (64.0, {"tip_at_edge": "2", "tip_degrees": "3"}, "Either the arc or the degrees."),
        (None, {"tip_degrees": "3"}, "Needed, to keep the degrees as an arc along the rim."),
        # half way round a rim of 64 mm is 100.5 mm
        (64.0, {"tip_at_edge": "101"}, "That is more than half way round a rim of 64 mm."),
        (64.0, {}, "Write at least one figure."),
        (64.0, {"tip_at_edge": "four"}, "‘four’ is not a figure."),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field_and_kept(rim, typed, words, mechanic, browser_of):
    job = job_with(**FOUR, **(CONTACTS | {"rim_diameter_mm": rim}))
    measured(job, mechanic)
    answer = sent(browser_of(mechanic), job, **typed)
    assert answer.status_code == 422
    assert words in answer.text
    for value in typed.values():
        assert f'value="{value}"' in answer.text
    assert not Entry.objects.exists()


def test_sent_twice_it_is_entered_once(mechanic, browser_of):
    job = job_with(**(FOUR | CONTACTS | {"rim_diameter_mm": None}))
    sheet, client = measured(job, mechanic), browser_of(mechanic)
    html = client.get(address(job)).text
    form = {name: hidden(html, name) for name in ("id", "row_version", "replaces")}
    for _ in range(2):
        answer = client.post(address(job), {**form, "tip_at_edge": "3", "rim_diameter_mm": "64"})
        assert answer.status_code == 302
    assert sheet.entries.count() == 1
    assert TrailEntry.objects.filter(subject_kind="vehicle", subject_id=job.vehicle_id).count() == 1


def test_a_car_that_was_changed_meanwhile_is_not_written_over(mechanic, browser_of):
    job = job_with(**(FOUR | CONTACTS | {"rim_diameter_mm": None}))
    sheet, client = measured(job, mechanic), browser_of(mechanic)
    html = client.get(address(job)).text
    form = {name: hidden(html, name) for name in ("id", "row_version", "replaces")}
    assert client.post(address(job), {**form, "rim_diameter_mm": "60"}).status_code == 302
    late = client.post(address(job), {**form, "id": str(uuid4()), "rim_diameter_mm": "64", "tip_at_edge": "3"})
    assert late.status_code == 409
    assert "Someone else changed this" in late.text
    assert not sheet.entries.exists(), "all of it, or none"
    job.vehicle.distributor.refresh_from_db()
    assert job.vehicle.distributor.rim_diameter_mm == 60


def test_a_hold_point_before_it_refuses_in_words_and_keeps_what_was_typed(mechanic, browser_of):
    job = job_with(**FOUR, **CONTACTS)
    sheet_with([{"key": "battery-isolated", "hold_point": True}, *ITEMS], person=mechanic, job=job)
    answer = sent(browser_of(mechanic), job, tip_at_edge="-4.4")
    assert answer.status_code == 422
    assert "‘Battery isolated’" in answer.text
    assert 'value="-4.4"' in answer.text


def test_before_the_sheet_is_begun_the_page_leads_to_it(mechanic, browser_of):
    job = job_with(**FOUR, **CONTACTS)
    text = browser_of(mechanic).get(address(job)).text
    assert "Start fitting sheet" in text
    assert "tip_at_edge" not in asked(text)


def test_only_those_who_record_readings_may_enter_them(front_desk, browser_of):
    job = job_with(**FOUR, **CONTACTS)
    client = browser_of(front_desk)
    assert asked(client.get(address(job)).text) == set()
    assert client.post(address(job), {"tip_at_edge": "1"}).status_code == 403


def test_the_page_shows_how_it_is_measured(mechanic, browser_of):
    job = job_with(**FOUR, **CONTACTS)
    text = browser_of(mechanic).get(address(job)).text
    assert "img/drawings/tip-at-edge" in text
    assert "Mark the rim of the body at the tip" in text
    crank = browser_of(mechanic).get(address(job_with(**FOUR, **CRANK))).text
    assert "img/drawings/tip-at-edge" not in crank
    assert "Read the pulley in degrees before top dead centre" in crank


def test_a_sensor_is_watched_and_no_lamp_is_put_across_points(mechanic, browser_of):
    points = browser_of(mechanic).get(address(job_with(**FOUR, **CONTACTS))).text
    assert "Stop when the lamp shows the points open." in points
    sensor = job_with(**FOUR, trigger="hall", trigger_place="distributor")
    text = browser_of(mechanic).get(address(sensor)).text
    assert "the points open" not in text
    assert "a meter on the sensor" in text
