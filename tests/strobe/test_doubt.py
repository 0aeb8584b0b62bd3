"""A reading that looks like a slip is asked about in one sentence, before it is saved."""

import uuid

import pytest
from django.urls import reverse

from garage.record.models import TrailEntry
from jobs.strobe import actions, queries
from jobs.strobe.models import Purpose, StrobeReading
from tests.factories import JobFactory
from tests.pages import text_of


@pytest.fixture
def job(db):
    return JobFactory(stage="base-timing")


@pytest.fixture
def session(job, actor):
    """The unit set to 16 degrees: half of it, and minus it, are plainly something else."""
    return actions.begin_base_session(job=job, base_deg=16.0, idempotency_key=uuid.uuid4(), actor=actor)


@pytest.fixture
def at_the_strobe(browser_of, mechanic, job, session):
    """Sends one reading as the page does; the same `id` is the same sending again."""
    client = browser_of(mechanic)
    add = reverse("strobe:add-reading", args=[job.code, session.pk])

    def send(measured, *, id=None, **button):
        form = {"id": id or uuid.uuid4(), "rpm": "2000", "measured_deg": measured, **button}
        return client.post(add, form)

    return send


def saved():
    return [reading.measured_deg for reading in StrobeReading.objects.all()]


@pytest.mark.parametrize(
    ("typed", "corrected", "asked"),
    [
        ("8", "16° BTDC", "about half of the 16.0° expected. Are these distributor degrees?"),
        ("-16", "16° BTDC", "Is the sign turned?"),
        ("32", "16° BTDC", "Was the figure doubled?"),
    ],
)
def test_a_slip_is_asked_about_with_both_figures_to_choose_from(at_the_strobe, typed, corrected, asked):
    answer = at_the_strobe(typed)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert saved() == []
    assert asked in text_of(answer)
    assert f'value="{typed}"' in page  # the box comes back filled
    assert f"Save {corrected}" in text_of(answer)
    assert "Save as typed" in text_of(answer)


def test_the_corrected_figure_is_saved_and_the_trail_says_what_was_typed(at_the_strobe):
    assert at_the_strobe("8", correct="16").status_code == 302
    assert saved() == [16.0]
    entry = TrailEntry.objects.latest("at")
    assert "Strobe: 16° BTDC at 2000 rpm" in entry.sentence
    assert "Typed 8°, corrected when asked" in entry.sentence
    assert entry.figures["typed_deg"] == 8.0


def test_what_was_typed_is_saved_where_the_person_says_so_and_the_trail_says_that(at_the_strobe):
    assert at_the_strobe("8", keep="8").status_code == 302
    assert saved() == [8.0]
    assert "Kept as typed when asked: The reading, 8°, is about half" in TrailEntry.objects.latest("at").sentence


@pytest.mark.parametrize("button", [{"correct": "16"}, {"keep": "8"}])
def test_a_double_tap_on_either_button_saves_once(at_the_strobe, button):
    id = uuid.uuid4()
    for _ in range(2):
        assert at_the_strobe("8", id=id, **button).status_code == 302
    assert StrobeReading.objects.count() == 1


def test_a_figure_changed_after_the_question_is_not_corrected_by_an_old_button(at_the_strobe):
    answer = at_the_strobe("15.5", correct="16")
    assert answer.status_code == 422
    assert "Changed since it was asked about" in text_of(answer)
    assert saved() == []


def test_another_slip_after_the_question_is_asked_about_anew(at_the_strobe):
    answer = at_the_strobe("-16", keep="8")
    assert "Is the sign turned?" in text_of(answer)
    assert saved() == []


@pytest.mark.parametrize("typed", ["16", "14", "12", "20"])
def test_a_reading_that_may_well_be_what_the_strobe_shows_is_saved_at_once(at_the_strobe, typed):
    assert at_the_strobe(typed).status_code == 302
    assert saved() == [float(typed)]
    assert "asked" not in TrailEntry.objects.latest("at").sentence


@pytest.mark.parametrize(("typed", "status"), [("4", 422), ("6", 302)])
def test_half_of_a_small_base_timing_is_asked_about_too(job, actor, browser_of, mechanic, typed, status):
    """6 of 8 may be a distributor that is yet to be set, 4 may be distributor degrees as well."""
    session = actions.begin_base_session(job=job, base_deg=8.0, idempotency_key=uuid.uuid4(), actor=actor)
    add = reverse("strobe:add-reading", args=[job.code, session.pk])
    form = {"id": uuid.uuid4(), "rpm": "900", "measured_deg": typed}
    assert browser_of(mechanic).post(add, form).status_code == status


def test_on_a_map_the_reading_is_held_against_the_map_at_its_speed_and_vacuum(job, actor, browser_of, mechanic):
    from tests.jobs_factories import released_version

    version = released_version(
        actor, job=job, curve=[[500, 0], [3000, 18], [5000, 18]],
        vacuum_scheme="ramp", vacuum_start_kpa=10.16, vacuum_full_kpa=40.64, vacuum_full_deg=12.0,
    )  # fmt: skip
    session = actions.begin_map_session(
        job=job, purpose=Purpose.SWEEP, version_id=version.pk, version_words="version 1",
        idempotency_key=uuid.uuid4(), actor=actor,
    )  # fmt: skip
    add = reverse("strobe:add-reading", args=[job.code, session.pk])
    with_pipe_on = {"id": uuid.uuid4(), "rpm": "3000", "measured_deg": "19", "vacuum_kpa": "60", "vacuum_unit": "kPa"}
    answer = browser_of(mechanic).post(add, with_pipe_on | {"vacuum_kpa_unit": "kPa"})
    assert "half of the 38.0° expected" in text_of(answer)  # 8 + 18 + 12, by hand


class TestTheStrobe:
    def begun(self, job, actor, lamp="", **session):
        return actions.begin_base_session(
            job=job, base_deg=16.0, idempotency_key=uuid.uuid4(), actor=actor, lamp=lamp, **session
        )

    def page(self, browser_of, mechanic, session):
        return text_of(browser_of(mechanic).get(reverse("strobe:session", args=[session.job.code, session.pk])))

    def test_is_kept_with_its_session_and_offered_for_the_next(self, browser_of, mechanic, job):
        client = browser_of(mechanic)
        begin = reverse("strobe:begin-base", args=[job.code])
        client.post(begin, {"idempotency_key": uuid.uuid4(), "base_deg": "8", "lamp": "dial_back"})
        assert job.strobe_sessions.get().lamp == "dial_back"
        assert "dial-back strobe" in TrailEntry.objects.latest("at").sentence
        page = client.get(reverse("strobe:page", args=[job.code])).content.decode()
        assert '<option value="dial_back" selected>' in page

    def test_with_a_dial_bears_its_caution(self, browser_of, mechanic, job, actor):
        assert "set the dial to 0" in self.page(browser_of, mechanic, self.begun(job, actor, "dial_back"))
        assert "dial" not in self.page(browser_of, mechanic, self.begun(job, actor, "plain"))

    @pytest.mark.parametrize(("lamp", "warned"), [("dial_back", True), ("", True), ("plain", False)])
    def test_on_a_wasted_spark_is_warned_of_unless_it_is_a_plain_one(
        self, browser_of, mechanic, job, actor, lamp, warned
    ):
        type(job.vehicle.engine).objects.update(cylinders=2)
        type(job.vehicle.distributor).objects.update(has_rotor=False)
        job.refresh_from_db()
        shown = self.page(browser_of, mechanic, self.begun(job, actor, lamp))
        assert ("twice the advance" in shown) is warned

    def test_twice_the_advance_on_a_wasted_spark_is_known_for_what_it_is(self, job, actor, at_the_strobe):
        type(job.vehicle.engine).objects.update(cylinders=2)
        type(job.vehicle.distributor).objects.update(has_rotor=False)
        assert "A dial-back lamp shows that on a wasted spark" in text_of(at_the_strobe("32"))


def read(session, actor, rpm, measured):
    actions.record_reading(session=session, id=uuid.uuid4(), rpm=rpm, measured_deg=measured, actor=actor)


class TestTheVerdict:
    def test_singles_out_a_wild_reading_among_those_of_its_own_speed(self, session, actor):
        for rpm, measured in [(900, 16), (910, 16), (905, 25), (2000, 16), (2010, 16)]:
            read(session, actor, rpm, measured)
        verdict = queries.judged(session).verdict
        assert verdict.kind == "outlier"
        assert "905 rpm" in verdict.sentence
        assert "the others at 905 rpm" in verdict.sentence

    @pytest.fixture
    def later_with_speed(self, session, actor):
        """300 µs of delay: 1.8 degrees at 1000 rpm and 5.4 at 3000 (handbook, section 5: 0.6 degrees each 100 µs)."""
        for rpm in (1000, 1000, 2000, 2000, 3000, 3000):
            read(session, actor, rpm, 16 - 300e-6 * 6 * rpm)
        return session

    def test_knows_a_delay_that_grows_with_speed_and_blames_neither_pipe_nor_mechanism(self, later_with_speed):
        verdict = queries.judged(later_with_speed).verdict
        assert verdict.kind == "lag"
        assert "300 µs" in verdict.sentence
        assert "pipe" not in verdict.sentence
        assert "mechanism" not in verdict.sentence

    @pytest.mark.parametrize(("takes", "told"), [(True, True), (False, False)])
    def test_says_enter_it_in_the_unit_only_of_a_unit_that_has_that_entry(self, later_with_speed, actor, takes, told):
        from garage.units.capability import capability_of
        from garage.units.examples import TERN
        from jobs.job.actions import choose_unit
        from tests.jobs_factories import FittedUnitFactory

        capability = capability_of(TERN) | ({"takes_delay": True} if takes else {})
        job = later_with_speed.job
        choose_unit(job=job, unit=FittedUnitFactory(revision__capability=capability), actor=actor)
        assert ("enter it in the unit" in queries.judged(later_with_speed).verdict.sentence) is told

    def test_of_a_dial_back_strobe_sends_to_its_dial_first(self, job, actor):
        session = actions.begin_base_session(
            job=job, base_deg=16.0, idempotency_key=uuid.uuid4(), actor=actor, lamp="dial_back"
        )
        for rpm in (1000, 1000, 2000, 2000, 3000, 3000):
            read(session, actor, rpm, 16 - 300e-6 * 6 * rpm)
        assert "set its dial to 0" in queries.judged(session).verdict.sentence


def test_the_strobe_page_starts_a_session_against_the_map_with_what_it_sends(browser_of, mechanic, job, actor):
    """The hidden id of the page's own form is what the workshop computer asks for."""
    from tests.jobs_factories import released_version

    released_version(actor, job=job)
    client = browser_of(mechanic)
    page = client.get(reverse("strobe:page", args=[job.code]))
    begin = page.context["begin_form"]
    sent = {bound.html_name: bound.value() or "" for bound in begin}
    assert all(f'name="{name}"' in page.content.decode() for name in sent)
    for purpose in ("map sweep", "final check"):  # one page, two buttons, two sessions
        client.post(reverse("strobe:begin-map", args=[job.code, purpose]), sent)
    assert sorted(session.purpose for session in job.strobe_sessions.all()) == ["final check", "map sweep"]
