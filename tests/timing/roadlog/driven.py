"""A small grid, the published log, and notes of pinking for the tests of the road log."""

import numpy as np

from tests.timing.published import rows
from timing.roadlog import Grid, occupancy

GRID = Grid(rpm=[1000, 2000, 3000, 4000], vacuum=[0, 20, 40, 60])
# The worked log as `occupancy` takes it, and without the advance that a logger may leave out.
NAMES = {"t_s": "t_s", "rpm": "rpm", "vacuum": "vacuum_kpa", "advance": "advance_deg"}
LOG = {ours: [row[theirs] for row in rows("roadlog_samples.csv")] for ours, theirs in NAMES.items()}
WITHOUT_ADVANCE = LOG | {"advance": None}
EXPECTED = rows("roadlog_expected.csv")
# The handbook's notes.
NOTES = {"rpm": [2400, 2600, 2300, 4500], "vacuum": [5, 3, 12, 2], "severity": [2, 2, 1, 1]}
FLAT = np.full(GRID.shape, 20.0)
NONE = np.zeros(GRID.shape)


def expected(quantity):
    """The tabled figures as a table over GRID, noughts where none is given."""
    table = np.zeros(GRID.shape)
    for row in EXPECTED:
        if row["quantity"] == quantity:
            table[GRID.vacuum.index(row["vacuum_node"]), GRID.rpm.index(row["rpm_node"])] = row["value"]
    return table


def slowly(rpm, vacuum=10.0, **settings):
    """A log of one sample a second."""
    return occupancy(GRID, np.arange(len(rpm)), rpm=rpm, vacuum=np.broadcast_to(vacuum, len(rpm)), **settings)


def noted(row, column, score):
    """Scores that are nought but in one cell."""
    scores = np.zeros(GRID.shape)
    scores[row, column] = score
    return scores
