"""Lists and sheets for the tests of the fitting room."""

import io
import itertools
import uuid
from typing import Any

from django.utils import timezone
from PIL import Image

from garage.people.models import Staff
from garage.record.actor import Actor
from jobs.checklists.actions import begin_sheet, record_entry
from jobs.checklists.models import ChecklistItem, ChecklistTemplate, Entry, JobSheet, SheetKind, TemplateRevision
from jobs.checklists.shipped_actions import install_shipped_templates
from jobs.job.models import Job
from tests.factories import DeviceFactory, JobFactory, StaffFactory

_names = (f"List {n}" for n in itertools.count(1))


def published_list(
    rows: list[dict[str, Any]], kind: SheetKind = SheetKind.FITTING, **template: Any
) -> TemplateRevision:
    """A list of `rows`, of which only the keys need to be told: a row is a tick unless it says otherwise."""
    template.setdefault("name", next(_names))
    made = ChecklistTemplate.objects.create(kind=kind, **template)
    return published_revision(made, rows, number=1)


def put_in_shipped_lists() -> list[ChecklistTemplate]:
    """The lists that came with Crankmark, put in by somebody of the workshop; those that were new to it."""
    return install_shipped_templates(actor=signed_by(Staff.objects.first() or StaffFactory()))


def published_revision(template: ChecklistTemplate, rows: list[dict[str, Any]], number: int) -> TemplateRevision:
    now = timezone.now()
    revision = TemplateRevision.objects.create(template=template, number=number, made_at=now)
    for position, row in enumerate(rows, start=1):
        words = row["key"].replace("-", " ").capitalize()
        ChecklistItem.objects.create(
            revision=revision, position=position, **{"kind": "tick", "text": words, "section": "Wiring", **row}
        )
    revision.published_at = now
    revision.save()
    return revision


def signed_by(person: Staff) -> Actor:
    return Actor(person=person, at=timezone.now(), device=DeviceFactory())


def sheet_with(rows: list[dict[str, Any]], *, person: Staff, job: Job | None = None, kind: str = "fitting") -> JobSheet:
    """A job's sheet, just begun; its fitting sheet unless said otherwise."""
    return begin_sheet(
        job=job or JobFactory(stage="fitting"),
        kind=SheetKind(kind),
        revision=published_list(rows, kind=SheetKind(kind)),
        actor=signed_by(person),
    )


def enter(sheet: JobSheet, key: str, person: Staff, **entry: Any) -> Entry:
    """`person` enters something for the item `key`."""
    entry.setdefault("id", uuid.uuid4())
    return record_entry(sheet=sheet, key=key, actor=signed_by(person), **entry)


def every_kind() -> list[dict[str, Any]]:
    """A short list with an item of every kind, and a hold point among them."""
    return [
        {
            "key": "battery-isolated", "section": "Before you start", "hold_point": True,
            "text": "Battery isolated", "caution": "Rings and watch off; read which post is earthed.",
            "help": "Take off the lead of the earthed post first.",
        },
        {"key": "coil-primary", "section": "Coil", "kind": "measure", "text": "Coil primary at 20 °C", "unit": "ohm",
         "low": 1.35, "high": 1.65, "decimals": 2},
        {"key": "cap", "section": "Coil", "kind": "choice", "text": "Cap and rotor arm",
         "choices": ["sound", "tracked"], "good_choices": ["sound"]},
        {"key": "fuse", "section": "Wiring", "kind": "text", "text": "Fuse: rating and where it sits"},
        {"key": "loom", "section": "Wiring", "kind": "photo", "text": "Loom as it runs now"},
        {"key": "feed-drop", "section": "Wiring", "kind": "measure", "text": "Drop, battery to feed", "unit": "V",
         "high": 0.5, "decimals": 2},
        {"key": "earth-drop", "section": "Wiring", "kind": "measure", "text": "Drop, unit earth to block", "unit": "V",
         "high": 0.1, "decimals": 2},
        {"key": "routed", "section": "Wiring", "text": "Routed clear of hot and high-tension parts"},
    ]  # fmt: skip


def whole_sheet() -> list[dict[str, Any]]:
    """Forty-five items in the mixture of a real fitting: mostly ticks and measures."""
    rows: list[dict[str, Any]] = []
    for n in range(45):
        row: dict[str, Any] = {"key": f"item-{n + 1:02d}", "section": f"Part {n // 9 + 1}"}
        match n % 9:
            case 1 | 4 | 7:
                row |= {"kind": "measure", "unit": "V", "low": 0.1, "high": 0.5, "decimals": 2}
            case 5:
                row |= {"kind": "choice", "choices": ["sound", "worn"], "good_choices": ["sound"]}
            case 8:
                row |= {"hold_point": True}
        rows.append(row)
    return rows


def photograph(width: int = 640, height: int = 480, format: str = "JPEG", **save: Any) -> bytes:
    """A picture as a camera would hand it over: left half red, right half blue, so that its orientation shows."""
    picture = Image.new("RGB", (width, height), "blue")
    picture.paste((255, 0, 0), (0, 0, width // 2, height))
    out = io.BytesIO()
    picture.save(out, format, **save)
    return out.getvalue()
