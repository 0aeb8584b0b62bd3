"""Piston position, stop error and compression, held against printed tables, a root finder and solid geometry."""

import math

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar

from tests.timing.published import rows
from timing.errors import TimingError
from timing.piston import (
    PistonError,
    clearance_volume_cc,
    compression_ratio,
    crank_for_drop,
    piston_drop,
    piston_travel,
    stop_error,
    swept_volume_cc,
    top_dead_centre,
)

engines = st.tuples(st.floats(40, 120), st.floats(1.3, 2.5), st.floats(-0.03, 0.03)).map(
    lambda figures: (figures[0], figures[0] * figures[1], figures[0] * figures[2])
)
"""Stroke, rod and pin offset of ordinary engines. [mm]"""


def bottom_dead_centre(stroke, rod, offset=0.0):
    """Where throw and rod lie folded over one another, by hand."""
    return 180 + math.degrees(math.asin(offset / (rod - stroke / 2)))


def height(crank_deg, stroke, rod, offset):
    """Gudgeon pin above the crank, by placing crank pin and rod in the plane."""
    across = stroke / 2 * math.sin(math.radians(crank_deg)) - offset
    return stroke / 2 * math.cos(math.radians(crank_deg)) + math.sqrt(rod**2 - across**2)


# ---- Position --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "row", rows("piston_position.csv"), ids=lambda row: f"{row['stroke_mm']} at {row['crank_deg_from_tdc']:.0f}"
)
def test_the_piston_drop_of_the_table(row):
    drop = piston_drop(row["crank_deg_from_tdc"], row["stroke_mm"], row["rod_mm"])
    assert drop == pytest.approx(row["piston_drop_mm"], abs=5e-6)


@pytest.mark.parametrize(
    ("stroke", "rod", "angle"), [(76, 139.7, 16.57404), (88.9, 165.1, 15.32871), (80, 130, 15.92804)]
)
def test_the_crank_angle_for_two_millimetres(stroke, rod, angle):
    assert crank_for_drop(2, stroke, rod) == pytest.approx(angle, abs=5e-6), "handbook section 2, root finder"


@given(st.floats(-720, 720), engines)
@example(30.0, (80, 140, 35))
def test_the_drop_is_what_placing_rod_and_throw_in_the_plane_gives(angle, engine):
    top = minimize_scalar(lambda at: -height(at, *engine), bounds=(-20, 20), method="bounded", options={"xatol": 1e-9})
    assert piston_drop(angle, *engine) == pytest.approx(-top.fun - height(angle, *engine), abs=1e-8), "scipy"


@given(st.floats(0, 1), engines)
def test_the_crank_angle_comes_back_from_the_drop(share, engine):
    drop = share * piston_travel(*engine)
    assert piston_drop(crank_for_drop(drop, *engine), *engine) == pytest.approx(drop, abs=1e-9)
    stroke, rod, offset = engine
    assert piston_drop(-crank_for_drop(drop, stroke, rod, -offset), *engine) == pytest.approx(drop, abs=1e-9)


@given(engines, st.floats(-180, 180))
def test_the_piston_is_never_above_its_top_nor_below_its_bottom(engine, angle):
    assert 0 <= piston_drop(angle, *engine) <= piston_travel(*engine) * (1 + 1e-12)


@given(engines)
def test_the_piston_turns_round_at_its_dead_centres(engine):
    assert piston_drop(top_dead_centre(*engine), *engine) == pytest.approx(0, abs=1e-9)
    assert piston_drop(bottom_dead_centre(*engine), *engine) == pytest.approx(piston_travel(*engine), rel=1e-12)
    assert crank_for_drop(0, *engine) == pytest.approx(top_dead_centre(*engine), abs=1e-12)
    assert crank_for_drop(piston_travel(*engine), *engine) == pytest.approx(bottom_dead_centre(*engine), abs=1e-4)


def test_close_to_the_top_no_digit_is_lost():
    """For small angles the drop is r a² (1 + r/l) / 2, the first term of the series, by hand."""
    angle = math.radians(1e-4)
    assert piston_drop(1e-4, 80, 130) == pytest.approx(20 * angle**2 * (1 + 40 / 130), rel=1e-9)
    assert crank_for_drop(piston_drop(1e-4, 80, 130), 80, 130) == pytest.approx(1e-4, rel=1e-9)


def test_without_an_offset_both_sides_are_alike():
    assert piston_drop([-20, 20], 80, 130) == pytest.approx([3.13416, 3.13416], abs=5e-6), "piston_position.csv"
    assert top_dead_centre(80, 130) == 0.0
    assert piston_travel(80, 130) == pytest.approx(80, rel=1e-15)


# The throw is 1 and the rod 2: how far the pin is from the crank at each angle, as printed in the test of a public
# robotics library (github.com/Team100/all24, studies/layers, CrankKinematicsTest.java).
@pytest.mark.parametrize(
    ("crank_deg", "reach"),
    [
        (0, 3.0),
        (45, math.sqrt(3.5) + math.sqrt(0.5)),
        (90, math.sqrt(3.0)),
        (135, math.sqrt(3.5) - math.sqrt(0.5)),
        (180, 1.0),
        (270, math.sqrt(3.0)),
    ],
)
def test_the_pin_is_as_far_from_the_crank_as_a_public_library_has_it(crank_deg, reach):
    assert piston_drop(crank_deg, 2.0, 2.0) == pytest.approx(3.0 - reach, abs=1e-12)
    if crank_deg <= 180:
        assert crank_for_drop(3.0 - reach, 2.0, 2.0) == pytest.approx(crank_deg, abs=1e-6)


# ---- Pin offset ------------------------------------------------------------------------------------------------------

OFFSETS = rows("piston_stop_offset.csv")


@pytest.mark.parametrize(
    "row", OFFSETS, ids=lambda row: f"offset {row['pin_offset_mm']}, {row['stop_depth_mm']:.0f} mm deep"
)
def test_the_piston_stop_of_the_table(row):
    stroke, rod, offset = 2 * row["crank_radius_mm"], row["rod_mm"], row["pin_offset_mm"]
    depth = row["stop_depth_mm"]
    assert top_dead_centre(stroke, rod, offset) == pytest.approx(row["true_tdc_deg"], abs=5e-7)
    assert crank_for_drop(depth, stroke, rod, offset) == pytest.approx(row["contact_after_deg"], abs=5e-6)
    assert -crank_for_drop(depth, stroke, rod, -offset) == pytest.approx(row["contact_before_deg"], abs=5e-6)
    assert stop_error(depth, stroke, rod, offset) == pytest.approx(row["midpoint_error_deg"], abs=5e-7)


def test_contact_with_the_stop_is_where_a_root_finder_finds_it():
    wanted = height(top_dead_centre(76, 139.7, 1.5), 76, 139.7, 1.5) - 7.0
    found = brentq(lambda at: height(at, 76, 139.7, 1.5) - wanted, 1, 90, xtol=1e-13)
    assert crank_for_drop(7.0, 76, 139.7, 1.5) == pytest.approx(found, abs=1e-9), "scipy.optimize.brentq"


def contacts(depth, stroke, rod, offset):
    """Where the piston meets the stop on the way up and on the way down, by a root finder."""
    top = minimize_scalar(
        lambda at: -height(at, stroke, rod, offset), bounds=(-10, 10), method="bounded", options={"xatol": 1e-11}
    )
    bottom = bottom_dead_centre(stroke, rod, offset)

    def above_stop(at):
        return height(at, stroke, rod, offset) + top.fun + depth

    return brentq(above_stop, bottom - 360, top.x, xtol=1e-13), brentq(above_stop, top.x, bottom, xtol=1e-13)


@given(engines, st.floats(0.01, 0.9))
@example((60, 97.5, 1.5), 17 / 60)
def test_the_stop_error_is_how_far_the_middle_of_the_contacts_lies_from_the_top(engine, share):
    stroke, rod, offset = engine
    before, after = contacts(share * stroke, *engine)
    top = math.degrees(math.asin(offset / (rod + stroke / 2)))
    assert stop_error(share * stroke, *engine) == pytest.approx((before + after) / 2 - top, abs=1e-6), "scipy"


def test_a_deep_stop_under_a_large_offset_is_more_than_a_tenth_of_a_degree_out():
    before, after = contacts(17, 60, 97.5, 1.5)
    assert (before + after) / 2 - math.degrees(math.asin(1.5 / 127.5)) == pytest.approx(0.1037016, abs=5e-7), "scipy"
    assert stop_error(17, 60, 97.5, 1.5) == pytest.approx(0.1037016, abs=5e-8)


@given(st.floats(50, 120), st.floats(1.6, 2.5), st.floats(-1 / 40, 1 / 40), st.floats(1e-6, 1 / 4))
def test_a_stop_in_the_first_quarter_of_the_stroke_is_right_to_a_tenth_of_a_degree(stroke, ratio, offset, depth):
    assert abs(stop_error(depth * stroke, stroke, ratio * stroke, offset * stroke)) < 0.1, "handbook section 2"


@given(st.floats(50, 120), st.floats(1.6, 2.5), st.floats(-1 / 40, 1 / 40), st.floats(10, 160))
def test_the_deepest_stop_that_is_accepted_is_right_to_a_fifth_of_a_degree(stroke, ratio, offset, apart):
    rod, pin = ratio * stroke, offset * stroke
    # With the throw evenly to both sides of the true top, the piston is as far down as the stop may stand.
    depth = piston_drop(top_dead_centre(stroke, rod, pin) + apart / 2, stroke, rod, pin)
    assert abs(stop_error(depth, stroke, rod, pin)) < 0.21


def test_the_middle_of_the_readings_leans_to_the_side_of_the_offset():
    assert stop_error(10, 80, 140, 1) == -stop_error(10, 80, 140, -1) > 0
    assert stop_error(10, 80, 140, 0) == 0


def test_with_an_offset_the_piston_travels_a_little_more_than_the_stroke():
    by_hand = math.sqrt(180**2 - 1) - math.sqrt(100**2 - 1)
    assert piston_travel(80, 140, 1.0) == pytest.approx(by_hand, rel=1e-13)
    assert piston_travel(80, 140, -1.0) == piston_travel(80, 140, 1.0) > 80


# ---- Refusals --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("engine", "said"),
    [
        ((0, 130), "the stroke must be above 0 mm, not 0"),
        ((-80, 130), "the stroke must be above 0 mm, not -80"),
        ((80, 0), "the connecting rod must be above 0 mm"),
        ((80, 40), "a rod of 40 mm is too short for a throw of 40 mm and an offset of 0 mm"),
        ((80, 41, -1), "a rod of 41 mm is too short for a throw of 40 mm and an offset of 1 mm"),
        ((80, float("nan")), "the connecting rod must be a finite number"),
        ((80, 130, float("inf")), "the offset of the pin must be a finite number"),
        (([80, 90], 130), "the stroke must be one number"),
    ],
)
def test_a_crank_that_cannot_turn_is_refused(engine, said):
    for ask in (lambda: piston_drop(10, *engine), lambda: crank_for_drop(1, *engine), lambda: top_dead_centre(*engine)):
        with pytest.raises(TimingError, match=f"^{said}"):
            ask()


def test_a_rod_just_long_enough_turns():
    assert piston_drop(180, 80, 41.001, 1) > 0


def test_the_crank_angle_is_a_number():
    with pytest.raises(TimingError, match=r"^the crank angle must be a finite number"):
        piston_drop(float("nan"), 80, 130)


def test_the_piston_goes_no_further_than_its_travel():
    with pytest.raises(PistonError, match=r"^the piston travels 80 mm, it cannot be 80\.1 mm down"):
        crank_for_drop([2, 80.1], 80, 130)
    with pytest.raises(TimingError, match=r"^the piston's drop must be 0 mm or more"):
        crank_for_drop(-0.1, 80, 130)
    with pytest.raises(TimingError, match=r"^the depth of the stop must be above 0 mm"):
        stop_error(0, 80, 130, 1)
    with pytest.raises(PistonError, match=r"^the piston travels 80 mm, it cannot be 80\.1 mm down"):
        stop_error(80.1, 80, 130, 1)


def test_scalars_give_floats_and_lists_give_arrays():
    assert type(piston_drop(10, 80, 130)) is float
    assert type(crank_for_drop(10, 80, 130)) is float
    assert type(top_dead_centre(80, 130, 1)) is float
    assert type(stop_error(10, 80, 130, 1)) is float
    assert type(compression_ratio(400, 50)) is float
    angles = np.array([[5.0, 10.0], [20.0, 30.0]])
    assert piston_drop(angles, 80, 130).shape == (2, 2)
    assert angles.tolist() == [[5.0, 10.0], [20.0, 30.0]]


# ---- Volumes ---------------------------------------------------------------------------------------------------------


def test_volumes_and_compression_of_the_worked_example():
    """Handbook section 2: bore and stroke 80, chamber 42, gasket 82 by 0.9, piston 0.4 down, hollow 4 cm³."""
    swept = swept_volume_cc(80, 80)
    clearance = clearance_volume_cc(42, 82, 0.9, 80, 0.4, 4.0)
    assert swept == pytest.approx(402.123860, abs=5e-7)
    assert clearance == pytest.approx(52.763535, abs=5e-7)
    assert clearance - clearance_volume_cc(42, 82, 0.0, 80, 0.4, 4.0) == pytest.approx(4.752916, abs=5e-7)
    assert clearance - clearance_volume_cc(42, 82, 0.9, 80, 0.0, 4.0) == pytest.approx(2.010619, abs=5e-7)
    assert compression_ratio(swept, clearance) == pytest.approx(8.621246, abs=5e-7)


def test_the_second_worked_example():
    swept = swept_volume_cc(83, 86)
    assert swept == pytest.approx(465.312283, abs=5e-7), "handbook section 2"
    assert compression_ratio(swept, 56.0) == pytest.approx(9.309148, abs=5e-7), "handbook section 2"


@pytest.mark.parametrize(
    ("bore", "stroke", "cylinders", "cc", "source"),
    [
        (100, 83, 1, 651.879, "howmotorcycleswork.com, article 33: 651879 mm³, with a π of 3.14159"),
        (65.5, 44.5, 4, 599.780, "the same page: 599780 mm³"),
        (
            101.6,
            101.6,
            6,
            4942.2,
            "4 in by 4 in, six cylinders, 301.5936 cubic inches of 16.387 cm³ (by hand, π/4 as .7854)",
        ),
    ],
)
def test_engines_have_the_volume_printed_for_them(bore, stroke, cylinders, cc, source):
    assert cylinders * swept_volume_cc(bore, stroke) == pytest.approx(cc, rel=2e-5), source


def test_a_litre_is_a_cylinder_of_known_size():
    assert swept_volume_cc(math.sqrt(4 / math.pi) * 100, 100) == pytest.approx(1000), "a disc of 1 dm² by 1 dm"


def test_a_crown_takes_from_the_clearance_and_a_proud_piston_too():
    assert clearance_volume_cc(42, 82, 0.9, 80, 0.4, 0, 4.0) == pytest.approx(52.763535 - 8, abs=5e-7)
    assert clearance_volume_cc(42, 82, 0.9, 80, -0.4, 4.0) == pytest.approx(52.763535 - 2 * 2.010619, abs=2e-6)


def test_several_cylinders_at_once():
    chambers = clearance_volume_cc([42, 43], 82, 0.9, 80)
    assert chambers[1] - chambers[0] == pytest.approx(1.0)
    assert type(clearance_volume_cc(42, 82, 0.9, 80)) is float
    assert swept_volume_cc([80, 83], [80, 86]) == pytest.approx([402.123860, 465.312283], abs=5e-7)


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (lambda: swept_volume_cc(0, 80), "the bore must be above 0 mm"),
        (lambda: swept_volume_cc(80, -1), "the stroke must be above 0 mm"),
        (lambda: swept_volume_cc(1e200, 80), "that volume is too large"),
        (lambda: swept_volume_cc([80, 81], [80, 81, 82]), "bores and strokes do not go together"),
        (lambda: clearance_volume_cc(-1, 82, 0.9, 80), "the chamber must be 0 cm³ or more"),
        (lambda: clearance_volume_cc(42, -1, 0.9, 80), "the hole in the gasket must be 0 mm or more"),
        (lambda: clearance_volume_cc(42, 82, -1, 80), "the thickness of the gasket must be 0 mm or more"),
        (lambda: clearance_volume_cc(42, 82, 0.9, 0), "the bore must be above 0 mm"),
        (lambda: clearance_volume_cc(42, 82, 0.9, 80, float("nan")), "the piston's height in the block must be"),
        (lambda: clearance_volume_cc(42, 82, 0.9, 80, 0, -1), "the piston's hollow must be 0 cm³ or more"),
        (lambda: clearance_volume_cc(42, 82, 0.9, 80, 0, 0, -1), "the piston's crown must be 0 cm³ or more"),
        (lambda: clearance_volume_cc(0, 82, 0, 80), "no room is left above the piston: 0 cm³"),
        (lambda: clearance_volume_cc(42, 82, 0, 80, 0, 0, 50), "no room is left above the piston: -8 cm³"),
        (lambda: clearance_volume_cc([1, 2], 82, [1, 2, 3], 80), "the figures of several cylinders do not go together"),
        (lambda: compression_ratio(0, 50), "the swept volume must be above 0 cm³"),
        (lambda: compression_ratio(400, 0), "the clearance volume must be above 0 cm³"),
        (lambda: compression_ratio(1e308, 1e-308), "that ratio is too large"),
        (lambda: compression_ratio([1, 2], [1, 2, 3]), "swept and clearance volumes do not go together"),
    ],
)
def test_figures_no_engine_has_are_refused(ask, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        ask()


def test_an_offset_that_is_no_number_is_refused_by_name():
    with pytest.raises(TimingError, match=r"^the offset of the pin must be a number$"):
        stop_error(5, 80, 130, "x")


def test_a_volume_beyond_all_numbers_is_refused():
    with pytest.raises(PistonError, match=r"^that volume is too large to be a number$"):
        clearance_volume_cc(42, 1e200, 1, 80)
    assert clearance_volume_cc(0.5, 82, 0, 80) == 0.5


def test_a_drop_of_the_whole_travel_is_bottom_dead_centre():
    for engine in ((80, 130, 1.0), (76.3, 139.71, -0.7), (88.9, 165.1)):
        assert crank_for_drop(piston_travel(*engine), *engine) == pytest.approx(bottom_dead_centre(*engine), abs=1e-4)
