"""The page on which a person confirms how a log is read: from the file, from what was kept before, or as they say."""

from collections.abc import Mapping
from typing import Any

from garage.people.queries import get_workshop
from jobs.roadlogs import columns, queries, raw
from jobs.roadlogs.forms import ColumnsForm, ShapeForm
from jobs.roadlogs.models import ColumnSet, RoadLog
from jobs.roadlogs.refusals import LogRefusedError
from jobs.roadlogs.shape import FileShape, Preview, preview_of
from timing.units import standard_pressure


class AskedColumns:
    """What the page shows of `log`, and whether what was sent (None: nothing) confirms it."""

    def __init__(self, log: RoadLog, sent: Mapping[str, Any] | None) -> None:
        self.log = log
        self.head = raw.head_of(log.file)
        self._sent, self._only_shown = sent, sent is not None and "show" in sent
        self.known: ColumnSet | None = None
        self.problem = ""
        self.preview: Preview | None = None
        self.columns_form: ColumnsForm | None = None
        initial = ShapeForm.initial_of(FileShape.from_json(log.shape))
        self.shape_form = ShapeForm(sent, initial=initial) if sent is not None else ShapeForm(initial=initial)
        if sent is not None and not self.shape_form.is_valid():
            return
        self.shape = self.shape_form.shape() if sent is not None else FileShape.from_json(log.shape)
        try:
            self.preview = preview_of(self.head, self.shape)
        except LogRefusedError as refusal:
            self.problem = str(refusal)
            return
        self._lay_columns(self.preview)

    def _lay_columns(self, preview: Preview) -> None:
        if self._sent is not None and not self._only_shown:
            self.columns_form = ColumnsForm(self._sent, preview=preview)
            return
        mapped, knock_limit = columns.guessed(preview), None
        if self.log.columns and preview.names == self.log.names:
            mapped, knock_limit = columns.from_json(self.log.columns), self.log.knock_limit
        elif self._sent is None and (known := queries.column_set_for(preview.header_sha256)):
            self.known = known
            mapped, knock_limit = columns.from_json(known.columns), known.knock_limit
        usual = round(float(standard_pressure(get_workshop().altitude_m)), 1)
        initial = {
            **ColumnsForm.initial_of(mapped),
            "barometer_kpa": self.log.barometer_kpa or usual,
            "knock_limit": knock_limit,
            "kept_as": self.known.name if self.known else "",
        }
        self.columns_form = ColumnsForm(preview=preview, initial=initial)

    @property
    def has_errors(self) -> bool:
        forms = [form for form in (self.shape_form, self.columns_form) if form is not None and form.is_bound]
        return bool(self.problem) or any(form.errors for form in forms)

    def is_confirmed(self) -> bool:
        if self._sent is None or self._only_shown or self.columns_form is None:
            return False
        return self.columns_form.is_valid() and not self.problem

    def values(self) -> dict[str, Any]:
        """What `actions.confirm_columns` takes, once confirmed."""
        assert self.columns_form is not None  # noqa: S101 - asked before
        typed = self.columns_form.cleaned_data
        return {
            "shape": self.shape,
            "preview": self.preview,
            "columns": self.columns_form.columns(),
            "barometer_kpa": typed["barometer_kpa"],
            "knock_limit": typed["knock_limit"],
            "kept_as": typed["kept_as"].strip(),
        }
