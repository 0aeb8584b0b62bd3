"""What a chart is given is checked where it enters, and refused by the name of its layer."""

import pytest

from timing.charts import ChartError, band_rows
from timing.charts.points import axis_ends, optional, triples
from timing.curve import AdvanceCurve
from timing.distributor import FactoryBand
from timing.errors import TimingError

BAND = FactoryBand(AdvanceCurve([800, 3000], [0, 17]), AdvanceCurve([1200, 3000], [6, 21]))


def said(ask, *given, **more):
    with pytest.raises(TimingError) as refusal:
        ask(*given, **more)
    return str(refusal.value)


def test_a_band_has_a_row_at_every_node_of_either_edge():
    assert band_rows(BAND) == triples(BAND, "the band")
    assert [rpm for rpm, _, _ in band_rows(BAND)] == [800, 1200, 3000]
    # By hand: 17 degrees over 2200 rpm, 400 of them; base timing of 8 added.
    low = pytest.approx(8 + 17 * 400 / 2200)
    assert band_rows(BAND, 8)[1] == (1200, low, 14)


def test_a_base_that_is_no_number_is_refused_by_its_name():
    assert said(band_rows, BAND, None) == "base timing must be a number"


def test_what_is_no_band_is_refused_by_its_name():
    assert said(triples, 5, "the band") == "the band must be a list of points"


def test_a_figure_may_be_left_out():
    assert optional(None, "the rev limit") is None
    assert optional(0, "the rev limit", low=0, unit="rpm") == 0.0
    assert optional(-5, "the step") == -5.0
    assert said(optional, -1, "the rev limit", low=0, unit="rpm") == "the rev limit must be 0 rpm or more, not -1"
    assert said(optional, -1, "the step", low=0) == "the step must be 0 or more, not -1"


def test_the_ends_of_an_axis_are_two_figures_or_left_to_the_drawing():
    assert axis_ends(None, "the ends") is None
    assert axis_ends([0, 40], "the ends") == (0.0, 40.0)
    for wrong in ([0], [0, 1, 2], 5, [[0, 1]]):
        with pytest.raises(ChartError, match=r"^the ends must be two figures, the lower and the upper$"):
            axis_ends(wrong, "the ends")
    assert said(axis_ends, "ab", "the ends") == "the ends must be a number"
