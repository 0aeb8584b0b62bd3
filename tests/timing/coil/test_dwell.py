"""Dwell over the speed range: where it no longer fits, what is left, and dwell angles into times."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timing.coil import (
    Primary,
    dwell_angle,
    dwell_budget,
    dwell_duty,
    dwell_for_supplies,
    dwell_time,
    steady_over_speed,
)
from timing.errors import TimingError

COIL_A = Primary(3.0, 8.0, 13.8, wiring_ohm=0.2, switch_drop_v=1.0)
COIL_C_LIMITED = Primary(0.7, 4.5, 13.8, 0, 6.5, wiring_ohm=0.15, switch_drop_v=1.0)


class TestAngles:
    @pytest.mark.parametrize(("rpm", "degrees"), [(800, 8.4), (3000, 31.5), (6000, 63)])
    def test_3_5_ms_are_the_tabled_distributor_degrees(self, rpm, degrees):
        assert dwell_angle(3.5, rpm) == pytest.approx(degrees, rel=1e-12), "handbook 6, for every number of cylinders"

    @pytest.mark.parametrize(
        ("cylinders", "duty"),
        [(1, 0.175), (2, 0.35), (4, 0.70), (6, 1.05), (8, 1.40)],
        ids=lambda figure: f"{figure:g}",
    )
    def test_3_5_ms_at_6000_rpm_are_the_tabled_duty(self, cylinders, duty):
        assert dwell_duty(3.5, cylinders, 6000) == pytest.approx(duty, rel=1e-12), "handbook 6; above 1 is impossible"

    @pytest.mark.parametrize(
        ("degrees", "rpm", "milliseconds"),
        [
            (60, 800, 25),
            (60, 6000, 3.3333),
            (38, 800, 15.8333),
            (38, 6000, 2.1111),
            (30, 800, 12.5),
            (30, 6000, 1.6667),
        ],
    )
    def test_points_are_closed_for_the_tabled_time(self, degrees, rpm, milliseconds):
        assert dwell_time(degrees, rpm) == pytest.approx(milliseconds, abs=5.1e-5), "handbook 6"

    @given(st.floats(0.01, 360), st.floats(50, 9000), st.sampled_from([2, 4]))
    def test_an_angle_into_a_time_and_back_is_the_same_angle(self, degrees, rpm, strokes):
        assert dwell_angle(dwell_time(degrees, rpm, strokes), rpm, strokes) == pytest.approx(degrees, rel=1e-12)

    def test_the_distributor_of_a_two_stroke_turns_twice_as_fast(self):
        assert dwell_time(60, 3000, strokes=2) == pytest.approx(dwell_time(60, 3000) / 2), "geometry"
        assert dwell_duty(3.5, 2, 3000, strokes=2) == pytest.approx(2 * dwell_duty(3.5, 2, 3000)), "geometry"

    def test_lists_give_arrays_and_figures_give_figures(self):
        assert dwell_time([60, 30], 800).tolist() == [25.0, 12.5]
        assert isinstance(dwell_time(60, 800), float)
        assert isinstance(dwell_angle(3.5, 800), float)
        assert isinstance(dwell_duty(3.5, 4, 800), float)
        assert dwell_duty(3.5, 4, [3000, 6000]).tolist() == pytest.approx([0.35, 0.7])

    @pytest.mark.parametrize(
        ("call", "words"),
        [
            (lambda: dwell_time(-1, 800), "the dwell angle must be 0 ° or more, not -1"),
            (lambda: dwell_time(361, 800), "the dwell angle must be 360 ° or less, not 361"),
            (lambda: dwell_time(60, 0), "engine speed must be above 0 rpm, not 0"),
            (lambda: dwell_angle(-1, 800), "the dwell must be 0 ms or more, not -1"),
            (lambda: dwell_angle(1, -800), "engine speed must be above 0 rpm, not -800"),
            (lambda: dwell_duty(1, 0, 800), "cylinders must be 1 or more, not 0"),
            (lambda: dwell_duty(-1, 4, 800), "the dwell must be 0 ms or more, not -1"),
            (lambda: dwell_duty(1, 4, 0), "engine speed must be above 0 rpm, not 0"),
            (lambda: dwell_time(60, 800, strokes=3), "an engine has two strokes or four, not 3"),
        ],
    )
    def test_an_impossible_dwell_is_refused_with_the_figure(self, call, words):
        with pytest.raises(TimingError, match=words):
            call()


class TestBudget:
    @pytest.mark.parametrize(
        ("cylinders", "limit"), [(1, 26666.7), (2, 13333.3), (4, 6666.7), (6, 4444.4), (8, 3333.3)]
    )
    def test_3_5_ms_beside_1_ms_fit_up_to_the_tabled_speed(self, cylinders, limit):
        budget = dwell_budget(COIL_A, cylinders, 3.5, 1.0, 1000)
        assert budget.limit_rpm == pytest.approx(limit, abs=0.05), "handbook 6: 120 / (N (t_d + t_spark))"

    @pytest.mark.parametrize("cylinders", [1, 2, 4, 6, 8])
    def test_the_whole_dwell_still_fits_at_the_limit_and_no_longer_above_it(self, cylinders):
        limit = dwell_budget(COIL_A, cylinders, 3.5, 1.0, 1000).limit_rpm
        budget = dwell_budget(COIL_A, cylinders, 3.5, 1.0, [limit - 1, limit, limit + 1])
        assert budget.fits.tolist() == [True, True, False]
        assert budget.on_ms[1] == pytest.approx(3.5)
        assert budget.on_ms[2] < 3.5

    def test_above_the_limit_the_spark_keeps_its_time_and_the_current_falls(self):
        budget = dwell_budget(COIL_A, 6, 3.5, 1.0, [3000, 6000])
        assert budget.interval_ms.tolist() == pytest.approx([6.6667, 3.3333], abs=1e-4), "firing_interval.csv"
        assert budget.on_ms.tolist() == pytest.approx([3.5, 2.33333], abs=1e-5), "interval less 1 ms, by hand"
        assert budget.current_a.tolist() == pytest.approx([COIL_A.current(3.5), COIL_A.current(7 / 3)])
        assert budget.energy_mj.tolist() == pytest.approx([4 * amperes**2 for amperes in budget.current_a])
        assert budget.duty.tolist() == pytest.approx([3.5 / (20 / 3), 0.7])

    @pytest.mark.parametrize("rpm", [800, 3000, 6000])
    def test_heat_is_that_of_the_repeating_state_with_nothing_left(self, rpm):
        # coil_limited_heat.csv by way of `Primary.steady`, whose tables are tested beside it
        budget = dwell_budget(COIL_C_LIMITED, 4, 5.0, 1.0, rpm)
        steady = COIL_C_LIMITED.steady(30_000 / rpm, min(5.0, 30_000 / rpm - 1.0), 0.8, 1e6)
        assert budget.heat_w == pytest.approx(steady.heat_w, rel=1e-12)
        assert budget.rms_a == pytest.approx(steady.rms_a, rel=1e-12)
        assert budget.mean_a == pytest.approx(steady.mean_a, rel=1e-12)
        assert budget.energy_mj == pytest.approx(steady.out_mj, rel=1e-9)

    def test_where_the_spark_takes_the_whole_interval_nothing_is_left_for_the_coil(self):
        budget = dwell_budget(COIL_A, 8, 3.5, 3.0, 6000)
        assert (budget.on_ms, budget.current_a, budget.energy_mj, budget.fits) == (0.0, 0.0, 0.0, False)

    def test_a_list_of_supplies_gives_a_row_for_each(self):
        volts = [7.0, 10.0, 13.8]
        budget = dwell_budget(COIL_A, 4, 3.5, 1.0, [800, 8000], supply_v=volts)
        assert budget.current_a.shape == (3, 2)
        assert budget.limit_rpm == pytest.approx(6666.7, abs=0.05), "the speed is a matter of time, not of voltage"
        for row, supply in zip(budget.current_a, volts, strict=True):
            single = dwell_budget(COIL_A.at_supply(supply), 4, 3.5, 1.0, [800, 8000])
            assert row.tolist() == single.current_a.tolist()

    def test_one_other_supply_keeps_the_shape_of_the_speeds(self):
        budget = dwell_budget(COIL_A, 4, 3.5, 1.0, [800, 8000], supply_v=10)
        assert (
            budget.current_a.tolist() == dwell_budget(COIL_A.at_supply(10), 4, 3.5, 1.0, [800, 8000]).current_a.tolist()
        )
        assert isinstance(dwell_budget(COIL_A, 4, 3.5, 1.0, 800, supply_v=10).current_a, float)

    def test_a_dwell_for_each_supply_has_a_limit_for_each(self):
        budget = dwell_budget(COIL_A, 4, [6.0, 3.5], 1.0, [800, 6000], supply_v=[10, 13.8])
        assert budget.limit_rpm.tolist() == pytest.approx([30_000 / 7, 30_000 / 4.5])
        assert budget.on_ms.tolist() == pytest.approx(np.array([[6.0, 4.0], [3.5, 3.5]]))
        assert budget.fits.tolist() == [[True, False], [True, True]]

    def test_an_uneven_engine_is_held_by_its_shortest_interval_and_heated_by_the_mean(self):
        # handbook 2: a V6 firing 90 and 150 degrees apart; 90 degrees at 5000 rpm are 3 ms, the mean of 120 is 4 ms
        budget = dwell_budget(COIL_A, 6, 3.5, 1.0, 5000, shortest_interval_deg=90)
        assert budget.interval_ms == pytest.approx(3.0)
        assert budget.on_ms == pytest.approx(2.0)
        assert budget.limit_rpm == pytest.approx(1000 * 90 / (6 * 4.5))
        assert budget.duty == pytest.approx(0.5)
        assert budget.heat_w == pytest.approx(COIL_A.steady(4.0, 2.0, 0.8, 1e6).heat_w)

    def test_a_two_stroke_has_half_the_time(self):
        two, four = (dwell_budget(COIL_A, 2, 3.5, 1.0, 3000, strokes=strokes) for strokes in (2, 4))
        assert two.interval_ms == pytest.approx(10), "handbook 2: N = 2, 10 ms at 3000 rpm"
        assert two.limit_rpm == pytest.approx(four.limit_rpm / 2)

    @given(st.integers(1, 12), st.floats(0.5, 8), st.floats(0, 3), st.floats(100, 9000))
    def test_dwell_and_spark_never_take_more_than_the_interval(self, cylinders, dwell, spark, rpm):
        budget = dwell_budget(COIL_A, cylinders, dwell, spark, rpm)
        assert 0 <= budget.on_ms <= dwell
        assert budget.on_ms + spark <= budget.interval_ms * (1 + 1e-12) or budget.on_ms == 0
        assert budget.fits == (rpm <= budget.limit_rpm * (1 + 1e-12))
        assert budget.current_a <= COIL_A.final_a

    def test_a_budget_is_a_value_that_cannot_be_written_into(self):
        asked = (COIL_A, 4, 3.5, 1.0, [800, 8000])
        assert dwell_budget(*asked) == dwell_budget(*asked)
        assert hash(dwell_budget(*asked)) == hash(dwell_budget(*asked))
        with pytest.raises(ValueError, match="read-only"):
            dwell_budget(*asked).fits[0] = False

    @pytest.mark.parametrize(
        ("changed", "words"),
        [
            ({"cylinders": 0}, "the number of cylinders must be 1 or more, not 0"),
            ({"cylinders": 2.5}, "cylinders are counted whole, not 2.5"),
            ({"dwell_ms": 0}, "the requested dwell must be above 0 ms, not 0"),
            ({"spark_ms": -1}, "the time kept for the spark must be 0 ms or more, not -1"),
            ({"rpm": 0}, "engine speed must be above 0 rpm, not 0"),
            ({"rpm": [800, math.nan]}, "engine speed must be a finite number"),
            ({"supply_v": [13.8, 0.9]}, "a supply of 0.9 V does not exceed the 1 V that"),
            ({"supply_v": 0}, "the supply voltage must be above 0 V, not 0"),
            ({"strokes": 3}, "an engine has two strokes or four, not 3"),
            ({"shortest_interval_deg": 181}, "the shortest interval cannot be 181°: the mean one is only 180°"),
            ({"shortest_interval_deg": 0}, "the shortest interval must be above 0 °, not 0"),
            ({"dwell_ms": [3, 4]}, "give one dwell, or as many as there are supply voltages"),
            ({"dwell_ms": [3, 4], "supply_v": [10, 12, 13]}, "give one dwell, or as many"),
            ({"supply_v": [[10, 12]]}, "give one dwell, or as many"),
        ],
    )
    def test_an_impossible_budget_is_refused_with_the_figure(self, changed, words):
        whole = {"cylinders": 4, "dwell_ms": 3.5, "spark_ms": 1.0, "rpm": 800} | changed
        with pytest.raises(TimingError, match=words):
            dwell_budget(COIL_A, **whole)

    def test_the_mean_interval_itself_may_be_the_shortest(self):
        assert dwell_budget(COIL_A, 4, 3.5, 1.0, 800, shortest_interval_deg=180) == dwell_budget(
            COIL_A, 4, 3.5, 1.0, 800
        )


class TestOverSpeed:
    def test_a_kept_dwell_leaves_current_and_a_kept_spark_leaves_less(self):
        kept_dwell = steady_over_speed(COIL_A, 4, 3.5, [3000, 6000], 0.8, 12)
        assert kept_dwell.residual_a.tolist() == pytest.approx([0, 0.64038], abs=1e-5), "coil_steady_state.csv"
        kept_spark = steady_over_speed(COIL_A, 4, 3.5, [3000, 6000], 0.8, 12, spark_ms=2.0)
        assert kept_spark.residual_a.tolist() == pytest.approx([0, 0], abs=1e-9), "the spark is over in 1.9 ms"
        assert kept_spark.duty.tolist() == pytest.approx([0.35, 0.6])

    def test_a_dwell_longer_than_the_interval_is_on_all_the_time(self):
        assert steady_over_speed(COIL_A, 8, 3.5, 6000, 0.8, 12).duty == 1.0

    def test_a_spark_longer_than_the_interval_leaves_the_coil_off(self):
        assert steady_over_speed(COIL_A, 8, 3.5, 6000, 0.8, 12, spark_ms=3.0).duty == 0.0

    def test_a_two_stroke_has_half_the_interval(self):
        assert steady_over_speed(COIL_A, 2, 3.5, 3000, 0.8, 12, strokes=2).duty == pytest.approx(0.35)

    @pytest.mark.parametrize(
        ("changed", "words"),
        [
            ({"rpm": 0}, "engine speed must be above 0 rpm, not 0"),
            ({"dwell_ms": 0}, "the requested dwell must be above 0 ms, not 0"),
            ({"spark_ms": -1}, "the time kept for the spark must be 0 ms or more, not -1"),
        ],
    )
    def test_an_impossible_rhythm_is_refused_with_the_figure(self, changed, words):
        whole = {"cylinders": 4, "dwell_ms": 3.5, "rpm": 800, "discharge_ohm": 0.8, "burn_v": 12} | changed
        with pytest.raises(TimingError, match=words):
            steady_over_speed(COIL_A, **whole)


class TestSupplies:
    def test_the_table_for_a_unit_that_follows_the_battery_is_the_tabled_one(self):
        # handbook 6: coil A to 3 A
        times = dwell_for_supplies(COIL_A, 3.0, [10.5, 12, 13, 13.8, 14.4, 15])
        assert times[1:].tolist() == pytest.approx([5.1536, 4.0236, 3.4657, 3.1506, 2.8936], abs=5.1e-5)
        assert times[0] == math.inf, "handbook 6: below 10.6 V never"

    @pytest.mark.parametrize(("volts", "reached"), [(10.6, False), (10.601, True)])
    def test_10_6_volts_is_the_end_of_it(self, volts, reached):
        assert math.isfinite(dwell_for_supplies(COIL_A, 3.0, volts)) is reached, "3 A * 3.2 ohm + 1 V, by hand"

    def test_one_supply_gives_one_figure(self):
        assert isinstance(dwell_for_supplies(COIL_A, 3.0, 12), float)

    @pytest.mark.parametrize(
        ("asked", "words"),
        [
            ((-1, 12), "the wanted current must be 0 A or more, not -1"),
            ((3, 0), "the supply voltage must be above 0 V, not 0"),
            ((3, [12, 0.5]), "a supply of 0.5 V does not exceed the 1 V"),
        ],
    )
    def test_an_impossible_supply_is_refused_with_the_figure(self, asked, words):
        with pytest.raises(TimingError, match=words):
            dwell_for_supplies(COIL_A, *asked)
