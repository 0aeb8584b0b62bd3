"""The sheet in the hands of a mechanic: a tablet, one thumb, gloves."""

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Locator, Page, expect

from jobs.checklists.models import Entry, Outcome
from jobs.checklists.sheet import sheet_of
from tests.browser.conftest import LANDSCAPE, PORTRAIT, session_of
from tests.checklists.factories import enter, every_kind, photograph, sheet_with, whole_sheet
from tests.factories import JobFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# WCAG 2.2, success criterion 2.5.8 asks for 24 px; gloves ask for the 48 px of this house's look.
TARGET = 48


class Thumb:
    """Counts what a thumb does; digits are counted by themselves."""

    def __init__(self, page: Page) -> None:
        self.page, self.taps, self.digits = page, 0, 0

    def tap(self, target: Locator) -> None:
        # What is newly shown takes no answer for a moment, so that a double tap does not answer it.
        expect(target).to_be_visible()
        self.page.clock.fast_forward(500)
        expect(self.page.locator("[data-dock][data-ready]")).to_be_visible()
        target.tap()
        self.taps += 1

    def type(self, figure: str) -> None:
        for digit in figure:
            self.page.locator(f'.pad [data-key="{digit}"]').tap()
            self.digits += 1


def opened(page: Page, sheet) -> Page:
    page.clock.install()
    page.goto(f"/jobs/{sheet.job.code}/fitting/")
    expect(page.locator("[data-sheet][data-live]")).to_be_attached()
    return page


def dock(page: Page) -> Locator:
    return page.locator("[data-dock]")


def line(page: Page, key: str) -> Locator:
    return page.locator(f'[data-key="{key}"].line')


def unfolded(page: Page, key: str) -> Locator:
    """The line of that item, its section opened at a tap where it is folded to a line."""
    found = line(page, key)
    section = page.locator("details", has=found)
    if section.get_attribute("open") is None:
        section.locator("summary").tap()
    return found


def all_sent(page: Page) -> None:
    expect(page.locator("[data-status]")).to_contain_text("all sent")


@pytest.fixture
def sheet(mechanic):
    return sheet_with(every_kind(), person=mechanic)


def test_a_sheet_of_45_items_takes_no_more_than_one_tap_and_a_third_an_item(tablet, live_server, mechanic):
    sheet = sheet_with(whole_sheet(), person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic), LANDSCAPE), sheet)
    thumb = Thumb(page)
    for line_of_sheet in sheet_of(sheet).lines:
        item = line_of_sheet.item
        expect(dock(page).get_by_role("heading")).to_have_text(item.text)
        match item.kind:
            case "measure":
                thumb.type("0.3")
                thumb.tap(page.get_by_role("button", name="Save", exact=True))
            case "choice":
                thumb.tap(page.get_by_role("button", name="sound", exact=True))
            case _:
                thumb.tap(page.get_by_role("button", name="Tick: done"))
    expect(dock(page)).to_contain_text("Sheet complete")
    all_sent(page)
    assert sheet_of(sheet).done == 45
    assert Entry.objects.count() == 45
    assert thumb.taps <= 45 * 1.3, f"{thumb.taps} taps and {thumb.digits} digits"


def test_a_double_tap_ticks_one_item(tablet, live_server, mechanic):
    sheet = sheet_with([{"key": "one"}, {"key": "two"}, {"key": "three"}], person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    tick = page.get_by_role("button", name="Tick: done")
    expect(page.locator("[data-dock][data-ready]")).to_be_visible()  # an item just opened takes no answer yet
    tick.scroll_into_view_if_needed()  # waits until it stands still
    box = tick.bounding_box()
    for _ in range(2):
        page.touchscreen.tap(box["x"] + 40, box["y"] + 20)
    expect(dock(page).get_by_role("heading")).to_have_text("Two")
    all_sent(page)
    page.wait_for_timeout(600)
    assert [entry.item.key for entry in Entry.objects.all()] == ["one"]


@pytest.mark.parametrize(
    ("answer", "control"),
    [({"kind": "tick"}, "Tick: done"), ({"kind": "choice", "choices": ["sound", "cracked"]}, "sound")],
    ids=["tick", "choice"],
)
def test_a_second_tap_before_the_first_is_kept_is_none(tablet, live_server, mechanic, answer, control):
    sheet = sheet_with([{"key": "one", **answer}, {"key": "two"}], person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    expect(page.locator("[data-dock][data-ready]")).to_be_visible()
    page.get_by_role("button", name=control, exact=True).evaluate("(button) => { button.click(); button.click(); }")
    expect(dock(page).get_by_role("heading")).to_have_text("Two")
    all_sent(page)
    assert [entry.item.key for entry in Entry.objects.all()] == ["one"]


def test_in_or_out_of_tolerance_is_said_in_words_while_typing(tablet, live_server, mechanic, sheet):
    enter(sheet, "battery-isolated", mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    thumb, verdict = Thumb(page), page.locator(".dock-verdict")
    expect(verdict).to_contain_text("1.35 to 1.65 ohm")
    thumb.type("1.8")
    expect(verdict).to_contain_text("fail, high")
    expect(verdict.locator("svg.tone-stop")).to_be_visible()
    thumb.tap(page.get_by_role("button", name="Delete the last digit"))
    thumb.type("5")
    expect(verdict).to_contain_text("pass")
    expect(verdict.locator("svg.tone-good")).to_be_visible()


def test_a_physical_keyboard_types_and_stores(tablet, live_server, mechanic, sheet):
    enter(sheet, "battery-isolated", mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    page.keyboard.type("1,48")
    page.keyboard.press("Enter")
    expect(line(page, "coil-primary")).to_contain_text("1.48")
    all_sent(page)
    assert Entry.objects.get(item__key="coil-primary").measure == 1.48


def test_a_figure_that_is_none_stays_and_says_why(tablet, live_server, mechanic, sheet):
    enter(sheet, "battery-isolated", mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    page.keyboard.type("1.4x")
    page.keyboard.press("Enter")
    expect(dock(page).get_by_role("alert")).to_contain_text("is not a figure")
    expect(page.locator(".dock-figure input")).to_have_value("1.4x")
    assert Entry.objects.count() == 1


def test_an_entry_is_undone_by_a_new_one(tablet, live_server, mechanic, sheet):
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    thumb = Thumb(page)
    thumb.tap(page.get_by_role("button", name="Tick: done"))
    thumb.tap(page.get_by_role("button", name="Undo"))
    expect(line(page, "battery-isolated")).to_contain_text("to do")
    all_sent(page)
    assert list(Entry.objects.values_list("outcome", flat=True)) == [Outcome.DONE, Outcome.WITHDRAWN]


def test_nothing_behind_an_open_hold_point_can_be_ticked(tablet, live_server, mechanic, sheet):
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    expect(unfolded(page, "routed").get_by_role("button")).to_be_disabled()
    unfolded(page, "routed").locator("[data-open]").tap()
    expect(dock(page)).to_contain_text("Waiting for the hold point ‘Battery isolated’")
    expect(page.get_by_role("button", name="Tick: done")).to_be_hidden()
    unfolded(page, "battery-isolated").locator("[data-open]").tap()
    Thumb(page).tap(page.get_by_role("button", name="Tick: done"))
    expect(unfolded(page, "routed").get_by_role("button")).to_be_enabled()


def test_a_hold_point_out_of_tolerance_keeps_the_rest(tablet, live_server, mechanic):
    rows = [{"key": "overlap", "kind": "measure", "unit": "mm", "low": 1, "hold_point": True}, {"key": "wire"}]
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet_with(rows, person=mechanic))
    page.keyboard.type("0.7")
    page.keyboard.press("Enter")
    expect(dock(page)).to_contain_text("Blocks the rest: fail, low")
    expect(unfolded(page, "wire").get_by_role("button")).to_be_disabled()


def test_a_tick_in_the_list_is_one_tap(tablet, live_server, mechanic):
    sheet = sheet_with([{"key": "one"}, {"key": "two"}], person=mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    unfolded(page, "two").get_by_role("button", name="Tick: Two").tap()
    expect(line(page, "two")).to_contain_text("done")
    all_sent(page)
    assert Entry.objects.get().item.key == "two"


def test_a_note_goes_with_the_entry(tablet, live_server, mechanic, sheet):
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    page.get_by_role("button", name="Note", exact=True).tap()
    page.get_by_role("textbox", name="Note").fill("clock lead too")
    Thumb(page).tap(page.get_by_role("button", name="Tick: done"))
    expect(line(page, "battery-isolated")).to_contain_text("‘clock lead too’")
    all_sent(page)
    assert Entry.objects.get().note == "clock lead too"


def test_not_possible_wants_a_reason(tablet, live_server, mechanic, sheet):
    enter(sheet, "battery-isolated", mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    page.get_by_role("button", name="Not possible").tap()
    store = page.get_by_role("button", name="Save reason")
    store.tap()
    expect(dock(page).get_by_role("alert")).to_contain_text("Enter the reason first")
    page.get_by_role("textbox", name="Reason").fill("coil sealed in")
    store.tap()
    expect(line(page, "coil-primary")).to_contain_text("not possible")


def test_a_photograph_comes_straight_from_the_camera(tablet, live_server, mechanic, sheet):
    for key, value in {"battery-isolated": {}, "coil-primary": {"measure": 1.5}, "cap": {"choice": "sound"}}.items():
        enter(sheet, key, mechanic, **value)
    enter(sheet, "fuse", mechanic, text="8 A, by the battery")
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    camera = page.locator("[data-dock] .dock-photo-large input[type=file]")
    expect(camera).to_have_attribute("capture", "environment")
    camera.set_input_files({"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": photograph(1200, 900)})
    expect(line(page, "loom").locator("img")).to_be_visible()
    all_sent(page)
    expect(line(page, "loom").locator("img")).to_have_attribute("src", re.compile("/jobs/photographs/.+/small/"))
    assert sheet_of(sheet).line("loom").is_done


def test_a_refused_photograph_stays_in_sight_with_the_reason_until_it_is_dropped(tablet, live_server, mechanic, sheet):
    enter(sheet, "battery-isolated", mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    script = {"name": "IMG_1.jpg", "mimeType": "image/jpeg", "buffer": b"<script>alert(1)</script>"}
    page.locator("[data-dock] .dock-more input[type=file]").set_input_files(script)
    refused = page.locator(".sheet-apart")
    expect(refused).to_contain_text("Not a readable photograph")
    page.reload()
    expect(refused).to_contain_text("Not a readable photograph")
    refused.get_by_role("button", name="Discard entry").tap()
    refused.get_by_role("button", name="Discard for good").tap()
    expect(refused).to_have_count(0)


def test_the_history_of_an_item_is_one_tap_away(tablet, live_server, mechanic, sheet):
    first = enter(sheet, "battery-isolated", mechanic)
    enter(sheet, "battery-isolated", mechanic, note="clock lead too", replaces=[first.pk])
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    unfolded(page, "battery-isolated").get_by_role("link", name="history").tap()
    past = page.get_by_role("dialog")
    expect(past.locator("li")).to_have_count(2)
    expect(past).to_contain_text("Ines Marlow")
    past.get_by_role("button", name="Close").tap()
    expect(past).to_be_hidden()


def test_a_second_person_confirms_on_another_tablet(tablet, live_server, mechanic, second_mechanic):
    sheet = sheet_with([{"key": "torque", "second_person": True, "hold_point": True}, {"key": "wire"}], person=mechanic)
    first = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    Thumb(first).tap(first.get_by_role("button", name="Tick: done"))
    expect(dock(first)).to_contain_text("second check needed")
    all_sent(first)
    second = opened(tablet(live_server.url, session_of(second_mechanic)), sheet)
    second.get_by_role("button", name="Second check").tap()
    all_sent(second)
    expect(line(first, "torque")).to_contain_text("second check: Tam Okoro", timeout=5_000)
    expect(dock(first).get_by_role("heading")).to_have_text("Wire")


@pytest.mark.parametrize(
    ("car", "shown"),
    [
        ({"earth_polarity": "positive", "system_volts": 6, "tachometer": "none"}, ["earth", "six"]),
        ({"earth_polarity": "negative", "system_volts": 12, "tachometer": "coil current"}, ["tacho"]),
        ({"earth_polarity": "negative", "system_volts": 12, "tachometer": "mechanical"}, []),
        ({}, ["earth", "six", "tacho"]),
    ],
)
def test_each_car_gets_the_items_that_apply_to_it(tablet, live_server, mechanic, car, shown):
    rows = [
        {"key": "always"},
        {"key": "earth", "applies": {"earth_polarity": ["positive"]}},
        {"key": "six", "applies": {"system_volts": [6]}},
        {"key": "tacho", "applies": {"tachometer": ["coil current"]}},
    ]
    job = JobFactory(stage="fitting", **{f"vehicle__{name}": value for name, value in car.items()})
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet_with(rows, person=mechanic, job=job))
    keys = [found.get_attribute("data-key") for found in page.locator(".line").all()]
    assert keys == ["always", *shown]
    if not car:
        expect(line(page, "six")).to_contain_text("Shown because the system voltage of this car is not known")


@pytest.mark.parametrize(
    "viewport", [PORTRAIT, LANDSCAPE, {"width": 390, "height": 844}], ids=["portrait", "landscape", "phone"]
)
def test_every_target_is_large_enough_for_a_glove_and_nothing_is_wider_than_the_screen(
    tablet, live_server, mechanic, sheet, viewport
):
    enter(sheet, "battery-isolated", mechanic)
    page = opened(tablet(live_server.url, session_of(mechanic), viewport), sheet)
    small = page.evaluate(
        """(least) => [...document.querySelectorAll("[data-sheet] :is(button, a, summary)")]
            .filter((target) => target.checkVisibility())
            .map((target) => [target.textContent.trim(), target.getBoundingClientRect()])
            .filter(([, box]) => box.height < least || box.width < least)
            .map(([words, box]) => `${words}: ${box.width} by ${box.height}`)""",
        TARGET - 0.5,
    )
    assert small == []
    assert page.evaluate("() => document.documentElement.scrollWidth <= document.documentElement.clientWidth")


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_nothing_on_the_sheet(tablet, live_server, mechanic, second_mechanic, sheet, theme):
    enter(sheet, "battery-isolated", mechanic)
    enter(sheet, "coil-primary", mechanic, measure=1.5)
    enter(sheet, "coil-primary", second_mechanic, measure=1.8)
    page = tablet(live_server.url, session_of(mechanic), LANDSCAPE)
    page.emulate_media(color_scheme=theme)
    opened(page, sheet)
    assert violations(page) == []
    unfolded(page, "feed-drop").locator("[data-open]").tap()
    page.get_by_role("button", name="Note", exact=True).tap()
    assert violations(page) == []
    unfolded(page, "coil-primary").get_by_role("link", name="history").tap()
    assert violations(page) == []


def test_axe_finds_nothing_on_the_pages_without_script_and_of_the_lists(tablet, live_server, owner, sheet):
    revision = sheet.revision
    page = tablet(live_server.url, session_of(owner), LANDSCAPE)
    for address in (
        f"/jobs/{sheet.job.code}/sheet/fitting/items/coil-primary/",
        f"/jobs/{JobFactory(stage='fitting').code}/fitting/",
        "/check-lists/",
        "/check-lists/new/",
        f"/check-lists/{revision.template_id}/",
        f"/check-lists/revisions/{revision.pk}/",
    ):
        page.goto(address)
        assert violations(page) == [], address
    page.goto(f"/check-lists/{revision.template_id}/")
    page.get_by_role("button", name="Start next revision").tap()
    expect(page.get_by_role("link", name="Publish revision")).to_be_visible()
    assert violations(page) == []
    page.get_by_role("link", name="Coil primary at 20 °C", exact=True).tap()
    expect(page.get_by_role("button", name="Save", exact=True)).to_be_visible()
    assert violations(page) == []
    page.go_back()
    page.get_by_role("link", name="Remove Coil primary").tap()
    expect(page.get_by_role("button", name="Remove item")).to_be_visible()
    assert violations(page) == []


def violations(page: Page) -> list[str]:
    found = Axe().run(page)
    return [f"{one['id']}: {[node['html'] for node in one['nodes']][:3]}" for one in found.response["violations"]]


def test_the_screen_stays_awake_on_the_sheet(tablet, live_server, mechanic, sheet):
    page = tablet(live_server.url, session_of(mechanic))
    page.add_init_script("navigator.wakeLock.request = async (kind) => { window.keptAwake = kind; return {}; };")
    opened(page, sheet)
    page.wait_for_function("() => window.keptAwake === 'screen'")


def test_conflicting_entries_are_both_shown_and_one_is_kept(tablet, live_server, mechanic, second_mechanic, sheet):
    enter(sheet, "battery-isolated", mechanic)
    enter(sheet, "coil-primary", mechanic, measure=1.5)
    enter(sheet, "coil-primary", second_mechanic, measure=1.6)
    page = opened(tablet(live_server.url, session_of(mechanic)), sheet)
    expect(line(page, "coil-primary")).to_contain_text("1.50 ohm, pass: Ines Marlow")
    expect(line(page, "coil-primary")).to_contain_text("1.60 ohm, pass: Tam Okoro")
    page.get_by_role("button", name=re.compile("Keep 1.60 ohm")).tap()
    expect(line(page, "coil-primary").locator('[data-slot="value"]')).to_have_text("1.60")
    all_sent(page)
    assert sheet_of(sheet).line("coil-primary").current.measure == 1.6
