"""Published values for the tests of `timing`: the tables of tests/reference, each with its source in the first line."""

import csv
from pathlib import Path

_FOLDER = Path(__file__).parents[1] / "reference"


def rows(name):
    """The rows of one table as dictionaries: figures as floats, words as they are."""
    with (_FOLDER / name).open(encoding="utf-8", newline="") as table:
        source = table.readline()
        assert source.startswith("# source:"), f"{name} does not name its source"
        return [{column: _figure(value) for column, value in row.items()} for row in csv.DictReader(table)]


def _figure(value):
    try:
        return float(value)
    except ValueError:
        return value
