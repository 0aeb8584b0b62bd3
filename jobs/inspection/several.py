"""Several readings of the old advance in one box, as they stand on a slip of paper: all of them saved, or none."""

import uuid
from typing import Any

from django import forms
from django.db import transaction

from garage.quantities.typed import rows_of_figures
from garage.record.actor import Actor
from garage.record.forms import sentences_of
from garage.record.idempotency import IdempotentForm
from jobs.inspection.actions import record_sweep_reading
from jobs.inspection.forms import SweepForm
from jobs.inspection.models import SweepDirection
from jobs.job.models import Job

MOST = 60


class SeveralSweepsForm(IdempotentForm):
    """Speed and strobe on each line; the revs rise, or fall, on all of them."""

    direction = forms.ChoiceField(label="Revs", choices=SweepDirection.choices, widget=forms.RadioSelect)
    readings = forms.CharField(
        label="Several readings",
        max_length=4000,
        widget=forms.Textarea(attrs={"rows": 6}),
        help_text="One a line: rpm and degrees.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lines: list[SweepForm] = []

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        key, direction = cleaned.get("idempotency_key"), cleaned.get("direction")
        if key is None or direction is None:
            return cleaned
        rows = rows_of_figures(cleaned.get("readings") or "")
        if len(rows) > MOST:
            self.add_error("readings", f"{len(rows)} lines. {MOST} at most.")
            return cleaned
        for number, typed in rows:
            if len(typed) != 2:
                self.add_error("readings", f"Line {number}: write rpm and degrees, with a blank between.")
                continue
            id = uuid.uuid5(key, str(number))
            form = SweepForm({"id": id, "rpm": typed[0], "measured_deg": typed[1], "direction": direction})
            if form.is_valid():
                self.lines.append(form)
            for sentence in sentences_of(form):
                self.add_error("readings", f"Line {number}: {sentence}")
        return cleaned


@transaction.atomic
def record_several(*, job: Job, form: SeveralSweepsForm, actor: Actor) -> None:
    """Save every line of the valid `form`, in their order. Sent again, the same lines are the same readings."""
    for line in form.lines:
        record_sweep_reading(job=job, id=line.cleaned_data["id"], actor=actor, **line.values())
