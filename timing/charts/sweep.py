"""The old distributor's advance as the strobe found it, against the factory band."""

from __future__ import annotations

from collections.abc import Sequence

from timing.charts import marks, styles
from timing.charts.findings import FindingMark, place_findings
from timing.charts.graph import Graph
from timing.charts.layout import WIDE, on_one_sheet, sheet_plot
from timing.charts.page import Plot
from timing.charts.palette import PRINT, Palette
from timing.charts.points import Band, Rows, pairs, triples
from timing.charts.speed_figures import Given, axes_for, rules_at
from timing.charts.speed_layers import (
    band_area,
    band_outline,
    crosses,
    description_of,
    edge_to_edge,
    extended_line,
    key_of,
    reaches,
)
from timing.charts.styles import Layer


def sweep_chart(
    *,
    uid: str | None = None,
    title: str = "The old advance as found",
    rising: Rows = (),
    falling: Rows = (),
    band: Band = (),
    findings: Sequence[FindingMark] = (),
    idle_rpm: float | None = None,
    red_line_rpm: float | None = None,
    rpm_limits: tuple[float, float] | None = None,
    degrees_limits: tuple[float, float] | None = None,
    degrees_name: str = "degrees of crank",
    width: float = WIDE,
    palette: Palette = PRINT,
) -> Graph:
    """The strobe sweep of the old distributor against the factory band, rising and falling speeds told apart.

    Parameters
    ----------
    rising, falling : sequence of (rpm, degrees)
        Readings taken while the speed rose, and while it fell; several at one speed are allowed.
    band : sequence of (rpm, lowest, highest)
        The factory band, counted as the readings are. Its mid-line is drawn dashed. [rpm, degrees of crank]

    Others as `speed_chart`.

    Returns
    -------
    Graph
        The drawing.

    Raises
    ------
    TimingError
        As `speed_chart`.
    """
    given = Given(
        band=triples(band, "the factory band"),
        rising=pairs(rising, "the rising sweep"),
        falling=pairs(falling, "the falling sweep"),
        rules=rules_at(idle_rpm, None, red_line_rpm),
    )
    across, up = axes_for(given, (), rpm_limits, degrees_limits, degrees_name)
    plot = sheet_plot(across, up, width=width, rules=given.rules)
    rules, rule_names = marks.place_rules(given.rules, plot, palette)
    return on_one_sheet(
        uid=uid,
        kind="sweep",
        title=title,
        description=description_of(given, findings),
        width=width,
        plot=plot,
        across=across,
        up=up,
        palette=palette,
        key=key_of(given, palette),
        under=[*band_area(given, plot, palette), *reaches(findings, given, plot, palette)],
        rules=rules,
        layers=[
            *band_outline(given, plot, palette),
            *_mid_line(given, plot, palette),
            *crosses(given, plot, palette),
        ],
        findings=place_findings(findings, plot, edge_to_edge(given.curve_to_speak_of(), plot), palette),
        texts=rule_names,
        rows=marks.rows_of_rules(given.rules, plot),
    )


def _mid_line(given: Given, plot: Plot, palette: Palette) -> list[Layer]:
    if not given.band:
        return []
    middle = [(rpm, (low + high) / 2) for rpm, low, high in given.band]
    return [Layer("mid-line", styles.target(palette), extended_line(middle, plot))]
