"""On the road, with a second person writing."""

import uuid
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse

from garage.record.actor import Actor
from jobs.maps import queries as maps
from jobs.maps.actions import record_read_back
from jobs.maps.unit_fit import lines_of
from jobs.roadtest import actions, queries
from jobs.roadtest.models import BeforeLeaving, RoadNote, RoadRun
from jobs.roadtest.suggested import placed_pinking, suggested_retard
from tests.factories import JobFactory
from tests.jobs_factories import MapVersionFactory, proven_version
from tests.pages import text_of

BEFORE = {"looked_at": list(BeforeLeaving)}


@pytest.fixture
def job(db):
    return JobFactory(stage="road-test")


@pytest.fixture
def version(job, monkeypatch):
    """A version in the car; how it gets there is the maps room's matter."""
    version = MapVersionFactory(job=job)
    monkeypatch.setattr(maps, "version_in_car", lambda job: version)
    monkeypatch.setattr(maps, "in_car", lambda job: maps.InCar(version))
    return version


def drive(job, version, actor, second_mechanic):
    return actions.begin_run(
        job=job,
        version_id=version.pk,
        version_words=str(version),
        route="Quarry hill",
        driver=actor.person,
        writer=second_mechanic,
        idempotency_key=uuid.uuid4(),
        actor=actor,
    )


@pytest.fixture
def run(job, version, actor, second_mechanic):
    return drive(job, version, actor, second_mechanic)


def hear(run, actor, kind="pinking", severity=2, rpm=2600, vacuum=None, id=None):
    return actions.take_note(
        run=run, id=id or uuid.uuid4(), kind=kind, severity=severity, rpm=rpm, vacuum_kpa=vacuum, actor=actor
    )


def test_the_driver_does_not_write(browser_of, mechanic, job, version):
    form = {
        "idempotency_key": uuid.uuid4(),
        "route": "Quarry hill",
        "driver": mechanic.pk,
        "writer": mechanic.pk,
        **BEFORE,
    }
    answer = browser_of(mechanic).post(reverse("roadtest:begin", args=[job.code]), form)
    assert answer.status_code == 422
    assert "Take a note-taker along" in answer.content.decode()
    assert not RoadRun.objects.exists()


def test_a_driver_who_is_alone_writes_at_the_halt_and_the_journal_says_so(browser_of, mechanic, job, version):
    form = {"idempotency_key": uuid.uuid4(), "route": "Quarry hill", "driver": mechanic.pk, "writer": "", **BEFORE}
    assert browser_of(mechanic).post(reverse("roadtest:begin", args=[job.code]), form).status_code == 302
    assert RoadRun.objects.get().writer is None
    assert job.journal.last().sentence.endswith("driver: Ines Marlow, alone, notes written at the halt")


def test_nobody_sets_off_without_a_version_in_the_car(browser_of, mechanic, second_mechanic, job):
    form = {
        "idempotency_key": uuid.uuid4(),
        "route": "Quarry hill",
        "driver": mechanic.pk,
        "writer": second_mechanic.pk,
        **BEFORE,
    }
    browser_of(mechanic).post(reverse("roadtest:begin", args=[job.code]), form)
    assert not RoadRun.objects.exists()


def test_nobody_leaves_before_the_short_list_is_ticked(browser_of, mechanic, second_mechanic, job, version):
    form = {
        "idempotency_key": uuid.uuid4(),
        "route": "Quarry hill",
        "driver": mechanic.pk,
        "writer": second_mechanic.pk,
        "looked_at": [value for value in BeforeLeaving if value != BeforeLeaving.LEADS_TIED],
    }
    client, url = browser_of(mechanic), reverse("roadtest:begin", args=[job.code])
    answer = client.post(url, form)
    assert answer.status_code == 422
    assert "Still to check: leads tied clear of belts and exhaust." in text_of(answer)
    assert not RoadRun.objects.exists()
    page = client.get(client.post(url, form | BEFORE).url)
    assert "Checked before leaving: version in the car read back clean, brakes and fluids, leads" in text_of(page)


@pytest.mark.parametrize(
    ("shows", "is_ticked"), [({}, True), ({2: "40"}, False)], ids=["clean", "then found to be something else"]
)
def test_before_leaving_only_the_read_back_is_ticked_and_only_where_the_record_has_it(
    browser_of, mechanic, actor, shows, is_ticked
):
    job = JobFactory(stage="road-test")
    version = proven_version(actor, job=job)
    if shows:
        record_read_back(
            fact_id=uuid.uuid4(), version=version, unit=version.job.unit, power_cycled=True,
            actor=replace(actor, at=actor.at + timedelta(minutes=5)),
            shown={line.position: line.value_text for line in lines_of(version)} | shows,
        )  # fmt: skip
    form = browser_of(mechanic).get(reverse("roadtest:page", args=[job.code])).context["form"]
    assert form["looked_at"].value() == ([BeforeLeaving.READ_BACK] if is_ticked else [])


def test_a_double_tap_begins_one_run(browser_of, mechanic, second_mechanic, job, version):
    form = {
        "idempotency_key": uuid.uuid4(),
        "route": "Quarry hill",
        "driver": second_mechanic.pk,
        "writer": mechanic.pk,
        **BEFORE,
    }
    client = browser_of(mechanic)
    first, second = (client.post(reverse("roadtest:begin", args=[job.code]), form) for _ in range(2))
    assert first.url == second.url
    assert RoadRun.objects.count() == 1


def test_a_note_sent_twice_is_one_note(run, actor):
    id = uuid.uuid4()
    hear(run, actor, id=id)
    hear(run, actor, id=id)
    assert RoadNote.objects.count() == 1


def test_a_note_reads_as_a_sentence_in_the_unit_it_was_taken_in(run, actor):
    actions.take_note(
        run=run,
        id=uuid.uuid4(),
        kind="pinking",
        severity=3,
        rpm=2600,
        vacuum_kpa=2 * 3.386388640341,  # NIST SP 811 (2008) B.8, conventional inch of mercury
        vacuum_unit="inHg",
        words="hill, third gear",
        actor=actor,
    )
    assert "heavy pinking at 2600 rpm, 2 inHg: hill, third gear" in run.job.journal.last().sentence


def test_pinking_says_how_strong_it_was(browser_of, mechanic, run):
    form = {"id": uuid.uuid4(), "kind": "pinking", "rpm": "2600", "words": "on the hill"}
    answer = browser_of(mechanic).post(reverse("roadtest:note", args=[run.job.code, run.pk]), form)
    assert answer.status_code == 422
    assert "on the hill" in answer.content.decode()
    assert "Enter how strongly it pinked." in text_of(answer)


def test_one_tap_is_enough_for_the_rest(browser_of, mechanic, run):
    form = {"id": uuid.uuid4(), "kind": "flat spot", "severity": 1}
    assert browser_of(mechanic).post(reverse("roadtest:note", args=[run.job.code, run.pk]), form).status_code == 302
    assert RoadNote.objects.get().rpm is None


def test_a_run_that_is_over_takes_no_more_notes_but_knows_one_sent_again(run, actor):
    id = uuid.uuid4()
    hear(run, actor, id=id)
    actions.end_run(run=run, summary="drives well", actor=actor)
    hear(run, actor, id=id)
    with pytest.raises(actions.RunOverError):
        hear(run, actor)


def test_ending_twice_keeps_the_first_end(run, actor):
    actions.end_run(run=run, summary="drives well", actor=actor)
    later = Actor(person=actor.person, at=actor.at + timedelta(hours=1), device=actor.device)
    actions.end_run(run=run, summary="drives well", actor=later)
    assert RoadRun.objects.get().ended_at == actor.at


def test_other_words_at_a_second_end_come_back_and_are_not_swallowed(browser_of, mechanic, run, actor):
    actions.end_run(run=run, summary="drives well", actor=actor)
    answer = browser_of(mechanic).post(
        reverse("roadtest:end", args=[run.job.code, run.pk]), {"summary": "surges on the flat"}
    )
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "This run has already ended" in page
    assert "surges on the flat</textarea>" in page
    assert "drives well" in page


def test_pinking_speaks_for_less_advance_where_it_was_heard(run, version, actor):
    """Handbook 9, by hand: severity 2 at the point 3000 rpm itself scores 2 there: 2 degrees."""
    note = hear(run, actor, severity=2, rpm=3000, vacuum=0)
    assert suggested_retard(version, [note]) == {note.pk: 2.0}


def test_pinking_between_two_points_is_shared_between_them(run, version, actor):
    """By hand: half way between 800 and 3000 rpm each has half of severity 2, so 1 degree at both: 1 between them."""
    note = hear(run, actor, severity=2, rpm=1900, vacuum=0)
    assert suggested_retard(version, [note]) == {note.pk: pytest.approx(1.0)}


@pytest.mark.parametrize("kind", ["flat spot", "run-on", "hot start", "surge", "kick-back"])
def test_only_pinking_speaks_for_a_number_the_rest_may_be_fuel_as_easily(run, actor, kind):
    assert placed_pinking([hear(run, actor, kind=kind, severity=3)]) == []


def test_a_note_taken_back_counts_no_more(run, actor):
    note = hear(run, actor)
    actions.withdraw_note(note=note, actor=actor)
    assert placed_pinking(queries.current_notes(run)) == []
    assert RoadNote.objects.filter(pk=note.pk).exists()


def test_clear_pinking_keeps_the_gate_shut_and_leads_to_the_map(run, actor):
    hear(run, actor, severity=2)
    actions.end_run(run=run, summary="pinks on the hill", actor=actor)
    progress = queries.progress(run.job)
    assert any("without definite pinking" in words for words in progress.missing)
    assert progress.next_label == "See proposal"


def test_a_trace_of_pinking_does_not(run, actor):
    hear(run, actor, severity=1)
    actions.end_run(run=run, summary="a trace at the top of the hill", actor=actor)
    assert queries.progress(run.job).missing == []


def test_a_run_with_another_version_than_the_one_in_the_car_does_not_count(run, actor, job, monkeypatch):
    actions.end_run(run=run, summary="drives well", actor=actor)
    newer = MapVersionFactory(job=job, number=2)
    monkeypatch.setattr(maps, "version_in_car", lambda job: newer)
    assert queries.progress(job).missing == ["a road test with version 2, now in the car"]


def test_the_reason_for_the_next_version_is_made_of_the_notes(run, actor):
    hear(run, actor, severity=2, rpm=2600)
    assert queries.reason_for_next_version(run) == "definite pinking at 2600 rpm"


def test_the_run_s_page_offers_the_next_version_with_that_reason(browser_of, mechanic, run, actor):
    hear(run, actor, severity=2, rpm=2600)
    hear(run, actor, kind="surge", rpm=1500)
    page = browser_of(mechanic).get(reverse("roadtest:run", args=[run.job.code, run.pk])).content.decode()
    assert "reason=definite+pinking+at+2600+rpm%3B+definite+surge+at+1500+rpm" in page


def test_a_flat_spot_alone_may_be_reason_enough_for_a_next_version(browser_of, mechanic, run, actor):
    hear(run, actor, kind="flat spot", rpm=1800)
    page = browser_of(mechanic).get(reverse("roadtest:run", args=[run.job.code, run.pk])).content.decode()
    assert "reason=definite+flat+spot+at+1800+rpm" in page


def end(client, run, **form):
    return client.post(reverse("roadtest:end", args=[run.job.code, run.pk]), form)


def test_a_run_on_which_nothing_was_found_ends_by_one_button(browser_of, mechanic, run, actor):
    hear(run, actor, kind="fine", severity=0)
    end(browser_of(mechanic), run, nothing_found="1")
    run.refresh_from_db()
    assert (run.summary, run.ended_at is not None) == ("Nothing found.", True)


def test_nothing_found_is_refused_where_a_note_says_otherwise(browser_of, mechanic, run, actor):
    hear(run, actor, kind="flat spot", severity=0)
    client = browser_of(mechanic)
    page = client.get(reverse("roadtest:run", args=[run.job.code, run.pk]))
    assert "nothing found" not in text_of(page)
    answer = end(client, run, nothing_found="1")
    assert answer.status_code == 422
    assert "The notes say: flat spot at 2600 rpm. Write how it drove." in text_of(answer)
    run.refresh_from_db()
    assert run.ended_at is None


def test_without_words_and_without_that_button_a_run_does_not_end(browser_of, mechanic, run):
    assert end(browser_of(mechanic), run, summary="").status_code == 422


def test_the_route_of_the_last_run_is_proposed(browser_of, mechanic, run):
    page = browser_of(mechanic).get(reverse("roadtest:page", args=[run.job.code])).content.decode()
    assert 'value="Quarry hill"' in page


@pytest.mark.parametrize(("severity", "leads_to"), [(2, "proposals:page"), (1, "roadtest:run")])
def test_a_run_that_pinked_leads_to_what_that_proposes(browser_of, mechanic, run, actor, severity, leads_to):
    hear(run, actor, severity=severity)
    args = [run.job.code] if leads_to == "proposals:page" else [run.job.code, run.pk]
    assert end(browser_of(mechanic), run, summary="up the hill").url == reverse(leads_to, args=args)
