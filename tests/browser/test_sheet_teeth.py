"""The sheets have teeth: what is recorded is read, what is measured is compared, what is typed is kept."""

import re
import uuid

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from garage.record.models import TrailEntry
from jobs.checklists.models import Entry
from jobs.strobe.actions import begin_base_session
from tests.browser.conftest import LANDSCAPE, session_of
from tests.browser.test_fitting_filling import TARGET, Thumb, all_sent, dock, line, unfolded
from tests.checklists.factories import enter, published_revision, sheet_with, signed_by
from tests.factories import JobFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

MARK = {"key": "mark", "kind": "reading", "reader": "timing-mark", "hold_point": True, "text": "Mark, and recorded"}
POST = {"key": "post", "kind": "choice", "text": "Post to the body", "choices": ["negative", "positive"],
        "hold_point": True, "car_fact": "earth_polarity"}  # fmt: skip
LEAD = {"key": "lead", "kind": "measure", "text": "Longest lead", "unit": "kohm", "correction": "per metre"}
NEXT = {"key": "next", "text": "Wires tied"}


@pytest.fixture
def job(workshop):
    return JobFactory(stage="inspection", vehicle__earth_polarity="negative")


def opened(page: Page, sheet) -> Page:
    stage = "fitting" if sheet.kind == "fitting" else "inspection/sheet"
    page.goto(f"/jobs/{sheet.job.code}/{stage}/")
    expect(page.locator("[data-sheet][data-live]")).to_be_attached()
    return page


def on_a_tablet(tablet, live_server, person, sheet) -> Page:
    page = tablet(live_server.url, session_of(person), LANDSCAPE)
    page.clock.install()  # before the page: a thumb moves this clock, and the page's own must not change under it
    return opened(page, sheet)


def sound(page: Page) -> None:
    """Nothing is cut off, every target is large enough for a glove, and axe finds nothing."""
    assert page.evaluate("() => document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    small = page.evaluate(
        """(least) => [...document.querySelectorAll("[data-dock] :is(button, a.button)")]
            .filter((target) => target.checkVisibility() && target.getBoundingClientRect().height < least)
            .map((target) => target.textContent)""",
        TARGET - 0.5,
    )
    assert small == []
    found = Axe().run(page).response["violations"]
    assert [one["id"] for one in found] == []


# --- item 2: what is recorded is read -------------------------------------------------------------------------------


def test_a_recorded_mark_is_green_only_once_the_piston_stop_has_been_read(tablet, live_server, mechanic, job):
    sheet = sheet_with([MARK, NEXT], person=mechanic, job=job, kind="inspection")
    page = on_a_tablet(tablet, live_server, mechanic, sheet)
    expect(line(page, "mark")).to_contain_text("Timing mark not checked yet.")
    expect(page.get_by_role("button", name="Tick: done")).to_have_count(0)
    expect(unfolded(page, "next").get_by_role("button")).to_be_disabled()
    sound(page)

    dock(page).get_by_role("link", name="Prove the timing mark").tap()
    expect(page).to_have_url(re.compile(r"/inspection/\?next=.*#mark$"))
    for name, degrees in (("first_deg", "-36"), ("second_deg", "36"), ("mark_deg", "0.5")):
        page.locator(f"[name=mark-{name}]").fill(degrees)
    page.locator("form:has([name=mark-first_deg]) button[type=submit]").tap()
    expect(page).to_have_url(re.compile(r"/inspection/sheet/"))  # back on the sheet that led there

    expect(line(page, "mark")).to_contain_text("0.5° off (limit 1°)")
    expect(line(page, "mark")).to_contain_text("Ines Marlow")
    expect(unfolded(page, "next").get_by_role("button")).to_be_enabled()
    expect(dock(page).get_by_role("heading")).to_have_text("Wires tied")


def test_a_hand_tick_that_waited_for_the_network_is_refused_in_a_sentence(tablet, live_server, mechanic, job):
    """The list was renewed while the tablet had no network: what was a tick there is read from the record now."""
    tick = {"key": "mark", "text": "Mark, and recorded"}
    sheet = sheet_with([tick], person=mechanic, job=job, kind="inspection")
    page = on_a_tablet(tablet, live_server, mechanic, sheet)
    page.context.set_offline(True)
    Thumb(page).tap(page.get_by_role("button", name="Tick: done"))
    sheet.revision = published_revision(sheet.revision.template, [MARK], number=2)
    sheet.save()
    page.context.set_offline(False)
    expect(page.locator(".sheet-apart")).to_contain_text("not ticked by hand", timeout=20_000)
    assert not Entry.objects.exists()


# --- item 3: what is measured is compared ---------------------------------------------------------------------------


def test_positive_earth_on_a_negative_car_stops_until_the_record_is_corrected(tablet, live_server, mechanic, job):
    sheet = sheet_with([POST, NEXT], person=mechanic, job=job)
    page = on_a_tablet(tablet, live_server, mechanic, sheet)
    thumb = Thumb(page)
    thumb.tap(dock(page).get_by_role("button", name="positive", exact=True))
    expect(dock(page)).to_contain_text("Measured: positive earth. Car’s record: negative earth.")
    expect(unfolded(page, "next").get_by_role("button")).to_be_disabled()
    sound(page)
    thumb.tap(dock(page).get_by_role("button", name="Correct the record"))
    expect(dock(page).get_by_role("heading")).to_have_text("Wires tied")
    expect(unfolded(page, "next").get_by_role("button")).to_be_enabled()
    all_sent(page)
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "positive"
    sentence = TrailEntry.objects.get(subject_kind="vehicle", event="changed").sentence
    assert "from negative earth to positive earth" in sentence
    assert job.code in sentence


def test_measuring_again_undoes_the_entry_and_leaves_the_record(tablet, live_server, mechanic, job):
    sheet = sheet_with([POST, NEXT], person=mechanic, job=job)
    page = on_a_tablet(tablet, live_server, mechanic, sheet)
    thumb = Thumb(page)
    thumb.tap(dock(page).get_by_role("button", name="positive", exact=True))
    thumb.tap(dock(page).get_by_role("button", name="Measure again"))
    thumb.tap(dock(page).get_by_role("button", name="negative", exact=True))
    expect(dock(page).get_by_role("heading")).to_have_text("Wires tied")
    all_sent(page)
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "negative"


def test_both_are_shown_and_decided_without_a_network(tablet, live_server, mechanic, job):
    sheet = sheet_with([POST, NEXT], person=mechanic, job=job)
    page = on_a_tablet(tablet, live_server, mechanic, sheet)
    thumb = Thumb(page)
    page.context.set_offline(True)
    thumb.tap(dock(page).get_by_role("button", name="positive", exact=True))
    expect(dock(page)).to_contain_text("Car’s record: negative earth")
    thumb.tap(dock(page).get_by_role("button", name="Correct the record"))
    expect(dock(page).get_by_role("heading")).to_have_text("Wires tied")
    page.context.set_offline(False)
    all_sent(page)
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "positive"


def test_an_empty_record_takes_what_was_measured(tablet, live_server, mechanic, workshop):
    job = JobFactory(stage="fitting", vehicle__earth_polarity="")
    page = on_a_tablet(tablet, live_server, mechanic, sheet_with([POST, NEXT], person=mechanic, job=job))
    thumb = Thumb(page)
    thumb.tap(dock(page).get_by_role("button", name="negative", exact=True))
    expect(dock(page).get_by_role("heading")).to_have_text("Wires tied")
    all_sent(page)
    job.vehicle.refresh_from_db()
    assert job.vehicle.earth_polarity == "negative"


def test_what_the_inspection_measured_is_confirmed_by_one_tap(tablet, live_server, mechanic, second_mechanic, job):
    before = sheet_with([LEAD], person=mechanic, job=job, kind="inspection")
    found = enter(before, "lead", mechanic, measure=9.4, beside=0.8)
    again = LEAD | {"inspection_key": "lead"}
    page = on_a_tablet(tablet, live_server, second_mechanic, sheet_with([again, NEXT], person=mechanic, job=job))
    expect(line(page, "lead")).to_contain_text("Inspection: 9.4 kohm (over 0.8 m: 11.8 kohm per metre), Ines Marlow")
    sound(page)
    Thumb(page).tap(dock(page).get_by_role("button", name="Confirm: still so"))
    expect(dock(page).get_by_role("heading")).to_have_text("Wires tied")
    all_sent(page)
    entry = Entry.objects.get(confirms=found)
    assert (entry.by, entry.measure, entry.beside) == (second_mechanic, 9.4, 0.8)


def test_what_the_inspection_measured_is_measured_again_where_it_no_longer_holds(tablet, live_server, mechanic, job):
    before = sheet_with([LEAD], person=mechanic, job=job, kind="inspection")
    enter(before, "lead", mechanic, measure=9.4, beside=0.8)
    again = LEAD | {"inspection_key": "lead"}
    page = on_a_tablet(tablet, live_server, mechanic, sheet_with([again, NEXT], person=mechanic, job=job))
    expect(page.locator(".dock-figure").first).to_be_hidden()
    dock(page).get_by_role("button", name="Measure again").tap()
    page.keyboard.type("4.8")
    page.locator(".dock-beside input").fill("0.4")
    Thumb(page).tap(page.get_by_role("button", name="Save", exact=True))
    expect(dock(page).get_by_role("heading")).to_have_text("Wires tied")
    all_sent(page)
    entry = Entry.objects.get(sheet__kind="fitting")
    assert (entry.measure, entry.beside, entry.confirms) == (4.8, 0.4, None)


# --- item 10: what is typed is kept ---------------------------------------------------------------------------------


def test_a_failed_hold_point_jumps_to_itself_and_not_to_a_skipped_item(tablet, live_server, mechanic, job):
    fuel = {"key": "fuel", "kind": "choice", "text": "Fuel", "choices": ["dry", "leaks"], "good_choices": ["dry"],
            "hold_point": True}  # fmt: skip
    rows = [{"key": "skipped", "text": "Papers read"}, fuel, NEXT]
    page = on_a_tablet(tablet, live_server, mechanic, sheet_with(rows, person=mechanic, job=job))
    dock(page).get_by_role("button", name="Skip").tap()
    Thumb(page).tap(dock(page).get_by_role("button", name="leaks", exact=True))
    expect(dock(page).get_by_role("heading")).to_have_text("Fuel")
    expect(dock(page)).to_contain_text("Blocks the rest: fail")
    page.reload()
    expect(dock(page).get_by_role("heading")).to_have_text("Fuel")


def test_two_readings_typed_within_a_second_are_both_kept_in_their_order(tablet, live_server, mechanic, job):
    session = begin_base_session(job=job, base_deg=8.0, idempotency_key=uuid.uuid4(), actor=signed_by(mechanic))
    page = tablet(live_server.url, session_of(mechanic), LANDSCAPE)
    page.goto(f"/jobs/{job.code}/strobe/{session.pk}/")
    expect(page.locator("[data-strobe][data-live]")).to_be_attached()
    held = []
    page.route("**/send/", lambda route: route.continue_() if held else held.append(route))
    rpm, degrees = page.get_by_label("Speed"), page.get_by_label("Strobe reads")
    expect(rpm).to_be_focused()
    page.keyboard.type("850")
    page.keyboard.press("Enter")
    page.keyboard.type("8")
    page.keyboard.press("Enter")
    expect(rpm).to_be_focused()
    page.keyboard.type("1800")
    page.keyboard.press("Enter")
    page.keyboard.type("7.5")
    page.keyboard.press("Enter")
    expect(page.locator("[data-not-sent] li")).to_have_count(2)
    rpm.fill("2400")  # a third is being typed while the first answers come
    for _ in range(100):  # sent once it lies in the tablet's own store
        if held:
            break
        page.wait_for_timeout(50)
    held[0].continue_()
    expect(page.locator("#session tbody tr")).to_have_count(2)
    expect(page.locator("[data-not-sent] li")).to_have_count(0)
    expect(rpm).to_have_value("2400")
    expect(degrees).to_have_value("")
    page.get_by_role("button", name="Add reading").tap()
    expect(page.locator("[data-problem]")).to_have_text("Strobe reads is still empty. Enter it too.")
    expect(degrees).to_be_focused()
    assert list(session.readings.order_by("received_at").values_list("rpm", flat=True)) == [850, 1800]


def test_a_figure_typed_by_the_pad_is_kept_while_another_line_comes_onto_the_sheet(tablet, live_server, mechanic, job):
    told = {"key": "told", "text": "Owner asked", "applies": {"earth_polarity": ["positive"]}}
    battery = {"key": "battery", "kind": "measure", "text": "Battery", "unit": "V", "decimals": 1}
    page = on_a_tablet(tablet, live_server, mechanic, sheet_with([battery, told], person=mechanic, job=job))
    expect(page.locator("[data-dock][data-ready]")).to_be_visible()
    for digit in "63":
        page.locator(f'.pad [data-key="{digit}"]').tap()
    with page.expect_response(lambda answer: "/state/" in answer.url and answer.status == 200):
        job.vehicle.earth_polarity = "positive"  # somebody else corrects the record
        job.vehicle.save()
    page.wait_for_timeout(300)
    expect(page.locator(".dock-figure input").first).to_have_value("63")
    Thumb(page).tap(page.get_by_role("button", name="Save", exact=True))
    expect(line(page, "told")).to_be_visible()
    assert Entry.objects.get().measure == 63


def test_a_reason_typed_as_a_note_is_kept(tablet, live_server, mechanic, job):
    page = on_a_tablet(tablet, live_server, mechanic, sheet_with([NEXT], person=mechanic, job=job))
    page.get_by_role("button", name="Note", exact=True).tap()
    page.get_by_role("textbox", name="Note").fill("no room for a strap")
    page.get_by_role("button", name="Not possible").tap()
    expect(page.get_by_role("textbox", name="Reason")).to_have_value("no room for a strap")


def test_a_forgotten_figure_leaves_the_other_one_and_the_note(tablet, live_server, mechanic, job):
    page = on_a_tablet(tablet, live_server, mechanic, sheet_with([LEAD], person=mechanic, job=job))
    thumb = Thumb(page)
    page.get_by_role("button", name="Note", exact=True).tap()
    page.get_by_role("textbox", name="Note").fill("cylinder 3")
    page.locator(".dock-figure input").first.fill("9.4")
    thumb.tap(page.get_by_role("button", name="Save", exact=True))
    expect(dock(page).get_by_role("alert")).to_contain_text("length in m")
    expect(page.locator(".dock-figure input").first).to_have_value("9.4")
    expect(page.get_by_role("textbox", name="Note")).to_have_value("cylinder 3")
