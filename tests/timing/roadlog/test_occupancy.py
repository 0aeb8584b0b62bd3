"""Road logs: time in cells against numpy's histogram, and what is dropped or refused."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.roadlog.driven import GRID, LOG, NAMES, WITHOUT_ADVANCE, expected, slowly
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.roadlog import Grid, RoadLogError, RoadLogSettings, commanded_advance, occupancy
from timing.surface import TotalAdvance
from timing.vacuum import VacuumRamp


class TestOccupancy:
    def test_the_worked_log_has_the_tabled_seconds(self):
        assert occupancy(GRID, **LOG).seconds == pytest.approx(expected("seconds")), "handbook 9, roadlog_expected.csv"
        assert occupancy(GRID, **LOG).total_s == pytest.approx(9.0), "handbook 9"
        assert occupancy(GRID, **LOG).grid == GRID

    def test_the_worked_log_has_the_tabled_mean_advance(self):
        mean = occupancy(GRID, **LOG).mean_advance
        assert mean.filled(0.0) == pytest.approx(expected("mean_advance")), "handbook 9, roadlog_expected.csv"
        assert mean.mask.tolist() == (expected("seconds") == 0).tolist(), "no figure where it was never driven"

    def test_a_log_without_advance_has_no_mean(self):
        assert occupancy(GRID, **WITHOUT_ADVANCE).mean_advance is None

    @given(st.integers(0, 2**32 - 1), st.integers(1, 400), st.sampled_from([0.0, 0.5, -15.0]))
    def test_time_in_cells_is_that_of_a_histogram(self, seed, samples, lowest_vacuum):
        # numpy.histogram2d with the cells' edges
        rng = np.random.default_rng(seed)
        t_s = np.cumsum(rng.uniform(0, 0.5, samples))
        rpm = rng.integers(400, 6000, samples) / rng.choice([1.0, 3.0]) + 400
        vacuum = rng.uniform(-20, 80, samples).round(rng.integers(0, 3))
        grid = Grid(rpm=np.unique(rng.integers(0, 60, 8) * 100), vacuum=lowest_vacuum + np.arange(0, 80, 15))
        across, up = grid.edges()
        held = np.append(np.diff(t_s), 0.0)
        edges = [[-np.inf, *up, np.inf], [-np.inf, *across, np.inf]]
        counted = np.histogram2d(vacuum, rpm, bins=edges, weights=held)[0]
        assert occupancy(grid, t_s, rpm=rpm, vacuum=vacuum).seconds == pytest.approx(counted, abs=1e-9)

    def test_more_nodes_than_are_counted_one_by_one_give_the_same(self):
        rng = np.random.default_rng(3)
        rpm, vacuum = rng.uniform(400, 8000, 5000), rng.uniform(0, 80, 5000)
        grid = Grid(rpm=np.arange(0, 8000, 100), vacuum=np.arange(0, 80, 1))
        across, up = grid.edges()
        counted = np.histogram2d(vacuum[:-1], rpm[:-1], bins=[[-np.inf, *up, np.inf], [-np.inf, *across, np.inf]])[0]
        assert occupancy(grid, np.arange(5000), rpm=rpm, vacuum=vacuum).seconds.tolist() == counted.tolist()

    def test_speeds_too_high_for_short_figures_fall_into_the_last_cell(self):
        assert slowly([40_000.0, 40_000.0]).seconds[1, 3] == 1.0

    def test_a_log_longer_than_one_run_is_counted_to_its_end(self):
        rpm = np.tile([1000.0, 2000.0, 3000.0], 70_000)
        seconds = occupancy(GRID, np.arange(rpm.size), rpm=rpm, vacuum=np.zeros(rpm.size), advance=rpm).seconds
        assert seconds[0].tolist() == [70_000, 70_000, 69_999, 0], "the last sample counts for nothing"

    def test_what_is_dropped_of_a_log_longer_than_one_run_is_summed_to_its_end(self):
        rpm = np.tile([1000.0, 300.0, 3000.0], 70_000)
        dropped = occupancy(
            GRID, np.arange(rpm.size), rpm=rpm, vacuum=np.zeros(rpm.size), leave_out=rpm == 3000.0
        ).dropped
        assert (dropped.slow_samples, dropped.slow_s) == (70_000, 70_000.0)
        assert (dropped.left_out_samples, dropped.left_out_s) == (70_000, 69_999.0), "the last counts for nothing"

    @pytest.mark.parametrize(
        ("rpm", "vacuum", "cell"),
        [
            (1500, 10, (1, 1)),
            (math.nextafter(1500, 0), math.nextafter(10, 0), (0, 0)),
            (450, -30, (0, 0)),
            (9000, 95, (3, 3)),
        ],
    )
    def test_an_edge_belongs_to_the_higher_node_and_the_outer_cells_are_open(self, rpm, vacuum, cell):
        row, column = GRID.cells(rpm=rpm, vacuum=vacuum)
        assert (int(row), int(column)) == cell, "handbook 9: left edge included"
        assert occupancy(GRID, [0, 1], rpm=[rpm, rpm], vacuum=[vacuum, vacuum]).seconds[cell] == 1.0

    def test_cells_of_several_points_and_of_none(self):
        rows_, columns = GRID.cells(rpm=[1000, 4000], vacuum=[60, 0])
        assert rows_.tolist() == [3, 0]
        assert columns.tolist() == [0, 3]
        nothing = GRID.cells(rpm=[], vacuum=[])
        for found in (rows_, columns, *nothing):
            assert found.dtype == np.intp, "fit to be an index"
        assert [found.size for found in nothing] == [0, 0]

    def test_a_gap_counts_for_the_longest_gap_and_the_rest_is_reported(self):
        found = occupancy(GRID, [0, 10, 11], rpm=[2000] * 3, vacuum=[0] * 3)
        assert found.total_s == 3.0
        assert found.dropped.gap_s == 8.0
        assert occupancy(GRID, **LOG).dropped.gap_s == pytest.approx(4.0), "6 s between two samples of the worked log"
        assert (
            occupancy(GRID, [0, 10], rpm=[2000] * 2, vacuum=[0] * 2, settings=RoadLogSettings(longest_gap_s=20)).total_s
            == 10.0
        )

    def test_slow_samples_are_dropped_and_reported(self):
        found = slowly([2000, 399, 400, 2000])
        assert found.total_s == 2.0
        assert (found.dropped.slow_samples, found.dropped.slow_s) == (1, 1.0)
        assert slowly([2000, 399, 2000], settings=RoadLogSettings(lowest_rpm=300)).dropped.slow_samples == 0

    def test_samples_with_the_ignition_cut_are_dropped_and_reported(self):
        found = slowly([2000, 300, 2000, 2000], leave_out=[False, True, True, False])
        assert found.total_s == 1.0
        assert found.dropped.left_out_samples == 2
        assert found.dropped.left_out_s == 2.0
        assert found.dropped.slow_samples == 0, "dropped once, for the reason that was given"
        assert found.dropped.total_s == 2.0

    def test_what_is_dropped_counts_neither_in_the_time_nor_in_the_mean(self):
        found = occupancy(
            GRID,
            [0, 1, 2],
            rpm=[2000, 2000, 2000],
            vacuum=[0] * 3,
            advance=[10, 30, 30],
            leave_out=[False, True, False],
        )
        assert found.mean_advance[0, 1] == 10.0

    def test_time_and_what_was_dropped_are_the_whole_log(self):
        found = occupancy(GRID, [0, 1, 2, 9, 10], rpm=[2000, 300, 2000, 2000, 2000], vacuum=[0] * 5)
        assert found.total_s + found.dropped.total_s == pytest.approx(10.0)

    def test_a_cell_is_driven_from_two_seconds_on(self):
        driven = slowly([1000] * 3 + [2000] * 2).driven()
        assert driven[0].tolist() == [False] * 4, "10 kPa lies in the second row"
        assert driven[1].tolist() == [True, False, False, False], "3 s at 1000 rpm, 1 s at 2000"
        assert slowly([1000] * 2 + [2000] * 2).driven()[1].tolist() == [True, False, False, False], "2 s is driven"
        assert slowly([1000] * 3).driven(RoadLogSettings(quiet_s=2.5)).any().item() is False

    def test_one_sample_is_a_log_of_no_time(self):
        assert occupancy(GRID, [5.0], rpm=[2000], vacuum=[0], advance=[10]).total_s == 0.0

    def test_two_samples_at_one_moment_are_no_fault(self):
        assert occupancy(GRID, [0, 0, 1], rpm=[2000] * 3, vacuum=[0] * 3).total_s == 1.0

    def test_a_log_is_not_written_into(self):
        t_s, rpm = np.array([0.0, 5.0, 6.0]), np.array([300.0, 2000.0, 2000.0])
        occupancy(GRID, t_s, rpm=rpm, vacuum=np.zeros(3))
        assert t_s.tolist() == [0.0, 5.0, 6.0]
        assert rpm.tolist() == [300.0, 2000.0, 2000.0]

    def test_an_occupancy_is_a_value_that_cannot_be_written_into(self):
        assert occupancy(GRID, **LOG) == occupancy(GRID, **LOG)
        assert hash(occupancy(GRID, **LOG)) == hash(occupancy(GRID, **LOG))
        assert occupancy(GRID, **LOG) != occupancy(GRID, **WITHOUT_ADVANCE)
        with pytest.raises(ValueError, match=r"^assignment destination is read-only"):
            occupancy(GRID, **LOG).seconds[0, 0] = 1.0

    @pytest.mark.parametrize(
        ("columns", "words"),
        [
            (([], [], []), "the log holds no samples"),
            (([0, 1], [2000], [0, 0]), "the log has 2 samples of the time but 1 of the speed"),
            (([0, 1], [2000] * 2, [0]), "the log has 2 samples of the time but 1 of the vacuum"),
            (([0, 1], [2000] * 2, [0] * 2, [10]), "the log has 2 samples of the time but 1 of the advance"),
            (([0, 2, 1], [2000] * 3, [0] * 3), "the log's time runs backwards: 1 s comes after 2 s"),
            (([0, math.nan], [2000] * 2, [0] * 2), "the time must be a finite number"),
            (([0, math.inf], [2000] * 2, [0] * 2), "the time must be a finite number"),
            (([math.inf] * 2, [2000] * 2, [0] * 2), "the time must be a finite number"),
            ((np.array([0.0, math.nan]), [2000] * 2, [0] * 2), "the time must be a finite number"),
            ((np.array([math.inf] * 2), [2000] * 2, [0] * 2), "the time must be a finite number"),
            ((np.array([math.nan]), [2000], [0]), "the time must be a finite number"),
            (([0, 1], np.array([2000, math.nan]), [0] * 2), "the speed must be a finite number"),
            (([0, 1], np.array([2000, math.inf]), [0] * 2), "the speed must be a finite number"),
            (([0, 1], [2000, -1], [0] * 2), "the speed must be 0 rpm or more, not -1"),
            (([0, 1], [2000] * 2, np.array([0, math.nan])), "the vacuum must be a finite number"),
            (([0, 1], [2000] * 2, np.array([-math.inf, 0])), "the vacuum must be a finite number"),
            (([0, 1], [2000] * 2, [0] * 2, np.array([0, math.nan])), "the advance must be a finite number"),
            (([[0, 1]], [[2000] * 2], [[0] * 2]), "the time must be one figure for each sample of the log"),
            ((["a"], [2000], [0]), "the time must be a number"),
        ],
    )
    def test_a_log_that_cannot_be_is_refused_with_the_figures(self, columns, words):
        with pytest.raises(TimingError, match=f"^{words}"):
            occupancy(GRID, **dict(zip(NAMES, columns, strict=False)))

    @pytest.mark.parametrize("flags", [[0, 1], [True], "yes"])
    def test_what_is_left_out_is_a_yes_or_a_no_for_each_sample(self, flags):
        with pytest.raises(RoadLogError, match=r"^what is left out must be a yes or a no for each sample"):
            occupancy(GRID, [0, 1], rpm=[2000] * 2, vacuum=[0] * 2, leave_out=flags)

    @pytest.mark.parametrize(
        ("rpm", "vacuum", "words"),
        [
            ([], [0], "the speeds of a map must be a list of at least one figure"),
            ([1000, 1000], [0], "the speeds of a map must rise, but 1000 rpm comes after 1000 rpm"),
            ([1000], [20, 0], "the vacuum nodes of a map must rise, but 0 kPa comes after 20 kPa"),
            ([-1], [0], "the speed of a node must be 0 rpm or more, not -1"),
        ],
    )
    def test_nodes_that_do_not_rise_are_refused(self, rpm, vacuum, words):
        with pytest.raises(TimingError, match=f"^{words}"):
            Grid(rpm=rpm, vacuum=vacuum)


class TestCommandedAdvance:
    SURFACE = TotalAdvance(8, AdvanceCurve([1000, 3000], [0, 20]), VacuumRamp(10, 40, 14))

    def test_the_map_is_read_along_the_log(self):
        # base 8, half the curve, a third of the capsule: by hand
        assert commanded_advance(self.SURFACE, rpm=[1000, 2000], vacuum=[0, 20]).tolist() == pytest.approx(
            [8, 18 + 14 / 3]
        )

    def test_speeds_and_vacua_must_go_together(self):
        with pytest.raises(RoadLogError, match=r"^2 speeds and 1 vacuum readings do not go together"):
            commanded_advance(self.SURFACE, rpm=[1000, 2000], vacuum=[0])


class TestSettings:
    def test_the_usual_settings_are_those_of_the_handbook(self):
        usual = RoadLogSettings()
        assert (usual.lowest_rpm, usual.window_from_s, usual.window_to_s, usual.quiet_s) == (400, 2.0, 0.5, 2.0)
        assert (usual.neighbour_limit_deg, usual.give_back_deg, usual.longest_gap_s) == (6.0, 1.0, 2.0)

    @pytest.mark.parametrize(
        ("changed", "words"),
        [
            ({"longest_gap_s": 0}, "the longest gap kept must be above 0 s, not 0"),
            ({"lowest_rpm": -1}, "the lowest speed kept must be 0 rpm or more, not -1"),
            ({"window_from_s": 0}, "the beginning of a note's window must be above 0 s, not 0"),
            ({"window_to_s": -1}, "the end of a note's window must be 0 s or more, not -1"),
            ({"quiet_s": -1}, "the time that makes a cell driven must be 0 s or more, not -1"),
            ({"least_score": 0}, "the least score that counts must be above 0, not 0"),
            ({"degrees_per_score": 0}, "the retard for one point of score must be above 0 degrees, not 0"),
            ({"retard_step_deg": 0}, "the step of a proposed retard must be above 0 degrees, not 0"),
            ({"most_retard_deg": 0}, "the most retard from one drive must be above 0 degrees, not 0"),
            ({"neighbour_limit_deg": 0}, "the largest step between neighbouring cells must be above 0 degrees, not 0"),
            ({"give_back_deg": -1}, "the most advance given back must be 0 degrees or more, not -1"),
            ({"heaviest": 0}, "the highest severity must be above 0, not 0"),
            (
                {"window_to_s": 2.0},
                "a note's window must begin before it ends, not 2 s before the note with its end 2 s before it",
            ),
        ],
    )
    def test_settings_that_cannot_be_are_refused(self, changed, words):
        with pytest.raises(TimingError, match=f"^{words}"):
            RoadLogSettings(**changed)
