"""Figures that a device kept and nobody stored: which sending was stored, and what differs in what was not."""

import pytest
from django.urls import reverse

from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory, released_version
from tests.maps.versions import address, figures
from tests.pages import text_of

pytestmark = pytest.mark.django_db


def typed(at_the_bench, version, **changed):
    return at_the_bench.post(address(version, "typed"), figures(version, **{"row_version": 0, **changed}))


def test_the_bench_names_the_sending_that_was_stored_last(at_the_bench, draft):
    at_the_bench.post(address(draft), figures(draft, sending="tab one, first"))
    assert 'data-stored="tab one, first"' in at_the_bench.get(address(draft)).content.decode()
    draft.refresh_from_db()
    at_the_bench.post(address(draft), figures(draft, sending="tab two, first"))
    assert 'data-stored="tab two, first"' in at_the_bench.get(address(draft)).content.decode()


@pytest.mark.parametrize("changed", [{"row_version": 7, "curve_deg": ["0", "20"]}, {"curve_deg": ["0", "55"]}])
def test_a_sending_that_was_refused_is_not_named_as_stored(at_the_bench, draft, changed):
    answer = at_the_bench.post(address(draft), figures(draft, sending="in vain", **changed))
    assert answer.status_code in (409, 422)
    assert 'data-stored=""' in answer.content.decode()


def test_everybody_has_names_of_their_own_for_what_a_shared_tablet_keeps(
    at_the_bench, browser_of, second_mechanic, mechanic, released
):
    code = released.job.code
    for browser, person in ((at_the_bench, mechanic), (browser_of(second_mechanic), second_mechanic)):
        page = browser.get(address(released)).content.decode()
        assert f'data-kept-after="crankmark.bench.{person.pk}.{code}.1."' in page
        assert f'data-carried="crankmark.bench.{person.pk}.{code}.1.next."' in page


def test_the_next_version_takes_over_what_was_carried_from_its_parent_and_a_first_one_nothing(
    at_the_bench, mechanic, released, draft
):
    assert "data-carried" not in at_the_bench.get(address(draft)).content.decode()
    following = MapVersionFactory(job=released.job, number=2, parent=released)
    page = at_the_bench.get(address(following)).content.decode()
    assert f'data-kept="crankmark.bench.{mechanic.pk}.{released.job.code}.2."' in page
    assert f'data-carried="crankmark.bench.{mechanic.pk}.{released.job.code}.1.next."' in page


def test_the_page_of_a_version_set_aside_says_so_of_what_was_not_stored(at_the_bench, draft):
    at_the_bench.post(address(draft, "set-aside"), {"row_version": draft.row_version, "reason": "another way"})
    assert "Not saved before the version was discarded." in text_of(at_the_bench.get(address(draft)))


def test_figures_that_are_those_of_the_released_version_are_no_difference(at_the_bench, released):
    answer = typed(at_the_bench, released, curve_deg=["0,0", "18.00"])
    assert (answer.status_code, answer.content) == (204, b"")


def test_what_differs_from_the_released_version_is_told_cell_by_cell(at_the_bench, released):
    said = text_of(typed(at_the_bench, released, curve_deg=["0", "16.5"], base_deg="9", dwell_ms="3"))
    assert "released yours" in said
    assert "3000 rpm 18° 16.5°" in said
    assert "Base timing 8 degrees 9 degrees" in said
    assert "800 rpm" not in said
    released.refresh_from_db()
    assert released.is_sound()


def test_what_makes_no_map_is_told_as_it_was_typed(at_the_bench, released):
    changed = {"curve_deg": ["0", "about 17"], "rev_limit_rpm": "", "repeated_sparks": "on", "vacuum_scheme": "ramp"}
    said = text_of(typed(at_the_bench, released, **changed))
    assert "Degrees, row 2 18 about 17" in said
    assert "Rev limit 6000 blank" in said
    assert "Repeated sparks while cranking off on" in said
    assert "row 1" not in said


def test_what_is_typed_in_another_unit_of_vacuum_keeps_its_meaning(at_the_bench, actor):
    ramp = {"vacuum_scheme": "ramp", "vacuum_start_kpa": 20.0, "vacuum_full_kpa": 50.0, "vacuum_full_deg": 10.0}
    version = released_version(actor, job=JobFactory(stage="map"), **ramp)
    # 50 kPa are 14.764 99 inHg: 3.386 389 kPa each (NIST SP 811:2008, App. B.8).
    typed_in_inches = {
        "vacuum_scheme": "ramp", "vacuum_shown_in": "inHg", "vacuum_start_kpa": "5.906", "vacuum_full_kpa": "14.1",
        "vacuum_full_deg": "10",
    }  # fmt: skip
    said = text_of(typed(at_the_bench, version, **typed_in_inches))
    assert "Vacuum advance is full at 14.76 inHg 14.1 inHg" in said


def test_a_version_whose_seal_is_broken_shows_no_figures_to_compare_with(at_the_bench, released, monkeypatch):
    monkeypatch.setattr("jobs.maps.models.MapVersion.can_be_relied_on", lambda version: False)
    assert typed(at_the_bench, released, curve_deg=["0", "20"]).status_code == 409


def test_who_is_signed_out_compares_nothing(client, released):
    answer = client.post(address(released, "typed"), figures(released))
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("people:sign-in"))
