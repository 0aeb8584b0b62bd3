"""What may be done to the maps of a job, and what the record refuses."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from garage.record.idempotency import SentBeforeError
from garage.record.row_versions import StaleEditError
from garage.units import actions as units
from garage.units.examples import TERN
from jobs.job.actions import choose_unit
from jobs.maps import actions, queries
from jobs.maps.actions import MapRefusedError
from jobs.maps.models import SETTINGS, MapVersion, ReadBack
from jobs.maps.unit_fit import lines_of
from tests.factories import JobFactory, StaffFactory
from tests.jobs_factories import (
    FittedUnitFactory,
    MapVersionFactory,
    UnitTypeRevisionFactory,
    proven_version,
    released_version,
)
from tests.maps import said
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap

pytestmark = pytest.mark.django_db
POINT = said.entry(TERN, "node").words


@pytest.fixture
def draft(db) -> MapVersion:
    return MapVersionFactory()


def settings_with(version: MapVersion, **changed):
    return {name: getattr(version, name) for name in SETTINGS} | changed


def test_a_first_version_is_number_one_and_says_where_it_came_from(actor):
    job = JobFactory(unit=FittedUnitFactory())
    version = actions.start_version(
        job=job,
        parent=None,
        reason="first drive",
        start=IgnitionMap(8, AdvanceCurve([500, 3000], [0, 18])),
        origin="a blank curve",
        actor=actor,
    )
    assert (version.number, version.origin, version.unit_revision) == (1, "a blank curve", job.unit.revision)
    assert job.journal.get().sentence == "Version 1 started from a blank curve: first drive"


def test_the_same_form_sent_twice_starts_one_version(actor, draft):
    idempotency_key = uuid.uuid4()
    first, second = (
        actions.start_version(
            job=draft.job, parent=draft, reason="leaner", idempotency_key=idempotency_key, actor=actor
        )
        for _ in range(2)
    )
    assert first.pk == second.pk
    assert draft.job.map_versions.count() == 2


def test_the_same_form_sent_with_another_reason_is_not_swallowed(actor, draft):
    idempotency_key = uuid.uuid4()
    actions.start_version(job=draft.job, parent=draft, reason="pinks", idempotency_key=idempotency_key, actor=actor)
    with pytest.raises(SentBeforeError):
        actions.start_version(
            job=draft.job, parent=draft, reason="flat at 2000", idempotency_key=idempotency_key, actor=actor
        )


def test_a_next_version_takes_over_every_figure_of_its_parent(actor, draft):
    child = actions.start_version(job=draft.job, parent=draft, reason="pinking on the hill", actor=actor)
    assert child.parent == draft
    assert [getattr(child, name) for name in SETTINGS] == [getattr(draft, name) for name in SETTINGS]


def test_a_proposed_curve_replaces_the_parents_and_the_journal_says_what_changed(actor, draft):
    proposal = AdvanceCurve([800, 3000], [0, 16])
    child = actions.start_version(job=draft.job, parent=draft, reason="pinking", curve=proposal, actor=actor)
    assert child.curve == [[800.0, 0.0], [3000.0, 16.0]]
    assert draft.job.journal.get().figures["changed"] == "2 degrees out from 3000 rpm up, rest as before"


def test_a_version_of_another_job_cannot_be_a_parent(actor, draft):
    with pytest.raises(MapRefusedError, match="belongs to another job"):
        actions.start_version(job=JobFactory(), parent=draft, reason="same engine", actor=actor)


def test_without_a_unit_nobody_knows_what_a_map_must_fit(actor):
    with pytest.raises(MapRefusedError, match="Choose the unit first"):
        actions.start_version(
            job=JobFactory(), parent=None, reason="x", start=IgnitionMap(8, AdvanceCurve([500], [0])), actor=actor
        )


def test_a_stored_draft_says_in_the_journal_what_changed(actor, draft):
    actions.change_draft(draft=draft, row_version=1, settings=settings_with(draft, base_deg=10.0), actor=actor)
    draft.refresh_from_db()
    assert (draft.base_deg, draft.changed_by, draft.row_version) == (10.0, actor.person, 2)
    line = draft.job.journal.get()
    assert "base timing 10 degrees instead of 8 degrees" in line.sentence
    assert (line.figures["before"]["base_deg"], line.figures["after"]["base_deg"]) == (8.0, 10.0)


def test_a_second_save_of_the_same_edition_is_refused_and_changes_nothing(actor, draft):
    actions.change_draft(draft=draft, row_version=1, settings=settings_with(draft, base_deg=10.0), actor=actor)
    with pytest.raises(StaleEditError):
        actions.change_draft(draft=draft, row_version=1, settings=settings_with(draft, base_deg=12.0), actor=actor)
    draft.refresh_from_db()
    assert draft.base_deg == 10.0


def test_a_draft_stored_unchanged_leaves_no_line(actor, draft):
    actions.change_draft(draft=draft, row_version=1, settings=settings_with(draft), actor=actor)
    assert not draft.job.journal.exists()


def test_a_released_version_bears_its_seal_and_what_the_unit_delivers(actor, draft):
    actions.release(draft=draft, row_version=1, actor=actor)
    draft.refresh_from_db()
    assert draft.released_by == actor.person
    assert draft.is_sound()
    assert (draft.delivered["curve"]["rpm"][0], draft.delivered["curve"]["degrees"][0]) == (500.0, 0.0)


def test_a_released_version_cannot_be_changed_through_the_program(actor, draft):
    actions.release(draft=draft, row_version=1, actor=actor)
    draft.refresh_from_db()
    with pytest.raises(MapRefusedError, match=said.NEVER_CHANGES):
        actions.change_draft(draft=draft, row_version=2, settings=settings_with(draft, base_deg=12.0), actor=actor)


def test_a_released_version_cannot_be_changed_in_the_database(actor, draft):
    actions.release(draft=draft, row_version=1, actor=actor)
    with pytest.raises(IntegrityError, match="kept for ever"), transaction.atomic():
        MapVersion.objects.filter(pk=draft.pk).update(base_deg=12.0)


@pytest.mark.parametrize(
    ("column", "other"),
    [
        ("base_deg", 9.0),
        ("curve", [[800, 0], [3000, 18.001]]),
        ("vacuum_scheme", "table"),
        ("boost", [[0, 0], [50, 1]]),
        ("dwell_ms", 3.0),
        ("rev_limit_rpm", 6000.5),
        ("rev_limit_manner", "hard"),
        ("repeated_sparks", True),
        ("trigger", "hall"),
    ],
)
def test_a_figure_changed_past_the_program_breaks_the_seal(actor, draft, column, other):
    actions.release(draft=draft, row_version=1, actor=actor)
    draft.refresh_from_db()
    setattr(draft, column, other)
    assert not draft.is_sound()


def test_what_the_unit_delivers_is_under_the_seal_too(actor, draft):
    actions.release(draft=draft, row_version=1, actor=actor)
    draft.refresh_from_db()
    draft.delivered = {**draft.delivered, "base_deg": 9.0}
    assert not draft.is_sound()


def test_a_release_of_a_draft_that_changed_meanwhile_is_refused(actor, draft):
    actions.change_draft(draft=draft, row_version=1, settings=settings_with(draft, base_deg=10.0), actor=actor)
    with pytest.raises(StaleEditError):
        actions.release(draft=draft, row_version=1, actor=actor)
    draft.refresh_from_db()
    assert draft.released_at is None


def test_a_map_the_unit_cannot_hold_is_not_released(actor):
    draft = MapVersionFactory(curve=[[800, 0], [3000, 52]])
    with pytest.raises(MapRefusedError, match="52 degrees at 3000 rpm"):
        actions.release(draft=draft, row_version=1, actor=actor)


def test_an_entry_the_unit_asks_for_must_be_set_before_release(actor):
    with pytest.raises(MapRefusedError, match="The unit asks for a rev limit"):
        actions.release(draft=MapVersionFactory(rev_limit_rpm=None), row_version=1, actor=actor)


def test_a_finding_that_says_stop_holds_a_mechanic(actor):
    draft = MapVersionFactory(base_deg=20.0, curve=[[800, 0], [3000, 38]])  # 58 degrees at full load
    with pytest.raises(MapRefusedError, match=said.STOP_FOUND):
        actions.release(draft=draft, row_version=1, actor=actor, over="it never pinks")


def test_the_owner_may_release_over_a_stop_and_the_journal_says_why(actor, owner):
    draft = MapVersionFactory(base_deg=20.0, curve=[[800, 0], [3000, 38]])
    actions.release(
        draft=draft, row_version=1, actor=replace(actor, person=owner), over="methanol, measured on the brake"
    )
    line = draft.job.journal.get()
    assert line.sentence == "Version 1 released, overriding a stop finding: methanol, measured on the brake"
    assert line.figures["stops"]


def test_a_clean_read_back_after_switching_off_puts_the_version_in_the_car(actor):
    version = proven_version(actor)
    assert queries.version_in_car(version.job) == version


def test_the_same_read_back_sent_twice_is_one_fact(actor):
    version = proven_version(actor)
    fact = ReadBack.objects.get()
    assert read_back_of(version, actor, id=fact.pk) == fact
    assert ReadBack.objects.count() == 1


def test_a_read_back_sent_again_with_other_figures_does_not_vanish_into_the_first(actor):
    version = proven_version(actor)
    with pytest.raises(SentBeforeError):
        read_back_of(version, actor, id=ReadBack.objects.get().pk, wrong={5: "21"})


def read_back_of(version, actor, *, id=None, wrong=None, power_cycled=True):
    shown = {line.position: line.value_text for line in lines_of(version)} | (wrong or {})
    return actions.record_read_back(
        fact_id=id or uuid.uuid4(),
        version=version,
        unit=version.job.unit,
        shown=shown,
        power_cycled=power_cycled,
        actor=actor,
    )


@pytest.fixture
def keyed_in(actor) -> MapVersion:
    """A released version, keyed into the unit of its job and not read back yet."""
    version = released_version(actor)
    choose_unit(job=version.job, unit=FittedUnitFactory(revision=version.unit_revision), actor=actor)
    return version


def test_one_wrong_line_is_named_and_nothing_is_in_the_car(actor, keyed_in):
    fact = read_back_of(keyed_in, actor, wrong={5: "21"})
    assert fact.mismatches == [f"{POINT} 2500: the unit shows 21, the map says 14"]
    assert not fact.clean
    assert queries.version_in_car(keyed_in.job) is None


def test_agreement_without_switching_off_proves_nothing(actor, keyed_in):
    fact = read_back_of(keyed_in, actor, power_cycled=False)
    assert (fact.mismatches, fact.clean) == ([], False)
    assert queries.version_in_car(keyed_in.job) is None


def test_a_later_read_back_that_differs_casts_doubt_on_what_is_in_the_car(actor, keyed_in):
    read_back_of(keyed_in, actor)
    a_year_later = replace(actor, at=actor.at + timedelta(days=365))
    wrong = read_back_of(keyed_in, a_year_later, wrong={1: "9"})
    now = queries.in_car(keyed_in.job)
    assert (now.version, now.doubt) == (keyed_in, wrong)
    assert queries.progress(keyed_in.job).missing


def test_only_a_clean_read_back_takes_a_doubt_away(actor, keyed_in):
    days = [replace(actor, at=actor.at + timedelta(days=day)) for day in range(4)]
    read_back_of(keyed_in, days[0])
    wrong = read_back_of(keyed_in, days[1], wrong={1: "9"})
    read_back_of(keyed_in, days[2], power_cycled=False)  # agrees, and proves nothing
    assert queries.in_car(keyed_in.job).doubt == wrong
    read_back_of(keyed_in, days[3])
    assert queries.in_car(keyed_in.job).doubt is None


def test_a_unit_that_came_back_from_another_car_holds_that_cars_map(actor, keyed_in):
    unit = keyed_in.job.unit
    read_back_of(keyed_in, actor)
    units.back_on_shelf(unit=unit, actor=actor)
    other = released_version(actor, unit_revision=keyed_in.unit_revision)
    choose_unit(job=other.job, unit=unit, actor=actor)
    read_back_of(other, replace(actor, at=actor.at + timedelta(days=1)))
    assert queries.version_in_car(other.job) == other
    keyed_in.job.refresh_from_db()
    assert queries.version_in_car(keyed_in.job) is None
    units.back_on_shelf(unit=unit, actor=actor)
    choose_unit(job=keyed_in.job, unit=unit, actor=actor)
    assert queries.version_in_car(keyed_in.job) is None


def test_nothing_is_in_the_car_once_its_unit_was_taken_out(actor, keyed_in):
    read_back_of(keyed_in, actor)
    units.take_out(unit=keyed_in.job.unit, actor=actor)
    keyed_in.job.refresh_from_db()
    assert queries.version_in_car(keyed_in.job) is None


def test_a_replaced_unit_takes_its_proof_with_it(actor, keyed_in):
    read_back_of(keyed_in, actor)
    choose_unit(job=keyed_in.job, unit=FittedUnitFactory(revision=keyed_in.unit_revision), actor=actor)
    assert queries.version_in_car(keyed_in.job) is None


def test_a_version_made_for_another_unit_type_is_not_read_back(actor, keyed_in):
    other = FittedUnitFactory(revision=UnitTypeRevisionFactory())
    with pytest.raises(MapRefusedError, match="was made for"):
        actions.record_read_back(
            fact_id=uuid.uuid4(), version=keyed_in, unit=other, shown={}, power_cycled=True, actor=actor
        )


def test_a_draft_set_aside_keeps_its_number(actor, draft):
    actions.set_aside(draft=draft, row_version=1, reason="wrong engine", actor=actor)
    following = actions.start_version(job=draft.job, parent=draft, reason="again", actor=actor)
    assert following.number == 2
    assert not draft.job.map_versions.drafts().filter(pk=draft.pk).exists()


def test_a_template_curve_remembers_the_version_it_was_kept_from(actor):
    version = released_version(actor)
    pattern = actions.keep_pattern(
        version=version, name="Long hill", suits="", idempotency_key=uuid.uuid4(), actor=actor
    )
    assert pattern.kept_from == version
    assert pattern.ignition_map() == version.ignition_map()


def test_two_people_starting_at_once_get_two_numbers(actor, draft):
    numbers = {
        actions.start_version(
            job=draft.job, parent=draft, reason=reason, actor=replace(actor, person=StaffFactory())
        ).number
        for reason in ("richer", "leaner")
    }
    assert numbers == {2, 3}
