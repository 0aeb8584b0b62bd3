"""The seal of a released version: what it covers, and by which form it is verified."""

import hashlib
import json

import pytest

from jobs.maps.content_hash import FIRST_FORM, NEWEST_FORM, content_hash_of
from jobs.maps.models import MapVersion
from tests.jobs_factories import UnitTypeRevisionFactory, released_version
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap

pytestmark = pytest.mark.django_db


@pytest.fixture
def released(actor) -> MapVersion:
    version = released_version(actor)
    version.refresh_from_db()
    return version


def test_a_version_says_by_which_form_it_was_sealed(released):
    assert released.content_hash_form == NEWEST_FORM
    assert released.is_sound()


def test_another_description_of_the_unit_breaks_the_seal_though_the_map_is_the_same(released):
    """Which entry is keyed in first, and under what name, stands in the description."""
    capability = json.loads(json.dumps(released.unit_revision.capability))
    capability["entries"].reverse()
    released.unit_revision.capability = capability
    assert not released.is_sound()


def test_the_revision_of_another_type_breaks_the_seal(released):
    released.unit_revision = UnitTypeRevisionFactory()
    assert not released.is_sound()


def as_the_first_release_sealed(version: MapVersion) -> str:
    """Written out by hand: SHA-256 over the two maps in canonical JSON, sorted keys, no blanks, ASCII."""
    both = {"wanted": version.ignition_map().canonical(), "held": version.delivered_map().canonical()}
    text = json.dumps(both, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode()).hexdigest()


def test_a_version_of_the_first_release_is_verified_as_it_was_sealed_then(released):
    released.content_hash, released.content_hash_form = as_the_first_release_sealed(released), None
    assert released.is_sound()
    released.base_deg += 1
    assert not released.is_sound()


def test_a_seal_is_not_verified_by_an_older_form_that_covers_less(released):
    released.content_hash = as_the_first_release_sealed(released)
    assert not released.is_sound()


def test_a_form_of_a_later_release_is_not_taken_for_one_of_ours(released):
    released.content_hash_form = NEWEST_FORM + 1
    assert not released.is_sound()


def test_the_hash_is_the_same_on_every_machine():
    """Computed once, on 28 November 2026; a change of it would break the seal of every version."""
    revision = UnitTypeRevisionFactory.build(unit_type=None, number=3, capability={"degree": {"step": 0.5}})
    one_map = IgnitionMap(8, AdvanceCurve([800, 3000], [0, 18]), rev_limit_rpm=6000)
    hashes = {
        form: content_hash_of(target=one_map, delivered=one_map, revision=revision, form=form)
        for form in (FIRST_FORM, NEWEST_FORM)
    }
    assert hashes == {
        FIRST_FORM: "36edd8103821aa55c6294ea0ef065287fe0a61bf1fb417dff8b423ad1bbd3052",
        NEWEST_FORM: "283a59e52877bd0c53ec7fe59c4decd7a30db45e0f759fbfcd411900caf5a208",
    }
