"""What the owner types to write a check-list."""

from typing import Any

from django import forms
from django.core.validators import ProhibitNullCharactersValidator

from garage.quantities.measure import QUANTITIES, VACUUM
from garage.quantities.typed import figures
from garage.quantities.words import exactly, plain
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from garage.site.uploads import LARGEST_UPLOAD
from jobs.checklists.applies import FACTS
from jobs.checklists.car_facts import CAR_FACTS, misfit
from jobs.checklists.measuring import quantity_of
from jobs.checklists.models import ChecklistItem, ChecklistTemplate, Correction, Entry, ItemKind, SheetKind
from jobs.checklists.photographs import PhotographRefusedError, Picture, prepared
from jobs.checklists.readers import readers


class RuleForm(forms.Form):
    """Adds a question for each fact of a car: for which of its values? None ticked: for all."""

    def __init__(self, *args: Any, rule: dict[str, Any] | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for fact in FACTS.values():
            self.fields[f"rule_{fact.key}"] = forms.TypedMultipleChoiceField(
                choices=list(fact.values.items()),
                coerce=_value_of(fact.values),
                required=False,
                label=fact.label.capitalize(),
                widget=forms.CheckboxSelectMultiple,
                initial=(rule or {}).get(fact.key, []),
            )

    @property
    def rule_fields(self) -> list[forms.BoundField]:
        return [self[f"rule_{key}"] for key in FACTS]

    @property
    def rule(self) -> dict[str, Any]:
        return {key: values for key in FACTS if (values := self.cleaned_data[f"rule_{key}"])}


def _value_of(values: dict[Any, str]) -> Any:
    by_text = {str(value): value for value in values}
    return lambda text: by_text[text]


class TemplateForm(RuleForm, forms.Form):
    """A list: its name, and for which cars it is offered first."""

    name = forms.CharField(max_length=80, label="Name")
    template: ChecklistTemplate | None = None

    def clean_name(self) -> str:
        name = self.cleaned_data["name"]
        others = ChecklistTemplate.objects.filter(name__iexact=name)
        if self.template is not None:
            others = others.exclude(pk=self.template.pk)
        if others.exists():
            raise forms.ValidationError(f"A list named ‘{name}’ exists.")
        return name


class NewTemplateForm(IdempotentForm, TemplateForm):
    """A new list."""

    kind = forms.ChoiceField(choices=SheetKind.choices, label="For")
    field_order = ["idempotency_key", "name", "kind"]

    def clean_name(self) -> str:
        # Sent twice: the list is there because the first sending made it.
        idempotency_key = self.cleaned_data.get("idempotency_key")
        if idempotency_key and ChecklistTemplate.objects.filter(idempotency_key=idempotency_key).exists():
            return self.cleaned_data["name"]
        return super().clean_name()


class EditTemplateForm(RowVersionForm, TemplateForm):
    """A list that is there: rename or retire it."""

    retired = forms.BooleanField(required=False, label="Withdrawn: not for new sheets")
    field_order = ["name", "retired"]

    def __init__(self, *args: Any, template: ChecklistTemplate, **kwargs: Any) -> None:
        self.template = template
        super().__init__(*args, **kwargs)


class PublishForm(forms.Form):
    """Why the list is changed, for whoever compares two jobs in a year."""

    reason = forms.CharField(max_length=200, label="Changes and reason")


LONGEST_CHOICE = Entry._meta.get_field("choice").max_length or 0


class LinesField(forms.CharField):
    """A list, one entry a line."""

    widget = forms.Textarea(attrs={"rows": 4})

    def __init__(self, *, longest: int, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.longest = longest

    def to_python(self, value: Any) -> list[str]:  # type: ignore[override]
        typed = super().to_python(value) or ""
        ProhibitNullCharactersValidator()(typed)  # the field's own looks at the list, in which a NUL does not show
        lines = list(dict.fromkeys(line.strip() for line in typed.splitlines() if line.strip()))
        too_long = next((line for line in lines if len(line) > self.longest), None)
        if too_long:
            raise forms.ValidationError(f"‘{too_long[:20]}…’: no more than {self.longest} characters.")
        return lines

    def prepare_value(self, value: Any) -> Any:
        return "\n".join(value) if isinstance(value, list) else value


class ItemForm(RuleForm, forms.ModelForm):
    """One item of a draft."""

    choices = LinesField(longest=LONGEST_CHOICE, required=False, help_text="For a choice: one per line.")
    good_choices = LinesField(
        longest=LONGEST_CHOICE,
        required=False,
        label="Of these pass",
        help_text="One per line. If empty, all pass.",
    )
    picture_file = forms.FileField(
        required=False,
        label="Picture",
        widget=forms.FileInput(attrs={"accept": "image/*", "data-largest": str(LARGEST_UPLOAD)}),
    )
    remove_picture = forms.BooleanField(required=False, label="Remove picture")
    reader = forms.ChoiceField(
        required=False, label="Reads", help_text="For an item read from the record: nobody ticks it by hand."
    )
    car_fact = forms.ChoiceField(
        required=False,
        label="Compared with the car’s record",
        help_text="Where both differ, the item stops until one is corrected.",
    )

    inspection_key = forms.ChoiceField(
        required=False,
        label="Asked at the inspection as",
        help_text="What was found there is shown and may be confirmed.",
    )

    class Meta:
        model = ChecklistItem
        formfield_callback = figures
        fields = [
            "section", "kind", "text", "help", "caution", "source", "quantity", "unit", "correction", "low", "high",
            "note_above", "note_text", "decimals", "choices", "good_choices", "required", "second_person", "hold_point",
            "reader", "car_fact", "inspection_key",
        ]  # fmt: skip
        labels = {
            "text": "What to do, in one line",
            "help": "Help",
            "caution": "Caution, if someone can get hurt",
            "source": "Source of the limits",
            "quantity": "Read in",
            "unit": "Unit of this list",
            "low": "Lowest",
            "high": "Highest",
            "note_above": "Note above",
            "note_text": "Note",
            "required": "Needed to leave the stage",
            "second_person": "Second check needed",
            "hold_point": "Hold point: stop here until this passes",
        }
        help_texts = {
            "source": "The car’s data, a standard, or: common practice, no source.",
            "unit": "For a measure: V, ohm, mm, °. Limits are written in it.",
            "quantity": "A vacuum or a pressure is read in whichever unit the gauge has.",
            "note_above": "A figure above this passes with the note.",
            "correction": "The person at the car types what the meter or gauge shows; the limits are those of the "
            "corrected figure.",
        }
        widgets = {
            "help": forms.Textarea(attrs={"rows": 3}),
            "caution": forms.Textarea(attrs={"rows": 2}),
            "section": forms.TextInput(attrs={"list": "sections", "autocomplete": "off"}),
        }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.picture: Picture | None = None
        self.fields["reader"].choices = [("", "nothing"), *((one.key, one.label) for one in readers())]  # type: ignore[attr-defined]
        self.fields["inspection_key"].choices = [("", "nothing"), *asked_at_inspection()]  # type: ignore[attr-defined]
        facts = [(fact.key, fact.label) for fact in CAR_FACTS.values()]
        self.fields["car_fact"].choices = [("", "nothing"), *facts]  # type: ignore[attr-defined]
        if self.instance.pk and self.instance.unit:
            quantity = quantity_of(self.instance)
            for name in ("low", "high", "note_above"):
                limit = getattr(self.instance, name)
                if limit is not None:
                    self.initial[name] = float(exactly(quantity.in_unit(limit, self.instance.unit)))
        if not (self.instance.pk and self.instance.picture):
            del self.fields["remove_picture"]

    def clean_decimals(self) -> int:
        decimals = self.cleaned_data["decimals"]
        if decimals > 4:
            raise forms.ValidationError("Must be between 0 and 4.")
        return decimals

    def clean_picture_file(self) -> None:
        upload = self.cleaned_data["picture_file"]
        if upload:
            try:
                self.picture = prepared(upload)
            except PhotographRefusedError as refusal:
                raise forms.ValidationError(str(refusal)) from None

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kind, low, high = cleaned.get("kind"), cleaned.get("low"), cleaned.get("high")
        if kind == ItemKind.MEASURE and not cleaned.get("unit"):
            self.add_error("unit", "A measure needs its unit.")
        if kind != ItemKind.MEASURE:
            cleaned |= {"unit": "", "quantity": "", "correction": "", "low": None, "high": None, "note_above": None}
        elif low is not None and high is not None and low > high:
            self.add_error("high", f"Must be {plain(low)} or more, the lowest.")
        else:
            self._to_canonical(cleaned)
        if cleaned.get("note_above") is None:
            cleaned["note_text"] = ""
        elif not cleaned.get("note_text"):
            self.add_error("note_text", "Say what the figure means.")
        if kind == ItemKind.CHOICE and len(cleaned.get("choices", [])) < 2:
            self.add_error("choices", "A choice needs at least two lines.")
        if kind != ItemKind.CHOICE:
            cleaned |= {"choices": [], "good_choices": []}
        self._clean_what_is_read(cleaned)
        strange = [good for good in cleaned.get("good_choices", []) if good not in cleaned.get("choices", [])]
        if strange:
            self.add_error("good_choices", f"‘{strange[0]}’ is not one of the choices.")
        return cleaned

    def _clean_what_is_read(self, cleaned: dict[str, Any]) -> None:
        if cleaned.get("kind") == ItemKind.READING:
            cleaned |= {"second_person": False, "car_fact": "", "inspection_key": ""}
            if not cleaned.get("reader"):
                self.add_error("reader", "Choose what is read.")
            return
        cleaned["reader"] = ""
        trouble = misfit(cleaned.get("car_fact", ""), cleaned.get("kind", ""), cleaned.get("choices", []))
        if trouble:
            self.add_error("car_fact", trouble)

    def _to_canonical(self, cleaned: dict[str, Any]) -> None:
        """The limits as the record has them, from the unit they were written in."""
        quantity = QUANTITIES.get(cleaned.get("quantity", ""))
        if cleaned.get("correction") == Correction.SEA_LEVEL and quantity is not VACUUM:
            self.add_error("correction", "Only a vacuum is corrected to sea level so: choose it above.")
        if quantity is None or not cleaned.get("unit"):
            return
        if cleaned["unit"] not in quantity.units:
            self.add_error("unit", f"One of {', '.join(quantity.units)}.")
            return
        for name in ("low", "high", "note_above"):
            if cleaned.get(name) is not None:
                cleaned[name] = quantity.canonical_of(cleaned[name], cleaned["unit"])

    def _get_validation_exclusions(self) -> set[str]:
        # The limits are compared above, with the refusal beside the field instead of over the form.
        return super()._get_validation_exclusions() | {"low"}  # type: ignore[misc]

    @property
    def content(self) -> dict[str, Any]:
        """What `add_item` and `edit_item` of the actions take."""
        content = {name: self.cleaned_data[name] for name in self.Meta.fields}
        if self.cleaned_data.get("remove_picture"):
            content["picture"] = ""
        return content | {"applies": self.rule, "new_picture": self.picture}


def asked_at_inspection() -> list[tuple[str, str]]:
    """Key and words of every item that an inspection list has ever asked."""
    items = ChecklistItem.objects.filter(revision__template__kind=SheetKind.INSPECTION).order_by("revision__number")
    asked = dict(items.values_list("key", "text"))
    return sorted(asked.items(), key=lambda row: row[1])


class NewItemForm(IdempotentForm, ItemForm):
    """A new item."""


class EditItemForm(RowVersionForm, ItemForm):
    """An item that is there."""
