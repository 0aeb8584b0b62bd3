"""How a drawing speaks, and the room its figures take."""

import pytest

from timing.charts.layout import room_beside
from timing.charts.page import ASIDE, GAP, Axis, degrees_axis, plain_axis, width_of
from timing.charts.text import opening


@pytest.mark.parametrize(
    ("words", "opened"),
    [
        ("running 12.8 V", "Running 12.8 V"),
        ("near TDC", "Near TDC"),
        ("8° BTDC", "8° BTDC"),
        ("", ""),
    ],
)
def test_a_sentence_begins_large_and_leaves_units_and_initials_alone(words, opened):
    assert opening(words) == opened


@pytest.mark.parametrize(
    ("axis", "longest"),
    [
        (plain_axis(0, 3, "ms", 6), "0.5"),  # longer than the '3' at its end
        (plain_axis(0, 0.4, "ms"), "0.05"),
        (plain_axis(0, 200, "mJ"), "200"),
        (degrees_axis(-10, 25, "degrees"), "−10°"),
        (Axis(-2, 2, "late", 0.1, 0.5, (0.5,), "°", 1), "−0.5°"),
    ],
)
def test_the_longest_figure_beside_a_plot_has_its_room(axis, longest):
    assert room_beside(axis) == pytest.approx(width_of(longest) + ASIDE + GAP)
