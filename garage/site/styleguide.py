"""The style page, shown in development only: every token and every fragment, to reuse and never to invent."""

import re
from datetime import datetime
from types import SimpleNamespace
from zoneinfo import ZoneInfo

from django import forms
from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from garage.quantities.typed import FigureField
from garage.site.templatetags.look import Stage
from timing.charts import FindingMark, Graph, speed_chart

TOKEN = re.compile(r"^\s*--(?P<name>[a-z0-9-]+):\s*(?P<value>[^;]+);", re.MULTILINE)


class SampleForm(forms.Form):
    """One field of each kind a room will need, with the refusals a person would meet."""

    mileage = forms.IntegerField(min_value=0, max_value=999_999, help_text="As the odometer reads today.")
    compression_ratio = FigureField(min_value=4, max_value=20, required=False)
    base_timing = FigureField(
        unit="° BTDC",
        min_value=-10,
        max_value=30,
        required=False,
        label="Base timing",
        help_text="Before top dead centre is positive.",
    )
    name = forms.CharField(label="Name of the customer", required=False)
    polarity = forms.ChoiceField(
        label="Earth polarity",
        choices=[("negative", "Negative to body"), ("positive", "Positive to body")],
        widget=forms.RadioSelect,
        help_text="Read it at the posts; do not go by the age of the car.",
    )
    trigger = forms.ChoiceField(
        choices=[("", "not known"), ("points", "contact breaker"), ("hall", "Hall"), ("optical", "optical")],
        required=False,
    )
    note = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False, label="What was found")
    belts = forms.BooleanField(label="Seat belts checked before the road test", required=False)

    mileage.unit = "miles"  # type: ignore[attr-defined]


STAGES = ["Booked", "Inspection", "Fitting", "Base timing", "Map", "Road test", "Handover", "After-care"]
STEPS = [2, 12, 19, 6, 5, 8, 7, 3]


def _stages(reached: int, *, skipped: int | None = None) -> list[Stage]:
    """The sample job at its `reached`-th stage, 7 steps into it."""
    stages: list[Stage] = []
    for n, (label, steps) in enumerate(zip(STAGES, STEPS, strict=True)):
        state = "done" if n < reached else "current" if n == reached else "ahead"
        stages.append(
            {
                "key": label.lower(),
                "label": label,
                "state": "skipped" if n == skipped else state,
                "url": "#the-scale" if n <= reached else "",
                "steps_done": min(7, steps),
                "steps_total": steps,
            }
        )
    return stages


def _chart(uid: str, width: float) -> Graph:
    return speed_chart(
        uid=uid,
        title="Speed advance, version 3",
        delivered=[(500, 0), (1200, 0), (1600, 5), (2400, 19), (3600, 23), (6000, 24)],
        target=[(500, 0), (1200, 0.4), (1600, 5.2), (2400, 18.6), (3600, 22.8), (6000, 24)],
        earlier=[("version 2", [(500, 0), (1200, 2), (2400, 14), (3600, 20), (6000, 21)])],
        readings=[(1210, 0.6), (1590, 4.6), (2010, 12.3), (2420, 18.4), (3050, 21.2), (3580, 22.7)],
        nodes=[(1200, 0), (1600, 5), (2400, 19), (3600, 23)],
        selected=1,
        findings=[FindingMark("B", "caution", 1600, 2400, "steep")],
        idle_rpm=800,
        rev_limit_rpm=5800,
        width=width,
    )


def _tokens() -> dict[str, list[str]]:
    """The token names of the stylesheet, colours and sizes apart, each once and in the order of the file."""
    text = (settings.BASE_DIR / "static" / "css" / "tokens.css").read_text(encoding="utf-8")
    found = {match["name"]: match["value"] for match in TOKEN.finditer(text)}
    colours = [name for name, value in found.items() if value.startswith("#")]
    return {"colours": colours, "others": [f"--{name}: {found[name]}" for name in found if name not in colours]}


def styleguide(request: HttpRequest) -> HttpResponse:
    refused = SampleForm(
        {"mileage": "sixty", "compression_ratio": "95", "base_timing": "8", "note": "Leads cracked at cylinder 3."}
    )
    noon = datetime(2026, 5, 14, 12, 5, tzinfo=ZoneInfo("Europe/London"))
    return render(
        request,
        "styleguide.html",
        {
            "tokens": _tokens(),
            "levels": range(9),
            "chart_wide": _chart("wide", 720),
            "chart_narrow": _chart("narrow", 340),
            "stages": _stages(2),
            "stages_with_gap": _stages(4, skipped=2),
            "stages_over": _stages(8),
            "form": SampleForm(prefix="fresh"),
            "refused": refused,
            "cautions": [
                {
                    "title": "High voltage",
                    "text": "tens of thousands of volts. Ignition off and battery off before touching; keep away "
                    "with a pacemaker or another implant.",
                },
                {
                    "title": "Moving parts",
                    "text": "strobe light makes fan, belts and pulley look still. No loose sleeves, hair or rings.",
                },
            ],
            "missing": [
                {"text": "lock of the advance, a hold point", "url": "#holds"},
                "coil resistance at a known temperature",
            ],
            "facts": [
                {"label": "Firing order", "value": "1-3-4-2"},
                {"label": "Bore", "value": "76.2", "unit": "mm"},
                {"label": "Idle", "value": 0, "unit": "rpm"},
                {"label": "Rod length", "value": None},
            ],
            "lines": [
                SimpleNamespace(
                    at=noon, by="R. Vale", text="Base timing read: 8.1°, 8 readings", device="tablet 2", kind=""
                ),
                SimpleNamespace(
                    at=noon, by="T. Marsh", text="Gate of fitting passed by the owner", device="desk", kind="caution"
                ),
            ],
            "tabs": [
                {"label": "Speed curve", "url": "#tabs", "current": True},
                {"label": "Vacuum", "url": "#tabs", "mark": "caution", "mark_title": "one caution"},
                {"label": "Dwell", "url": "#tabs"},
            ],
            "changes": [
                {"label": "Idle speed", "theirs": "850 rpm", "yours": "900 rpm"},
                {"label": "Red line", "theirs": "5800 rpm", "yours": "6000 rpm"},
            ],
            "changed_at": noon,
            "page_obj": Paginator(list(range(95)), 30).page(2),
            "sample_messages": [
                {"level_tag": "success", "words": "Reading 8 stored."},
                {"level_tag": "warning", "words": "Stored, but 1.4° off the curve at 2400 rpm."},
                {"level_tag": "error", "words": "Not stored: T. Marsh changed the idle speed at 12:05."},
                {"level_tag": "info", "words": "Version 2 is a draft; nobody has keyed it in."},
            ],
        },
    )
