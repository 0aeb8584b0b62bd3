"""What the other rooms ask of the maps."""

import pytest

from garage.units.capability import capability_of
from garage.units.examples import FALLOW, TERN
from jobs.job.actions import choose_unit
from jobs.maps import queries
from jobs.maps.actions import start_version
from tests.factories import JobFactory
from tests.jobs_factories import (
    FittedUnitFactory,
    MapVersionFactory,
    UnitTypeRevisionFactory,
    proven_version,
    released_version,
)
from tests.maps import said

pytestmark = pytest.mark.django_db
POINT = said.entry(TERN, "node").words


def test_expected_advance_is_that_of_the_map_as_keyed_in(actor):
    """By hand: the unit holds 9 at 1500 where 9.3 was wanted, so that 8 + 9 = 17 is what a strobe must show."""
    curve = [[500, 0], [1000, 2], [1500, 9.3], [2000, 14], [2500, 18], [3000, 20], [4000, 24], [5000, 24]]
    version = released_version(actor, curve=curve)
    assert queries.expected_advance(version.pk, 1500) == pytest.approx(17.0)


def test_expected_advance_has_the_vacuum_of_the_moment_in_it(actor):
    """By hand: a ramp of 12 degrees from 10.16 to 40.64 kPa (3 to 12 inHg) is full at 50 kPa."""
    version = released_version(
        actor,
        curve=[[500, 0], [5000, 18]],
        vacuum_scheme="ramp",
        vacuum_start_kpa=10.16,
        vacuum_full_kpa=40.64,
        vacuum_full_deg=12.0,
    )
    assert queries.expected_advance(version.pk, 5000, 50.0) == pytest.approx(8 + 18 + 12)


def test_a_unit_that_counts_from_dead_centre_gives_the_same_spark(actor):
    absolute = UnitTypeRevisionFactory(capability=capability_of(FALLOW))
    version = released_version(
        actor, unit_revision=absolute, curve=[[400, 0], [6400, 18]], dwell_ms=3.0, rev_limit_manner="soft"
    )
    assert queries.expected_advance(version.pk, 6400) == pytest.approx(26.0)


def test_the_stage_asks_first_for_the_unit_then_a_map_then_its_proof(actor):
    job = JobFactory(stage="map")
    assert queries.progress(job).next_label == "Choose unit"
    unit = FittedUnitFactory()
    choose_unit(job=job, unit=unit, actor=actor)
    assert queries.progress(job).next_label == "Start map"
    draft = MapVersionFactory(job=job, unit_revision=unit.revision)
    assert queries.progress(job).next_label == "Edit version 1"
    from jobs.maps.actions import release

    release(draft=draft, row_version=1, actor=actor)
    assert queries.progress(job).next_label == "Key in version 1"
    assert queries.progress(job).missing == ["a clean read-back of version 1, after switching off and on"]


def test_a_proven_version_opens_the_gate(actor):
    version = proven_version(actor)
    found = queries.progress(version.job)
    assert (found.missing, found.done, found.total, found.next_label) == ([], 3, 3, "")


def test_a_newer_release_that_is_not_keyed_in_closes_it_again(actor):
    from jobs.maps.actions import release

    version = proven_version(actor)
    newer = start_version(job=version.job, parent=version, reason="pinking", actor=actor)
    assert queries.progress(version.job).missing == []
    release(draft=newer, row_version=1, actor=actor)
    assert queries.progress(version.job).missing == ["a clean read-back of version 2, after switching off and on"]


def test_the_sheet_has_no_map_before_one_is_proven(actor):
    assert queries.facts_for_sheet(released_version(actor).job) is None


def test_the_sheet_says_what_was_set_by_whom_and_why_and_how_to_restore_it(actor):
    version = proven_version(actor)
    facts = queries.facts_for_sheet(version.job)
    assert (facts["number"], facts["author"], facts["released_by"]) == (1, str(version.author), "Ines Marlow")
    assert (facts["serial_number"], facts["unit_revision"]) == (version.job.unit.serial_number, 1)
    assert facts["lines"][0] == {
        "position": 1, "words": f"{POINT} 500", "meaning": "Advance at 500 rpm", "value": "0", "unit": "degrees",
    }  # fmt: skip
    assert facts["read_back_by"] == "Ines Marlow"
    assert [row["reason"] for row in facts["versions"]] == ["first thought"]


def test_plain_facts_can_be_stored_as_they_are(actor):
    import json

    from django.core.serializers.json import DjangoJSONEncoder

    facts = queries.facts_for_sheet(proven_version(actor).job)
    assert json.loads(json.dumps(facts, cls=DjangoJSONEncoder))["is_sound"] is True
