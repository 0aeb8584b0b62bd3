"""Figures in and out, in the person's own unit."""

import unicodedata

import pint
import pytest
from django.core.exceptions import ValidationError
from django.template import Context, Template
from hypothesis import given
from hypothesis import strategies as st

from garage.quantities import words
from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.limits import Between
from garage.quantities.measure import PRESSURE, VACUUM
from garage.quantities.templatetags.quantities import day, in_unit, moment
from garage.quantities.typed import figure as figure_of
from timing.minus import with_minus

JUDGE = pint.UnitRegistry()
# pint's names: `inHg` there is the conventional inch of mercury of NIST SP 811.
PINT_NAME = {"kPa": "kilopascal", "inHg": "inHg", "mmHg": "mmHg", "mbar": "millibar", "bar": "bar", "psi": "psi"}


@pytest.mark.parametrize("unit", list(PINT_NAME))
def test_a_typed_pressure_is_clean_in_kpa_as_pint_says(unit):
    expected = JUDGE.Quantity(12.5, PINT_NAME[unit]).to("kilopascal").magnitude
    assert MeasureField(quantity=VACUUM, unit=unit).clean("12.5") == pytest.approx(expected, rel=1e-9)


@given(tenths=st.integers(0, 999), unit=st.sampled_from(["kPa", "inHg", "mmHg", "mbar"]))
def test_a_figure_of_the_workshop_comes_back_as_it_was_typed(tenths, unit):
    typed = words.bare(tenths / 10)
    field = MeasureField(quantity=VACUUM, unit=unit)
    assert field.prepare_value(field.clean(typed)) == typed
    assert in_unit(field.clean(typed), unit) == typed


@pytest.mark.parametrize(
    ("typed", "kpa"),
    [("12", 12), ("12,5", 12.5), ("12 kPa", 12), ("120 mbar", 12), ("0.12bar", 12), ("-20", -20), (" 7 ", 7)],
)
def test_a_unit_written_beside_the_figure_counts_before_the_one_shown(typed, kpa):
    assert MeasureField(quantity=VACUUM, unit="kPa").clean(typed) == pytest.approx(kpa)


@pytest.mark.parametrize("typed", ["twelve", "12 furlongs", "1.2.3", "12 13", "nan", "inf", "12; DROP", "--4"])
def test_what_is_no_pressure_is_refused(typed):
    with pytest.raises(ValidationError):
        MeasureField(quantity=VACUUM, unit="kPa").clean(typed)


def test_what_was_refused_is_shown_as_it_was_typed():
    class Form(MeasuringForm):
        vacuum = MeasureField(quantity=VACUUM, unit="inHg")

    assert 'value="twelve"' in str(Form({"vacuum": "twelve"})["vacuum"])


@pytest.mark.parametrize(
    ("degrees", "said"),
    [(8, "8° BTDC"), (8.5, "8.5° BTDC"), (-2, "2° ATDC"), (0, "TDC"), (-0.0, "TDC"), (12.000000001, "12° BTDC")],
)
def test_crank_degrees_are_said_as_the_trade_says_them(degrees, said):
    assert words.advance(degrees) == said


@pytest.mark.parametrize(
    ("figure", "decimals", "said"),
    [
        (0.1 + 0.2, None, "0.3"),
        (-0.04, 1, "0.0"),
        (6000.0, None, "6000"),
        (1234567.0, None, "1234567"),
        (2.5, 2, "2.50"),
        # the minus sign of ISO 80000-1 is U+2212 in Unicode
        (-0.2, 1, "\u22120.2"),
        (-12.0, None, "\u221212"),
        (-0.0000001, None, "0"),
    ],
)
def test_figures_are_written_without_noise(figure, decimals, said):
    assert words.plain(figure, decimals) == said


def test_a_minus_is_one_sign_for_people_and_another_in_boxes():
    assert unicodedata.name(words.plain(-3)[0]) == "MINUS SIGN"
    assert with_minus("-3") == words.plain(-3) == words.figure_text(-3, 0)
    assert words.bare(-3.25) == "-3.25"
    assert words.bare(-3.25).isascii()
    assert MeasureField(quantity=PRESSURE, unit="kPa").prepare_value(-3.25) == "-3.25"
    page = Template("{% load quantities %}{{ v|plain }} {{ v|plain:1 }} {{ v|change }} {{ v|bare }} {{ v|in_unit }}")
    assert page.render(Context({"v": -3.25})) == "\u22123.25 \u22123.2 \u22123.2° -3.25 \u22123.25"


@given(hundredths=st.integers(-99_999, 99_999))
def test_what_people_read_can_be_typed_in_again(hundredths):
    for shown in (words.plain(hundredths / 100), words.bare(hundredths / 100)):
        assert figure_of(shown) == pytest.approx(hundredths / 100)


def test_a_limit_says_what_is_allowed_and_holds_at_both_its_ends():
    limit = Between(4, 20, "mm")
    limit(4)
    limit(20)
    for value in (3.999, 20.001, float("nan")):
        with pytest.raises(ValidationError, match="between 4 and 20 mm"):
            limit(value)


def test_moments_are_said_on_the_workshop_s_clock(settings):
    settings.TIME_ZONE = "Europe/London"
    # British summer time is an hour ahead of UTC in May (tz database)
    assert moment("2026-05-14T10:05:00+00:00") == "14 May 2026, 11:05"
    assert day("2026-05-14") == "14 May 2026"
    assert moment(None) == day("") == ""
