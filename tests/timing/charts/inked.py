"""The lettering of a drawing: its colour, and the ground it stands on."""

from timing.charts.page import Text, width_of

# The token of each class of lettering. tests/site/test_chart_inks.py holds it to the style sheet of the screen.
INKS = {
    "chart-figure": "pencil",
    "chart-name": "ink",
    "chart-key": "ink",
    "chart-refused": "stop",
    "chart-threshold-name": "caution",
    "chart-rule-name-idle": "pencil",
    "chart-rule-name-vacuum": "pencil",
    "chart-rule-name-fits": "pencil",
    "chart-rule-name-limit": "ink",
    "chart-rule-name-red-line": "stop",
}


def lettering(chart) -> list[Text]:
    """Everything printed on a drawing: along its axes, beside its lines, in its key."""
    along = [text for panel in getattr(chart, "panels", ()) for text in panel.texts]
    return [*along, *chart.texts, *(entry.text for entry in getattr(chart, "key", ()))]


def ink_of(text: Text) -> str:
    """The token that the last class of `text` asks for."""
    return INKS[text.css.split()[-1]]


def ground(text: Text) -> tuple[float, float, float, float]:
    """Left, right, top and bottom of a line of lettering: 0.72 of its height above the base line, 0.22 below."""
    span = width_of(text.text, text.size)
    left = text.x - {"start": 0.0, "middle": span / 2, "end": span}[text.anchor]
    return left, left + span, text.y - 0.72 * text.size, text.y + 0.22 * text.size


def touches(one: Text, other: Text) -> bool:
    """Whether two lines of lettering lie on one another."""
    a, b = ground(one), ground(other)
    return a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3]


def said(chart, words: str) -> Text:
    """The one line of lettering that says `words`."""
    found = [text for text in lettering(chart) if text.text == words]
    assert len(found) == 1, [text.text for text in lettering(chart)]
    return found[0]


def misprinted(chart) -> list[Text]:
    """Lettering in another colour than its class has on the screen, or that runs off the drawing."""
    wrong = []
    for text in lettering(chart):
        left, right, top, bottom = ground(text)
        inside = left >= 0 and right <= chart.width and top >= 0 and bottom <= chart.height
        if text.fill != getattr(chart.palette, ink_of(text)) or not inside:
            wrong.append(text)
    return wrong
