"""Copper: the resistance of a winding at temperature."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.published import rows
from timing.copper import resistance_at, resistance_at_20
from timing.errors import TimingError

TABLE = rows("copper_resistance.csv")


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['temperature_c']:g} degrees")
def test_a_winding_has_the_tabled_resistance_at_temperature(row):
    # IEC 60028 for annealed copper, 0.00393 per °C, by way of the handbook's table
    assert resistance_at(1.0, row["temperature_c"]) == pytest.approx(row["ratio"], abs=1e-12)
    assert resistance_at(1.5, row["temperature_c"]) == pytest.approx(row["r_of_1p5_ohm"], abs=1e-12)
    assert resistance_at(3.0, row["temperature_c"]) == pytest.approx(row["r_of_3p0_ohm"], abs=1e-12)


@pytest.mark.parametrize("row", TABLE, ids=lambda row: f"{row['temperature_c']:g} degrees")
def test_a_warm_reading_is_brought_back_to_20_degrees(row):
    assert resistance_at_20(row["r_of_3p0_ohm"], row["temperature_c"]) == pytest.approx(3.0, abs=1e-12)


@given(st.floats(0.01, 100), st.floats(-60, 250))
def test_there_and_back_is_the_same_resistance(cold, temperature):
    assert resistance_at_20(resistance_at(cold, temperature), temperature) == pytest.approx(cold, rel=1e-12)


def test_a_motor_s_winding_is_as_warm_as_its_resistance_says():
    """physicsforums.com, thread 381286: 80 ohm at 20 °C are 100 ohm at 83.63 °C, with 1/234.5 per °C from 0 °C."""
    assert resistance_at(80, 83.63) == pytest.approx(100, abs=0.02)
    assert resistance_at_20(100, 83.63) == pytest.approx(80, abs=0.02)


def test_one_figure_gives_one_figure_and_a_list_gives_a_list():
    assert type(resistance_at(1.5, 80)) is float
    assert type(resistance_at_20(1.5, 80)) is float
    assert resistance_at(1.5, [20, 80]).tolist() == [1.5, resistance_at(1.5, 80)]
    assert resistance_at_20([1.5, 3.0], 80).tolist() == [resistance_at_20(1.5, 80), resistance_at_20(3.0, 80)]


def test_the_range_of_the_straight_line_ends_where_it_says():
    assert resistance_at(1.0, -60) == pytest.approx(1 - 80 * 0.00393)
    assert resistance_at(1.0, 250) == pytest.approx(1 + 230 * 0.00393)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: resistance_at(0, 20), "the winding's resistance must be above 0 ohm, not 0"),
        (lambda: resistance_at(1.5, -61), "the winding's temperature must be -60 °C or more, not -61"),
        (lambda: resistance_at(1.5, 251), "the winding's temperature must be 250 °C or less, not 251"),
        (lambda: resistance_at(np.nan, 20), "the winding's resistance must be a finite number"),
        (lambda: resistance_at_20(0, 20), "the reading must be above 0 ohm, not 0"),
    ],
)
def test_impossible_copper_is_refused_with_the_figure(call, words):
    with pytest.raises(TimingError, match=f"^{words}"):
        call()
