"""The vacuum part, the dwell budget and the rotor under its cap."""

import math
import re
from itertools import pairwise

import numpy as np
import pytest

from tests.timing.drawn import NUMBER, corners, figures, one
from timing.charts import ChartError, Supply, dwell_chart, phasing_chart, vacuum_chart
from timing.charts.paper import width_of
from timing.coil import Primary, dwell_budget
from timing.distributor import rotor_phasing
from timing.errors import TimingError

RAMP = [(10, 0), (40, 14)]  # handbook section 4


class TestVacuum:
    @pytest.mark.parametrize(
        ("vacuum", "added"), [(10, 0), (20, 4.666667), (25, 7), (40, 14), (60, 14)]
    )  # handbook section 4
    def test_the_ramp_is_drawn_as_the_handbook_counts_it(self, vacuum, added):
        chart = vacuum_chart(uid="v", ramp=RAMP, most_vacuum=71.3)
        line = figures(one(chart.layers, "unit"), chart.plot)
        assert np.interp(vacuum, *zip(*line, strict=True)) == pytest.approx(added, abs=0.02)

    def test_boost_lies_left_of_nought_and_retard_below_it(self):
        chart = vacuum_chart(uid="v", ramp=[(-80, -8), (0, 0), (30, 10)])
        assert chart.plot.across.low <= -80
        assert chart.plot.up.low <= -8

    def test_there_is_room_beyond_the_ramp_to_see_it_held(self):
        chart = vacuum_chart(uid="v", ramp=[(10, 0), (40, 14)])
        assert chart.plot.across.high > 40

    def test_the_rows_of_a_table_are_named_beside_their_ends_without_touching(self):
        rows = [
            (1000, [(0, 0), (60, 6)]),
            (2500, [(0, 5), (60, 16)]),
            (4000, [(0, 5), (60, 16)]),
            (800, [(0, 0), (60, 0)]),
        ]
        chart = vacuum_chart(uid="v", rows=rows)
        names = [text for text in chart.texts if text.words.endswith("rpm")]
        assert {text.words for text in names} == {"1000 rpm", "2500 rpm", "4000 rpm", "800 rpm"}
        heights = sorted(text.y for text in names)
        assert all(after - before >= 14.9 for before, after in pairwise(heights))
        assert all(text.x + width_of(text.words) <= chart.width for text in names)
        assert max(heights) < chart.plot.bottom + 5

    def test_idle_and_the_most_there_is_are_named_in_the_unit_of_the_drawing(self):
        chart = vacuum_chart(uid="v", ramp=[(3, 0), (12, 14)], idle_vacuum=18, most_vacuum=21.1, pressure_unit="inHg")
        assert {text.words for text in chart.texts} == {"idle 18 inHg", "most there is 21.1 inHg"}
        assert chart.plot.across_name == "manifold vacuum, inHg"
        assert "Idle 18 inHg. Most there is 21.1 inHg." in chart.words

    @pytest.mark.parametrize(
        ("layers", "message"),
        [
            ({}, "nothing to draw"),
            ({"ramp": [(40, 14), (10, 0)]}, "must rise"),
            ({"rows": [(1500, [(2, 1), (1, 1)])]}, "row of 1500 rpm"),
        ],
    )
    def test_what_cannot_be_drawn_is_refused(self, layers, message):
        with pytest.raises(TimingError, match=message):
            vacuum_chart(uid="v", **layers)


SPEEDS = np.linspace(300, 6500, 63)  # every 100 rpm
COIL_A = Primary(3.0, 8.0, 12.8, 0.0)


def budget_chart(cylinders, dwell_ms, **look):
    volts = (9.0, 12.8, 14.2)
    budget = dwell_budget(COIL_A, cylinders, dwell_ms, 1.0, SPEEDS, supply_v=volts)
    asked = np.broadcast_to(dwell_ms, 3)
    supplies = [
        Supply(name, volts[row], float(asked[row]), budget.on_ms[row], budget.energy_mj[row])
        for row, name in enumerate(("cranking", "running", "charging"))
    ]
    return dwell_chart(SPEEDS, supplies, uid="d", limit_rpm=float(np.min(budget.limit_rpm)), **look)


class TestDwell:
    @pytest.mark.parametrize(("cylinders", "limit"), [(6, 4444.4), (8, 3333.3)])  # handbook section 6: 3.5 + 1.0 ms
    def test_the_dwell_that_fits_leaves_the_one_asked_for_at_the_limit_speed(self, cylinders, limit):
        chart = budget_chart(cylinders, 3.5)
        fits = figures(one(chart.layers, "fits"), chart.papers[0].plot)
        short = [rpm for rpm, on in fits if on < 3.49]
        assert min(short) - 100 <= limit <= min(short) + 1
        assert f"dwell fits up to {limit:.0f}" in {text.words for text in chart.texts}
        assert one(chart.under, "short").pen.fill == chart.palette.caution

    def test_a_four_needs_no_caution_in_its_range(self):
        chart = budget_chart(4, 3.5)  # handbook section 6: fits to 6666.7 rpm
        assert chart.under == ()
        assert "does not fit" not in {entry.text.words for entry in chart.key}

    def test_the_same_dwell_at_every_voltage_is_one_line(self):
        chart = budget_chart(6, 3.5)
        assert len([layer for layer in chart.layers if layer.name == "fits"]) == 1
        apart = budget_chart(6, [5.5, 3.5, 3.0])
        assert len([layer for layer in apart.layers if layer.name == "fits"]) == 3

    def test_energy_stands_on_the_lower_plot_at_every_voltage(self):
        chart = budget_chart(4, 3.5)
        upper, lower = (paper.plot for paper in chart.papers)
        assert upper.bottom < lower.top
        assert (upper.left, upper.right) == (lower.left, lower.right)
        energy = [figures(layer, lower) for layer in chart.layers if layer.name == "energy"]
        # E = L I²/2 with I from the RL charge over 3.5 ms, by hand: R 3, L 8 mH.
        for line, volts in zip(energy, (9.0, 12.8, 14.2), strict=True):
            current = volts / 3.0 * (1 - math.exp(-3.5 * 3.0 / 8.0))
            assert line[0][1] == pytest.approx(0.5 * 8.0 * current**2, abs=0.1)

    def test_rules_run_through_both_plots(self):
        chart = budget_chart(8, 1.8, red_line_rpm=5400)
        reach = [corners(layer.d) for layer in chart.rules if layer.name == "red-line"]
        bottoms = sorted(places[1][1] for places in reach)
        assert bottoms == [pytest.approx(paper.plot.bottom, abs=0.01) for paper in chart.papers]

    def test_names_stand_beside_their_lines_and_on_a_phone_in_the_key(self):
        wide, narrow = budget_chart(8, 1.8), budget_chart(8, 1.8, width=360)
        assert "running 12.8 V" in {text.words for text in wide.texts}
        assert "running 12.8 V" in {entry.text.words for entry in narrow.key}
        assert "running 12.8 V" not in {entry.text.words for entry in wide.key}

    def test_the_words_tell_what_is_left_at_the_top(self):
        assert "The whole dwell fits up to 3333 rpm." in budget_chart(8, 3.5).words

    @pytest.mark.parametrize(
        ("make", "message"),
        [
            (lambda: dwell_chart([1000, 2000], [], uid="d"), "no supply voltage"),
            (lambda: dwell_chart([1000], [Supply("x", 12, 3, [3], [30])], uid="d"), "two or more rising speeds"),
            (lambda: dwell_chart([2000, 1000], [Supply("x", 12, 3, [3, 3], [30, 30])], uid="d"), "rising speeds"),
            (lambda: dwell_chart([1000, 2000], [Supply("x", 12, 3, [3], [30])], uid="d"), "x 12 V has 1 figures for 2"),
            (lambda: Supply("x", 12, 3, [3, 3], [30]), "one dwell and one energy for each speed"),
            (lambda: Supply("x", 12, 3, [-3], [30]), "0 ms or more"),
            (lambda: Supply("x", 0, 3, [3], [30]), "supply voltage must be above 0 V"),
        ],
    )
    def test_what_cannot_be_drawn_is_refused(self, make, message):
        with pytest.raises(TimingError, match=message):
            make()


def turned(place, centre):
    """Degrees clockwise from upright, as seen on the drawing."""
    return math.degrees(math.atan2(place[0] - centre[0], centre[1] - place[1]))


def caps(chart):
    """Centre of every cap: half way along the first arc of its ring."""
    found = []
    for layer in chart.layers:
        if layer.name == "cap":
            x, y = map(float, re.match(rf"M({NUMBER}) ({NUMBER})", layer.d).groups())
            reach = float(re.search(rf"a({NUMBER})", layer.d).group(1))
            found.append((x + reach, y))
    return found


def ends_of_arc(d):
    x, y, rest = re.match(rf"M({NUMBER}) ({NUMBER})(.*)", d).groups()
    x2, y2 = re.search(rf"({NUMBER}) ({NUMBER})$", rest).groups()
    return (float(x), float(y)), (float(x2), float(y2))


class TestPhasing:
    # Rows of the table in the project's handbook, section 7: N, range, radius, tip, post, in line at; overlap.
    CASES = [
        ((4, 8, 40, 20, 7, 4, 0.7, 24), 2.7075, 8),
        ((6, 6, 42, 21, 8, 4, 0.7, 24), 2.7013, 9),
        ((8, 6, 46, 24, 9, 5, 0.7, 26), 2.8112, 10),
    ]

    @pytest.mark.parametrize(("case", "overlap_mm", "offset_deg"), CASES)
    def test_the_overlap_is_drawn_to_scale(self, case, overlap_mm, offset_deg):
        chart = phasing_chart(rotor_phasing(*case), uid="p")
        [_, arc] = [layer for layer in chart.layers if layer.name == "overlap"]
        centre = caps(chart)[1]
        angles = [turned(place, centre) for place in ends_of_arc(arc.d)]
        assert math.radians(abs(angles[1] - angles[0])) * case[3] == pytest.approx(overlap_mm, abs=0.02)

    @pytest.mark.parametrize(("case", "overlap_mm", "offset_deg"), CASES)
    @pytest.mark.parametrize("clockwise", [True, False])
    def test_an_early_spark_finds_the_tip_before_its_post(self, case, overlap_mm, offset_deg, clockwise):
        chart = phasing_chart(rotor_phasing(*case), uid="p", clockwise=clockwise)
        [_, line] = [layer for layer in chart.layers if layer.name == "offset"]
        turn = turned(corners(line.d)[-1], caps(chart)[1])
        assert turn == pytest.approx(-offset_deg if clockwise else offset_deg, abs=0.05)
        assert any(f"tip {offset_deg}° before its post" in text.words for text in chart.texts)

    def test_posts_are_spread_evenly(self):
        chart = phasing_chart(rotor_phasing(6, 6, 42, 21, 8, 4, 0.7), uid="p")
        posts = next(layer for layer in chart.layers if layer.name == "posts")
        assert posts.d.count("Z") == 5
        assert next(layer for layer in chart.layers if layer.name == "own-post").d.count("Z") == 1

    def test_a_tip_off_its_post_shows_the_leap_and_is_refused_in_words(self):
        # Handbook section 7, last row: locked at rest, 1.3776 mm short of its post at 46 degrees.
        chart = phasing_chart(rotor_phasing(8, 6, 46, 24, 9, 5, 0.7, 6), uid="p")
        assert [layer.name for layer in chart.layers if layer.name in ("overlap", "leap")] == ["overlap", "leap"]
        words = [text.words for text in chart.texts]
        assert words.count("outside the limits") == 1
        assert "no overlap, gap 1.5 mm" in words
        assert "the post just left: 3.5 mm away" in words
        assert chart.words.endswith("outside the limits.")

    def test_a_workshop_s_stricter_limit_counts(self):
        phasing = rotor_phasing(4, 8, 40, 20, 7, 4, 0.7)  # 2.7075 mm at both ends
        for least, refused in ((2.70, 0), (2.71, 2)):
            chart = phasing_chart(phasing, uid="p", least_overlap_mm=least)
            assert [text.words for text in chart.texts].count("outside the limits") == refused

    def test_on_a_phone_the_ends_stand_under_one_another(self):
        phasing = rotor_phasing(4, 8, 40, 20, 7, 4, 0.7)
        wide, narrow = phasing_chart(phasing, uid="p"), phasing_chart(phasing, uid="p", width=360)
        assert len({y for _, y in caps(wide)}) == 1
        assert len({x for x, _ in caps(narrow)}) == 1
        assert all(text.y < narrow.height for text in narrow.texts)

    def test_the_sense_of_rotation_is_said(self):
        phasing = rotor_phasing(4, 8, 40, 20, 7, 4, 0.7)
        assert "turning anticlockwise" in phasing_chart(phasing, uid="p", clockwise=False).words

    def test_a_drawing_too_narrow_is_refused(self):
        with pytest.raises(ChartError, match="240 or wider"):
            phasing_chart(rotor_phasing(4, 8, 40, 20, 7, 4, 0.7), uid="p", width=100)
