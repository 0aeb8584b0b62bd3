"""Units that hold this or that, and what each refuses of a map."""

from dataclasses import replace

import pytest

from timing.curve import AdvanceCurve
from timing.unit import (
    BoostNodes,
    FixedNodes,
    RampEntries,
    Steps,
    TableEntries,
    UnitCannotHold,
    UnitType,
    fit_map,
)

# The target and the nodes of the worked fit in section 4 of the handbook.
CURVE = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
NODES = FixedNodes([500, 1000, 1500, 2500, 3500])
PLAIN = UnitType(NODES, Steps(0, 40, 1))
INHG = RampEntries("inHg", Steps(0, 20, 1), Steps(1, 25, 1), Steps(0, 20, 1))
WITH_RAMP = replace(PLAIN, vacuum=INHG, entries=())
TABLE = TableEntries("kPa", rpm=[1000, 2000, 4000], vacuum=[0, 20, 40, 60], degrees=Steps(-5, 25, 0.5))
WITH_TABLE = replace(PLAIN, vacuum=TABLE, entries=())
BOOST_RAMP = replace(PLAIN, boost=RampEntries("kPa", Steps(0, 100, 5), Steps(5, 200, 5), Steps(0, 20, 1)), entries=())
BOOST_NODES = replace(PLAIN, boost=BoostNodes("kPa", [0, 30, 60, 90], Steps(0, 20, 1)), entries=())


def unit(**changes):
    return replace(PLAIN, entries=(), **changes)


def problems(wanted, holds, variant="nearest"):
    with pytest.raises(UnitCannotHold) as refusal:
        fit_map(wanted, holds, variant=variant)
    assert str(refusal.value) == "; ".join(refusal.value.problems)
    return refusal.value.problems


def rounded(what, figure, kept):
    """The sentence for an entry keyed in as another figure; `figure` with its unit."""
    return f"{what}, {figure}, is keyed in as {kept}"


def strayed(what, degrees, more_or_less, where):
    """The sentence for a part that is off by `degrees` at worst."""
    return f"{what} is up to {degrees} degrees {more_or_less} than set, at {where}"
