"""Fitting a programmable unit to a car whose contact breaker stays on as the trigger."""

from jobs.checklists.models import Correction, SheetKind
from jobs.checklists.shipped.before_fitting import AS_IT_WAS, MADE_DEAD, UNIT_AND_CAR
from jobs.checklists.shipped.cautions import DEAD_BEFORE_TOUCHING, TURNED_BY_HAND
from jobs.checklists.shipped.first_start import LEFT_FOR_THE_STROBE, SPARKS, SWITCHED_ON, running
from jobs.checklists.shipped.locking import ADVANCE_LOCKED, BACK_IN, OUT_AND_LOOKED_OVER, ROTOR
from jobs.checklists.shipped.sources import PRACTICE, UNIT
from jobs.checklists.shipped.spec import Section, ShippedList, choice, measure, tick
from jobs.checklists.shipped.wiring import COIL, FEED_AND_EARTH, LEADS_AND_PLUGS, ROUTING, VACUUM

BREAKER = Section(
    "Points as trigger",
    (
        choice(
            "contacts",
            "Points and heel",
            ["renewed", "clean and flat", "pitted or worn"],
            ["renewed", "clean and flat"],
            help="They switch next to nothing now, so oil and dust are no longer burnt off. Wipe with card and "
            "solvent.",
            source=PRACTICE,
            inspection_key="contacts",
        ),
        tick("cam-greased", "Cam felt or heel greased, a smear", source=PRACTICE),
        measure(
            "dwell-set",
            "Dwell set",
            "distributor °",
            None,
            None,
            help="Set by feeler, read with a meter and degree marks or on the bench. To the car's data within 3 "
            "degrees. The unit makes the coil's dwell itself; this one only fixes where the points open.",
            source="the car's data ±3 distributor °; common practice, no source",
        ),
        choice(
            "two-breakers",
            "Two sets of points: how far apart they open",
            ["one only", "in step", "not in step"],
            ["one only", "in step"],
            applies={"cylinders": [6, 8, 12]},
            help="Two sets that share the work must open at equal distances, or every other cylinder fires wrong. "
            "Check with lamp and degree marks.",
            source=PRACTICE,
        ),
        tick(
            "condenser",
            "Condenser removed or kept, as the unit's data ask",
            help="Across the points it slows the edge the unit waits for.",
            source=UNIT,
        ),
        tick(
            "breaker-off-coil",
            "Coil wire off the points: only the unit's trigger wire goes there",
            help="Open points read open from terminal to body. Left together, the coil's kick of some hundreds "
            "of volts goes into the unit's input.",
            caution=DEAD_BEFORE_TOUCHING,
            source=UNIT,
        ),
        measure(
            "breaker-closed",
            "Resistance across the closed points, less the meter leads",
            "ohm",
            None,
            None,
            decimals=2,
            help="As good as nothing. A figure that wanders while the shaft turns is dirt or a loose rivet.",
            source=UNIT,
        ),
        tick(
            "trigger-wire",
            "Trigger wire away from the plug leads; a screen earthed at one end only",
            source=UNIT,
        ),
        choice(
            "trigger-earth-way",
            "Points on positive earth: how the unit reads them",
            ["made for it", "isolating stage", "car changed over", "not solved"],
            ["made for it", "isolating stage", "car changed over"],
            hold_point=True,
            applies={"earth_polarity": ["positive"]},
            help="The points close to the body, which is the positive side here. A unit for negative earth sees "
            "its trigger upside down, or not at all.",
            caution="A trigger input tied to the wrong side of the battery is dead at once.",
            source=UNIT,
        ),
        measure(
            "trigger-edge",
            "Crank angle at which the points open, static, cylinder 1",
            "° BTDC",
            None,
            None,
            help="Meter, or a lamp with its own battery, across the points; turn the crank the way it runs. Note "
            "it: the unit counts from here.",
            caution=TURNED_BY_HAND,
            source=UNIT,
        ),
        choice(
            "trigger-before-spark",
            "Highest advance planned, against the angle where the points open",
            ["after it", "timed from the one before", "before it"],
            ["after it", "timed from the one before"],
            help="A unit can only wait. A spark wanted before its trigger must be timed from the one before.",
            source=UNIT,
        ),
    ),
)

RUNNING = running(
    measure(
        "plate-earth-drop",
        "Drop from the points plate to the block, running",
        "V",
        None,
        0.1,
        decimals=2,
        help="The plate's own earth is a joint like any other.",
        source=PRACTICE,
    ),
    measure(
        "dwell-change",
        "Dwell at 2000 rpm, and at idle",
        "distributor °",
        -3,
        3,
        correction=Correction.FROM_IDLE,
        inspection_key="dwell-change",
        help="The change is worked out here. More means a worn shaft or a plate that still moves: the trigger "
        "wanders with speed.",
        source=PRACTICE,
    ),
)

LIST = ShippedList(
    key="contact-breaker",
    name="Fitting, points as trigger",
    kind=SheetKind.FITTING,
    suits={"trigger": ["contact breaker"]},
    sections=(
        UNIT_AND_CAR,
        AS_IT_WAS,
        MADE_DEAD,
        OUT_AND_LOOKED_OVER,
        ADVANCE_LOCKED,
        BACK_IN,
        BREAKER,
        ROTOR,
        FEED_AND_EARTH,
        COIL,
        LEADS_AND_PLUGS,
        VACUUM,
        ROUTING,
        SWITCHED_ON,
        SPARKS,
        RUNNING,
        LEFT_FOR_THE_STROBE,
    ),
)
