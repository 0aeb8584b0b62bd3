"""Which speeds to read with the strobe, and what may be expected of them."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.published import rows
from timing.errors import TimingError
from timing.strobe import StrobeError, expected_precision, fit_readings, speeds_to_read


def planned(row):
    count = int(row["readings"])
    if row["spacing"] == "even":
        return np.linspace(1000, 4000, count)
    return np.repeat([1000.0, 4000.0], [count - count // 2, count // 2])


@pytest.mark.parametrize("row", rows("strobe_design.csv"), ids=lambda row: f"{row['readings']:g} {row['spacing']}")
def test_the_precision_is_that_of_the_design_table(row):
    found = expected_precision(planned(row), 0.5)
    assert found.sync_deg == pytest.approx(row["ci_sync_deg"], abs=1e-4), "handbook 5, strobe_design.csv"
    assert found.lag_us == pytest.approx(row["ci_lag_us"], abs=0.01), "handbook 5, strobe_design.csv"
    assert found.mean_at(2500) == pytest.approx(row["ci_residual_at_2500_deg"], abs=1e-4)


@given(st.lists(st.integers(6, 50), min_size=3, max_size=12).filter(lambda speeds: max(speeds) - min(speeds) > 16))
def test_a_session_that_scatters_as_planned_is_known_as_planned(hundreds):
    rpm = 100.0 * np.array(hundreds)
    columns = np.column_stack([np.ones_like(rpm), rpm])
    noise = np.random.default_rng(0).normal(size=rpm.size)
    noise -= columns @ np.linalg.lstsq(columns, noise, rcond=None)[0]
    noise *= 0.7 / math.sqrt((noise**2).sum() / (rpm.size - 2))
    fit, plan = fit_readings(rpm, noise, 0), expected_precision(rpm, 0.7)
    assert (fit.sync_interval[1] - fit.sync_interval[0]) / 2 == pytest.approx(plan.sync_deg, rel=1e-6)
    assert fit.mean_at([0, 3000]).half_width_deg == pytest.approx(plan.mean_at([0, 3000]), rel=1e-6)


def test_at_standstill_only_the_constant_part_is_left():
    plan = expected_precision([1000, 2000, 4000], 0.5, confidence=0.9)
    assert plan.mean_at(0) == pytest.approx(plan.sync_deg), "the line at x = 0"
    assert isinstance(plan.mean_at(0), float)
    assert plan.lag_us < expected_precision([1000, 2000, 4000], 0.5).lag_us


def test_most_readings_are_taken_at_the_ends():
    assert speeds_to_read(1000, 4000) == (1000,) * 4 + (2000, 3000) + (4000,) * 4, (
        "handbook 5: 4 low, 4 high, 2 between"
    )
    assert speeds_to_read(900, 4000) == (900,) * 4 + (1950, 2950) + (4000,) * 4, "thirds, to 50 rpm"
    assert speeds_to_read(900, 4000, at_each_end=1, between=0) == (900, 4000)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: speeds_to_read(4000, 1000), "from 4000 to 1000 rpm there is no room for 2 speeds between"),
        (lambda: speeds_to_read(1000, 1000, between=0), "from 1000 to 1000 rpm there is no room for 0"),
        (lambda: speeds_to_read(1000, 1060), "from 1000 to 1060 rpm there is no room"),
        (lambda: speeds_to_read(0, 1000), "the lowest speed must be above 0 rpm, not 0"),
        (lambda: speeds_to_read(40000, 1000), "the lowest speed must be 30000 rpm or less, not 40000"),
        (lambda: speeds_to_read(900, 0), "the highest speed must be above 0 rpm, not 0"),
        (lambda: speeds_to_read(900, 40000), "the highest speed must be 30000 rpm or less, not 40000"),
        (lambda: speeds_to_read(900, math.nan), "the highest speed must be a finite number"),
        (lambda: speeds_to_read(900, 4000, at_each_end=0), "the readings at each end must be 1 or more, not 0"),
        (lambda: speeds_to_read(900, 4000, between=-1), "the readings between must be 0 or more, not -1"),
        (lambda: expected_precision([900, 4000], 0.5), "three speeds or more"),
        (lambda: expected_precision([900] * 4, 0.5), "all speeds are 900 rpm"),
        (lambda: expected_precision([900, 1000, -1], 0.5), "a speed must be above 0 rpm, not -1"),
        (lambda: expected_precision([900, 1000, 2000], 0), "the scatter of a reading must be above 0 degrees, not 0"),
        (lambda: expected_precision([900, 1000, 2000], 0.5).mean_at(-1), "engine speed must be 0 rpm or more, not -1"),
        (lambda: expected_precision([900, 1000, 2000], 0.5).mean_at(40000), "engine speed must be 30000 rpm or less"),
        (lambda: expected_precision([900, 1000, 2000], 0.5, 1.0), "confidence must be below 1"),
    ],
)
def test_a_plan_that_cannot_be_is_refused(call, message):
    with pytest.raises(TimingError, match=message):
        call()


def test_the_refusal_is_that_of_a_strobe_session():
    with pytest.raises(StrobeError):
        expected_precision([900], 0.5)
