"""A unit that failed is replaced by one of the same type: few minutes, and still nothing that burns or shorts."""

from jobs.checklists.models import SheetKind
from jobs.checklists.shipped.before_fitting import MADE_DEAD, UNIT_AND_CAR
from jobs.checklists.shipped.first_start import SWITCHED_ON, running
from jobs.checklists.shipped.short import NO_LEAK
from jobs.checklists.shipped.sources import PRACTICE, UNIT
from jobs.checklists.shipped.spec import Section, ShippedList, choice
from jobs.checklists.shipped.wiring import FEED_AND_EARTH

WHY_IT_FAILED = choice(
    "why-it-failed",
    "What ended the old unit",
    ["found and mended", "wear or age", "not found"],
    help="Coil left on, feed too high, water, a loose earth: what is not mended ends the next one as well.",
    source=PRACTICE,
)
PLUGGED_IN = choice(
    "plugged-in",
    "New unit's plug and terminals against its own diagram",
    ["the same", "different, wired to suit", "not clear"],
    ["the same", "different, wired to suit"],
    hold_point=True,
    caution="A feed on the wrong pin ends the new unit at once.",
    source=UNIT,
)

LIST = ShippedList(
    key="unit-replaced",
    name="Fitting, unit replaced",
    kind=SheetKind.FITTING,
    suits={"job_kind": ["unit replaced"]},
    sections=(
        Section(
            "Replaced",
            (
                *UNIT_AND_CAR.picked("unit-matches-card", "post-to-body", "positive-earth-way"),
                NO_LEAK,
                WHY_IT_FAILED,
                *MADE_DEAD.picked("battery-isolated"),
                PLUGGED_IN,
                *FEED_AND_EARTH.picked("unit-case-isolated"),
                *SWITCHED_ON.picked("coil-off", "unit-keeps-settings"),
                *running().picked("earth-drop", "return-drop-positive"),
            ),
        ),
    ),
)
