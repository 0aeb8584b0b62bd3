"""The pens have the look: their class is coloured alike on the screen, and weight and dash tell what is what."""

import re
from dataclasses import fields

import pytest

from tests.timing.charts.look import colours
from timing.charts import styles
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
    "fine": (styles.fine, "hairline", "full"),
    "strong": (styles.strong, "ordinary", "full"),
    "axis": (styles.axis, "ordinary", "full"),
    "delivered": (styles.delivered, "curve", "full"),
    "target": (styles.target, "mark", "dashed"),
    "earlier": (lambda palette: styles.earlier(palette, 0), "ordinary", "full"),
    "second earlier": (lambda palette: styles.earlier(palette, 1), "ordinary", "dashed"),
    "third earlier": (lambda palette: styles.earlier(palette, 2), "ordinary", "dashed"),
    "fourth earlier": (lambda palette: styles.earlier(palette, 3), "ordinary", "dashed"),
    "edge of the band": (lambda palette: styles.edge(styles.band(palette)), "hairline", "full"),
    "edge of the tolerance": (lambda palette: styles.edge(styles.tolerance(palette)), "hairline", "full"),
    "edge of the confidence": (lambda palette: styles.edge(styles.confidence(palette)), "hairline", "dashed"),
    "fitted": (styles.fitted, "curve", "full"),
    "as found": (styles.as_found, "mark", "full"),
    "line as found": (styles.as_found_line, "hairline", "full"),
    "falling": (styles.falling, "mark", "full"),
    "line falling": (styles.falling_line, "hairline", "dashed"),
    "reading": (styles.reading, "mark", "full"),
    "measured": (styles.measured, "mark", "full"),
    "set aside": (styles.set_aside, "ordinary", "full"),
    "road note": (styles.road_note, "mark", "full"),
    "nought": (styles.nought, "ordinary", "full"),
    "lowest supply": (lambda palette: styles.supply(palette, 0), "mark", "dashed"),
    "ordinary supply": (lambda palette: styles.supply(palette, 1), "curve", "full"),
    "highest supply": (lambda palette: styles.supply(palette, 2), "mark", "dashed"),
    "threshold": (styles.threshold, "ordinary", "dashed"),
    "idle": (lambda palette: styles.rule(palette, "idle"), "ordinary", "dashed"),
    "limit": (lambda palette: styles.rule(palette, "limit"), "ordinary", "dashed"),
    "red line": (lambda palette: styles.rule(palette, "red-line"), "mark", "full"),
    "deviation": (styles.deviation, "mark", "full"),
    "row": (styles.row, "ordinary", "full"),
    "contour": (styles.contour, "ordinary", "full"),
    "cap": (styles.cap, "ordinary", "full"),
    "post": (styles.post, "ordinary", "full"),
    "own post": (styles.own_post, "ordinary", "full"),
    "rotor": (styles.rotor, "mark", "full"),
    "sight": (styles.sight, "hairline", "dashed"),
    "rotation": (styles.rotation, "ordinary", "full"),
    "measure": (styles.measure, "ordinary", "dashed"),
}
BROAD = {
    "contour halo": styles.contour_halo,
    "reach of a stop": lambda palette: styles.reach(palette, "stop"),
    "reach of a caution": lambda palette: styles.reach(palette, "caution"),
    "reach of a note": lambda palette: styles.reach(palette, "note"),
    "overlap": lambda palette: styles.overlap(palette, True),
    "leap": lambda palette: styles.overlap(palette, False),
}
AREAS = {
    "inside of the band": lambda palette: styles.area(styles.band(palette)),
    "inside of the tolerance": lambda palette: styles.area(styles.tolerance(palette)),
    "inside of the confidence": lambda palette: styles.area(styles.confidence(palette)),
    "short": styles.short_of,
}
ALL = {name: line[0] for name, line in LINES.items()} | BROAD | AREAS
BANDS = {"band": styles.band, "tolerance": styles.tolerance, "confidence": styles.confidence}


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
    area, edge = styles.area(pen), styles.edge(pen)
    assert (pen.fill, pen.stroke) == (area.fill, edge.stroke)
    assert (pen.fill_opacity, pen.width, pen.dash) == (area.fill_opacity, edge.width, edge.dash)


@pytest.mark.parametrize("name", AREAS)
def test_an_area_is_pale_and_has_no_outline(name):
    pen = AREAS[name](NAMED)
    assert pen.stroke == "none"
    assert 0.05 < pen.fill_opacity < 0.2


def test_the_edge_of_a_band_is_not_filled():
    assert styles.edge(styles.band(NAMED)).fill == "none"


def test_several_lines_of_one_colour_are_told_apart_by_their_dash_for_print_has_no_other_colour():
    earlier = [styles.earlier(NAMED, which).dash for which in range(4)]
    assert len(set(earlier)) == 4
    assert styles.earlier(NAMED, 4) == styles.earlier(NAMED, 0)  # and a fifth begins again
    supplies = [styles.supply(NAMED, which).dash for which in range(3)]
    assert len(set(supplies)) == 3
    assert styles.supply(NAMED, 3) == styles.supply(NAMED, 0)


def test_supplies_are_named_from_the_lowest_voltage_up():
    names = [styles.supply(NAMED, which).css for which in range(3)]
    assert names == ["chart-cranking", "chart-running", "chart-charging"]


@pytest.mark.parametrize("kind", ["idle", "limit", "red-line", "vacuum", "fits"])
def test_a_rule_bears_its_kind(kind):
    assert styles.rule(NAMED, kind).css == f"chart-rule-{kind}"


@pytest.mark.parametrize(("kind", "token"), [("stop", "stop"), ("caution", "caution"), ("note", "ink")])
def test_a_finding_has_the_colour_of_its_kind_and_its_reach_lies_pale_and_broad_beneath_the_curve(kind, token):
    assert styles.finding_colour(NAMED, kind) == token
    reach = styles.reach(NAMED, kind)
    assert reach.css == f"chart-reach-{kind}"
    assert reach.width == pytest.approx(4 * styles.delivered(NAMED).width, abs=0.5)
    assert 0.1 < reach.opacity < 0.4


def test_a_contour_lets_its_shade_through_and_its_halo_shows_about_one_unit_on_either_side():
    contour, halo = styles.contour(NAMED), styles.contour_halo(NAMED)
    assert (halo.width - contour.width) / 2 == pytest.approx(1.0, abs=0.2)
    assert 0 < halo.opacity < contour.opacity < 1


def test_where_the_spark_jumps_is_blue_while_it_is_allowed_and_of_the_stop_colour_when_it_is_not():
    allowed, refused = styles.overlap(NAMED, True), styles.overlap(NAMED, False)
    assert (allowed.css, allowed.stroke) == ("chart-overlap", "marking")
    assert (refused.css, refused.stroke) == ("chart-leap", "stop")
    assert allowed.width == refused.width == pytest.approx(2 * styles.delivered(NAMED).width, abs=0.5)
