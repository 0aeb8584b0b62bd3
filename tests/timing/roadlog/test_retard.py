"""The retard that notes speak for, and what may be given back."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.timing.roadlog.driven import FLAT, GRID, NONE, NOTES, expected, noted
from timing.errors import TimingError
from timing.roadlog import CellState, RoadLogSettings, may_give_back, propose, proposed_retard, spread_notes


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
        with pytest.raises(TimingError, match=r"^the score must be 0 or more, not -1"):
            proposed_retard(-1)


class TestProposal:
    def test_a_flat_map_gets_what_its_notes_ask_for(self):
        proposal = propose(GRID, spread_notes(GRID, **NOTES), NONE, FLAT)
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
        assert proposal.grid == GRID

    def test_a_proposal_heeds_the_rule_for_scores_that_was_set(self):
        proposal = propose(GRID, noted(0, 0, 4), NONE, FLAT, settings=RoadLogSettings(most_retard_deg=1.5))
        assert proposal.noted_deg[0, 0] == 1.5

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
        with pytest.raises(TimingError, match=f"^{words}"):
            propose(GRID, **whole)


class TestGivingBack:
    def test_a_clean_driven_cell_gets_back_one_degree_at_most(self):
        taken = np.tile([3.0, 0.5, 3.0, 3.0], (4, 1))
        seconds = np.tile([2.0, 9.0, 1.9, 9.0], (4, 1))
        back = may_give_back(GRID, taken, noted(0, 3, 0.1), seconds, FLAT)
        assert back[0].tolist() == [1.0, 0.5, 0.0, 0.0], "handbook 9: 1 degree a cell a drive, only after a clean one"
        assert back[1].tolist() == [1.0, 0.5, 0.0, 1.0]

    def test_giving_back_leaves_no_step_that_is_larger_than_the_limit(self):
        # issue 9.8: 20 beside 26 is 6, the limit of handbook 9; a degree back at 26 alone would make it 7
        before = FLAT * 0 + [20, 26, 26, 26]
        noted_there = NONE.copy()
        noted_there[:, 0] = 0.1
        back = may_give_back(GRID, NONE + 3, noted_there, NONE + 5, before)
        assert back.tolist() == [[0, 0, 1, 1]] * 4, "26 waits for 20; its neighbours at 26 may go to 27"

    @given(st.integers(0, 2**32 - 1))
    def test_giving_back_breaks_no_step_and_holds_nothing_back_without_need(self, seed):
        rng = np.random.default_rng(seed)
        before = rng.integers(10, 24, GRID.shape).astype(float)
        taken = rng.choice([0.0, 0.5, 3.0], GRID.shape)
        noted_there = np.where(rng.uniform(size=GRID.shape) < 0.3, 1.0, 0.0)
        back = may_give_back(GRID, taken, noted_there, NONE + 5, before)
        most = np.where(noted_there > 0, 0.0, np.minimum(taken, 1.0))
        assert ((back >= 0) & (back <= most)).all()

        def breaks(after):
            return any(
                (np.abs(np.diff(after, axis=axis)) > np.maximum(6.0, np.abs(np.diff(before, axis=axis))) + 1e-9).any()
                for axis in (0, 1)
            )

        assert not breaks(before + back)
        for cell in zip(*np.nonzero(back < most - 1e-9), strict=True):
            tried = before + back
            tried[cell] += 0.01
            assert breaks(tried)

    def test_a_cell_driven_for_exactly_the_least_time_is_driven(self):
        # 0.7 + 0.1 seconds are not 0.8 in floating point; a limit is within itself
        back = may_give_back(GRID, NONE + 3, NONE, NONE + 0.7 + 0.1, FLAT, settings=RoadLogSettings(quiet_s=0.8))
        assert back.min() == 1.0
        assert proposed_retard(0.7 + 0.1, settings=RoadLogSettings(least_score=0.8)) == 1.0

    def test_the_most_given_back_is_a_setting(self):
        back = may_give_back(GRID, NONE + 3, NONE, NONE + 5, FLAT, settings=RoadLogSettings(give_back_deg=0.5))
        assert back.max() == 0.5

    @pytest.mark.parametrize(
        ("tables", "words"),
        [
            (([[1]], NONE, NONE, FLAT), "the retards must be 4 rows of vacuum and 4 columns of speed"),
            ((NONE - 1, NONE, NONE, FLAT), "the retard taken out must be 0 degrees or more, not -1"),
            ((NONE, NONE - 1, NONE, FLAT), "the score must be 0 or more, not -1"),
            ((NONE, NONE, NONE - 1, FLAT), "the time in a cell must be 0 s or more, not -1"),
            ((NONE, [[1]], NONE, FLAT), "the scores must be 4 rows"),
            ((NONE, NONE, [[1]], FLAT), "the times must be 4 rows"),
            ((NONE, NONE, NONE, [[1]]), "the advances must be 4 rows"),
            ((NONE, NONE, NONE, NONE + math.nan), "the advance must be a finite number"),
        ],
    )
    def test_tables_that_do_not_fit_are_refused(self, tables, words):
        with pytest.raises(TimingError, match=f"^{words}"):
            may_give_back(GRID, *tables)
