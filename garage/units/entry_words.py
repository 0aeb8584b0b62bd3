"""What the trade calls the entries of a unit, whatever the unit calls them."""

from timing.unit import EntryKey

ENTRY_LABELS: dict[EntryKey, str] = {
    "base": "Base timing",
    "node_rpm": "Speed of a point",
    "node": "Degrees of a point",
    "vacuum_start": "Vacuum start",
    "vacuum_full": "Vacuum full",
    "vacuum_degrees": "Vacuum advance",
    "vacuum_from_rpm": "Vacuum acts above",
    "vacuum_cell": "Cell of the vacuum table",
    "boost_start": "Boost start",
    "boost_full": "Boost full",
    "boost_degrees": "Boost retard",
    "boost_node": "Retard at a boost",
    "dwell": "Dwell",
    "rev_limit": "Rev limit",
    "rev_limit_manner": "Limiter: soft or hard",
    "repeated_sparks": "Repeated sparks",
}
CHOICE_LABELS = {"soft": "shown for soft", "hard": "shown for hard", "on": "shown for on", "off": "shown for off"}

# Of several entries, what each is by its place.
_OF_SEVERAL: dict[EntryKey, str] = {
    "node_rpm": "Speed of point {place}",
    "node": "Advance at {place} rpm",
    "vacuum_cell": "Vacuum advance at {place}",
    "boost_node": "Retard at {place}",
}


def meaning(key: EntryKey, place: str) -> str:
    """What an entry is, in the trade's words: 'Base timing', 'Advance at 2400 rpm'."""
    return _OF_SEVERAL[key].format(place=place) if place and key in _OF_SEVERAL else ENTRY_LABELS[key]
