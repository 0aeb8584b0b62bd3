"""A draft as it is typed: refused cell by cell, and never changed by being shown."""

import pytest
from django.http import QueryDict

from garage.units.examples import FALLOW, QUILL, TERN
from jobs.maps.map_form import MapForm, initial_of
from tests.jobs_factories import MapVersionFactory
from tests.maps import said

pytestmark = pytest.mark.django_db


@pytest.fixture
def version():
    return MapVersionFactory(
        curve=[[500, 0], [1000, 2], [3000, 18]],
        vacuum_scheme="ramp",
        vacuum_unit="inHg",
        vacuum_start_kpa=12.3456789,
        vacuum_full_kpa=45.0,
        vacuum_full_deg=12.0,
    )


def typed(version, **changed):
    """The form as a browser sends it when nothing but `changed` was touched."""
    shown = MapForm(unit=TERN, initial=initial_of(version))
    data = QueryDict(mutable=True)
    for bound in shown:
        if bound.name not in ("curve", "boost", "vacuum_table", "repeated_sparks"):
            value = bound.value()
            data[bound.name] = "" if value is None else str(shown.fields[bound.name].prepare_value(value))
    for rpm, degrees in shown.curve_rows_to_type():
        data.appendlist("curve_rpm", rpm.value)
        data.appendlist("curve_deg", degrees.value)
    for name, value in changed.items():
        data.setlist(name, value if isinstance(value, list) else [value])
    return data


def form_of(version, unit=TERN, **changed):
    return MapForm(typed(version, **changed), unit=unit, initial=initial_of(version))


def test_a_form_sent_untouched_changes_no_figure(version):
    form = form_of(version)
    assert form.is_valid(), form.errors
    settings = form.settings()
    assert {name: settings[name] for name in settings} == {name: getattr(version, name) for name in settings}


def test_another_unit_to_show_vacuum_in_does_not_change_what_it_means(version):
    form = form_of(version, vacuum_unit="mbar")
    assert form.is_valid(), form.errors
    assert form.settings()["vacuum_unit"] == "mbar"
    assert form.settings()["vacuum_start_kpa"] == version.vacuum_start_kpa


def test_a_unit_written_beside_a_figure_of_the_ramp_is_the_one_the_map_is_kept_in(version):
    version.vacuum_unit = "kPa"
    form = form_of(version, vacuum_start_kpa="4 inHg")
    assert form.is_valid(), form.errors
    assert form.settings()["vacuum_unit"] == "inHg"
    # NIST SP 811:2008, appendix B.8
    assert form.settings()["vacuum_start_kpa"] == pytest.approx(4 * 3.386389, rel=1e-6)


def test_a_unit_chosen_on_the_page_counts_before_one_written_beside_a_figure(version):
    version.vacuum_unit = "kPa"
    form = form_of(version, vacuum_start_kpa="4 inHg", vacuum_unit="mbar")
    assert form.is_valid(), form.errors
    assert form.settings()["vacuum_unit"] == "mbar"


def test_a_page_that_lost_its_unit_is_asked_again(version):
    data = typed(version, vacuum_start_kpa="4")
    del data["vacuum_shown_in"]
    form = MapForm(data, unit=TERN, initial=initial_of(version))
    assert "arrived incomplete" in str(form.errors["vacuum_start_kpa"])


def test_twelve_inches_of_mercury_are_understood_whatever_unit_is_shown(version):
    """1 inHg is 3.386389 kPa: NIST SP 811:2008, appendix B.8."""
    form = form_of(version, vacuum_full_kpa="12 inHg")
    assert form.is_valid(), form.errors
    assert form.settings()["vacuum_full_kpa"] == pytest.approx(12 * 3.386389, rel=1e-6)


def test_a_refused_cell_is_named_by_its_place_and_the_others_are_kept(version):
    form = form_of(version, curve_deg=["0", "2x", "18"], curve_rpm=["500", "1000", "3000"])
    assert not form.is_valid()
    rows = form.curve_rows()
    assert [row[1].value for row in rows] == ["0", "2x", "18"]
    assert [row[1].error for row in rows] == ["", said.not_a_figure("2x"), ""]


def test_blank_rows_are_no_points_and_places_are_counted_with_them(version):
    form = form_of(version, curve_rpm=["500", "", "3000"], curve_deg=["0", "", "55"])
    assert not form.is_valid()
    assert form.curve_rows()[2][1].error == said.UNIT_HOLDS.format(0, 40)


def test_a_speed_that_does_not_rise_is_refused_in_its_own_cell(version):
    form = form_of(version, curve_rpm=["500", "3000", "1000"], curve_deg=["0", "2", "4"])
    assert not form.is_valid()
    assert form.curve_rows()[2][0].error == said.MUST_INCREASE


def test_a_curve_without_a_point_is_refused(version):
    form = form_of(version, curve_rpm=["", ""], curve_deg=["", ""])
    assert form.errors["curve"] == [said.NEEDS_A_POINT]


@pytest.mark.parametrize(
    ("unit", "name", "value", "refusal"),
    [
        (TERN, "rev_limit_rpm", "9500", said.UNIT_HOLDS.format(3000, 9000)),
        (TERN, "vacuum_full_kpa", "95", "The unit holds 1 to 25 inHg."),
        (TERN, "vacuum_full_deg", "21", said.UNIT_HOLDS.format(0, 20)),
        (TERN, "vacuum_from_rpm", "1200", "The unit does not ask for a speed: leave empty."),
        (FALLOW, "base_deg", "30", said.UNIT_HOLDS.format("−5", 25)),
        (QUILL, "dwell_ms", "7", said.UNIT_HOLDS.format(0.5, 6)),
        (TERN, "base_deg", "95", "Must be between −10 and 40 degrees."),
        (TERN, "rev_limit_rpm", "fast", said.not_a_figure("fast")),
        (TERN, "base_deg", "1_0", said.not_a_figure("1_0")),
    ],
)
def test_a_figure_beyond_the_unit_or_the_trade_is_refused_with_what_is_allowed(version, unit, name, value, refusal):
    version.vacuum_unit = "kPa"
    form = form_of(version, unit=unit, **{name: value})
    assert not form.is_valid()
    assert refusal in form.errors[name]


def test_a_unit_that_counts_from_dead_centre_is_held_against_with_the_base_in(version):
    form = form_of(version, unit=FALLOW, base_deg="20", curve_deg=["0", "2", "41"], curve_rpm=["500", "1000", "3000"])
    assert not form.is_valid()
    assert form.curve_rows()[2][1].error == "With base 20 the unit holds −30 to 40 here."


def test_a_table_asked_for_takes_the_nodes_of_the_unit_and_what_the_ramp_gave(version):
    form = form_of(version, unit=FALLOW, vacuum_scheme="table")
    assert form.is_valid(), form.errors
    table = form.settings()["vacuum_table"]
    assert (table["rpm"], table["vacuum"]) == ([800, 1600, 2400, 3600, 5000], [0, 20, 40, 60])
    # by hand, 12 degrees over 12.346 to 45 kPa: 12 (20 - 12.346) / 32.654 = 2.8, 12 (40 - 12.346) / 32.654 = 10.2
    assert [row[0] for row in table["degrees"]] == [0.0, 2.8, 10.2, 12.0]


def test_a_ramp_needs_all_three_of_its_figures(version):
    form = form_of(version, vacuum_full_deg="")
    assert form.errors["vacuum_full_deg"] == ["Needed for a ramp."]


def test_a_refusal_of_the_maths_is_a_sentence(version):
    form = form_of(version, vacuum_start_kpa="50 kPa", vacuum_full_kpa="40 kPa")
    assert form.non_field_errors() == ["Vacuum advance begins at 50 kPa but is full at 40 kPa: it must be full later."]


@pytest.mark.parametrize("typed", ["-5", "\u22125", "-5,0", " -5 "])
def test_a_figure_in_a_box_is_read_as_one_in_a_cell(version, typed):
    """With a comma, or the minus sign that documents and spreadsheets print."""
    form = form_of(version, unit=FALLOW, base_deg=typed)
    form.is_valid()
    assert form.cleaned_data["base_deg"] == -5
