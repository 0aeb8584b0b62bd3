"""The unit is read back in one row, as its screen is paged through, as well as box by box."""

import uuid

import pytest
from django.urls import reverse

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
