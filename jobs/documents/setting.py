"""Setting the documents: from the plain data of the job to the bytes of a PDF."""

from datetime import datetime
from functools import cache, partial
from typing import Any

from django.template.loader import render_to_string

from garage.papers.setting import set_paper
from jobs.documents.bench_record import bench_context
from jobs.documents.camera_code import camera_code
from jobs.documents.models import DocumentKind
from jobs.inspection.models import SweepDirection
from jobs.maps.stored_map import from_json
from jobs.settings_file.writing import FILE_NAME, as_bytes, car_settings
from timing.charts.graph import Graph
from timing.charts.layout import WIDE
from timing.charts.speed import speed_chart
from timing.ignition_map import IgnitionMap
from timing.sheets.letters import isolated
from timing.sheets.pdf import Embedded

TEMPLATE_OF = {
    DocumentKind.CUSTOMER_SHEET: "jobs/documents/sheets/customer_sheet.html",
    DocumentKind.BENCH_RECORD: "jobs/documents/sheets/bench_record.html",
    DocumentKind.RESTORE_SHEET: "jobs/documents/sheets/restore_sheet.html",
    DocumentKind.LABEL: "jobs/documents/sheets/label.html",
}
STYLESHEETS = {
    DocumentKind.CUSTOMER_SHEET: ["sheet.css", "customer.css"],
    DocumentKind.BENCH_RECORD: ["sheet.css", "bench.css"],
    DocumentKind.RESTORE_SHEET: ["sheet.css", "restore.css"],
    DocumentKind.LABEL: ["label.css"],
}
# What another workshop has to know of the car before it puts a new unit in, by the items of our check-lists.
AS_FITTED = (
    "wires", "fuse", "coil-type", "coil-primary", "coil-wired", "coil-wired-positive",
    "lead-kind", "plug-type", "plug-gap", "vacuum-source",
    "firing-order", "trigger-edge", "edge-told", "contacts", "dwell-set", "lock-method", "get-home-kit",
)  # fmt: skip
# Either says that the weights are locked.
LOCKED = {"lock-method", "advance-free-play"}
# A label is one piece of paper, however long the names on it.
_SMALLER_CODE = ".code, .code img { width: 31mm } .code img { height: 31mm } .words { margin-right: 33mm }"
LABEL_SIZES = [
    *(f"html {{ font-size: {size}pt }}" for size in (8.6, 7.8, 7, 6.3, 5.7, 5.1)),
    *(f"html {{ font-size: {size}pt }} {_SMALLER_CODE}" for size in (5.1, 4.6, 4.1)),
]


def set_document(kind: DocumentKind, facts: dict[str, Any]) -> bytes:
    """The PDF of `kind` from `facts`, the `document_data`; the same facts give the same bytes.

    A paper that names a map carries the car's settings as a file.
    """
    shown = isolated(facts)
    context = {
        "facts": shown,
        # Made where a paper shows them: a code alone takes as long as a page.
        "chart": partial(curve_picture, facts),
        "before_after": partial(before_and_after, facts),
        "code": cache(partial(camera_code, facts)),
        "fitted": wiring_as_fitted(shown),
        "advance_is_locked": bool(LOCKED & set(_values_by_key(facts))),
    }
    if kind == DocumentKind.BENCH_RECORD:
        context |= isolated(bench_context(facts))
    html = render_to_string(TEMPLATE_OF[kind], context)
    return set_paper(
        html,
        css=STYLESHEETS[kind],
        created=datetime.fromisoformat(facts["made_at"]),
        one_page_by=LABEL_SIZES if kind == DocumentKind.LABEL else ("",),
        embedded=settings_to_carry(kind, facts),
    )


def settings_to_carry(kind: DocumentKind, facts: dict[str, Any]) -> Embedded | None:
    """The file that goes along in a paper; None where it names no map."""
    if not facts["map"]:
        return None
    settings = car_settings(facts, paper=str(kind.label), fitted=wiring_as_fitted(facts))
    return Embedded(FILE_NAME, as_bytes(settings), "The settings of this car", relationship="Data")


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


def before_and_after(facts: dict[str, Any], *, uid: str = "before-after", width: float = WIDE) -> Graph | None:
    """The advance as the car came, where it was swept, and as it leaves: one picture, both from top dead centre."""
    found = facts["map"]
    if not found:
        return None
    swept = facts["inspection"]["sweep"]
    rising = [(row["rpm"], row["degrees"]) for row in swept if row["direction"] == SweepDirection.RISING]
    return speed_chart(
        uid=uid,
        title="Advance before and after" if rising else "Advance as the car leaves",
        delivered=_total(from_json(found["delivered"])),
        delivered_name="after",
        as_found=rising,
        idle_rpm=facts["car"]["idle_rpm"],
        degrees_name="° BTDC",
        width=width,
    )


def wiring_as_fitted(facts: dict[str, Any]) -> list[dict[str, Any]]:
    """The lines of the fitting sheet that say what is in the car: a wire's colour, a fuse's rating, a plug's gap."""
    by_key = _values_by_key(facts)
    return [by_key[key] for key in AS_FITTED if key in by_key]


def _values_by_key(facts: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """The lines of both sheets that have an answer in words or figures; of two, that of the fitting sheet."""
    rows = [row for sheet in facts["sheets"] for section in sheet["sections"] for row in section["rows"]]
    return {row["key"]: row for row in rows if row["value"]}


def _total(ignition_map: IgnitionMap) -> list[tuple[float, float]]:
    """The points of the speed curve with base timing in them."""
    total = ignition_map.curve.shift(ignition_map.base_deg)
    return list(zip(total.rpm, total.degrees, strict=True))
