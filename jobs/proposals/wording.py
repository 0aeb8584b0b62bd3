"""How points and changes are said, on the page, in the journal and in the reason of a version."""

from collections.abc import Iterable, Sequence
from typing import Protocol

from garage.quantities.words import plain, pressure
from jobs.maps.forms import MOST_REASON
from jobs.proposals.models import MapPart


class PointOfMap(Protocol):
    """What a point is known by: a point of an open proposal, or one in the record."""

    @property
    def part(self) -> str: ...
    @property
    def rpm(self) -> float | None: ...
    @property
    def vacuum_kpa(self) -> float | None: ...


def point_in_words(point: PointOfMap, vacuum_unit: str) -> str:
    """'2500 rpm', 'vacuum part, 2000 rpm, 6 inHg', 'maximum vacuum advance'"""
    if point.part == MapPart.FULL_VACUUM:
        return str(MapPart.FULL_VACUUM.label)
    rpm = f"{plain(point.rpm or 0.0)} rpm"
    if point.part == MapPart.REVS:
        return rpm
    return f"vacuum part, {rpm}, {pressure(point.vacuum_kpa or 0.0, vacuum_unit)}"


def change_in_words(change_deg: float) -> str:
    """'2° less', '1° back', 'no change'"""
    if not change_deg:
        return "no change"
    return f"{plain(abs(change_deg))}° {'less' if change_deg < 0 else 'back'}"


def changes_in_words(changes: Iterable[tuple[PointOfMap, float]], vacuum_unit: str) -> str:
    """'2° less at 2500 and 3000 rpm; 1° less at maximum vacuum advance'"""
    by_change: dict[float, list[str]] = {}
    for point, change in changes:
        by_change.setdefault(change, []).append(point_in_words(point, vacuum_unit))
    return "; ".join(f"{change_in_words(change)} at {_joined(places)}" for change, places in by_change.items())


def reason_of(basis: str, changes: str) -> str:
    """The reason of the next version: what was noted, and what is done about it. The change is never cut off."""
    room = MOST_REASON - len(changes) - 2
    if room < 20:
        return changes[:MOST_REASON]
    said = basis if len(basis) <= room else f"{basis[: room - 1].rstrip()}…"
    return f"{said}: {changes}"


def _joined(places: Sequence[str]) -> str:
    short = [
        place.removesuffix(" rpm") if place[:1].isdigit() and at < len(places) - 1 else place
        for at, place in enumerate(places)
    ]
    return short[0] if len(short) == 1 else f"{', '.join(short[:-1])} and {short[-1]}"
