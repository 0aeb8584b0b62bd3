"""The door itself: what is a figure however it is wrapped, and what is none however deep it lies."""

import numpy as np
import pytest

from timing.errors import TimingError
from timing.inputs import finite


def wrapped_in_itself():
    array = np.empty(1, dtype=object)
    array[0] = array
    return array


def nested(levels):
    figures = 1.0
    for _ in range(levels):
        figures = [figures]
    return figures


def test_figures_in_an_array_of_objects_are_figures():
    assert finite(np.array([1, 2.5], dtype=object), "the figure").tolist() == [1.0, 2.5]


@pytest.mark.parametrize(
    "nothing", [wrapped_in_itself(), nested(40), np.array(["12"], dtype=object), np.array([[True]], dtype=object)]
)
def test_what_is_no_figure_is_refused_however_it_is_wrapped(nothing):
    with pytest.raises(TimingError, match=r"^the figure must be a number$"):
        finite(nothing, "the figure")
