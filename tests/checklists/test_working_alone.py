"""The second check where one person works: from a fresh start, read anew, and said to be so.

How long a pause makes a fresh start, and how far apart two speeds are: common practice, no source.
"""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
import time_machine
from django.contrib.auth.hashers import make_password
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from garage.people.actions import say_alone_today
from garage.people.models import Workshop
from garage.record.models import TrailEntry
from jobs.checklists.models import Confirmation, Entry
from jobs.checklists.presentation import row_of
from jobs.checklists.refusals import EntryRefusedError
from jobs.checklists.second_check_actions import look_again
from jobs.checklists.sheet import sheet_of
from jobs.job.second_check import SecondCheckRefusedError, pause_in_words
from tests.checklists.factories import enter, sheet_with, signed_by
from tests.factories import fact_of

pytestmark = pytest.mark.django_db

PLAY = {"key": "play", "kind": "measure", "text": "Free play", "unit": "mm", "high": 0.5, "decimals": 1}
SPARK = {"key": "spark", "kind": "choice", "text": "Spark", "choices": ["all", "one dead"], "good_choices": ["all"]}
NOON = timezone.localtime().replace(hour=12)  # far from the night, when a day ends
TORQUE = {"key": "torque", "text": "Clamp tight"}
ROWS = [row | {"second_person": True, "hold_point": True} for row in (PLAY, SPARK, TORQUE)]


@pytest.fixture
def alone(workshop):
    Workshop.objects.update(works_alone=True)


@pytest.fixture
def sheet(mechanic, workshop):
    return sheet_with(ROWS, person=mechanic)


def line(sheet, key):
    return sheet_of(type(sheet).objects.get(pk=sheet.pk)).line(key)


def after(minutes, person):
    return replace(signed_by(person), at=timezone.now() + timedelta(minutes=minutes))


def again(entry, person, minutes=21, **seen):
    return look_again(entry=entry, id=uuid.uuid4(), actor=after(minutes, person), **seen)


def test_after_a_pause_the_same_person_measures_again_and_the_hold_point_opens(alone, sheet, mechanic):
    entry = enter(sheet, "play", mechanic, measure=0.2)
    again(entry, mechanic, minutes=185, measure=0.3)
    found = line(sheet, "play")
    assert found.is_done
    assert found.holds
    assert row_of(found)["second"].endswith("(same person, 3 h later: 0.3 mm)")
    assert "(same person, 3 h later)" in TrailEntry.objects.latest("id").sentence


@pytest.mark.parametrize(("minutes", "opens"), [(19, False), (20.1, True)])
def test_sooner_than_twenty_minutes_is_no_fresh_start(alone, sheet, mechanic, minutes, opens):
    entry = enter(sheet, "play", mechanic, measure=0.2)
    if opens:
        assert again(entry, mechanic, minutes=minutes, measure=0.2)
    else:
        with pytest.raises(
            SecondCheckRefusedError, match=r"^Too soon after your own work. Check again from \d\d:\d\d.$"
        ):
            again(entry, mechanic, minutes=minutes, measure=0.2)


def test_the_workshop_may_ask_for_a_longer_pause(alone, sheet, mechanic):
    Workshop.objects.update(alone_pause_min=120)
    entry = enter(sheet, "play", mechanic, measure=0.2)
    with pytest.raises(SecondCheckRefusedError):
        again(entry, mechanic, minutes=119, measure=0.2)
    assert again(entry, mechanic, minutes=121, measure=0.2)


def test_where_others_work_ones_own_second_check_is_refused(sheet, mechanic):
    entry = enter(sheet, "play", mechanic, measure=0.2)
    with pytest.raises(SecondCheckRefusedError, match="someone else must do the second check"):
        again(entry, mechanic, measure=0.2)


@time_machine.travel(NOON)
def test_whoever_says_to_be_alone_today_may_and_the_trail_says_so(sheet, mechanic):
    for _ in range(2):
        say_alone_today(actor=signed_by(mechanic))
    assert TrailEntry.objects.filter(event="alone-today").count() == 1
    entry = enter(sheet, "play", mechanic, measure=0.2)
    assert again(entry, mechanic, measure=0.2)


def test_alone_today_is_over_tomorrow(sheet, mechanic):
    say_alone_today(actor=signed_by(mechanic))
    entry = enter(sheet, "play", mechanic, measure=0.2)
    with pytest.raises(SecondCheckRefusedError):
        again(entry, mechanic, minutes=24 * 60, measure=0.2)


@pytest.mark.parametrize(("key", "first"), [("play", {"measure": 0.2}), ("spark", {"choice": "all"}), ("torque", {})])
def test_a_bare_tick_is_no_second_check(alone, sheet, mechanic, key, first):
    answered = [("play", {"measure": 0.2}), ("spark", {"choice": "all"}), ("torque", {})]
    for one, values in answered[: [k for k, _ in answered].index(key)]:
        again(enter(sheet, one, mechanic, **values), mechanic, **(values or {"text": "tight"}))
    entry = enter(sheet, key, mechanic, **first)
    with pytest.raises(EntryRefusedError):
        again(entry, mechanic)


def test_a_second_figure_that_fails_stands_beside_the_first_until_one_is_kept(alone, sheet, mechanic):
    entry = enter(sheet, "play", mechanic, measure=0.2)
    kept = again(entry, mechanic, measure=0.9)
    assert isinstance(kept, Entry)
    found = line(sheet, "play")
    assert found.is_conflict
    assert not found.holds
    assert {one.measure for one in found.standing} == {0.2, 0.9}


def test_another_choice_than_the_first_stands_beside_it(alone, sheet, mechanic):
    again(enter(sheet, "play", mechanic, measure=0.2), mechanic, measure=0.2)
    again(enter(sheet, "spark", mechanic, choice="all"), mechanic, choice="one dead")
    assert line(sheet, "spark").is_conflict


def test_sent_twice_it_is_one(alone, sheet, mechanic):
    entry, sent = enter(sheet, "play", mechanic, measure=0.2), uuid.uuid4()
    one, two = (look_again(entry=entry, id=sent, actor=after(30, mechanic), measure=0.3) for _ in range(2))
    assert one == two
    assert Confirmation.objects.count() == 1


@pytest.mark.parametrize(
    "short_of_it",
    [{"own_pause_s": 1199, "measure": 0.2}, {"own_pause_s": None, "measure": 0.2}, {"own_pause_s": 1200}],
    ids=["too soon", "no pause", "nothing read"],
)
def test_the_database_itself_refuses_less(sheet, mechanic, actor, short_of_it):
    entry = enter(sheet, "play", mechanic, measure=0.2)
    with pytest.raises(IntegrityError), transaction.atomic():
        Confirmation.objects.create(entry=entry, first_person=mechanic, **fact_of(actor), **short_of_it)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(None, ""), (1200, "20 min"), (7199, "119 min"), (7200, "2 h"), (172_799, "47 h"), (172_800, "2 d")],
)
def test_the_pause_is_said_in_words(seconds, words):
    assert pause_in_words(seconds) == (f"same person, {words} later" if words else "")


# --- the page ---------------------------------------------------------------------------------------------------------


def address(sheet, key, name="again"):
    return reverse(f"checklists:{name}", args=[sheet.job.code, sheet.kind, key])


def test_the_page_does_not_show_what_was_found_first(alone, browser_of, sheet, mechanic):
    enter(sheet, "play", mechanic, measure=0.37, note="left side stiff")
    page = browser_of(mechanic).get(address(sheet, "play")).content.decode()
    assert "Free play" in page
    assert "Limits: 0.5 mm or less" in page
    assert "0.37" not in page
    assert "0.4" not in page
    assert "left side stiff" not in page


def test_read_again_on_the_page_it_leads_back_to_the_sheet(alone, browser_of, sheet, mechanic, monkeypatch):
    entry = enter(sheet, "play", mechanic, measure=0.2)
    later = timezone.now() + timedelta(minutes=30)
    monkeypatch.setattr("garage.people.actor.timezone.now", lambda: later)
    typed = {"id": uuid.uuid4(), "entry": entry.pk, "measure": "0,3"}
    answer = browser_of(mechanic).post(address(sheet, "play"), typed)
    assert answer.status_code == 302
    assert answer.url.endswith("#item-play")
    assert Confirmation.objects.get().measure == 0.3


def test_too_soon_the_page_says_when(alone, browser_of, sheet, mechanic):
    entry = enter(sheet, "play", mechanic, measure=0.2)
    typed = {"id": uuid.uuid4(), "entry": entry.pk, "measure": "0.3"}
    answer = browser_of(mechanic).post(address(sheet, "play"), typed)
    assert answer.status_code == 422
    assert "Check again from" in answer.content.decode()


# --- a colleague's PIN beside the item -------------------------------------------------------------------------------


def second_by_pin(browser, sheet, entry, person, pin):
    return browser.post(
        address(sheet, "play", "confirm"),
        {"entry": entry.pk, "person": person.pk, "pin": pin},
        headers={"accept": "application/json"},
    )


@pytest.fixture
def colleague(second_mechanic):
    second_mechanic.bench_pin = make_password("2468")
    second_mechanic.save()
    return second_mechanic


def test_a_colleague_gives_it_by_pin_and_the_first_person_stays_signed_in(browser_of, sheet, mechanic, colleague):
    entry, browser = enter(sheet, "play", mechanic, measure=0.2), browser_of(mechanic)
    assert second_by_pin(browser, sheet, entry, colleague, "2468").status_code == 200
    assert Confirmation.objects.get().by == colleague
    assert str(browser.session["_auth_user_id"]) == str(mechanic.pk)


def test_a_wrong_pin_gives_none(browser_of, sheet, mechanic, colleague):
    entry = enter(sheet, "play", mechanic, measure=0.2)
    answer = second_by_pin(browser_of(mechanic), sheet, entry, colleague, "1111")
    assert (answer.status_code, answer.json()) == (422, {"problem": "Wrong PIN."})
    assert not Confirmation.objects.exists()


def test_ones_own_pin_is_none(browser_of, sheet, mechanic, colleague):
    mechanic.bench_pin = make_password("1357")
    mechanic.save()
    entry = enter(sheet, "play", mechanic, measure=0.2)
    assert second_by_pin(browser_of(mechanic), sheet, entry, mechanic, "1357").status_code == 422
    assert not Confirmation.objects.exists()


def test_somebody_who_may_not_record_is_no_colleague(browser_of, sheet, mechanic, front_desk):
    front_desk.bench_pin = make_password("2468")
    front_desk.save()
    entry = enter(sheet, "play", mechanic, measure=0.2)
    assert second_by_pin(browser_of(mechanic), sheet, entry, front_desk, "2468").status_code == 422
    assert not Confirmation.objects.exists()
