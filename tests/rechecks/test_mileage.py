"""How far a car goes in a year. Reckoned by hand: 365.25 days a year, 1.609344 km a mile (international mile, 1959)."""

from datetime import date, timedelta

import pytest

from jobs.rechecks.mileage import Reading, mileage

FIRST = date(2025, 5, 3)


def readings(*pairs):
    return [Reading(FIRST + timedelta(days=days), km) for days, km in pairs]


def test_a_year_s_distance_is_what_lies_between_the_first_and_the_last_reading():
    # 2000 km in 146.1 days, which is 0.4 of a year (to the day: 146)
    found = mileage(readings((0, 10_000), (70, 11_500), (146, 12_000)), "km")
    assert found.km_a_year == pytest.approx(2000 / 146 * 365.25)


def test_it_does_not_matter_in_which_order_they_were_read():
    assert mileage(readings((146, 12_000), (0, 10_000)), "km") == mileage(readings((0, 10_000), (146, 12_000)), "km")


def test_it_says_what_it_is_reckoned_from_in_the_unit_of_the_odometer():
    found = mileage(readings((0, 1.609344 * 31_882), (365, 1.609344 * 36_200)), "miles")
    assert found.words == "about 4300 miles a year: 31882 on 3 May 2025, 36200 on 3 May 2026"


def test_after_an_odometer_went_back_only_what_was_read_since_counts():
    found = mileage(readings((0, 99_000), (100, 200), (200, 1_200)), "km")
    assert found.km_a_year == pytest.approx(1000 / 100 * 365.25)


@pytest.mark.parametrize(
    "pairs",
    [(), ((0, 100),), ((0, 100), (59, 900)), ((0, 100), (200, 100)), ((0, 900), (200, 100))],
    ids=["none", "one", "too near", "did not move", "went back"],
)
def test_readings_that_say_nothing_of_a_year_give_none(pairs):
    assert mileage(readings(*pairs), "km") is None
