"""Several strobe readings in one box, as they stand on a slip of paper: one a line, all of them saved or none."""

import uuid
from dataclasses import dataclass
from typing import Any

from django import forms
from django.db import transaction

from garage.quantities.typed import rows_of_figures
from garage.record.actor import Actor
from garage.record.forms import sentences_of
from garage.record.idempotency import IdempotentForm
from garage.record.refusals import RuleRefusedError
from jobs.strobe.doubt import Doubt
from jobs.strobe.forms import ReadingForm
from jobs.strobe.models import StrobeSession
from jobs.strobe.taking import take_reading

MOST = 60
_COLUMNS = ("rpm", "measured_deg", "vacuum_kpa")


class SeveralForm(IdempotentForm):
    """Speed and strobe on each line, the vacuum behind them where the pipe is on."""

    readings = forms.CharField(label="Several readings", max_length=4000, widget=forms.Textarea(attrs={"rows": 6}))

    def __init__(self, *args: Any, vacuum_unit: str | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.vacuum_unit = vacuum_unit
        self.lines: list[_Line] = []
        self.fields["readings"].help_text = "One a line: rpm and degrees" + (
            f", then vacuum in {vacuum_unit} if the pipe is on." if vacuum_unit else "."
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        key = cleaned.get("idempotency_key")
        if key is None:
            return cleaned
        written = rows_of_figures(cleaned.get("readings") or "")
        if len(written) > MOST:
            self.add_error("readings", f"{len(written)} lines. {MOST} at most.")
            return cleaned
        columns = len(_COLUMNS) if self.vacuum_unit else 2
        for number, figures in written:
            if not 2 <= len(figures) <= columns:
                wanted = "rpm and degrees" + (", or rpm, degrees and vacuum" if columns > len(("rpm", "deg")) else "")
                self.add_error("readings", f"Line {number}: write {wanted}, with a blank between.")
                continue
            typed = dict(zip(_COLUMNS, figures, strict=False)) | {"id": str(uuid.uuid5(key, str(number)))}
            if self.vacuum_unit:
                typed["vacuum_kpa_unit"] = self.vacuum_unit
            form = ReadingForm(typed, vacuum_unit=self.vacuum_unit)
            if form.is_valid():
                self.lines.append(_Line(number, form))
            for sentence in sentences_of(form):
                self.add_error("readings", f"Line {number}: {sentence}")
        return cleaned


@dataclass(frozen=True, slots=True)
class _Line:
    number: int
    form: ReadingForm


def take_several(*, session: StrobeSession, form: SeveralForm, actor: Actor) -> bool:
    """Save every line of the valid `form`, in their order; whether it was done. What is wrong stands in its errors.

    Sent again, the same lines are the same readings.
    """
    try:
        with transaction.atomic():
            for line in form.lines:
                doubt = take_reading(session=session, form=line.form, actor=actor)
                if refused := _asked(doubt) if doubt else sentences_of(line.form):
                    # Nothing of the other lines stays either.
                    raise RuleRefusedError(*(f"Line {line.number}: {sentence}" for sentence in refused))
    except RuleRefusedError as refusal:
        form.add_error("readings", list(refusal.reasons))
        return False
    return True


def _asked(doubt: Doubt) -> list[str]:
    return [f"{doubt.question} If it is right, add this one by itself."]
