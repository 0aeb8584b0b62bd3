"""A start in the middle of several maps: the spark is counted, not the curve."""

import numpy as np
import pytest

from tests.timing.spread.test_band import maps_of
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.spread import middle_map
from timing.vacuum import VacuumRamp


@pytest.mark.parametrize("base", [2.0, 4.0])
def test_its_total_is_the_median_of_the_totals_whatever_its_base(base):
    """numpy.median of the totals, map by map; bases low enough that no curve would go below them."""
    maps = maps_of(12)
    speeds = [1000.0, 2000.0, 3000.0, 4000.0]
    middle = middle_map(maps, base_deg=base, rpm=speeds)
    for rpm in speeds:
        expected = np.median([one.total(rpm=rpm, vacuum=0.0) for one in maps])
        assert middle.total(rpm=rpm, vacuum=0.0) == pytest.approx(expected, abs=0.006)


def with_part(part):
    return IgnitionMap(8.0, AdvanceCurve([800, 3000], [0, 18]), part)


def test_the_curve_never_goes_below_the_base_timing():
    """By hand: 8 degrees at idle in every car, and a car whose base is 12."""
    middle = middle_map([with_part(None)] * 3, base_deg=12.0, rpm=[800, 3000])
    assert middle.curve == AdvanceCurve([800, 3000], [0, 14])


def test_the_ramp_has_the_medians_of_the_ramps():
    """By hand."""
    ramps = [VacuumRamp(10, 40, 12), VacuumRamp(12, 45, 10, 1500), VacuumRamp(14, 41, 14)]
    middle = middle_map([with_part(ramp) for ramp in ramps], base_deg=8.0, rpm=[800, 3000])
    assert middle.vacuum == VacuumRamp(12, 41, 12)


@pytest.mark.parametrize("without", [3, 4])
def test_where_half_of_the_cars_or_more_have_no_ramp_there_is_none(without):
    maps = [with_part(VacuumRamp(10, 40, 12))] * 3 + [with_part(None)] * without
    assert middle_map(maps, base_deg=8.0, rpm=[800, 3000]).vacuum is None


def test_two_cars_have_no_middle():
    assert middle_map([with_part(None)] * 2, base_deg=8.0, rpm=[800, 3000]) is None


def test_what_belongs_to_a_car_is_left_open():
    middle = middle_map(maps_of(5), base_deg=8.0, rpm=[800, 3000])
    assert (middle.dwell_ms, middle.rev_limit_rpm, middle.trigger) == (None, None, None)
