"""The coil's circuit and its charge, against tables, quadrature and an ODE solver."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from tests.timing.coil.coils import COIL_A, COIL_B, COIL_C, COIL_C_LIMITED, primaries
from tests.timing.published import rows
from timing.coil import CoilError, Primary
from timing.errors import TimingError


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
        with pytest.raises(TimingError, match=f"^{words}"):
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
        with pytest.raises(TimingError, match=f"^{words}"):
            call()


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
        with pytest.raises(CoilError, match=r"^the coil's inductance is not known"):
            ask(self.COIL)
