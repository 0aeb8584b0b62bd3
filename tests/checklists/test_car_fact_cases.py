"""What differs from the car's record: the tablet's script is held to the same table, in tests/js/car-facts.test.mjs."""

import json
from pathlib import Path

import pytest

from jobs.checklists.car_facts import CAR_FACTS, Comparison, How
from jobs.checklists.models import ChecklistItem, Correction, Entry, ItemKind

CASES = json.loads((Path(__file__).resolve().parents[1] / "cases" / "car_facts.json").read_text(encoding="utf-8"))
KIND = {How.CHOICE: ItemKind.CHOICE, How.FIGURE: ItemKind.MEASURE, How.ORDER: ItemKind.TEXT}


def compared(case):
    fact = CAR_FACTS[case["fact"]]
    correction = Correction.COPPER if fact.key == "coil_ohm" else Correction.NONE
    item = ChecklistItem(kind=KIND[fact.how], unit=fact.unit, correction=correction)
    measured = fact.measured(item, Entry(**case["entry"]))
    return None if measured is None else Comparison(fact, measured, case["recorded"])


@pytest.mark.parametrize(
    "case", [one for one in CASES["cases"] if "outcome" not in one["entry"]], ids=lambda case: case["name"]
)
def test_what_is_measured_agrees_with_the_record_or_differs(case):
    found = compared(case)
    assert (found is not None and not found.agrees) == case["differs"]
    assert (found is not None and found.is_new) == case.get("is_new", False)
