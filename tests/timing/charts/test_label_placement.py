"""Lettering on a plot stands clear of what is drawn there: the names of ordinary and of weak energy, and any other."""

import numpy as np
import pytest

from tests.timing.charts.drawn import corners
from tests.timing.charts.inked import ground, said, touches
from timing.charts import Supply, dwell_chart
from timing.charts.label_placement import BELOW_BASE, FROM_LINE, clear_place
from timing.charts.page import CAPITAL, GAP, Plot
from timing.charts.scale import Scale

PLOT = Plot(Scale(0, 6000, 40, 640), Scale(0, 40, 300, 100), "crank rpm", "energy at the spark, mJ")
SPEEDS = np.linspace(100, 6000, 60)


def place(*lines, uprights=(), bases=(200, 240), span=100):
    return clear_place(span, bases, PLOT, lines, uprights)


class TestAPlaceForAName:
    def test_on_an_empty_plot_it_is_the_left_end_of_the_best_line(self):
        assert place() == (40 + GAP, 200)

    def test_it_moves_to_the_right_past_a_line_that_falls_through_its_place(self):
        x, y = place([(40, 150), (140, 250), (640, 260)])
        assert y == 200
        # The line has left the height of the lettering, 190 to 203, where x is 93; a step of GAP is the most beyond.
        assert 93 < x <= 93 + 1.5 + 1.5 + GAP

    def test_a_line_that_ends_before_it_is_not_in_the_way(self):
        assert place([(100, 195), (200, 195)], bases=(200,)) == (pytest.approx(201.5, abs=GAP), 200)

    def test_no_upright_line_stands_in_it(self):
        x, y = place(uprights=(60, 150))
        assert (x > 150, y) == (True, 200)

    def test_where_the_best_is_crossed_from_end_to_end_the_next_is_taken(self):
        assert place([(40, 196), (640, 196)]) == (40 + GAP, 240)

    def test_where_every_one_is_crossed_it_stands_at_the_left_of_the_best(self):
        assert place([(40, 196), (640, 196)], [(40, 236), (640, 236)]) == (40 + GAP, 200)

    def test_it_does_not_stand_half_beside_the_plot(self):
        assert place(bases=(105, 240)) == (40 + GAP, 240)
        assert place(bases=(299, 240)) == (40 + GAP, 240)

    def test_it_may_just_fit_under_the_upper_edge(self):
        highest = 100 + CAPITAL + FROM_LINE
        assert place(bases=(highest, 240)) == (40 + GAP, highest)
        assert place(bases=(highest - 0.1, 240)) == (40 + GAP, 240)

    def test_it_may_just_fit_over_the_lower_edge(self):
        foot = 250 + BELOW_BASE + FROM_LINE
        plot = Plot(Scale(0, 6000, 40, 640), Scale(0, 40, foot, 100), "crank rpm", "mJ")
        assert clear_place(100, (250, 200), plot, (), ()) == (40 + GAP, 250)
        assert clear_place(100, (250.1, 200), plot, (), ()) == (40 + GAP, 200)

    def test_an_upright_line_may_stand_at_the_edge_of_what_is_kept_clear(self):
        left, right = 40 + GAP - FROM_LINE, 40 + GAP + 100 + FROM_LINE
        assert place(uprights=(left, right)) == (40 + GAP, 200)
        assert place(uprights=(right - 0.1,)) == (150, 200)
        assert place(uprights=(left + 0.1,)) == (50, 200)

    def test_a_level_line_may_run_along_the_edge_of_what_is_kept_clear(self):
        over, under = 200 - CAPITAL - FROM_LINE, 200 + BELOW_BASE + FROM_LINE
        assert place([(40, over), (640, over)], [(40, under), (640, under)]) == (40 + GAP, 200)
        assert place([(40, over + 0.1), (640, over + 0.1)]) == (40 + GAP, 240)
        assert place([(40, under - 0.1), (640, under - 0.1)]) == (40 + GAP, 240)

    def test_a_line_that_ends_just_where_it_begins_is_in_the_way(self):
        assert place([(0, 195), (40 + GAP - FROM_LINE, 195)]) == (50, 200)

    @pytest.mark.parametrize(("span", "base"), [(590, 240), (590.1, 200), (599, 200)])
    def test_it_ends_before_the_right_edge_or_is_not_moved_at_all(self, span, base):
        assert place([(40, 196), (640, 196)], span=span) == (40 + GAP, base)


def levels(*energy, **look):
    """A dwell budget whose energies stay level over the speed, or fall from the one figure to the other."""
    supplies = [
        Supply(f"supply {which}", 12.0 + which, 3.0, np.full(60, 3.0), np.linspace(*np.broadcast_to(mj, 2), 60))
        for which, mj in enumerate(energy)
    ]
    return dwell_chart(SPEEDS, supplies, uid="d", **look)


NAMES = ("ordinary from 30 mJ", "weak below 15 mJ")


def crossed(chart, text):
    """Layers and rules that pass through the ground of `text`, looked at every half unit along them."""
    left, right, top, bottom = ground(text)
    found = []
    for layer in (*chart.layers, *chart.rules):
        (xs, ys), steps = np.array(corners(layer.d)).T, []
        for x0, y0, x1, y1 in zip(xs, ys, xs[1:], ys[1:], strict=False):
            if layer.d.count("M") == 1 or x0 == x1:
                share = np.linspace(0, 1, int(2 * np.hypot(x1 - x0, y1 - y0)) + 2)
                steps += [(x0 + part * (x1 - x0), y0 + part * (y1 - y0)) for part in share]
        if any(left < x < right and top < y < bottom for x, y in steps):
            found.append(layer.name)
    return found


class TestOrdinaryAndWeakEnergy:
    @pytest.mark.parametrize("width", [720, 360])
    @pytest.mark.parametrize(
        "energy",
        [
            (31.8,),  # level just over the line: its name stood on it
            (11.8,),
            (11.8, 24.4, 31.8),
            ((40, 10),),  # falls through both
            ((34, 26), (16, 12)),
            ((10, 34),),
        ],
    )
    def test_no_energy_runs_through_their_names(self, energy, width):
        chart = levels(*energy, width=width)
        for words in NAMES:
            assert crossed(chart, said(chart, words)) == []
        assert not touches(*(said(chart, words) for words in NAMES))

    @pytest.mark.parametrize("limit", [500, 700, 1500])
    def test_no_rule_runs_through_them(self, limit):
        chart = levels(24, limit_rpm=limit)
        for words in NAMES:
            assert crossed(chart, said(chart, words)) == []

    def test_a_name_whose_side_is_crossed_all_along_stands_on_the_other(self):
        chart = levels(31.8, 11.8)
        lower = chart.panels[1].plot
        ordinary, weak = (said(chart, words) for words in NAMES)
        assert ground(ordinary)[2] > lower.up.at(30)
        assert ground(weak)[3] < lower.up.at(15)

    def test_close_together_they_do_not_lie_on_one_another(self):
        for least in (20, 21, 23, 25):
            chart = levels(38, ordinary_mj=25, least_mj=least)
            assert not touches(said(chart, "ordinary from 25 mJ"), said(chart, f"weak below {least} mJ"))
