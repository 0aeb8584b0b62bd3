"""The table in DEVELOPERS.md against OWASP ASVS 5.0.0: no requirement of levels 1 and 2 left out, no test made up."""

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

# Section and how many of its requirements are of level 1 or 2: the first ones of each (5.0.0, the CSV edition).
SECTIONS = {
    "1.1": 2, "1.2": 9, "1.3": 11, "1.4": 3, "1.5": 2, "2.1": 3, "2.2": 3, "2.3": 4, "2.4": 1, "3.2": 2, "3.3": 4,
    "3.4": 6, "3.5": 5, "3.7": 2, "4.1": 3, "4.2": 1, "4.3": 2, "4.4": 4, "5.1": 1, "5.2": 3, "5.3": 2, "5.4": 3,
    "6.1": 3, "6.2": 12, "6.3": 4, "6.4": 4, "6.5": 5, "6.6": 3, "6.8": 4, "7.1": 3, "7.2": 4, "7.3": 2, "7.4": 5,
    "7.5": 2, "7.6": 2, "8.1": 2, "8.2": 3, "8.3": 1, "8.4": 1, "9.1": 3, "9.2": 4, "10.1": 2, "10.2": 2, "10.3": 4,
    "10.4": 11, "10.5": 5, "10.6": 2, "10.7": 3, "11.1": 2, "11.2": 3, "11.3": 3, "11.4": 4, "11.5": 1, "11.6": 1,
    "12.1": 3, "12.2": 2, "12.3": 4, "13.1": 1, "13.2": 5, "13.3": 2, "13.4": 5, "14.1": 2, "14.2": 4, "14.3": 3,
    "15.1": 3, "15.2": 3, "15.3": 7, "16.1": 1, "16.2": 5, "16.3": 4, "16.4": 3, "16.5": 3, "17.1": 1, "17.2": 4,
    "17.3": 2,
}  # fmt: skip
STATES = {"met", "in part", "not met", "not applicable"}


def rows() -> list[list[str]]:
    table = (ROOT / "DEVELOPERS.md").read_text().split("## OWASP ASVS")[1]
    found = [[cell.strip() for cell in line.strip("|").split("|")] for line in table.splitlines() if line[:1] == "|"]
    return [row for row in found if re.match(r"\d", row[0])]


def numbers(cell: str) -> list[str]:
    """'6.5.3, 6.6.1–3' is four of them."""
    found = []
    for one in cell.split(", "):
        section, first, last = re.fullmatch(r"(\d+\.\d+)\.(\d+)(?:–(\d+))?", one).groups()
        found += [f"{section}.{n}" for n in range(int(first), int(last or first) + 1)]
    return found


def test_every_requirement_of_levels_1_and_2_stands_in_the_table_once():
    wanted = [f"{section}.{n}" for section, many in SECTIONS.items() for n in range(1, many + 1)]
    assert len(wanted) == 253  # 70 of level 1 and 183 of level 2
    assert sorted(number for row in rows() for number in numbers(row[0])) == sorted(wanted)


def test_each_line_says_how_it_stands_and_what_is_met_names_its_test_or_that_none_shows_it():
    assert {row[1] for row in rows()} <= STATES
    assert [row[0] for row in rows() if row[1] == "met" and "::" not in row[3] and row[3] != "by reading"] == []
    assert [row[0] for row in rows() if not row[2]] == []


def test_every_test_that_is_named_is_there():
    named = re.findall(r"`(tests/[^`]+?)::(test_\w+)`", (ROOT / "DEVELOPERS.md").read_text())
    assert len(named) > 80
    missing = [f"{path}::{test}" for path, test in named if test not in names_in(ROOT / path)]
    assert missing == []


def names_in(path: Path) -> set[str]:
    if not path.exists():
        return set()
    return {node.name for node in ast.walk(ast.parse(path.read_text())) if isinstance(node, ast.FunctionDef)}
