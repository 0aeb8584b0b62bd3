"""The old distributor: factory band, wear read from a sweep, capsule and dwell. The rotor is in test_phasing.py."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.interpolate import make_interp_spline

from timing.curve import AdvanceCurve
from timing.distributor import (
    CapsuleKind,
    CapsuleLimits,
    Direction,
    DistributorError,
    FactoryBand,
    SweepLimits,
    SweepReading,
    WearKind,
    capsule_leak,
    compare_capsule,
    compare_dwell,
    compare_sweep,
    factory_band,
)
from timing.errors import TimingError
from timing.vacuum import VacuumRamp

# The factory's table worked through in handbook section 4, in distributor rpm and degrees.
TABLE = [(400, 0, 0.5), (600, 1, 3), (900, 5, 7), (1500, 8.5, 10.5), (2250, 11, 13)]
BAND = factory_band(TABLE)
MIDDLE = BAND.middle
# From rest (the band's middle is 0.5 to 800 rpm) over the rise to full advance (4500 rpm).
SPEEDS = [700, 1000, 1400, 1800, 2500, 3200, 4000, 4600]


def on_the_middle(rpm=SPEEDS):
    return [float(MIDDLE.advance(speed)) for speed in rpm]


def sweep(advances, rpm=SPEEDS, direction="rising", **options):
    return compare_sweep([(n, a, direction) for n, a in zip(rpm, advances, strict=True)], BAND, **options)


def only(comparison):
    (finding,) = comparison.findings
    return finding


class TestFactoryBand:
    @pytest.mark.parametrize(
        ("rpm", "low", "middle", "high"),
        [(800, 0, 0.5, 1), (1200, 2, 4, 6), (1800, 10, 12, 14), (3000, 17, 19, 21), (4500, 22, 24, 26)],
    )
    def test_distributor_figures_double_on_a_four_stroke(self, rpm, low, middle, high):
        found = (BAND.lower.advance(rpm), MIDDLE.advance(rpm), BAND.upper.advance(rpm))
        assert found == (low, middle, high), "handbook 4, worked band"
        assert BAND.lower.rpm == (800, 1200, 1800, 3000, 4500), "handbook 4, worked band"

    def test_distributor_figures_stay_on_a_two_stroke(self):
        assert factory_band(TABLE, strokes=2) == FactoryBand(
            AdvanceCurve([400, 600, 900, 1500, 2250], [0, 1, 5, 8.5, 11]),
            AdvanceCurve([400, 600, 900, 1500, 2250], [0.5, 3, 7, 10.5, 13]),
        ), "handbook 2: k = 1 where the distributor turns at crank speed"

    @given(st.floats(0, 8000), st.floats(-10, 40))
    def test_outside_is_measured_from_the_nearer_edge(self, rpm, degrees):
        low, high = (
            make_interp_spline(curve.rpm, curve.degrees, k=1)(np.clip(rpm, 800, 4500))
            for curve in (BAND.lower, BAND.upper)
        )
        expected = degrees - high if degrees > high else degrees - low if degrees < low else 0.0
        assert BAND.outside(rpm, degrees) == pytest.approx(expected, abs=1e-8), "scipy, linear spline"
        assert BAND.contains(rpm, degrees) is bool(abs(expected) <= 1e-9)

    @pytest.mark.parametrize(
        ("rpm", "degrees", "outside"), [(1200, 6, 0), (1200, 6.1, 0.1), (1200, 2, 0), (1200, 1.5, -0.5), (100, 1, 0)]
    )
    def test_the_edges_belong_to_the_band(self, rpm, degrees, outside):
        assert BAND.outside(rpm, degrees) == pytest.approx(outside), "handbook 4: 2 to 6 at 1200, 0 to 1 below 800"
        assert BAND.contains(rpm, degrees) is (outside == 0)

    def test_lists_give_arrays_and_numbers_give_numbers(self):
        assert BAND.outside([1200, 1800], [7, 9]).tolist() == [1.0, -1.0]
        assert BAND.contains([1200, 1800], [5, 9]).tolist() == [True, False]
        assert isinstance(BAND.outside(1200, 7), float)

    def test_a_band_is_a_value(self):
        assert factory_band(TABLE) == BAND
        assert hash(BAND) == hash(factory_band(TABLE))
        with pytest.raises(dataclasses.FrozenInstanceError):
            BAND.lower = BAND.upper

    @pytest.mark.parametrize(
        ("rows", "message"),
        [
            ([], "has no row"),
            ([(400, 0)], "needs a speed, a lowest and a highest"),
            ([(400, 0, 1), (400, 1, 2)], "must rise, but 400 rpm comes after 400 rpm"),
            ([(600, 0, 1), (400, 1, 2)], "must rise, but 400 rpm comes after 600 rpm"),
            ([(400, 2, 1)], "at 400 distributor rpm the lowest advance, 2°, is above the highest, 1°"),
            ([(-400, 0, 1)], "a distributor speed must be 0 rpm or more, not -400"),
            ([(400, 0, math.nan)], "a figure of the factory's table must be a finite number"),
        ],
    )
    def test_a_table_that_makes_no_band_is_refused(self, rows, message):
        with pytest.raises(TimingError, match=message):
            factory_band(rows)

    def test_a_band_may_have_no_width(self):
        assert FactoryBand(MIDDLE, MIDDLE).outside([1200, 1200], [MIDDLE.advance(1200), 0]).tolist() == [
            0,
            -MIDDLE.advance(1200),
        ]

    def test_curves_the_wrong_way_round_are_refused(self):
        with pytest.raises(DistributorError, match="2° above the highest at 1500 rpm"):
            FactoryBand(AdvanceCurve([1000, 1500], [0, 6]), AdvanceCurve([1000, 2000], [1, 7]))

    @pytest.mark.parametrize("strokes", [0, 3, 4.5])
    def test_other_strokes_are_refused(self, strokes):
        with pytest.raises(TimingError):
            factory_band(TABLE, strokes=strokes)


class TestSweep:
    def test_a_sound_distributor_is_within_the_band(self):
        finding = only(sweep(on_the_middle()))
        assert finding.kind is WearKind.WITHIN_BAND
        assert finding.sentence == "Within the band at 8 speeds from 700 to 4600 rpm."
        assert (finding.from_rpm, finding.to_rpm, finding.degrees) == (700, 4600, 0)

    def test_base_timing_is_taken_off_before_comparing(self):
        found = sweep([advance + 10 for advance in on_the_middle()], base_deg=10)
        assert found.kinds == {WearKind.WITHIN_BAND}
        assert found.advance == pytest.approx(on_the_middle())
        assert found.from_middle == pytest.approx([0.0] * 8, abs=1e-9)

    def test_each_reading_has_its_distance_from_the_band_in_the_order_given(self):
        found = compare_sweep([(3000, 23), (1200, 1), (1800, 12)], BAND)
        assert found.outside == (2.0, -1.0, 0.0), "handbook 4: 17 to 21, 2 to 6, 10 to 14"
        assert found.from_middle == (4.0, -3.0, 0.0)
        assert [reading.rpm for reading in found.readings] == [3000, 1200, 1800]

    def test_weak_springs_bring_the_advance_too_soon_and_leave_the_full_advance(self):
        finding = only(sweep([MIDDLE.advance(speed + 600) for speed in SPEEDS]))
        assert finding.kind is WearKind.WEAK_SPRINGS
        # At 1000 rpm: middle of 1600 is 4 + 8 * 400/600 = 9.33, upper edge of 1000 is 3.5.
        assert finding.degrees == pytest.approx(9.3333333 - 3.5), "by hand from handbook 4"
        assert "up to 5.8° above the band (at 1000 rpm), while the full advance is right" in finding.sentence
        assert (finding.from_rpm, finding.to_rpm) == (700, 2500)

    def test_seized_weights_come_late_and_short(self):
        finding = only(sweep([0.6 * advance for advance in on_the_middle()]))
        assert finding.kind is WearKind.SEIZED_WEIGHTS
        assert finding.degrees == pytest.approx(0.6 * 24 - 22), "by hand: 14.4 where 22 is the least"
        assert "late and short of full, up to 7.6° below the band (at 4600 rpm)" in finding.sentence
        assert f"it moved {0.6 * 23.5:.1f}° in all" in finding.sentence

    def test_weights_that_do_not_move_at_all_are_seized(self):
        finding = only(sweep([0.0] * 8))
        assert finding.kind is WearKind.SEIZED_WEIGHTS
        assert "it moved 0.0° in all" in finding.sentence

    def test_weights_that_stop_before_their_end_are_short_but_not_late(self):
        finding = only(sweep([min(advance, 18.0) for advance in on_the_middle()]))
        assert finding.kind is WearKind.SEIZED_WEIGHTS
        assert "the advance is late and short of full" in finding.sentence
        stopped = only(sweep([*on_the_middle()[:-1], 20.0], rpm=SPEEDS, limits=SweepLimits(full_share=0.9)))
        assert stopped.kind is WearKind.CANNOT_TELL
        twice = only(sweep([*on_the_middle()[:-1], 20.0, 20.0], rpm=[*SPEEDS, 4900]))
        assert twice.kind is WearKind.SEIZED_WEIGHTS
        assert "from 4600 to 4900 rpm the advance is short of full, up to 2.0° below" in twice.sentence

    def test_sticky_weights_come_late_but_come(self):
        finding = only(sweep([MIDDLE.advance(max(speed - 500, 0)) for speed in SPEEDS]))
        assert finding.kind is WearKind.STICKY_WEIGHTS
        assert "though it is full in the end" in finding.sentence
        # At 1800 rpm: middle of 1300 is 4 + 8 * 100/600 = 5.33, lower edge of 1800 is 10.
        assert finding.degrees == pytest.approx(5.3333333 - 10), "by hand from handbook 4"

    def test_whether_late_weights_ever_come_is_not_guessed(self):
        finding = only(sweep([0.5, 0.5, 2, 6, 11], rpm=SPEEDS[:5]))
        assert finding.kind is WearKind.STICKY_WEIGHTS
        assert "whether it comes to full advance was not read" in finding.sentence

    def test_too_much_at_full_speaks_for_the_stop(self):
        found = sweep([*on_the_middle()[:-1], 29.0, 29.0], rpm=[*SPEEDS, 4900])
        assert only(found).kind is WearKind.TOO_MUCH_ADVANCE
        assert "the full advance is up to 3.0° above the band" in only(found).sentence, "26 is the most at full"

    def test_early_everywhere_but_at_rest_is_springs_and_stop(self):
        found = sweep([1.4 * advance for advance in on_the_middle()])
        assert found.kinds == {WearKind.WEAK_SPRINGS, WearKind.TOO_MUCH_ADVANCE}
        assert "while the full advance is right" not in found.findings[0].sentence

    @pytest.mark.parametrize(("error", "way"), [(5, "early"), (-5, "late")])
    def test_the_same_error_at_rest_as_well_is_the_base_timing(self, error, way):
        finding = only(sweep([advance + error for advance in on_the_middle()]))
        assert finding.kind is WearKind.BASE_OFFSET
        assert finding.degrees == pytest.approx(error)
        assert f"is about 5.0° {way}" in finding.sentence

    @pytest.mark.parametrize(("error", "way"), [(0.8, "early"), (-0.8, "late")])
    def test_a_base_timing_less_than_a_degree_off_is_named_with_its_way(self, error, way):
        narrow = FactoryBand(MIDDLE.shift(-0.1), MIDDLE.shift(0.1))
        readings = [(n, a + error) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        finding = only(compare_sweep(readings, narrow))
        assert finding.kind is WearKind.BASE_OFFSET
        assert f"is about 0.8° {way}" in finding.sentence

    def test_an_error_only_in_the_rise_is_not_the_base_timing(self):
        advances = [a + 4 * (1000 < n < 4000) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        assert sweep(advances).kinds == {WearKind.WEAK_SPRINGS}

    def test_kinds_are_words_that_may_be_stored(self):
        assert [kind.value for kind in WearKind] == [
            "within_band",
            "base_offset",
            "weak_springs",
            "too_much_advance",
            "seized_weights",
            "sticky_weights",
            "worn_drive",
            "cannot_tell",
        ]

    def test_below_rest_is_not_the_weights_doing(self):
        advances = on_the_middle(SPEEDS)
        found = sweep([-3, -3, *advances], rpm=[500, 600, *SPEEDS])
        finding = only(found)
        assert finding.kind is WearKind.BASE_OFFSET
        assert "from 500 to 600 rpm" in finding.sentence
        assert "up to 3.0° later than base timing alone" in finding.sentence

    def test_one_odd_reading_is_to_be_taken_again(self):
        finding = only(sweep([a + 6 * (n == 1800) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]))
        assert finding.kind is WearKind.CANNOT_TELL
        assert "only the reading at 1800 rpm is outside, 4.0° above the band; take it again" in finding.sentence
        low = only(sweep([a - 6 * (n == 1800) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]))
        assert "4.0° below the band" in low.sentence
        assert (low.degrees, low.from_rpm, low.to_rpm) == (pytest.approx(-4), 1800, 1800)
        near = only(sweep([a + 2.9 * (n == 1800) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]))
        assert "0.9° above the band" in near.sentence, "the band is 2 degrees to either side there"

    @pytest.mark.parametrize(("off", "kind"), [(0.49, WearKind.WITHIN_BAND), (0.51, WearKind.WEAK_SPRINGS)])
    def test_half_a_degree_outside_is_not_wear(self, off, kind):
        advances = on_the_middle()
        for place in (3, 4):
            advances[place] = BAND.upper.advance(SPEEDS[place]) + off
        finding = only(sweep(advances))
        assert finding.kind is kind, "common practice, no source"
        if kind is WearKind.WITHIN_BAND:
            assert finding.sentence == "At most 0.5° outside the band at 8 speeds from 700 to 4600 rpm."

    @pytest.mark.parametrize(("count", "told"), [(3, False), (4, True)])
    def test_few_speeds_tell_nothing_of_springs_and_weights(self, count, told):
        finding = sweep([20.0] * count, rpm=SPEEDS[:count]).findings[0]
        assert (finding.kind is not WearKind.CANNOT_TELL) is told
        if not told:
            assert "3 speeds read, 4 or more are wanted, from idle to full advance" in finding.sentence

    def test_readings_at_one_speed_are_one_speed(self):
        finding = only(sweep([12.0, 12.1, 12.0, 12.1], rpm=[1800, 1810, 1800, 1805]))
        assert "1 speed read" in finding.sentence

    def test_a_falling_sweep_alone_is_judged_like_a_rising_one(self):
        found = sweep([MIDDLE.advance(speed + 600) for speed in SPEEDS], direction="falling")
        assert found.kinds == {WearKind.WEAK_SPRINGS}


class TestHysteresis:
    def there_and_back(self, hang, shift=0):
        up = [SweepReading(n, a) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        down = [
            SweepReading(n + shift, MIDDLE.advance(n + shift) + hang * (800 < n < 4500), Direction.FALLING)
            for n in SPEEDS
        ]
        return compare_sweep(up + down, BAND)

    @pytest.mark.parametrize(("hang", "sticks"), [(2.01, True), (1.99, False), (0, False), (-3, False)])
    def test_advance_that_hangs_on_while_falling_is_stickiness(self, hang, sticks):
        found = self.there_and_back(hang)
        assert (WearKind.STICKY_WEIGHTS in found.kinds) is sticks, "common practice, no source"
        if sticks:
            assert "hangs on, 2.0° more than rising" in only(found).sentence
            assert "1.5° on average over 8 speeds" in only(found).sentence, "six of eight hang on"
            assert only(found).degrees == pytest.approx(hang)
            assert (only(found).from_rpm, only(found).to_rpm) == (700, 4600)

    def test_a_sweep_that_is_early_both_ways_does_not_hang_on(self):
        readings = [
            (n, a + 5, way) for n, a in zip(SPEEDS, on_the_middle(), strict=True) for way in ("rising", "falling")
        ]
        assert compare_sweep(readings, BAND).kinds == {WearKind.BASE_OFFSET}

    def test_two_speeds_are_enough_to_see_it(self):
        up = [(n, a) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        found = compare_sweep([*up, (1800, 15.0, "falling"), (2500, MIDDLE.advance(2500) + 3, "falling")], BAND)
        assert only(found).kind is WearKind.STICKY_WEIGHTS
        assert "3.0° on average over 2 speeds" in only(found).sentence
        assert not any("Rising and falling" in sentence for sentence in found.not_judged)

    def test_half_a_degree_on_average_is_enough_beside_a_large_one(self):
        up = [(n, a) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        down = [(n, a + 4 * (n == 1800), "falling") for n, a in up]
        assert WearKind.STICKY_WEIGHTS in compare_sweep([*up, *down], BAND).kinds

    def test_speeds_need_not_be_the_same_both_ways(self):
        found = self.there_and_back(3, shift=40)
        assert only(found).degrees == pytest.approx(3, abs=1e-9)
        assert self.there_and_back(0, shift=-40).kinds == {WearKind.WITHIN_BAND}

    def test_without_a_falling_sweep_stickiness_is_not_judged(self):
        assert any("Rising and falling" in sentence for sentence in sweep(on_the_middle()).not_judged)
        assert not any("Rising and falling" in sentence for sentence in self.there_and_back(0).not_judged)

    def test_a_single_falling_speed_is_too_little(self):
        up = [(n, a) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        found = compare_sweep([*up, (1800, 17, "falling")], BAND)
        assert WearKind.STICKY_WEIGHTS not in found.kinds
        assert any("Rising and falling" in sentence for sentence in found.not_judged)


class TestScatter:
    def repeated(self, *advances, rpm=1500):
        readings = list(zip(SPEEDS, on_the_middle(), strict=True))
        return compare_sweep([*readings, *((rpm, MIDDLE.advance(rpm) + off) for off in advances)], BAND)

    def test_a_spark_that_wanders_at_a_constant_speed_speaks_for_shaft_and_drive(self):
        found = self.repeated(-2, 1, 2, -1)
        finding = only(found)
        assert finding.kind is WearKind.WORN_DRIVE
        # Mean 0, squares 4 + 1 + 4 + 1 = 10 over three: 1.83.
        assert "at a constant 1500 rpm the readings are 4.0° apart, scatter over all repeated speeds 1.8°" in (
            finding.sentence
        )
        assert finding.degrees == pytest.approx(4)

    @pytest.mark.parametrize(
        ("offs", "worn"),
        [
            ((1.01, -1.01), True),
            ((0.99, -0.99), False),
            ((0.99, -0.99, 0.99), True),
            ((0.99, -0.99, 0.99, -0.99), True),
            ((0.85, -0.85, 0.85, -0.85), False),
        ],
    )
    def test_two_degrees_apart_or_one_of_standard_deviation_is_the_limit(self, offs, worn):
        # Four readings +-a have standard deviation a sqrt(4/3): 1.143 and 0.981; three have the same.
        assert (WearKind.WORN_DRIVE in self.repeated(*offs).kinds) is worn, "common practice, no source"

    def test_the_slope_of_the_curve_is_not_scatter(self):
        readings = list(zip(SPEEDS, on_the_middle(), strict=True))
        close = [(speed, MIDDLE.advance(speed)) for speed in (1500, 1545)]
        assert compare_sweep([*readings, *close], BAND).kinds == {WearKind.WITHIN_BAND}

    def test_rising_and_falling_are_not_taken_for_scatter(self):
        rising = [(n, a) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        falling = [(n, a + 3, "falling") for n, a in rising]
        assert WearKind.WORN_DRIVE not in compare_sweep([*rising, *falling], BAND).kinds

    def test_without_repeats_play_is_not_judged(self):
        assert any("No speed was read twice" in sentence for sentence in sweep(on_the_middle()).not_judged)
        assert not any("No speed was read twice" in sentence for sentence in self.repeated(0, 0).not_judged)


class TestWhatASweepCannotShow:
    def test_without_a_reading_at_rest_the_base_is_not_known(self):
        found = sweep(on_the_middle(SPEEDS[2:]), rpm=SPEEDS[2:])
        assert any("No reading with the weights at rest" in sentence for sentence in found.not_judged)
        assert not any("weights at rest" in sentence for sentence in sweep(on_the_middle()).not_judged)

    def test_without_a_reading_at_full_advance_its_speed_is_named(self):
        found = sweep(on_the_middle(SPEEDS[:5]), rpm=SPEEDS[:5])
        assert "No reading at full advance, near 4500 rpm: whether it is reached is not known." in found.not_judged


class TestSweepInput:
    @pytest.mark.parametrize(
        ("readings", "message"),
        [
            ([], "the sweep has no reading"),
            ([(900,)], "^a reading of a sweep is a speed, an advance and, if known, rising or falling$"),
            ([(900, 10, "rising", 3)], "a speed, an advance and, if known, rising or falling"),
            ([(900, 10, "sideways")], "rising or falling, not 'sideways'"),
            ([(-900, 10)], "a speed of the sweep must be above 0 rpm, not -900"),
            ([(0, 10)], "a speed of the sweep must be above 0 rpm, not 0"),
            ([(90_000, 10)], "30000 rpm or less, not 90000"),
            ([(900, math.nan)], "an advance of the sweep must be a finite number"),
            ([(900, 200)], "an advance of the sweep must be 180 degrees or less, not 200"),
        ],
    )
    def test_what_is_no_reading_is_refused(self, readings, message):
        with pytest.raises(TimingError, match=message):
            compare_sweep(readings, BAND)

    @pytest.mark.parametrize(
        ("base", "message"),
        [
            (math.nan, "base timing must be a finite number"),
            (180.5, "base timing must be 180 degrees or less, not 180.5"),
            (-180.5, "base timing must be -180 degrees or more, not -180.5"),
        ],
    )
    def test_a_base_timing_that_is_none_is_refused(self, base, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            compare_sweep([(900, 10)], BAND, base_deg=base)

    @pytest.mark.parametrize(
        ("limits", "message"),
        [
            ({"least_speeds": 1}, "least_speeds must be 2 or more, not 1"),
            ({"beyond_deg": -1}, "beyond_deg must be 0 or more"),
            ({"rest_share": 0.96}, "rest_share must be below full_share"),
            ({"full_share": 1.1}, "rest_share must be below full_share"),
        ],
    )
    def test_limits_that_mean_nothing_are_refused(self, limits, message):
        with pytest.raises(TimingError, match=message):
            SweepLimits(**limits)

    def test_a_band_without_advance_judges_everything_at_rest(self):
        flat = FactoryBand(AdvanceCurve([500], [0]), AdvanceCurve([500], [1]))
        found = compare_sweep([(n, 0.5) for n in SPEEDS], flat)
        assert found.kinds == {WearKind.WITHIN_BAND}
        still = FactoryBand(AdvanceCurve([500], [0]), AdvanceCurve([500], [0]))
        found = compare_sweep([(n, 0) for n in SPEEDS], still)
        assert found.kinds == {WearKind.WITHIN_BAND}
        assert any("No reading at full advance" in sentence for sentence in found.not_judged)
        assert not any("weights at rest" in sentence for sentence in found.not_judged)

    @given(
        st.lists(
            st.tuples(st.integers(500, 6000), st.integers(-20, 60), st.sampled_from(["rising", "falling"])),
            min_size=1,
            max_size=14,
        )
    )
    def test_every_sweep_gets_a_finding_with_figures(self, readings):
        found = compare_sweep(readings, BAND)
        assert found.findings
        assert len(found.outside) == len(readings)
        for finding in found.findings:
            assert "nan" not in finding.sentence
            assert finding.degrees is None or math.isfinite(finding.degrees)


class TestCapsuleLeak:
    @pytest.mark.parametrize(
        ("left", "kind"),
        [(45.0, CapsuleKind.HOLDS), (44.9, CapsuleKind.LEAKS), (50.0, CapsuleKind.HOLDS), (0.0, CapsuleKind.LEAKS)],
    )
    def test_five_kpa_of_fifty_in_thirty_seconds_is_the_limit(self, left, kind):
        found = capsule_leak(50, left, 30)
        assert found.kind is kind, "handbook 11, item 13"
        assert found.lost_kpa == pytest.approx(50 - left)
        assert found.lost_in_full_test_kpa == pytest.approx(50 - left), "this is the full test"
        assert f"{50 - left:.1f} of 50 kPa lost in 30 s" in found.sentence
        assert "5.0 kPa is allowed" in found.sentence

    @given(st.floats(10, 100), st.floats(0.05, 1), st.floats(1, 300))
    def test_another_test_is_brought_to_the_full_one_by_a_steady_share(self, applied, kept, seconds):
        rate = -math.log(kept) / seconds
        left = solve_ivp(lambda _, v: -rate * v, (0, 30), [50.0], rtol=1e-10, atol=1e-12).y[0, -1]
        found = capsule_leak(applied, applied * kept, seconds)
        assert found.lost_in_full_test_kpa == pytest.approx(50 - left, abs=1e-6), "scipy, dv/dt = -v/T"

    @pytest.mark.parametrize(("applied", "left", "seconds"), [(50, 49, 29), (49, 48, 30), (20, 20, 5)])
    def test_a_gentler_test_proves_no_tightness(self, applied, left, seconds):
        found = capsule_leak(applied, left, seconds)
        assert found.kind is CapsuleKind.CANNOT_TELL
        assert "hold 50 kPa for 30 s" in found.sentence

    def test_a_gentler_test_can_prove_a_leak(self):
        found = capsule_leak(40, 30, 10)
        assert found.kind is CapsuleKind.LEAKS
        assert found.lost_in_full_test_kpa == pytest.approx(50 * (1 - 0.75**3)), "by hand: 3/4 is left in each 10 s"

    def test_a_longer_test_may_lose_more(self):
        assert capsule_leak(60, 50, 90).kind is CapsuleKind.HOLDS

    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            ((50, 51, 30), "51 kPa left is more than the 50 kPa applied"),
            ((0, 0, 30), "the vacuum applied must be above 0 kPa"),
            ((50, -1, 30), "the vacuum left must be 0 kPa or more, not -1"),
            ((50, 45, 0), "the time must be above 0 s, not 0"),
            ((500, 45, 30), "the vacuum applied must be 110 kPa or less, not 500"),
            ((50, math.nan, 30), "the vacuum left must be a finite number"),
        ],
    )
    def test_a_test_that_cannot_be_is_refused(self, arguments, message):
        with pytest.raises(TimingError, match=message):
            capsule_leak(*arguments)

    def test_limits_that_mean_nothing_are_refused(self):
        with pytest.raises(DistributorError, match="may not lose all"):
            CapsuleLimits(applied_kpa=50, lost_kpa=50)
        with pytest.raises(TimingError, match="the limit kpa must be above 0"):
            CapsuleLimits(kpa=0)


class TestCapsuleAdvance:
    # The ramp of handbook section 4: 0, 4.667, 7, 14, 14 at 10, 20, 25, 40, 60 kPa.
    DATA = VacuumRamp(10, 40, 14)

    def compared(self, vacua, advances):
        return compare_capsule(vacua, advances, self.DATA)

    def test_a_capsule_as_its_data_is_found_so(self):
        found = self.compared([60, 10, 20, 25, 40], [14, 0, 4.666667, 7, 14])
        assert found.off == pytest.approx([0] * 5, abs=1e-6), "handbook 4, vacuum ramp"
        assert found.kinds == {CapsuleKind.AS_DATA}
        assert (found.begins_kpa, found.full_deg) == (pytest.approx(10, abs=1e-5), 14)
        assert "begins near 10 kPa and gives 14.0°" in found.findings[0].sentence

    @pytest.mark.parametrize(
        ("shift", "kind"),
        [(3.9, "as_data"), (4.1, "begins_late"), (-3.9, "as_data"), (-4.1, "begins_early"), (9, "begins_late")],
    )
    def test_where_it_begins_is_read_off_the_rise(self, shift, kind):
        vacua = np.arange(0, 70, 5.0)
        advances = VacuumRamp(10 + shift, 40 + shift, 14).advance(vacua)
        found = self.compared(vacua, advances)
        assert found.begins_kpa == pytest.approx(10 + shift)
        assert found.kinds == {kind}
        assert kind == "as_data" or f"{abs(shift):.0f} kPa {kind[7:]} against the data" in found.findings[0].sentence

    @pytest.mark.parametrize(
        ("full", "kind"),
        [
            (12.0, "as_data"),
            (11.9, "short_of_full"),
            (16.0, "as_data"),
            (16.1, "too_much"),
        ],
    )
    def test_the_full_advance_may_be_two_degrees_off(self, full, kind):
        found = self.compared([0, 10, 20, 40], [0, 0, full / 3, full])
        assert found.kinds == {kind}, "common practice, no source"
        assert found.full_deg == full
        assert kind == "as_data" or f"The full advance is {full}°, 2.1° " in found.findings[0].sentence

    def test_a_torn_diaphragm_moves_nothing(self):
        found = self.compared([0, 20, 50], [0, 0, 0.2])
        assert found.kinds == {CapsuleKind.DOES_NOT_MOVE}
        assert "0.2° at 50 kPa where 14.0° is due" in found.findings[0].sentence
        assert found.begins_kpa is None

    def test_without_a_reading_at_full_vacuum_the_full_advance_is_not_known(self):
        found = self.compared([0, 10, 20, 30], [0, 0, 4.67, 9.33])
        assert found.full_deg is None
        assert found.kinds == {CapsuleKind.CANNOT_TELL}
        assert "no reading at 40 kPa or more" in found.findings[0].sentence

    def test_without_a_reading_before_it_moves_the_begin_is_not_known(self):
        found = self.compared([30, 50], [9.33, 14])
        assert found.begins_kpa is None
        assert found.kinds == {CapsuleKind.CANNOT_TELL}
        assert "Cannot tell where it begins" in found.findings[0].sentence

    def test_too_little_vacuum_tells_nothing(self):
        found = self.compared([0, 14], [0, 0])
        assert found.kinds == {CapsuleKind.CANNOT_TELL}
        assert "no reading above 10 kPa" in found.findings[0].sentence

    def test_a_next_reading_on_the_stop_does_not_lead_the_begin_astray(self):
        assert self.compared([10, 30, 50], [0, 12, 14]).begins_kpa == 10, "0 there, 12 at 30: no earlier than 10"

    def test_the_begin_is_not_before_a_reading_that_had_not_moved(self):
        assert self.compared([0, 12, 20, 30, 50], [0, 0.2, 8, 10, 14]).begins_kpa == 12

    def test_a_begin_between_two_readings_is_on_the_line_through_them(self):
        found = self.compared([0, 20], [-2, 2])
        assert found.begins_kpa == pytest.approx(10), "half way, by hand"

    @pytest.mark.parametrize(
        ("vacua", "advances", "message"),
        [
            ([10, 20], [1], "2 vacua but 1 advances"),
            ([], [], "must be a list of vacua"),
            (10, 1, "must be a list of vacua"),
            ([-10], [1], "vacuum must be 0 kPa or more, not -10"),
            ([200], [1], "vacuum must be [0-9]+ kPa or less, not 200"),
            ([10], [math.nan], "an advance of the capsule must be a finite number"),
            ([10], [100], "an advance of the capsule must be 90 degrees or less, not 100"),
        ],
    )
    def test_what_is_no_reading_is_refused(self, vacua, advances, message):
        with pytest.raises(TimingError, match=message):
            self.compared(vacua, advances)

    @given(st.lists(st.tuples(st.integers(0, 90), st.integers(-5, 30)), min_size=1, max_size=8))
    def test_every_set_of_readings_gets_a_finding(self, readings):
        found = self.compared(*zip(*readings, strict=True))
        assert found.findings
        assert all("nan" not in finding.sentence for finding in found.findings)


class TestDwell:
    @pytest.mark.parametrize(("fast", "steady"), [(57, True), (51, True), (57.1, False), (50.9, False)])
    def test_three_degrees_of_change_are_the_limit_of_a_sound_shaft(self, fast, steady):
        found = compare_dwell(54, fast)
        assert found.steady is steady, "handbook 11, item 15"
        assert found.change_deg == pytest.approx(fast - 54)
        assert ("the shaft or its bushes are worn" in found.sentences[0]) is not steady
        assert found.as_data is None

    @pytest.mark.parametrize(
        ("idle", "fits", "words"),
        [(57, True, None), (63, True, None), (56, False, "close the points gap"), (64, False, "open the points gap")],
    )
    def test_three_degrees_off_the_data_are_the_limit(self, idle, fits, words):
        found = compare_dwell(idle, idle, data_deg=60)
        assert found.as_data is fits, "handbook 11, item 15"
        assert fits or words in found.sentences[0], "a smaller gap keeps the points closed longer"

    def test_limits_are_settings(self):
        found = compare_dwell(50, 56, 60, off_data_deg=10, largest_change_deg=6)
        assert (found.as_data, found.steady) == (True, True)
        assert found.sentences == ("Dwell is 50 distributor degrees at idle and changes by +6 at speed.",)

    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            ((0, 50), "dwell at idle must be above 0 degrees"),
            ((50, 400), "dwell at speed must be 360 degrees or less, not 400"),
            ((50, 0), "dwell at speed must be above 0 degrees"),
            ((400, 50), "dwell at idle must be 360 degrees or less, not 400"),
            ((50, 50, math.nan), "dwell of the data must be a finite number"),
            ((50, 50, 0), "dwell of the data must be above 0 degrees, not 0"),
            ((50, 50, 361), "dwell of the data must be 360 degrees or less, not 361"),
        ],
    )
    def test_a_dwell_that_cannot_be_is_refused(self, arguments, message):
        with pytest.raises(TimingError, match=message):
            compare_dwell(*arguments)

    def test_a_limit_below_nothing_is_refused(self):
        with pytest.raises(TimingError, match="the largest change of dwell must be 0 degrees or more, not -1"):
            compare_dwell(50, 50, largest_change_deg=-1)
        with pytest.raises(TimingError, match="the largest distance from the data must be 0 degrees or more, not -1"):
            compare_dwell(50, 50, 50, off_data_deg=-1)
