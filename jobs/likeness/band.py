"""What like cars went home with, as the bench lays it under a curve: kept a while, for a drag asks at every step."""

from dataclasses import dataclass
from hashlib import sha256

import numpy as np
from django.core.cache import cache

from garage.vehicles.models import Engine, Vehicle
from jobs.job.models import GateCrossing, Stage
from jobs.likeness.like import Likeness, likeness_of
from jobs.likeness.stayed import handed_over, last_of_each_car, proven_versions, stayed_maps
from timing.spread import FEWEST, advance_band

Quarters = tuple[float, float, float, float]

SPEEDS = np.arange(500.0, 7001.0, 250.0)
KEPT_S = 300  # at most so old, and never older than the last handover


@dataclass(frozen=True, slots=True)
class LikeCars:
    """How many cars like one went home with a proven map, and the band of their total advance, wide open."""

    count: int
    rows: tuple[Quarters, ...]


def like_count(vehicle: Vehicle) -> int:
    """How many other cars like `vehicle` went home with a proven map; 0 where fewer than three did."""
    like = _likeness(vehicle)
    if like is None:
        return 0
    key = _key("count", vehicle, like)
    count: int | None = cache.get(key)
    if count is None:
        count = len(proven_versions(last_of_each_car(handed_over(like, but=vehicle.pk))))
        cache.set(key, count, KEPT_S)
    return count if count >= FEWEST else 0


def like_cars(vehicle: Vehicle) -> LikeCars | None:
    """The band of the other cars like `vehicle`; None where fewer than three went home with a sound map."""
    like = _likeness(vehicle)
    if like is None:
        return None
    key = _key("band", vehicle, like)
    found: LikeCars | None = cache.get(key)
    if found is None:
        maps = [one.map for one in stayed_maps(handed_over(like, but=vehicle.pk)).maps]
        found = LikeCars(len(maps), tuple(advance_band(maps, rpm=SPEEDS).rows()))
        cache.set(key, found, KEPT_S)
    return found if found.rows else None


def _likeness(vehicle: Vehicle) -> Likeness | None:
    """What makes a car like this one; None where too little is known of its engine to say."""
    try:
        like = likeness_of(vehicle.engine)
    except Engine.DoesNotExist:
        return None
    return like if like.asks_for_an_engine else None


def _key(kind: str, vehicle: Vehicle, like: Likeness) -> str:
    """Another key after every handover, and for another engine."""
    last = GateCrossing.objects.filter(entered=Stage.AFTER_CARE).order_by("-at", "-pk").values_list("pk", "at").first()
    return f"like-{kind}-{sha256(repr((vehicle.pk, like, last)).encode()).hexdigest()}"
