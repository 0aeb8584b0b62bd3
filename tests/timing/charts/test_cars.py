"""The band of several cars lies where its figures say, ends where too few cars speak, and is told in words."""

import pytest

from tests.timing.charts.drawn import figures, one
from timing.charts import ChartError, speed_chart, vacuum_chart

CARS = [(800, 8, 9, 10), (3000, 24, 26, 29)]
RPM, DEG = 0.2, 0.005


def test_the_middle_lies_where_it_is_and_is_not_held_beyond_its_ends():
    chart = speed_chart(uid="c", cars=CARS, cars_name="11 like this one", delivered=[(500, 8), (6000, 30)])
    line = figures(one(chart.layers, "cars-middle"), chart.plot)
    assert [rpm for rpm, _ in line] == pytest.approx([800, 3000], abs=RPM)
    assert [height for _, height in line] == pytest.approx([9, 26], abs=DEG)


def test_the_pale_half_goes_from_quarter_to_three_quarters():
    chart = speed_chart(uid="c", cars=CARS)
    corners = figures(one(chart.under, "cars"), chart.plot)
    assert [height for _, height in corners] == pytest.approx([8, 24, 29, 10], abs=DEG)


def test_the_key_and_the_words_say_which_cars():
    chart = speed_chart(uid="c", cars=CARS, cars_name="11 like this one")
    assert [entry.text.text for entry in chart.key] == ["11 like this one: middle half", "median"]
    assert "11 like this one, median: 9° at 800 (middle half 8° to 10°), 26° at 3000" in chart.description


def test_over_vacuum_it_is_drawn_and_told_as_well():
    chart = vacuum_chart(uid="v", cars=[(0, 0, 0, 0), (12.5, 4, 6, 8)], cars_name="40 cars", pressure_unit="inHg")
    assert [height for _, height in figures(one(chart.layers, "cars-middle"), chart.plot)] == pytest.approx(
        [0, 6], abs=DEG
    )
    assert "6° at 12.5 (middle half 4° to 8°) inHg" in chart.description


@pytest.mark.parametrize(
    "wrong", [[(800, 10, 9, 11)], [(800, 8, 9, 8.5)], [(800, 8, 9)], [(900, 1, 2, 3), (800, 1, 2, 3)]]
)
def test_what_is_no_band_is_refused(wrong):
    with pytest.raises(ChartError):
        speed_chart(uid="c", cars=wrong)
