"""Held lines and grids, held against numpy.interp and scipy's interpolator on even, uneven and hopeless nodes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from timing.errors import TimingError
from timing.lookup import HeldGrid, HeldLine, TableError, common_raster, rising

NODES = {
    "on a raster of 100": [500, 800, 1000, 1400, 2200, 3500],
    "evenly apart": [0, 10, 20, 30],
    "inches of mercury in kPa": (np.array([0, 3, 5, 10, 18]) * 3.386388640341).tolist(),
    "on no raster": [503.7, 811.13, 1000, 1407.31, 2203.17, 3499.9],
    "far too unlike for a raster": [0, 1e-6, 1, 5000],
    "a single node": [1000.0],
    "two nodes": [10.159, 40.637],
    "below and above zero": [-60, -20, 0, 10, 25],
    "thirds": [0, 1 / 3, 2 / 3, 5 / 3],
}
node_lists = st.lists(st.integers(0, 8000), min_size=1, max_size=12, unique=True).map(sorted)


def around(nodes, count=2000, seed=1):
    """Samples in and beyond the nodes, each node itself and its neighbours among the numbers."""
    rng = np.random.default_rng(seed)
    reach = max(1.0, nodes[-1] - nodes[0])
    samples = rng.uniform(nodes[0] - 0.2 * reach, nodes[-1] + 0.2 * reach, count)
    edges = np.array(nodes, dtype=float)
    return np.concatenate([samples, edges, np.nextafter(edges, -np.inf), np.nextafter(edges, np.inf)])


@pytest.mark.parametrize("nodes", NODES.values(), ids=NODES.keys())
def test_a_line_is_what_numpy_interpolates(nodes):
    nodes = np.array(nodes, dtype=float)
    values = np.random.default_rng(3).uniform(-10, 40, nodes.size)
    samples = around(nodes)
    before = samples.copy()
    assert HeldLine(nodes, values).at(samples) == pytest.approx(np.interp(samples, nodes, values), abs=1e-9)
    assert (samples == before).all()


@given(node_lists, st.integers(0, 1000))
def test_a_line_is_what_numpy_interpolates_whatever_the_nodes(nodes, seed):
    nodes = np.array(nodes, dtype=float)
    values = np.random.default_rng(seed).uniform(-10, 40, nodes.size)
    samples = around(nodes, 50, seed)
    assert HeldLine(nodes, values).at(samples) == pytest.approx(np.interp(samples, nodes, values), abs=1e-9)


@pytest.mark.parametrize("speeds", [nodes for nodes in NODES.values() if nodes[0] >= 0 and len(nodes) > 1])
@pytest.mark.parametrize("vacua", [nodes for nodes in NODES.values() if len(nodes) > 1])
def test_a_grid_is_what_scipy_interpolates(speeds, vacua):
    values = np.random.default_rng(5).uniform(-10, 40, (len(vacua), len(speeds)))
    rpm, vacuum = around(speeds), around(vacua, seed=2)
    rpm = np.abs(np.resize(rpm, vacuum.size))
    held = np.column_stack([np.clip(vacuum, vacua[0], vacua[-1]), np.clip(rpm, speeds[0], speeds[-1])])
    expected = RegularGridInterpolator((vacua, speeds), values)(held)
    assert HeldGrid(rpm=speeds, vacuum=vacua, values=values).at(rpm=rpm, vacuum=vacuum) == pytest.approx(
        expected, abs=1e-9
    ), "scipy"


def test_a_grid_of_one_row_or_one_column_is_a_line():
    row = HeldGrid(rpm=[500, 1000], vacuum=[20], values=[[4.0, 8.0]])
    assert row.at(rpm=[500, 750, 2000], vacuum=[[0], [90]]).tolist() == [[4.0, 6.0, 8.0]] * 2
    column = HeldGrid(rpm=[500], vacuum=[20, 40], values=[[4.0], [8.0]])
    assert column.at(rpm=3000, vacuum=[0, 30, 90]).tolist() == [4.0, 6.0, 8.0]
    assert HeldGrid(rpm=[500], vacuum=[20], values=[[7.0]]).at(rpm=3, vacuum=4) == 7.0


def test_more_samples_than_fit_into_one_run_are_all_looked_up():
    rng = np.random.default_rng(7)
    rpm, vacuum = rng.uniform(0, 7000, 150_001), rng.uniform(-70, 90, 150_001)
    grid = HeldGrid(rpm=[500, 1000, 6000], vacuum=[-60, 0, 80], values=rng.uniform(0, 40, (3, 3)))
    together = grid.at(rpm=rpm, vacuum=vacuum)
    alone = np.array([grid.at(rpm=rpm[place], vacuum=vacuum[place]) for place in (0, 14_999, 15_000, 30_000, 150_000)])
    assert together[[0, 14_999, 15_000, 30_000, 150_000]] == pytest.approx(alone, abs=1e-12)
    bad = rpm.copy()
    bad[140_000] = -3.0
    with pytest.raises(TimingError, match=r"^engine speed must be 0 rpm or more, not -3"):
        grid.at(rpm=bad, vacuum=vacuum)


def test_no_samples_give_none():
    assert HeldGrid(rpm=[500, 1000], vacuum=[0, 50], values=np.zeros((2, 2))).at(rpm=[], vacuum=[]).shape == (0,)


@pytest.mark.parametrize(
    ("rpm", "vacuum", "said"),
    [
        (-0.001, 0, "engine speed must be 0 rpm or more"),
        (float("nan"), 0, "engine speed must be a finite number"),
        (float("inf"), 0, "engine speed must be a finite number"),
        (1000, float("nan"), "vacuum must be a finite number"),
        (1000, float("-inf"), "vacuum must be a finite number"),
        (1000, float("inf"), "vacuum must be a finite number"),
        ("fast", 0, "engine speed must be a number"),
        ([1, 2], [1, 2, 3], "speeds and vacuum readings do not go together: there are 2 and 3 of them"),
        (np.array([1000.0, np.nan]), 0.0, "engine speed must be a finite number"),
        (np.array([1000.0, np.inf]), 0.0, "engine speed must be a finite number"),
        (1000.0, np.array([20.0, np.inf]), "vacuum must be a finite number"),
        (1000.0, np.array([20.0, -np.inf]), "vacuum must be a finite number"),
    ],
)
def test_what_cannot_be_looked_up_is_refused(rpm, vacuum, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        HeldGrid(rpm=[500, 1000], vacuum=[0, 50], values=np.zeros((2, 2))).at(rpm=rpm, vacuum=vacuum)


def test_whole_numbers_are_looked_up_as_well():
    grid = HeldGrid(rpm=[500, 1000], vacuum=[0, 50], values=[[0, 10], [20, 30]])
    assert grid.at(rpm=np.array([500, 1000]), vacuum=np.array([0, 50])).tolist() == [0.0, 30.0]
    assert grid.at(rpm=750, vacuum=25) == 15.0


@pytest.mark.parametrize(
    ("rpm", "vacuum", "values", "said"),
    [
        ([1000, 500], [0, 50], np.zeros((2, 2)), "the speeds of a table must rise, but 500 rpm comes after 1000 rpm"),
        ([500, 500], [0, 50], np.zeros((2, 2)), "the speeds of a table must rise, but 500 rpm comes after 500 rpm"),
        ([500, 1000], [0, 0], np.zeros((2, 2)), "the vacuum nodes of a table must rise, but 0 kPa comes after 0 kPa"),
        ([], [0, 50], np.zeros((2, 0)), "the speeds of a table must be a list of at least one figure"),
        ([[500, 1000]], [0], np.zeros((1, 2)), "the speeds of a table must be a list"),
        ([-5, 1000], [0], np.zeros((1, 2)), "the speed of a column must be 0 rpm or more, not -5"),
        (
            [500, 1000, 2000],
            [0, 50],
            np.zeros((3, 2)),
            "the table needs 2 rows of vacuum and 3 columns of speed, not 3 by 2",
        ),
        ([500], [0], 5.0, "the table needs 1 rows of vacuum and 1 columns of speed, not a single figure"),
        ([500], [0], [[np.nan]], "a value of the table must be a finite number"),
    ],
)
def test_a_table_that_does_not_fit_its_nodes_is_refused(rpm, vacuum, values, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        HeldGrid(rpm=rpm, vacuum=vacuum, values=values)


def test_nodes_closer_than_any_instrument_tells_are_one_node_twice():
    assert rising([1.0, 1.0 + 2e-9], "the nodes", "kPa").size == 2
    with pytest.raises(TableError, match=r"^the nodes must rise, but 1 kPa comes after 1 kPa"):
        rising([1.0, 1.0 + 5e-10], "the nodes", "kPa")


@pytest.mark.parametrize(
    ("nodes", "step", "source"),
    [
        ([500, 800, 1000, 1400], 100, "largest common divisor of 300, 200 and 400"),
        ([0, 10, 20], 10, "evenly apart"),
        ([7, 10], 3, "two nodes are always on a raster"),
        ([0, 6, 10, 25], 1, "largest common divisor of 6, 4 and 15"),
        ([0, 2.5, 4.0], 0.5, "largest common divisor of 5/2 and 3/2"),
        ([0, 1, 2049], None, "finer than is of use"),
        ([0, 1, 2048], 1, "just coarse enough"),
        ([0, 1, 1 + 2**0.5], None, "no common divisor"),
        ([3], None, "one node has no distance"),
    ],
)
def test_the_widest_raster_that_holds_every_node(nodes, step, source):
    found = common_raster(np.array(nodes, dtype=float))
    assert found == (None if step is None else pytest.approx(step, rel=1e-12)), source


@given(st.lists(st.integers(0, 2000), min_size=2, max_size=10, unique=True).map(sorted), st.floats(0.01, 100))
def test_the_raster_is_the_greatest_common_divisor(places, scale):
    gaps = np.diff(places)
    expected = int(np.gcd.reduce(gaps))
    found = common_raster(np.array(places) * scale)
    assert found == pytest.approx(expected * scale, rel=1e-9), "numpy.gcd"
