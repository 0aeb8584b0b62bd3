"""Notes of pinking: placed by the window before them, shared out as scipy's bilinear look-up weighs."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from tests.timing.roadlog.driven import GRID, NOTES, expected
from timing.errors import TimingError
from timing.roadlog import Grid, RoadLogError, RoadLogSettings, place_notes, spread_notes


class TestPlacing:
    def test_a_note_belongs_to_the_window_before_it(self):
        # one sample a second, speed rising by 100: from 8.0 to 9.5 s it was 1800 for 1 s and 1900 for half: by hand
        t_s = np.arange(20.0)
        placed = place_notes(10.0, t_s, rpm=1000 + 100 * t_s, vacuum=2 * t_s)
        assert placed.rpm == pytest.approx((1800 + 0.5 * 1900) / 1.5)
        assert placed.vacuum == pytest.approx((16 + 0.5 * 18) / 1.5)
        assert placed.covered_s == pytest.approx(1.5)
        assert isinstance(placed.rpm, float)

    def test_the_window_begins_in_the_middle_of_a_sample(self):
        # from 8.5 to 10.0 s: half a second of 1800 and a whole one of 1900: by hand
        t_s = np.arange(20.0)
        assert place_notes(10.5, t_s, rpm=1000 + 100 * t_s, vacuum=2 * t_s).rpm == pytest.approx(
            (0.5 * 1800 + 1900) / 1.5
        )

    def test_a_dense_log_gives_the_plain_mean_of_the_window(self):
        t_s = np.linspace(0, 20, 20_001)
        rpm = 2000 + 500 * np.sin(t_s)
        window = (t_s >= 8.0) & (t_s < 9.5)
        assert place_notes(10.0, t_s, rpm=rpm, vacuum=t_s).rpm == pytest.approx(rpm[window].mean(), abs=0.2)

    def test_several_notes_are_placed_as_each_alone(self):
        t_s = np.arange(20.0)
        log = {"t_s": t_s, "rpm": 1000 + 100 * t_s, "vacuum": 2 * t_s}
        placed = place_notes([10.0, 15.0], **log)
        assert placed.rpm.tolist() == [place_notes(10.0, **log).rpm, place_notes(15.0, **log).rpm]

    def test_the_window_is_a_setting(self):
        t_s = np.arange(20.0)
        settings = RoadLogSettings(window_from_s=3.0, window_to_s=2.0)
        assert place_notes(10.0, t_s, rpm=1000 + 100 * t_s, vacuum=t_s, settings=settings).rpm == pytest.approx(1700)

    def test_a_half_covered_window_says_so(self):
        placed = place_notes(3.0, [2.0, 5.0, 6.0], rpm=[1500, 2000, 2000], vacuum=[10, 20, 20])
        assert (placed.rpm, placed.vacuum, placed.covered_s) == (1500.0, 10.0, 0.5)

    def test_dropped_samples_do_not_place_a_note(self):
        speeds = np.where(np.arange(20) == 8, 100.0, 2000.0)
        log = {"t_s": np.arange(20.0), "rpm": speeds, "vacuum": np.zeros(20)}
        assert place_notes(10.0, **log).rpm == pytest.approx(2000.0), "slow at 8 s"
        left_out = np.arange(20) == 9
        log["rpm"] = 1000.0 + 100 * np.arange(20)
        assert place_notes(10.0, **log, leave_out=left_out).rpm == pytest.approx(1800.0)

    @pytest.mark.parametrize("moment", [0.4, 0.5, 30.0])
    def test_a_note_outside_the_log_cannot_be_placed(self, moment):
        t_s = np.arange(20.0)
        with pytest.raises(RoadLogError, match=f"the note at {moment:g} s cannot be placed"):
            place_notes(moment, t_s, rpm=1000 + t_s, vacuum=t_s)

    def test_a_note_in_a_gap_names_its_window(self):
        with pytest.raises(RoadLogError, match=r"^the log has nothing between 8 s and 9\.5 s: the note at 10 s"):
            place_notes(10.0, [0, 1, 12], rpm=[2000] * 3, vacuum=[0] * 3)

    def test_a_log_that_cannot_be_read_is_refused_wherever_the_note_is(self):
        with pytest.raises(RoadLogError, match=r"^the log's time runs backwards"):
            place_notes(3.0, [0, 1, 2, 3, 4, 9, 8], rpm=[2000] * 7, vacuum=[0] * 7)

    def test_a_note_without_a_time_is_refused(self):
        with pytest.raises(TimingError, match=r"^the time of a note must be a finite number"):
            place_notes(math.nan, [0, 1], rpm=[2000] * 2, vacuum=[0] * 2)


class TestScores:
    def test_the_worked_notes_have_the_tabled_scores(self):
        scores = spread_notes(GRID, **NOTES)
        assert scores == pytest.approx(expected("score")), "handbook 9, roadlog_expected.csv"
        assert scores.sum() == pytest.approx(6.0), "handbook 9"

    @given(st.lists(st.tuples(st.floats(0, 8000), st.floats(-50, 100), st.floats(0.1, 3)), min_size=1, max_size=12))
    def test_the_scores_add_up_to_the_severities(self, notes):
        rpm, vacuum, severity = zip(*notes, strict=True)
        scores = spread_notes(GRID, rpm=rpm, vacuum=vacuum, severity=severity)
        assert scores.sum() == pytest.approx(sum(severity))
        assert scores.min() >= 0

    @given(st.floats(1000, 4000), st.floats(0, 60))
    def test_shares_are_the_weights_of_a_bilinear_look_up(self, rpm, vacuum):
        # scipy's interpolator, with a table that is 1 at one node and 0 elsewhere, gives that node's weight
        scores = spread_notes(GRID, rpm=rpm, vacuum=vacuum, severity=1.0)
        for cell in np.ndindex(GRID.shape):
            table = np.zeros(GRID.shape)
            table[cell] = 1.0
            weight = RegularGridInterpolator((GRID.vacuum, GRID.rpm), table)([[vacuum, rpm]])[0]
            assert scores[cell] == pytest.approx(weight, abs=1e-12)

    def test_a_note_on_a_node_is_all_there(self):
        scores = spread_notes(GRID, rpm=4000, vacuum=60, severity=3)
        assert scores[3, 3] == 3.0
        assert scores.sum() == 3.0

    def test_a_map_with_one_row_or_one_column_shares_along_the_other(self):
        assert spread_notes(Grid(rpm=[1000, 2000], vacuum=[0]), rpm=1250, vacuum=30, severity=2).tolist() == [
            [1.5, 0.5]
        ]
        assert spread_notes(Grid(rpm=[1000], vacuum=[0, 20]), rpm=3000, vacuum=5, severity=2).tolist() == [[1.5], [0.5]]

    @pytest.mark.parametrize(
        ("note", "words"),
        [
            ((2000, 10, 0), "the severity must be above 0, not 0"),
            ((2000, 10, 3.5), "the severity must be 3 or less, not 3.5"),
            ((-1, 10, 1), "engine speed must be 0 rpm or more, not -1"),
            (([2000, 2100], [10], [1, 1]), "2 speeds and 1 vacuum readings do not go together"),
            (([2000], [10], [1, 1]), "2 figures cannot be shared out from 1 points"),
        ],
    )
    def test_a_note_that_cannot_be_is_refused(self, note, words):
        with pytest.raises(TimingError, match=f"^{words}"):
            spread_notes(GRID, **dict(zip(NOTES, note, strict=True)))

    def test_the_heaviest_severity_is_a_setting(self):
        assert spread_notes(GRID, rpm=2000, vacuum=20, severity=5, settings=RoadLogSettings(heaviest=5)).sum() == 5.0
