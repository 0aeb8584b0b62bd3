"""The styles of layers: width, dash and colour of each, and the class by which a screen overrides them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from timing.charts.palette import Palette


@dataclass(frozen=True, slots=True)
class Style:
    """How one layer is drawn, as presentation attributes.

    Attributes
    ----------
    css : str
        Class of the element.
    stroke, fill : str
        Colours, or 'none'.
    width : float
        Width of the stroke; an ordinary line, unless said. [units of the drawing]
    dash : str
        Dash pattern, empty for a full line.
    fill_opacity, opacity : float
        Opacity of the fill and of the stroke, 0 to 1.
    """

    css: str
    stroke: str = "none"
    width: float = 1.2
    dash: str = ""
    fill: str = "none"
    fill_opacity: float = 1.0
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Layer:
    """One path with its style; `name` is what a script asks for, `label` which it is where several bear one name."""

    name: str
    style: Style
    d: str
    label: str = ""


def fine(palette: Palette) -> Style:
    """Fine graduations."""
    return Style("chart-fine", palette.hairline, 0.5)


def strong(palette: Palette) -> Style:
    """Strong graduations."""
    return Style("chart-strong", palette.hairline)


def axis(palette: Palette) -> Style:
    """The frame of a plot."""
    return Style("chart-axis", palette.ink)


def delivered(palette: Palette) -> Style:
    """What the unit delivers: the strongest line."""
    return Style("chart-unit", palette.ink, 2.2)


def target(palette: Palette) -> Style:
    """What it was fitted to: dashed, so that the line beneath is seen."""
    return Style("chart-wanted", palette.ink, 1.5, dash="7 4")


def earlier(palette: Palette, which: int) -> Style:
    """Pencil; several earlier versions are told apart by their dash, for print has only one pencil.

    Parameters
    ----------
    palette : Palette
        Colours.

    which : int
        Its place among the earlier versions.

    Returns
    -------
    Style
        The style.
    """
    dashes = ("", "2 3", "9 3 2 3", "12 4")
    return Style("chart-earlier", palette.pencil, dash=dashes[which % len(dashes)])


def area(style: Style) -> Style:
    """The pale inside of a band, for beneath the graduations."""
    return replace(style, css=f"{style.css}-area", stroke="none")


def edge(style: Style) -> Style:
    """The outline of a band, for above the graduations: beneath them it would be chopped up."""
    return replace(style, css=f"{style.css}-edge", fill="none", fill_opacity=1.0)


def band(palette: Palette) -> Style:
    """The factory band."""
    return Style("chart-band", palette.pencil, 0.9, fill=palette.pencil, fill_opacity=0.13)


def cars(palette: Palette) -> Style:
    """The middle half of several cars."""
    return Style("chart-cars", palette.marking, 0.9, dash="3 3", fill=palette.marking, fill_opacity=0.10)


def middle_of_cars(palette: Palette) -> Style:
    """The median of several cars."""
    return Style("chart-cars-middle", palette.marking, 1.7)


def whole_range(palette: Palette) -> Style:
    """From the lowest to the highest of several figures, or where a share is likely to lie."""
    return Style("chart-range", palette.pencil, 1.5)


def middle_half(palette: Palette) -> Style:
    """The middle half of several figures."""
    return Style("chart-half", palette.marking, 7.0, opacity=0.35)


def middle(palette: Palette) -> Style:
    """The median of several figures, or a share."""
    return Style("chart-middle", palette.ink, 2.2)


def tolerance(palette: Palette) -> Style:
    """The tolerance of strobe readings."""
    return Style("chart-tolerance", palette.good, 0.9, fill=palette.good, fill_opacity=0.09)


def confidence(palette: Palette) -> Style:
    """The interval of a fitted line."""
    return Style("chart-confidence", palette.marking, 0.9, dash="3 3", fill=palette.marking, fill_opacity=0.12)


def fitted(palette: Palette) -> Style:
    """A fitted line."""
    return Style("chart-fitted", palette.marking, 2.0)


def as_found(palette: Palette) -> Style:
    """Crosses of the old distributor's sweep."""
    return Style("chart-as-found", palette.pencil, 1.7)


def as_found_line(palette: Palette) -> Style:
    """The line through them."""
    return Style("chart-as-found-line", palette.pencil, 0.9)


def falling(palette: Palette) -> Style:
    """Crosses read while the speed fell."""
    return Style("chart-falling", palette.pencil, 1.5)


def falling_line(palette: Palette) -> Style:
    """The line through them."""
    return Style("chart-falling-line", palette.pencil, 0.9, dash="3 3")


def reading(palette: Palette) -> Style:
    """Crosses of the strobe on a curve."""
    return Style("chart-reading", palette.marking, 1.9)


def measured(palette: Palette) -> Style:
    """Crosses of the strobe on a chart of its own."""
    return Style("chart-measured", palette.ink, 1.9)


def set_aside(palette: Palette) -> Style:
    """Readings left out of a fit."""
    return Style("chart-set-aside", palette.pencil)


def road_note(palette: Palette) -> Style:
    """Diamonds of road notes."""
    return Style("chart-road-note", palette.marking, 1.5, fill=palette.sheet)


def nought(palette: Palette) -> Style:
    """The line of no error."""
    return Style("chart-nought", palette.ink)


def supply(palette: Palette, which: int) -> Style:
    """One supply voltage of several, from the lowest up: the middle one is the ordinary case and drawn full.

    Parameters
    ----------
    palette : Palette
        Colours.

    which : int
        Its place among the voltages, from the lowest.

    Returns
    -------
    Style
        The style.
    """
    names = ("cranking", "running", "charging")
    inks = (palette.pencil, palette.ink, palette.pencil)
    widths, dashes = (1.5, 2.0, 1.5), ("2 3", "", "9 3 2 3")
    return Style(f"chart-{names[which % 3]}", inks[which % 3], widths[which % 3], dash=dashes[which % 3])


def short_of(palette: Palette) -> Style:
    """Where less is left than was asked for."""
    return Style("chart-short-area", fill=palette.caution, fill_opacity=0.14)


def threshold(palette: Palette) -> Style:
    """A limit of energy."""
    return Style("chart-threshold", palette.caution, dash="6 3")


def rule(palette: Palette, kind: str) -> Style:
    """A rule across the plot: `idle` in pencil, `limit` in ink, `red-line` in the stop colour.

    Parameters
    ----------
    palette : Palette
        Colours.

    kind : str
        'idle', 'limit', 'red-line', or another, which is drawn as idle is.

    Returns
    -------
    Style
        The style.
    """
    if kind == "red-line":
        return Style("chart-rule-red-line", palette.stop, 1.6)
    if kind == "limit":
        return Style("chart-rule-limit", palette.ink, dash="8 3 2 3")
    return Style(f"chart-rule-{kind}", palette.pencil, dash="2 3")


def deviation(palette: Palette) -> Style:
    """The bar where two curves are furthest apart."""
    return Style("chart-deviation", palette.marking, 1.6)


def reach(palette: Palette, kind: str) -> Style:
    """The stretch of the curve that a finding speaks of.

    Parameters
    ----------
    palette : Palette
        Colours.

    kind : 'stop', 'caution' or 'note'
        Kind of the finding.

    Returns
    -------
    Style
        The style.
    """
    return Style(f"chart-reach-{kind}", finding_colour(palette, kind), 9.0, opacity=0.22)


def finding_colour(palette: Palette, kind: str) -> str:
    """The colour of a finding.

    Parameters
    ----------
    palette : Palette
        Colours.
    kind : 'stop', 'caution' or 'note'
        Kind of the finding.

    Returns
    -------
    str
        The colour.
    """
    return {"stop": palette.stop, "caution": palette.caution, "note": palette.ink}[kind]


def row(palette: Palette) -> Style:
    """One row of a table among its fellows."""
    return Style("chart-row", palette.ink)


def contour(palette: Palette) -> Style:
    """A line of one advance over the surface."""
    return Style("chart-contour", palette.ink, opacity=0.75)


def contour_halo(palette: Palette) -> Style:
    """Pale, beneath a contour line, so that it is seen on dark shades too."""
    return Style("chart-contour-halo", palette.sheet, 3.0, opacity=0.35)


def cap(palette: Palette) -> Style:
    """The rim of the cap."""
    return Style("chart-cap", palette.pencil, fill=palette.sheet)


def post(palette: Palette) -> Style:
    """Posts of other cylinders."""
    return Style("chart-post", palette.pencil, fill=palette.hairline)


def own_post(palette: Palette) -> Style:
    """The terminal whose spark it is."""
    return Style("chart-own-post", palette.ink, fill=palette.pencil)


def rotor(palette: Palette) -> Style:
    """The rotor and its shaft."""
    return Style("chart-rotor", palette.ink, 1.6, fill=palette.sheet)


def sight(palette: Palette) -> Style:
    """Centre lines."""
    return Style("chart-sight", palette.pencil, 0.9, dash="8 3 2 3")


def rotation(palette: Palette) -> Style:
    """The arrow of rotation."""
    return Style("chart-rotation", palette.pencil)


def overlap(palette: Palette, allowed: bool) -> Style:
    """Where the spark jumps: in marking blue, or in the stop colour when it is refused.

    Parameters
    ----------
    palette : Palette
        Colours.

    allowed : bool
        Whether the spark may jump there.

    Returns
    -------
    Style
        The style.
    """
    return Style("chart-overlap" if allowed else "chart-leap", palette.marking if allowed else palette.stop, 4.0)


def measure(palette: Palette) -> Style:
    """The way to the nearest other terminal."""
    return Style("chart-measure", palette.pencil, dash="3 3")
