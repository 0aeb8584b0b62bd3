"""Total advance: handbook values, hand sums, and scipy's interpolator over the same table."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.surface import TotalAdvance
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

# The speed curve and the vacuum ramp worked in section 4 of the handbook.
CURVE = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
RAMP = VacuumRamp(10, 40, 14)
BOOST = BoostRetard([10, 60], [0, 10])
TABLE = VacuumTable(rpm=[800, 2000, 3500], vacuum=[0, 20, 50], degrees=[[0, 0, 0], [2, 6, 8], [4, 12, 16]])


@pytest.mark.parametrize(
    ("rpm", "vacuum", "expected", "source"),
    [
        (500, 0, 10, "base alone"),
        (0, 0, 10, "below the first node the curve is held"),
        (1000, 5, 12, "10 + 2, vacuum below its start"),
        (1000, 25, 19, "10 + 2 + 7, handbook section 4"),
        (1500, 40, 33.75, "10 + 9.75 + 14, handbook section 4, A0"),
        (2500, 60, 40.6153846, "10 + 16.615385 + 14, handbook section 4, A0"),
        (6000, 0, 32, "10 + 22, above the last node"),
        (3500, -10, 32, "boost where the retard begins"),
        (3500, -35, 27, "10 + 22 - 5, half way through the retard"),
        (3500, -200, 22, "10 + 22 - 10, the retard is held"),
    ],
)
def test_total_advance_is_the_sum_of_its_parts(rpm, vacuum, expected, source):
    surface = TotalAdvance(10, CURVE, RAMP, BOOST)
    assert surface.advance(rpm=rpm, vacuum=vacuum) == pytest.approx(expected, abs=1e-6), source


@pytest.mark.parametrize(
    "vacuum_part", [None, RAMP, VacuumRamp(10, 40, 14, 1200), TABLE], ids=["none", "ramp", "late", "table"]
)
@pytest.mark.parametrize("boost_part", [None, BOOST], ids=["no boost", "boost"])
@given(rpm=st.floats(0, 9000), vacuum=st.floats(-150, 100))
def test_parts_add_up_to_the_total(vacuum_part, boost_part, rpm, vacuum):
    surface = TotalAdvance(8.5, CURVE, vacuum_part, boost_part)
    parts = surface.parts(rpm=rpm, vacuum=vacuum)
    assert parts.base == 8.5
    assert parts.speed == pytest.approx(np.interp(rpm, CURVE.rpm, CURVE.degrees), abs=1e-12), "numpy"
    assert parts.vacuum == (0 if vacuum_part is None else vacuum_part.advance(vacuum=vacuum, rpm=rpm))
    assert parts.boost == (0 if boost_part is None else -boost_part.retard(-vacuum))
    assert parts.boost <= 0
    assert parts.total == pytest.approx(parts.base + parts.speed + parts.vacuum + parts.boost, abs=1e-12)
    assert surface.advance(rpm=rpm, vacuum=vacuum) == pytest.approx(parts.total, abs=1e-9)


def test_one_cell_explained_as_a_sum():
    parts = TotalAdvance(10, CURVE, RAMP, BOOST).parts(rpm=1000, vacuum=25)
    assert parts == pytest.approx((10, 2, 7, 0, 19)), "handbook section 4"
    assert {type(part) for part in parts} == {float}
    assert str(parts.boost) == "0.0", "no retard carries no sign"


def test_parts_of_many_cells_have_the_shape_of_the_total():
    parts = TotalAdvance(10, CURVE, RAMP, BOOST).parts(rpm=[1000, 1500, 3500], vacuum=[[25], [-35]])
    assert [part.shape for part in parts] == [(2, 3)] * 5
    assert parts.boost.tolist() == [[0, 0, 0], [-5, -5, -5]]
    parts.speed[0, 0] = 99
    assert parts.speed[1, 0] == 2, "each part is an array of its own"


@pytest.mark.parametrize(
    ("vacuum_part", "boost_part"),
    [(RAMP, None), (RAMP, BOOST), (TABLE, None), (TABLE, BOOST), (None, None), (None, BOOST)],
)
def test_the_surface_is_scipys_over_a_table_that_holds_every_node(vacuum_part, boost_part):
    surface = TotalAdvance(10, CURVE, vacuum_part, boost_part)
    speeds = sorted({*CURVE.rpm, *TABLE.rpm})
    vacua = sorted({-60, -10, 0, 10, 20, 40, 50})
    rng = np.random.default_rng(11)
    rpm, vacuum = rng.uniform(speeds[0], speeds[-1], 100_000), rng.uniform(vacua[0], vacua[-1], 100_000)
    expected = RegularGridInterpolator((vacua, speeds), surface.table(rpm=speeds, vacuum=vacua))(
        np.column_stack([vacuum, rpm])
    )
    assert np.abs(surface.advance(rpm=rpm, vacuum=vacuum) - expected).max() < 1e-9, "scipy"


def test_a_table_has_a_row_for_each_vacuum_and_a_column_for_each_speed():
    table = TotalAdvance(10, CURVE, RAMP).table(rpm=[500, 1000, 3500], vacuum=[0, 40])
    assert table.tolist() == [[10, 12, 32], [24, 26, 46]]
    assert TotalAdvance(10, CURVE, RAMP).table(rpm=1000, vacuum=25).tolist() == [[19]]


def test_a_table_is_in_the_order_asked_for():
    assert TotalAdvance(10, CURVE, RAMP).table(rpm=[3500, 500], vacuum=[40, 0]).tolist() == [[46, 24], [32, 10]]


def test_a_table_is_asked_for_with_plain_lists():
    with pytest.raises(TimingError, match=r"^the nodes of a table are two plain lists: speeds and vacuum"):
        TotalAdvance(10, CURVE, RAMP).table(rpm=[[500, 1000]], vacuum=[0])
    with pytest.raises(TimingError, match=r"^the nodes of a table are two plain lists: speeds and vacuum"):
        TotalAdvance(10, CURVE, RAMP).table(rpm=[500, 1000], vacuum=[[0]])


def test_any_shapes_that_go_together_are_looked_up():
    surface = TotalAdvance(10, CURVE, RAMP)
    assert surface.advance(rpm=np.full((2, 1, 3), 1000), vacuum=np.zeros((4, 1))).shape == (2, 4, 3)
    assert type(surface.advance(rpm=1000, vacuum=25)) is float
    assert surface.advance(rpm=[1000], vacuum=25).tolist() == [19]
    assert surface.advance(rpm=[], vacuum=[]).shape == (0,)


def test_a_ramp_that_acts_late_acts_late_in_the_total():
    surface = TotalAdvance(10, CURVE, VacuumRamp(10, 40, 14, from_rpm=1000))
    assert surface.advance(rpm=[999.999, 1000], vacuum=40) == pytest.approx([12, 26], abs=1e-4)


def test_samples_are_not_written_into():
    rpm, vacuum = np.array([1000.0, 2200.0]), np.array([25.0, -35.0])
    surface = TotalAdvance(10, CURVE, RAMP, BOOST)
    surface.advance(rpm=rpm, vacuum=vacuum)
    surface.parts(rpm=rpm, vacuum=vacuum)
    assert rpm.tolist() == [1000, 2200]
    assert vacuum.tolist() == [25, -35]


@pytest.mark.parametrize(
    ("rpm", "vacuum", "said"),
    [
        (-1, 0, "engine speed must be 0 rpm or more, not -1"),
        (float("nan"), 0, "engine speed must be a finite number"),
        (1000, float("nan"), "vacuum must be a finite number"),
        ([1, 2], [1, 2, 3], "speeds and vacuum readings do not go together"),
        (None, 0, "engine speed must be"),
    ],
)
def test_what_cannot_be_looked_up_is_refused(rpm, vacuum, said):
    surface = TotalAdvance(10, CURVE, RAMP, BOOST)
    for ask in (surface.advance, surface.parts):
        with pytest.raises(TimingError, match=f"^{said}"):
            ask(rpm=rpm, vacuum=vacuum)


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ((float("nan"), CURVE, RAMP), "base timing must be a finite number"),
        (([10, 12], CURVE, RAMP), "base timing must be one number"),
        ((10, [0, 2], RAMP), "the speed curve must be an AdvanceCurve"),
        ((10, CURVE, BOOST), "the vacuum part must be a VacuumRamp, a VacuumTable or nothing"),
        ((10, CURVE, RAMP, RAMP), "the boost part must be a BoostRetard or nothing"),
    ],
)
def test_a_surface_of_other_things_is_refused(parts, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        TotalAdvance(*parts)


def test_equal_surfaces_are_equal_and_may_be_keys():
    again = TotalAdvance(base=10.0, curve=CURVE, vacuum=VacuumRamp(10, 40, 14), boost=None)
    assert again == TotalAdvance(10, CURVE, RAMP)
    assert hash(again) == hash(TotalAdvance(10, CURVE, RAMP))
    assert again != TotalAdvance(10, CURVE, RAMP, BOOST)
    assert "line" not in repr(again)


@pytest.mark.parametrize(
    ("rpm", "vacuum", "said"),
    [
        ("fast", [0], "engine speed must be a number"),
        ([[500], [1, 2]], [0], "engine speed must be a number"),
        ([500], [float("nan")], "vacuum must be a finite number"),
        ([[500]], [0], "the nodes of a table are two plain lists: speeds and vacuum"),
    ],
)
def test_a_table_that_cannot_be_made_is_refused_with_a_sentence(rpm, vacuum, said):
    with pytest.raises(TimingError) as refusal:
        TotalAdvance(10, CURVE, RAMP).table(rpm=rpm, vacuum=vacuum)
    assert str(refusal.value) == said
