"""What the rooms of the maps say, for the tests that quote it: a better word is changed here and in no test."""

BROKEN_SEAL = "no longer bears its seal"
NEVER_CHANGES = "Version 1 is released and never changes"
STOP_FOUND = "A finding says stop"
CHOOSE_THE_UNIT = "Choose the unit"
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


def not_a_figure(typed: str) -> str:
    return f"‘{typed}’ is not a figure."
