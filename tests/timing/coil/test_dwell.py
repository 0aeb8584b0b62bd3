"""Dwell over the speed range: where it no longer fits, and what is left."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from tests.timing.coil.coils import COIL_A, COIL_C_LIMITED
from timing.coil import CoilError, Primary, dwell_budget, steady_state
from timing.errors import TimingError


class TestBudget:
    @pytest.mark.parametrize(
        ("cylinders", "limit"), [(1, 26666.7), (2, 13333.3), (4, 6666.7), (6, 4444.4), (8, 3333.3)]
    )
    def test_3_5_ms_beside_1_ms_fit_up_to_the_tabled_speed(self, cylinders, limit):
        budget = dwell_budget(COIL_A, cylinders, 3.5, 1.0, rpm=1000)
        assert budget.limit_rpm == pytest.approx(limit, abs=0.05), "handbook 6: 120 / (N (t_d + t_spark))"

    @pytest.mark.parametrize("cylinders", [1, 2, 4, 6, 8])
    def test_the_whole_dwell_still_fits_at_the_limit_and_no_longer_above_it(self, cylinders):
        limit = dwell_budget(COIL_A, cylinders, 3.5, 1.0, rpm=1000).limit_rpm
        budget = dwell_budget(COIL_A, cylinders, 3.5, 1.0, rpm=[limit - 1, limit, limit + 1])
        assert budget.fits.tolist() == [True, True, False]
        assert budget.on_ms[1] == pytest.approx(3.5)
        assert budget.on_ms[2] < 3.5

    def test_above_the_limit_the_spark_keeps_its_time_and_the_current_falls(self):
        budget = dwell_budget(COIL_A, 6, 3.5, 1.0, rpm=[3000, 6000])
        assert budget.interval_ms.tolist() == pytest.approx([6.6667, 3.3333], abs=1e-4), "firing_interval.csv"
        assert budget.on_ms.tolist() == pytest.approx([3.5, 2.33333], abs=1e-5), "interval less 1 ms, by hand"
        assert budget.current_a.tolist() == pytest.approx([COIL_A.current(3.5), COIL_A.current(7 / 3)])
        assert budget.energy_mj.tolist() == pytest.approx([4 * amperes**2 for amperes in budget.current_a])
        assert budget.duty.tolist() == pytest.approx([3.5 / (20 / 3), 0.7])

    @pytest.mark.parametrize("rpm", [800, 3000, 6000])
    def test_heat_is_that_of_the_repeating_state_with_nothing_left(self, rpm):
        # coil_limited_heat.csv by way of `steady_state`, whose tables are tested beside it
        budget = dwell_budget(COIL_C_LIMITED, 4, 5.0, 1.0, rpm=rpm)
        steady = steady_state(COIL_C_LIMITED, 30_000 / rpm, min(5.0, 30_000 / rpm - 1.0), 0.8, 1e6)
        assert budget.heat_w == pytest.approx(steady.heat_w, rel=1e-12)
        assert budget.rms_a == pytest.approx(steady.rms_a, rel=1e-12)
        assert budget.mean_a == pytest.approx(steady.mean_a, rel=1e-12)
        assert budget.energy_mj == pytest.approx(steady.out_mj, rel=1e-9)

    def test_where_the_spark_takes_the_whole_interval_nothing_is_left_for_the_coil(self):
        budget = dwell_budget(COIL_A, 8, 3.5, 3.0, rpm=6000)
        assert (budget.on_ms, budget.current_a, budget.energy_mj, budget.fits) == (0.0, 0.0, 0.0, False)

    def test_one_speed_and_one_supply_give_plain_figures(self):
        budget = dwell_budget(COIL_A, 4, 3.5, 1.0, rpm=3000)
        assert budget.fits is True
        for name in (
            "limit_rpm",
            "interval_ms",
            "on_ms",
            "current_a",
            "energy_mj",
            "rms_a",
            "mean_a",
            "heat_w",
            "duty",
        ):
            assert type(getattr(budget, name)) is float, name

    def test_a_list_of_supplies_gives_a_row_for_each(self):
        volts = [7.0, 10.0, 13.8]
        budget = dwell_budget(COIL_A, 4, 3.5, 1.0, rpm=[800, 8000], supply_v=volts)
        assert budget.current_a.shape == (3, 2)
        assert budget.limit_rpm == pytest.approx(6666.7, abs=0.05), "the speed is a matter of time, not of voltage"
        for row, supply in zip(budget.current_a, volts, strict=True):
            single = dwell_budget(COIL_A.at_supply(supply), 4, 3.5, 1.0, rpm=[800, 8000])
            assert row.tolist() == single.current_a.tolist()

    def test_one_other_supply_keeps_the_shape_of_the_speeds(self):
        budget = dwell_budget(COIL_A, 4, 3.5, 1.0, rpm=[800, 8000], supply_v=10)
        assert (
            budget.current_a.tolist()
            == dwell_budget(COIL_A.at_supply(10), 4, 3.5, 1.0, rpm=[800, 8000]).current_a.tolist()
        )
        assert isinstance(dwell_budget(COIL_A, 4, 3.5, 1.0, rpm=800, supply_v=10).current_a, float)

    def test_a_dwell_for_each_supply_has_a_limit_for_each(self):
        budget = dwell_budget(COIL_A, 4, [6.0, 3.5], 1.0, rpm=[800, 6000], supply_v=[10, 13.8])
        assert budget.limit_rpm.tolist() == pytest.approx([30_000 / 7, 30_000 / 4.5])
        assert budget.on_ms.tolist() == pytest.approx(np.array([[6.0, 4.0], [3.5, 3.5]]))
        assert budget.fits.tolist() == [[True, False], [True, True]]

    def test_an_uneven_engine_is_held_by_its_shortest_interval(self):
        # handbook 2: a V6 firing 90 and 150 degrees apart; 90 degrees at 5000 rpm are 3 ms
        budget = dwell_budget(COIL_A, 6, 3.5, 1.0, rpm=5000, intervals_deg=(90, 150))
        assert budget.interval_ms == pytest.approx(3.0)
        assert budget.on_ms == pytest.approx(2.0)
        assert budget.limit_rpm == pytest.approx(1000 * 90 / (6 * 4.5))

    @pytest.mark.parametrize("rpm", [1500, 3000, 4000, 5000, 7000])
    @pytest.mark.parametrize(
        ("cylinders", "intervals"), [(6, (90, 150)), (2, (180, 540)), (4, (120, 240)), (8, (60, 120, 90, 90))]
    )
    def test_an_uneven_engine_heats_its_coil_as_quadrature_over_a_cycle_says(self, cylinders, intervals, rpm):
        # issue 9.8: above the limit speed only the short intervals cut the dwell; scipy.integrate.quad sums the squares
        whole = intervals * (cylinders // len(intervals))
        budget = dwell_budget(COIL_A, cylinders, 3.5, 1.0, rpm=rpm, intervals_deg=intervals)
        on = [min(3.5, max(0.0, degrees * 1000 / 6 / rpm - 1.0)) for degrees in whole]
        squares = sum(quad(lambda t: COIL_A.current(t) ** 2, 0, ms)[0] for ms in on)
        amounts = sum(quad(COIL_A.current, 0, ms)[0] for ms in on)
        cycle = 120_000 / rpm
        assert budget.heat_w == pytest.approx(3.0 * squares / cycle, rel=1e-9)
        assert budget.mean_a == pytest.approx(amounts / cycle, rel=1e-9)
        assert budget.duty == pytest.approx(sum(on) / cycle, rel=1e-12)

    def test_a_whole_cycle_of_intervals_says_the_same_as_the_stretch_that_repeats(self):
        short, whole = (
            dwell_budget(COIL_A, 6, 3.5, 1.0, rpm=[800, 6000], intervals_deg=given)
            for given in ((90, 150), (90, 150) * 3)
        )
        assert short.heat_w.tolist() == pytest.approx(whole.heat_w.tolist())

    @pytest.mark.parametrize("cylinders", [1, 2, 4, 6])
    def test_a_wasted_spark_comes_once_a_turn_whatever_the_number_of_cylinders(self, cylinders):
        # handbook 2: a spark every crank turn, 360 degrees: 10 ms at 6000 rpm; handbook 6: n = 360 / (6 (t_d + t_s))
        budget = dwell_budget(COIL_A, cylinders, 3.5, 1.0, rpm=6000, wasted_spark=True)
        assert budget.interval_ms == pytest.approx(10.0)
        assert budget.limit_rpm == pytest.approx(360_000 / 6 / 4.5)
        assert budget.heat_w == pytest.approx(steady_state(COIL_A, 10.0, 3.5, 0.8, 1e6).heat_w)

    def test_a_wasted_spark_is_even_in_an_uneven_engine(self):
        even, uneven = (
            dwell_budget(COIL_A, 2, 3.5, 1.0, rpm=6000, wasted_spark=True, intervals_deg=intervals)
            for intervals in (None, (180, 540))
        )
        assert even == uneven

    def test_a_two_stroke_has_half_the_time(self):
        two, four = (dwell_budget(COIL_A, 2, 3.5, 1.0, rpm=3000, strokes=strokes) for strokes in (2, 4))
        assert two.interval_ms == pytest.approx(10), "handbook 2: N = 2, 10 ms at 3000 rpm"
        assert two.limit_rpm == pytest.approx(four.limit_rpm / 2)

    @given(st.integers(1, 12), st.floats(0.5, 8), st.floats(0, 3), st.floats(100, 9000))
    def test_dwell_and_spark_never_take_more_than_the_interval(self, cylinders, dwell, spark, rpm):
        budget = dwell_budget(COIL_A, cylinders, dwell, spark, rpm=rpm)
        assert 0 <= budget.on_ms <= dwell
        assert budget.on_ms + spark <= budget.interval_ms * (1 + 1e-12) or budget.on_ms == 0
        assert budget.fits == (rpm <= budget.limit_rpm * (1 + 1e-12))
        assert budget.current_a <= COIL_A.final_a

    def test_a_budget_is_a_value_that_cannot_be_written_into(self):
        first, second = (dwell_budget(COIL_A, 4, 3.5, 1.0, rpm=[800, 8000]) for _ in range(2))
        assert first == second
        assert hash(first) == hash(second)
        with pytest.raises(ValueError, match=r"^assignment destination is read-only"):
            first.fits[0] = False

    @pytest.mark.parametrize(
        ("changed", "words"),
        [
            ({"cylinders": 0}, "the number of cylinders must be 1 or more, not 0"),
            ({"cylinders": 2.5}, "cylinders are counted whole, not 2.5"),
            ({"dwell_ms": 0}, "the requested dwell must be above 0 ms, not 0"),
            ({"spark_ms": -0.5}, r"the time kept for the spark must be 0 ms or more, not -0\.5"),
            ({"rpm": 0}, "engine speed must be above 0 rpm, not 0"),
            ({"rpm": [800, math.nan]}, "engine speed must be a finite number"),
            ({"supply_v": [13.8, 0.9]}, "a supply of 0.9 V does not exceed the 1 V that"),
            ({"supply_v": 0}, "the supply voltage must be above 0 V, not 0"),
            ({"strokes": 3}, "an engine has two strokes or four, not 3"),
            ({"intervals_deg": (90, 150)}, "intervals of 90, 150 degrees do not make up the 720 degrees of 4 sparks"),
            ({"intervals_deg": (170, 190, 180)}, "intervals of 170, 190, 180 degrees do not make up"),
            ({"cylinders": 6, "intervals_deg": (90, 150.2)}, r"intervals of 90, 150\.2 degrees do not make up the 720"),
            ({"intervals_deg": (0, 360)}, "an interval between sparks must be above 0 degrees, not 0"),
            ({"dwell_ms": [3, 4]}, "give one dwell, or as many as there are supply voltages"),
            ({"dwell_ms": [3, 4], "supply_v": [10, 12, 13]}, "give one dwell, or as many"),
            ({"supply_v": [[10, 12]]}, "give one dwell, or as many"),
        ],
    )
    def test_an_impossible_budget_is_refused_with_the_figure(self, changed, words):
        whole = {"cylinders": 4, "dwell_ms": 3.5, "spark_ms": 1.0, "rpm": 800} | changed
        with pytest.raises(TimingError, match=f"^{words}"):
            dwell_budget(COIL_A, **whole)

    def test_one_interval_may_be_said_to_be_the_even_one(self):
        assert dwell_budget(COIL_A, 4, 3.5, 1.0, rpm=800, intervals_deg=180) == dwell_budget(
            COIL_A, 4, 3.5, 1.0, rpm=800
        )


def test_a_coil_of_unknown_inductance_has_no_budget():
    with pytest.raises(CoilError, match=r"^the coil's inductance is not known"):
        dwell_budget(Primary(3.0, None, 13.8), 4, 3.5, 1.0, rpm=3000)
