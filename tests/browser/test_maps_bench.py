"""The bench in hand: dragged by mouse and finger, typed, pasted, by two people, on a tablet and a desk."""

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import Page, expect

from tests.browser.real_server import RealServer

pytestmark = pytest.mark.browser

DESK = {"width": 1440, "height": 900}
NODE_OF = {500: 0, 1000: 1, 1500: 2, 2000: 3, 2500: 4, 3000: 5, 4000: 6, 5000: 7}


@pytest.fixture(scope="module")
def garage(tmp_path_factory) -> Iterator[tuple[RealServer, dict[str, Any]]]:
    server = RealServer(tmp_path_factory.mktemp("maps"))
    server.run("manage.py", "migrate", "-v0")

    told = json.loads(server.run("-m", "tests.browser.map_scenes").splitlines()[-1])
    server.start()
    yield server, told
    server.stop()


@pytest.fixture
def sit_down(chromium, garage) -> Iterator[Any]:
    """`sit_down("drag")`: the mechanic at the bench of that job's first version. Any error on a page fails the test."""
    server, told = garage
    contexts, troubles = [], []

    def at(job: str, *, who: str = "mechanic", touch: bool = False, number: int = 1, path: str = "") -> Page:
        context = chromium.new_context(
            viewport={"width": 1024, "height": 768} if touch else DESK, has_touch=touch, is_mobile=touch, locale="en-GB"
        )
        contexts.append(context)
        context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": told["sessions"][who], "url": server.url}])
        context.on("weberror", lambda error: troubles.append(str(error.error)))
        context.on("console", lambda said: troubles.append(said.text) if "Security Policy" in said.text else None)
        page = context.new_page()
        page.set_default_timeout(10_000)
        page.goto(f"{server.url}/jobs/{told['codes'][job]}/map/{path or f'{number}/'}")
        return page

    yield at
    for context in contexts:
        context.close()
    assert troubles == []


def wanted(page: Page, rpm: int) -> Any:
    return page.locator("[name=curve_deg]").nth(NODE_OF[rpm])


def ring(page: Page, rpm: int) -> Any:
    return page.locator(".chart-node").nth(NODE_OF[rpm]).locator(".chart-node-ring")


def pixels_per_degree(page: Page) -> float:
    return page.evaluate(
        """() => { const plot = document.querySelector(".chart-plot"), d = plot.dataset;
        return plot.getBoundingClientRect().height / (d.upHigh - d.upLow) }"""
    )


def test_a_node_dragged_by_mouse_lands_on_a_step_of_the_unit(sit_down):
    page = sit_down("drag")
    box = ring(page, 2500).bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y - 3.4 * pixels_per_degree(page), steps=6)
    expect(wanted(page, 2500)).to_have_value("21")
    page.mouse.up()
    expect(page.locator("[data-held]").nth(NODE_OF[2500])).to_have_text("21")
    expect(page.locator(".chart-node").nth(NODE_OF[2500])).to_have_attribute("aria-valuenow", "21")


def test_a_node_dragged_by_finger_follows_it_and_the_page_does_not_scroll(sit_down):
    page = sit_down("touch", touch=True)
    target = ring(page, 3000)
    target.scroll_into_view_if_needed()
    before = page.evaluate("scrollY")
    box = target.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    down = -2 * pixels_per_degree(page)
    finger = page.context.new_cdp_session(page)
    finger.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for share in (0.3, 0.6, 1.0):
        finger.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": y - share * down}]})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    expect(wanted(page, 3000)).to_have_value("19")
    assert page.evaluate("scrollY") == before


def test_a_node_moves_by_one_step_with_the_arrow_keys_and_undo_takes_it_back(sit_down):
    page = sit_down("keys")
    page.locator(".chart-node").first.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    expect(wanted(page, 2000)).to_have_value("16")
    page.keyboard.press("Control+z")
    expect(wanted(page, 2000)).to_have_value("15")
    page.keyboard.press("Control+z")
    expect(wanted(page, 2000)).to_have_value("14")
    page.keyboard.press("Control+Shift+z")
    expect(wanted(page, 2000)).to_have_value("15")


def test_the_whole_draft_is_changed_and_stored_by_keyboard_alone(sit_down):
    page = sit_down("keys")
    wanted(page, 1000).focus()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("+")
    expect(wanted(page, 1500)).to_have_value("9")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("-")
    page.keyboard.press("-")
    expect(wanted(page, 1500)).to_have_value("7")
    page.get_by_role("button", name="Store the draft").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("Draft of version 1 stored.")).to_be_visible()
    expect(wanted(page, 1500)).to_have_value("7")


def test_picked_nodes_are_shifted_ramped_and_smoothed_as_the_curve_does_it(sit_down):
    from timing.curve import AdvanceCurve
    from timing.nodes import ramp_between, smooth_nodes

    page = sit_down("tools")
    curve = AdvanceCurve(list(NODE_OF), [0, 2, 8, 14, 18, 21, 24, 24])
    for rpm in (1500, 2000, 2500, 3000):
        page.locator(".row-pick").nth(NODE_OF[rpm]).check()
    page.get_by_role("button", name="Ramp between the ends").click()
    curve = ramp_between(curve, NODE_OF[1500], NODE_OF[3000])
    assert values(page) == [round(degrees) for degrees in curve.degrees]
    page.get_by_label("degrees to shift by").fill("-2")
    page.get_by_role("button", name="Shift by").click()
    curve = AdvanceCurve(list(NODE_OF), values(page))
    assert values(page)[NODE_OF[1500]] == 6
    page.get_by_role("button", name="Smooth").click()
    smooth = smooth_nodes(curve, range(NODE_OF[1500], NODE_OF[3000] + 1))
    assert values(page) == [int(degrees + 0.5) for degrees in smooth.degrees]


def values(page: Page) -> list[float]:
    boxes = page.locator("[name=curve_deg]")
    typed = [boxes.nth(place).input_value() for place in range(boxes.count())]
    return [float(text) for text in typed if text]


def paste(page: Page, target: Any, text: str) -> None:
    target.evaluate(
        """(box, text) => { const data = new DataTransfer(); data.setData("text/plain", text);
        box.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true })) }""",
        text,
    )


def test_columns_pasted_from_a_spreadsheet_fill_the_table_from_the_box_at_hand(sit_down):
    page = sit_down("paste")
    paste(page, page.locator("[name=curve_rpm]").first, "rpm\tdeg\n500\t0\n1200\t4,5\n2200\t12\n3400\t20\n")
    expect(page.locator("[data-says][role=status]")).to_have_text("4 rows pasted.")
    expect(page.locator("[name=curve_rpm]").nth(1)).to_have_value("1200")
    assert values(page)[:4] == [0, 4.5, 12, 20]


def test_a_pasted_column_with_a_word_in_it_is_refused_as_a_whole_with_its_row(sit_down):
    page = sit_down("paste")
    before = values(page)
    paste(page, page.locator("[name=curve_deg]").first, "0\n3\nabout 9\n14\n")
    expect(page.locator("[data-says][role=status]")).to_have_text(
        "Row 3: 'about 9' is not a figure. Nothing was pasted."
    )
    assert values(page) == before


def test_a_figure_beyond_the_unit_is_refused_beside_its_box_and_the_others_stay(sit_down):
    page = sit_down("limits")
    wanted(page, 4000).fill("48")
    error = page.locator("td:has([name=curve_deg]) .cell-error")
    expect(error).to_have_text("The unit holds 0 to 40.")
    expect(wanted(page, 4000)).to_have_attribute("aria-invalid", "true")
    expect(wanted(page, 3000)).to_have_value("21")
    wanted(page, 4000).fill("26")
    expect(error).to_have_count(0)


def test_a_tab_closed_with_unstored_figures_finds_them_again(sit_down):
    page = sit_down("kept")
    wanted(page, 2500).fill("17")
    expect(page.locator("[data-held]").nth(NODE_OF[2500])).to_have_text("17")
    address, context = page.url, page.context
    page.close()
    again = context.new_page()
    again.goto(address)
    expect(wanted(again, 2500)).to_have_value("17")
    expect(again.get_by_text("Put back what was typed here and not stored")).to_be_visible()
    again.get_by_role("button", name="Drop the typed text").click()
    expect(wanted(again, 2500)).to_have_value("18")


def test_what_was_stored_is_not_put_back_again(sit_down):
    page = sit_down("kept")
    wanted(page, 3000).fill("20")
    page.get_by_role("button", name="Store the draft").click()
    expect(page.get_by_text("Draft of version 1 stored.")).to_be_visible()
    page.reload()
    expect(wanted(page, 3000)).to_have_value("20")
    expect(page.get_by_text("Put back what was typed")).to_have_count(0)


def test_the_second_of_two_people_sees_both_drafts_and_loses_nothing(sit_down):
    first, second = sit_down("conflict"), sit_down("conflict", who="second_mechanic")
    wanted(first, 2500).fill("17")
    wanted(second, 3000).fill("20")
    first.get_by_role("button", name="Store the draft").click()
    expect(first.get_by_text("Draft of version 1 stored.")).to_be_visible()
    second.get_by_role("button", name="Store the draft").click()
    both = second.get_by_role("alert").filter(has_text="Ines Marlow stored this draft while you were changing it")
    expect(both.get_by_role("row", name="2500 rpm 17° 18°")).to_be_visible()
    expect(both.get_by_role("row", name="3000 rpm 21° 20°")).to_be_visible()
    expect(wanted(second, 3000)).to_have_value("20")
    second.get_by_role("button", name="Store mine instead").click()
    expect(second.get_by_text("Draft of version 1 stored.")).to_be_visible()
    expect(wanted(second, 2500)).to_have_value("18")


def test_findings_stand_beside_the_place_they_speak_of_while_one_types(sit_down):
    page = sit_down("limits")
    wanted(page, 5000).fill("38")
    finding = page.locator("[data-findings] .finding.tone-stop").first
    expect(finding).to_contain_text("full load")
    letter = finding.get_attribute("data-letter")
    expect(page.locator(f".chart-finding-stop[data-letter={letter}]")).to_be_visible()


def test_a_cell_of_the_surface_is_taken_apart_into_its_sum_by_finger_and_keys(sit_down):
    page = sit_down("six", touch=True)
    surface = page.locator("[data-surface]")
    surface.scroll_into_view_if_needed()
    surface.locator(".chart-cell[data-row='2'][data-column='3']").tap()
    said = page.locator("[data-surface-says]")
    expect(said).to_have_text("22° at 2000 rpm, 0 kPa: 10° base + 12° speed = 22°")
    surface.focus()
    page.keyboard.press("ArrowRight")
    expect(said).to_have_text(re.compile(r"at 2500 rpm, 0 kPa: 10° base"))


def test_two_versions_are_compared_in_a_sentence_a_table_and_a_drawing(sit_down):
    page = sit_down("compare", path="compare/?before=1&after=2")
    expect(page.locator(".comparison-sentence")).to_contain_text(
        "2 degrees out between 2000 and 3000 rpm, rest as before"
    )
    expect(page.get_by_role("row", name="2500 18.0° 16.0° -2.0°")).to_be_visible()
    expect(page.locator("[data-layer=earlier]")).to_be_visible()


def test_one_wrong_value_read_back_is_named_and_nothing_is_in_the_car(sit_down):
    page = sit_down("read-back", path="1/read-back/", touch=True)
    page.get_by_label("The ignition was switched off and on").check()
    for tick in page.locator(".same input").all():
        tick.check()
    page.get_by_label("Rung 2500, shown").fill("21")
    page.get_by_role("button", name="Record the read-back").click()
    expect(page.locator(".mismatches")).to_have_text("Rung 2500: the unit shows 21, the map says 18")
    page.get_by_role("link", name="See all versions").click()
    expect(page.get_by_text("nothing proven")).to_be_visible()
    page.goto(page.url + "1/read-back/")
    page.get_by_label("The ignition was switched off and on").check()
    for tick in page.locator(".same input").all():
        tick.check()
    page.get_by_role("button", name="Record the read-back").click()
    expect(page.get_by_text("Clean. Version 1 is in the car.")).to_be_visible()


def test_a_refit_shows_its_cost_before_and_makes_a_version_for_the_other_type(sit_down):
    page = sit_down("refit", path="1/refit/")
    rows = page.get_by_role("row")
    expect(rows.filter(has_text="Quill 6")).to_contain_text("The rev limit is hard, and the unit's can only be soft.")
    expect(rows.filter(has_text="Fallow 14")).to_contain_text(re.compile(r"\d(\.\d+)?° at \d+ rpm"))
    page.get_by_label("For the unit type").select_option(label="Fallow 14 (revision 1)")
    page.get_by_label("Why").fill("the old unit failed")
    page.get_by_role("button", name="Refit it").click()
    expect(page.get_by_role("heading", name="Version 2")).to_be_visible()
    expect(page.get_by_text("Fallow 14 (revision 1) holds it within")).to_be_visible()


@pytest.mark.parametrize("job", ["single", "speed", "six", "eight"])
def test_the_bench_has_no_barrier_that_axe_knows_of(sit_down, job):
    from axe_playwright_python.sync_playwright import Axe

    page = sit_down(job)
    expect(page.locator(".chart-node").first).to_be_visible()
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true })")
    result = Axe().run(page)
    assert result.violations_count == 0, result.generate_report()


def test_the_script_of_the_bench_stays_small(sit_down):
    """The promise is less than 30 kB before compression, beyond htmx itself."""
    page = sit_down("speed")
    scripts = page.evaluate(
        """async () => { const urls = performance.getEntriesByType("resource").map((one) => one.name)
        .filter((name) => name.split("?")[0].endsWith(".js") && !name.includes("htmx"));
        const sizes = await Promise.all(urls.map(async (url) => (await (await fetch(url)).arrayBuffer()).byteLength));
        return [urls.length, sizes.reduce((sum, size) => sum + size, 0)] }"""
    )
    assert scripts[0] > 5
    assert scripts[1] < 30_000


@pytest.mark.parametrize(
    ("job", "path"),
    [
        ("compare", ""),
        ("compare", "compare/"),
        ("compare", "start/"),
        ("compare", "1/"),
        ("compare", "1/key-in/"),
        ("compare", "1/read-back/"),
        ("compare", "1/refit/"),
        ("compare", "1/keep/"),
        ("compare", "1/next/"),
        ("single", "1/release/"),
    ],
)
def test_the_pages_around_the_bench_have_no_barrier_that_axe_knows_of(sit_down, job, path):
    from axe_playwright_python.sync_playwright import Axe

    page = sit_down(job, path=path or "./", who="owner")
    result = Axe().run(page)
    assert result.violations_count == 0, result.generate_report()


@pytest.mark.parametrize(
    "path", ["/units/", "/units/types/new/", "/units/types/2/", "/units/types/2/revise/", "/units/1/"]
)
def test_the_pages_of_the_units_have_no_barrier_that_axe_knows_of(sit_down, garage, path):
    from axe_playwright_python.sync_playwright import Axe

    page = sit_down("compare", path="./", who="owner")
    page.goto(garage[0].url + path)
    result = Axe().run(page)
    assert result.violations_count == 0, result.generate_report()


def test_what_is_laid_underneath_stays_laid_when_the_draft_is_stored(sit_down):
    page = sit_down("compare", number=2)
    expect(page.locator("[data-layer=earlier]")).to_be_visible()
    page.get_by_role("checkbox", name="version 1").uncheck()
    expect(page.locator("[data-layer=earlier]")).to_have_count(0)
    page.get_by_role("button", name="Store the draft").click()
    expect(page.get_by_text("Draft of version 2 stored.")).to_be_visible()
    expect(page.locator("[data-layer=earlier]")).to_have_count(0)
