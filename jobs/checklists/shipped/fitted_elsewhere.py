"""A car whose unit was fitted elsewhere: looked over before its settings are read back, proven and corrected."""

from jobs.checklists.models import SheetKind
from jobs.checklists.shipped.before_fitting import UNIT_AND_CAR
from jobs.checklists.shipped.first_start import SWITCHED_ON, running
from jobs.checklists.shipped.inspection_plugs_out import HIGH_TENSION
from jobs.checklists.shipped.inspection_standing import BATTERY
from jobs.checklists.shipped.locking import ADVANCE_LOCKED
from jobs.checklists.shipped.short import MARK_KNOWN, NO_LEAK
from jobs.checklists.shipped.sources import PRACTICE
from jobs.checklists.shipped.spec import Section, ShippedList, choice, photo, words
from jobs.checklists.shipped.wiring import ROUTING

WHO_FITTED_IT = words("who-fitted-it", "Who fitted the unit, and when", required=False)
ADVANCE_HELD = choice(
    "advance-held",
    "The distributor's own advance",
    ["locked", "none by design", "still works", "not looked at"],
    ["locked", "none by design"],
    hold_point=True,
    caution="Two advances add up: pinking, holed pistons.",
    source=PRACTICE,
)
FUSED = choice(
    "fused",
    "Fuse in the unit's feed",
    ["fitted, suits the wire", "none, or too large"],
    ["fitted, suits the wire"],
    hold_point=True,
    caution="A wire without a fuse turns a chafed loom into a fire. The local code and the licensed person decide.",
    source=PRACTICE,
)
ENTRIES_SHOWN = photo(
    "entries-shown",
    "The unit's entries as they came, every page of its screen",
    help="Before anything is changed: this is the way back.",
)

LIST = ShippedList(
    key="fitted-elsewhere",
    name="Unit fitted elsewhere",
    kind=SheetKind.INSPECTION,
    suits={"job_kind": ["settings"]},
    sections=(
        Section(
            "As it came",
            (
                WHO_FITTED_IT,
                NO_LEAK,
                *BATTERY.picked("post-to-body", "battery-12", "battery-6"),
                *UNIT_AND_CAR.picked("positive-earth-way"),
                ENTRIES_SHOWN,
                MARK_KNOWN,
                ADVANCE_HELD,
                *ADVANCE_LOCKED.picked("advance-free-play"),
                *HIGH_TENSION.picked("cap"),
                FUSED,
                *ROUTING.picked("clearance"),
                *SWITCHED_ON.picked("coil-off"),
                *running().picked("feed-drop", "earth-drop", "return-drop-positive"),
            ),
        ),
    ),
)
