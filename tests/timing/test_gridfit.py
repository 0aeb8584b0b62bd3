"""The fit of a curve to what a unit can hold, against exhaustive search, integer and linear programming."""

import csv
import itertools
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.timing.grid_judges import (
    BAND,
    KNEED,
    KNEED_NODES,
    bands,
    exhaustive,
    integer_programme,
    linear_programme,
    rounding,
    small_grids,
    small_targets,
    steps,
)
from tests.timing.published import rows
from timing.curve import AdvanceCurve
from timing.grid import GridFitError
from timing.gridfit import GridFit, fit_free, fit_to

FOURTEEN = [500, 800, 1000, 1200, 1500, 1800, 2200, 2600, 3000, 3500, 4000, 4800, 5600, 6500]


def reference_cases():
    with (Path(__file__).parents[1] / "reference" / "gridfit_cases.csv").open() as table:
        assert table.readline().startswith("# source: ")
        return {row["case"]: row for row in csv.DictReader(table)}


CASES = reference_cases()


def figures(text):
    return [float(figure) for figure in text.split()]


def fit_case(row):
    """The fit that a row of the reference table asks for."""
    target = AdvanceCurve(figures(row["target_rpm"]), figures(row["target_deg"]))
    step = float(row["step_deg"])
    if row["constraint"] == "free nodes":
        return fit_free(target, 4, range(500, 4001, 500), step)
    within = None
    if row["constraint"].startswith("inside band "):
        edges = [pair.split("-") for pair in row["constraint"].removeprefix("inside band ").split()]
        within = tuple(
            AdvanceCurve(target.rpm, [float(figure) for figure in edge]) for edge in zip(*edges, strict=True)
        )
    return fit_to(
        target, figures(row["node_rpm"]), step, never_above=row["constraint"] == "never above target", within=within
    )


def squares_over_breakpoints(fit, target):
    points = np.union1d(fit.curve.rpm, target.rpm)
    return float(((fit.curve.advance(points) - target.advance(points)) ** 2).sum())


class TestWorkedCases:
    @pytest.mark.parametrize("case", CASES)
    def test_the_worst_error_is_the_published_one(self, case):
        fit = fit_case(CASES[case])
        assert isinstance(fit, GridFit)
        assert fit.worst_error == pytest.approx(float(CASES[case]["best_max_error_deg"]), abs=1e-9)

    @pytest.mark.parametrize("case", [case for case in CASES if case not in {"A3", "A5"}])
    def test_the_values_are_the_published_ones(self, case):
        fit = fit_case(CASES[case])
        assert list(fit.curve.degrees) == figures(CASES[case]["best_node_deg"])
        assert list(fit.curve.rpm) == figures(CASES[case]["node_rpm"])

    def test_free_nodes_stand_where_the_published_ones_do(self):
        fit = fit_case(CASES["A5"])
        assert fit.curve == AdvanceCurve([500, 1000, 1500, 3500], [0, 2, 10, 22])

    @pytest.mark.parametrize("case", [case for case in CASES if CASES[case]["nearest_rounding_max_error_deg"]])
    def test_rounding_each_node_on_its_own_costs_the_published_error(self, case):
        row = CASES[case]
        target = AdvanceCurve(figures(row["target_rpm"]), figures(row["target_deg"]))
        rounded = rounding(target, figures(row["node_rpm"]), float(row["step_deg"]))
        expected = float(row["nearest_rounding_max_error_deg"])
        assert rounded == pytest.approx(expected, abs=1e-9)

    def test_it_says_where_the_worst_error_stands(self):
        # Handbook 4, B1: the mid-line has 13.1667 at 2000 rpm, the fit 14 there; A4: 9 wanted at 1400 rpm, 7.6 held.
        assert fit_case(CASES["B1"]).at_rpm == 2000
        assert fit_case(CASES["A4"]).at_rpm == 1400

    def test_a_curve_the_unit_can_hold_is_held_without_error(self):
        fit = fit_to(KNEED, KNEED.rpm, 1)
        assert fit == GridFit(KNEED, 0.0, 500.0)

    def test_sampling_the_target_at_the_nodes_is_not_the_best_even_without_steps(self):
        # Handbook 4, A0 and the linear programme: 0.8 against 0.4.
        sampled = AdvanceCurve(KNEED_NODES, KNEED.advance(KNEED_NODES))
        assert abs(sampled.largest_difference(KNEED).degrees) == pytest.approx(0.8, abs=1e-9)
        assert linear_programme(KNEED, KNEED_NODES) == pytest.approx(0.4, abs=1e-9)
        assert fit_to(KNEED, KNEED_NODES, 0.05).worst_error == pytest.approx(0.4, abs=1e-9)

    def test_the_closest_fit_leaves_the_band_unless_it_is_told_to_stay(self):
        # Handbook 4, B1: 1.2 degrees at 800 rpm, where the band is 0 to 1.
        free, held = fit_case(CASES["B1"]), fit_case(CASES["B2"])
        assert free.curve.advance(800) == pytest.approx(1.2, abs=1e-9)
        assert held.curve.advance(800) == pytest.approx(0.6, abs=1e-9)


# --- optimality --------------------------------------------------------------------------------------------------


class TestJudgedOutside:
    """The least error that a mixed-integer programme finds, written down so that no change of ours can move it."""

    @pytest.mark.parametrize("row", rows("gridfit_judged.csv"), ids=lambda row: str(row["target_deg"]))
    def test_the_worst_error_is_the_one_of_the_integer_programme(self, row):
        target = AdvanceCurve(figures(row["target_rpm"]), figures(row["target_deg"]))
        never_above, nodes = row["never_above"] == "yes", figures(row["node_rpm"])
        if row["free"]:
            fit = fit_free(target, row["free"], nodes, row["step_deg"], never_above=never_above)
        else:
            fit = fit_to(target, nodes, row["step_deg"], never_above=never_above)
        assert fit.worst_error == pytest.approx(row["worst_error_deg"], abs=1e-8), "scipy.optimize.milp"

    @pytest.mark.parametrize("count", [61, 70])
    def test_more_free_nodes_than_any_unit_has_are_refused(self, count):
        with pytest.raises(GridFitError, match=r"^a step of 1 at 80 speeds is too much to search"):
            fit_free(KNEED, count, range(0, 8000, 100), 1)
        assert fit_free(KNEED, 60, range(0, 8000, 100), 1).worst_error < 0.5


class TestOptimality:
    @settings(max_examples=150)
    @given(small_targets(), small_grids, steps)
    def test_no_setting_is_better_nor_comes_before_it_in_a_tie(self, target, nodes, step):
        worst, squares, values = exhaustive(target, nodes, step, -1, 3)
        fit = fit_to(target, nodes, step, -1, 3)
        assert fit.worst_error == pytest.approx(float(worst), abs=1e-9)
        assert squares_over_breakpoints(fit, target) == pytest.approx(float(squares), abs=1e-8)
        assert list(fit.curve.degrees) == values

    @settings(max_examples=150)
    @given(small_targets(low=0), small_grids, steps)
    def test_no_setting_below_the_curve_is_better(self, target, nodes, step):
        self._compare(target, nodes, step, never_above=True)

    @settings(max_examples=150)
    @given(small_targets(), small_grids, steps, bands(), st.booleans())
    def test_no_setting_inside_the_band_is_better(self, target, nodes, step, band, never_above):
        self._compare(target, nodes, step, within=band, never_above=never_above)

    def _compare(self, target, nodes, step, **rules):
        expected = exhaustive(target, nodes, step, -1, 3, **rules)
        if expected is None:
            with pytest.raises(GridFitError, match=r"^no setting of the unit keeps the curve"):
                fit_to(target, nodes, step, -1, 3, **rules)
        else:
            fit = fit_to(target, nodes, step, -1, 3, **rules)
            assert fit.worst_error == pytest.approx(float(expected[0]), abs=1e-9)
            assert list(fit.curve.degrees) == expected[2]

    @settings(max_examples=60)
    @given(
        small_targets(),
        st.lists(st.integers(0, 9), min_size=3, max_size=5, unique=True),
        st.integers(1, 3),
        st.booleans(),
    )
    def test_no_choice_of_free_nodes_is_better(self, target, places, count, never_above):
        raster = [100 * place for place in sorted(places)]
        answers = [
            (found[0], found[1], list(zip(found[2], nodes, strict=True)))
            for nodes in itertools.combinations(raster, count)
            if (found := exhaustive(target, nodes, 1, -1, 3, never_above=never_above))
        ]
        if not answers:
            with pytest.raises(GridFitError, match=r"^no setting of the unit keeps the curve"):
                fit_free(target, count, raster, 1, -1, 3, never_above=never_above)
            return
        worst, squares, chosen = min(answers)
        fit = fit_free(target, count, raster, 1, -1, 3, never_above=never_above)
        assert fit.worst_error == pytest.approx(float(worst), abs=1e-9)
        assert squares_over_breakpoints(fit, target) == pytest.approx(float(squares), abs=1e-8)
        assert list(zip(fit.curve.degrees, fit.curve.rpm, strict=True)) == chosen

    @pytest.mark.parametrize("case", [case for case in CASES if case != "A5"])
    def test_scipys_integer_programme_finds_the_same_error_in_the_worked_cases(self, case):
        row = CASES[case]
        target = AdvanceCurve(figures(row["target_rpm"]), figures(row["target_deg"]))
        expected = integer_programme(
            target,
            figures(row["node_rpm"]),
            float(row["step_deg"]),
            never_above=case == "A4",
            within=BAND if case in {"B2", "B3"} else None,
        )
        assert fit_case(row).worst_error == pytest.approx(expected, abs=1e-6)

    @pytest.mark.parametrize("seed", range(6))
    @pytest.mark.parametrize("step", [0.5, 1])
    def test_scipys_integer_programme_finds_the_same_error_for_fourteen_nodes(self, seed, step):
        rng = np.random.default_rng(seed)
        target = AdvanceCurve(
            np.sort(rng.choice(np.arange(500, 6600, 50), 9, replace=False)), np.sort(rng.uniform(0, 34, 9))
        )
        fit = fit_to(target, FOURTEEN, step, high=30)
        assert fit.worst_error == pytest.approx(integer_programme(target, FOURTEEN, step, high=30), abs=1e-6)
        below = fit_to(target, FOURTEEN, step, high=30, never_above=True)
        expected = integer_programme(target, FOURTEEN, step, high=30, never_above=True)
        assert below.worst_error == pytest.approx(expected, abs=1e-6)

    @settings(max_examples=60)
    @given(small_targets(low=2), small_grids, steps)
    def test_steps_cost_at_most_half_a_step_over_the_continuous_best(self, target, nodes, step):
        # Rounding the continuous optimum node by node moves the curve by half a step at most, anywhere.
        best = linear_programme(target, nodes)
        error = fit_to(target, nodes, step, -20, 20).worst_error
        assert best - 1e-7 <= error <= best + step / 2 + 1e-7

    @settings(max_examples=60)
    @given(small_targets(), small_grids, steps)
    def test_rounding_each_node_is_never_better(self, target, nodes, step):
        fit, rounded = fit_to(target, nodes, step, -1, 3), rounding(target, nodes, step, -1, 3)
        assert fit.worst_error <= rounded + 1e-9

    @settings(max_examples=60)
    @given(small_targets(), small_grids, steps)
    def test_no_sampled_speed_shows_a_larger_error(self, target, nodes, step):
        fit = fit_to(target, nodes, step, -1, 3)
        speeds = np.linspace(0, 1200, 241)
        assert np.abs(fit.curve.advance(speeds) - target.advance(speeds)).max() <= fit.worst_error + 1e-9

    def test_free_nodes_on_as_many_speeds_are_no_longer_free(self):
        assert fit_free(KNEED, 5, KNEED_NODES, 0.1) == fit_to(KNEED, KNEED_NODES, 0.1)

    def test_more_room_for_the_nodes_never_costs_anything(self):
        errors = [fit_free(KNEED, 5, np.arange(500, 3501, raster), 1).worst_error for raster in (500, 250, 100)]
        assert errors[0] >= errors[1] >= errors[2] == 0

    def test_a_wanted_curve_of_thousands_of_nodes_is_judged_at_every_one(self):
        # A flat curve with one spike, wherever it stands: the best flat setting is half way up it.
        for spike in (17, 1234, 2998):
            degrees = np.full(3000, 10.0)
            degrees[spike] = 50.0
            fit = fit_to(AdvanceCurve(np.arange(3000) + 500.0, degrees), [400, 4000], 1)
            assert fit.worst_error == pytest.approx(20.0, abs=1e-9)
            assert fit.curve.advance(500 + spike) == pytest.approx(30.0, abs=1e-9)


# --- what the unit can hold --------------------------------------------------------------------------------------
