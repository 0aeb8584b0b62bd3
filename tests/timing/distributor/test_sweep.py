"""The wear of an old distributor read from a sweep."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.distributor.sentences import (
    FULL_NOT_READ,
    PLAY_NOT_JUDGED,
    REST_NOT_READ,
    STICKING_NOT_JUDGED,
    full_not_read,
)
from timing.curve import AdvanceCurve
from timing.distributor import (
    Direction,
    FactoryBand,
    SweepLimits,
    SweepReading,
    WearKind,
    compare_sweep,
    factory_band,
)
from timing.errors import TimingError

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


class TestSweep:
    def test_a_sound_distributor_is_within_the_band(self):
        finding = only(sweep(on_the_middle()))
        assert finding.kind is WearKind.WITHIN_BAND
        assert (finding.from_rpm, finding.to_rpm, finding.degrees) == (700, 4600, 0)

    def test_base_timing_is_taken_off_before_comparing(self):
        found = sweep([advance + 10 for advance in on_the_middle()], base_deg=10)
        assert found.kinds == {WearKind.WITHIN_BAND}
        assert found.advance == pytest.approx(on_the_middle())

    def test_each_reading_has_its_distance_from_the_band_in_the_order_given(self):
        found = compare_sweep([(3000, 23), (1200, 1), (1800, 12)], BAND)
        assert found.outside == (2.0, -1.0, 0.0), "handbook 4: 17 to 21, 2 to 6, 10 to 14"
        assert [reading.rpm for reading in found.readings] == [3000, 1200, 1800]

    def test_weak_springs_bring_the_advance_too_soon_and_leave_the_full_advance(self):
        finding = only(sweep([MIDDLE.advance(speed + 600) for speed in SPEEDS]))
        assert finding.kind is WearKind.WEAK_SPRINGS
        # At 1000 rpm: middle of 1600 is 4 + 8 * 400/600 = 9.33, upper edge of 1000 is 3.5.
        assert finding.degrees == pytest.approx(9.3333333 - 3.5), "by hand from handbook 4"
        assert (finding.from_rpm, finding.to_rpm) == (700, 2500)

    def test_seized_weights_come_late_and_short(self):
        finding = only(sweep([0.6 * advance for advance in on_the_middle()]))
        assert finding.kind is WearKind.SEIZED_WEIGHTS
        assert finding.degrees == pytest.approx(0.6 * 24 - 22), "by hand: 14.4 where 22 is the least"

    def test_weights_that_do_not_move_at_all_are_seized(self):
        finding = only(sweep([0.0] * 8))
        assert finding.kind is WearKind.SEIZED_WEIGHTS

    def test_weights_that_stop_before_their_end_are_short_but_not_late(self):
        finding = only(sweep([min(advance, 18.0) for advance in on_the_middle()]))
        assert finding.kind is WearKind.SEIZED_WEIGHTS
        stopped = only(sweep([*on_the_middle()[:-1], 20.0], rpm=SPEEDS, limits=SweepLimits(full_share=0.9)))
        assert stopped.kind is WearKind.CANNOT_TELL
        twice = only(sweep([*on_the_middle()[:-1], 20.0, 20.0], rpm=[*SPEEDS, 4900]))
        assert twice.kind is WearKind.SEIZED_WEIGHTS
        assert (twice.degrees, twice.from_rpm, twice.to_rpm) == (pytest.approx(-2), 4600, 4900), (
            "22 is the least at full"
        )

    def test_sticky_weights_come_late_but_come(self):
        finding = only(sweep([MIDDLE.advance(max(speed - 500, 0)) for speed in SPEEDS]))
        assert finding.kind is WearKind.STICKY_WEIGHTS
        # At 1800 rpm: middle of 1300 is 4 + 8 * 100/600 = 5.33, lower edge of 1800 is 10.
        assert finding.degrees == pytest.approx(5.3333333 - 10), "by hand from handbook 4"

    def test_whether_late_weights_ever_come_is_not_guessed(self):
        finding = only(sweep([0.5, 0.5, 2, 6, 11], rpm=SPEEDS[:5]))
        assert finding.kind is WearKind.STICKY_WEIGHTS
        assert FULL_NOT_READ in finding.sentence

    def test_too_much_at_full_speaks_for_the_stop(self):
        found = sweep([*on_the_middle()[:-1], 29.0, 29.0], rpm=[*SPEEDS, 4900])
        assert only(found).kind is WearKind.TOO_MUCH_ADVANCE
        assert only(found).degrees == pytest.approx(3), "26 is the most at full"

    def test_early_everywhere_but_at_rest_is_springs_and_stop(self):
        found = sweep([1.4 * advance for advance in on_the_middle()])
        assert found.kinds == {WearKind.WEAK_SPRINGS, WearKind.TOO_MUCH_ADVANCE}

    @pytest.mark.parametrize("error", [5, -5])
    def test_the_same_error_at_rest_as_well_is_the_base_timing(self, error):
        finding = only(sweep([advance + error for advance in on_the_middle()]))
        assert finding.kind is WearKind.BASE_OFFSET
        assert finding.degrees == pytest.approx(error)
        assert (finding.from_rpm, finding.to_rpm) == (SPEEDS[0], SPEEDS[-1])

    @pytest.mark.parametrize("error", [0.8, -0.8])
    def test_a_base_timing_less_than_a_degree_off_is_named_with_its_way(self, error):
        narrow = FactoryBand(MIDDLE.shift(-0.1), MIDDLE.shift(0.1))
        readings = [(n, a + error) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        finding = only(compare_sweep(readings, narrow))
        assert finding.kind is WearKind.BASE_OFFSET
        assert finding.degrees == pytest.approx(error)
        assert (" early" in finding.sentence) is (error > 0)

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
        assert (finding.degrees, finding.from_rpm, finding.to_rpm) == (-3, 500, 600)

    def test_one_odd_reading_is_to_be_taken_again(self):
        finding = only(sweep([a + 6 * (n == 1800) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]))
        assert finding.kind is WearKind.CANNOT_TELL
        low = only(sweep([a - 6 * (n == 1800) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]))
        assert (low.degrees, low.from_rpm, low.to_rpm) == (pytest.approx(-4), 1800, 1800)
        near = only(sweep([a + 2.9 * (n == 1800) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]))
        assert near.degrees == pytest.approx(0.9), "the band is 2 degrees to either side there"

    @pytest.mark.parametrize(("off", "kind"), [(0.5, WearKind.WITHIN_BAND), (0.51, WearKind.WEAK_SPRINGS)])
    def test_half_a_degree_outside_is_not_wear(self, off, kind):
        advances = on_the_middle()
        for place in (3, 4):
            advances[place] = BAND.upper.advance(SPEEDS[place]) + off
        finding = only(sweep(advances))
        assert finding.kind is kind, "common practice, no source"
        assert finding.degrees == pytest.approx(off)

    @pytest.mark.parametrize(("count", "told"), [(3, False), (4, True)])
    def test_few_speeds_tell_nothing_of_springs_and_weights(self, count, told):
        finding = sweep([20.0] * count, rpm=SPEEDS[:count]).findings[0]
        assert (finding.kind is not WearKind.CANNOT_TELL) is told

    def test_readings_at_one_speed_are_one_speed(self):
        finding = only(sweep([12.0, 12.1, 12.0, 12.1], rpm=[1800, 1810, 1800, 1805]))
        assert finding.kind is WearKind.CANNOT_TELL
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

    @pytest.mark.parametrize(("hang", "sticks"), [(2.01, True), (2.0, False), (0, False), (-3, False)])
    def test_advance_that_hangs_on_while_falling_is_stickiness(self, hang, sticks):
        found = self.there_and_back(hang)
        assert (WearKind.STICKY_WEIGHTS in found.kinds) is sticks, "common practice, no source"
        if sticks:
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
        assert STICKING_NOT_JUDGED not in found.not_judged

    def test_half_a_degree_on_average_is_enough_beside_a_large_one(self):
        up = [(n, a) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        down = [(n, a + 4 * (n == 1800), "falling") for n, a in up]
        assert WearKind.STICKY_WEIGHTS in compare_sweep([*up, *down], BAND).kinds

    def test_speeds_need_not_be_the_same_both_ways(self):
        found = self.there_and_back(3, shift=40)
        assert only(found).degrees == pytest.approx(3, abs=1e-9)
        assert self.there_and_back(0, shift=-40).kinds == {WearKind.WITHIN_BAND}

    def test_without_a_falling_sweep_stickiness_is_not_judged(self):
        assert STICKING_NOT_JUDGED in sweep(on_the_middle()).not_judged
        assert STICKING_NOT_JUDGED not in self.there_and_back(0).not_judged

    def test_a_single_falling_speed_is_too_little(self):
        up = [(n, a) for n, a in zip(SPEEDS, on_the_middle(), strict=True)]
        found = compare_sweep([*up, (1800, 17, "falling")], BAND)
        assert WearKind.STICKY_WEIGHTS not in found.kinds
        assert STICKING_NOT_JUDGED in found.not_judged


class TestScatter:
    def repeated(self, *advances, rpm=1500):
        readings = list(zip(SPEEDS, on_the_middle(), strict=True))
        return compare_sweep([*readings, *((rpm, MIDDLE.advance(rpm) + off) for off in advances)], BAND)

    def test_a_spark_that_wanders_at_a_constant_speed_speaks_for_shaft_and_drive(self):
        found = self.repeated(-2, 1, 2, -1)
        finding = only(found)
        assert finding.kind is WearKind.WORN_DRIVE
        assert finding.degrees == pytest.approx(4)

    @pytest.mark.parametrize(
        ("offs", "worn"),
        [
            ((1.01, -1.01), True),
            ((1.0, -1.0), False),
            ((1.1, -0.9), False),
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
        assert PLAY_NOT_JUDGED in sweep(on_the_middle()).not_judged
        assert PLAY_NOT_JUDGED not in self.repeated(0, 0).not_judged


class TestWhatASweepCannotShow:
    def test_without_a_reading_at_rest_the_base_is_not_known(self):
        found = sweep(on_the_middle(SPEEDS[2:]), rpm=SPEEDS[2:])
        assert REST_NOT_READ in found.not_judged
        assert REST_NOT_READ not in sweep(on_the_middle()).not_judged

    def test_without_a_reading_at_full_advance_its_speed_is_named(self):
        found = sweep(on_the_middle(SPEEDS[:5]), rpm=SPEEDS[:5])
        assert full_not_read(4500) in found.not_judged


class TestSweepInput:
    @pytest.mark.parametrize(
        ("readings", "message"),
        [
            ([], "the sweep has no reading"),
            ([(900,)], "^a reading of a sweep is a speed, an advance and, if known, rising or falling$"),
            ([(900, 10, "rising", 3)], "a reading of a sweep is a speed, an advance and, if known, rising or falling"),
            ([(900, 10, "sideways")], "a sweep is rising or falling, not 'sideways'"),
            ([(-900, 10)], "a speed of the sweep must be above 0 rpm, not -900"),
            ([(0, 10)], "a speed of the sweep must be above 0 rpm, not 0"),
            ([(90_000, 10)], "a speed of the sweep must be 30000 rpm or less, not 90000"),
            ([(900, math.nan)], "an advance of the sweep must be a finite number"),
            ([(900, 200)], "an advance of the sweep must be 180 degrees or less, not 200"),
        ],
    )
    def test_what_is_no_reading_is_refused(self, readings, message):
        with pytest.raises(TimingError, match=f"^{message}"):
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
            ({"least_speeds": 1}, "the limit least_speeds must be 2 or more, not 1"),
            ({"beyond_deg": -1}, "the limit beyond_deg must be 0 or more"),
            ({"rest_share": 0.96}, "rest_share must be below full_share"),
            ({"full_share": 1.1}, "rest_share must be below full_share"),
        ],
    )
    def test_limits_that_mean_nothing_are_refused(self, limits, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            SweepLimits(**limits)

    def test_a_band_without_advance_judges_everything_at_rest(self):
        flat = FactoryBand(AdvanceCurve([500], [0]), AdvanceCurve([500], [1]))
        found = compare_sweep([(n, 0.5) for n in SPEEDS], flat)
        assert found.kinds == {WearKind.WITHIN_BAND}
        still = FactoryBand(AdvanceCurve([500], [0]), AdvanceCurve([500], [0]))
        found = compare_sweep([(n, 0) for n in SPEEDS], still)
        assert found.kinds == {WearKind.WITHIN_BAND}
        assert full_not_read(500) in found.not_judged
        assert REST_NOT_READ not in found.not_judged

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
