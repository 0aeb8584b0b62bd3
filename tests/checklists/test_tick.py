"""A tick on the server: judged before the write lock, looked at again inside it, in few questions."""

import json
import re
import uuid

import pytest
from django.db import connection

from garage.record.models import TrailEntry
from garage.vehicles.actions import change_vehicle
from jobs.checklists import actions
from jobs.checklists.actions import EntryRefusedError, move_to_revision, record_entry
from jobs.checklists.around import read_around
from jobs.checklists.models import Entry, Outcome
from jobs.checklists.scripts import modules_of
from tests.checklists.factories import enter, published_revision, sheet_with, signed_by, whole_sheet
from tests.checklists.test_tablet import message, send
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db

HOLD = {"key": "isolated", "text": "Battery isolated", "hold_point": True}


@pytest.fixture
def sheet(mechanic):
    sheet = sheet_with([HOLD, {"key": "fuse"}, {"key": "strap"}], person=mechanic)
    enter(sheet, "isolated", mechanic)
    return sheet


@pytest.fixture
def meanwhile(monkeypatch):
    """`meanwhile(act)`: somebody does `act` once, after an entry was judged and before the lock is taken for it."""

    def set_up(act):
        judge, acts = actions._judge, [act]

        def and_then(*arguments):
            judged = judge(*arguments)
            if acts:
                acts.pop()()
            return judged

        monkeypatch.setattr(actions, "_judge", and_then)

    return set_up


def test_a_tick_on_a_long_sheet_costs_ten_questions(mechanic, browser_of):
    sheet = sheet_with(whole_sheet(), person=mechanic)
    client = browser_of(mechanic)
    for key in ("item-01", "item-03"):  # the first tick of a device enters the device
        asked: list[str] = []

        def listen(execute, sql, *more, asked=asked):
            asked.append(sql)
            return execute(sql, *more)

        with connection.execute_wrapper(listen):
            assert send(client, sheet, message(mechanic, key)).status_code == 200
    questions = [sql for sql in asked if not re.match("SAVEPOINT|RELEASE|BEGIN|COMMIT", sql)]
    assert len(questions) <= 10, "\n".join(questions)


def test_a_hold_point_undone_after_the_entry_was_judged_still_refuses_it(sheet, mechanic, second_mechanic, meanwhile):
    meanwhile(
        lambda: enter(sheet, "isolated", second_mechanic, outcome=Outcome.WITHDRAWN, replaces=[Entry.objects.get().pk])
    )
    with pytest.raises(EntryRefusedError, match="First the hold point ‘Battery isolated’"):
        enter(sheet, "fuse", mechanic)
    assert not Entry.objects.filter(item__key="fuse").exists()


def test_a_job_abandoned_after_the_entry_was_judged_still_refuses_it(sheet, mechanic, meanwhile):
    meanwhile(lambda: type(sheet.job).objects.filter(pk=sheet.job_id).update(state="abandoned", state_reason="sold"))
    with pytest.raises(EntryRefusedError, match="is abandoned"):
        enter(sheet, "fuse", mechanic)


def test_an_item_that_the_car_no_longer_has_after_the_entry_was_judged_is_refused(mechanic, meanwhile):
    job = JobFactory(stage="fitting", vehicle__earth_polarity="positive")
    sheet = sheet_with([{"key": "swap", "applies": {"earth_polarity": ["positive"]}}], person=mechanic, job=job)
    car = job.vehicle
    found = {"vehicle": car, "row_version": car.row_version, "values": {"earth_polarity": "negative"}, "parts": {}}
    meanwhile(lambda: change_vehicle(**found, actor=signed_by(mechanic)))
    with pytest.raises(EntryRefusedError, match="does not apply to this car"):
        enter(sheet, "swap", mechanic)


def test_an_entry_stands_in_the_journal_under_the_stage_its_job_is_at_when_it_is_written(sheet, mechanic, meanwhile):
    meanwhile(lambda: type(sheet.job).objects.filter(pk=sheet.job_id).update(stage="base-timing"))
    enter(sheet, "fuse", mechanic)
    assert TrailEntry.objects.filter(event="sheet-entry").last().stage == "base-timing"


def test_an_entry_of_an_earlier_revision_of_the_list_keeps_its_own_words(mechanic):
    sheet = sheet_with([HOLD, {"key": "fuse"}], person=mechanic)
    first = enter(sheet, "isolated", mechanic)
    rows = [HOLD | {"text": "Battery off the car"}, {"key": "fuse"}]
    newer = published_revision(sheet.revision.template, rows, sheet.revision.number + 1)
    move_to_revision(sheet=sheet, revision=newer, actor=signed_by(mechanic))
    around = read_around(sheet, "fuse", first.pk)
    assert around.known.item.text == "Battery isolated"


def test_the_same_message_that_came_in_meanwhile_is_one_entry(sheet, mechanic, meanwhile):
    sent = {"sheet": sheet, "key": "fuse", "id": uuid.uuid4(), "actor": signed_by(mechanic)}
    meanwhile(lambda: record_entry(**sent))
    assert record_entry(**sent) == Entry.objects.get(item__key="fuse")


def test_an_id_that_another_item_took_meanwhile_is_refused(sheet, mechanic, meanwhile):
    sent = {"sheet": sheet, "id": uuid.uuid4(), "actor": signed_by(mechanic)}
    meanwhile(lambda: record_entry(**sent, key="strap"))
    with pytest.raises(EntryRefusedError, match="sent twice"):
        record_entry(**sent, key="fuse")
    assert Entry.objects.filter(item__key__in=["fuse", "strap"]).count() == 1


def test_what_somebody_else_entered_meanwhile_stays_beside_it(sheet, mechanic, second_mechanic, meanwhile):
    meanwhile(lambda: enter(sheet, "fuse", second_mechanic))
    enter(sheet, "fuse", mechanic)
    assert {entry.by for entry in Entry.objects.filter(item__key="fuse")} == {mechanic, second_mechanic}


def test_a_page_begins_from_the_state_it_brought_and_asks_for_nothing_that_is_unchanged(sheet, mechanic, browser_of):
    client = browser_of(mechanic)
    text = client.get(f"/jobs/{sheet.job.code}/fitting/").text
    data = json.loads(re.search(r'<script id="sheet-data" type="application/json">(.+?)</script>', text)[1])
    asked = client.get(
        f"/jobs/{sheet.job.code}/sheet/fitting/state/",
        headers={"Accept": "application/json", "If-None-Match": f'"{data["state"]["version"]}"'},
    )
    assert asked.status_code == 304


def test_every_module_of_the_sheet_is_asked_for_at_once(sheet, mechanic, browser_of):
    text = browser_of(mechanic).get(f"/jobs/{sheet.job.code}/fitting/").text
    asked_for = re.findall(r'<link rel="modulepreload" href="([^"]+)"', text)
    assert asked_for == modules_of("fitting/sheet.js")
    assert {"/static/js/fitting/dock.js", "/static/js/figures.js"} <= set(asked_for)
