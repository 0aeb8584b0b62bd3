"""What is typed about bills: which lines at which rate, payments, rates, and what stands on every bill."""

from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from garage.customers.countries import country_choices, known_country
from garage.people.models import Workshop
from garage.quantities.days import day_field
from garage.quantities.limits import Between
from garage.quantities.typed import ExactField, figures
from garage.record.forms import FactForm
from garage.record.idempotency import IdempotentForm
from garage.record.refusals import NOT_WHOLE
from garage.record.row_versions import RowVersionForm
from jobs.billing.models import Bill, PaidBy
from jobs.billing.numbers import NumberForm
from jobs.billing.queries import lines_to_credit
from jobs.costs.models import CostLine
from jobs.vat.models import HIGHEST_RATE, VatCategory, VatRate

NOT_ON_IT = "Not on this bill"
RATE_OF = "rate-"


class NumberedForm(IdempotentForm):
    """A paper that gets a number. The date is asked about only where the clock stands before the latest bill."""

    date_is_right = forms.BooleanField(label="Today's date is right", required=False)

    def ask_about_the_date(self) -> None:
        self.clock_is_behind = True

    clock_is_behind = False


class BillForm(NumberedForm):
    """For each line the rate at which it goes on the bill, or that it does not."""

    beyond_is_right = forms.BooleanField(label="Issue it beyond the quote", required=False)
    is_beyond = False

    def ask_about_the_quote(self) -> None:
        self.is_beyond = True

    supplied_on = day_field("Work done on")
    due_on = day_field("Pay by")
    remarks = forms.CharField(
        label="Text on the bill", required=False, max_length=1000, widget=forms.Textarea(attrs={"rows": 2})
    )

    buyer_country = forms.ChoiceField(
        label="Customer’s country",
        choices=country_choices,
        required=False,
        help_text="For the electronic invoice. Kept with the customer.",
    )

    def __init__(
        self,
        *args: Any,
        lines: Iterable[CostLine],
        rates: list[VatRate],
        days_to_pay: int,
        country: str = "",
        buyer_country: str = "",
        **kwargs: Any,
    ):
        super().__init__(*args, **kwargs)
        if not country:  # without the workshop's own there is no electronic invoice
            del self.fields["buyer_country"]
        self.lines, self.rates = list(lines), {str(rate.pk): rate for rate in rates}
        choices = [*((key, str(rate)) for key, rate in self.rates.items()), ("", NOT_ON_IT)]
        today = timezone.localdate()
        last = max((timezone.localtime(line.made_at).date() for line in self.lines), default=today)
        self.initial = {
            **self.initial,
            "supplied_on": min(last, today),
            "due_on": today + timedelta(days=days_to_pay),
            "buyer_country": buyer_country or country,
        }
        for line in self.lines:
            self.fields[self.name_of(line)] = forms.ChoiceField(
                label=f"VAT on {line.description}",
                choices=choices,
                required=False,
                initial=next(iter(self.rates), ""),
            )

    @staticmethod
    def name_of(line: CostLine) -> str:
        return f"{RATE_OF}{line.pk}"

    def rows(self) -> list[tuple[CostLine, forms.BoundField]]:
        """Each line with its box, for the table of the page."""
        return [(line, self[self.name_of(line)]) for line in self.lines]

    def clean(self) -> dict[str, Any]:
        """Reads every line that the page had, one that was billed meanwhile too: nothing is left out without a word."""
        cleaned = super().clean() or {}
        chosen: dict[UUID, VatRate] = {}
        for name, key in self.data.items():
            if name.startswith(RATE_OF) and key:
                try:
                    chosen[UUID(name.removeprefix(RATE_OF))] = self.rates[str(key)]
                except (ValueError, KeyError):
                    raise ValidationError(NOT_WHOLE) from None
        return {**cleaned, "rates": chosen}


class CreditForm(NumberedForm):
    """Which lines of a bill are taken back, and why."""

    lines = forms.TypedMultipleChoiceField(
        label="Lines to credit", coerce=int, widget=forms.CheckboxSelectMultiple, required=True
    )
    reason = forms.CharField(label="Reason", max_length=300, help_text="Printed on the credit note.")

    def __init__(self, *args: Any, bill: Bill, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # What came back from a page may name a line that was credited meanwhile: the action says so.
        lines = bill.lines.all() if self.is_bound else lines_to_credit(bill)
        choices = [(line.pk, f"{line.description}, {line.amount} {bill.currency}") for line in lines]
        self.fields["lines"].choices = choices  # type: ignore[attr-defined]
        self.initial = {**self.initial, "lines": [key for key, _ in choices]}


class PaymentForm(FactForm):
    """Money that came in, or went back."""

    amount = ExactField(label="Amount", max_digits=12, decimal_places=2, min_value=Decimal("0.01"))
    paid_on = day_field("Paid on", initial=timezone.localdate)
    paid_by = forms.ChoiceField(label="Paid by", choices=PaidBy.choices)
    note = forms.CharField(label="Note", required=False, max_length=160)

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["amount"].unit = currency  # type: ignore[attr-defined]


class RateForm(IdempotentForm):
    """A rate of VAT in the owner's words."""

    name = forms.CharField(label="Name", max_length=40, help_text="For example: standard, reduced, no VAT.")
    percent = ExactField(
        label="Rate",
        max_digits=5,
        decimal_places=2,
        validators=[Between(0, HIGHEST_RATE, "%")],
    )
    category = forms.ChoiceField(
        label="Kind of rate",
        choices=[("", "not said"), *VatCategory.choices],
        required=False,
        help_text="Needed for electronic invoices. Ask whoever does your books.",
    )
    wording = forms.CharField(
        label="Wording on bills",
        max_length=300,
        required=False,
        help_text="Printed where this rate is used, for example why no VAT is charged. Ask whoever does your books.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["percent"].unit = "%"  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        percent, category = cleaned.get("percent"), cleaned.get("category", "")
        if percent and not category:
            cleaned["category"] = category = VatCategory.STANDARD
        if percent is not None and category and (percent > 0) != (category == VatCategory.STANDARD):
            self.add_error("category", "This does not go with the rate.")
        if category == VatCategory.EXEMPT and not cleaned.get("wording"):
            self.add_error("wording", "Say why no VAT is charged.")
        return cleaned


class BillSettingsForm(RowVersionForm, forms.ModelForm):
    """What stands on every bill."""

    class Meta:
        model = Workshop
        formfield_callback = figures
        fields = [
            "bill_numbers",
            "days_to_pay",
            "vat_number",
            "country",
            "bill_foot",
            "quote_days",
            "beyond_quote_percent",
        ]
        labels = {
            "bill_numbers": "Form of bill numbers",
            "days_to_pay": "Time to pay",
            "bill_foot": "At the foot of bills",
            "quote_days": "Quotes are valid for",
            "beyond_quote_percent": "Ask before a bill goes beyond the quote by",
        }
        help_texts = {
            "bill_numbers": "YYYY or YY is the year, # a running digit. With a year, numbers begin at 1 each year.",
            "country": "Two letters, such as GB or DE: needed for electronic invoices.",
            "beyond_quote_percent": "Common practice, no source. The law of your place decides.",
            "bill_foot": "For example your bank details and what your law wants on a bill.",
        }
        widgets = {"bill_foot": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, unit in {"days_to_pay": "days", "quote_days": "days", "beyond_quote_percent": "%"}.items():
            self.fields[name].unit = unit  # type: ignore[attr-defined]

    def clean_country(self) -> str:
        country: str = self.cleaned_data["country"].upper()
        if country:
            known_country(country)
        return country

    def clean_bill_numbers(self) -> str:
        try:
            return NumberForm(self.cleaned_data["bill_numbers"]).text
        except ValueError as problem:
            raise ValidationError(str(problem)) from None


class PeriodForm(forms.Form):
    """From and to which day the accountant's list goes."""

    first = day_field("From")
    last = day_field("To")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("first"), cleaned.get("last")
        if isinstance(first, date) and isinstance(last, date) and first > last:
            self.add_error("last", "This is before the first day.")
        return cleaned
