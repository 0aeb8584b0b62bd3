"""Which maps went home in cars: proven at the handover, one a car, and whole."""

from datetime import timedelta

import pytest
from django.db import connection

from jobs.job.actions import put_aside
from jobs.job.models import GateCrossing, Job, JobState
from jobs.likeness import stayed as stayed_module
from jobs.likeness.like import Likeness
from jobs.likeness.stayed import counts_all, handed_over, proven_versions, stayed_maps
from jobs.maps.models import ReadBack
from tests.factories import JobFactory, VehicleFactory, fact_of
from tests.jobs_factories import proven_version, read_back_clean, released_version
from tests.likeness.cars_at_home import home, leave
from tests.maps.versions import changed_in_the_database

pytestmark = pytest.mark.django_db
ANY = Likeness()


def stayed() -> list:
    return [one.version for one in stayed_maps(handed_over(ANY)).maps]


def test_the_version_that_was_read_back_clean_stayed(actor):
    version = home(actor)
    assert stayed() == [version]


def test_a_car_that_was_never_handed_over_counts_for_nothing(actor):
    proven_version(actor)
    assert stayed() == []


def test_a_car_sent_back_from_after_care_is_not_out(actor):
    version = home(actor)
    Job.objects.filter(pk=version.job_id).update(stage="map")
    assert stayed() == []


def test_an_abandoned_job_counts_for_nothing(actor):
    version = home(actor)
    put_aside(job=version.job, state=JobState.ABANDONED, reason="sold", actor=actor)
    assert stayed() == []


def test_a_released_version_that_nobody_read_back_did_not_stay(actor):
    leave(released_version(actor).job, actor)
    assert stayed() == []


def test_of_two_versions_the_last_proven_one_stayed(actor):
    first = proven_version(actor)
    second = released_version(actor, job=first.job, number=2, unit_revision=first.unit_revision, base_deg=9.0)
    second.job.refresh_from_db()
    read_back_clean(second, actor)
    leave(first.job, actor)
    assert stayed() == [second]


def test_a_read_back_that_did_not_agree_takes_the_proof_away(actor):
    version = proven_version(actor)
    ReadBack.objects.create(
        **fact_of(actor),
        map_version=version,
        unit=version.job.unit,
        shown={},
        mismatches=["dwell: 3, not 4"],
        clean=False,
        power_cycled=True,
    )
    leave(version.job, actor)
    assert proven_versions(handed_over(ANY)) == {}


def test_what_was_read_after_the_car_had_left_says_nothing_about_how_it_left(actor):
    version = proven_version(actor)
    leave(version.job, actor, at=actor.at - timedelta(days=1))
    assert stayed() == []


def test_a_car_that_came_back_counts_once_with_its_last_map(actor):
    first = home(actor)
    again = JobFactory(vehicle=first.job.vehicle, unit=first.job.unit)
    second = released_version(actor, job=again, unit_revision=first.unit_revision)
    read_back_clean(second, actor)
    leave(again, actor)
    assert stayed() == [second]


def test_a_damaged_version_is_counted_apart(actor):
    version = home(actor)
    changed_in_the_database(version)
    found = stayed_maps(handed_over(ANY))
    assert (list(found.maps), [one.code for one in found.damaged]) == ([], [version.job.code])


def test_the_car_that_is_compared_does_not_count_itself(actor):
    version = home(actor)
    other = home(actor, job=JobFactory(vehicle=VehicleFactory()))
    assert [one.job_id for one in handed_over(ANY, but=version.job.vehicle_id)] == [other.job_id]


def test_the_last_handovers_are_found_without_reading_every_gate_ever_crossed(db):
    """As SQLite plans it; PostgreSQL reads a short table as a whole, whatever indexes it has."""
    if connection.vendor != "sqlite":
        pytest.skip("the plan of a short table says nothing on PostgreSQL")
    newest = GateCrossing.objects.filter(entered="after-care").order_by("-at", "-pk").values("pk")[:10]
    assert "SEARCH jobs_gatecrossing USING COVERING INDEX gates_passed_in_order (entered=?)" in newest.explain()


def test_a_long_book_says_that_it_counts_the_newest_alone(actor, monkeypatch):
    monkeypatch.setattr(stayed_module, "MOST_HANDOVERS", 2)
    homes = [home(actor, job=JobFactory(vehicle=VehicleFactory())) for _ in range(2)]
    assert counts_all(handed_over(ANY))
    homes.append(home(actor, job=JobFactory(vehicle=VehicleFactory())))
    assert [one.job_id for one in handed_over(ANY)] == [homes[2].job_id, homes[1].job_id]
    assert not counts_all(handed_over(ANY))
