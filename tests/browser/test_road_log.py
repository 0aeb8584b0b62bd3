"""A log is uploaded and read in the background; its time line is moved by keys, and its clock by a note."""

import threading

import pytest
from django.db import connection
from playwright.sync_api import expect

from jobs.models import RoadLog
from jobs.roadlogs.importing import read_in
from tests.bench.bench_road_log import write_log
from tests.browser.conftest import session_of
from tests.roadlogs.conftest import begun, hear

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def read_beside(log) -> threading.Thread:
    """A worker, as `manage.py serve` has one beside the pages."""

    def work():
        read_in(log_id=log.pk, tries=log.tries)
        connection.close()

    worker = threading.Thread(target=work)
    worker.start()
    return worker


def test_read_in_the_background_and_moved_by_keys_and_a_note(
    tablet, live_server, mechanic, second_mechanic, actor, tmp_path, request
):
    run = begun(actor, second_mechanic)
    rows = 1_000_000 if request.config.getoption("--long") else 20_000
    file = tmp_path / "hill.csv"
    write_log(file, rows)
    hear(run, actor, rows / 200)
    page = tablet(live_server.url, session_of(mechanic))
    page.set_default_timeout(60_000)
    page.goto(f"/jobs/{run.job.code}/road-test/{run.pk}/logs/")
    page.get_by_label("Log as CSV").set_input_files(file)
    page.get_by_role("button", name="Upload log").click()
    expect(page.get_by_role("heading", name="First rows")).to_be_visible()
    page.get_by_role("button", name="Read log").click()
    expect(page.get_by_role("progressbar")).to_be_visible()

    log = RoadLog.objects.get()
    worker = read_beside(log)
    if rows == 1_000_000:
        expect(page.get_by_text("% read")).not_to_contain_text("0% read. You")
    expect(page.get_by_role("heading", name="Seconds in each cell")).to_be_visible(timeout=60_000)
    worker.join()

    line = page.locator("[data-time-line]")
    expect(line).to_have_attribute("data-ready", "yes")
    page.locator("canvas").focus()
    page.keyboard.press("+")
    expect(line).to_have_attribute("data-from", f"{rows / 400:.2f}")
    page.keyboard.press("End")
    whole = "2:46:40 (h:min:s)" if rows == 1_000_000 else "3:20 (min:s)"  # a hundred rows a second
    expect(page.locator("[data-says]")).to_contain_text(f"of {whole}")
    page.keyboard.press("0")
    expect(line).to_have_attribute("data-from", "0.00")

    box = page.locator("canvas").bounding_box()
    middle = box["x"] + 58 + (box["width"] - 70) / 2
    page.mouse.move(middle, box["y"] + 22)
    page.mouse.down()
    page.mouse.move(middle + 40, box["y"] + 22, steps=4)
    page.mouse.up()
    expect(page.locator("[data-clock-says]")).to_contain_text("Not saved yet")
    page.get_by_role("button", name="Save clock").click()
    expect(page.get_by_role("heading", name="Time line")).to_be_visible()
    log.refresh_from_db()
    moved = (run.begun_at - log.begins_at).total_seconds()
    assert moved == pytest.approx(40 / (box["width"] - 70) * rows / 100, rel=0.05)
