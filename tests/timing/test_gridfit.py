"""The fit of a curve to what a unit can hold, against exhaustive search, integer and linear programming."""

import csv
import itertools
import math
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from timing.curve import AdvanceCurve, CurveError, GridFit
from timing.errors import TimingError
from timing.grid import GridFitError

# Handbook section 4, both worked cases: the target with a knee, and the factory band with its mid-line.
KNEED = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
KNEED_NODES = [500, 1000, 1500, 2500, 3500]
BAND = (
    AdvanceCurve([800, 1200, 1800, 3000, 4500], [0, 2, 10, 17, 22]),
    AdvanceCurve([800, 1200, 1800, 3000, 4500], [1, 6, 14, 21, 26]),
)
MID_LINE = BAND[0].blend(BAND[1], 0.5)
MID_LINE_NODES = [500, 1000, 2000, 3000, 4000, 5000]

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
        return target.fit_free(4, range(500, 4001, 500), step)
    within = None
    if row["constraint"].startswith("inside band "):
        edges = [pair.split("-") for pair in row["constraint"].removeprefix("inside band ").split()]
        within = tuple(AdvanceCurve(target.rpm, edge) for edge in zip(*edges, strict=True))
    return target.fit_to(
        figures(row["node_rpm"]), step, never_above=row["constraint"] == "never above target", within=within
    )


# --- judges from outside the code under test -------------------------------------------------------------------


def breakpoints(target, nodes):
    return sorted({*map(Fraction, target.rpm), *map(Fraction, nodes)})


def weights(nodes, points):
    """How much of each node's value the unit's curve has at each point. Exact, ends held."""
    table = []
    for x in points:
        row = [Fraction(0)] * len(nodes)
        if x <= nodes[0]:
            row[0] = Fraction(1)
        elif x >= nodes[-1]:
            row[-1] = Fraction(1)
        else:
            upper = next(place for place, node in enumerate(nodes) if node >= x)
            run = (x - nodes[upper - 1]) / (nodes[upper] - nodes[upper - 1])
            row[upper - 1], row[upper] = 1 - run, run
        table.append(row)
    return table


def exactly(curve, points):
    """The curve at each point as a fraction, free of rounding."""
    rows = weights([Fraction(rpm) for rpm in curve.rpm], points)
    degrees = [Fraction(str(degree)) for degree in curve.degrees]
    return [sum(share * degree for share, degree in zip(row, degrees, strict=True)) for row in rows]


def exhaustive(target, nodes, step, low, high, *, never_above=False, within=None):
    """Every setting of the unit compared in whole numbers: (worst error, sum of squares, values), or None.

    All fractions are brought to one denominator, so that ties are ties and not matters of rounding.
    """
    nodes = [Fraction(node) for node in nodes]
    step = Fraction(str(step))
    points = breakpoints(target, nodes)
    looked_at = sorted({*points, *(Fraction(rpm) for curve in within or () for rpm in curve.rpm)})
    table, wanted = weights(nodes, looked_at), exactly(target, looked_at)
    bounds = [(exactly(curve, looked_at), sign) for curve, sign in zip(within or (), (1, -1), strict=False)]
    if never_above:
        bounds.append((wanted, -1))
    every_figure = [figure for row in table for figure in row] + wanted
    every_figure += [figure for edge, _ in bounds for figure in edge] + [step]
    scale = math.lcm(*(figure.denominator for figure in every_figure))
    levels = range(math.ceil(low / step), math.floor(high / step) + 1)
    settings_ = np.array(list(itertools.product(levels, repeat=len(nodes))), dtype=np.int64)
    whole = np.array([[int(share * step * scale * scale) for share in row] for row in table], dtype=np.int64)
    drawn = settings_ @ whole.T
    gap = drawn - np.array([int(figure * scale * scale) for figure in wanted], dtype=np.int64)
    allowed = np.ones(len(settings_), dtype=bool)
    for edge, sign in bounds:
        limit = np.array([int(figure * scale * scale) for figure in edge], dtype=np.int64)
        allowed &= (sign * (drawn - limit) >= 0).all(axis=1)
    if not allowed.any():
        return None
    gap, settings_ = gap[allowed], settings_[allowed]
    at_breakpoints = np.isin(np.array(looked_at, dtype=object), np.array(points, dtype=object))
    worst = np.abs(gap).max(axis=1)
    tied = worst == worst.min()
    gap, settings_ = gap[tied][:, at_breakpoints], settings_[tied]
    squares = [sum(int(figure) ** 2 for figure in row) for row in gap]
    best = min(zip(squares, settings_.tolist(), strict=True))
    return (
        Fraction(int(worst.min()), scale**2),
        Fraction(best[0], scale**4),
        [float(step * level) for level in best[1]],
    )


def integer_programme(target, nodes, step, low=0, high=60, *, never_above=False, within=None):
    """The least worst error by scipy's mixed-integer programme: whole steps at the nodes, and the error itself."""
    points = sorted({*target.rpm, *map(float, nodes), *(rpm for curve in within or () for rpm in curve.rpm)})
    table = np.array([[float(share) for share in row] for row in weights(nodes, points)]) * step
    ones = np.ones((len(points), 1))
    wanted = np.interp(points, target.rpm, target.degrees)
    rules = [
        LinearConstraint(np.hstack([table, -ones]), -np.inf, wanted),
        LinearConstraint(np.hstack([table, ones]), wanted, np.inf),
    ]
    if never_above:
        rules.append(LinearConstraint(np.hstack([table, 0 * ones]), -np.inf, wanted))
    if within:
        edges = [np.interp(points, curve.rpm, curve.degrees) for curve in within]
        rules.append(LinearConstraint(np.hstack([table, 0 * ones]), *edges))
    count = len(nodes)
    answer = milp(
        np.append(np.zeros(count), 1.0),
        integrality=np.append(np.ones(count), 0),
        bounds=Bounds(
            np.append(np.full(count, math.ceil(low / step)), 0.0),
            np.append(np.full(count, math.floor(high / step)), np.inf),
        ),
        constraints=rules,
        options={"mip_rel_gap": 0.0},
    )
    return answer.fun if answer.success else None


def linear_programme(target, nodes):
    """The least worst error if the nodes could hold any value at all: a lower bound for every step."""
    points = sorted({*target.rpm, *map(float, nodes)})
    table = np.array([[float(share) for share in row] for row in weights(nodes, points)])
    wanted = np.interp(points, target.rpm, target.degrees)
    ones = np.ones((len(points), 1))
    answer = linprog(
        np.append(np.zeros(len(nodes)), 1.0),
        A_ub=np.vstack([np.hstack([table, -ones]), np.hstack([-table, -ones])]),
        b_ub=np.concatenate([wanted, -wanted]),
        bounds=[(None, None)] * len(nodes) + [(0, None)],
    )
    return answer.fun


@st.composite
def small_targets(draw, low=-1, high=5):
    """Curves on a raster of 100 rpm and half degrees, so that fractions stay short and ties happen."""
    rpm = draw(st.lists(st.integers(0, 9), min_size=1, max_size=5, unique=True))
    halves = draw(st.lists(st.integers(2 * low, 2 * high), min_size=len(rpm), max_size=len(rpm)))
    return AdvanceCurve([100 * place for place in sorted(rpm)], [half / 2 for half in halves])


@st.composite
def bands(draw):
    middle = draw(small_targets())
    room = draw(st.lists(st.integers(0, 4), min_size=len(middle.rpm), max_size=len(middle.rpm)))
    lower = AdvanceCurve(middle.rpm, np.subtract(middle.degrees, np.array(room) / 2))
    return lower, middle.shift(draw(st.integers(0, 3)) / 2)


small_grids = st.lists(st.integers(0, 9), min_size=1, max_size=4, unique=True).map(
    lambda places: [100 * place for place in sorted(places)]
)
steps = st.sampled_from([0.5, 1, 0.8])


def squares_over_breakpoints(fit, target):
    points = np.union1d(fit.curve.rpm, target.rpm)
    return float(((fit.curve.advance(points) - target.advance(points)) ** 2).sum())


# --- the worked cases -------------------------------------------------------------------------------------------


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
        rounded = target.round_to(figures(row["node_rpm"]), float(row["step_deg"]))
        expected = float(row["nearest_rounding_max_error_deg"])
        assert rounded.worst_error == pytest.approx(expected, abs=1e-9)

    def test_it_says_where_the_worst_error_stands(self):
        # Handbook 4, B1: the mid-line has 13.1667 at 2000 rpm, the fit 14 there; A4: 9 wanted at 1400 rpm, 7.6 held.
        assert fit_case(CASES["B1"]).at_rpm == 2000
        assert fit_case(CASES["A4"]).at_rpm == 1400

    def test_a_curve_the_unit_can_hold_is_held_without_error(self):
        fit = KNEED.fit_to(KNEED.rpm, 1)
        assert fit == GridFit(KNEED, 0.0, 500.0)

    def test_sampling_the_target_at_the_nodes_is_not_the_best_even_without_steps(self):
        # Handbook 4, A0 and the linear programme: 0.8 against 0.4.
        sampled = AdvanceCurve(KNEED_NODES, KNEED.advance(KNEED_NODES))
        assert abs(sampled.largest_difference(KNEED).degrees) == pytest.approx(0.8, abs=1e-9)
        assert linear_programme(KNEED, KNEED_NODES) == pytest.approx(0.4, abs=1e-9)
        assert KNEED.fit_to(KNEED_NODES, 0.05).worst_error == pytest.approx(0.4, abs=1e-9)

    def test_the_closest_fit_leaves_the_band_unless_it_is_told_to_stay(self):
        # Handbook 4, B1: 1.2 degrees at 800 rpm, where the band is 0 to 1.
        free, held = fit_case(CASES["B1"]), fit_case(CASES["B2"])
        assert free.curve.advance(800) == pytest.approx(1.2, abs=1e-9)
        assert held.curve.advance(800) == pytest.approx(0.6, abs=1e-9)


# --- optimality --------------------------------------------------------------------------------------------------


class TestOptimality:
    @settings(max_examples=150)
    @given(small_targets(), small_grids, steps)
    def test_no_setting_is_better_nor_comes_before_it_in_a_tie(self, target, nodes, step):
        worst, squares, values = exhaustive(target, nodes, step, -1, 3)
        fit = target.fit_to(nodes, step, -1, 3)
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
            with pytest.raises(GridFitError, match="no setting of the unit keeps the curve"):
                target.fit_to(nodes, step, -1, 3, **rules)
        else:
            fit = target.fit_to(nodes, step, -1, 3, **rules)
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
            with pytest.raises(GridFitError, match="no setting of the unit keeps the curve"):
                target.fit_free(count, raster, 1, -1, 3, never_above=never_above)
            return
        worst, squares, chosen = min(answers)
        fit = target.fit_free(count, raster, 1, -1, 3, never_above=never_above)
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
        fit = target.fit_to(FOURTEEN, step, high=30)
        assert fit.worst_error == pytest.approx(integer_programme(target, FOURTEEN, step, high=30), abs=1e-6)
        below = target.fit_to(FOURTEEN, step, high=30, never_above=True)
        expected = integer_programme(target, FOURTEEN, step, high=30, never_above=True)
        assert below.worst_error == pytest.approx(expected, abs=1e-6)

    @settings(max_examples=60)
    @given(small_targets(low=2), small_grids, steps)
    def test_steps_cost_at_most_half_a_step_over_the_continuous_best(self, target, nodes, step):
        # Rounding the continuous optimum node by node moves the curve by half a step at most, anywhere.
        best = linear_programme(target, nodes)
        error = target.fit_to(nodes, step, -20, 20).worst_error
        assert best - 1e-7 <= error <= best + step / 2 + 1e-7

    @settings(max_examples=60)
    @given(small_targets(), small_grids, steps)
    def test_rounding_each_node_is_never_better(self, target, nodes, step):
        fit, rounded = target.fit_to(nodes, step, -1, 3), target.round_to(nodes, step, -1, 3)
        assert fit.worst_error <= rounded.worst_error + 1e-9

    @settings(max_examples=60)
    @given(small_targets(), small_grids, steps)
    def test_no_sampled_speed_shows_a_larger_error(self, target, nodes, step):
        fit = target.fit_to(nodes, step, -1, 3)
        speeds = np.linspace(0, 1200, 241)
        assert np.abs(fit.curve.advance(speeds) - target.advance(speeds)).max() <= fit.worst_error + 1e-9

    def test_free_nodes_on_as_many_speeds_are_no_longer_free(self):
        assert KNEED.fit_free(5, KNEED_NODES, 0.1) == KNEED.fit_to(KNEED_NODES, 0.1)

    def test_more_room_for_the_nodes_never_costs_anything(self):
        errors = [KNEED.fit_free(5, np.arange(500, 3501, raster), 1).worst_error for raster in (500, 250, 100)]
        assert errors[0] >= errors[1] >= errors[2] == 0

    def test_a_wanted_curve_of_thousands_of_nodes_is_judged_at_every_one(self):
        # A flat curve with one spike, wherever it stands: the best flat setting is half way up it.
        for spike in (17, 1234, 2998):
            degrees = np.full(3000, 10.0)
            degrees[spike] = 50.0
            fit = AdvanceCurve(np.arange(3000) + 500.0, degrees).fit_to([400, 4000], 1)
            assert fit.worst_error == pytest.approx(20.0, abs=1e-9)
            assert fit.curve.advance(500 + spike) == pytest.approx(30.0, abs=1e-9)


# --- what the unit can hold --------------------------------------------------------------------------------------


class TestWhatTheUnitHolds:
    @settings(max_examples=60)
    @given(small_targets(low=0, high=9), small_grids, st.sampled_from([0.1, 0.2, 0.25, 0.3, 0.7, 1, 2.5]))
    def test_every_value_is_the_step_counted_not_summed(self, target, nodes, step):
        fit = target.fit_to(nodes, step)
        for degrees in fit.curve.degrees:
            count = Fraction(str(degrees)) / Fraction(str(step))
            assert count.denominator == 1

    def test_three_tenths_are_three_tenths(self):
        assert AdvanceCurve([500], [0.3]).fit_to([500], 0.1).curve.degrees == (0.3,)

    def test_values_stay_between_the_limits_and_are_still_the_best(self):
        # By hand: the limit of 10 leaves 12 degrees missing at the top; at the lower nodes the squares decide.
        fit = KNEED.fit_to(KNEED_NODES, 1, high=10)
        assert (fit.worst_error, fit.at_rpm) == (12, 3500)
        assert fit.curve.degrees == (0, 2, 10, 10, 10)

    def test_a_lower_limit_lifts_the_curve(self):
        fit = KNEED.fit_to(KNEED_NODES, 1, low=4)
        assert (fit.worst_error, fit.at_rpm) == (4, 500)
        assert min(fit.curve.degrees) == 4

    def test_limits_that_are_no_multiples_are_never_passed(self):
        fit = KNEED.fit_to(KNEED_NODES, 1, low=0.5, high=21.9)
        assert (min(fit.curve.degrees), max(fit.curve.degrees)) == (1, 21)

    def test_limits_that_are_multiples_can_be_reached(self):
        # 60.3 is 603 steps of 0.1, though in floating point 60.3 / 0.1 is a little less.
        assert AdvanceCurve([500], [70]).fit_to([500], 0.1, high=60.3).curve.degrees == (60.3,)
        assert AdvanceCurve([500], [-70]).fit_to([500], 0.1, low=-60.3).curve.degrees == (-60.3,)

    def test_unless_told_otherwise_it_holds_nothing_below_zero_or_above_sixty(self):
        steep = AdvanceCurve([500, 6000], [-5, 70])
        assert steep.fit_to([500, 6000], 1).curve.degrees == (0, 60)
        assert steep.fit_free(2, [500, 6000], 1).curve.degrees == (0, 60)
        assert steep.round_to([500, 6000], 1).curve.degrees == (0, 60)

    def test_a_unit_with_a_single_value_holds_that(self):
        fit = KNEED.fit_to(KNEED_NODES, 5, low=10, high=10)
        assert fit == GridFit(AdvanceCurve(KNEED_NODES, [10] * 5), 12.0, 3500.0)

    def test_one_node_is_held_over_all_speeds(self):
        # By hand: half way between 0 and 22.
        assert KNEED.fit_to([2000], 1) == GridFit(AdvanceCurve([2000], [11]), 11.0, 500.0)

    def test_nodes_outside_the_wanted_curve_follow_its_held_ends(self):
        fit = AdvanceCurve([1000, 2000], [5, 15]).fit_to([200, 1000, 2000, 3000], 1)
        assert fit == GridFit(AdvanceCurve([200, 1000, 2000, 3000], [5, 5, 15, 15]), 0.0, 200.0)

    def test_of_two_values_equally_good_the_retarded_one_is_taken(self):
        assert AdvanceCurve([1000], [7.5]).fit_to([1000], 1).curve.degrees == (7,)

    def test_rounding_takes_the_higher_of_two_values(self):
        assert AdvanceCurve([1000], [7.5]).round_to([1000], 1).curve.degrees == (8,)

    def test_rounding_keeps_the_limits(self):
        rounded = KNEED.round_to(KNEED_NODES, 1, low=1, high=15)
        assert rounded.curve.degrees == (1, 2, 10, 15, 15)
        assert (rounded.worst_error, rounded.at_rpm) == (7, 3500)


# --- staying below the curve, and inside a band ------------------------------------------------------------------


class TestStayingWithinBounds:
    @settings(max_examples=60)
    @given(small_targets(low=0), small_grids, steps)
    def test_never_above_holds_at_every_speed(self, target, nodes, step):
        fit = target.fit_to(nodes, step, -20, 20, never_above=True)
        speeds = np.linspace(0, 1200, 241)
        assert (fit.curve.advance(speeds) <= target.advance(speeds) + 1e-9).all()

    def test_a_band_whose_knee_lies_between_the_nodes_is_kept_at_the_knee(self):
        lower = AdvanceCurve([500, 1750, 3000], [0, 8, 10])
        fit = AdvanceCurve([500, 3000], [0, 12]).fit_to([500, 3000], 1, within=(lower, lower.shift(12)))
        assert fit.curve.advance(1750) == pytest.approx(8, abs=1e-9)
        assert fit.curve.degrees == (2, 14)

    def test_the_edges_of_a_band_may_have_nodes_of_their_own(self):
        # By hand: 8 degrees half way between the nodes need 16 from both together, the wanted curve 12.
        wanted, lower = AdvanceCurve([500, 3000], [0, 12]), AdvanceCurve([500, 1750, 3000], [0, 8, 10])
        upper = AdvanceCurve([1000], [30])
        assert wanted.fit_to([500, 3000], 1, within=(lower, upper)).curve.degrees == (2, 14)
        # The other way about: 4 degrees half way allow 8 from both together.
        upper = AdvanceCurve([500, 1750, 3000], [10, 4, 20])
        assert wanted.fit_to([500, 3000], 1, within=(AdvanceCurve([9], [0]), upper)).curve.degrees == (0, 8)

    def test_the_band_does_not_count_in_a_tie(self):
        # The nodes of the band are no breakpoints of the fit: the same values with and without them.
        wide = (AdvanceCurve([600, 700, 900], [-9, -9, -9]), AdvanceCurve([650, 950], [99, 99]))
        for step in (0.1, 0.5, 1):
            assert KNEED.fit_to(KNEED_NODES, step, within=wide) == KNEED.fit_to(KNEED_NODES, step)

    def test_both_rules_may_be_asked_for_at_once(self):
        wider = (BAND[0].shift(-1), BAND[1])
        fit = MID_LINE.fit_to(MID_LINE_NODES, 0.5, within=wider, never_above=True)
        gap = MID_LINE.difference(fit.curve)
        assert min(gap.degrees) >= -1e-9
        assert min(fit.curve.difference(wider[0]).degrees) >= -1e-9
        expected = integer_programme(MID_LINE, MID_LINE_NODES, 0.5, never_above=True, within=wider)
        assert fit.worst_error == pytest.approx(expected, abs=1e-6)

    def test_a_free_fit_keeps_the_band_too(self):
        fit = MID_LINE.fit_free(5, range(500, 5001, 250), 1, within=BAND)
        assert min(fit.curve.difference(BAND[0]).degrees) >= -1e-9
        assert min(BAND[1].difference(fit.curve).degrees) >= -1e-9

    @pytest.mark.parametrize(
        ("band", "sentence"),
        [
            (
                (AdvanceCurve([1000], [4.2]), AdvanceCurve([1000], [4.8])),
                r"inside the band at 500 rpm: that asks for 4\.2 to 4\.8 degrees, "
                "and the unit holds 0 to 60 degrees in steps of 1",
            ),
            (
                (AdvanceCurve([1000, 2000], [0, 70]), AdvanceCurve([1000, 2000], [10, 80])),
                "inside the band at 2000 rpm: that asks for 70 to 80 degrees",
            ),
            (
                (AdvanceCurve([500, 750, 1000], [0, 8, 0]), AdvanceCurve([500, 750, 1000], [2, 9, 2])),
                "inside the band all the way: it can be done from 1000 rpm upwards, but not from 500 rpm",
            ),
            (
                (AdvanceCurve([2000, 2500], [0, 20]), AdvanceCurve([2000, 2500], [10, 30])),
                "inside the band above its last node, where the value of that node is held",
            ),
            (
                (AdvanceCurve([200, 500], [0, 20]), AdvanceCurve([200, 500], [10, 30])),
                "inside the band below its first node, where the value of that node is held",
            ),
        ],
    )
    def test_a_band_that_cannot_be_kept_is_answered_with_where(self, band, sentence):
        with pytest.raises(GridFitError, match=f"^no setting of the unit keeps the curve {sentence}"):
            band[0].fit_to([500, 1000, 2000], 1, within=band)

    def test_a_curve_below_everything_the_unit_holds_is_answered_with_where(self):
        with pytest.raises(
            GridFitError, match="at or below the wanted curve at 500 rpm: that asks for at most -1 degrees"
        ):
            KNEED.shift(-1).fit_to(KNEED_NODES, 1, never_above=True)

    def test_both_rules_are_named_where_neither_can_be_kept(self):
        with pytest.raises(GridFitError, match="inside the band and at or below the wanted curve at 500 rpm"):
            MID_LINE.fit_to(MID_LINE_NODES, 1, within=(BAND[0].shift(1), BAND[1]), never_above=True)

    def test_too_few_free_nodes_are_answered_with_how_far_they_reach(self):
        with pytest.raises(GridFitError, match="it can be done from 1500 rpm upwards, but not from 1000 rpm upwards"):
            MID_LINE.fit_free(2, range(500, 5001, 500), 1, within=BAND)

    def test_a_band_upside_down_is_refused(self):
        with pytest.raises(CurveError, match="the band is upside down at 1200 rpm, from 6 up to 2 degrees"):
            MID_LINE.fit_to(
                MID_LINE_NODES,
                1,
                within=(AdvanceCurve([800, 1200], [0, 6]), AdvanceCurve([800, 1200], [1, 2])),
            )


# --- bad input ---------------------------------------------------------------------------------------------------


class TestRefusals:
    @pytest.mark.parametrize(
        ("grid", "sentence"),
        [
            ({"nodes": []}, "a curve needs at least one node"),
            ({"nodes": [500, 400]}, "must rise, but 400 rpm comes after 500 rpm"),
            ({"nodes": [500, 500]}, "two nodes stand at 500 rpm"),
            ({"nodes": [500, float("nan")]}, "the speed of a node must be a finite number"),
            ({"nodes": "idle"}, "the speed of a node must be a number"),
            ({"nodes": 500}, "the speeds of the nodes must be a list"),
            ({"step": 0}, "the step must be above 0 degrees, not 0"),
            ({"step": -1}, "the step must be above 0 degrees, not -1"),
            ({"step": float("nan")}, "the step must be a finite number"),
            ({"step": "fine"}, "the step must be a number"),
            ({"step": [1, 2]}, "the step must be one number"),
            ({"step": 2e5}, r"the step must be 100000 degrees or less"),
            ({"low": 20, "high": 10}, "nothing lies between 20 and 10 degrees"),
            ({"low": 0.2, "high": 0.8}, r"no multiple of the step of 1 lies between 0\.2 and 0\.8 degrees"),
            ({"low": -2e5}, r"the lowest value must be -100000 degrees or more"),
            ({"low": 2e5}, r"the lowest value must be 100000 degrees or less"),
            ({"high": 2e5}, r"the highest value must be 100000 degrees or less"),
            ({"high": -2e5}, r"the highest value must be -100000 degrees or more"),
            ({"low": float("nan")}, "the lowest value must be a finite number"),
            ({"high": float("inf")}, "the highest value must be a finite number"),
            ({"step": 1e-5}, "a step of 1e-05 is too fine for values between 0 and 60 degrees"),
            ({"step": 1e-5, "low": -60, "high": 0}, "too fine for values between -60 and 0 degrees"),
            ({"step": 5e-324, "low": 0, "high": 0}, "too fine for values between 0 and 0 degrees"),
            ({"step": 1e-4, "low": -100, "high": 0.01}, "too much to search; take a coarser step or fewer speeds$"),
            ({"nodes": range(500, 2501)}, "a step of 1 at 2001 speeds is too much to search"),
        ],
    )
    def test_a_grid_that_is_none_is_refused_with_a_sentence(self, grid, sentence):
        with pytest.raises(TimingError, match=sentence):
            KNEED.fit_to(**{"nodes": KNEED_NODES, "step": 1} | grid)

    @pytest.mark.parametrize(
        ("count", "sentence"),
        [
            (0, "the number of nodes must be 1 or more, not 0"),
            (2.5, r"the number of nodes must be a whole number, not 2\.5"),
            (6, "6 nodes cannot stand at 5 different speeds"),
        ],
    )
    def test_free_nodes_without_room_are_refused(self, count, sentence):
        with pytest.raises(TimingError, match=sentence):
            KNEED.fit_free(count, KNEED_NODES, 1)

    def test_free_nodes_on_too_fine_a_raster_are_refused(self):
        with pytest.raises(GridFitError, match=r"a step of 0\.1 at 601 speeds is too much to search"):
            KNEED.fit_free(4, range(500, 6501, 10), 0.1)

    def test_a_step_typed_as_text_counts_as_its_number(self):
        assert KNEED.fit_to(KNEED_NODES, "0.5") == KNEED.fit_to(KNEED_NODES, 0.5)
