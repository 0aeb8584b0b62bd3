"""Releasing a version, its page from then on, and what is said loudly when its seal is broken."""

import re
import uuid

import pytest
from django.urls import reverse

from garage.units.capability import capability_of
from garage.units.examples import FALLOW
from jobs.bench.start_maps import other_cars
from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory, UnitTypeRevisionFactory, proven_version, read_back_clean
from tests.maps import said
from tests.maps.versions import address, figures
from tests.pages import FILL_IN, text_of

pytestmark = pytest.mark.django_db


def test_a_released_version_has_no_boxes(at_the_bench, released):
    page = at_the_bench.get(address(released)).content.decode()
    assert 'name="curve_deg"' not in page
    assert released.content_hash[:12] in page


def test_a_released_version_refuses_a_form_that_was_still_open(at_the_bench, released):
    answer = at_the_bench.post(address(released), figures(released, curve_deg=["0", "20"]))
    shown = text_of(answer)
    assert answer.status_code == 409
    assert said.NEVER_CHANGES in shown
    assert "Your changes: 2 degrees more from 3000 rpm up, rest as before" in shown
    released.refresh_from_db()
    assert released.is_sound()


def test_the_owner_gives_a_reason_to_release_over_a_stop(browser_of, owner, at_the_bench, draft):
    at_the_bench.post(address(draft), figures(draft, curve_deg=["0", "36"]))
    refused = at_the_bench.post(address(draft, "release"), {"row_version": 2})
    assert refused.status_code == 422
    assert said.STOP_FOUND in text_of(refused)
    without = browser_of(owner).post(address(draft, "release"), {"row_version": 2, "over": ""})
    assert without.status_code == 422
    assert FILL_IN in text_of(without)
    browser_of(owner).post(address(draft, "release"), {"row_version": 2, "over": "proved on the brake"})
    draft.refresh_from_db()
    assert draft.released_at is not None


@pytest.mark.parametrize("page", ["version", "key-in", "read-back"])
def test_a_broken_seal_is_said_loudly_and_the_figures_are_not_shown(at_the_bench, tampered, page):
    answer = at_the_bench.get(address(tampered, page))
    assert said.BROKEN_SEAL in text_of(answer)
    assert "Rung" not in answer.content.decode()


@pytest.mark.parametrize("page", ["next", "refit", "keep"])
def test_nothing_goes_on_from_a_broken_seal(at_the_bench, tampered, page):
    form = {"reason": "pinks", "name": "Long hill", "idempotency_key": str(uuid.uuid4())}
    answer = at_the_bench.post(address(tampered, page), form, follow=True)
    assert said.BROKEN_SEAL in text_of(answer)
    assert not tampered.children.exists()
    assert not tampered.kept_as.exists()


def test_a_broken_seal_is_not_compared_nor_laid_underneath_nor_offered_to_other_cars(at_the_bench, tampered):
    draft = MapVersionFactory(job=tampered.job, number=2, unit_revision=tampered.unit_revision)
    shown = text_of(at_the_bench.get(reverse("bench:compare", args=[draft.job.code]), {"before": 1, "after": 2}))
    assert said.BROKEN_SEAL in shown
    page = at_the_bench.get(address(draft)).content.decode()
    assert 'value="version-1"' not in page
    assert "data-copy-from" not in page
    assert other_cars(JobFactory()) == []


# ---- From where degrees are counted ----------------------------------------------------------------------------------


def curve_rows(page) -> list[list[str]]:
    """The cells of the table 'speed curve', row by row."""
    table = page.content.decode().split("Speed curve, ")[1].split("</table>")[0]
    rows = re.findall(r"<tr>(.*?)</tr>", table.split("<tbody>")[1], flags=re.DOTALL)
    return [
        [re.sub(r"<[^>]*>", "", cell).strip() for cell in re.findall(r"<td[^>]*>(.*?)</td>", row, flags=re.DOTALL)]
        for row in rows
    ]


@pytest.fixture
def absolute_draft(db):
    """By hand: on a base of 8 the unit, which counts from top dead centre, holds 8 at 800 rpm and 26 at 3000."""
    return MapVersionFactory(
        job=JobFactory(stage="map"),
        unit_revision=UnitTypeRevisionFactory(capability=capability_of(FALLOW)),
        curve=[[400, 0], [6400, 18]],
        dwell_ms=3.0,
        rev_limit_manner="hard",
    )


@pytest.mark.parametrize("page", ["version", "release"])
def test_what_was_set_and_what_the_unit_delivers_are_counted_from_base_timing_alike(
    at_the_bench, browser_of, front_desk, absolute_draft, page
):
    """The unit holds 26 at the last point where 18 were set: both are 18 from the base of 8."""
    reader = at_the_bench if page == "release" else browser_of(front_desk)
    answer = reader.get(address(absolute_draft, page))
    assert f"Speed curve, {said.FROM_BASE}" in text_of(answer)
    assert curve_rows(answer) == [["400", "0°", "0°"], ["6400", "18°", "18°"]]


def test_the_bench_itself_counts_both_from_base_timing(at_the_bench, absolute_draft):
    form = figures(absolute_draft, curve_rpm=["400", "6400"], dwell_ms="3", rev_limit_manner="hard")
    answer = at_the_bench.post(address(absolute_draft, "judge"), form)
    assert answer.json()["delivered"] == ["0", "18"]


def test_a_base_that_the_unit_rounds_shows_in_what_it_delivers(at_the_bench, absolute_draft):
    """By hand: in steps of half a degree 8.3 and 26.3 from top dead centre are held as 8.5 and 26.5: 0.2 more."""
    absolute_draft.base_deg = 8.3
    absolute_draft.save()
    form = figures(absolute_draft, base_deg="8.3", curve_rpm=["400", "6400"], dwell_ms="3", rev_limit_manner="hard")
    answer = at_the_bench.post(address(absolute_draft, "judge"), form)
    assert answer.json()["delivered"] == ["0.2", "18.2"]


# ---- What is worth saying --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("degrees", "said_of_it"), [("18", False), ("18.04", False), ("18.3", True)])
def test_what_rounds_by_less_than_a_tenth_of_a_degree_is_not_said(at_the_bench, draft, degrees, said_of_it):
    fit = at_the_bench.post(address(draft, "judge"), figures(draft, curve_deg=[degrees, degrees])).json()["fit"]
    assert ("within" in fit) is said_of_it


def test_a_released_version_says_what_for_by_whom_and_what_comes_next(at_the_bench, keyed_in):
    shown = text_of(at_the_bench.get(address(keyed_in)))
    assert f"Released for {keyed_in.reason}" in shown
    assert f"Released by {keyed_in.released_by}" in shown
    assert "In the car no version proven" in shown
    assert "Last read-back not yet" in shown
    assert f"Key in version {keyed_in.number}" in shown


def test_a_version_in_the_car_says_in_which_unit_and_since_when(at_the_bench, keyed_in, actor):
    read_back_clean(keyed_in, actor)
    shown = text_of(at_the_bench.get(address(keyed_in)))
    assert f"In the car {keyed_in.job.vehicle.registration}, in {keyed_in.job.unit} since" in shown
    assert f"Last read-back clean {actor.person}" in shown
    assert "Go to road test" in shown


def test_a_superseded_version_leads_to_the_one_in_the_car(at_the_bench, keyed_in, actor):
    newer = proven_version(actor, job=keyed_in.job, number=2, unit_revision=keyed_in.unit_revision)
    page = at_the_bench.get(address(keyed_in))
    assert "In the car no: version 2 is" in text_of(page)
    assert f'href="{address(newer)}"' in page.text


def test_no_caution_stands_over_figures_made_at_a_desk_and_one_stands_over_the_unit(at_the_bench, keyed_in):
    """High voltage hurts who sits at the unit with the ignition on, and nobody who draws a curve."""
    assert "High voltage" not in text_of(at_the_bench.get(address(keyed_in)))
    for page in ("key-in", "read-back"):
        assert "High voltage" in text_of(at_the_bench.get(address(keyed_in, page)))
