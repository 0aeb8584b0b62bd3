"""Pressure units and altitude, held against NIST SP 811, the US Standard Atmosphere 1976 and pint."""

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tests.timing.published import rows
from timing.errors import TimingError
from timing.units import (
    KM_PER_MILE,
    PASCALS,
    STANDARD_GRAVITY,
    STANDARD_PRESSURE_KPA,
    UnitsError,
    compression_at_sea_level,
    convert,
    highest_vacuum,
    standard_pressure,
    vacuum_lost,
)

ATMOSPHERE = rows("atmosphere.csv")
UNITS = sorted(PASCALS)
PINT = pint.UnitRegistry(cache_folder=None)
PINT_NAMES = {"Pa": "pascal", "inHg": "inHg", "mmHg": "mmHg", "psi": "psi", "mbar": "mbar", "bar": "bar", "kPa": "kPa"}


# ---- Conversion ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "row", [row for row in rows("pressure_units.csv") if row["unit"] != "atm"], ids=lambda r: r["unit"]
)
def test_a_factor_is_the_exact_one_and_rounds_to_what_nist_prints(row):
    unit = row["unit"].removesuffix("_conventional")
    pascals = convert(1.0, unit, "Pa")
    assert pascals == pytest.approx(row["pa_exact"], rel=1e-12), "NIST SP 811, definitions"
    assert float(f"{pascals:.7g}") == row["pa_sp811"], "NIST SP 811 (2008), appendix B.8, as printed"


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "expected", "source"),
    [
        (18, "inHg", "kPa", 60.954996, "handbook section 3, computed with 18 conventional inches"),
        (18, "inHg", "mbar", 609.549955, "handbook section 3"),
        (18, "inHg", "mmHg", 457.2, "25.4 mm in an inch, by definition"),
        (18, "inHg", "psi", 8.840775, "handbook section 3"),
        (10, "inHg", "kPa", 33.863886, "handbook section 3"),
        (101.325, "kPa", "inHg", 29.92126, "standard atmosphere, NIST SP 811 B.8: 29.9213 inHg"),
        (760, "mmHg", "kPa", 101.325, "760 mmHg is one atmosphere to seven digits, NIST SP 811 B.8"),
        (1, "bar", "psi", 14.503774, "1e5 / 6894.757, NIST SP 811 B.8"),
        (1013.25, "mbar", "kPa", 101.325, "a millibar is 100 Pa, by definition"),
    ],
)
def test_a_reading_in_another_unit(value, unit, wanted, expected, source):
    assert convert(value, unit, wanted) == pytest.approx(expected, rel=5e-7), source


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("wanted", UNITS)
def test_every_conversion_is_the_one_pint_makes(unit, wanted):
    quantity = PINT.Quantity(12.5, PINT_NAMES[unit]).to(PINT_NAMES[wanted])
    # pint's own inch and millimetre of mercury are rounded to seven digits in its older tables.
    assert convert(12.5, unit, wanted) == pytest.approx(quantity.magnitude, rel=2e-7), "pint"


@given(st.floats(-1e6, 1e6), st.sampled_from(UNITS), st.sampled_from(UNITS))
def test_there_and_back_again_is_the_same_reading(value, unit, wanted):
    assert convert(convert(value, unit, wanted), wanted, unit) == pytest.approx(value, rel=1e-12, abs=1e-300)


def test_a_reading_in_its_own_unit_is_untouched():
    assert convert(0.1 + 0.2, "inHg", "inHg") == 0.1 + 0.2


def test_whole_factors_leave_no_noise():
    assert convert(609.5, "mbar", "kPa") == 60.95
    assert convert(0.3, "bar", "mbar") == 300.0


def test_a_list_of_readings_keeps_its_shape_and_the_callers_figures():
    readings = np.array([[1.0, 2.0], [3.0, 4.0]])
    converted = convert(readings, "bar", "kPa")
    assert converted.tolist() == [[100.0, 200.0], [300.0, 400.0]]
    assert readings.tolist() == [[1.0, 2.0], [3.0, 4.0]]
    assert type(convert(1, "bar", "kPa")) is float
    assert type(convert(1, "kPa", "kPa")) is float


@pytest.mark.parametrize(
    ("units", "unknown"), [(("inhg", "kPa"), "'inhg'"), (("kPa", "torr"), "'torr'"), (("", "kPa"), "''")]
)
def test_an_unknown_unit_is_refused_with_those_that_are_known(units, unknown):
    known = "Pa, mbar, kPa, bar, mmHg, inHg, psi"
    with pytest.raises(UnitsError, match=f"^{unknown} is no unit of pressure known here: {known}$"):
        convert(1.0, *units)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "ten", None, [1.0, float("nan")]])
def test_what_is_no_number_is_not_converted(value):
    with pytest.raises(TimingError, match=r"^the pressure must be a"):
        convert(value, "kPa", "inHg")


def test_a_pressure_beyond_all_numbers_is_refused_and_not_infinite():
    with pytest.raises(UnitsError, match=r"^the pressure is too large to be converted from bar to Pa"):
        convert(1e305, "bar", "Pa")


@pytest.mark.parametrize("row", rows("units_elsewhere.csv"), ids=lambda row: row["what"])
def test_a_factor_is_the_one_other_libraries_and_tables_have(row):
    ours = {"mile_km": KM_PER_MILE, "gravity": STANDARD_GRAVITY, "atmosphere_kpa": STANDARD_PRESSURE_KPA}
    value = ours[row["what"]] if row["what"] in ours else convert(row["reading"], row["from"], row["to"])
    assert value == pytest.approx(row["value"], abs=row["tolerance"]), row["source"]


# ---- The standard atmosphere -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", ATMOSPHERE, ids=lambda row: f"{row['altitude_m']:.0f} m")
def test_the_standard_atmosphere_at_a_height(row):
    height = row["altitude_m"]
    assert standard_pressure(height) == pytest.approx(row["pressure_pa_geometric"] / 1000, abs=5e-6)
    assert convert(standard_pressure(height), "kPa", "inHg") == pytest.approx(row["pressure_inhg"], abs=5e-4)


@pytest.mark.parametrize(
    "row",
    [row for row in ATMOSPHERE if row["table_pressure_mbar_geometric"]],
    ids=lambda row: f"{row['altitude_m']:.0f} m",
)
def test_the_printed_pressure_of_the_us_standard_atmosphere_is_ours_cut_off(row):
    printed = row["table_pressure_mbar_geometric"]
    millibars = standard_pressure(row["altitude_m"]) * 10
    assert printed <= millibars + 1e-9 < printed + 0.01, "US Standard Atmosphere 1976, table I, truncated"


@pytest.mark.parametrize("row", rows("atmosphere_printed.csv"), ids=lambda row: f"{row['altitude']:g} {row['unit']}")
def test_every_printed_pressure_of_the_atmosphere_is_ours_cut_off_or_rounded(row):
    ours = convert(standard_pressure(row["altitude"]), "kPa", row["pressure_unit"])
    assert row["pressure"] - 0.5 * row["last_digit"] <= ours + 1e-9 < row["pressure"] + row["last_digit"], row["source"]


@pytest.mark.parametrize(
    ("altitude", "millibars", "source"),
    [
        (11_000, 226.99, "US Standard Atmosphere 1976, table I, from memory"),
        (5_000, 540.48, "US Standard Atmosphere 1976, table I, from memory"),
        (-1_000, 1139.3, "US Standard Atmosphere 1976, table I, from memory"),
    ],
)
def test_the_ends_of_the_lowest_layer(altitude, millibars, source):
    assert standard_pressure(altitude) * 10 == pytest.approx(millibars, rel=1e-4), source


def test_the_pressure_is_the_weight_of_the_air_above():
    """scipy integrates dp/dz = -g(z) M p / (R T), gravity falling with the square of the distance."""
    radius = 6_356_766.0

    def falls(height, pressure):
        gravity = 9.80665 * (radius / (radius + height)) ** 2
        return -gravity * 28.9644 / (8314.32 * (288.15 - 0.0065 * radius * height / (radius + height))) * pressure

    climb = solve_ivp(falls, (0.0, 4000.0), [101.325], t_eval=[1000.0, 4000.0], rtol=1e-10, atol=1e-12)
    assert climb.y[0] == pytest.approx(standard_pressure(climb.t), rel=1e-8), "scipy.integrate.solve_ivp"


@pytest.mark.parametrize("altitude", [-5000.1, 11_000.1, float("nan")])
def test_a_height_beyond_the_layer_is_refused(altitude):
    with pytest.raises(TimingError, match=r"^altitude must be"):
        standard_pressure(altitude)


def test_both_ends_of_the_layer_are_accepted():
    low, high = standard_pressure([-5000, 11_000])
    assert low > 101.325 > high > 0


# ---- What height does to gauges --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("altitude", "lost", "lost_inhg"),
    [(500, 5.864, 1.732), (1000, 11.449, 3.381), (1500, 16.765, 4.951), (2000, 21.824, 6.444), (3000, 31.204, 9.214)],
)
def test_a_vacuum_gauge_loses_what_the_air_has_lost(altitude, lost, lost_inhg):
    assert vacuum_lost(altitude) == pytest.approx(lost, abs=5e-4), "handbook section 3, computed"
    assert convert(vacuum_lost(altitude), "kPa", "inHg") == pytest.approx(lost_inhg, abs=1e-3), "handbook section 3"


@pytest.mark.parametrize(("altitude", "most"), [(0, 71.325), (1000, 59.876), (2000, 49.501), (3000, 40.121)])
def test_the_most_vacuum_there_is_falls_with_height(altitude, most):
    assert highest_vacuum(altitude) == pytest.approx(most, abs=5e-4), "handbook section 3, computed"


def test_the_lowest_manifold_pressure_is_the_workshops_to_set():
    assert highest_vacuum(0, lowest_manifold_kpa=25.0) == pytest.approx(76.325)
    assert highest_vacuum(0, lowest_manifold_kpa=101.325) == 0.0


def test_air_thinner_than_the_engine_draws_is_refused():
    with pytest.raises(UnitsError, match=r"^the air is at 22\.7 kPa, below the lowest manifold pressure of 30 kPa"):
        highest_vacuum(11_000)
    with pytest.raises(UnitsError, match=r"^the air is at 26\.5 kPa, below the lowest"):  # 265 mbar at 10 km
        highest_vacuum([9_100, 10_000])


@pytest.mark.parametrize(
    ("altitude", "reads"),
    [(500, 1130.556), (1000, 1064.412), (1500, 1001.447), (2000, 941.542), (3000, 830.450)],
)
def test_a_compression_gauge_reads_less_at_height(altitude, reads):
    assert compression_at_sea_level(reads, altitude) == pytest.approx(1200, abs=1e-3), "handbook section 3, computed"


def test_compression_is_corrected_by_pressure_and_not_by_density():
    by_density = 941.542 / 0.82168  # US Standard Atmosphere 1976, density at 2000 m
    assert compression_at_sea_level(941.542, 2000) > by_density + 50


@pytest.mark.parametrize("gauge", [-1.0, 10_001.0])
def test_a_compression_reading_that_cannot_be_is_refused(gauge):
    with pytest.raises(TimingError, match=r"^a compression reading must be"):
        compression_at_sea_level(gauge, 0)


def test_the_highest_and_lowest_compression_readings_are_accepted():
    assert compression_at_sea_level([0.0, 10_000.0], 0).tolist() == [0.0, 10_000.0]


# ---- What is said --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda: highest_vacuum(0, -1), "the lowest manifold pressure must be 0 kPa or more, not -1"),
        (lambda: standard_pressure(12_000), "altitude must be 11000 m or less, not 12000"),
        (lambda: standard_pressure(-6000), "altitude must be -5000 m or more, not -6000"),
        (lambda: compression_at_sea_level(-1, 0), "a compression reading must be 0 kPa or more, not -1"),
        (lambda: compression_at_sea_level(20_000, 0), "a compression reading must be 10000 kPa or less, not 20000"),
        (
            lambda: compression_at_sea_level([1, 2], [1, 2, 3]),
            "compression readings and heights do not go together: there are 2 and 3 of them",
        ),
    ],
)
def test_a_refusal_is_a_sentence_with_its_figures(ask, said):
    with pytest.raises(TimingError) as refusal:
        ask()
    assert str(refusal.value) == said


def test_an_engine_may_draw_everything_and_a_barometer_may_be_low():
    assert highest_vacuum(0, lowest_manifold_kpa=0.0) == 101.325


def test_one_height_gives_one_plain_figure():
    for figure in (standard_pressure(500), highest_vacuum(500), compression_at_sea_level(1200, 500)):
        assert type(figure) is float
