"""Cars in the book."""

import uuid
from dataclasses import replace

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from garage.models import Vehicle
from garage.units.actions import take_out
from garage.vehicles.facts import band_of, capsule_of
from garage.vehicles.forms import FiringOrderField, RatioField
from tests.factories import CustomerFactory, JobFactory, VehicleFactory
from tests.jobs_factories import proven_version
from tests.pages import text_of

PARTS = {"engine-strokes": "4"}
# Factory data as a maker prints them, and in crank degrees: handbook of this project, section 4, worked band.
BAND = "400 0 0.5\n600: 1-3\n900; 5; 7\n1500 8,5 10,5\n2250 11 to 13"
CRANK_BAND = [(800, 0, 1), (1200, 2, 6), (1800, 10, 14), (3000, 17, 21), (4500, 22, 26)]


def enter(client, customer, **typed):
    form = {
        "idempotency_key": uuid.uuid4(),
        "customer": customer.pk,
        "registration": "klm  204 b",
        "maker": "Alder",
        "model": "1500",
        # the page carries the unit it asks in
        "distributor-capsule_start_kpa_unit": "kPa",
        "distributor-capsule_full_kpa_unit": "kPa",
    }
    return client.post(reverse("vehicles:new"), form | PARTS | typed)


@pytest.fixture
def client(browser_of, mechanic):
    return browser_of(mechanic)


@pytest.fixture
def customer(db):
    return CustomerFactory()


def test_a_car_is_entered_with_only_what_is_known(client, customer):
    enter(client, customer)
    vehicle = Vehicle.objects.get()
    assert vehicle.registration == "KLM 204 B"
    assert vehicle.engine.cylinders is None
    assert vehicle.coil.has_ballast is None


def test_a_double_tap_enters_one_car(client, customer):
    idempotency_key = uuid.uuid4()
    enter(client, customer, idempotency_key=idempotency_key)
    enter(client, customer, idempotency_key=idempotency_key)
    assert Vehicle.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "typed", "why"),
    [
        ("engine-compression_ratio", "95", "between 4 and 20"),
        ("engine-bore_mm", "8", "between 30 and 150 mm"),
        ("engine-idle_rpm", "fast", "‘fast’ is not a figure"),
        ("engine-cylinders", "7", "Choose from the list"),
        ("engine-firing_order", "first, third", "hyphens"),
        ("year", "1885", "between 1900"),
        ("distributor-capsule_start_kpa", "12 furlongs", "furlongs"),
        ("distributor-factory_band", "400 0 0.5\n600 1", "Row 2"),
        ("distributor-factory_band", "400 3 0.5", "400"),
        ("coil-primary_ohm", "0", "between 0.1 and 10 ohm"),
        ("engine-stroke_mm", "nan", "is not a figure"),
        ("engine-stroke_mm", "1e400", "is not a figure"),
    ],
)
def test_a_figure_out_of_reason_is_refused_with_what_is_allowed(client, customer, field, typed, why):
    answer = enter(client, customer, **{field: typed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert why in page
    assert not Vehicle.objects.exists()


def test_a_firing_order_names_every_cylinder_once(client, customer):
    typed = {"engine-cylinders": "4", "engine-firing_order": "1-3-3-2"}
    answer = enter(client, customer, **typed)
    assert answer.status_code == 422
    assert "Name each of the 4 cylinders once." in text_of(answer)
    typed["engine-firing_order"] = "1-3-4-2"
    assert enter(client, customer, **typed).status_code == 302


def test_the_factory_band_is_read_as_people_write_it_and_turned_to_crank_degrees(client, customer):
    enter(client, customer, **{"distributor-factory_band": BAND})
    band = band_of(Vehicle.objects.get())
    for rpm, lowest, highest in CRANK_BAND:
        assert band.lower.advance(rpm) == pytest.approx(lowest)
        assert band.upper.advance(rpm) == pytest.approx(highest)


def test_what_was_typed_in_inches_of_mercury_shows_so_for_ever(client, customer, mechanic):
    mechanic.vacuum_unit = "inHg"
    mechanic.save()
    units = {"distributor-capsule_start_kpa_unit": "inHg", "distributor-capsule_full_kpa_unit": "inHg"}
    enter(client, customer, **units, **{"distributor-capsule_start_kpa": "3", "distributor-capsule_full_kpa": "12"})
    vehicle = Vehicle.objects.get()
    # NIST SP 811 (2008) B.8: 1 inHg, conventional, is 3.386 389 kPa
    assert vehicle.distributor.capsule_full_kpa == pytest.approx(12 * 3.386389, rel=1e-6)
    page = client.get(reverse("vehicles:edit", args=[vehicle.pk])).content.decode()
    assert 'value="12"' in page
    assert (
        "starts at 3 inHg, full at 12 inHg"
        in client.get(reverse("vehicles:detail", args=[vehicle.pk])).content.decode()
    )


def test_a_unit_written_beside_the_figure_is_understood(client, customer):
    enter(client, customer, **{"distributor-capsule_start_kpa": "3 inHg", "distributor-capsule_full_kpa": "12inhg"})
    assert Vehicle.objects.get().distributor.capsule_start_kpa == pytest.approx(3 * 3.386389, rel=1e-6)


def test_a_capsule_that_is_full_before_it_begins_is_refused(client, customer):
    typed = {"distributor-capsule_start_kpa": "30", "distributor-capsule_full_kpa": "20"}
    answer = enter(client, customer, **typed)
    assert answer.status_code == 422
    assert "Must be more than the start." in text_of(answer)


def test_a_capsule_known_in_part_is_not_guessed(db):
    vehicle = VehicleFactory()
    vehicle.distributor.capsule_start_kpa = 10
    assert capsule_of(vehicle) is None


def test_capsule_degrees_double_from_distributor_to_crank_on_a_four_stroke(db):
    vehicle = VehicleFactory()
    part = vehicle.distributor
    part.capsule_start_kpa, part.capsule_full_kpa, part.capsule_full_deg = 10, 40, 7
    # Handbook of this project, section 4: v0 10, v1 40, A 14 crank degrees gives 7 at 25 kPa
    assert capsule_of(vehicle).advance(vacuum=25) == pytest.approx(7)


def test_two_people_changing_one_car_are_shown_both(browser_of, mechanic, owner):
    vehicle = VehicleFactory(registration="KLM 204 B")
    url = reverse("vehicles:edit", args=[vehicle.pk])
    form = {
        "row_version": 1,
        "customer": vehicle.customer.pk,
        "registration": "KLM 204 B",
        "maker": "Alder",
        "model": "1500",
    }
    form |= PARTS
    assert browser_of(mechanic).post(url, form | {"engine-idle_rpm": "850"}).status_code == 302
    answer = browser_of(owner).post(url, form | {"engine-idle_rpm": "700"})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "850" in page
    assert "700" in page
    vehicle.engine.refresh_from_db()
    assert vehicle.engine.idle_rpm == 850


def test_a_car_s_page_says_what_is_not_known(browser_of, front_desk):
    page = browser_of(front_desk).get(reverse("vehicles:detail", args=[VehicleFactory().pk])).content.decode()
    assert "not known" in page


def test_every_figure_that_is_known_of_a_car_stands_on_its_page(client):
    # Figures that occur nowhere else on the page, one for each that may be entered.
    figures = {
        "engine": {
            "bore_mm": 71.13, "stroke_mm": 82.17, "rod_mm": 141.19, "compression_ratio": 8.23, "fuel_ron": 97.3,
            "idle_rpm": 829, "red_line_rpm": 5837, "pulley_diameter_mm": 123.7,
        },
        "distributor": {
            "base_timing_deg": 7.3, "capsule_start_kpa": 13.1, "capsule_full_kpa": 41.9, "capsule_full_deg": 6.7,
            "dwell_deg": 53.3, "rotor_tip_width_mm": 7.9, "rotor_tip_radius_mm": 21.1, "post_width_mm": 4.3,
            "rotor_gap_mm": 0.77,
        },
        "coil": {
            "primary_ohm": 1.53, "inductance_mh": 6.1, "has_ballast": True, "ballast_ohm": 1.61, "heat_limit_w": 43.7,
        },
    }  # fmt: skip
    car = VehicleFactory()
    for name, known in figures.items():
        type(getattr(car, name)).objects.filter(vehicle=car).update(**known)
    page = client.get(reverse("vehicles:detail", args=[car.pk])).content.decode()
    shown = [figure for known in figures.values() for figure in known.values() if figure is not True]
    assert [figure for figure in shown if f"{figure:g}" not in page] == []


def test_what_is_refused_of_a_car_and_its_parts_is_said_together(client, customer):
    form = {
        "idempotency_key": uuid.uuid4(),
        "customer": customer.pk,
        "year": "1885",
        "engine-bore_mm": "8",
        "coil-primary_ohm": "900",
    }
    page = client.post(reverse("vehicles:new"), form).content.decode()
    assert page.count("Not saved yet") == 1
    summary = page.split('class="error-summary"')[1].split("</div>")[0]
    for refused in ("Registration", "Year", "Bore", "Primary resistance"):
        assert refused in summary


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("1342", "1-3-4-2"),
        ("1,3,4,2", "1-3-4-2"),
        ("1 3 4 2", "1-3-4-2"),
        ("1-3-4-2", "1-3-4-2"),
        ("1 – 3 – 4 – 2", "1-3-4-2"),
        ("153624", "1-5-3-6-2-4"),
        ("1-12-5-8-3-10", "1-12-5-8-3-10"),
        ("1", "1"),
        ("", ""),
    ],
)
def test_a_firing_order_is_read_however_it_is_written(typed, kept):
    assert FiringOrderField(required=False).clean(typed) == kept


@pytest.mark.parametrize(("typed", "kept"), [("8.5:1", 8.5), ("8,5 : 1", 8.5), ("9", 9.0), ("8.5", 8.5)])
def test_a_compression_ratio_is_read_as_books_print_it(typed, kept):
    assert RatioField().clean(typed) == kept


@pytest.mark.parametrize("typed", ["1:8.5", "8.5:2", "high"])
def test_what_is_no_ratio_to_one_is_refused(typed):
    with pytest.raises(ValidationError):
        RatioField().clean(typed)


def test_saving_the_page_untouched_does_not_change_the_unit_a_capsule_was_written_in(client, mechanic):
    part = VehicleFactory(distributor__capsule_start_kpa=14.04).distributor  # from before units were kept
    mechanic.vacuum_unit = "inHg"
    mechanic.save()
    page = client.get(reverse("vehicles:edit", args=[part.vehicle_id]))
    typed = {"distributor-capsule_start_kpa_unit": "inHg", "distributor-capsule_full_kpa_unit": "inHg"}
    typed |= {"distributor-capsule_start_kpa": page.context["parts"]["distributor"]["capsule_start_kpa"].value()}
    form = page.context["form"]
    typed |= {name: form[name].value() or "" for name in form.fields} | PARTS
    assert client.post(reverse("vehicles:edit", args=[part.vehicle_id]), typed).status_code == 302
    part.refresh_from_db()
    assert (part.capsule_start_kpa, part.capsule_start_unit) == (14.04, "")


def test_two_people_who_write_a_capsule_in_different_units_are_shown_both_with_their_units(client):
    part = VehicleFactory(
        distributor__capsule_start_kpa=3 * 3.386388640341, distributor__capsule_start_unit="inHg"
    ).distributor
    page = client.get(reverse("vehicles:edit", args=[part.vehicle_id]))
    form = page.context["form"]
    typed = {name: form[name].value() or "" for name in form.fields} | PARTS
    typed |= {"distributor-capsule_full_kpa_unit": "kPa", "distributor-capsule_start_kpa_unit": "inHg"}
    Vehicle.objects.update(row_version=7)
    answer = client.post(
        reverse("vehicles:edit", args=[part.vehicle_id]), typed | {"distributor-capsule_start_kpa": "14 kPa"}
    )
    assert answer.status_code == 409
    assert {"label": "Vacuum capsule starts at", "value": "3 inHg"} in answer.context["standing"]


def test_a_car_s_page_begins_with_its_last_job_its_unit_and_the_map_in_it(client, actor):
    version = proven_version(actor, job=JobFactory(stage="map"))
    job = version.job
    page = client.get(reverse("vehicles:detail", args=[job.vehicle_id]))
    shown = text_of(page)
    first = shown.partition("Last job")[2].partition("Jobs")[0]
    assert job.code in first
    assert f"no. {job.unit.serial_number}" in first
    assert "version 1 read back by Ines Marlow" in first
    assert "Go to road test" in first
    assert shown.index("Last job") < shown.index("Engine")


def test_a_car_whose_unit_was_taken_out_has_no_map_in_it(client, actor):
    version = proven_version(actor, job=JobFactory(stage="map"))
    take_out(unit=version.job.unit, actor=replace(actor, at=timezone.now()))
    first = text_of(client.get(reverse("vehicles:detail", args=[version.job.vehicle_id]))).partition("Last job")[2]
    assert "Unit not fitted" in first
    assert "Map in the car not proven" in first


def test_a_car_that_was_never_here_says_so(client):
    first = text_of(client.get(reverse("vehicles:detail", args=[VehicleFactory().pk]))).partition("Last job")[2]
    assert first.split()[:2] == ["none", "yet"]
