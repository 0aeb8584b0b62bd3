"""What is typed when somebody who works alone looks at an item again."""

import uuid
from typing import Any

from django import forms

from garage.people.models import Staff
from garage.quantities.fields import MeasuringForm
from jobs.checklists.forms import add_measure, choice_field
from jobs.checklists.models import ChecklistItem, ItemKind
from jobs.checklists.refusals import LONGEST_WORDS


class LookAgainForm(MeasuringForm, forms.Form):
    """The item read anew, with nothing in it of what was entered first."""

    id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4)

    def __init__(self, *args: Any, item: ChecklistItem, person: Staff, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        match item.kind:
            case ItemKind.MEASURE:
                add_measure(self, item, person)
            case ItemKind.CHOICE:
                self.fields["choice"] = choice_field(item)
            case _:
                self.fields["text"] = forms.CharField(
                    label="What you see now",
                    required=False,
                    max_length=LONGEST_WORDS,
                    widget=forms.Textarea(attrs={"rows": 2}),
                )
