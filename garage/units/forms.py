"""The owner's description of a unit type, and the entry of a single unit."""

import re
from collections.abc import Iterator
from typing import Any, get_args
from uuid import UUID, uuid4

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Max

from garage.quantities.limits import Between
from garage.quantities.typed import NotAFigureError, figure
from garage.quantities.words import exactly, plain
from garage.record.idempotency import IdempotentForm
from garage.record.row_versions import RowVersionForm
from garage.units.actions import NAME_TAKEN
from garage.units.entry_words import CHOICE_LABELS, ENTRY_LABELS
from garage.units.models import UnitType, UnitTypeRevision
from garage.units.steps_field import StepsField
from timing.errors import TimingError
from timing.unit import (
    CHOICES,
    BoostNodes,
    EntryKey,
    EntryWord,
    FixedNodes,
    FreeNodes,
    RampEntries,
    Steps,
    TableEntries,
)
from timing.unit import UnitType as Holds
from timing.units import convert

# What no unit holds a figure outside of; with these a slip of the hand is noticed.
SPEEDS, DEGREES, DWELLS = Between(0, 15_000, "rpm"), Between(-60, 60, "degrees"), Between(0, 20, "ms")
VACUA, TABLE_VACUA, BOOSTS = (0.0, 110.0), (-300.0, 110.0), (0.0, 300.0)  # [kPa] a table may go on into boost

PRESSURES = [(unit, unit) for unit in ("kPa", "inHg", "mmHg", "mbar", "bar", "psi")]


def sentence(problem: TimingError) -> str:
    """A refusal of `timing` as a sentence of its own."""
    text = str(problem)
    return f"{text[0].upper()}{text[1:]}."


class FiguresField(forms.CharField):
    """A row of figures, typed with blanks, commas or semicolons between them."""

    widget = forms.TextInput(attrs={"autocomplete": "off"})

    def __init__(self, *, within: Between | None = None, **kwargs: Any) -> None:
        self.within = within
        super().__init__(**kwargs)

    def to_python(self, value: Any) -> list[float]:  # type: ignore[override]
        text = super().to_python(value) or ""
        figures = []
        for word in re.split(r"[\s;,]+", text.strip()):
            if not word:
                continue
            try:
                figures.append(figure(word))
            except NotAFigureError as problem:
                raise ValidationError(str(problem), code="invalid") from None
            if self.within is not None:
                self.within(figures[-1])
        return figures

    def prepare_value(self, value: Any) -> Any:
        return ", ".join(exactly(each) for each in value) if isinstance(value, list | tuple) else value


class UnitTypeForm(IdempotentForm):
    """Everything `timing.unit.UnitType` wants to know, in the words of somebody with the unit in front of them."""

    name = forms.CharField(max_length=60, label="Name")
    reason = forms.CharField(max_length=200, required=False, label="Reason for the revision")

    nodes_kind = forms.ChoiceField(
        choices=[("fixed", "fixed speeds"), ("free", "speeds keyed in")],
        widget=forms.RadioSelect,
        initial="fixed",
        label="Points of the speed curve",
    )
    fixed_rpm = FiguresField(
        within=SPEEDS, required=False, label="Speeds of the points", help_text="Put spaces between them."
    )
    free_count = forms.IntegerField(required=False, min_value=1, max_value=64, label="Number of points")
    free_speeds = StepsField(required=False, unit="rpm", within=SPEEDS, label="Speed range of a point")
    degree = StepsField(required=False, unit="°", within=DEGREES, label="Degrees of a point")
    counted_from = forms.ChoiceField(
        choices=[("base", "from base timing"), ("absolute", "from top dead centre, base timing included")],
        widget=forms.RadioSelect,
        initial="base",
        label="Degrees count",
    )
    base = StepsField(
        required=False,
        unit="°",
        within=DEGREES,
        label="Base timing",
        help_text="Leave empty if only the distributor is turned.",
    )

    vacuum_kind = forms.ChoiceField(
        choices=[("none", "none"), ("ramp", "a ramp"), ("table", "a table")],
        widget=forms.RadioSelect,
        initial="none",
        label="Vacuum part",
    )
    vacuum_unit = forms.ChoiceField(choices=PRESSURES, initial="kPa", label="Vacuum in")
    vacuum_start = StepsField(required=False, label="Vacuum start")
    vacuum_full = StepsField(required=False, label="Vacuum full")
    vacuum_degrees = StepsField(required=False, unit="°", within=DEGREES, label="Maximum vacuum advance")
    vacuum_from_rpm = StepsField(
        required=False,
        unit="rpm",
        within=SPEEDS,
        label="Acts above",
        help_text="Leave empty if the unit does not ask.",
    )
    table_rpm = FiguresField(within=SPEEDS, required=False, label="Speeds of the table's columns")
    table_vacuum = FiguresField(required=False, label="Vacuum of the table's rows")

    boost_kind = forms.ChoiceField(
        choices=[("none", "none"), ("ramp", "a ramp"), ("nodes", "fixed points")],
        widget=forms.RadioSelect,
        initial="none",
        label="Retard under boost",
    )
    boost_unit = forms.ChoiceField(choices=PRESSURES, initial="kPa", label="Boost in")
    boost_start = StepsField(required=False, label="Boost start")
    boost_full = StepsField(required=False, label="Boost full")
    boost_degrees = StepsField(required=False, unit="°", within=DEGREES, label="Boost retard")
    boost_nodes = FiguresField(required=False, label="Boost points")

    dwell_ms = StepsField(required=False, unit="ms", within=DWELLS, label="Dwell")
    rev_limit_rpm = StepsField(required=False, unit="rpm", within=SPEEDS, label="Rev limit")
    rev_limit_manners = forms.MultipleChoiceField(
        choices=[("soft", "soft: sparks dropped in rotation"), ("hard", "hard: all sparks dropped")],
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Limiter",
    )
    repeated_sparks = forms.BooleanField(required=False, label="Has repeated sparks while cranking")
    takes_delay = forms.BooleanField(required=False, label="Has an entry for the delay of the spark")

    def __init__(self, *args: Any, unit_type: UnitType | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.unit_type = unit_type
        self.fields["reason"].required = unit_type is not None
        for place, key in enumerate(get_args(EntryKey), start=1):
            self.fields[f"order_{key}"] = forms.IntegerField(
                required=False, min_value=1, max_value=99, label=f"Order of: {ENTRY_LABELS[key]}", initial=place
            )
            self.fields[f"words_{key}"] = forms.CharField(
                required=False, max_length=40, label=f"Our words for: {ENTRY_LABELS[key]}"
            )
            for value in CHOICES.get(key, ()):
                self.fields[f"choice_{key}_{value}"] = forms.CharField(
                    required=False, max_length=20, label=f"{ENTRY_LABELS[key]}, {CHOICE_LABELS[value]}"
                )

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"].strip()
        others = UnitType.objects.filter(name__iexact=name)
        if self.unit_type is not None:
            others = others.exclude(pk=self.unit_type.pk)
        if others.exists() and not UnitTypeRevision.objects.filter(idempotency_key=self._once()).exists():
            raise ValidationError(NAME_TAKEN, code="twice")
        return name

    def _once(self) -> UUID:
        """The form's id, or one that nothing bears."""
        return self.cleaned_data.get("idempotency_key") or uuid4()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        self._keep_pressures_within(cleaned.get("vacuum_unit"), ("vacuum_start", "vacuum_full"), VACUA)
        self._keep_pressures_within(cleaned.get("vacuum_unit"), ("table_vacuum",), TABLE_VACUA)
        self._keep_pressures_within(cleaned.get("boost_unit"), ("boost_start", "boost_full", "boost_nodes"), BOOSTS)
        if self.errors:
            return cleaned
        try:
            cleaned["holds"] = Holds(
                nodes=self._nodes(),
                degree=self._needed("degree"),
                counted_from=cleaned["counted_from"],
                base=cleaned["base"],
                vacuum=self._vacuum(),
                boost=self._boost(),
                dwell_ms=cleaned["dwell_ms"],
                rev_limit_rpm=cleaned["rev_limit_rpm"],
                rev_limit_manners=tuple(cleaned["rev_limit_manners"]),
                repeated_sparks=cleaned["repeated_sparks"],
                takes_delay=cleaned["takes_delay"],
                entries=(),
            )
            cleaned["holds"] = self._with_words(cleaned["holds"])
        except TimingError as problem:
            raise ValidationError(sentence(problem), code="timing") from problem
        return cleaned

    def _keep_pressures_within(self, unit: str | None, names: tuple[str, ...], kpa: tuple[float, float]) -> None:
        """Refuse what no manifold ever has, in the unit that was chosen."""
        if unit is None:
            return
        low, high = (float(convert(bound, "kPa", unit)) for bound in kpa)
        for name in names:
            value = self.cleaned_data.get(name)
            figures = [value.low, value.high] if isinstance(value, Steps) else value or []
            if not all(low <= each <= high for each in figures):
                self.add_error(name, f"Must be between {plain(round(low, 1))} and {plain(round(high, 1))} {unit}.")

    def entry_rows(self) -> Iterator[dict[str, Any]]:
        """The keying order, a row an entry, for the template."""
        for key in get_args(EntryKey):
            yield {
                "label": ENTRY_LABELS[key],
                "order": self[f"order_{key}"],
                "words": self[f"words_{key}"],
                "choices": [(value, self[f"choice_{key}_{value}"]) for value in CHOICES.get(key, ())],
            }

    def _needed(self, name: str) -> Any:
        value = self.cleaned_data[name]
        if value in (None, [], ""):
            message = f"{self.fields[name].label}: needed."
            self.add_error(name, message)
            raise ValidationError("Something is missing.", code="required")
        return value

    def _nodes(self) -> FixedNodes | FreeNodes:
        if self.cleaned_data["nodes_kind"] == "fixed":
            return FixedNodes(self._needed("fixed_rpm"))
        return FreeNodes(self._needed("free_count"), self._needed("free_speeds"))

    def _vacuum(self) -> RampEntries | TableEntries | None:
        cleaned = self.cleaned_data
        if cleaned["vacuum_kind"] == "ramp":
            return RampEntries(
                unit=cleaned["vacuum_unit"],
                start=self._needed("vacuum_start"),
                full=self._needed("vacuum_full"),
                degrees=self._needed("vacuum_degrees"),
                from_rpm=cleaned["vacuum_from_rpm"],
            )
        if cleaned["vacuum_kind"] == "table":
            return TableEntries(
                cleaned["vacuum_unit"],
                rpm=self._needed("table_rpm"),
                vacuum=self._needed("table_vacuum"),
                degrees=self._needed("vacuum_degrees"),
            )
        return None

    def _boost(self) -> RampEntries | BoostNodes | None:
        cleaned = self.cleaned_data
        if cleaned["boost_kind"] == "ramp":
            return RampEntries(
                unit=cleaned["boost_unit"],
                start=self._needed("boost_start"),
                full=self._needed("boost_full"),
                degrees=self._needed("boost_degrees"),
            )
        if cleaned["boost_kind"] == "nodes":
            return BoostNodes(cleaned["boost_unit"], self._needed("boost_nodes"), self._needed("boost_degrees"))
        return None

    def _with_words(self, usual: Holds) -> Holds:
        """The same unit with the workshop's words, in the order of their places."""

        def place(entry: EntryWord) -> tuple[int, int]:
            order = self.cleaned_data.get(f"order_{entry.key}")
            return (99 if order is None else order, usual.entries.index(entry))

        entries = []
        for entry in sorted(usual.entries, key=place):
            words = self.cleaned_data.get(f"words_{entry.key}") or entry.words
            choices = tuple(
                (value, typed)
                for value in CHOICES.get(entry.key, ())
                if (typed := self.cleaned_data.get(f"choice_{entry.key}_{value}"))
            )
            entries.append(EntryWord(entry.key, words, choices))
        return Holds(
            **{name: getattr(usual, name) for name in usual.__dataclass_fields__ if name != "entries"},
            entries=tuple(entries),
        )


def initial_of(holds: Holds) -> dict[str, Any]:
    """What the form shows for a unit type that is already described."""
    initial: dict[str, Any] = {
        "degree": holds.degree,
        "counted_from": holds.counted_from,
        "base": holds.base,
        "dwell_ms": holds.dwell_ms,
        "rev_limit_rpm": holds.rev_limit_rpm,
        "rev_limit_manners": list(holds.rev_limit_manners),
        "repeated_sparks": holds.repeated_sparks,
        "takes_delay": holds.takes_delay,
        **_initial_nodes(holds.nodes),
        **_initial_vacuum(holds.vacuum),
        **_initial_boost(holds.boost),
    }
    initial |= {f"order_{key}": None for key in get_args(EntryKey)}  # what the unit does not have has no place
    for place, entry in enumerate(holds.entries, start=1):
        initial[f"order_{entry.key}"] = place
        initial[f"words_{entry.key}"] = entry.words
        for value, words in entry.choices:
            initial[f"choice_{entry.key}_{value}"] = words
    return initial


def _initial_nodes(nodes: FixedNodes | FreeNodes) -> dict[str, Any]:
    if isinstance(nodes, FixedNodes):
        return {"nodes_kind": "fixed", "fixed_rpm": nodes.rpm}
    return {"nodes_kind": "free", "free_count": nodes.count, "free_speeds": nodes.speeds}


def _initial_vacuum(part: RampEntries | TableEntries | None) -> dict[str, Any]:
    if part is None:
        return {"vacuum_kind": "none"}
    shared: dict[str, Any] = {"vacuum_unit": part.unit, "vacuum_degrees": part.degrees}
    if isinstance(part, TableEntries):
        return {**shared, "vacuum_kind": "table", "table_rpm": part.rpm, "table_vacuum": part.vacuum}
    return {
        **shared,
        "vacuum_kind": "ramp",
        "vacuum_start": part.start,
        "vacuum_full": part.full,
        "vacuum_from_rpm": part.from_rpm,
    }


def _initial_boost(part: RampEntries | BoostNodes | None) -> dict[str, Any]:
    if part is None:
        return {"boost_kind": "none"}
    shared: dict[str, Any] = {"boost_unit": part.unit, "boost_degrees": part.degrees}
    if isinstance(part, BoostNodes):
        return {**shared, "boost_kind": "nodes", "boost_nodes": part.boost}
    return {**shared, "boost_kind": "ramp", "boost_start": part.start, "boost_full": part.full}


class UnitForm(IdempotentForm):
    """One unit by its serial number."""

    revision = forms.ModelChoiceField(UnitTypeRevision.objects.none(), label="Unit type")
    serial_number = forms.CharField(max_length=40, label="Serial number")
    firmware = forms.CharField(required=False, max_length=40, label="Firmware version")
    batch = forms.CharField(required=False, max_length=40, label="Batch or date code")
    notes = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 3}), label="Notes")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["revision"].queryset = newest_revisions()  # type: ignore[attr-defined]


class UnitNotesForm(RowVersionForm):
    """What may change about a unit once it is entered."""

    firmware = forms.CharField(required=False, max_length=40, label="Firmware version")
    batch = forms.CharField(required=False, max_length=40, label="Batch or date code")
    notes = forms.CharField(required=False, max_length=2000, widget=forms.Textarea(attrs={"rows": 4}), label="Notes")


def newest_revisions() -> Any:
    """The newest description of every unit type that is still offered."""
    newest = UnitType.objects.filter(retired=False).annotate(newest=Max("revisions__pk")).values("newest")
    return UnitTypeRevision.objects.filter(pk__in=newest).select_related("unit_type").order_by("unit_type__name")


__all__ = ["FiguresField", "Steps", "UnitForm", "UnitNotesForm", "UnitTypeForm", "initial_of", "newest_revisions"]
