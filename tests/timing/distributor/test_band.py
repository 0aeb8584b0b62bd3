"""The factory's band of advance, from its table in distributor figures."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import make_interp_spline

from timing.curve import AdvanceCurve
from timing.distributor import DistributorError, FactoryBand, factory_band
from timing.errors import TimingError

# The factory's table worked through in handbook section 4, in distributor rpm and degrees.
TABLE = [(400, 0, 0.5), (600, 1, 3), (900, 5, 7), (1500, 8.5, 10.5), (2250, 11, 13)]
BAND = factory_band(TABLE)
MIDDLE = BAND.middle


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
        assert BAND.outside(degrees, rpm=rpm) == pytest.approx(expected, abs=1e-8), "scipy, linear spline"

    @pytest.mark.parametrize(
        ("rpm", "degrees", "outside"), [(1200, 6, 0), (1200, 6.1, 0.1), (1200, 2, 0), (1200, 1.5, -0.5), (100, 1, 0)]
    )
    def test_the_edges_belong_to_the_band(self, rpm, degrees, outside):
        assert BAND.outside(degrees, rpm=rpm) == pytest.approx(outside), "handbook 4: 2 to 6 at 1200, 0 to 1 below 800"

    def test_lists_give_arrays_and_numbers_give_numbers(self):
        assert BAND.outside([7, 9], rpm=[1200, 1800]).tolist() == [1.0, -1.0]
        assert isinstance(BAND.outside(7, rpm=1200), float)

    def test_a_band_is_a_value(self):
        assert factory_band(TABLE) == BAND
        assert hash(BAND) == hash(factory_band(TABLE))
        with pytest.raises(dataclasses.FrozenInstanceError):
            BAND.lower = BAND.upper

    @pytest.mark.parametrize(
        ("rows", "message"),
        [
            ([], "the factory's table has no row"),
            ([(400, 0)], "each row of the factory's table needs a speed, a lowest and a highest"),
            ([(400, 0, 1), (400, 1, 2)], "the speeds of the table must rise, but 400 rpm comes after 400 rpm"),
            ([(600, 0, 1), (400, 1, 2)], "the speeds of the table must rise, but 400 rpm comes after 600 rpm"),
            ([(400, 2, 1)], "at 400 distributor rpm the lowest advance, 2°, is above the highest, 1°"),
            ([(-400, 0, 1)], "a distributor speed must be 0 rpm or more, not -400"),
            ([(400, 0, math.nan)], "a figure of the factory's table must be a finite number"),
        ],
    )
    def test_a_table_that_makes_no_band_is_refused(self, rows, message):
        with pytest.raises(TimingError, match=f"^{message}"):
            factory_band(rows)

    def test_what_is_no_advance_or_no_speed_is_neither_inside_nor_outside(self):
        with pytest.raises(TimingError, match=r"^advance must be a finite number"):
            BAND.outside(float("nan"), rpm=1200)
        with pytest.raises(TimingError, match=r"^engine speed must be 0 rpm or more, not -1"):
            BAND.outside(5, rpm=-1)

    def test_a_band_may_have_no_width(self):
        assert factory_band([(400, 0, 0), (900, 5, 5)]).upper == factory_band([(400, 0, 0), (900, 5, 5)]).lower
        assert FactoryBand(MIDDLE, MIDDLE).outside([MIDDLE.advance(1200), 0], rpm=[1200, 1200]).tolist() == [
            0,
            -MIDDLE.advance(1200),
        ]

    def test_curves_the_wrong_way_round_are_refused(self):
        with pytest.raises(DistributorError, match=r"^the lowest advance is 2° above the highest at 1500 rpm"):
            FactoryBand(AdvanceCurve([1000, 1500], [0, 6]), AdvanceCurve([1000, 2000], [1, 7]))

    @pytest.mark.parametrize("strokes", [0, 3, 4.5])
    def test_other_strokes_are_refused(self, strokes):
        with pytest.raises(TimingError):
            factory_band(TABLE, strokes=strokes)
