"""What a cell of the surface is the sum of, in words."""

import math
import re

import pytest

from timing.charts import sums_in_words
from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.surface import TotalAdvance
from timing.vacuum import BoostRetard, VacuumRamp

# The vacuum ramp of the handbook's section 4: 0, 4.666667, 7, 14, 14 degrees at 10, 20, 25, 40, 60 kPa.
TOTAL = TotalAdvance(8, AdvanceCurve([800, 2500, 3500], [0, 17, 22]), VacuumRamp(10, 40, 14))
BOOSTED = TotalAdvance(10, AdvanceCurve([1000], [12]), None, BoostRetard([0, 80], [0, 8]))


def test_a_cell_is_explained_as_a_sum():
    says = sums_in_words(TOTAL, rpm=[800, 2500], vacuum=[0, 20])
    assert says[1][1] == "8° base + 17° speed + 4.7° vacuum = 29.7°"
    assert says[0][0] == "8° base + 0° speed = 8°"


def test_rows_are_vacuum_and_columns_are_speed():
    says = sums_in_words(TOTAL, rpm=[800, 2500, 3500], vacuum=[0, 40])
    assert [[sentence.split(" = ")[1] for sentence in row] for row in says] == [
        ["8°", "25°", "30°"],
        ["22°", "39°", "44°"],
    ]
    assert isinstance(says, tuple)
    assert isinstance(says[0], tuple)


def test_one_speed_and_one_vacuum_are_a_table_of_one():
    assert sums_in_words(TOTAL, rpm=2500, vacuum=25) == (("8° base + 17° speed + 7° vacuum = 32°",),)


@pytest.mark.parametrize(
    ("vacuum", "sentence"),
    [
        (-40, "10° base + 12° speed − 4° boost = 18°"),  # half way to 80 kPa of boost: half of 8 degrees
        (-80, "10° base + 12° speed − 8° boost = 14°"),
        (0, "10° base + 12° speed = 22°"),
        (40, "10° base + 12° speed = 22°"),
    ],
)
def test_boost_is_taken_away_and_named_only_where_it_acts(vacuum, sentence):
    assert sums_in_words(BOOSTED, rpm=[2000], vacuum=[vacuum]) == ((sentence,),)


def test_a_curve_that_retards_is_taken_away_from_the_base():
    falling = TotalAdvance(10, AdvanceCurve([1000, 2000], [0, -6]), None)
    assert sums_in_words(falling, rpm=[2000], vacuum=[0]) == (("10° base − 6° speed = 4°",),)


def test_the_parts_of_every_sentence_add_up_to_its_total():
    for row in sums_in_words(TOTAL, rpm=range(500, 6500, 500), vacuum=range(0, 80, 10)):
        for sentence in row:
            added, total = sentence.replace("−", "-").split(" = ")
            parts = [float(figure) for figure in re.findall(r"-?[\d.]+(?=°)", added.replace("- ", "-"))]
            assert sum(parts) == pytest.approx(float(total.rstrip("°")), abs=0.15 + 1e-9)  # each to a tenth


@pytest.mark.parametrize(
    ("rpm", "vacuum", "message"),
    [
        ([math.nan], [0], "^engine speed must be a finite number"),
        ([1000], [math.inf], "^vacuum must be a finite number"),
        ([-1], [0], "engine speed"),
    ],
)
def test_nodes_that_are_none_are_refused(rpm, vacuum, message):
    with pytest.raises(TimingError, match=f"^{message}"):
        sums_in_words(TOTAL, rpm=rpm, vacuum=vacuum)
