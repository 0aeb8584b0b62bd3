"""What the rooms of the maps say, for the tests that quote it: a better word is changed here and in no test."""

from timing.unit import EntryWord, UnitType

BROKEN_SEAL = "was changed outside Crankmark"
NEVER_CHANGES = "Released versions do not change"
STOP_FOUND = "A finding says stop"
CHOOSE_THE_UNIT = "Choose unit"
IN_THE_CAR = "is in the car"
NEEDS_A_POINT = "A curve needs at least one point."
MUST_INCREASE = "Must be above 3000: rpm must increase from row to row."
UNIT_HOLDS = "The unit holds {} to {}."
SWITCH_OFF_AND_ON = "Then switch the ignition off and on"
TEMPLATE_CURVE = "template curve"

# Over the tables: from where degrees are counted.
FROM_BASE = "degrees from base timing"
FROM_TOP_DEAD_CENTRE = "degrees before top dead centre, base timing included"
EACH_FROM_ITS_OWN_BASE = "degrees from each version's own base timing"
SET, UNIT_DELIVERS = "set", "unit delivers"


def entry(unit: UnitType, key: str) -> EntryWord:
    """What `unit` calls one of its entries."""
    return next(entry for entry in unit.entries if entry.key == key)


def not_a_figure(typed: str) -> str:
    return f"‘{typed}’ is not a figure."
