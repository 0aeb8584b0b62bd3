"""What entries say about a sheet: the tablet's script is held to the same table, in tests/js/ticks.test.mjs."""

import json
import uuid
from pathlib import Path
from typing import Any

import pytest

from garage.quantities.words import figure_text
from jobs.checklists.models import ChecklistItem, Entry, ItemKind, Outcome
from jobs.checklists.presentation import row_of
from jobs.checklists.second_check_actions import confirm_entry
from jobs.checklists.sheet import sheet_of
from jobs.checklists.verdict import judge_figure
from tests.checklists.factories import enter, sheet_with, signed_by

CASES = json.loads((Path(__file__).resolve().parents[1] / "cases" / "ticks.json").read_text(encoding="utf-8"))
SAYS = CASES["says"]


@pytest.mark.parametrize("case", CASES["figures"], ids=str)
def test_a_figure_passes_from_limit_to_limit_both_included(case):
    item = ChecklistItem(kind=ItemKind.MEASURE, low=case["low"], high=case["high"])
    verdict = judge_figure(item, case["measure"])
    assert (verdict.mark, verdict.words, verdict.holds) == (case["mark"], SAYS[case["says"]], case["holds"])


@pytest.mark.parametrize("case", CASES["texts"], ids=lambda case: ascii(case["text"]))
def test_a_figure_is_written_with_no_fewer_decimals_than_were_typed(case):
    assert figure_text(case["measure"], case["decimals"]) == case["text"]


@pytest.mark.django_db
@pytest.mark.parametrize("case", CASES["sheets"], ids=lambda case: case["name"])
def test_what_is_entered_says_of_its_items(case, mechanic, second_mechanic, owner):
    people = {"first": mechanic, "second": second_mechanic, "owner": owner}
    sheet = sheet_with(case["items"], person=mechanic)
    for message in case["messages"]:
        take(sheet, message, people[message.get("by", "first")])
    lines = {line.item.key: line for line in sheet_of(type(sheet).objects.get(pk=sheet.pk)).lines}
    for key, expected in case["rows"].items():
        found = shown(lines[key])
        assert {slot: found[slot] for slot in expected} == expected, key


def id_of(number: int) -> uuid.UUID:
    return uuid.UUID(int=number)


def take(sheet, message: dict[str, Any], person) -> None:
    if confirmed := message.get("confirms"):
        entry = Entry.objects.get(pk=id_of(confirmed))
        confirm_entry(entry=entry, id=id_of(message["id"]), actor=signed_by(person))
        return
    entered = {name: message[name] for name in ("measure", "choice", "text", "note") if name in message}
    enter(
        sheet,
        message["item"],
        person,
        id=id_of(message["id"]),
        outcome=Outcome(message.get("outcome", Outcome.DONE)),
        replaces=[id_of(replaced) for replaced in message.get("replaces", [])],
        **entered,
    )


def shown(line) -> dict[str, Any]:
    """The row as the page is given it, its entries by the numbers of the table."""
    row = row_of(line)
    return {
        **row,
        "says": next((name for name, text in SAYS.items() if text == row["words"]), row["words"]),
        "standing": [uuid.UUID(entry["id"]).int for entry in row["standing"]],
        "heads": [uuid.UUID(head).int for head in row["heads"]],
        "hold": line.hold.item.key if line.hold else None,
    }
