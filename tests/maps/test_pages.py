"""The pages of the maps: the stage, keying in, reading back, template curves."""

import uuid

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from garage.units.examples import FALLOW, TERN
from jobs.documents.document_data import document_data
from jobs.maps.models import MapVersion, ReadBack
from jobs.maps.queries import progress
from jobs.maps.unit_fit import lines_of
from tests.factories import JobFactory
from tests.jobs_factories import proven_version, read_back_clean
from tests.maps import said
from tests.maps.versions import address
from tests.pages import assert_not_found, text_of

pytestmark = pytest.mark.django_db
POINT = said.entry(TERN, "node").words  # what the unit of most of these tests calls a point of its curve


def test_the_stage_page_of_a_job_without_a_unit_asks_for_it_first(at_the_bench):
    job = JobFactory(stage="map")
    answer = at_the_bench.get(reverse("maps:page", args=[job.code]))
    assert said.CHOOSE_THE_UNIT in text_of(answer)


def test_the_stage_page_says_which_version_is_in_the_car_and_who_proved_it(at_the_bench, actor):
    version = proven_version(actor, job=JobFactory(stage="map"))
    shown = text_of(at_the_bench.get(reverse("maps:page", args=[version.job.code])))
    assert "read back clean by Ines Marlow" in shown
    assert "in the car" in shown


def test_a_broken_seal_holds_the_car_in_the_stage(tampered):
    assert any("version 1 unchanged" in words for words in progress(tampered.job).missing)


def test_nothing_is_proven_against_a_broken_seal(at_the_bench, tampered):
    answer = at_the_bench.post(address(tampered, "read-back"), {"fact_id": str(uuid.uuid4()), "power_cycled": "on"})
    assert answer.status_code == 409
    assert not ReadBack.objects.exists()


def test_a_draft_has_no_key_in_sheet(at_the_bench, draft):
    assert_not_found(at_the_bench.get(address(draft, "key-in")))


def test_the_key_in_sheet_has_one_entry_a_line_in_keying_order_with_the_units_words(at_the_bench, absolute):
    shown = text_of(at_the_bench.get(address(absolute, "key-in")))
    keyed = {entry.key: entry.words for entry in FALLOW.entries}
    hard = dict(said.entry(FALLOW, "rev_limit_manner").choices)["hard"]
    point = keyed["node"]
    order = [keyed["dwell"], keyed["base"], f"{point} 400", f"{point} 700", keyed["rev_limit"], hard]
    places = [shown.index(text) for text in order]
    assert places == sorted(places)
    assert said.SWITCH_OFF_AND_ON in shown


def read(version: MapVersion, **changed) -> dict[str, str]:
    form = {f"same_{line.position}": "on" for line in lines_of(version)}
    return {**form, "fact_id": str(uuid.uuid4()), "power_cycled": "on", **changed}


def test_a_line_that_was_not_read_is_refused_and_what_was_typed_stays(at_the_bench, keyed_in):
    form = read(keyed_in, shown_2="7")
    del form["same_3"]
    answer = at_the_bench.post(address(keyed_in, "read-back"), form)
    assert answer.status_code == 422
    assert 'value="7"' in answer.content.decode()
    assert not ReadBack.objects.exists()


def test_a_figure_that_is_none_is_refused_before_it_enters_the_record(at_the_bench, keyed_in):
    answer = at_the_bench.post(address(keyed_in, "read-back"), read(keyed_in, shown_2="2x"))
    assert answer.status_code == 422
    assert said.not_a_figure("2x") in answer.content.decode()


def test_what_was_typed_goes_before_a_tick(at_the_bench, keyed_in):
    at_the_bench.post(address(keyed_in, "read-back"), read(keyed_in, shown_5="13"))
    assert ReadBack.objects.get().mismatches == [f"{POINT} 2500: the unit shows 13, the map says 14"]


def test_a_read_back_sent_twice_is_one_fact(at_the_bench, keyed_in):
    form = read(keyed_in)
    for _ in range(2):
        answer = at_the_bench.post(address(keyed_in, "read-back"), form)
    assert ReadBack.objects.count() == 1
    assert said.IN_THE_CAR in text_of(at_the_bench.get(answer.headers["Location"]))


def test_a_template_curve_is_saved_once_under_its_name(at_the_bench, released):
    idempotency_key = str(uuid.uuid4())
    for _ in range(2):
        answer = at_the_bench.post(
            address(released, "keep"), {"name": "Long hill", "suits": "fours", "idempotency_key": idempotency_key}
        )
        assert answer.status_code == 302
    taken = at_the_bench.post(
        address(released, "keep"), {"name": "long hill", "suits": "", "idempotency_key": str(uuid.uuid4())}
    )
    assert taken.status_code == 422
    assert said.TEMPLATE_CURVE in text_of(taken)
    assert text_of(at_the_bench.get(reverse("maps:patterns"))).count("Long hill") == 1


# ---- From where degrees are counted ----------------------------------------------------------------------------------


@pytest.mark.parametrize("page", ["key-in", "read-back"])
def test_what_is_keyed_in_says_that_it_counts_from_base_timing(at_the_bench, keyed_in, page):
    assert said.FROM_BASE in text_of(at_the_bench.get(address(keyed_in, page)))


@pytest.mark.parametrize("page", ["key-in", "read-back"])
def test_what_is_keyed_in_says_that_it_counts_from_top_dead_centre(at_the_bench, absolute, page):
    shown = text_of(at_the_bench.get(address(absolute, page)))
    assert said.FROM_TOP_DEAD_CENTRE in shown
    assert said.FROM_BASE not in shown


def test_the_papers_say_from_where_the_points_are_counted(actor, absolute):
    """The customer's sheet and the bench record print the entries as the unit shows them."""
    read_back_clean(absolute, actor)
    facts = document_data(absolute.job, None, timezone.now())
    for paper in ("customer_sheet", "bench_record"):
        html = render_to_string(f"jobs/documents/sheets/{paper}.html", {"facts": facts, "chart": None})
        assert said.FROM_TOP_DEAD_CENTRE in html


def test_the_versions_say_from_where_their_changes_are_counted(at_the_bench, released):
    assert said.FROM_BASE in text_of(at_the_bench.get(reverse("maps:page", args=[released.job.code])))
