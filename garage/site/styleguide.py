"""The style page, shown in development only: the fragments of the look on one page, for the eye and for the tests."""

from datetime import datetime
from types import SimpleNamespace
from zoneinfo import ZoneInfo

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from garage.quantities.typed import FigureField
from garage.site.stage_scale import Stage
from timing.charts import FindingMark, Graph, speed_chart


class SampleForm(forms.Form):
    """One field of each kind, with the refusals a person would meet."""

    mileage = forms.IntegerField(min_value=0, max_value=999_999, help_text="As the odometer reads today.")
    base_timing = FigureField(unit="° BTDC", min_value=-10, max_value=30, required=False)
    polarity = forms.ChoiceField(
        choices=[("negative", "negative earth"), ("positive", "positive earth")], widget=forms.RadioSelect
    )
    note = forms.CharField(widget=forms.Textarea(attrs={"rows": 3}), required=False)
    belts = forms.BooleanField(label="Seat belts checked", required=False)

    mileage.unit = "miles"  # type: ignore[attr-defined]


STAGES = ["Booked", "Inspection", "Fitting", "Base timing", "Map", "Road test", "Handover", "After-care"]
REACHED = 2
STEPS, DONE = 12, 7


def _stages() -> list[Stage]:
    """A job in the middle of its fitting, its inspection overridden."""
    states = ["done", "skipped", "current", *["ahead"] * 5]
    return [
        {
            "key": label.lower(),
            "label": label,
            "state": state,
            "url": "#scale" if place <= REACHED else "",
            "steps_done": DONE,
            "steps_total": STEPS,
        }
        for place, (label, state) in enumerate(zip(STAGES, states, strict=True))
    ]


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


def styleguide(request: HttpRequest) -> HttpResponse:
    noon = datetime(2026, 5, 14, 12, 5, tzinfo=ZoneInfo("Europe/London"))
    return render(
        request,
        "styleguide.html",
        {
            "chart_wide": _chart("wide", 720),
            "chart_narrow": _chart("narrow", 340),
            "stages": _stages(),
            "form": SampleForm(prefix="fresh"),
            "refused": SampleForm({"mileage": "sixty", "base_timing": "95"}),
            "cautions": [
                {
                    "title": "High voltage",
                    "text": "Ignition off and battery off before touching. Keep away with a pacemaker or an implant.",
                },
                {
                    "title": "Moving parts",
                    "text": "Fan, belts and pulley look still in the strobe light. No loose sleeves, hair or rings.",
                },
            ],
            "missing": [{"text": "lock of the advance", "url": "#holds"}, "coil resistance"],
            "facts": [
                {"label": "Bore", "value": "76.2", "unit": "mm"},
                {"label": "Idle", "value": 0, "unit": "rpm"},
                {"label": "Rod length", "value": None},
            ],
            "lines": [
                SimpleNamespace(at=noon, by="R. Vale", text="Base timing: 8.1°", device="tablet 2", kind=""),
                SimpleNamespace(at=noon, by="T. Marsh", text="Overridden", device="desk", kind="caution"),
            ],
            "sample_messages": [
                {"level": level, "words": words}
                for level, words in [
                    ("success", "Saved."),
                    ("warning", "1.4° late"),
                    ("error", "Not saved"),
                    ("info", ""),
                ]
            ],
        },
    )
