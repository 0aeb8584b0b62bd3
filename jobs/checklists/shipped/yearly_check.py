"""A car that comes back for its check: what the handbook asks once a year, with the read-back and the strobe to follow.

The handbook, section 11, row 32: battery, charging, coil and ballast, leads; base timing and read-back have their own
pages. Row 31 adds the clamp, the joints and the wiring.
"""

from jobs.checklists.models import SheetKind
from jobs.checklists.shipped.cautions import DEAD_BEFORE_TOUCHING, FUEL_VAPOUR, RUNNING
from jobs.checklists.shipped.inspection import ENGINE_RUNS
from jobs.checklists.shipped.inspection_plugs_out import HIGH_TENSION
from jobs.checklists.shipped.inspection_standing import BATTERY, COIL
from jobs.checklists.shipped.sources import PRACTICE
from jobs.checklists.shipped.spec import Section, ShippedList, choice, measure, words

AT_REST = {"battery-12", "battery-6", "posts-clean", "earth-straps", "charging-kind"}
COIL_AGAIN = {"coil-primary", "ballast-resistance"}
CHARGING = {f"charging-{kind}{volts}" for volts in (12, 6) for kind in ("", "dynamo-", "dynamo-lights-")}


LIST = ShippedList(
    key="yearly-check",
    name="Check of a converted car",
    kind=SheetKind.INSPECTION,
    suits={"job_kind": ["check"]},
    sections=(
        Section(
            "Since last time",
            (
                words("since-last", "What the owner has noticed", required=False),
                choice(
                    "fuel-leaks-again",
                    "Fuel pipes, carburettor and tank: weeping or leaking",
                    ["dry", "weeping or leaking"],
                    ["dry"],
                    hold_point=True,
                    caution=FUEL_VAPOUR,
                    source=PRACTICE,
                ),
                choice(
                    "clamp-mark-again",
                    "Paint mark across distributor and block",
                    ["in line", "moved"],
                    ["in line"],
                    help="Moved: the base timing is not what was proven. Clamp, and prove it with the strobe.",
                    source=PRACTICE,
                ),
                choice(
                    "wiring-again",
                    "Unit, wiring, fuse holder and vacuum pipe",
                    ["sound", "chafed, loose or brittle"],
                    ["sound"],
                    help="Pull each joint gently; bend the pipe's ends.",
                    caution=DEAD_BEFORE_TOUCHING,
                    source=PRACTICE,
                ),
            ),
        ),
        Section("Battery and earth", BATTERY.picked(*AT_REST)),
        Section("Coil and ballast", COIL.picked(*COIL_AGAIN)),
        Section("High-tension parts", HIGH_TENSION.picked("leads-open", "lead-longest", "cap")),
        Section(
            "Engine runs",
            (
                *ENGINE_RUNS.picked(*CHARGING),
                measure(
                    "unit-earth-drop",
                    "Drop from the unit's earth to the engine block, running",
                    "V",
                    None,
                    0.1,
                    decimals=2,
                    caution=RUNNING,
                    source=PRACTICE,
                ),
            ),
        ),
    ),
)
