"""The screen draws with the same tokens as print: its style sheet against the pens and the lettering of the charts."""

import re

import pytest

from tests.site.test_chart_templates import CHARTS, CSS
from tests.timing.charts.inked import INKS
from timing.charts import PRINT


def tokens_by_class():
    """What charts.css gives to each class standing alone: {(class, property): token}."""
    found = {}
    for selectors, body in re.findall(r"([^{}]+)\{([^}]*)\}", re.sub(r"/\*.*?\*/", "", CSS, flags=re.DOTALL)):
        given = re.findall(r"(stroke|fill): var\(--([a-z0-9-]+)\)", body)
        for selector in selectors.split(","):
            names = re.fullmatch(r"(?:\.[a-z][a-z0-9-]*)+", selector.strip())
            for name, token in ((names.group().split(".")[-1], pair) for pair in given if names):
                found[name, token[0]] = token[1]
    return found


SCREEN = tokens_by_class()


@pytest.mark.parametrize("css", INKS)
def test_lettering_has_the_ink_that_its_class_has_on_the_screen(css):
    assert SCREEN[css, "fill"] == INKS[css]


@pytest.mark.parametrize("level", range(len(PRINT.shades)))
def test_a_figure_of_the_surface_stands_on_the_shade_of_its_cell_on_the_screen_too(level):
    assert SCREEN[f"ground-{level}", "stroke"] == SCREEN[f"level-{level}", "fill"]


@pytest.mark.parametrize("kind", CHARTS)
def test_every_pen_has_the_token_that_its_class_has_on_the_screen(kind):
    chart = CHARTS[kind]()
    layers = [layer for group in ("under", "rules", "layers", "contours") for layer in getattr(chart, group, ())]
    assert layers
    for layer in layers:
        for property_, colour in (("stroke", layer.style.stroke), ("fill", layer.style.fill)):
            if colour != "none":
                tokens = {SCREEN[css, property_] for css in layer.style.css.split() if (css, property_) in SCREEN}
                assert {getattr(PRINT, token) for token in tokens} == {colour}, (layer.name, layer.style.css)
