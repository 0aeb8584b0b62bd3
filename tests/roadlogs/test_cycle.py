"""A published driving cycle from its file to the cells of the map, against numpy and scipy."""

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import binned_statistic_2d

from jobs.demo.road_log import CAR
from jobs.roadlogs.felt import knock_events, times_in_cells
from jobs.roadlogs.findings import Shown
from jobs.roadlogs.kept_figures import figures_kept
from tests.roadlogs.conftest import read
from tests.roadlogs.cycle import CYCLE_M, ELEMENTARY, HIGHEST_KMH, MEAN_KMH, PHASES_S, phase, speed_of_cycle

pytestmark = pytest.mark.django_db


def test_the_cycle_has_the_length_and_the_speeds_of_the_regulation():
    t_s, speed = speed_of_cycle(times=1)
    metres = np.trapezoid(speed / 3.6, t_s)
    assert metres == pytest.approx(CYCLE_M, abs=5.0)
    assert metres / t_s[-1] * 3.6 == pytest.approx(MEAN_KMH, abs=0.5)
    assert speed.max() == HIGHEST_KMH


def test_the_cycle_has_the_seconds_of_the_regulation_in_each_phase():
    seconds: Counter[str] = Counter()
    for (begins, from_kmh), (ends, to_kmh) in pairwise(ELEMENTARY):
        seconds[phase(ends - begins, from_kmh, to_kmh)] += ends - begins
    assert seconds == PHASES_S


def test_every_row_of_the_log_is_kept_as_it_was_written(run, actor, cycle, cycle_csv):
    log = read(run, actor, cycle_csv)
    kept = figures_kept(log.figures, "rpm", "vacuum")
    written = np.loadtxt(cycle_csv.decode().splitlines(), delimiter=",", skiprows=3)
    assert (log.rows_read, log.rows_bad) == (cycle.t_s.size, 0)
    np.testing.assert_allclose(kept.t_s, written[:, 0], atol=1e-9)
    np.testing.assert_allclose(kept.columns["rpm"], written[:, 1], rtol=1e-7)
    np.testing.assert_allclose(kept.columns["vacuum"], CAR.barometer_kpa - written[:, 2], atol=1e-4)


def test_seconds_and_mean_advance_in_each_cell_are_those_of_numpy_and_scipy(run, actor, cycle_csv):
    log = read(run, actor, cycle_csv)
    shown, kept = Shown.from_json(log.shown), figures_kept(log.figures, "rpm", "vacuum")
    rpm, vacuum = kept.columns["rpm"].astype(float), kept.columns["vacuum"].astype(float)
    across, up = shown.grid.edges()
    edges = [[-np.inf, *up, np.inf], [-np.inf, *across, np.inf]]
    held = np.append(np.diff(kept.t_s), 0.0)
    seconds, _, _ = np.histogram2d(vacuum, rpm, bins=edges, weights=held)
    np.testing.assert_allclose(shown.seconds, seconds, atol=1e-3)

    given = log.run.map_version.delivered_map().total(rpm=rpm, vacuum=vacuum)
    # scipy takes no open edges: those beyond every sample do the same.
    closed = [[-1e6, *up, 1e6], [-1e6, *across, 1e6]]
    # each sample counts as long as every other here, but for the last, which counts for nothing
    mean = binned_statistic_2d(vacuum[:-1], rpm[:-1], np.asarray(given)[:-1], "mean", bins=closed).statistic
    ours = np.array([[np.nan if cell is None else cell for cell in row] for row in shown.advance])
    np.testing.assert_allclose(ours, mean, atol=0.006)


def test_where_the_engine_was_is_told_to_whoever_proposes_the_next_version(run, actor, cycle_csv):
    log = read(run, actor, cycle_csv)
    cells = times_in_cells(run)
    grid = Shown.from_json(log.shown).grid
    assert sum(seconds for _, _, seconds in cells) == pytest.approx(log.duration_s, abs=0.5)
    assert {rpm for rpm, _, _ in cells} <= set(grid.rpm)
    assert {vacuum for _, vacuum, _ in cells} <= set(grid.vacuum)


def test_a_knock_above_the_limit_is_one_event_at_its_loudest(run, actor):
    rows = ["time,rpm,map (kPa),knock"]
    levels = {20: 60, 21: 90, 22: 70, 40: 55, 60: 30}
    rows += [f"{t / 10:.1f},{2400 + t},{95 - t / 10:.1f},{levels.get(t, 10)}" for t in range(100)]
    read(run, actor, "\n".join(rows).encode(), knock_limit=50.0)
    first, second = knock_events(run)
    assert (first.rpm, first.level, first.seconds) == (2421.0, 90.0, pytest.approx(0.3))
    assert first.vacuum == pytest.approx(CAR.barometer_kpa - 92.9, abs=0.01)
    assert (first.when - run.begun_at).total_seconds() == pytest.approx(2.0)
    assert second.rpm == 2440.0


def test_without_a_limit_a_knock_level_is_no_event(run, actor):
    rows = ["time,rpm,map (kPa),knock", *(f"{t},2400,95,{t}" for t in range(100))]
    read(run, actor, "\n".join(rows).encode())
    assert knock_events(run) == []
