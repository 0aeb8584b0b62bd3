"""The pens have the look: their class is coloured alike on the screen, and weight and dash tell what is what."""

import re
from dataclasses import fields

import pytest

from tests.timing.look import colours
from timing.charts import pens
from timing.charts.palette import Palette

# Every colour bears the name of its token, so that a pen says which token it was given.
NAMED = Palette(**{field.name: field.name for field in fields(Palette)})
ON_SCREEN = colours()

# By rank, as the look has it: the curve broadest of the lines, earlier versions and the paper thinner.
RANKS = {
    "hairline": (0.4, 0.99),
    "ordinary": (1.0, 1.45),
    "mark": (1.5, 1.95),
    "curve": (2.0, 2.4),
}
LINES = {
    "fine": (pens.fine, "hairline", "full"),
    "strong": (pens.strong, "ordinary", "full"),
    "axis": (pens.axis, "ordinary", "full"),
    "unit": (pens.unit, "curve", "full"),
    "wanted": (pens.wanted, "mark", "dashed"),
    "earlier": (lambda palette: pens.earlier(palette, 0), "ordinary", "full"),
    "second earlier": (lambda palette: pens.earlier(palette, 1), "ordinary", "dashed"),
    "third earlier": (lambda palette: pens.earlier(palette, 2), "ordinary", "dashed"),
    "fourth earlier": (lambda palette: pens.earlier(palette, 3), "ordinary", "dashed"),
    "edge of the band": (lambda palette: pens.edge(pens.band(palette)), "hairline", "full"),
    "edge of the tolerance": (lambda palette: pens.edge(pens.tolerance(palette)), "hairline", "full"),
    "edge of the confidence": (lambda palette: pens.edge(pens.confidence(palette)), "hairline", "dashed"),
    "fitted": (pens.fitted, "curve", "full"),
    "as found": (pens.as_found, "mark", "full"),
    "line as found": (pens.as_found_line, "hairline", "full"),
    "falling": (pens.falling, "mark", "full"),
    "line falling": (pens.falling_line, "hairline", "dashed"),
    "reading": (pens.reading, "mark", "full"),
    "measured": (pens.measured, "mark", "full"),
    "set aside": (pens.set_aside, "ordinary", "full"),
    "road note": (pens.road_note, "mark", "full"),
    "nought": (pens.nought, "ordinary", "full"),
    "lowest supply": (lambda palette: pens.supply(palette, 0), "mark", "dashed"),
    "ordinary supply": (lambda palette: pens.supply(palette, 1), "curve", "full"),
    "highest supply": (lambda palette: pens.supply(palette, 2), "mark", "dashed"),
    "threshold": (pens.threshold, "ordinary", "dashed"),
    "idle": (lambda palette: pens.rule(palette, "idle"), "ordinary", "dashed"),
    "limit": (lambda palette: pens.rule(palette, "limit"), "ordinary", "dashed"),
    "red line": (lambda palette: pens.rule(palette, "red-line"), "mark", "full"),
    "deviation": (pens.deviation, "mark", "full"),
    "row": (pens.row, "ordinary", "full"),
    "contour": (pens.contour, "ordinary", "full"),
    "cap": (pens.cap, "ordinary", "full"),
    "post": (pens.post, "ordinary", "full"),
    "own post": (pens.own_post, "ordinary", "full"),
    "rotor": (pens.rotor, "mark", "full"),
    "sight": (pens.sight, "hairline", "dashed"),
    "rotation": (pens.rotation, "ordinary", "full"),
    "measure": (pens.measure, "ordinary", "dashed"),
}
BROAD = {
    "contour halo": pens.contour_halo,
    "reach of a stop": lambda palette: pens.reach(palette, "stop"),
    "reach of a caution": lambda palette: pens.reach(palette, "caution"),
    "reach of a note": lambda palette: pens.reach(palette, "note"),
    "overlap": lambda palette: pens.overlap(palette, True),
    "leap": lambda palette: pens.overlap(palette, False),
}
AREAS = {
    "inside of the band": lambda palette: pens.area(pens.band(palette)),
    "inside of the tolerance": lambda palette: pens.area(pens.tolerance(palette)),
    "inside of the confidence": lambda palette: pens.area(pens.confidence(palette)),
    "short": pens.short_of,
}
ALL = {name: line[0] for name, line in LINES.items()} | BROAD | AREAS
BANDS = {"band": pens.band, "tolerance": pens.tolerance, "confidence": pens.confidence}


@pytest.mark.parametrize("name", ALL)
def test_a_pen_has_the_colour_that_the_screen_gives_its_class(name):
    pen = ALL[name](NAMED)
    assert pen.css in ON_SCREEN
    on_screen = ON_SCREEN[pen.css]
    for part in ("stroke", "fill"):
        if getattr(pen, part) == "none":
            assert part not in on_screen
        else:
            assert getattr(pen, part) == on_screen[part]


@pytest.mark.parametrize("name", LINES)
def test_a_line_has_the_weight_of_its_rank_and_the_dash_of_its_meaning(name):
    make, rank, dash = LINES[name]
    pen = make(NAMED)
    low, high = RANKS[rank]
    assert low <= pen.width <= high
    assert bool(pen.dash) == (dash == "dashed")
    assert re.fullmatch(r"(\d+ \d+( \d+ \d+)*)?", pen.dash)  # lengths of strokes and gaps, by pairs
    assert pen.fill_opacity == 1.0  # else the template would write one out


@pytest.mark.parametrize("name", BANDS)
def test_a_band_in_the_key_has_both_the_colours_of_its_inside_and_of_its_edge(name):
    pen = BANDS[name](NAMED)
    assert pen.css == f"chart-{name}"
    area, edge = pens.area(pen), pens.edge(pen)
    assert (pen.fill, pen.stroke) == (area.fill, edge.stroke)
    assert (pen.fill_opacity, pen.width, pen.dash) == (area.fill_opacity, edge.width, edge.dash)


@pytest.mark.parametrize("name", AREAS)
def test_an_area_is_pale_and_has_no_outline(name):
    pen = AREAS[name](NAMED)
    assert pen.stroke == "none"
    assert 0.05 < pen.fill_opacity < 0.2


def test_the_edge_of_a_band_is_not_filled():
    assert pens.edge(pens.band(NAMED)).fill == "none"


def test_several_lines_of_one_colour_are_told_apart_by_their_dash_for_print_has_no_other_colour():
    earlier = [pens.earlier(NAMED, which).dash for which in range(4)]
    assert len(set(earlier)) == 4
    assert pens.earlier(NAMED, 4) == pens.earlier(NAMED, 0)  # and a fifth begins again
    supplies = [pens.supply(NAMED, which).dash for which in range(3)]
    assert len(set(supplies)) == 3
    assert pens.supply(NAMED, 3) == pens.supply(NAMED, 0)


def test_supplies_are_named_from_the_lowest_voltage_up():
    names = [pens.supply(NAMED, which).css for which in range(3)]
    assert names == ["chart-cranking", "chart-running", "chart-charging"]


@pytest.mark.parametrize("kind", ["idle", "limit", "red-line", "vacuum", "fits"])
def test_a_rule_bears_its_kind(kind):
    assert pens.rule(NAMED, kind).css == f"chart-rule-{kind}"


@pytest.mark.parametrize(("kind", "token"), [("stop", "stop"), ("caution", "caution"), ("note", "ink")])
def test_a_finding_has_the_colour_of_its_kind_and_its_reach_lies_pale_and_broad_beneath_the_curve(kind, token):
    assert pens.finding_colour(NAMED, kind) == token
    reach = pens.reach(NAMED, kind)
    assert reach.css == f"chart-reach-{kind}"
    assert reach.width == pytest.approx(4 * pens.unit(NAMED).width, abs=0.5)
    assert 0.1 < reach.opacity < 0.4


def test_a_contour_lets_its_shade_through_and_its_halo_shows_about_one_unit_on_either_side():
    contour, halo = pens.contour(NAMED), pens.contour_halo(NAMED)
    assert (halo.width - contour.width) / 2 == pytest.approx(1.0, abs=0.2)
    assert 0 < halo.opacity < contour.opacity < 1


def test_where_the_spark_jumps_is_blue_while_it_is_allowed_and_of_the_stop_colour_when_it_is_not():
    allowed, refused = pens.overlap(NAMED, True), pens.overlap(NAMED, False)
    assert (allowed.css, allowed.stroke) == ("chart-overlap", "marking")
    assert (refused.css, refused.stroke) == ("chart-leap", "stop")
    assert allowed.width == refused.width == pytest.approx(2 * pens.unit(NAMED).width, abs=0.5)
