"""The coil in its repeating state: current left over, energy and heat, against tables and an ODE solver."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tests.timing.coil.coils import AT_ONCE, COIL_A, COIL_B, COIL_C_LIMITED, NAMED, primaries
from tests.timing.published import rows
from timing.coil import CoilError, Primary, steady_state
from timing.errors import TimingError


@pytest.mark.parametrize("row", rows("coil_steady_state.csv"), ids=lambda row: f"{row['coil']}-{row['rpm']:g}")
def test_the_repeating_state_is_the_tabled_one(row):
    # handbook 6, coil_steady_state.csv: closed form confirmed by simulating 400 sparks
    steady = steady_state(NAMED[row["coil"]], 120_000 / row["cylinders"] / row["rpm"], row["on_ms"], 0.8, 12)
    assert steady.peak_a == pytest.approx(row["peak_a"], abs=1e-5)
    assert steady.residual_a == pytest.approx(row["residual_a"], abs=1e-5)
    assert steady.natural_spark_ms == pytest.approx(row["natural_spark_ms"], abs=1e-4)
    assert steady.out_mj == pytest.approx(row["energy_out_mj"], abs=1e-3)
    assert steady.duty == pytest.approx(row["duty"], abs=1e-6)
    assert steady.rms_a == pytest.approx(row["rms_a"], abs=1e-5)
    assert steady.mean_a == pytest.approx(row["mean_a"], abs=1e-5)


@pytest.mark.parametrize(
    ("coil", "interval", "on", "watts"),
    [
        (COIL_A, 10, 3.5, 4.3535),
        (COIL_A, 5, 3.5, 11.1767),
        (COIL_A, 2.5, 1.5, 3.4296),
        (COIL_A, 2.5, 1.8, 11.9206),
        (COIL_B, 120_000 / 6 / 5500, 2.6, 6.0891),
    ],
)
def test_the_heat_in_the_winding_is_the_tabled_one(coil, interval, on, watts):
    # handbook 6, last column
    assert steady_state(coil, interval, on, 0.8, 12).heat_w == pytest.approx(watts, abs=5.1e-5)


def test_the_ballast_takes_its_own_heat():
    steady = steady_state(COIL_B, 120_000 / 6 / 5500, 2.6, 0.8, 12)
    assert steady.ballast_heat_w == pytest.approx(steady.heat_w), "coil B: both are 1.5 ohm"
    assert steady_state(COIL_A, 10, 3.5, 0.8, 12).ballast_heat_w == 0.0


@pytest.mark.parametrize("row", rows("coil_limited_heat.csv"), ids=lambda row: f"{row['rpm']:g} rpm")
def test_a_limited_coil_heats_itself_and_the_switch_as_tabled(row):
    # handbook 6, coil_limited_heat.csv: closed form, checked by quadrature; nothing left from the spark before
    steady = steady_state(COIL_C_LIMITED, 30_000 / row["rpm"], row["on_ms"], *AT_ONCE)
    assert steady.rise_ms == pytest.approx(row["rise_ms"], abs=1e-5)
    assert steady.hold_ms == pytest.approx(row["hold_ms"], abs=1e-5)
    assert steady.rms_a == pytest.approx(row["rms_a"], abs=1e-5)
    assert steady.mean_a == pytest.approx(row["mean_a"], abs=1e-5)
    assert steady.heat_w == pytest.approx(row["coil_heat_w"], abs=1e-4)
    assert steady.switch_hold_w == pytest.approx(row["switch_hold_heat_w"], abs=1e-4)
    assert steady.peak_a == 6.5


@pytest.mark.parametrize(
    ("rpm", "points_w", "fixed_w"),
    [(800, 27.20, 1.16), (1500, 23.06, 2.18), (3000, 15.64, 4.35), (6000, 7.82, 8.71)],
)
def test_points_heat_a_coil_at_idle_and_fixed_dwell_at_speed(rpm, points_w, fixed_w):
    # handbook 6: coil A on four cylinders, 60 distributor degrees against 3.5 ms
    interval = 30_000 / rpm
    assert steady_state(COIL_A, interval, interval * 60 / 90, *AT_ONCE).heat_w == pytest.approx(points_w, abs=0.005)
    assert steady_state(COIL_A, interval, 3.5, *AT_ONCE).heat_w == pytest.approx(fixed_w, abs=0.005)


@pytest.mark.parametrize("limit", [None, 2.0, 2.5, 6.0])
@pytest.mark.parametrize(("interval", "on"), [(10, 3.5), (5, 3.5), (2.5, 1.5), (2.5, 2.3), (4, 0.5)])
def test_a_simulation_of_sixty_sparks_settles_on_the_same_state(interval, on, limit):
    # scipy solve_ivp, switched on and off sixty times in a row
    coil = Primary(3.0, 8.0, 13.8, 0, limit, wiring_ohm=0.2, switch_drop_v=1.0)

    def charging(_, state):
        amperes = state[0]
        slope = 0.0 if limit is not None and amperes >= limit else (12.8 - 3.2 * amperes) / 8.0
        return [slope, amperes, amperes**2]

    def sparking(_, state):
        return [(-12.0 - 0.8 * state[0]) / 8.0, 0.0, 0.0]

    def over(_, state):
        return state[0]

    over.terminal, over.direction = True, -1

    def full(_, state):
        return state[0] - (limit or math.inf)

    full.terminal, full.direction = True, 1
    exact = {"rtol": 1e-9, "atol": 1e-11}
    left = 0.0
    for _ in range(60):
        charged = solve_ivp(charging, (0, on), [left, 0.0, 0.0], events=full, **exact)
        peak, amount, square = charged.y[:, -1]
        held = on - charged.t[-1]
        amount, square = amount + peak * held, square + peak**2 * held
        spark = solve_ivp(sparking, (0, interval - on), [peak, 0.0, 0.0], events=over, **exact)
        start, left = left, max(0.0, spark.y[0, -1]) if spark.status == 0 else 0.0
    steady = steady_state(coil, interval, on, 0.8, 12)
    assert steady.peak_a == pytest.approx(peak, abs=1e-6)
    assert steady.residual_a == pytest.approx(start, abs=1e-6)
    assert steady.mean_a == pytest.approx(amount / interval, abs=1e-6)
    assert steady.rms_a == pytest.approx(math.sqrt(square / interval), abs=1e-6)
    assert steady.hold_ms == pytest.approx(held, abs=1e-6)


@given(primaries, st.floats(1, 50), st.floats(0, 1), st.floats(0.1, 5), st.floats(0, 60))
def test_a_state_repeats_itself_and_keeps_its_energy(primary, interval, duty, ohm, burn):
    on = min(duty * interval, interval)
    steady = steady_state(primary, interval, on, ohm, burn)
    assert 0 <= steady.residual_a <= steady.peak_a <= primary.highest_a * (1 + 1e-9)
    assert steady.out_mj == pytest.approx(primary.energy(steady.peak_a) - primary.energy(steady.residual_a))
    assert 0 <= steady.mean_a <= steady.rms_a * (1 + 1e-6) + 1e-6, "the mean is never above the effective value"
    assert steady.rise_ms + steady.hold_ms == pytest.approx(on)
    # one more charge from what is left must end at the same peak
    final, tau = primary.final_a, primary.time_constant_ms
    again = final - (final - steady.residual_a) * math.exp(-on / tau)
    assert min(again, primary.highest_a) == pytest.approx(steady.peak_a, rel=1e-9, abs=1e-9)


def test_without_a_burning_voltage_the_ripple_is_that_of_a_switched_rl_circuit():
    # any textbook: 10 V on and off through 1 ohm and 1 mH, half a millisecond each: the peaks of the current are
    # 10/(1 + e^-0.5) and that times e^-0.5
    steady = steady_state(Primary(1, 1, 10), 1.0, 0.5, 1.0, 0.0)
    assert steady.peak_a == pytest.approx(10 / (1 + math.exp(-0.5)), rel=1e-12)
    assert steady.residual_a == pytest.approx(10 * math.exp(-0.5) / (1 + math.exp(-0.5)), rel=1e-12)
    assert steady.natural_spark_ms == math.inf


def test_a_coil_that_is_never_on_does_nothing():
    steady = steady_state(COIL_A, 10, 0, 0.8, 12)
    assert (steady.peak_a, steady.out_mj, steady.heat_w, steady.natural_spark_ms, steady.duty) == (0, 0, 0, 0, 0)
    assert steady_state(COIL_A, 10, 0, 0.8, 0).natural_spark_ms == 0.0


def test_a_coil_that_is_never_off_gives_no_spark():
    steady = steady_state(COIL_A, 10, 10, 0.8, 12)
    assert steady.peak_a == pytest.approx(4.0)
    assert steady.residual_a == pytest.approx(4.0)
    assert steady.out_mj == pytest.approx(0.0, abs=1e-12)
    assert steady.heat_w == pytest.approx(COIL_A.left_on_heat_w)
    assert steady.duty == 1.0


def test_arrays_give_the_same_as_their_scalars():
    steady = steady_state(COIL_C_LIMITED, [10, 5], [[3.5], [2.0]], 0.8, 12)
    assert steady.peak_a.shape == (2, 2)
    for row, on in enumerate((3.5, 2.0)):
        for column, interval in enumerate((10, 5)):
            single = steady_state(COIL_C_LIMITED, interval, on, 0.8, 12)
            for name in (
                "peak_a",
                "residual_a",
                "rms_a",
                "mean_a",
                "out_mj",
                "heat_w",
                "rise_ms",
                "hold_ms",
                "duty",
            ):
                assert getattr(steady, name)[row, column] == getattr(single, name), name


def test_a_state_is_a_value_that_cannot_be_written_into():
    steady = steady_state(COIL_A, [10, 5], 3.5, 0.8, 12)
    assert steady == steady_state(COIL_A, [10, 5], 3.5, 0.8, 12)
    assert hash(steady) == hash(steady_state(COIL_A, [10, 5], 3.5, 0.8, 12))
    assert steady != steady_state(COIL_A, [10, 5.1], 3.5, 0.8, 12)
    assert steady != "steady"
    with pytest.raises(ValueError, match=r"^assignment destination is read-only"):
        steady.peak_a[0] = 1.0


def test_figures_given_are_not_written_into():
    intervals = np.array([10.0, 5.0])
    steady_state(COIL_A, intervals, 3.5, 0.8, 12)
    assert intervals.tolist() == [10.0, 5.0]
    assert intervals.flags.writeable


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ((10, 11, 0.8, 12), "the coil cannot be on for 11 ms in every 10 ms"),
        (([10, 2], 3.5, 0.8, 12), "the coil cannot be on for 3.5 ms in every 2 ms"),
        ((0, 0, 0.8, 12), "the interval between sparks must be above 0 ms, not 0"),
        ((10, -1, 0.8, 12), "the time the coil is on must be 0 ms or more, not -1"),
        ((10, 3, 0, 12), "the discharge resistance must be above 0 ohm, not 0"),
        ((10, 3, 0.8, -1), "the burning voltage must be 0 V or more, not -1"),
    ],
)
def test_an_impossible_rhythm_is_refused_with_the_figures(asked, words):
    with pytest.raises(TimingError, match=f"^{words}"):
        steady_state(COIL_A, *asked)


def test_a_coil_error_is_a_value_error():
    with pytest.raises(ValueError, match=r"^the coil cannot be on for 11 ms in every 10 ms"):
        steady_state(COIL_A, 10, 11, 0.8, 12)
    assert issubclass(CoilError, TimingError)
