"""The car as it came in."""

import uuid

import pytest
from django.urls import reverse

from garage.models import Workshop
from jobs.checklists.queries import suitable_revisions
from jobs.inspection import actions, queries
from jobs.inspection.models import SweepReading
from jobs.job.progress import StageProgress
from tests.checklists.factories import put_in_shipped_lists
from tests.factories import JobFactory
from tests.pages import assert_not_open, text_of

# Worked band of the handbook, section 4: in crank degrees 0-1 at 800, 2-6 at 1200, 10-14 at 1800, 17-21 at 3000, 22-26
# at 4500 rpm, without base timing.
BAND = [[400, 0, 0.5], [600, 1, 3], [900, 5, 7], [1500, 8.5, 10.5], [2250, 11, 13]]
BASE = 8.0
MIDDLE = {800: 0.5, 1200: 4, 1800: 12, 3000: 19, 4500: 24}


@pytest.fixture
def job(db):
    job = JobFactory(stage="inspection")
    distributor = job.vehicle.distributor
    distributor.factory_band, distributor.base_timing_deg = BAND, BASE
    distributor.save()
    return job


def read(job, actor, rpm, degrees, direction="rising", id=None):
    return actions.record_sweep_reading(
        job=job, id=id or uuid.uuid4(), rpm=rpm, measured_deg=degrees, direction=direction, actor=actor
    )


def test_a_sound_distributor_lies_within_its_factory_band(job, actor):
    for rpm, degrees in MIDDLE.items():
        read(job, actor, rpm, degrees + BASE)
    comparison = queries.compared_sweep(job)
    assert [finding.kind for finding in comparison.findings] == ["within_band"]
    assert comparison.outside == pytest.approx([0] * 5)


def test_weak_springs_are_named_in_words(job, actor):
    for rpm, degrees in MIDDLE.items():
        early = 6 if 1000 < rpm < 4000 else 0
        read(job, actor, rpm, degrees + BASE + early)
    assert "weak_springs" in queries.compared_sweep(job).kinds


def test_a_sweep_without_factory_data_is_kept_but_not_judged(actor, db):
    job = JobFactory()
    read(job, actor, 900, 8)
    assert queries.compared_sweep(job) is None
    assert queries.sweep_points(job) == [(900, 8, "rising")]


def test_the_same_reading_sent_twice_is_one(job, actor):
    id = uuid.uuid4()
    read(job, actor, 900, 8, id=id)
    read(job, actor, 900, 8, id=id)
    assert SweepReading.objects.count() == 1
    assert job.journal.count() == 1


def test_a_reading_taken_back_stays_in_the_book_but_counts_no_more(job, actor):
    wrong = read(job, actor, 900, 38)
    read(job, actor, 1000, 9)
    for _ in range(2):
        actions.withdraw_sweep_reading(reading=wrong, actor=actor)
    assert queries.sweep_points(job) == [(1000, 9, "rising")]
    assert SweepReading.objects.filter(pk=wrong.pk).exists()
    assert [line.sentence for line in job.journal.all()].count("Undone: 38° BTDC at 900 rpm") == 1


@pytest.mark.parametrize(
    ("first", "second", "mark", "top", "error", "source"),
    [
        (-36, 36, 0, 0, 0, "symmetric, by hand"),
        (-35, 39, 2, 2, 0, "midpoint 2, by hand"),
        (350, 14, 0, 2, -2, "over the zero of the wheel: 350 and 14 have 2 between them, by hand"),
    ],
)
def test_the_timing_mark_is_compared_with_the_piston_stop(job, actor, first, second, mark, top, error, source):
    actions.record_mark_check(job=job, id=uuid.uuid4(), first_deg=first, second_deg=second, mark_deg=mark, actor=actor)
    found = queries.mark_found(job)
    assert found.top_deg == pytest.approx(top), source
    assert found.error_deg == pytest.approx(error), source


def test_a_mark_more_than_a_degree_off_keeps_the_gate_shut(job, actor):
    actions.record_mark_check(job=job, id=uuid.uuid4(), first_deg=-36, second_deg=36, mark_deg=3, actor=actor)
    assert "a new timing mark: the old one is 3.0° off" in queries.progress(job).missing


def test_a_stop_that_is_too_shallow_is_refused_and_nothing_is_recorded(browser_of, mechanic, job):
    form = {"mark-id": uuid.uuid4(), "mark-first_deg": "-2", "mark-second_deg": "2", "mark-mark_deg": "0"}
    answer = browser_of(mechanic).post(reverse("inspection:check-mark", args=[job.code]), form)
    assert answer.status_code == 422
    assert 'value="-2"' in answer.content.decode()
    assert not job.mark_checks.exists()


def squeeze(job, actor, *gauge_kpa):
    for cylinder, value in enumerate(gauge_kpa, start=1):
        actions.record_compression(
            job=job, id=uuid.uuid4(), cylinder=cylinder, gauge_kpa=value, entered_unit="kPa", actor=actor
        )


@pytest.mark.parametrize(
    ("gauges", "even", "source"),
    [
        ((1200, 1180, 1190, 1210), True, "spread 2.5 %, by hand"),
        ((1200, 1020), True, "15 % exactly: common practice allows 15, no source"),
        ((1200, 1000), False, "16.7 %, by hand"),
        ((1200,), None, "one cylinder says nothing"),
    ],
)
def test_compression_is_judged_by_the_spread_between_cylinders(job, actor, gauges, even, source):
    squeeze(job, actor, *gauges)
    assert queries.compression(job).even is even, source


def test_compression_at_height_is_shown_as_at_sea_level(job, actor, workshop):
    Workshop.objects.update(altitude_m=1000)
    squeeze(job, actor, 1064.412)
    # Handbook, section 3: 1200 kPa at sea level reads 1064.412 kPa at 1000 m (US Standard Atmosphere 1976)
    assert queries.compression(job).at_sea_level_kpa[0] == pytest.approx(1200, rel=1e-6)


def test_a_second_reading_of_a_cylinder_takes_the_place_of_the_first(job, actor):
    squeeze(job, actor, 900)
    squeeze(job, actor, 1150)
    assert [reading.gauge_kpa for reading in queries.compression(job).readings] == [1150]
    assert job.compression_readings.count() == 2


def gauge_form(gauges, scale="kPa"):
    boxes = {f"cylinder_{cylinder}": gauge for cylinder, gauge in gauges.items()}
    form = {**boxes, "entered_unit": scale, "idempotency_key": uuid.uuid4()}
    return {f"compression-{name}": value for name, value in form.items()}


def test_all_cylinders_are_saved_at_once_and_the_gauge_keeps_its_unit(browser_of, mechanic, job):
    client, address = browser_of(mechanic), reverse("inspection:read-compression", args=[job.code])
    typed = gauge_form({1: "165", 2: "160", 4: "158"}, scale="psi")
    for _ in range(2):  # sent twice is once
        assert client.post(address, typed).status_code == 302
    assert [reading.cylinder for reading in queries.compression(job).readings] == [1, 2, 4]
    form = client.get(reverse("inspection:page", args=[job.code])).context["compression_form"]
    assert form["cylinder_1"].field.unit == form["entered_unit"].value() == "psi"


def test_a_box_left_empty_leaves_what_that_cylinder_was_read_before(browser_of, mechanic, job):
    client, address = browser_of(mechanic), reverse("inspection:read-compression", args=[job.code])
    client.post(address, gauge_form({1: "1150", 2: "1140"}))
    client.post(address, gauge_form({2: "1100"}))
    assert [reading.gauge_kpa for reading in queries.compression(job).readings] == [1150, 1100]


def test_several_readings_of_the_old_advance_are_saved_in_one_go_or_none(browser_of, mechanic, job):
    client, address = browser_of(mechanic), reverse("inspection:add-several-sweeps", args=[job.code])
    slip = {"several-direction": "falling", "several-idempotency_key": uuid.uuid4()}
    refused = client.post(address, {**slip, "several-readings": "3000 27\n1200"})
    assert "Line 2: write rpm and degrees" in refused.content.decode()
    assert not SweepReading.objects.exists()
    for _ in range(2):
        client.post(address, {**slip, "several-readings": "3000 27\n\n1200 12,5"})
    assert set(queries.sweep_points(job)) == {(3000, 27, "falling"), (1200, 12.5, "falling")}


@pytest.mark.parametrize(
    ("gauge", "scale", "why"),
    [
        ("3100", "kPa", "between 0 and 3000"),
        ("165", "furlongs", "arrived incomplete"),
        ("", "psi", "one cylinder or more"),
    ],
)
def test_a_gauge_reading_out_of_reason_is_refused_and_comes_back_as_typed(browser_of, mechanic, job, gauge, scale, why):
    answer = browser_of(mechanic).post(
        reverse("inspection:read-compression", args=[job.code]), gauge_form({3: gauge}, scale)
    )
    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert f'value="{gauge}"' in answer.content.decode() or not gauge


def test_a_falling_sweep_goes_on_falling(browser_of, mechanic, job, actor):
    read(job, actor, 3000, 27, "falling")
    page = browser_of(mechanic).get(reverse("inspection:page", args=[job.code]))
    assert page.context["sweep_form"]["direction"].value() == "falling"


def test_the_next_step_leads_to_the_part_of_the_page_where_it_is_done(job, actor, monkeypatch):
    def next_step():
        step = queries.progress(job)
        return step.next_label, step.next_url.split("#")[-1]

    assert next_step()[0] == "Start the inspection sheet"
    monkeypatch.setattr(queries.checklists, "sheet_progress", lambda job, kind: StageProgress(done=9, total=9))
    assert next_step() == ("Prove timing mark", "mark")
    actions.record_mark_check(job=job, id=uuid.uuid4(), first_deg=-36, second_deg=36, mark_deg=0, actor=actor)
    assert next_step() == ("Strobe the old advance", "sweep")
    for rpm, degrees in [*MIDDLE.items(), (2400, 16)]:
        read(job, actor, rpm, degrees + BASE)
    assert next_step() == ("Measure compression of every cylinder", "compression")
    squeeze(job, actor, 1200)
    assert next_step() == ("Give verdict", "verdict")


def test_compression_typed_in_psi_shows_in_psi(browser_of, mechanic, job):
    client = browser_of(mechanic)
    client.post(reverse("inspection:read-compression", args=[job.code]), gauge_form({1: "165"}, scale="psi"))
    # NIST SP 811 (2008) B.8: 1 psi is 6.894 757 kPa
    assert job.compression_readings.get().gauge_kpa == pytest.approx(165 * 6.894757, rel=1e-6)
    assert "165 psi" in client.get(reverse("inspection:page", args=[job.code])).content.decode()


def test_an_engine_found_not_ready_keeps_the_gate_shut_until_the_owner_has_spoken(job, actor):
    def judge(fitness, remarks=""):
        actions.give_verdict(job=job, id=uuid.uuid4(), fitness=fitness, remarks=remarks, actor=actor)

    squeeze(job, actor, 1200)
    judge("talk to the owner", "cylinder 3 holds nothing")
    assert "the owner's decision: engine not ready" in queries.progress(job).missing
    judge("with remarks", "valve ground, owner agreed")
    assert not [words for words in queries.progress(job).missing if "owner" in words or "verdict" in words]
    assert job.inspection_verdicts.count() == 2


def test_a_bad_verdict_without_a_word_of_why_is_refused(browser_of, mechanic, job):
    form = {"verdict-id": uuid.uuid4(), "verdict-fitness": "talk to the owner", "verdict-remarks": ""}
    answer = browser_of(mechanic).post(reverse("inspection:give-verdict", args=[job.code]), form)
    assert answer.status_code == 422
    assert not job.inspection_verdicts.exists()


@pytest.mark.parametrize(
    ("rpm", "degrees", "why"),
    [
        ("9", "8", "between 100 and 10000 rpm"),
        ("900", "200", "between −30 and 80"),
        ("fast", "8", "‘fast’ is not a figure"),
    ],
)
def test_a_reading_out_of_reason_is_refused_and_comes_back_as_typed(browser_of, mechanic, job, rpm, degrees, why):
    form = {"sweep-id": uuid.uuid4(), "sweep-rpm": rpm, "sweep-measured_deg": degrees, "sweep-direction": "rising"}
    answer = browser_of(mechanic).post(reverse("inspection:add-sweep-reading", args=[job.code]), form)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert why in page
    assert f'value="{rpm}"' in page


def test_the_front_desk_reads_the_inspection_but_writes_none(browser_of, front_desk, job):
    client = browser_of(front_desk)
    page = client.get(reverse("inspection:page", args=[job.code]))
    assert job.vehicle.registration in text_of(page)
    assert reverse("inspection:give-verdict", args=[job.code]) not in page.content.decode()
    assert_not_open(client.post(reverse("inspection:give-verdict", args=[job.code]), {}))


def test_the_old_curve_for_the_strobe_comes_from_the_sweep_else_from_the_factory(job, actor):
    assert queries.old_centrifugal_curve(job).advance(1200) == pytest.approx(4)
    for rpm, degrees in [*MIDDLE.items(), (2400, 16)]:
        read(job, actor, rpm, degrees + BASE + 3)
    curve = queries.old_centrifugal_curve(job)
    assert curve.advance(1200) == pytest.approx(4 - 0.5), "the lowest reading is the zero of the shape"


def test_the_inspections_list_is_begun_and_filled_on_a_page_of_its_own(mechanic, browser_of):
    put_in_shipped_lists()
    job, client = JobFactory(stage="inspection"), browser_of(mechanic)
    overview = client.get(reverse("inspection:page", args=[job.code])).content.decode()
    sheet = reverse("inspection:sheet", args=[job.code])
    assert f'href="{sheet}"' in overview
    revision, _ = suitable_revisions(job, "inspection")[0]
    begun = client.post(reverse("checklists:begin", args=[job.code, "inspection"]), {"revision": revision.pk})
    assert begun.url == sheet
    assert "Battery post that goes to the body" in client.get(sheet).content.decode()


def test_a_mark_keeps_the_tolerance_it_was_proven_by(job, actor, workshop):
    def prove():
        actions.record_mark_check(job=job, id=uuid.uuid4(), first_deg=-36, second_deg=36, mark_deg=0.8, actor=actor)

    prove()
    Workshop.objects.update(mark_tolerance_deg=0.5)
    assert queries.mark_found(job).holds
    prove()
    assert not queries.mark_found(job).holds


def test_compression_keeps_the_spread_and_the_height_it_was_read_by(job, actor, workshop):
    squeeze(job, actor, 1200, 1050)  # 12.5 %
    Workshop.objects.update(compression_spread_percent=10, altitude_m=1000)
    found = queries.compression(job)
    assert found.even
    assert found.at_sea_level_kpa == [1200, 1050]
    squeeze(job, actor, 1200, 1050)
    found = queries.compression(job)
    assert not found.even
    # handbook, section 3: p/p0 at 1000 m is 0.88701 (US Standard Atmosphere 1976)
    assert found.at_sea_level_kpa[0] == pytest.approx(1200 / 0.88701, rel=1e-5)


def test_a_verdict_keeps_the_limits_it_was_given_by(job, actor, workshop):
    for rpm, degrees in [*MIDDLE.items(), (2400, 16)]:
        read(job, actor, rpm, degrees + BASE)
    squeeze(job, actor, 1200)
    actions.give_verdict(job=job, id=uuid.uuid4(), fitness="ready", remarks="", actor=actor)
    old = queries.old_centrifugal_curve(job)
    Workshop.objects.update(least_sweep_speeds=8, compression_spread_percent=10, mark_tolerance_deg=0.5)
    assert not [words for words in queries.progress(job).missing if "sweep" in words]
    assert queries.old_centrifugal_curve(job) == old  # as found, and not the factory's for want of speeds
    said = queries.verdict(job)
    limits = (said.least_sweep_speeds, said.compression_spread_percent, said.mark_tolerance_deg)
    assert limits == (6, 15, 1)
    actions.give_verdict(job=job, id=uuid.uuid4(), fitness="with remarks", remarks="again", actor=actor)
    assert [words for words in queries.progress(job).missing if "sweep" in words]


def test_a_verdict_sent_again_after_the_limits_changed_is_still_the_same_verdict(job, actor, workshop):
    id = uuid.uuid4()
    squeeze(job, actor, 1200)
    for least in (6, 8):
        Workshop.objects.update(least_sweep_speeds=least)
        actions.give_verdict(job=job, id=id, fitness="ready", remarks="", actor=actor)
    assert job.inspection_verdicts.get().least_sweep_speeds == 6
