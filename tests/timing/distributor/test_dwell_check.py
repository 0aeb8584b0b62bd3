"""Dwell of the contact breaker as found, a witness of the shaft's bushes."""

import math

import pytest

from timing.distributor import (
    compare_dwell,
)
from timing.errors import TimingError


class TestDwell:
    @pytest.mark.parametrize(("fast", "steady"), [(57, True), (51, True), (57.1, False), (50.9, False)])
    def test_three_degrees_of_change_are_the_limit_of_a_sound_shaft(self, fast, steady):
        found = compare_dwell(54, fast)
        assert found.steady is steady, "handbook 11, item 15"
        assert found.change_dist_deg == pytest.approx(fast - 54)
        assert ("worn shaft" in found.sentences[0]) is not steady
        assert found.as_data is None

    @pytest.mark.parametrize(
        ("idle", "fits", "words"),
        [(57, True, None), (63, True, None), (56, False, "Close the points gap"), (64, False, "Open the points gap")],
    )
    def test_three_degrees_off_the_data_are_the_limit(self, idle, fits, words):
        found = compare_dwell(idle, idle, data_dist_deg=60)
        assert found.as_data is fits, "handbook 11, item 15"
        assert fits or words in found.sentences[0], "a smaller gap keeps the points closed longer"

    @pytest.mark.parametrize(("idle", "fast"), [(54.3, 57.3), (50.1, 47.1), (0.1 + 0.2, 3.3)])
    def test_exactly_three_apart_is_within_whatever_the_last_bit_says(self, idle, fast):
        assert compare_dwell(idle, fast).steady
        assert compare_dwell(idle, idle, data_dist_deg=fast).as_data

    def test_limits_are_settings(self):
        found = compare_dwell(50, 56, 60, off_data_dist_deg=10, largest_change_dist_deg=6)
        assert (found.as_data, found.steady) == (True, True)

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
        with pytest.raises(TimingError, match=f"^{message}"):
            compare_dwell(*arguments)

    def test_a_limit_below_nothing_is_refused(self):
        with pytest.raises(TimingError, match=r"^the largest change of dwell must be 0 degrees or more, not -1"):
            compare_dwell(50, 50, largest_change_dist_deg=-1)
        with pytest.raises(TimingError, match=r"^the largest distance from the data must be 0 degrees or more, not -1"):
            compare_dwell(50, 50, 50, off_data_dist_deg=-1)
