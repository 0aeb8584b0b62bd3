"""Targets to fit to a grid, and judges from outside: exhaustive search, integer and linear programming."""

import itertools
import math
from fractions import Fraction

import numpy as np
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from timing.curve import AdvanceCurve

# Handbook section 4, both worked cases: the target with a knee, and the factory band with its mid-line.
KNEED = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
KNEED_NODES = [500, 1000, 1500, 2500, 3500]
BAND = (
    AdvanceCurve([800, 1200, 1800, 3000, 4500], [0, 2, 10, 17, 22]),
    AdvanceCurve([800, 1200, 1800, 3000, 4500], [1, 6, 14, 21, 26]),
)
MID_LINE = BAND[0].blend(BAND[1], 0.5)
MID_LINE_NODES = [500, 1000, 2000, 3000, 4000, 5000]


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


def rounding(target, nodes, step, low=0, high=60):
    """The largest error if each node is rounded on its own."""
    whole = np.floor(np.asarray(target.advance(nodes)) / step + 0.5 + 1e-9)
    values = np.clip(whole, math.ceil(low / step), math.floor(high / step)) * step
    points = np.union1d(target.rpm, nodes)
    return np.abs(np.interp(points, nodes, values) - target.advance(points)).max()


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
