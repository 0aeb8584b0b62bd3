"""What is typed about quotes: the lines, until when they hold, and the customer's answer."""

from collections.abc import Iterable, Sequence
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from garage.pricelist.models import PricedPart
from garage.quantities.days import day_field
from garage.quantities.typed import ExactField
from garage.record.idempotency import IdempotentForm
from garage.record.plain import Plain
from jobs.costs.forms import MOST_HOURS, TOO_MANY_HOURS
from jobs.costs.models import CostKind
from jobs.job.models import JobKind
from jobs.quotes.models import AnsweredBy, AnswerKind, QuoteKind, QuoteLine, UsualPart
from jobs.quotes.photographs import with_small_picture
from jobs.quotes.queries import FirstLine
from jobs.quotes.quote_data import OfferedLine
from jobs.vat.models import VatRate

EMPTY_LINES = 3
MOST_LINES = 60
MOST_PHOTOGRAPHS = 12


class OfferedLineForm(forms.Form):
    """One line. What is left empty at the foot of the form is no line."""

    kind = forms.ChoiceField(label="What", choices=CostKind.choices, initial=CostKind.PART)
    description = forms.CharField(label="For", max_length=160)
    quantity = ExactField(label="Quantity", max_digits=8, decimal_places=2, min_value=Decimal("0.01"))
    unit_price = ExactField(label="Unit price", max_digits=10, decimal_places=2, min_value=Decimal(0))
    rate = forms.ModelChoiceField(label="VAT", queryset=VatRate.objects.filter(retired_at=None), empty_label=None)

    def __init__(self, *args: Any, usual_rate: VatRate | None = None, currency: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["rate"].initial = usual_rate and usual_rate.pk
        self.fields["unit_price"].unit = currency  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("kind") == CostKind.HOURS and cleaned.get("quantity", 0) > MOST_HOURS:
            self.add_error("quantity", TOO_MANY_HOURS)
        return cleaned

    def has_changed(self) -> bool:
        """Of an empty row, what it is and its rate stand there already: they alone make no line."""
        return bool({"description", "quantity", "unit_price"} & set(self.changed_data))

    def line(self) -> OfferedLine:
        typed = self.cleaned_data
        return OfferedLine(typed["kind"], typed["description"], typed["quantity"], typed["unit_price"], typed["rate"])


class OfferedLines(forms.BaseFormSet):
    """The lines of a quote, and a few empty ones for more."""

    def add_fields(self, form: forms.Form, index: int | None) -> None:
        super().add_fields(form, index)
        if "DELETE" in form.fields:
            form.fields["DELETE"].label = "Leave out"

    def lines(self) -> list[OfferedLine]:
        """The lines that were typed and not left out."""
        kept = [form for form in self.forms if form.cleaned_data and not form.cleaned_data.get("DELETE")]
        return [form.line() for form in kept]


LinesFormSet: type[OfferedLines] = forms.formset_factory(  # type: ignore[assignment]
    OfferedLineForm,
    formset=OfferedLines,
    extra=EMPTY_LINES,
    can_delete=True,
    can_delete_extra=False,
    max_num=MOST_LINES,
    absolute_max=MOST_LINES,
    validate_max=True,
)


def initial_lines(
    lines: Iterable[QuoteLine | FirstLine | OfferedLine], usual_rate: VatRate | None
) -> list[dict[str, Any]]:
    """The lines as the form begins with them. A rate that was retired meanwhile gives way to the usual one."""
    found = []
    for line in lines:
        rate = getattr(line, "rate", None)
        rate = rate if rate is not None and rate.retired_at is None else usual_rate
        found.append(
            {
                "kind": line.kind,
                "description": line.description,
                "quantity": f"{line.quantity.normalize():f}",
                "unit_price": line.unit_price,
                "rate": rate and rate.pk,
            }
        )
    return found


class QuoteForm(IdempotentForm):
    """What a quote says besides its lines."""

    valid_until = day_field("Valid until")
    remarks = forms.CharField(
        label="Text on the quote", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, days: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial = {"valid_until": timezone.localdate() + timedelta(days=days), **self.initial}

    kind = QuoteKind.QUOTE


class SupplementForm(QuoteForm):
    """A supplement says besides what was found."""

    reason = forms.CharField(
        label="What was found",
        max_length=300,
        help_text="The customer reads this.",
    )
    photographs = forms.MultipleChoiceField(
        label="Photographs for the customer",
        required=False,
        help_text=f"Up to {MOST_PHOTOGRAPHS}. They are numbered in this order.",
        widget=forms.CheckboxSelectMultiple,
    )
    field_order = ("reason", "photographs", "valid_until", "remarks")
    kind = QuoteKind.SUPPLEMENT

    def __init__(self, *args: Any, taken: Sequence[Plain], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._taken = {told["id"]: told for told in taken}
        if not taken:
            del self.fields["photographs"]
            return
        field: Any = self.fields["photographs"]
        field.choices = [(told["id"], with_small_picture(told)) for told in taken]

    def clean_photographs(self) -> list[Plain]:
        """What was chosen, in the order in which it is shown: as it is kept with the supplement."""
        chosen = [told for key, told in self._taken.items() if key in self.cleaned_data["photographs"]]
        if len(chosen) > MOST_PHOTOGRAPHS:
            raise ValidationError(f"Choose {MOST_PHOTOGRAPHS} at most.")
        return [{name: told[name] for name in ("of", "id", "sha256", "what")} for told in chosen]


class AnswerForm(IdempotentForm):
    """What the customer told the workshop: who, when and how."""

    kind = forms.ChoiceField(label="Answer", choices=AnswerKind.choices, widget=forms.RadioSelect)
    name = forms.CharField(label="Name", max_length=120, help_text="Who said so.")
    way = forms.ChoiceField(
        label="How", choices=[choice for choice in AnsweredBy.choices if choice[0] != AnsweredBy.LINK]
    )
    answered_on = day_field("On", initial=timezone.localdate)
    words = forms.CharField(label="Note", required=False, max_length=500)


class CustomerAnswerForm(IdempotentForm):
    """The customer's own answer. To accept, the box is ticked; to refuse, a word is said."""

    name = forms.CharField(label="Your full name", max_length=120)
    agreed = forms.BooleanField(label="I have read the quote and order this work.", required=False)
    words = forms.CharField(label="Note to the workshop", required=False, max_length=500)
    answer = forms.ChoiceField(choices=AnswerKind.choices, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("answer") == AnswerKind.ACCEPTED and not cleaned.get("agreed"):
            self.add_error("agreed", "Tick this to accept.")
        if cleaned.get("answer") == AnswerKind.REFUSED and not cleaned.get("words"):
            self.add_error("words", "Say why, or what you would like instead.")
        return cleaned


class UsualPartForm(forms.Form):
    """A part that a kind of job usually takes."""

    kind = forms.ChoiceField(label="Kind of job", choices=JobKind.choices)
    part = forms.ModelChoiceField(label="Part", queryset=PricedPart.objects.filter(offered=True), empty_label=None)
    quantity = ExactField(
        label="Quantity",
        max_digits=6,
        decimal_places=2,
        validators=UsualPart._meta.get_field("quantity").validators,
        help_text="0 takes it off.",
    )

    def clean_quantity(self) -> Decimal:
        quantity: Decimal = self.cleaned_data["quantity"]
        if quantity < 0:
            raise ValidationError("Enter 0 or more.")
        return quantity
