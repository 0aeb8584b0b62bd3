"""Two versions side by side."""

import html

import pytest
from django.urls import reverse

from tests.jobs_factories import MapVersionFactory
from tests.maps import said
from tests.pages import text_of

pytestmark = pytest.mark.django_db


def test_findings_gained_by_a_version_are_named_in_the_comparison(at_the_bench, draft):
    MapVersionFactory(
        job=draft.job, number=2, parent=draft, unit_revision=draft.unit_revision, curve=[[800, 0], [3000, 36]]
    )
    answer = at_the_bench.get(reverse("bench:compare", args=[draft.job.code]), {"before": 1, "after": 2})
    shown = text_of(answer)
    assert "18 degrees more from 3000 rpm up, rest as before" in shown
    assert "stop" in shown.split("New findings")[1].split("Findings gone")[0]


def test_unknown_versions_in_a_comparison_fall_back_to_the_last_two(at_the_bench, draft):
    MapVersionFactory(job=draft.job, number=2, parent=draft, unit_revision=draft.unit_revision)
    answer = at_the_bench.get(reverse("bench:compare", args=[draft.job.code]), {"before": "x", "after": "99"})
    assert "From version 1 to version 2" in text_of(answer)


@pytest.mark.parametrize(("base", "reckoning"), [(8.0, said.FROM_BASE), (10.0, said.EACH_FROM_ITS_OWN_BASE)])
def test_the_comparison_says_from_where_its_degrees_are_counted(at_the_bench, draft, base, reckoning):
    MapVersionFactory(job=draft.job, number=2, parent=draft, unit_revision=draft.unit_revision, base_deg=base)
    answer = at_the_bench.get(reverse("bench:compare", args=[draft.job.code]), {"before": 1, "after": 2})
    assert reckoning.capitalize() in html.unescape(text_of(answer))
