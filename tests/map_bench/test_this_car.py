"""The bench reads this car: what was measured on it stands there, is drawn, and is what the map is judged by."""

import html
import uuid
from dataclasses import replace

import pytest
from django.urls import reverse

from garage.models import Workshop
from garage.units.capability import capability_of
from garage.units.examples import TERN
from jobs.bench.version_on_bench import on_the_bench
from jobs.roadtest import actions as road
from tests.checklists.factories import enter, sheet_with
from tests.factories import JobFactory, VehicleFactory
from tests.jobs_factories import MapVersionFactory, UnitTypeRevisionFactory, released_version
from tests.maps.test_car_values import FITTING, INSPECTION
from tests.maps.versions import address, figures
from tests.pages import text_of
from timing.coil import CRANKING_RPM
from timing.unit import Steps

pytestmark = pytest.mark.django_db


@pytest.fixture
def job(workshop):
    vehicle = VehicleFactory(
        system_volts=12,
        engine__cylinders=4,
        engine__idle_rpm=800,
        engine__red_line_rpm=6000,
        coil__primary_ohm=3.0,
        coil__inductance_mh=8.0,
        coil__has_ballast=False,
    )
    return JobFactory(stage="map", vehicle=vehicle)


@pytest.fixture
def inspected(job, mechanic):
    sheet = sheet_with(INSPECTION, person=mechanic, job=job, kind="inspection")
    return lambda key, **entry: enter(sheet, key, mechanic, **entry)


@pytest.fixture
def fitted(job, mechanic):
    sheet = sheet_with(FITTING, person=mechanic, job=job)
    return lambda key, **entry: enter(sheet, key, mechanic, **entry)


@pytest.fixture
def draft(job):
    return MapVersionFactory(job=job, dwell_ms=3.5)


def bench_of(version):
    return on_the_bench(type(version).objects.get(pk=version.pk))


def found(version):
    return {one.finding.code: one for one in bench_of(version).findings}


class TestThePage:
    def test_shows_what_was_measured_with_a_link_to_where_it_stands(self, at_the_bench, draft, job, inspected):
        inspected("charging-12", measure=13.9)
        page = at_the_bench.get(address(draft))
        assert "Charging 13.90 V Inspection sheet · Ines Marlow" in text_of(page)
        assert f'href="{reverse("inspection:sheet", args=[job.code])}#item-charging-12"' in page.text

    def test_leads_to_where_a_missing_figure_is_entered(self, at_the_bench, draft, job, inspected):
        page = at_the_bench.get(address(draft))
        assert "Idle vacuum not entered Enter: inspection sheet" in text_of(page)
        assert page.text.count(f'{reverse("inspection:sheet", args=[job.code])}#item-idle-vacuum"') >= 1

    def test_a_finding_that_lacks_a_figure_offers_to_enter_it(self, at_the_bench, draft, job):
        type(job.vehicle.engine).objects.update(red_line_rpm=None)
        place = f"{reverse('vehicles:edit', args=[job.vehicle.pk])}#id_engine-red_line_rpm"
        page = at_the_bench.get(address(draft)).text
        assert f'<a href="{place}">Enter</a>' in page
        judged = at_the_bench.post(address(draft, "judge"), figures(draft)).json()["findings"]
        assert f'<a href="{place}">Enter</a>' in judged

    def test_is_there_for_a_released_version_too(self, at_the_bench, actor, job, inspected):
        inspected("battery-12", measure=12.55)
        version = released_version(actor, job=job)
        assert "Battery at rest 12.55 V Inspection sheet" in text_of(at_the_bench.get(address(version)))


class TestIdleOnAThrottlePort:
    def test_is_drawn_without_vacuum_advance_and_a_finding_says_why(self, draft, inspected, fitted):
        type(draft).objects.update(
            vacuum_scheme="ramp", vacuum_start_kpa=10.0, vacuum_full_kpa=40.0, vacuum_full_deg=12.0
        )
        inspected("idle-vacuum", measure=60.0, unit="kPa")
        at_manifold = self.idle(draft)
        fitted("vacuum-source", choice="throttle port")
        at_port = self.idle(draft)
        rows = [cell for cell in bench_of(draft).pictures()["surface"].cells if cell.column == 0]
        assert at_port - at_manifold == pytest.approx(6 * abs(rows[0].y - rows[1].y), abs=0.1)  # 60 kPa, rows of 10
        finding = found(draft)["no-vacuum-at-idle"].finding
        assert "throttle port" in finding.sentence
        assert "8°" in finding.sentence  # base timing alone

    def idle(self, version):
        return next(point.y for point in bench_of(version).pictures()["surface"].points if point.name == "idle")


class TestTheDwellBudget:
    def test_is_drawn_at_the_voltages_of_this_car(self, draft, inspected):
        for key, volts in (("battery-12", 12.5), ("cranking-12", 10.2), ("charging-12", 13.9)):
            inspected(key, measure=volts)
        said = bench_of(draft).pictures()["dwell"].wide.description
        assert "Cranking 10.2 V" in said
        assert "Resting 12.5 V" in said
        assert "Charging 13.9 V" in said

    def test_names_a_voltage_nobody_measured_as_usual(self, at_the_bench, draft):
        assert "Usual cranking 9 V" in bench_of(draft).pictures()["dwell"].wide.description
        assert "Usual voltage, not measured: cranking, resting, charging." in text_of(at_the_bench.get(address(draft)))

    def test_ends_the_cranking_line_where_a_starter_turns_no_faster(self, draft, inspected):
        inspected("cranking-12", measure=10.2)
        said = bench_of(draft).pictures()["dwell"].wide.description
        cranking = next(sentence for sentence in said.split(".  ") if "Cranking" in sentence).split("Usual resting")[0]
        assert f"at {CRANKING_RPM:.0f} rpm" in cranking
        assert "6000 rpm" not in cranking

    def test_without_an_inductance_says_what_the_resistance_tells(self, at_the_bench, draft, job, inspected):
        """By hand: 3 ohm at 20 °C is 3.5895 at 70 °C; 0.2 of wiring, 13.9 less 1 V: 3.4 A, and 41.6 W in the coil."""
        type(job.vehicle.coil).objects.update(inductance_mh=None)
        inspected("charging-12", measure=13.9)
        shown = " ".join(html.unescape(text_of(at_the_bench.get(address(draft)))).split())
        assert "Not drawn. Missing: coil inductance" in shown
        assert "Current at rest 3.4 A at 13.9 V" in shown
        assert "Heat in the coil, left on 42 W at 13.9 V" in shown
        assert "coil-at-rest" in found(draft)


class TestARevLimitAboveTheRedLine:
    @pytest.mark.parametrize(
        ("allowed", "kind"), [(5.0, "caution"), (1.0, "stop")], ids=["within the owner's 5 %", "beyond 1 %"]
    )
    def test_is_a_stop_from_the_owners_setting_on(self, draft, allowed, kind):
        type(draft).objects.update(rev_limit_rpm=6100)
        Workshop.objects.update(over_red_line_percent=allowed)
        assert found(draft)["rev-limit-over-red-line"].finding.kind == kind


class TestPinkingNotedOnTheRoad:
    @pytest.fixture
    def driven(self, job, actor, second_mechanic):
        """Version 1 gives 8 + 18 degrees at 3000 rpm; clear pinking was heard there at full load."""
        version = released_version(actor, job=job, curve=[[500, 0], [3000, 18], [5000, 18]])
        self.heard(version, actor, second_mechanic, severity=2)
        return version

    def heard(self, version, actor, second_mechanic, severity):
        run = road.begin_run(
            job=version.job, version_id=version.pk, version_words="version 1", route="Quarry hill",
            driver=actor.person, writer=second_mechanic, idempotency_key=uuid.uuid4(), actor=actor,
        )  # fmt: skip
        road.take_note(
            run=run, id=uuid.uuid4(), kind="pinking", severity=severity, rpm=3000, vacuum_kpa=0.0, actor=actor
        )

    def next_version(self, parent, at_3000):
        return MapVersionFactory(
            job=parent.job, number=2, parent=parent, unit_revision=parent.unit_revision,
            curve=[[500, 0], [3000, at_3000], [5000, 18]],
        )  # fmt: skip

    def test_is_held_against_the_next_version_until_that_changes_it(self, driven):
        unchanged = found(self.next_version(driven, 18))["pinking-unchanged"].finding
        assert unchanged.kind == "caution"
        assert "3000 rpm" in unchanged.sentence
        assert "26°" in unchanged.sentence

    def test_is_answered_by_as_much_retard_as_was_suggested(self, driven):
        codes = found(self.next_version(driven, 16))  # a clear note speaks for 2 degrees less
        assert "pinking-unchanged" not in codes
        assert "retard-rounded" not in codes

    def test_says_where_less_is_taken_out_than_was_suggested(self, driven):
        said = found(self.next_version(driven, 17))["retard-rounded"].finding.sentence
        assert "takes out 1°, which is less" in said

    def test_is_suggested_in_steps_that_the_unit_can_hold(self, job, actor, second_mechanic):
        """A trace speaks for 1 degree less (road log, handbook, section 9), and this unit steps by 2."""
        steps_by_2 = capability_of(replace(TERN, degree=Steps(0, 40, 2)))
        unit = UnitTypeRevisionFactory(capability=steps_by_2)
        version = released_version(actor, job=job, unit_revision=unit, curve=[[500, 0], [3000, 18], [5000, 18]])
        self.heard(version, actor, second_mechanic, severity=1)
        said = found(self.next_version(version, 14))["retard-rounded"].finding.sentence
        assert "2° less was suggested at 3000 rpm" in said
        assert "This version takes out 4°, which is more." in said

    def test_stays_with_the_version_that_pinked(self, driven):
        assert "pinking-unchanged" in found(driven)

    def test_goes_with_the_car_into_its_next_job(self, driven, job):
        later = MapVersionFactory(job=JobFactory(vehicle=job.vehicle), curve=[[500, 0], [3000, 18], [5000, 18]])
        assert "pinking-unchanged" in found(later)

    def test_says_nothing_of_an_earlier_version_or_another_car(self, driven, actor, job):
        other = MapVersionFactory(curve=[[500, 0], [3000, 18], [5000, 18]])
        assert "pinking-unchanged" not in found(other)
        second = self.next_version(driven, 14)
        second.parent = None
        assert "pinking-unchanged" not in found(second)

    def test_a_note_taken_back_is_forgotten(self, driven, actor):
        from jobs.roadtest.models import RoadNote

        road.withdraw_note(note=RoadNote.objects.get(), actor=actor)
        assert "pinking-unchanged" not in found(driven)


class TestALockedMechanism:
    def test_is_not_told_to_be_set_but_asked_for_its_place(self, draft, fitted, job):
        type(job.vehicle.distributor).objects.update(
            rotor_tip_radius_mm=24, rotor_tip_width_mm=8, post_width_mm=5, rotor_gap_mm=0.6
        )
        assert "rotor-not-measured" in found(draft)
        fitted("advance-free-play", measure=0.2)
        codes = found(draft)
        assert "rotor-not-measured" not in codes
        assert codes["missing-rotor-phase"].enter_url == reverse("fitting:rotor", args=[job.code])
