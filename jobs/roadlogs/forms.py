"""Uploading a log, confirming what its columns hold, setting its clock, and choosing two to compare."""

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from garage.quantities.typed import FigureField
from garage.record.idempotency import IdempotentForm
from jobs.roadlogs.columns import ROLES, ColumnMap, Mapped
from jobs.roadlogs.models import RoadLog
from jobs.roadlogs.shape import DECIMALS, DELIMITERS, MOST_HEADER_ROWS, FileShape, Preview

# Set by whoever knows the file better than the guess.
ENCODINGS = {
    "utf-8-sig": "UTF-8",
    "cp1252": "Windows, Western",
    "utf-16": "UTF-16",
    "utf-16-le": "UTF-16, without mark",
    "utf-16-be": "UTF-16, big end first",
}


class UploadForm(IdempotentForm):
    """The file of a logger."""

    file = forms.FileField(
        label="Log as CSV",
        allow_empty_file=True,
        help_text="From any logger. At most 200 MB and 3,000,000 rows.",
        widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.log,text/csv"}),
    )

    @property
    def upload(self) -> UploadedFile:
        upload: UploadedFile = self.cleaned_data["file"]
        return upload


class ShapeForm(forms.Form):
    """How the text of the file is laid out."""

    # By its name: a tab and a space would be lost as white space.
    delimiter = forms.ChoiceField(label="Between columns", choices=[(label, label) for label in DELIMITERS.values()])
    decimal = forms.ChoiceField(label="Decimals", choices=[*DECIMALS.items()])
    header_rows = forms.IntegerField(
        label="Rows above the figures", min_value=0, max_value=MOST_HEADER_ROWS, widget=forms.TextInput
    )
    encoding = forms.ChoiceField(label="Letters", choices=[*ENCODINGS.items()])

    @staticmethod
    def initial_of(shape: FileShape) -> dict[str, Any]:
        return shape.as_json() | {"delimiter": DELIMITERS[shape.delimiter]}

    def shape(self) -> FileShape:
        by_label = {label: delimiter for delimiter, label in DELIMITERS.items()}
        typed = self.cleaned_data
        return FileShape(typed["encoding"], by_label[typed["delimiter"]], typed["decimal"], typed["header_rows"])


class ColumnsForm(forms.Form):
    """For each thing that a log may hold: its column, and its unit."""

    def __init__(self, *args: Any, preview: Preview, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        columns = [
            (str(place), f"{name} ({unit})" if unit else name)
            for place, (name, unit) in enumerate(zip(preview.names, preview.units, strict=True))
        ]
        for role in ROLES:
            self.fields[role.key] = forms.TypedChoiceField(
                label=role.label,
                choices=[("", "choose" if role.is_required else "none"), *columns],
                coerce=int,
                empty_value=None,
                required=role.is_required,
            )
            if len(role.units) > 1:
                self.fields[f"{role.key}_unit"] = forms.ChoiceField(
                    label=f"{role.label}, unit", choices=[*role.units.items()], required=role.is_required
                )
        self.fields["barometer_kpa"] = FigureField(
            label="Barometer on the day",
            unit="kPa",
            between=(50, 110),
            help_text="Turns absolute pressure into vacuum.",
        )
        self.fields["knock_limit"] = FigureField(
            label="Knock level counts above", required=False, help_text="As the logger shows it. Empty: not used."
        )
        self.fields["kept_as"] = forms.CharField(
            label="Save these columns as",
            max_length=60,
            required=False,
            help_text="Offered for the next log with the same header.",
        )

    @staticmethod
    def initial_of(mapped: ColumnMap) -> dict[str, Any]:
        columns = {key: one.column for key, one in mapped.items()}
        return {**columns, **{f"{key}_unit": one.unit for key, one in mapped.items()}}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        seen: dict[int, str] = {}
        for role in ROLES:
            column = cleaned.get(role.key)
            if column is None:
                continue
            if column in seen:
                self.add_error(role.key, f"This column is {seen[column]} already.")
            seen.setdefault(column, role.label.lower())
        return cleaned

    def columns(self) -> ColumnMap:
        typed = self.cleaned_data
        return {
            role.key: Mapped(typed[role.key], typed.get(f"{role.key}_unit") or next(iter(role.units)))
            for role in ROLES
            if typed.get(role.key) is not None
        }


class ClockForm(forms.Form):
    """When the log begins, counted from the start of the run: the way to shift it by keyboard."""

    begins_s = FigureField(
        label="Log begins after the start of the run",
        unit="s",
        between=(-43_200, 43_200),
        help_text="Below 0: before it. Notes move along the time line.",
    )


class CompareForm(forms.Form):
    """Two logs of one job."""

    first = forms.ModelChoiceField(label="First log", queryset=RoadLog.objects.none(), empty_label="choose")
    second = forms.ModelChoiceField(label="Second log", queryset=RoadLog.objects.none(), empty_label="choose")

    def __init__(self, *args: Any, logs: list[RoadLog], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("first", "second"):
            field = self.fields[name]
            field.queryset = RoadLog.objects.filter(pk__in=[log.pk for log in logs])  # type: ignore[attr-defined]
            field.choices = [  # type: ignore[attr-defined]
                ("", "choose"),
                *((log.pk, f"{log.run.map_version}, {log.run.route[:40]}: {log.file_name}") for log in logs),
            ]
