"""Groups one beneath another: each line lies on its figures, and what says nothing is not drawn."""

import pytest

from tests.timing.charts.drawn import corners, one
from timing.charts import ChartError, Row, rows_chart

ROWS = [
    Row("Factory band, 40 cars", 2.0, 1.0, 5.0, (1.0, 3.0)),
    Row("Blank, 2 cars"),
    Row("Another car", 1, 1, 3, (1, 2)),
]


def drawn(**more):
    return rows_chart(ROWS, uid="r", axis_name="versions", group_name="by start", **more)


def test_a_row_reaches_from_its_lowest_to_its_highest():
    chart = drawn()
    ends = [chart.plot.across.value(x) for x, _ in corners(one(chart.layers, "reach").d)]
    assert ends == pytest.approx([1, 5, 1, 3], abs=0.01)


def test_the_middle_half_and_the_middle_lie_on_the_same_line():
    chart = drawn()
    half = corners(one(chart.layers, "half").d)
    assert [chart.plot.across.value(x) for x, _ in half] == pytest.approx([1, 3, 1, 2], abs=0.01)
    strokes = corners(one(chart.layers, "middle").d)
    assert [chart.plot.across.value(x) for x, _ in strokes] == pytest.approx([2, 2, 1, 1], abs=0.01)
    assert sum(y for _, y in strokes[:2]) / 2 == pytest.approx(half[0][1], abs=0.01)


def test_what_so_few_say_is_named_and_not_drawn():
    chart = drawn()
    assert "Blank, 2 cars" in [text.text for text in chart.texts]
    assert "Blank, 2 cars: too few." in chart.description


def test_rows_stand_from_the_top_in_their_order():
    heights = [text.y for text in drawn().texts]
    assert heights == sorted(heights)


def test_a_phone_gets_the_same_rows():
    assert [text.text for text in drawn(width=360).texts] == [text.text for text in drawn().texts]


def test_shares_have_their_own_words_and_ends():
    chart = rows_chart(
        [Row("1 of 8", 12.5, 2, 47)],
        axis_name="share",
        group_name="by unit",
        suffix=" %",
        limits=(0, 100),
        reach_name="likely",
        middle_name="so far",
    )
    assert (chart.plot.across.low, chart.plot.across.high) == (0, 100)
    assert "so far 12.5 %, likely 2 % to 47 %" in chart.description


def test_without_a_group_there_is_nothing_to_draw():
    with pytest.raises(ChartError):
        rows_chart([], axis_name="hours", group_name="by stage")


def test_figures_that_do_not_rise_are_refused():
    with pytest.raises(ChartError):
        Row("wrong", 1.0, 2.0, 3.0)
