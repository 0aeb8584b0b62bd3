"""The band of several maps, against numpy's own percentiles of their totals, car by car and speed by speed."""

import numpy as np
import pytest
from statsmodels.stats.weightstats import DescrStatsW

from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap
from timing.spread import advance_band, vacuum_band
from timing.vacuum import VacuumRamp, VacuumTable

SPEEDS = np.arange(500.0, 6001.0, 250.0)


def maps_of(count: int, seed: int = 4) -> list[IgnitionMap]:
    """Maps that differ in everything: base, curve, vacuum part and rev limit."""
    draw = np.random.default_rng(seed)
    made = []
    for which in range(count):
        curve = AdvanceCurve([800, 1500, 3000, 4500], np.cumsum(draw.uniform(0, 10, 4)))
        part = [
            None,
            VacuumRamp(*np.cumsum(draw.uniform(5, 25, 2)), draw.uniform(4, 14), 1200.0),
            VacuumTable(rpm=[1000, 4000], vacuum=[10, 60], degrees=draw.uniform(0, 12, (2, 2))),
        ][which % 3]
        limit = [None, 5200.0, 6800.0][which % 3 if which % 2 else 0]
        made.append(IgnitionMap(draw.uniform(4, 12), curve, part, rev_limit_rpm=limit))
    return made


@pytest.mark.parametrize("vacuum", [0.0, 40.0])
@pytest.mark.parametrize("count", [3, 4, 11, 40])
def test_every_quarter_is_the_percentile_of_the_cars_that_rev_so_high(count, vacuum):
    maps = maps_of(count)
    band = advance_band(maps, rpm=SPEEDS, vacuum=vacuum)
    for place, rpm in enumerate(SPEEDS):
        totals = [m.total(rpm=rpm, vacuum=vacuum) for m in maps if m.rev_limit_rpm is None or rpm <= m.rev_limit_rpm]
        assert band.count[place] == len(totals)
        if len(totals) < 3:
            continue
        expected = np.percentile(totals, [0, 25, 50, 75, 100])
        found = [
            band.lowest[place],
            band.quarter[place],
            band.median[place],
            band.three_quarters[place],
            band.highest[place],
        ]
        assert found == pytest.approx(expected, abs=1e-9)


def test_the_middle_of_an_odd_number_of_cars_is_the_weighted_median_of_statsmodels():
    """DescrStatsW.quantile has another definition of quarters, and the same of the middle of an odd number."""
    maps = maps_of(21)
    band = advance_band(maps, rpm=[3000.0])
    totals = np.array([one.total(rpm=3000.0, vacuum=0.0) for one in maps])
    assert band.median[0] == pytest.approx(DescrStatsW(totals).quantile([0.5], return_pandas=False)[0])


def test_below_three_cars_there_is_no_figure_but_their_number():
    """By hand: three cars, two of which stop at 5,000 rpm."""
    curve = AdvanceCurve([1000, 3000], [0, 20])
    maps = [IgnitionMap(8.0, curve, rev_limit_rpm=limit) for limit in (5000.0, 5000.0, 7000.0)]
    band = advance_band(maps, rpm=[3000.0, 6000.0])
    assert band.count.tolist() == [3, 1]
    assert band.rows() == [(3000.0, 28.0, 28.0, 28.0)]
    assert np.isnan(band.median[1])


def test_without_any_map_nothing_is_said():
    band = advance_band([], rpm=SPEEDS)
    assert band.count.sum() == 0
    assert band.rows() == []


def test_what_vacuum_adds_counts_maps_without_a_vacuum_part_as_nought():
    """By hand: ramps of 6 and 12 degrees, full at 40 kPa, half of it at 25, and a car without."""
    curve = AdvanceCurve([1000], [0])
    maps = [IgnitionMap(8.0, curve, part) for part in (None, VacuumRamp(10, 40, 6), VacuumRamp(10, 40, 12))]
    band = vacuum_band(maps, vacuum=[0, 25, 40], rpm=2500.0)
    assert band.median.tolist() == [0.0, 3.0, 6.0]
    assert band.three_quarters.tolist() == [0.0, 4.5, 9.0]


@pytest.mark.parametrize("rpm", [[-1.0], 3000.0, [float("inf")]])
def test_speeds_that_are_none_are_refused(rpm):
    with pytest.raises(TimingError):
        advance_band(maps_of(3), rpm=rpm)


def test_boost_is_no_vacuum():
    with pytest.raises(TimingError):
        vacuum_band(maps_of(3), vacuum=[-10.0], rpm=2500.0)
