"""Road logs: time in cells against numpy's histogram, notes placed and shared out, and the retard they speak for."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from tests.timing.published import rows
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.roadlog import (
    CellState,
    Grid,
    RoadLogError,
    RoadLogSettings,
    commanded_advance,
    may_give_back,
    occupancy,
    place_notes,
    propose,
    proposed_retard,
    spread_notes,
)
from timing.surface import TotalAdvance
from timing.vacuum import VacuumRamp

GRID = Grid([1000, 2000, 3000, 4000], [0, 20, 40, 60])
LOG = [[row[name] for row in rows("roadlog_samples.csv")] for name in ("t_s", "rpm", "vacuum_kpa", "advance_deg")]
EXPECTED = rows("roadlog_expected.csv")
# The handbook's notes: speed, vacuum, severity.
NOTES = ([2400, 2600, 2300, 4500], [5, 3, 12, 2], [2, 2, 1, 1])


def expected(quantity):
    """The tabled figures as a table over GRID, noughts where none is given."""
    table = np.zeros(GRID.shape)
    for row in EXPECTED:
        if row["quantity"] == quantity:
            table[GRID.vacuum.index(row["vacuum_node"]), GRID.rpm.index(row["rpm_node"])] = row["value"]
    return table


def slowly(rpm, vacuum=10.0, **settings):
    """A log of one sample a second."""
    return occupancy(GRID, np.arange(len(rpm)), rpm, np.broadcast_to(vacuum, len(rpm)), **settings)


class TestOccupancy:
    def test_the_worked_log_has_the_tabled_seconds(self):
        assert occupancy(GRID, *LOG).seconds == pytest.approx(expected("seconds")), "handbook 9, roadlog_expected.csv"
        assert occupancy(GRID, *LOG).total_s == pytest.approx(9.0), "handbook 9"

    def test_the_worked_log_has_the_tabled_mean_advance(self):
        mean = occupancy(GRID, *LOG).mean_advance
        assert mean.filled(0.0) == pytest.approx(expected("mean_advance")), "handbook 9, roadlog_expected.csv"
        assert mean.mask.tolist() == (expected("seconds") == 0).tolist(), "no figure where it was never driven"

    def test_a_log_without_advance_has_no_mean(self):
        assert occupancy(GRID, *LOG[:3]).mean_advance is None

    @given(st.integers(0, 2**32 - 1), st.integers(1, 400), st.sampled_from([0.0, 0.5, -15.0]))
    def test_time_in_cells_is_that_of_a_histogram(self, seed, samples, lowest_vacuum):
        # numpy.histogram2d with the cells' edges
        rng = np.random.default_rng(seed)
        t_s = np.cumsum(rng.uniform(0, 0.5, samples))
        rpm = rng.integers(400, 6000, samples) / rng.choice([1.0, 3.0]) + 400
        vacuum = rng.uniform(-20, 80, samples).round(rng.integers(0, 3))
        grid = Grid(np.unique(rng.integers(0, 60, 8) * 100), lowest_vacuum + np.arange(0, 80, 15))
        across, up = grid.edges()
        held = np.append(np.diff(t_s), 0.0)
        edges = [[-np.inf, *up, np.inf], [-np.inf, *across, np.inf]]
        counted = np.histogram2d(vacuum, rpm, bins=edges, weights=held)[0]
        assert occupancy(grid, t_s, rpm, vacuum).seconds == pytest.approx(counted, abs=1e-9)

    def test_more_nodes_than_are_counted_one_by_one_give_the_same(self):
        rng = np.random.default_rng(3)
        rpm, vacuum = rng.uniform(400, 8000, 5000), rng.uniform(0, 80, 5000)
        grid = Grid(np.arange(0, 8000, 100), np.arange(0, 80, 1))
        across, up = grid.edges()
        counted = np.histogram2d(vacuum[:-1], rpm[:-1], bins=[[-np.inf, *up, np.inf], [-np.inf, *across, np.inf]])[0]
        assert occupancy(grid, np.arange(5000), rpm, vacuum).seconds.tolist() == counted.tolist()

    def test_speeds_too_high_for_short_figures_fall_into_the_last_cell(self):
        assert slowly([40_000.0, 40_000.0]).seconds[1, 3] == 1.0

    def test_a_log_longer_than_one_run_is_counted_to_its_end(self):
        rpm = np.tile([1000.0, 2000.0, 3000.0], 70_000)
        seconds = occupancy(GRID, np.arange(rpm.size), rpm, np.zeros(rpm.size), rpm).seconds
        assert seconds[0].tolist() == [70_000, 70_000, 69_999, 0], "the last sample counts for nothing"

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
        row, column = GRID.cells(rpm, vacuum)
        assert (int(row), int(column)) == cell, "handbook 9: left edge included"
        assert occupancy(GRID, [0, 1], [rpm, rpm], [vacuum, vacuum]).seconds[cell] == 1.0

    def test_cells_of_several_points_and_of_none(self):
        rows_, columns = GRID.cells([1000, 4000], [60, 0])
        assert rows_.tolist() == [3, 0]
        assert columns.tolist() == [0, 3]
        assert GRID.cells([], [])[0].size == 0

    def test_a_gap_counts_for_the_longest_gap_and_the_rest_is_reported(self):
        found = occupancy(GRID, [0, 10, 11], [2000] * 3, [0] * 3)
        assert found.total_s == 3.0
        assert found.dropped.gap_s == 8.0
        assert occupancy(GRID, *LOG).dropped.gap_s == pytest.approx(4.0), "6 s between two samples of the worked log"
        assert occupancy(GRID, [0, 10], [2000] * 2, [0] * 2, settings=RoadLogSettings(longest_gap_s=20)).total_s == 10.0

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
        found = occupancy(GRID, [0, 1, 2], [2000, 2000, 2000], [0] * 3, [10, 30, 30], leave_out=[False, True, False])
        assert found.mean_advance[0, 1] == 10.0

    def test_time_and_what_was_dropped_are_the_whole_log(self):
        found = occupancy(GRID, [0, 1, 2, 9, 10], [2000, 300, 2000, 2000, 2000], [0] * 5)
        assert found.total_s + found.dropped.total_s == pytest.approx(10.0)

    def test_a_cell_is_driven_from_two_seconds_on(self):
        driven = slowly([1000] * 3 + [2000] * 2).driven()
        assert driven[0].tolist() == [False] * 4, "10 kPa lies in the second row"
        assert driven[1].tolist() == [True, False, False, False], "3 s at 1000 rpm, 1 s at 2000"
        assert slowly([1000] * 2 + [2000] * 2).driven()[1].tolist() == [True, False, False, False], "2 s is driven"
        assert slowly([1000] * 3).driven(RoadLogSettings(quiet_s=2.5)).any().item() is False

    def test_one_sample_is_a_log_of_no_time(self):
        assert occupancy(GRID, [5.0], [2000], [0], [10]).total_s == 0.0

    def test_two_samples_at_one_moment_are_no_fault(self):
        assert occupancy(GRID, [0, 0, 1], [2000] * 3, [0] * 3).total_s == 1.0

    def test_a_log_is_not_written_into(self):
        t_s, rpm = np.array([0.0, 5.0, 6.0]), np.array([300.0, 2000.0, 2000.0])
        occupancy(GRID, t_s, rpm, np.zeros(3))
        assert t_s.tolist() == [0.0, 5.0, 6.0]
        assert rpm.tolist() == [300.0, 2000.0, 2000.0]

    def test_an_occupancy_is_a_value_that_cannot_be_written_into(self):
        assert occupancy(GRID, *LOG) == occupancy(GRID, *LOG)
        assert hash(occupancy(GRID, *LOG)) == hash(occupancy(GRID, *LOG))
        assert occupancy(GRID, *LOG) != occupancy(GRID, *LOG[:3])
        with pytest.raises(ValueError, match="read-only"):
            occupancy(GRID, *LOG).seconds[0, 0] = 1.0

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
        with pytest.raises(TimingError, match=words):
            occupancy(GRID, *columns)

    @pytest.mark.parametrize("flags", [[0, 1], [True], "yes"])
    def test_what_is_left_out_is_a_yes_or_a_no_for_each_sample(self, flags):
        with pytest.raises(RoadLogError, match="a yes or a no for each sample"):
            occupancy(GRID, [0, 1], [2000] * 2, [0] * 2, leave_out=flags)

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
        with pytest.raises(TimingError, match=words):
            Grid(rpm, vacuum)


class TestCommandedAdvance:
    SURFACE = TotalAdvance(8, AdvanceCurve([1000, 3000], [0, 20]), VacuumRamp(10, 40, 14))

    def test_the_map_is_read_along_the_log(self):
        # base 8, half the curve, a third of the capsule: by hand
        assert commanded_advance(self.SURFACE, [1000, 2000], [0, 20]).tolist() == pytest.approx([8, 18 + 14 / 3])

    def test_speeds_and_vacua_must_go_together(self):
        with pytest.raises(RoadLogError, match="2 speeds and 1 vacuum readings do not go together"):
            commanded_advance(self.SURFACE, [1000, 2000], [0])


class TestPlacing:
    def test_a_note_belongs_to_the_window_before_it(self):
        # one sample a second, speed rising by 100: from 8.0 to 9.5 s it was 1800 for 1 s and 1900 for half: by hand
        t_s = np.arange(20.0)
        placed = place_notes(10.0, t_s, 1000 + 100 * t_s, 2 * t_s)
        assert placed.rpm == pytest.approx((1800 + 0.5 * 1900) / 1.5)
        assert placed.vacuum == pytest.approx((16 + 0.5 * 18) / 1.5)
        assert placed.covered_s == pytest.approx(1.5)
        assert isinstance(placed.rpm, float)

    def test_the_window_begins_in_the_middle_of_a_sample(self):
        # from 8.5 to 10.0 s: half a second of 1800 and a whole one of 1900: by hand
        t_s = np.arange(20.0)
        assert place_notes(10.5, t_s, 1000 + 100 * t_s, 2 * t_s).rpm == pytest.approx((0.5 * 1800 + 1900) / 1.5)

    def test_a_dense_log_gives_the_plain_mean_of_the_window(self):
        t_s = np.linspace(0, 20, 20_001)
        rpm = 2000 + 500 * np.sin(t_s)
        window = (t_s >= 8.0) & (t_s < 9.5)
        assert place_notes(10.0, t_s, rpm, t_s).rpm == pytest.approx(rpm[window].mean(), abs=0.2)

    def test_several_notes_are_placed_as_each_alone(self):
        t_s = np.arange(20.0)
        log = (t_s, 1000 + 100 * t_s, 2 * t_s)
        placed = place_notes([10.0, 15.0], *log)
        assert placed.rpm.tolist() == [place_notes(10.0, *log).rpm, place_notes(15.0, *log).rpm]

    def test_the_window_is_a_setting(self):
        t_s = np.arange(20.0)
        settings = RoadLogSettings(window_from_s=3.0, window_to_s=2.0)
        assert place_notes(10.0, t_s, 1000 + 100 * t_s, t_s, settings=settings).rpm == pytest.approx(1700)

    def test_a_half_covered_window_says_so(self):
        placed = place_notes(3.0, [2.0, 5.0, 6.0], [1500, 2000, 2000], [10, 20, 20])
        assert (placed.rpm, placed.vacuum, placed.covered_s) == (1500.0, 10.0, 0.5)

    def test_dropped_samples_do_not_place_a_note(self):
        log = (np.arange(20.0), np.where(np.arange(20) == 8, 100.0, 2000.0), np.zeros(20))
        assert place_notes(10.0, *log).rpm == pytest.approx(2000.0), "slow at 8 s"
        left_out = np.arange(20) == 9
        log = (np.arange(20.0), 1000.0 + 100 * np.arange(20), np.zeros(20))
        assert place_notes(10.0, *log, leave_out=left_out).rpm == pytest.approx(1800.0)

    @pytest.mark.parametrize("moment", [0.4, 0.5, 30.0])
    def test_a_note_outside_the_log_cannot_be_placed(self, moment):
        t_s = np.arange(20.0)
        with pytest.raises(RoadLogError, match=f"the note at {moment:g} s cannot be placed"):
            place_notes(moment, t_s, 1000 + t_s, t_s)

    def test_a_note_in_a_gap_names_its_window(self):
        with pytest.raises(RoadLogError, match=r"the log has nothing between 8 s and 9\.5 s: the note at 10 s"):
            place_notes(10.0, [0, 1, 12], [2000] * 3, [0] * 3)

    def test_a_log_that_cannot_be_read_is_refused_wherever_the_note_is(self):
        with pytest.raises(RoadLogError, match="runs backwards"):
            place_notes(3.0, [0, 1, 2, 3, 4, 9, 8], [2000] * 7, [0] * 7)

    def test_a_note_without_a_time_is_refused(self):
        with pytest.raises(TimingError, match="the time of a note must be a finite number"):
            place_notes(math.nan, [0, 1], [2000] * 2, [0] * 2)


class TestScores:
    def test_the_worked_notes_have_the_tabled_scores(self):
        scores = spread_notes(GRID, *NOTES)
        assert scores == pytest.approx(expected("score")), "handbook 9, roadlog_expected.csv"
        assert scores.sum() == pytest.approx(6.0), "handbook 9"

    @given(st.lists(st.tuples(st.floats(0, 8000), st.floats(-50, 100), st.floats(0.1, 3)), min_size=1, max_size=12))
    def test_the_scores_add_up_to_the_severities(self, notes):
        rpm, vacuum, severity = zip(*notes, strict=True)
        scores = spread_notes(GRID, rpm, vacuum, severity)
        assert scores.sum() == pytest.approx(sum(severity))
        assert scores.min() >= 0

    @given(st.floats(1000, 4000), st.floats(0, 60))
    def test_shares_are_the_weights_of_a_bilinear_look_up(self, rpm, vacuum):
        # scipy's interpolator, with a table that is 1 at one node and 0 elsewhere, gives that node's weight
        scores = spread_notes(GRID, rpm, vacuum, 1.0)
        for cell in np.ndindex(GRID.shape):
            table = np.zeros(GRID.shape)
            table[cell] = 1.0
            weight = RegularGridInterpolator((GRID.vacuum, GRID.rpm), table)([[vacuum, rpm]])[0]
            assert scores[cell] == pytest.approx(weight, abs=1e-12)

    def test_a_note_on_a_node_is_all_there(self):
        scores = spread_notes(GRID, 4000, 60, 3)
        assert scores[3, 3] == 3.0
        assert scores.sum() == 3.0

    def test_a_map_with_one_row_or_one_column_shares_along_the_other(self):
        assert spread_notes(Grid([1000, 2000], [0]), 1250, 30, 2).tolist() == [[1.5, 0.5]]
        assert spread_notes(Grid([1000], [0, 20]), 3000, 5, 2).tolist() == [[1.5], [0.5]]

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
        with pytest.raises(TimingError, match=words):
            spread_notes(GRID, *note)

    def test_the_heaviest_severity_is_a_setting(self):
        assert spread_notes(GRID, 2000, 20, 5, settings=RoadLogSettings(heaviest=5)).sum() == 5.0


class TestRetard:
    def test_the_worked_scores_ask_for_the_tabled_retard(self):
        assert proposed_retard(expected("score")) == pytest.approx(expected("retard")), "handbook 9"

    @pytest.mark.parametrize(
        ("score", "degrees"),
        [(0, 0), (0.2499, 0), (0.25, 0.5), (0.5, 0.5), (0.5 + 1e-12, 0.5), (0.51, 1), (3.5, 3.5), (3.51, 4), (99, 4)],
    )
    def test_a_score_is_rounded_up_to_half_degrees_and_held_at_four(self, score, degrees):
        assert proposed_retard(score) == degrees, "handbook 9: min(4, ceil(2 S)/2), nothing below 0.25"

    def test_every_figure_of_the_rule_is_a_setting(self):
        settings = RoadLogSettings(least_score=1, degrees_per_score=2, retard_step_deg=1, most_retard_deg=6)
        assert proposed_retard([0.9, 1.0, 1.1, 9], settings=settings).tolist() == [0, 2, 3, 6]

    def test_one_score_gives_one_figure(self):
        assert isinstance(proposed_retard(1.0), float)

    def test_a_negative_score_is_refused(self):
        with pytest.raises(TimingError, match="the score must be 0 or more, not -1"):
            proposed_retard(-1)


FLAT = np.full(GRID.shape, 20.0)
NONE = np.zeros(GRID.shape)


def noted(row, column, score):
    scores = np.zeros(GRID.shape)
    scores[row, column] = score
    return scores


class TestProposal:
    def test_a_flat_map_gets_what_its_notes_ask_for(self):
        proposal = propose(GRID, spread_notes(GRID, *NOTES), NONE, FLAT)
        assert proposal.retard_deg == pytest.approx(expected("retard")), "handbook 9"
        assert proposal.noted_deg.tolist() == proposal.retard_deg.tolist()
        assert proposal.scores == pytest.approx(expected("score"))

    def test_a_higher_neighbour_comes_down_to_six_degrees_above(self):
        # 20 and 24 lie 4 apart; 4 out of the lower one leaves 8, so the higher one loses 2: by hand
        before = FLAT + [[0, 4, 4, 4]] * 4
        proposal = propose(GRID, noted(0, 0, 4), NONE, before)
        assert proposal.retard_deg[0, 1] == pytest.approx(2.0)
        after = before - proposal.retard_deg
        assert after[0, 1] - after[0, 0] == pytest.approx(6.0)

    @pytest.mark.parametrize(
        ("row", "column", "neighbour"), [(0, 1, (0, 0)), (0, 0, (0, 1)), (1, 0, (0, 0)), (0, 0, (1, 0))]
    )
    def test_neighbours_on_every_side_follow(self, row, column, neighbour):
        before = FLAT.copy()
        before[neighbour] = 25.0
        proposal = propose(GRID, noted(row, column, 3), NONE, before)
        assert proposal.retard_deg[row, column] == 3.0
        assert proposal.retard_deg[neighbour] == pytest.approx(2.0), "25 - 17 is 8, and 6 may stay: by hand"

    def test_lowering_a_neighbour_can_ask_the_next_to_follow(self):
        # rising by 6 a cell: whatever the first loses all lose
        before = np.array([[10.0, 16, 22, 28]] * 4)
        proposal = propose(GRID, noted(0, 0, 3), NONE, before)
        assert proposal.retard_deg[0].tolist() == pytest.approx([3, 3, 3, 3])

    def test_a_step_that_was_there_before_may_stay_but_not_grow(self):
        before = FLAT.copy()
        before[:, 2:] = 30.0
        untouched = propose(GRID, NONE, NONE, before)
        assert untouched.retard_deg.max() == 0.0, "a note elsewhere, or none, is no reason to flatten a map"
        proposal = propose(GRID, noted(0, 1, 2), NONE, before)
        assert proposal.retard_deg[0, 2] == pytest.approx(2.0)

    @given(st.integers(0, 2**32 - 1))
    def test_a_proposal_only_retards_and_makes_no_step_worse(self, seed):
        rng = np.random.default_rng(seed)
        before = rng.uniform(5, 40, GRID.shape).round(1)
        scores = rng.uniform(0, 5, GRID.shape) * (rng.uniform(size=GRID.shape) < 0.3)
        proposal = propose(GRID, scores, NONE, before)
        after = before - proposal.retard_deg
        assert (proposal.retard_deg >= proposal.noted_deg).all()
        assert proposal.retard_deg.max(initial=0) <= 4.0
        for axis in (0, 1):
            allowed = np.maximum(6.0, np.abs(np.diff(before, axis=axis)))
            assert (np.abs(np.diff(after, axis=axis)) <= allowed + 1e-9).all()

    @given(st.integers(0, 2**32 - 1))
    def test_no_cell_is_lowered_without_need(self, seed):
        # giving back a little in any cell that was lowered beyond its notes breaks a step
        rng = np.random.default_rng(seed)
        before = rng.integers(10, 24, GRID.shape).astype(float)
        scores = np.where(rng.uniform(size=GRID.shape) < 0.3, 4.0, 0.0)
        proposal = propose(GRID, scores, NONE, before)
        after = before - proposal.retard_deg
        for cell in zip(*np.nonzero(proposal.retard_deg > proposal.noted_deg), strict=True):
            tried = after.copy()
            tried[cell] += 0.01
            worse = [
                np.abs(np.diff(tried, axis=axis)) > np.maximum(6.0, np.abs(np.diff(before, axis=axis))) + 1e-9
                for axis in (0, 1)
            ]
            assert worse[0].any() or worse[1].any()

    def test_a_cell_is_noted_quiet_or_not_driven_and_never_safe(self):
        seconds = NONE.copy()
        seconds[0, :3] = [2.0, 1.99, 5.0]
        proposal = propose(GRID, noted(0, 2, 0.1), seconds, FLAT)
        assert proposal.states[0] == (CellState.QUIET, CellState.NOT_DRIVEN, CellState.NOTED, CellState.NOT_DRIVEN)
        assert [str(state) for state in CellState] == ["noted", "driven, nothing noted", "not driven"]
        assert proposal.retard_deg[0, 2] == 0.0, "noted, but below the least score"

    def test_limits_are_settings(self):
        before = FLAT + [[0, 4, 4, 4]] * 4
        settings = RoadLogSettings(neighbour_limit_deg=8, quiet_s=1)
        proposal = propose(GRID, noted(0, 0, 4), np.ones(GRID.shape), before, settings=settings)
        assert proposal.retard_deg[0].tolist() == [4, 0, 0, 0]
        assert proposal.states[1][1] is CellState.QUIET

    def test_a_proposal_is_a_value(self):
        asked = (GRID, noted(0, 0, 1), NONE, FLAT)
        assert propose(*asked) == propose(*asked)
        assert hash(propose(*asked)) == hash(propose(*asked))

    @pytest.mark.parametrize(
        ("changed", "words"),
        [
            ({"scores": [[1]]}, "the scores must be 4 rows of vacuum and 4 columns of speed"),
            ({"seconds": [[1]]}, "the times must be 4 rows of vacuum and 4 columns of speed"),
            ({"advance": [[1]]}, "the advances must be 4 rows of vacuum and 4 columns of speed"),
            ({"scores": NONE - 1}, "the score must be 0 or more, not -1"),
            ({"seconds": NONE - 1}, "the time in a cell must be 0 s or more, not -1"),
            ({"advance": NONE + math.nan}, "the advance must be a finite number"),
        ],
    )
    def test_tables_that_do_not_fit_are_refused(self, changed, words):
        whole = {"scores": NONE, "seconds": NONE, "advance": FLAT} | changed
        with pytest.raises(TimingError, match=words):
            propose(GRID, **whole)


class TestGivingBack:
    def test_a_clean_driven_cell_gets_back_one_degree_at_most(self):
        taken = np.tile([3.0, 0.5, 3.0, 3.0], (4, 1))
        seconds = np.tile([2.0, 9.0, 1.9, 9.0], (4, 1))
        back = may_give_back(GRID, taken, noted(0, 3, 0.1), seconds)
        assert back[0].tolist() == [1.0, 0.5, 0.0, 0.0], "handbook 9: 1 degree a cell a drive, only after a clean one"
        assert back[1].tolist() == [1.0, 0.5, 0.0, 1.0]

    def test_the_most_given_back_is_a_setting(self):
        back = may_give_back(GRID, NONE + 3, NONE, NONE + 5, settings=RoadLogSettings(give_back_deg=0.5))
        assert back.max() == 0.5

    @pytest.mark.parametrize(
        ("tables", "words"),
        [
            (([[1]], NONE, NONE), "the retards must be 4 rows of vacuum and 4 columns of speed"),
            ((NONE - 1, NONE, NONE), "the retard taken out must be 0 degrees or more, not -1"),
            ((NONE, NONE - 1, NONE), "the score must be 0 or more, not -1"),
            ((NONE, NONE, NONE - 1), "the time in a cell must be 0 s or more, not -1"),
            ((NONE, [[1]], NONE), "the scores must be 4 rows"),
            ((NONE, NONE, [[1]]), "the times must be 4 rows"),
        ],
    )
    def test_tables_that_do_not_fit_are_refused(self, tables, words):
        with pytest.raises(TimingError, match=words):
            may_give_back(GRID, *tables)


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
            ({"window_to_s": 2.0}, "must begin before it ends, not 2 s before the note with its end 2 s before it"),
        ],
    )
    def test_settings_that_cannot_be_are_refused(self, changed, words):
        with pytest.raises(TimingError, match=words):
            RoadLogSettings(**changed)
