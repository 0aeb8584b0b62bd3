"""The unit is read back in one row, as its screen is paged through, as well as box by box."""

import uuid

import pytest
from django.urls import reverse

from jobs.job.models import Job
from jobs.maps.models import ReadBack
from jobs.maps.unit_fit import lines_of
from tests.pages import text_of


def read(browser, version, row, **typed):
    address = reverse("maps:read-back", args=[version.job.code, version.number])
    return browser.post(address, {"fact_id": str(uuid.uuid4()), "power_cycled": "on", "in_a_row": row, **typed})


def as_shown(version, between=" ", **otherwise):
    return between.join(otherwise.get(f"at_{line.position}", line.value_text) for line in lines_of(version))


@pytest.mark.parametrize("between", [" ", "  ", " ; ", ";"])
def test_a_row_that_agrees_proves_the_version(at_the_bench, keyed_in, between):
    assert read(at_the_bench, keyed_in, as_shown(keyed_in, between)).status_code == 302
    assert ReadBack.objects.get().clean


def test_a_row_with_one_figure_that_differs_names_its_line(at_the_bench, keyed_in):
    read(at_the_bench, keyed_in, as_shown(keyed_in, at_5="13"))
    fact = ReadBack.objects.get()
    assert not fact.clean
    assert len(fact.mismatches) == 1
    assert "the unit shows 13" in fact.mismatches[0]


@pytest.mark.parametrize("more", [-1, 1])
def test_a_row_with_a_figure_too_few_or_too_many_is_refused_and_stays_typed(at_the_bench, keyed_in, more):
    row = as_shown(keyed_in).split()
    row = row[:more] if more < 0 else [*row, "7"]
    answer = read(at_the_bench, keyed_in, " ".join(row))
    assert answer.status_code == 422
    assert f"{len(row)} values for {len(lines_of(keyed_in))} lines" in text_of(answer)
    assert " ".join(row) in answer.content.decode()
    assert not ReadBack.objects.exists()


def test_what_is_no_figure_is_refused_at_its_line(at_the_bench, keyed_in):
    answer = read(at_the_bench, keyed_in, as_shown(keyed_in, at_2="2x"))
    assert answer.status_code == 422
    assert not ReadBack.objects.exists()


def test_a_box_that_says_otherwise_than_the_row_is_asked_about(at_the_bench, keyed_in):
    answer = read(at_the_bench, keyed_in, as_shown(keyed_in), shown_2="99")
    assert answer.status_code == 422
    assert "The row says" in text_of(answer)
    assert not ReadBack.objects.exists()


def test_the_unit_is_read_back_on_the_page_where_it_was_keyed_in(at_the_bench, keyed_in):
    page = at_the_bench.get(reverse("maps:key-in", args=[keyed_in.job.code, keyed_in.number])).text
    assert reverse("maps:read-back", args=[keyed_in.job.code, keyed_in.number]) in page
    assert 'name="in_a_row"' in page
    assert 'name="power_cycled"' in page


def test_what_was_not_clean_is_read_back_again_below_what_differed(at_the_bench, keyed_in):
    page = at_the_bench.get(read(at_the_bench, keyed_in, as_shown(keyed_in, at_5="13")).url).text
    assert page.index("the unit shows 13") < page.index('name="in_a_row"')
    assert 'name="power_cycled"' in page
    assert "checked" not in page[page.index('name="power_cycled"') :].partition(">")[0]


def test_what_was_corrected_on_the_road_goes_back_to_the_road_and_not_past_it(at_the_bench, keyed_in):
    Job.objects.filter(pk=keyed_in.job_id).update(stage="road-test")
    answer = read(at_the_bench, keyed_in, as_shown(keyed_in), go="1")
    assert answer.url == reverse("roadtest:page", args=[keyed_in.job.code])
    keyed_in.job.refresh_from_db()
    assert keyed_in.job.stage == "road-test"


def test_a_reading_that_is_not_clean_leads_nowhere_but_to_what_differs(at_the_bench, keyed_in):
    Job.objects.filter(pk=keyed_in.job_id).update(stage="road-test")
    answer = read(at_the_bench, keyed_in, as_shown(keyed_in, at_5="13"), go="1")
    assert answer.url == reverse(
        "maps:read-back-result", args=[keyed_in.job.code, keyed_in.number, ReadBack.objects.get().pk]
    )
