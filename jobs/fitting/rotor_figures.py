"""The figures of the rotor's page as it lists them, each with its unit and the page it can be corrected on."""

from typing import Any

from garage.quantities.words import advance, plain
from garage.vehicles.data_sheet import MOVES
from garage.vehicles.facts import trigger_place
from garage.vehicles.models import Vehicle
from jobs.fitting.rotor import RotorPage, Source

NOT_MEASURED = "not measured yet"


def large_figures(rotor: RotorPage) -> list[dict[str, str]]:
    """What the verdict rests on: edge and tip (or where they are in line), the range, and where they align best."""
    shown = [_in_line(rotor)] if rotor.is_on_crank else [_edge(rotor), _tip(rotor)]
    shown.append(_large("Range of advance", rotor.range_in_words, rotor.range_source, "BTDC", link="Show"))
    if rotor.phasing:
        middle = Source("middle of the range", "")
        shown.append(_large("Best aligned at", advance(rotor.phasing.best_aligned_deg), middle))
    return shown


def _in_line(rotor: RotorPage) -> dict[str, str]:
    line = rotor.values.in_line_at
    shown = advance(line.value) if line else ""
    return _large("Tip and terminal in line at", shown, rotor.in_line_source, missing=NOT_MEASURED)


def _edge(rotor: RotorPage) -> dict[str, str]:
    edge = rotor.edge_deg
    return _large("Trigger edge", "" if edge is None else advance(edge), rotor.edge_source)


def _tip(rotor: RotorPage) -> dict[str, str]:
    label, source, tip = "Tip at the edge", rotor.tip_source, rotor.tip_dist_deg
    if tip is not None and source is not None:
        return _large(
            label, plain(tip, 1), Source(f"{rotor.tip_at_edge} · {source.words}", source.url), "° distributor"
        )
    arc = rotor.values.tip_arc
    return _large(label, plain(arc.value, 1) if arc else "", source, "mm", missing=NOT_MEASURED)


def _large(
    label: str,
    value: str,
    source: Source | None,
    unit: str = "",
    *,
    link: str = "Show or correct",
    missing: str = "not known",
) -> dict[str, str]:
    if not value or source is None:
        return {"label": label, "value": "", "missing": missing}
    return {"label": label, "value": value, "unit": unit, "source": source.words, "url": source.url, "link": link}


def worked_out_from(rotor: RotorPage, vehicle: Vehicle) -> list[dict[str, Any]]:
    """The car's figures behind the page, as lines of label, value and unit."""
    facts, place = rotor.facts, trigger_place(vehicle)
    measures = {
        "Rotor tip, radius": facts.tip_radius_mm,
        "Rotor tip, width": facts.tip_width_mm,
        "Cap terminal, width": facts.post_width_mm,
        "Rotor air gap": facts.radial_gap_mm,
        "Distributor rim, diameter": vehicle.distributor.rim_diameter_mm,
    }
    terminals = str(facts.terminals or "") or (f"{rotor.posts}, one for each cylinder" if rotor.posts else "")
    lines: list[dict[str, Any]] = [
        {"label": "Place of the trigger", "value": place.label if place else ""},
        *({"label": label, "value": plain(size) if size else "", "unit": "mm"} for label, size in measures.items()),
        {"label": "Cap terminals", "value": terminals},
    ]
    if not rotor.is_on_crank:
        lines.append({"label": "Plate or pick-up", "value": MOVES[facts.plate_moves]})
    if rotor.phasing:
        widest = rotor.phasing.widest_range_deg
        lines.append({"label": "Widest range that passes", "value": f"{plain(widest, 1)}° crank" if widest else "none"})
    return lines
