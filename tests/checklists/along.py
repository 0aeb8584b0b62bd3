"""The check-lists that come along, to be asked for an item or for what a car sees of them."""

from jobs.checklists.applies import applies
from jobs.checklists.shipped import shipped_lists

LISTS = {one.key: one for one in shipped_lists()}
BREAKER, ELECTRONIC, INSPECTION = "contact-breaker", "electronic-trigger", "inspection-on-arrival"
CHECK = "yearly-check"
FITTING = [BREAKER, ELECTRONIC]
UNIT_AND_MAP, REPLACED, ELSEWHERE = "unit-and-map", "unit-replaced", "fitted-elsewhere"
SHORT = [CHECK, UNIT_AND_MAP, REPLACED, ELSEWHERE]

# A plain car: four cylinders, negative earth, 12 V, nothing unusual.
PLAIN = {
    "earth_polarity": "negative",
    "system_volts": 12,
    "trigger": "contact breaker",
    "trigger_place": "distributor",
    "rotor": True,
    "ballast": False,
    "bypass": False,
    "charging": "alternator",
    "tachometer": "mechanical",
    "cylinders": 4,
    "unit_vacuum": "table",
}


def keys(of, **facts):
    """The items of the list `of` that apply to the plain car, but for `facts`, in order."""
    usual = PLAIN | ({"trigger": "hall"} if of == ELECTRONIC else {})
    return [item.key for item in LISTS[of].items if applies(item.applies or {}, usual | facts).holds]


def item(of, key):
    return next(item for item in LISTS[of].items if item.key == key)


def limited(of):
    return [item for item in LISTS[of].items if item.low is not None or item.high is not None]
