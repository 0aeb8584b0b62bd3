"""The coil's circuit: its charge, its repeating state and its heat, against tables, quadrature and an ODE solver."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from tests.timing.published import rows
from timing.coil import CoilError, Primary
from timing.errors import TimingError

# The handbook's invented coils, with its wiring and a bipolar stage's 1 V.
COIL_A = Primary(3.0, 8.0, 13.8, wiring_ohm=0.2, switch_drop_v=1.0)
COIL_B = Primary(1.5, 6.5, 13.8, 1.5, wiring_ohm=0.2, switch_drop_v=1.0)
COIL_C = Primary(0.7, 4.5, 13.8, wiring_ohm=0.15, switch_drop_v=1.0)
COIL_C_LIMITED = Primary(0.7, 4.5, 13.8, 0, 6.5, wiring_ohm=0.15, switch_drop_v=1.0)
NAMED = {"A": COIL_A, "B": COIL_B}

# A discharge so strong that nothing is ever left: the handbook's cases without residual current.
AT_ONCE = (0.8, 1e6)

primaries = st.builds(
    Primary,
    resistance_ohm=st.floats(0.3, 6),
    inductance_mh=st.floats(1, 20),
    supply_v=st.floats(6, 16),
    ballast_ohm=st.floats(0, 2),
    current_limit_a=st.none() | st.floats(0.5, 12),
    wiring_ohm=st.floats(0, 0.5),
    switch_drop_v=st.floats(0, 1.5),
)


def circuit(row):
    return Primary(
        row["r_primary_ohm"],
        row["l_mh"],
        row["supply_v"],
        row["r_ballast_ohm"],
        wiring_ohm=row["r_wiring_ohm"],
        switch_drop_v=row["switch_drop_v"],
    )


def told(row):
    return "-".join(f"{row[column]}" for column in ("coil", "supply_v", "current_a") if column in row)


class TestCharge:
    @pytest.mark.parametrize("row", rows("coil_time_to_current.csv"), ids=told)
    def test_the_time_to_a_current_is_the_tabled_one(self, row):
        # handbook 6, coil_time_to_current.csv: closed form confirmed with scipy solve_ivp
        time = circuit(row).dwell_for(row["current_a"])
        if row["time_ms"] == "never":
            assert time == math.inf
        else:
            assert time == pytest.approx(row["time_ms"], abs=5.1e-5)
        assert circuit(row).energy(row["current_a"]) == pytest.approx(row["energy_mj"], rel=1e-12)

    @pytest.mark.parametrize(
        ("coil", "volts", "expected", "source"),
        [
            (COIL_B, 9, 2.28674, "handbook 6: 5 ms at 9 V with ballast"),
            (COIL_B.ballast_bypassed(), 9, 3.43321, "handbook 6: the same, ballast by-passed"),
            (COIL_B, 7, 1.71506, "handbook 6: at 7 V"),
            (COIL_B.ballast_bypassed(), 7, 2.57491, "handbook 6: at 7 V, by-passed"),
        ],
    )
    def test_cranking_current_is_the_tabled_one(self, coil, volts, expected, source):
        assert coil.at_supply(volts).current(5) == pytest.approx(expected, abs=5.1e-6), source

    def test_a_supply_of_7_volts_leaves_about_a_fifth_of_the_energy(self):
        weak, full = COIL_B.at_supply(7), COIL_B
        assert weak.energy(weak.final_a) / full.energy(full.final_a) == pytest.approx((6 / 12.8) ** 2), "Ohm's law"

    def test_a_12_volt_coil_never_passes_1_5625_amperes_at_6_volts(self):
        assert COIL_A.at_supply(6).final_a == pytest.approx(1.5625), "handbook 6"

    def test_one_time_constant_brings_63_2_percent(self):
        # any textbook of RL circuits: 1 - 1/e, and 98.2 % and 99.3 % after 4 and 5
        tau = COIL_A.time_constant_ms
        assert tau == pytest.approx(2.5), "8 mH / 3.2 ohm, by hand"
        assert COIL_A.current([tau, 4 * tau, 5 * tau]) / COIL_A.final_a == pytest.approx(
            [0.63212, 0.98168, 0.99326], abs=5e-6
        )

    def test_the_current_starts_with_the_voltage_over_the_inductance(self):
        # di/dt at rest = V/L, any textbook: 12.8 V / 8 mH = 1.6 A/ms
        assert COIL_A.current(1e-6) / 1e-6 == pytest.approx(1.6, rel=1e-6)

    @given(primaries, st.floats(0.1, 20))
    def test_the_current_is_that_of_an_ode_solver(self, primary, time):
        def rise(_, amperes):
            return (primary.net_v - primary.total_ohm * amperes) / primary.inductance_mh

        solved = solve_ivp(rise, (0, time), [0.0], rtol=1e-9, atol=1e-10).y[0, -1]
        limit = math.inf if primary.current_limit_a is None else primary.current_limit_a
        assert primary.current(time) == pytest.approx(min(solved, limit), rel=1e-6)

    @given(primaries, st.floats(0.001, 0.999))
    def test_the_time_to_a_current_and_the_current_after_it_agree(self, primary, share):
        wanted = share * primary.highest_a
        assert primary.current(primary.dwell_for(wanted)) == pytest.approx(wanted, rel=1e-9)

    @given(primaries, st.floats(0, 30), st.floats(0.001, 5))
    def test_the_current_never_falls_and_never_passes_its_end(self, primary, time, longer):
        first, second = primary.current([time, time + longer])
        assert 0 <= first <= second <= primary.highest_a

    def test_a_current_the_coil_just_tends_to_is_never_reached(self):
        # handbook 6: coil A at 13.8 V tends to exactly 4.0 A
        assert COIL_A.dwell_for(4.0) == math.inf
        assert COIL_A.dwell_for(4.0 - 1e-9) < math.inf
        assert COIL_A.dwell_for(4.0 - 1e-12) == math.inf, "closer than rounding can tell"

    def test_the_limit_is_reached_and_nothing_above_it(self):
        assert COIL_C_LIMITED.dwell_for(6.5) == pytest.approx(2.99118, abs=5.1e-6), "coil_limited_heat.csv"
        assert COIL_C_LIMITED.dwell_for(6.5 + 1e-9) == math.inf
        assert COIL_C_LIMITED.current(100) == 6.5

    def test_no_current_takes_no_time(self):
        assert COIL_A.dwell_for(0) == 0.0
        assert COIL_A.current(0) == 0.0
        assert COIL_A.energy(0) == 0.0

    def test_lists_give_arrays_and_figures_give_figures(self):
        assert COIL_A.dwell_for([2, 4]).tolist() == [COIL_A.dwell_for(2), math.inf]
        assert COIL_A.current([1, 2]).tolist() == [COIL_A.current(1), COIL_A.current(2)]
        assert COIL_A.energy(np.array([[2.0, 3.0]])).tolist() == [[16.0, 36.0]]
        for figure in (COIL_A.dwell_for(2), COIL_A.current(1), COIL_A.energy(2)):
            assert isinstance(figure, float)

    def test_a_charge_tells_its_rise_and_its_hold(self):
        charge = COIL_C_LIMITED.charge(5)
        assert charge.rise_ms == pytest.approx(2.99118, abs=5.1e-6), "coil_limited_heat.csv"
        assert charge.hold_ms == pytest.approx(2.00882, abs=5.1e-6), "coil_limited_heat.csv"
        assert charge.end_a == 6.5
        assert isinstance(charge.end_a, float)
        assert COIL_A.charge(5).hold_ms == 0.0

    @given(primaries, st.floats(0, 12))
    def test_a_charge_sums_the_current_and_its_square_as_quadrature_does(self, primary, on):
        charge = primary.charge(on)
        knee = [float(np.clip(primary.dwell_for(primary.highest_a * (1 - 1e-12)), 0, on))] if on else None
        amount = quad(primary.current, 0, on, points=knee, epsabs=1e-10)[0]
        square = quad(lambda time: primary.current(time) ** 2, 0, on, points=knee, epsabs=1e-10)[0]
        assert charge.amount_ams == pytest.approx(amount, rel=1e-6, abs=1e-8)
        assert charge.square_a2ms == pytest.approx(square, rel=1e-6, abs=1e-8)
        assert charge.end_a == pytest.approx(primary.current(on), rel=1e-12)


class TestCircuit:
    def test_all_resistances_are_in_series(self):
        assert COIL_B.total_ohm == pytest.approx(3.2)
        assert COIL_B.net_v == pytest.approx(12.8)
        assert COIL_B.final_a == pytest.approx(4.0)

    def test_another_supply_changes_nothing_else(self):
        assert COIL_C_LIMITED.at_supply(9) == Primary(0.7, 4.5, 9, 0, 6.5, wiring_ohm=0.15, switch_drop_v=1.0)

    def test_a_bypassed_ballast_is_no_resistance(self):
        assert COIL_B.ballast_bypassed() == Primary(1.5, 6.5, 13.8, 0, wiring_ohm=0.2, switch_drop_v=1.0)

    def test_heat_raises_the_copper_and_not_the_ballast(self):
        warm = COIL_B.at_temperature(80)
        assert warm.resistance_ohm == pytest.approx(1.8537), "copper_resistance.csv"
        assert warm.ballast_ohm == 1.5
        assert warm.wiring_ohm == 0.2

    def test_the_highest_current_is_the_limit_or_the_end(self):
        assert COIL_C_LIMITED.highest_a == 6.5
        assert COIL_C.highest_a == COIL_C.final_a
        assert Primary(3, 8, 12, 0, 100).highest_a == 4.0, "a limit out of reach does not act"

    @pytest.mark.parametrize(
        ("coil", "amperes", "watts", "source"),
        [
            (COIL_A, 4.0, 48, "handbook 6: ignition on, engine stopped"),
            (COIL_C, 15.06, 159, "handbook 6: burns out"),
            (COIL_C_LIMITED, 6.5, 29.6, "0.7 ohm at 6.5 A, by hand"),
        ],
    )
    def test_a_coil_left_on_takes_its_full_current(self, coil, amperes, watts, source):
        assert coil.highest_a == pytest.approx(amperes, abs=0.005), source
        assert coil.left_on_heat_w == pytest.approx(watts, abs=0.5), source

    def test_equal_circuits_are_equal_and_serve_as_keys(self):
        assert {Primary(3, 8, 12): "a"}[Primary(3.0, 8.0, 12.0)] == "a"

    @pytest.mark.parametrize(
        ("changed", "words"),
        [
            ({"resistance_ohm": 0}, "the coil's primary resistance must be above 0 ohm, not 0"),
            ({"resistance_ohm": -1}, "the coil's primary resistance must be above 0 ohm, not -1"),
            ({"resistance_ohm": math.nan}, "the coil's primary resistance must be a finite number"),
            ({"inductance_mh": 0}, "the coil's primary inductance must be above 0 mH, not 0"),
            ({"supply_v": 0}, "the supply voltage must be above 0 V, not 0"),
            ({"ballast_ohm": -0.1}, "the ballast resistance must be 0 ohm or more, not -0.1"),
            ({"wiring_ohm": -0.1}, "the wiring's resistance must be 0 ohm or more, not -0.1"),
            ({"switch_drop_v": -0.1}, "the voltage across the switch must be 0 V or more, not -0.1"),
            ({"current_limit_a": 0}, "the current limit must be above 0 A, not 0"),
            ({"supply_v": "twelve"}, "the supply voltage must be a number"),
            ({"supply_v": [12, 13]}, "the supply voltage must be one number, not a list"),
            ({"supply_v": 1.0, "switch_drop_v": 1.0}, "a supply of 1 V does not exceed the 1 V that"),
        ],
    )
    def test_an_impossible_circuit_is_refused_with_the_figure(self, changed, words):
        whole = {"resistance_ohm": 3, "inductance_mh": 8, "supply_v": 12} | changed
        with pytest.raises(TimingError, match=words):
            Primary(**whole)

    @pytest.mark.parametrize(
        ("call", "words"),
        [
            (lambda: COIL_A.current(-1), "the time since switching on must be 0 ms or more, not -1"),
            (lambda: COIL_A.dwell_for(-1), "the wanted current must be 0 A or more, not -1"),
            (lambda: COIL_A.energy(-1), "the current must be 0 A or more, not -1"),
            (lambda: COIL_A.charge(-1), "the time the coil is on must be 0 ms or more, not -1"),
            (lambda: COIL_A.at_supply(0.5), "a supply of 0.5 V does not exceed the 1 V that"),
            (lambda: COIL_A.at_temperature(400), "the winding's temperature must be 250 °C or less, not 400"),
            (lambda: COIL_A.at_temperature([20, 80]), "^the winding's temperature must be one number, not a list"),
        ],
    )
    def test_an_impossible_question_is_refused_with_the_figure(self, call, words):
        with pytest.raises(TimingError, match=words):
            call()


class TestSteady:
    @pytest.mark.parametrize("row", rows("coil_steady_state.csv"), ids=lambda row: f"{row['coil']}-{row['rpm']:g}")
    def test_the_repeating_state_is_the_tabled_one(self, row):
        # handbook 6, coil_steady_state.csv: closed form confirmed by simulating 400 sparks
        steady = NAMED[row["coil"]].steady(120_000 / row["cylinders"] / row["rpm"], row["on_ms"], 0.8, 12)
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
    def test_the_heat_in_the_winding_is_the_tabled_one(self, coil, interval, on, watts):
        # handbook 6, last column
        assert coil.steady(interval, on, 0.8, 12).heat_w == pytest.approx(watts, abs=5.1e-5)

    def test_the_ballast_takes_its_own_heat(self):
        steady = COIL_B.steady(120_000 / 6 / 5500, 2.6, 0.8, 12)
        assert steady.ballast_heat_w == pytest.approx(steady.heat_w), "coil B: both are 1.5 ohm"
        assert COIL_A.steady(10, 3.5, 0.8, 12).ballast_heat_w == 0.0

    @pytest.mark.parametrize("row", rows("coil_limited_heat.csv"), ids=lambda row: f"{row['rpm']:g} rpm")
    def test_a_limited_coil_heats_itself_and_the_switch_as_tabled(self, row):
        # handbook 6, coil_limited_heat.csv: closed form, checked by quadrature; nothing left from the spark before
        steady = COIL_C_LIMITED.steady(30_000 / row["rpm"], row["on_ms"], *AT_ONCE)
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
    def test_points_heat_a_coil_at_idle_and_fixed_dwell_at_speed(self, rpm, points_w, fixed_w):
        # handbook 6: coil A on four cylinders, 60 distributor degrees against 3.5 ms
        interval = 30_000 / rpm
        assert COIL_A.steady(interval, interval * 60 / 90, *AT_ONCE).heat_w == pytest.approx(points_w, abs=0.005)
        assert COIL_A.steady(interval, 3.5, *AT_ONCE).heat_w == pytest.approx(fixed_w, abs=0.005)

    @pytest.mark.parametrize("limit", [None, 2.0, 2.5, 6.0])
    @pytest.mark.parametrize(("interval", "on"), [(10, 3.5), (5, 3.5), (2.5, 1.5), (2.5, 2.3), (4, 0.5)])
    def test_a_simulation_of_sixty_sparks_settles_on_the_same_state(self, interval, on, limit):
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
        steady = coil.steady(interval, on, 0.8, 12)
        assert steady.peak_a == pytest.approx(peak, abs=1e-6)
        assert steady.residual_a == pytest.approx(start, abs=1e-6)
        assert steady.mean_a == pytest.approx(amount / interval, abs=1e-6)
        assert steady.rms_a == pytest.approx(math.sqrt(square / interval), abs=1e-6)
        assert steady.hold_ms == pytest.approx(held, abs=1e-6)

    @given(primaries, st.floats(1, 50), st.floats(0, 1), st.floats(0.1, 5), st.floats(0, 60))
    def test_a_state_repeats_itself_and_keeps_its_energy(self, primary, interval, duty, ohm, burn):
        on = min(duty * interval, interval)
        steady = primary.steady(interval, on, ohm, burn)
        assert 0 <= steady.residual_a <= steady.peak_a <= primary.highest_a * (1 + 1e-9)
        assert steady.out_mj == pytest.approx(primary.energy(steady.peak_a) - primary.energy(steady.residual_a))
        assert 0 <= steady.mean_a <= steady.rms_a * (1 + 1e-6) + 1e-6, "the mean is never above the effective value"
        assert steady.rise_ms + steady.hold_ms == pytest.approx(on)
        # one more charge from what is left must end at the same peak
        final, tau = primary.final_a, primary.time_constant_ms
        again = final - (final - steady.residual_a) * math.exp(-on / tau)
        assert min(again, primary.highest_a) == pytest.approx(steady.peak_a, rel=1e-9, abs=1e-9)

    def test_without_a_burning_voltage_the_ripple_is_that_of_a_switched_rl_circuit(self):
        # any textbook: 10 V on and off through 1 ohm and 1 mH, half a millisecond each: the peaks of the current are
        # 10/(1 + e^-0.5) and that times e^-0.5
        steady = Primary(1, 1, 10).steady(1.0, 0.5, 1.0, 0.0)
        assert steady.peak_a == pytest.approx(10 / (1 + math.exp(-0.5)), rel=1e-12)
        assert steady.residual_a == pytest.approx(10 * math.exp(-0.5) / (1 + math.exp(-0.5)), rel=1e-12)
        assert steady.natural_spark_ms == math.inf

    def test_a_coil_that_is_never_on_does_nothing(self):
        steady = COIL_A.steady(10, 0, 0.8, 12)
        assert (steady.peak_a, steady.out_mj, steady.heat_w, steady.natural_spark_ms, steady.duty) == (0, 0, 0, 0, 0)
        assert COIL_A.steady(10, 0, 0.8, 0).natural_spark_ms == 0.0

    def test_a_coil_that_is_never_off_gives_no_spark(self):
        steady = COIL_A.steady(10, 10, 0.8, 12)
        assert steady.peak_a == pytest.approx(4.0)
        assert steady.residual_a == pytest.approx(4.0)
        assert steady.out_mj == pytest.approx(0.0, abs=1e-12)
        assert steady.heat_w == pytest.approx(COIL_A.left_on_heat_w)
        assert steady.duty == 1.0

    def test_arrays_give_the_same_as_their_scalars(self):
        steady = COIL_C_LIMITED.steady([10, 5], [[3.5], [2.0]], 0.8, 12)
        assert steady.peak_a.shape == (2, 2)
        for row, on in enumerate((3.5, 2.0)):
            for column, interval in enumerate((10, 5)):
                single = COIL_C_LIMITED.steady(interval, on, 0.8, 12)
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

    def test_a_state_is_a_value_that_cannot_be_written_into(self):
        steady = COIL_A.steady([10, 5], 3.5, 0.8, 12)
        assert steady == COIL_A.steady([10, 5], 3.5, 0.8, 12)
        assert hash(steady) == hash(COIL_A.steady([10, 5], 3.5, 0.8, 12))
        assert steady != COIL_A.steady([10, 5.1], 3.5, 0.8, 12)
        assert steady != "steady"
        with pytest.raises(ValueError, match="read-only"):
            steady.peak_a[0] = 1.0

    def test_figures_given_are_not_written_into(self):
        intervals = np.array([10.0, 5.0])
        COIL_A.steady(intervals, 3.5, 0.8, 12)
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
    def test_an_impossible_rhythm_is_refused_with_the_figures(self, asked, words):
        with pytest.raises(TimingError, match=words):
            COIL_A.steady(*asked)

    def test_a_coil_error_is_a_value_error(self):
        with pytest.raises(ValueError, match="in every 10 ms"):
            COIL_A.steady(10, 11, 0.8, 12)
        assert issubclass(CoilError, TimingError)


class TestWithoutInductance:
    COIL = Primary(3.0, None, 13.8, wiring_ohm=0.2, switch_drop_v=1.0)

    def test_what_the_resistances_decide_can_be_told(self):
        # handbook 6: coil A, ignition on and engine stopped: 4 A and 48 W
        assert self.COIL.highest_a == pytest.approx(4.0)
        assert self.COIL.left_on_heat_w == pytest.approx(48.0)

    @pytest.mark.parametrize(
        "ask",
        [
            lambda coil: coil.current(1.0),
            lambda coil: coil.energy(1.0),
            lambda coil: coil.dwell_for(1.0),
            lambda coil: coil.charge(1.0),
            lambda coil: coil.time_constant_ms,
        ],
    )
    def test_what_needs_time_is_refused(self, ask):
        with pytest.raises(CoilError, match="the coil's inductance is not known"):
            ask(self.COIL)
