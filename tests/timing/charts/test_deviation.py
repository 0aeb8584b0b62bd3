"""Where the target curve and the delivered's are furthest apart: the bar between them, and its name."""

import numpy as np
import pytest

from tests.timing.charts.drawn import corners, figures, one
from timing.charts import speed_chart, styles
from timing.charts.page import GAP, LETTER, width_of
from timing.charts.palette import PRINT
from timing.charts.speed import AROUND, BAR, BESIDE_STEM, DESCENT, LEADERS

# The worked cases A1 and B1 of the project's handbook, section 4: target, and as the delivered holds it.
WANTED = [(500, 0), (1000, 2), (1400, 9), (2200, 15), (3500, 22)]
UNIT = [(500, 0), (1000, 2), (1500, 10), (2500, 17), (3500, 22)]
MID_LINE = [(800, 0.5), (1200, 4), (1800, 12), (3000, 19), (4500, 24)]
UNIT_B1 = [(500, 0), (1000, 2), (2000, 14), (3000, 19), (4000, 23), (5000, 24)]


def marked(chart):
    """The path of the bar and stem, as straight pieces, and the name."""
    layer = one(chart.layers, "deviation")
    [label] = [text for text in chart.texts if text.css == "chart-deviation-name"]
    return [corners("M" + piece) for piece in layer.d.split("M")[1:]], label


def on(rpm, target, delivered, high=30.0):
    """A chart of both curves on a paper of 6000 rpm, and the place along it of `rpm`."""
    chart = speed_chart(uid="c", target=target, delivered=delivered, rpm_limits=(0, 6000), degrees_limits=(0, high))
    return chart, chart.plot.across.at(rpm)


class TestWhatIsMarked:
    @pytest.mark.parametrize(
        ("target", "delivered", "expected", "rpm", "source"),
        [
            (WANTED, UNIT, "0.6°", 1400, "handbook section 4, case A1"),
            (MID_LINE, UNIT_B1, "0.8°", 1200, "handbook section 4, case B1: 0.833333; at 1000 and 2000 rpm the same"),
        ],
    )
    def test_the_largest_deviation_is_marked_and_spoken(self, target, delivered, expected, rpm, source):
        chart = speed_chart(uid="c", target=target, delivered=delivered)
        bars = figures(one(chart.layers, "deviation"), chart.plot)
        [label] = [text for text in chart.texts if text.css == "chart-deviation-name"]
        assert label.text == f"{expected} apart", source
        assert f"Largest deviation {expected} at" in chart.description
        at = float(np.mean([bars[0][0], bars[1][0]]))
        speeds = sorted({x for x, _ in target + delivered})
        apart = [
            abs(np.interp(x, *zip(*target, strict=True)) - np.interp(x, *zip(*delivered, strict=True))) for x in speeds
        ]
        assert np.interp(at, speeds, apart) == pytest.approx(max(apart), abs=0.01)

    @pytest.mark.parametrize("width", [300, 360, 720])
    @pytest.mark.parametrize(
        ("target", "delivered"),
        [(WANTED, UNIT), (MID_LINE, UNIT_B1), ([(600, 0), (2600, 8)], [(0, 0), (800, 0), (1500, 4), (2500, 8)])],
    )
    def test_the_name_of_the_deviation_covers_neither_curve(self, target, delivered, width):
        chart = speed_chart(uid="c", target=target, delivered=delivered, width=width)
        [label] = [text for text in chart.texts if text.css == "chart-deviation-name"]
        side = 1 if label.anchor == "start" else -1
        ends = sorted((label.x, label.x + side * width_of(label.text)))
        assert chart.plot.left <= ends[0]
        assert ends[1] <= chart.plot.right
        assert chart.plot.top <= label.y - 10
        assert label.y <= chart.plot.bottom
        for name in ("unit", "wanted"):
            line = corners(one(chart.layers, name).d)
            for x in np.linspace(*ends, 12):
                y = np.interp(x, *zip(*line, strict=True))
                assert y < label.y - 10 or y > label.y

    def test_curves_that_agree_have_no_deviation(self):
        chart = speed_chart(uid="c", target=UNIT, delivered=UNIT)
        assert not [layer for layer in chart.layers if layer.name == "deviation"]
        assert "deviation" not in chart.description

    def test_a_deviation_too_small_to_print_is_none(self):
        nearly = [(rpm, deg + 0.04) for rpm, deg in UNIT]
        assert "deviation" not in speed_chart(uid="c", target=nearly, delivered=UNIT).description
        more = [(rpm, deg + 0.06) for rpm, deg in UNIT]
        assert "Largest deviation 0.1°" in speed_chart(uid="c", target=more, delivered=UNIT).description

    @pytest.mark.parametrize("unit_above", [True, False])
    def test_it_is_the_distance_whichever_curve_lies_above(self, unit_above):
        curves = [(0, 10), (3000, 18), (6000, 10)], [(0, 10), (6000, 10)]
        target, delivered = curves[::-1] if unit_above else curves
        chart, x = on(3000, target, delivered)
        (upper, lower, _), label = marked(chart)
        assert label.text == "8° apart"
        assert "Largest deviation 8° at 3000 rpm." in chart.description
        for bar, degrees in ((upper, 18), (lower, 10)):
            y = chart.plot.up.at(degrees)
            expected = [(x - BAR, y), (x + BAR, y)]
            assert bar == [pytest.approx(point, abs=0.006) for point in expected]

    @pytest.mark.parametrize("layer", ["delivered", "target"])
    def test_a_single_curve_deviates_from_nothing(self, layer):
        chart = speed_chart(uid="c", **{layer: UNIT})
        assert "deviation" not in {one.name for one in chart.layers}
        assert chart.texts == ()

    def test_the_first_of_equal_deviations_is_marked(self):
        chart, x = on(2000, [(0, 10), (6000, 10)], [(1000, 10), (2000, 13), (3000, 10), (4000, 13), (5000, 10)])
        pieces, _ = marked(chart)
        assert pieces[-1][0][0] == pytest.approx(x, abs=0.006)

    def test_it_has_its_pen_and_its_name_the_same_colour(self):
        chart = speed_chart(uid="c", target=WANTED, delivered=UNIT)
        assert one(chart.layers, "deviation").style == styles.deviation(PRINT)
        _, label = marked(chart)
        assert label.fill == PRINT.marking


class TestWhereItsNameStands:
    """Beneath to the right of the bar, else above to the left, beneath to the left, above to the right; else further.

    The curves are given by their corners on the drawing: both lie on `line`, but for a peak of the delivered's 10 units
    above it at `x`. Scenes come in pairs, the name's place just free and just not free.
    """

    PLOT = speed_chart(uid="c", delivered=UNIT, rpm_limits=(0, 6000), degrees_limits=(0, 30)).plot
    SPAN = width_of("0.8° apart")
    BOTTOM_RIGHT, TOP_LEFT, BOTTOM_LEFT, TOP_RIGHT = (1, 1), (-1, -1), (1, -1), (-1, 1)

    def place(self, line, x, peak=10.0):
        """The quarter (beneath or above, right or left) and the leader with which the name at `x` stands."""
        plot = self.PLOT

        def figures_of(corners_of_line):
            return [(plot.across.value(along), plot.up.value(down)) for along, down in corners_of_line]

        y = float(np.interp(x, *zip(*line, strict=True)))
        raised = [(x - 0.4, y), (x, y - peak), (x + 0.4, y)]
        delivered = sorted([*(corner for corner in line if abs(corner[0] - x) > 0.4), *raised])
        chart = speed_chart(
            uid="c",
            target=figures_of(line),
            delivered=figures_of(delivered),
            rpm_limits=(0, 6000),
            degrees_limits=(0, 30),
        )
        assert chart.plot == plot
        (upper, lower, stem), label = marked(chart)
        assert [bar[0][1] for bar in (upper, lower)] == pytest.approx([y - peak, y], abs=0.006)
        beneath, side = (1 if stem[1][1] > y else -1), {"start": 1, "end": -1}[label.anchor]
        assert stem[0] == pytest.approx((x, y - peak if beneath > 0 else y), abs=0.006)  # through both bars
        assert stem[1][0] == stem[0][0]
        far = stem[1][1] - y if beneath > 0 else y - peak - stem[1][1]
        end = stem[1][1]
        assert label.y == pytest.approx(end + LETTER if beneath > 0 else end - GAP, abs=0.011)
        assert label.x == pytest.approx(x + side * BESIDE_STEM, abs=0.006)
        assert (label.x, label.y) == (round(label.x, 2), round(label.y, 2))
        return (beneath, side), round(far, 1)

    def level(self, y):
        return [(self.PLOT.left, y), (self.PLOT.right, y)]

    def test_it_stands_beneath_to_the_right_where_there_is_room(self):
        assert self.place(self.level(200), 370) == (self.BOTTOM_RIGHT, LEADERS[0])

    def test_on_a_falling_curve_it_stands_beneath_to_the_left(self):
        line = [(self.PLOT.left, 120), (self.PLOT.right, 320)]
        assert self.place(line, 370) == (self.BOTTOM_LEFT, LEADERS[0])

    @pytest.mark.parametrize(("spare", "expected"), [(0.3, BOTTOM_RIGHT), (-0.3, TOP_LEFT)])
    def test_it_ends_before_the_right_edge(self, spare, expected):
        x = self.PLOT.right - BESIDE_STEM - self.SPAN - spare
        assert self.place(self.level(200), x) == (expected, LEADERS[0])

    @pytest.mark.parametrize(("spare", "expected"), [(0.3, BOTTOM_RIGHT), (-0.3, TOP_LEFT)])
    def test_it_stands_above_the_bottom(self, spare, expected):
        y = self.PLOT.bottom - LEADERS[0] - LETTER - DESCENT - spare
        assert self.place(self.level(y), 370) == (expected, LEADERS[0])

    @pytest.mark.parametrize(("spare", "expected"), [(0.3, TOP_LEFT), (-0.3, TOP_RIGHT)])
    def test_it_begins_after_the_left_edge(self, spare, expected):
        x = self.PLOT.left + BESIDE_STEM + self.SPAN + spare
        assert self.place(self.level(self.PLOT.bottom - 10), x) == (expected, LEADERS[0])

    @pytest.mark.parametrize(("spare", "expected"), [(0.3, TOP_LEFT), (-0.3, BOTTOM_RIGHT)])
    def test_it_stands_under_the_top_and_where_nothing_is_free_in_the_first_place_of_all(self, spare, expected):
        y = self.PLOT.bottom - 10
        peak = y - (self.PLOT.top + LETTER + GAP + LEADERS[0] + spare)  # the name is then '25° apart' or the like
        assert self.place(self.level(y), 370, peak) == (expected, LEADERS[0])

    @pytest.mark.parametrize(("spare", "expected"), [(0.3, BOTTOM_RIGHT), (-0.3, TOP_LEFT)])
    def test_a_cliff_to_its_right_is_kept_clear_of(self, spare, expected):
        cliff = 370 + BESIDE_STEM + self.SPAN + AROUND + spare
        line = [(self.PLOT.left, 200), (cliff, 200), (cliff + 0.1, 390), (self.PLOT.right, 390)]
        assert self.place(line, 370) == (expected, LEADERS[0])

    @pytest.mark.parametrize(("spare", "expected"), [(0.3, BOTTOM_RIGHT), (-0.3, TOP_LEFT)])
    def test_a_cliff_to_its_left_is_kept_clear_of(self, spare, expected):
        cliff = 370 + BESIDE_STEM - AROUND - spare
        line = [(self.PLOT.left, 390), (cliff - 0.1, 390), (cliff, 200), (self.PLOT.right, 200)]
        assert self.place(line, 370) == (expected, LEADERS[0])

    @pytest.mark.parametrize(("spare", "expected"), [(0.3, BOTTOM_RIGHT), (-0.3, TOP_LEFT)])
    def test_a_curve_over_it_is_kept_clear_of(self, spare, expected):
        y = 200 + LEADERS[0] - spare  # the capitals begin at the end of the stem
        line = [(self.PLOT.left, 200), (371, 200), (390, y), (self.PLOT.right, y)]
        assert self.place(line, 370) == (expected, LEADERS[0])

    @pytest.mark.parametrize(("spare", "expected"), [(0.3, TOP_LEFT), (-0.3, TOP_RIGHT)])
    def test_a_curve_under_it_is_kept_clear_of(self, spare, expected):
        y = self.PLOT.bottom - 10
        above = y - 10 - LEADERS[0] - GAP + DESCENT + spare
        line = [(self.PLOT.left, above), (350, above), (369, y), (self.PLOT.right, y)]
        assert self.place(line, 370) == (expected, LEADERS[0])

    @pytest.mark.parametrize(("fall", "leader"), [(20, 1), (40, 2), (60, 3), (80, 4), (100, 5)])
    def test_where_no_quarter_is_free_it_goes_one_leader_further(self, fall, leader):
        # In the upper left corner only the places beneath to the right are on the paper, and the curve falls there.
        x, y = self.PLOT.left + 20, self.PLOT.top + 20
        line = [(self.PLOT.left, y), (x + 1, y), (x + 20, y + fall), (self.PLOT.right, y + fall)]
        assert self.place(line, x) == (self.BOTTOM_RIGHT, LEADERS[leader])


def test_the_name_keeps_its_distances():
    """The look of the drawing, in its units: changed on purpose or not at all."""
    assert LEADERS == (14, 30, 46, 70, 95, 120, 150, 180, 210)
    assert (BAR, BESIDE_STEM, DESCENT, AROUND) == (5, 2, 4, 3)
