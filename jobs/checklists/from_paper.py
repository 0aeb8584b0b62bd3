"""A sheet that was filled in with a pen, typed in afterwards: one item a line, by the numbers on the paper."""

import re
import uuid
from dataclasses import dataclass
from typing import Any

from django import forms

from garage.people.models import Staff
from garage.quantities.fields import carried_name
from garage.record.actor import Actor
from garage.record.forms import sentences_of
from garage.record.idempotency import IdempotentForm
from garage.record.refusals import RuleRefusedError
from jobs.checklists.actions import record_entry
from jobs.checklists.blank import lettered, paper_unit
from jobs.checklists.forms import EntryForm
from jobs.checklists.measuring import beside_of
from jobs.checklists.models import ChecklistItem, ItemKind, Outcome
from jobs.checklists.sheet import Line, Sheet

MOST = 200
# Matched with single blanks: long runs of them would be tried in every way of sharing them out.
_LINE = re.compile(r"\s*(?P<number>[0-9]{1,4})[.:)]?\s+(?P<answer>[^;]*?)\s*(;\s*(?P<note>.*?)\s*)?")
TICKED = {"ok", "x", "v", "yes", "done", "✓"}
NOT_POSSIBLE = {"np", "n/p", "not possible"}


class FromPaperForm(IdempotentForm):
    """Who wrote it when, and the lines."""

    written = forms.CharField(
        label="Written by, on",
        max_length=60,
        help_text="Goes with each entry, such as T. Reed, 28 Nov.",
    )
    lines = forms.CharField(
        label="Lines",
        max_length=20_000,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 14, "autocomplete": "off", "spellcheck": "false"}),
        help_text="No. and answer on each line. A note follows a semicolon.",
    )

    def __init__(self, *args: Any, sheet: Sheet, person: Staff, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sheet, self.person = sheet, person
        self.rows: list[Row] = []

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        key, written = cleaned.get("idempotency_key"), cleaned.get("written")
        if key is None or not written:
            return cleaned
        typed = [line for line in (cleaned.get("lines") or "").splitlines() if line.strip()]
        if len(typed) > MOST:
            self.add_error("lines", f"{len(typed)} lines. {MOST} at most.")
            return cleaned
        by_number = {line.item.position: line for line in self.sheet.lines}
        seen: set[int] = set()
        for text in typed:
            found = _LINE.fullmatch(" ".join(text.split()))
            if not found:
                self.add_error("lines", f"‘{text.strip()[:40]}’: write the no., a blank and the answer.")
                continue
            number = int(found["number"])
            line = by_number.get(number)
            if line is None:
                self.add_error("lines", f"No. {number} is not on this sheet.")
            elif number in seen:
                self.add_error("lines", f"No. {number} is here twice.")
            else:
                self._read(line, found["answer"], found["note"] or "", text, key)
            seen.add(number)
        return cleaned

    def _read(self, line: Line, answer: str, note: str, text: str, key: uuid.UUID) -> None:
        """Take a line, or say what is wrong with it."""
        id = uuid.uuid5(key, str(line.item.position))
        # Sent again, what was saved the first time is no refusal.
        if not line.is_open and all(entry.pk != id for entry in line.history):
            self.add_error("lines", f"No. {line.item.position} has an answer already. Change it on its own page.")
            return
        values, problem = _as_entry(line.item, answer)
        if problem:
            self.add_error("lines", f"No. {line.item.position}: {problem}")
            return
        origin = f"from paper, {self.cleaned_data['written']}"
        data = {"outcome": Outcome.DONE, "note": f"{origin}: {note}" if note else origin, "id": str(id), **values}
        form = EntryForm(data, item=line.item, person=self.person)
        if form.is_valid():
            self.rows.append(Row(line.item, text, form))
        for sentence in sentences_of(form):
            self.add_error("lines", f"No. {line.item.position}: {sentence}")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the paper that can be read."""

    item: ChecklistItem
    text: str
    form: EntryForm


@dataclass(frozen=True, slots=True)
class Taken:
    """How many lines were saved, which are left, and why the first of them was not taken."""

    saved: int
    left: list[str]
    reasons: tuple[str, ...] = ()


def _as_entry(item: ChecklistItem, answer: str) -> tuple[dict[str, Any], str]:
    """The boxes of the item's own form for what was written; or what is wrong with it."""
    if answer.lower() in NOT_POSSIBLE:
        return {"outcome": Outcome.NOT_POSSIBLE}, ""
    match item.kind:
        case ItemKind.TICK:
            return {}, "" if answer.lower() in TICKED else "write ok for a tick."
        case ItemKind.CHOICE:
            by_letter = dict(lettered(item))
            choice = by_letter.get(answer.lower(), answer)
            allowed = ", ".join(f"{letter} {words}" for letter, words in by_letter.items())
            return {"choice": choice}, "" if choice in item.choices else f"write one of: {allowed}."
        case ItemKind.MEASURE:
            figure, _, rest = answer.partition(" ")
            beside = beside_of(item)
            if rest.strip() and beside is None:
                return {}, f"one figure, in {paper_unit(item)}."
            values = {"measure": figure, carried_name("measure"): paper_unit(item)}
            return values | ({"beside": rest.strip()} if beside else {}), ""
        case ItemKind.TEXT:
            return {"text": answer}, ""
        case ItemKind.PHOTO:
            return {}, "take the photograph on its own page."
    return {}, "this is read from the record: enter the readings on their page."


def take_from_paper(form: FromPaperForm, actor: Actor) -> Taken:
    """Save the lines of a valid `form` in the order of the sheet, up to the first that the sheet does not take.

    Each is an entry of its own. A hold point that does not hold, or waits for its second check, ends it there: what
    comes before is saved, the rest is left to be sent again.
    """
    rows = sorted(form.rows, key=lambda row: row.item.position)
    for count, row in enumerate(rows):
        values = {name: value for name, value in row.form.cleaned_data.items() if name not in ("photograph", "outcome")}
        try:
            record_entry(
                sheet=form.sheet.record,
                key=row.item.key,
                actor=actor,
                outcome=Outcome(row.form.cleaned_data["outcome"]),
                **values,
            )
        except RuleRefusedError as refusal:
            said = tuple(f"No. {row.item.position}: {reason}" for reason in refusal.reasons)
            return Taken(count, [left.text for left in rows[count:]], said)
    return Taken(len(rows), [])
