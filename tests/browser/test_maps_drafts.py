"""What was typed on the map bench and not saved: kept on the device, shown beside what others saved, never lost."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.test_maps_bench import NODE_OF, degrees_box

pytestmark = pytest.mark.browser


def test_a_tab_closed_with_unstored_figures_finds_them_again(sit_down):
    page = sit_down("kept")
    degrees_box(page, 2500).fill("17")
    expect(page.locator("[data-delivered]").nth(NODE_OF[2500])).to_have_text("17")
    address, context = page.url, page.context
    page.close()
    again = context.new_page()
    again.goto(address)
    expect(degrees_box(again, 2500)).to_have_value("17")
    expect(again.get_by_text("Restored what you typed here")).to_be_visible()
    again.get_by_role("button", name="Discard", exact=True).click()
    expect(degrees_box(again, 2500)).to_have_value("18")


def test_what_was_typed_before_the_page_s_script_was_there_is_kept_too(sit_down):
    page = sit_down("kept")
    held = []
    page.route("**/bench*.js", lambda route: held.append(route))
    with page.expect_request("**/bench*.js"):
        page.reload(wait_until="commit")
    degrees_box(page, 2500).fill("17")
    for script in held:
        script.continue_()
    page.unroute("**/bench*.js")
    expect(page.locator("[data-delivered]").nth(NODE_OF[2500])).to_have_text("17")
    again = second_tab(page)
    expect(degrees_box(again, 2500)).to_have_value("17")
    again.get_by_role("button", name="Discard", exact=True).click()
    expect(degrees_box(again, 2500)).to_have_value("18")


def test_what_was_stored_is_not_put_back_again(sit_down):
    page = sit_down("kept")
    degrees_box(page, 3000).fill("20")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    page.reload()
    expect(degrees_box(page, 3000)).to_have_value("20")
    expect(page.get_by_text("Restored what you typed")).to_be_hidden()


def second_tab(page: Page) -> Page:
    tab = page.context.new_page()
    tab.set_default_timeout(10_000)
    tab.goto(page.url)
    return tab


def store(page: Page) -> None:
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.")).to_be_visible()


def test_what_one_tab_failed_to_send_outlives_what_the_same_person_stores_from_another(sit_down):
    one = sit_down("tabs")
    other = second_tab(one)
    degrees_box(one, 2500).fill("17")
    address = one.url
    one.route("**/map/1/", lambda route: route.abort())
    one.get_by_role("button", name="Save", exact=True).click()
    one.wait_for_url("chrome-error://**")
    one.unroute("**/map/1/")
    degrees_box(other, 3000).fill("20")
    store(other)
    expect(other.get_by_text("Restored what you typed")).to_be_hidden()
    one.goto(address)
    expect(one.get_by_text("Restored what you typed here")).to_be_visible()
    expect(degrees_box(one, 2500)).to_have_value("17")
    one.get_by_role("button", name="Save", exact=True).click()
    both = one.get_by_role("alert").filter(has_text="saved this draft meanwhile")
    expect(both.get_by_role("row", name="2500 rpm 18° 17°")).to_be_visible()


def test_a_tab_closed_over_a_clash_of_two_people_finds_its_figures_again(sit_down):
    mine, theirs = sit_down("left"), sit_down("left", who="second_mechanic")
    degrees_box(theirs, 3000).fill("20")
    store(theirs)
    degrees_box(mine, 2500).fill("17")
    mine.get_by_role("button", name="Save", exact=True).click()
    expect(mine.get_by_text("Tam Okoro saved this draft meanwhile")).to_be_visible()
    expect(mine.get_by_text("Restored what you typed")).to_be_hidden()  # it never left the boxes
    mine.locator("[name=base_deg]").fill("9")
    again = second_tab(mine)
    expect(again.get_by_text("Restored what you typed")).to_be_visible()
    expect(degrees_box(again, 2500)).to_have_value("17")
    expect(again.locator("[name=base_deg]")).to_have_value("9")


def row_of(*cells: str) -> re.Pattern[str]:
    """A row of a table by its cells, whatever white space stands between them."""
    return re.compile(r"\s*".join(map(re.escape, cells)))


def released_meanwhile(sit_down, job: str, typed: dict[int, str]) -> Page:
    """The page of version 1 that the second mechanic released while the first had `typed` on its open draft."""
    mine = sit_down(job)
    for rpm, figure in typed.items():
        degrees_box(mine, rpm).fill(figure)
    mine.wait_for_timeout(100)
    theirs = sit_down(job, who="second_mechanic", path="1/release/")
    theirs.get_by_role("button", name="Release version 1").click()
    expect(theirs.get_by_text("Version 1 released.", exact=True)).to_be_visible()
    mine.reload()
    return mine


def test_figures_of_a_draft_released_meanwhile_are_carried_into_the_next_version(sit_down):
    page = released_meanwhile(sit_down, "carried", {2500: "17", 3000: "20,5"})
    left = page.locator("[data-kept-after] section")
    expect(left).to_contain_text(
        re.compile(r"Typed on this device at \d\d:\d\d on .*\s+Not saved before the version was released")
    )
    expect(left.get_by_role("row")).to_have_text(
        [re.compile("released"), row_of("2500 rpm", "18°", "17°"), row_of("3000 rpm", "21°", "20.5°")]
    )
    left.get_by_role("link", name="Use in next version").click()
    page.get_by_role("link", name="Cancel").click()
    expect(left.get_by_role("row")).to_have_count(3)  # still there
    left.get_by_role("link", name="Use in next version").click()
    page.get_by_label("Reason for the next version").fill("what was typed too late for the first")
    page.get_by_role("button", name="Start next version").click()
    expect(page.get_by_role("heading", name="Version 2")).to_be_visible()
    expect(page.get_by_text("Restored what you typed here")).to_be_visible()
    expect(degrees_box(page, 2500)).to_have_value("17")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved.")).to_be_visible()
    expect(degrees_box(page, 3000)).to_have_value("20.5")
    page.goto(page.url.replace("/2/", "/1/"))
    expect(page.get_by_role("heading", name="Version 1")).to_be_visible()
    expect(page.locator("[data-kept-after] section")).to_have_count(0)


def test_figures_of_a_draft_released_meanwhile_are_thrown_away_on_purpose_alone(sit_down):
    page = released_meanwhile(sit_down, "spoilt", {2500: "17", 3000: "about 20"})
    left = page.locator("[data-kept-after] section")
    # No map can be made of them: they are told cell by cell, as they were typed.
    expect(left.get_by_role("row")).to_have_text(
        [re.compile("released"), row_of("Degrees, row 5", "18", "17"), row_of("Degrees, row 6", "21", "about 20")]
    )
    page.reload()
    left.get_by_role("button", name="Discard").click()
    expect(left).to_have_count(0)
    page.reload()
    expect(page.get_by_role("heading", name="Version 1")).to_be_visible()
    page.wait_for_timeout(300)
    expect(left).to_have_count(0)


def test_what_is_refused_because_it_was_released_is_told_once_and_can_be_carried_over(sit_down):
    mine = sit_down("told")
    degrees_box(mine, 1500).fill("9")
    theirs = sit_down("told", who="second_mechanic", path="1/release/")
    theirs.get_by_role("button", name="Release version 1").click()
    expect(theirs.get_by_text("Version 1 released.", exact=True)).to_be_visible()
    mine.get_by_role("button", name="Save", exact=True).click()
    told = mine.get_by_role("alert").filter(has_text="Not saved: no longer a draft")
    expect(told.get_by_role("row", name="1500 rpm")).to_have_count(1)
    expect(told.get_by_role("link", name="Use in next version")).to_be_visible()


def test_the_second_of_two_people_sees_both_drafts_and_loses_nothing(sit_down):
    first, second = sit_down("conflict"), sit_down("conflict", who="second_mechanic")
    degrees_box(first, 2500).fill("17")
    degrees_box(second, 3000).fill("20")
    first.get_by_role("button", name="Save", exact=True).click()
    expect(first.get_by_text("Saved.")).to_be_visible()
    second.get_by_role("button", name="Save", exact=True).click()
    both = second.get_by_role("alert").filter(has_text="Ines Marlow saved this draft meanwhile")
    expect(both.get_by_role("row", name="2500 rpm 17° 18°")).to_be_visible()
    expect(both.get_by_role("row", name="3000 rpm 21° 20°")).to_be_visible()
    expect(degrees_box(second, 3000)).to_have_value("20")
    second.get_by_role("button", name="Save mine").click()
    expect(second.get_by_text("Saved.")).to_be_visible()
    expect(degrees_box(second, 2500)).to_have_value("18")


def test_what_somebody_stored_while_the_tab_was_closed_is_not_overwritten(sit_down):
    mine = sit_down("closed")
    degrees_box(mine, 2500).fill("17")
    address, context = mine.url, mine.context
    mine.close()
    theirs = sit_down("closed", who="second_mechanic")
    degrees_box(theirs, 3000).fill("20")
    theirs.get_by_role("button", name="Save", exact=True).click()
    expect(theirs.get_by_text("Saved.")).to_be_visible()
    again = context.new_page()
    again.goto(address)
    expect(degrees_box(again, 2500)).to_have_value("17")
    again.get_by_role("button", name="Save", exact=True).click()
    both = again.get_by_role("alert").filter(has_text="Tam Okoro saved this draft meanwhile")
    expect(both.get_by_role("row", name="3000 rpm 20° 21°")).to_be_visible()
    expect(degrees_box(again, 2500)).to_have_value("17")
