"""Four hundred cars whose truth is known: what the page says is held against what they were made of.

The figures of the other side are those of numpy, the standard library and statsmodels over the arrays the cars were
drawn from.
"""

import statistics
from collections import Counter
from datetime import timedelta

import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from jobs.learning.hours import hours_by_stage
from jobs.learning.maps_that_stayed import maps_that_stayed
from jobs.learning.returns import returns
from jobs.learning.road_changes import WIDE_OPEN, road_changes
from jobs.learning.starts import starts
from jobs.learning.unit_failures import unit_failures
from tests.learning.made_workshop import LESS_AT, NOW

pytestmark = pytest.mark.django_db

ALDER = "Alder B"
YEAR = timedelta(days=365)


def codes(behind) -> set[str]:
    return {car.code for car in behind.cars}


@pytest.mark.parametrize("vacuum", [0.0, 40.0])
def test_the_band_has_the_percentiles_of_what_the_cars_were_made_of(made, alders, vacuum):
    maps = maps_that_stayed(alders, vacuum_kpa=vacuum)
    cars = made.of(ALDER)
    assert maps.count == len(cars) == 240
    band = maps.with_vacuum
    for place, rpm in enumerate(band.at):
        totals = [car.map.total(rpm=rpm, vacuum=vacuum) for car in cars if rpm <= car.map.rev_limit_rpm]
        assert band.count[place] == len(totals)
        if totals:
            found = (band.quarter[place], band.median[place], band.three_quarters[place])
            assert found == pytest.approx(np.percentile(totals, [25, 50, 75]), abs=1e-9)


def test_the_table_says_what_the_picture_shows_and_leads_to_its_cars(made, alders):
    maps = maps_that_stayed(alders, vacuum_kpa=40.0)
    drawn = {rpm: row for rpm, *row in maps.open.rows()}
    assert [row.rpm for row in maps.speeds] == [rpm for rpm in drawn if rpm % 500 == 0]
    for row in maps.speeds:
        assert [row.open.quarter, row.open.median, row.open.three_quarters] == pytest.approx(drawn[row.rpm])
        assert codes(row.behind) == {car.code for car in made.of(ALDER) if row.rpm <= car.map.rev_limit_rpm}


def test_settings_are_summed_up_as_numpy_does(made, alders):
    base = maps_that_stayed(alders, vacuum_kpa=0.0).settings[0]
    expected = np.percentile([car.map.base_deg for car in made.of(ALDER)], [0, 25, 50, 75, 100])
    found = base.spread
    assert [found.lowest, found.quarter, found.median, found.three_quarters, found.highest] == pytest.approx(expected)


def test_what_was_taken_away_after_road_tests_is_found_where_it_was(made, alders):
    changes = road_changes(alders, vacuum_kpa=40.0)
    driven = [car for car in made.of(ALDER) if car.versions > 1]
    taken = [car for car in driven if car.less]
    assert (changes.driven, changes.cars) == (len(driven), len(driven))
    at = {(row.rpm, row.where): row for row in changes.changes}
    row = at[LESS_AT, WIDE_OPEN]
    assert codes(row.less) == {car.code for car in taken}
    assert row.more.count == 0
    assert row.change.typical_less == pytest.approx(
        statistics.median(car.less * (car.versions - 1) for car in taken), abs=1e-9
    )


def test_at_the_points_that_nobody_touched_no_change_is_claimed(alders):
    """The points of every curve are 800, 1500, 2500, 3500 and 4500 rpm; only the middle one was changed."""
    speeds = {row.rpm for row in road_changes(alders, vacuum_kpa=40.0).changes}
    assert speeds <= {2000.0, 2500.0, 3000.0}


def test_road_notes_are_counted_by_car_and_not_by_note(made, alders):
    noted = road_changes(alders, vacuum_kpa=40.0).noted
    assert [(row.label, row.speeds) for row in noted] == [("pinking", "2500 rpm")]
    assert codes(noted[0].behind) == {car.code for car in made.of(ALDER) if car.versions > 1}


def test_each_start_has_its_cars_and_the_versions_they_needed(made, alders):
    rows = {row.label: row for row in starts(alders).rows}
    labels = {"Template curve ‘Warm road’": "the template", "Factory band": "the middle", "Blank": "a blank"}
    assert rows.keys() == labels.keys()
    for label, words in labels.items():
        needed = [car.versions for car in made.of(ALDER) if car.start.startswith(words)]
        row = rows[label]
        assert row.behind.count == len(needed)
        quarters = statistics.quantiles(needed, n=4, method="inclusive")
        assert [row.spread.quarter, row.spread.median, row.spread.three_quarters] == quarters
        assert row.at_once.count == needed.count(1)
        assert (row.at_once.low, row.at_once.high) == pytest.approx(
            proportion_confint(needed.count(1), len(needed), method="wilson")
        )


def test_starts_that_needed_fewest_versions_stand_first(alders):
    rows = starts(alders).rows
    order = [(row.spread.median, -row.at_once.count / row.at_once.of) for row in rows]
    assert order == sorted(order)


def test_hours_are_summed_up_by_the_stage_they_were_added_at(made, alders):
    rows = {row.label: row for row in hours_by_stage(alders).rows}
    assert list(rows) == ["fitting", "map", "whole job"]
    for stage in ("fitting", "map"):
        spent = [car.hours[stage] for car in made.of(ALDER)]
        assert rows[stage].spread.median == statistics.median(spent)
    assert rows["whole job"].spread.median == statistics.median(sum(car.hours.values()) for car in made.of(ALDER))


def test_returns_are_those_within_a_year_of_cars_that_have_had_their_year(made, alders):
    found = returns(alders, now=NOW)
    had = [car for car in made.of(ALDER) if NOW - car.handed_over >= YEAR]
    back = [car for car in had if car.came_back_after is not None and car.came_back_after <= 365]
    assert (found.share.count, found.share.of) == (len(back), len(had))
    assert codes(found.with_fault) == {car.code.replace("20-", "27-") for car in back}
    assert (found.share.low, found.share.high) == pytest.approx(
        proportion_confint(len(back), len(had), method="wilson")
    )


def test_a_return_says_why(alders):
    assert all("Pinks on the hill." in car.said for car in returns(alders, now=NOW).with_fault.cars)


def test_a_car_that_is_out_for_less_than_a_year_is_in_no_share(made):
    from jobs.learning.group import group_of
    from jobs.likeness.like import Likeness

    found = returns(group_of(Likeness()), now=NOW)
    early = [car for car in made.cars if NOW - car.handed_over < YEAR]
    assert found.not_a_year_yet == len(early) > 0
    back = {car.code.replace("20-", "27-") for car in early if car.came_back_on is not None and car.came_back_on < NOW}
    assert codes(found.back_already) == back


def test_units_are_counted_by_firmware_with_those_that_were_replaced(made, alders):
    rows = {row.label: row for row in unit_failures(alders).rows}
    cars = made.of(ALDER)
    fitted = Counter(car.firmware for car in cars)
    replaced = Counter(car.firmware for car in cars if car.replaced)
    for firmware, count in fitted.items():
        row = rows[f"Bittern 12, firmware {firmware}"]
        assert (row.units.count, row.replaced.count) == (count, replaced[firmware])
        assert (row.share.low, row.share.high) == pytest.approx(
            proportion_confint(replaced[firmware], count, method="wilson")
        )
