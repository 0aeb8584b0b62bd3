"""Unit and map for a car whose distributor is sound: what hurts people or engines, and what the map needs to know.

Nothing is inspected at length: who books this kind of job has the engine's state from elsewhere.
"""

from jobs.checklists.models import SheetKind
from jobs.checklists.shipped.before_fitting import AS_IT_WAS, MADE_DEAD, UNIT_AND_CAR
from jobs.checklists.shipped.contact_breaker import BREAKER
from jobs.checklists.shipped.first_start import LEFT_FOR_THE_STROBE, SPARKS, SWITCHED_ON, running
from jobs.checklists.shipped.locking import ADVANCE_LOCKED, ROTOR
from jobs.checklists.shipped.short import MARK_KNOWN, NO_LEAK, TRIGGER_ON_POSITIVE_EARTH, of_trigger
from jobs.checklists.shipped.spec import Section, ShippedList
from jobs.checklists.shipped.wiring import FEED_AND_EARTH, ROUTING

LIST = ShippedList(
    key="unit-and-map",
    name="Fitting, unit and map",
    kind=SheetKind.FITTING,
    suits={"job_kind": ["unit and map"]},
    sections=(
        Section(
            "Car",
            (
                *UNIT_AND_CAR.picked("post-to-body", "positive-earth-way", "made-for-six-volts"),
                *AS_IT_WAS.picked("firing-order"),
                NO_LEAK,
                MARK_KNOWN,
                *MADE_DEAD.picked("battery-isolated"),
            ),
        ),
        Section(
            "Distributor",
            (
                *ADVANCE_LOCKED.picked("advance-free-play"),
                *of_trigger(BREAKER.picked("breaker-off-coil"), "contact breaker"),
                *TRIGGER_ON_POSITIVE_EARTH,
                *ROTOR.picked(
                    "advance-range",
                    "edge-told",
                    "tip-at-edge",
                    "rotor-in-line-at",
                    "rotor-overlap-highest",
                    "rotor-overlap-lowest",
                    "rotor-of-a-twin",
                    "cap",
                ),
            ),
        ),
        Section(
            "Wiring",
            (
                *FEED_AND_EARTH.picked("unit-case-isolated", "feed-before-ballast", "fuse"),
                *ROUTING.picked("clearance", "strain-relieved", "wiring-second-look"),
            ),
        ),
        Section(
            "Switched on",
            (
                *SWITCHED_ON.picked("coil-off", "unit-keeps-settings"),
                *SPARKS.picked("spark-every-cylinder"),
                *running().picked("feed-drop", "joint-drop", "earth-drop", "return-drop-positive"),
                *LEFT_FOR_THE_STROBE.picked("get-home-kit", "base-timing-proven", "clamp-proven"),
            ),
        ),
    ),
)
