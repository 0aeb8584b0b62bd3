"""Deciding a proposal: one choice for each point, and a word where a person changes it."""

from typing import Any

from django import forms

from garage.quantities.fields import MeasureField, MeasuringForm
from garage.quantities.measure import VACUUM
from garage.quantities.typed import FigureField
from garage.record.forms import FactForm
from jobs.proposals.actions import Choice
from jobs.proposals.models import Decision, ProposedPoint
from jobs.proposals.queries import OpenPoint, OpenProposal


class DecisionForm(FactForm):
    """Accept, change or refuse each point. What was typed is degrees less, or degrees back."""

    basis = forms.CharField(widget=forms.HiddenInput, max_length=64)

    def __init__(self, *args: Any, proposal: OpenProposal, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.proposal = proposal
        self.initial["basis"] = proposal.basis
        for point in proposal.points:
            self.fields[f"decision-{point.place}"] = forms.ChoiceField(
                label=f"At {point.where}",
                choices=[(Decision.ACCEPT, f"Accept {point.change}"), ("change", "Change"), ("refuse", "Refuse")],
                widget=forms.RadioSelect,
                error_messages={"required": "Accept, change or refuse it."},
            )
            self.fields[f"degrees-{point.place}"] = FigureField(
                label="Give back" if proposal.is_giving_back else "Less by",
                unit="°",
                between=(0.1, 20),
                required=False,
            )
            self.fields[f"words-{point.place}"] = forms.CharField(label="Why", max_length=200, required=False)

    def lines(self) -> list[tuple[OpenPoint, Any, Any, Any]]:
        """Each point with its three boxes."""
        return [
            (point, self[f"decision-{point.place}"], self[f"degrees-{point.place}"], self[f"words-{point.place}"])
            for point in self.proposal.points
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        for point in self.proposal.points:
            if cleaned.get(f"decision-{point.place}") != Decision.CHANGE:
                continue
            if cleaned.get(f"degrees-{point.place}") is None and f"degrees-{point.place}" not in self.errors:
                self.add_error(f"degrees-{point.place}", "Enter the degrees.")
            if not cleaned.get(f"words-{point.place}"):
                self.add_error(f"words-{point.place}", "Say why it was changed.")
        return cleaned

    def choices(self) -> list[Choice]:
        """What was decided, once the form is valid."""
        return [self._choice(point) for point in self.proposal.points]

    def _choice(self, point: OpenPoint) -> Choice:
        decision = Decision(self.cleaned_data[f"decision-{point.place}"])
        degrees = self.cleaned_data[f"degrees-{point.place}"] or 0.0
        changed = decision == Decision.CHANGE
        return Choice(
            place=point.place,
            decision=decision,
            change_deg=(degrees if self.proposal.is_giving_back else -degrees) if changed else 0.0,
            words=self.cleaned_data[f"words-{point.place}"],
        )


class CellForm(MeasuringForm):
    """Which figure of a map is asked about. The address of a cell carries the same two."""

    rpm = FigureField(label="Speed", unit="rpm", between=(0, 20_000))

    def __init__(self, *args: Any, vacuum_unit: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["vacuum_kpa"] = MeasureField(
            quantity=VACUUM,
            label="Vacuum",
            unit=vacuum_unit,
            required=False,
            help_text="0 at full throttle; below 0 is boost.",
            validators=ProposedPoint._meta.get_field("vacuum_kpa").validators,
        )
