"""Which items of the check-lists that come along are for which car."""

import pytest

from jobs.checklists.applies import FACTS, applies
from tests.checklists.along import (
    BREAKER,
    CHECK,
    ELECTRONIC,
    ELSEWHERE,
    FITTING,
    INSPECTION,
    LISTS,
    REPLACED,
    SHORT,
    UNIT_AND_MAP,
    keys,
)

SIX_VOLTS = {"made-for-six-volts", "feed-cranking-6"}
POSITIVE = {
    "positive-earth-way", "unit-case-isolated", "unit-return-positive", "changed-to-negative",
    "return-drop-positive", "coil-wired-positive",
}  # fmt: skip
NEGATIVE = {"unit-earth", "earth-drop", "coil-wired"}
CURRENT, VOLTAGE = ({f"tachometer-{kind}", f"tachometer-{kind}-reads"} for kind in ("current", "voltage"))
BALLAST = {"feed-before-ballast", "ballast-route"}
VACUUM = {"vacuum-source", "vacuum-pipe", "vacuum-leak"}
OVERLAP = {"rotor-overlap-highest", "rotor-overlap-lowest"}
AT_EDGE = {"edge-told", "tip-at-edge"}
IN_LINE = {"rotor-remedy", "rotor-moved"}
# A single and a twin that fires both plugs together have neither a rotor nor a cap to read an order off.
ROTOR = OVERLAP | AT_EDGE | IN_LINE | {"advance-range", "cap", "firing-order"}
ROTOR_SHORT = ROTOR - IN_LINE
PICK_UP = {"pickup-resistance", "pickup-insulated", "pickup-gap", "pickup-leads", "pickup-signal"}
SENSOR = {"trigger-supply", "sensor-earth-drop"}

# against the plain car: what the list shows in addition, and what it shows no more
DIFFERENCES = [
    *[
        row
        for of in FITTING
        for row in [
            (of, {"system_volts": 6}, SIX_VOLTS, {"feed-cranking-12"}),
            (of, {"tachometer": "coil current"}, CURRENT, set()),
            (of, {"tachometer": "coil voltage"}, VOLTAGE, set()),
            (of, {"tachometer": "none"}, set(), set()),
            (of, {"unit_vacuum": "ramp"}, set(), set()),
            (of, {"unit_vacuum": "none"}, {"vacuum-closed"}, VACUUM),
            (of, {"cylinders": 1}, {"spark-turns"}, ROTOR | {"leads-numbered", "leads-in-order"}),
            (of, {"cylinders": 2}, {"spark-turns", "rotor-of-a-twin"}, OVERLAP | {"leads-in-order"}),
            (of, {"cylinders": 2, "rotor": False}, {"spark-turns"}, ROTOR | {"leads-in-order"}),
            (of, {"rotor": False}, set(), ROTOR),
            (of, {"trigger_place": "crank or camshaft"}, {"rotor-in-line-at"}, AT_EDGE),
            (of, {"cylinders": 3}, set(), {"leads-in-order"}),
            (of, {"cylinders": 5}, set(), set()),
        ]
    ],
    (BREAKER, {"earth_polarity": "positive"}, POSITIVE | {"trigger-earth-way"}, NEGATIVE),
    (ELECTRONIC, {"earth_polarity": "positive"}, POSITIVE | {"sensor-earth-way"}, NEGATIVE),
    (BREAKER, {"ballast": True}, BALLAST, {"no-ballast-needed"}),
    (BREAKER, {"cylinders": 6}, {"rotor-neighbour-ratio", "two-breakers"}, set()),
    (BREAKER, {"cylinders": 12}, {"rotor-neighbour-ratio", "two-breakers"}, set()),
    (ELECTRONIC, {"ballast": True}, BALLAST | {"trigger-supply-before-ballast"}, {"no-ballast-needed"}),
    (ELECTRONIC, {"cylinders": 8}, {"rotor-neighbour-ratio"}, set()),
    (ELECTRONIC, {"trigger": "optical"}, {"optical-signal", "optical-clean"}, {"hall-signal"}),
    (ELECTRONIC, {"trigger": "inductive"}, PICK_UP, SENSOR | {"hall-signal"}),
    (INSPECTION, {"earth_polarity": "positive"}, {"positive-earth-told"}, set()),
    (INSPECTION, {"system_volts": 6}, {"battery-6", "cranking-6", "charging-6"},
     {"battery-12", "cranking-12", "charging-12"}),
    (INSPECTION, {"ballast": True}, {"ballast-resistance", "bypass-found"}, set()),
    (BREAKER, {"ballast": True, "bypass": True}, BALLAST | {"ballast-by-pass"}, {"no-ballast-needed"}),
    (ELECTRONIC, {"ballast": True, "bypass": True}, BALLAST | {"ballast-by-pass", "trigger-supply-before-ballast"},
     {"no-ballast-needed"}),
    (INSPECTION, {"charging": "dynamo"}, {"charging-dynamo-12", "charging-dynamo-lights-12"}, {"charging-12"}),
    (INSPECTION, {"charging": "dynamo", "system_volts": 6},
     {"charging-dynamo-6", "charging-dynamo-lights-6", "battery-6", "cranking-6"},
     {"charging-12", "battery-12", "cranking-12"}),
    (CHECK, {"charging": "dynamo"}, {"charging-dynamo-12", "charging-dynamo-lights-12"}, {"charging-12"}),
    (CHECK, {"charging": "dynamo", "system_volts": 6},
     {"charging-dynamo-6", "charging-dynamo-lights-6", "battery-6"}, {"charging-12", "battery-12"}),
    (INSPECTION, {"tachometer": "coil current"}, {"tachometer-current-path"}, set()),
    (INSPECTION, {"tachometer": "coil voltage"}, {"tachometer-voltage-path"}, set()),
    (INSPECTION, {"trigger": "inductive"}, {"sensor-as-found"}, {"contacts", "dwell", "dwell-change"}),
    (CHECK, {"system_volts": 6}, {"battery-6", "charging-6"}, {"battery-12", "charging-12"}),
    (CHECK, {"ballast": True}, {"ballast-resistance"}, set()),
    (INSPECTION, {"cylinders": 1}, set(), {"cap", "lead-shortest", "rotor-tip"}),
    (INSPECTION, {"cylinders": 2}, {"twin-rotor"}, set()),
    (INSPECTION, {"cylinders": 2, "rotor": False}, {"twin-rotor"}, {"cap", "rotor-tip"}),
    (CHECK, {"cylinders": 2, "rotor": False}, set(), {"cap"}),
    (ELSEWHERE, {"cylinders": 2, "rotor": False}, set(), {"cap"}),
    (UNIT_AND_MAP, {"cylinders": 2, "rotor": False}, set(), ROTOR_SHORT),
    (UNIT_AND_MAP, {"earth_polarity": "positive"},
     {"positive-earth-way", "unit-case-isolated", "return-drop-positive", "trigger-earth-way"}, {"earth-drop"}),
    (UNIT_AND_MAP, {"earth_polarity": "positive", "trigger": "hall"},
     {"positive-earth-way", "unit-case-isolated", "return-drop-positive", "sensor-earth-way"},
     {"earth-drop", "breaker-off-coil"}),
    (UNIT_AND_MAP, {"system_volts": 6}, {"made-for-six-volts"}, set()),
    (UNIT_AND_MAP, {"ballast": True}, {"feed-before-ballast"}, set()),
    (UNIT_AND_MAP, {"trigger_place": "crank or camshaft"}, {"rotor-in-line-at"}, AT_EDGE),
    (UNIT_AND_MAP, {"cylinders": 2}, {"rotor-of-a-twin"}, OVERLAP),
    (UNIT_AND_MAP, {"cylinders": 1}, set(), ROTOR_SHORT),
    (REPLACED, {"earth_polarity": "positive"},
     {"positive-earth-way", "unit-case-isolated", "return-drop-positive"}, {"earth-drop"}),
    (ELSEWHERE, {"earth_polarity": "positive"}, {"positive-earth-way", "return-drop-positive"}, {"earth-drop"}),
    (ELSEWHERE, {"system_volts": 6}, {"battery-6"}, {"battery-12"}),
]  # fmt: skip


@pytest.mark.parametrize(("of", "facts", "more", "less"), DIFFERENCES)
def test_a_car_sees_the_items_that_are_for_it_and_no_others(of, facts, more, less):
    plain, this = set(keys(of)), set(keys(of, **facts))
    assert this - plain == more
    assert plain - this == less


def test_every_item_with_a_rule_is_seen_by_some_car_above():
    seen = {of: set() for of in LISTS}
    for of, facts, _, _ in [(of, {}, None, None) for of in LISTS] + DIFFERENCES:
        seen[of] |= set(keys(of, **facts))
    for of, listed in LISTS.items():
        assert {one.key for one in listed.items} == seen[of]


@pytest.mark.parametrize("of", LISTS)
def test_a_car_of_which_nothing_is_known_sees_every_item(of):
    unknown = dict.fromkeys(FACTS)
    assert all(applies(one.applies or {}, unknown).holds for one in LISTS[of].items)


@pytest.mark.parametrize("of", [of for of in LISTS if of not in SHORT])
def test_a_plain_car_still_has_forty_items_or_more(of):
    assert len(keys(of)) >= 40


@pytest.mark.parametrize(("of", "most"), [(UNIT_AND_MAP, 26), (REPLACED, 10), (ELSEWHERE, 15), (CHECK, 20)])
def test_the_short_lists_are_short_for_a_plain_car(of, most):
    assert len(keys(of)) <= most


@pytest.mark.parametrize("of", [UNIT_AND_MAP, REPLACED, ELSEWHERE])
def test_what_burns_or_shorts_is_a_hold_point_in_the_short_lists_too(of):
    holds = {one.key for one in LISTS[of].items if one.hold_point}
    assert {"post-to-body", "positive-earth-way", "fuel-leaks", "coil-off"} <= holds
