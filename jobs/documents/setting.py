"""Setting the documents: from the plain data of the job to the bytes of a PDF."""

from datetime import datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.template.loader import render_to_string

from jobs.documents.models import DocumentKind
from jobs.maps.stored_map import from_json
from timing.charts.graph import Graph
from timing.charts.speed import speed_chart
from timing.ignition_map import IgnitionMap
from timing.sheets.pdf import pdf_from_html

TEMPLATE_OF = {
    DocumentKind.CUSTOMER_SHEET: "jobs/documents/sheets/customer_sheet.html",
    DocumentKind.BENCH_RECORD: "jobs/documents/sheets/bench_record.html",
    DocumentKind.LABEL: "jobs/documents/sheets/label.html",
}
STYLESHEETS = {
    DocumentKind.CUSTOMER_SHEET: ["sheet.css"],
    DocumentKind.BENCH_RECORD: ["sheet.css"],
    DocumentKind.LABEL: ["label.css"],
}
# A label is one piece of paper, however long the names on it.
LABEL_SIZES = [f"html {{ font-size: {size}pt }}" for size in (7, 6.3, 5.7, 5.1, 4.6)]


def set_document(kind: DocumentKind, facts: dict[str, Any]) -> bytes:
    """The PDF of `kind` from `facts`, the `document_data`; the same facts give the same bytes."""
    html = render_to_string(TEMPLATE_OF[kind], {"facts": facts, "chart": curve_picture(facts)})
    css = "\n".join((_css_folder() / name).read_text() for name in STYLESHEETS[kind])
    return pdf_from_html(
        html,
        stylesheet=css,
        created=datetime.fromisoformat(facts["made_at"]),
        one_page_by=LABEL_SIZES if kind == DocumentKind.LABEL else ("",),
    )


def curve_picture(facts: dict[str, Any]) -> Graph | None:
    """The map's curve as the unit holds it, total advance without vacuum, with the strobe's crosses upon it."""
    found = facts["map"]
    if not found:
        return None
    target, delivered = from_json(found["target"]), from_json(found["delivered"])
    checked = facts["strobe"]["final"] or facts["strobe"]["map"]
    # The curve is drawn without vacuum: what was read with the pipe on lies above it and belongs to the table alone.
    pipe_off = [row for row in checked["readings"] if row["vacuum_kpa"] is None] if checked else []
    readings = [(row["rpm"], row["measured_deg"]) for row in pipe_off]
    return speed_chart(
        uid="curve",
        title=f"Advance of map version {found['number']}",
        delivered=_total(delivered),
        target=_total(target),
        readings=readings,
        idle_rpm=facts["car"]["idle_rpm"],
        rev_limit_rpm=delivered.rev_limit_rpm,
        red_line_rpm=facts["car"]["red_line_rpm"],
        degrees_name="° BTDC",
    )


def _total(ignition_map: IgnitionMap) -> list[tuple[float, float]]:
    """The points of the speed curve with base timing in them."""
    total = ignition_map.curve.shift(ignition_map.base_deg)
    return list(zip(total.rpm, total.degrees, strict=True))


def _css_folder() -> Path:
    return Path(settings.BASE_DIR) / "static" / "css"
