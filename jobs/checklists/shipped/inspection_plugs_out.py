"""The inspection with the plugs out: plugs, high-tension parts, and the distributor turned by hand."""

from jobs.checklists.models import Correction
from jobs.checklists.rotor_items import ANY_ROTOR, NO_ROTOR
from jobs.checklists.shipped.cautions import DEAD_BEFORE_TOUCHING, FUEL_VAPOUR, TURNED_BY_HAND
from jobs.checklists.shipped.sources import CAR, CAR_OR_RECORDED, LEAD, PRACTICE
from jobs.checklists.shipped.spec import Section, choice, measure, photo, reading, tick, words

PLUGS_OUT = Section(
    "Plugs out, turned by hand",
    (
        tick(
            "plugs-out",
            "All plugs out, leads numbered, ignition dead",
            help="Everything that is turned by hand comes after this.",
            caution=DEAD_BEFORE_TOUCHING + " " + FUEL_VAPOUR,
            source=PRACTICE,
        ),
        choice(
            "cylinders-counted",
            "Cylinders, counted",
            ["1", "2", "3", "4", "5", "6", "8", "12"],
            car_fact="cylinders",
            source=PRACTICE,
        ),
        words("plug-type", "Plugs found: type", source=CAR),
        measure(
            "plug-gap",
            "Plug gap, the widest found",
            "mm",
            None,
            None,
            decimals=2,
            help="Data ±0.05 mm. A wide gap asks the old coil for more than it has.",
            source="the car's data ±0.05 mm; common practice, no source",
        ),
        choice(
            "plug-colour",
            "Plug faces",
            ["even, tan to grey", "sooty", "oily", "white or blistered", "one unlike the others"],
            ["even, tan to grey"],
            help="Lay them out in order. White or blistered: weak mixture or too much advance, look before more heat.",
            source=PRACTICE,
        ),
        photo("plugs-in-order", "Plugs laid out in order", required=False),
        choice(
            "valve-clearance",
            "Valve clearance against the data",
            ["within", "set now", "out", "not adjustable"],
            ["within", "set now", "not adjustable"],
            help="Hot or cold as the data say. A tight valve burns, and no map mends it.",
            source=CAR,
        ),
        reading(
            "mark-proven",
            "Timing mark proven with the piston stop, and recorded",
            "timing-mark",
            hold_point=True,
            help="The inspection page has the form. Within 1° of the stop, else a new mark first. Every strobe "
            "reading after this leans on it.",
            caution="By hand, plugs out, never with the starter: the stop goes through the piston. " + TURNED_BY_HAND,
            source=PRACTICE,
        ),
        tick(
            "damper",
            "Pulley and damper ring: no slip, no cracks, pointer not bent",
            help="A paint line across hub and ring shows the next person whether it has moved.",
            source=PRACTICE,
        ),
    ),
)

HIGH_TENSION = Section(
    "High-tension parts",
    (
        choice(
            "leads-open",
            "Every plug and coil lead, end to end, bent while reading",
            ["none open", "one or more open"],
            ["none open"],
            hold_point=True,
            caution=DEAD_BEFORE_TOUCHING,
            source=PRACTICE,
        ),
        measure(
            "lead-longest",
            "Longest plug lead, end to end, and its length",
            "kohm",
            None,
            None,
            correction=Correction.PER_METRE,
            help="Worked out per metre here. The lead's own data decide. Usual, from memory: 5 to 20 kohm per metre.",
            source=LEAD,
        ),
        measure(
            "lead-shortest",
            "Shortest plug lead, end to end, and its length",
            "kohm",
            None,
            None,
            correction=Correction.PER_METRE,
            applies={"cylinders": [2, 3, 4, 5, 6, 8, 12]},
            help="Per metre it should read as the longest: leads differ in length, not in kind.",
            source=LEAD,
        ),
        choice(
            "twin-rotor",
            "Twin: what shares out the sparks",
            ["rotor and cap", NO_ROTOR],
            car_fact="rotor",
            applies={"cylinders": [2]},
            help="No rotor: one coil feeds both plugs, which fire together on every turn.",
            source=PRACTICE,
        ),
        choice(
            "cap",
            "Cap inside, brush and rotor arm",
            ["sound", "renewed", "none fitted", "tracked or cracked"],
            ["sound", "renewed", "none fitted"],
            hold_point=True,
            applies=ANY_ROTOR,
            help="A carbon track is a thin grey line between posts. The engine is not run with one: the sweep would "
            "show the tracking, not the advance.",
            caution="A tracked cap lets high voltage out to whoever leans over it.",
            source=PRACTICE,
        ),
        measure(
            "rotor-tip",
            "Width of the rotor's tip",
            "mm",
            None,
            None,
            required=False,
            applies=ANY_ROTOR,
            help="With its radius and the cap terminal's width it says how wide the advance range may be. Put "
            "all three on the car's card.",
            source="measured; for the rotor's phasing",
        ),
    ),
)

DISTRIBUTOR = Section(
    "Distributor",
    (
        words(
            "distributor-number",
            "Number and date stamped on the distributor",
            help="It leads to the factory's advance data. A body may have been changed: the number tells.",
        ),
        choice(
            "trigger-found",
            "What triggers the ignition now",
            ["points", "Hall", "optical", "inductive"],
            car_fact="trigger",
            help="Three wires and a slotted drum: Hall or optical. Two wires and a toothed wheel: inductive.",
            source=PRACTICE,
        ),
        choice(
            "rotor-direction",
            "Rotor or cam turns, seen from the cap",
            ["clockwise", "anticlockwise"],
            car_fact="rotation",
            help="Turn the crank the way it runs. Read it from the engine, not from a book.",
            caution=TURNED_BY_HAND,
            source=PRACTICE,
        ),
        measure(
            "side-play",
            "Side play of the distributor shaft at the cam",
            "mm",
            None,
            0.1,
            decimals=2,
            help="Dial gauge against the cam, push and pull across. More wants new bushes: put it to the owner.",
            source=PRACTICE,
        ),
        measure(
            "end-float",
            "End float of the distributor shaft",
            "mm",
            None,
            None,
            decimals=2,
            help="By the maker's data.",
            source=CAR_OR_RECORDED,
        ),
        choice(
            "weights",
            "Advance springs return",
            ["springs back", "sticky", "seized", "no weights"],
            ["springs back", "no weights"],
            help="Says early what the sweep will show: seized weights give a short curve, tired springs an early one.",
            source=PRACTICE,
        ),
        choice(
            "contacts",
            "Points and heel",
            ["renewed", "clean and flat", "pitted or worn"],
            ["renewed", "clean and flat"],
            applies={"trigger": ["contact breaker"]},
            source=PRACTICE,
        ),
        choice(
            "sensor-as-found",
            "Electronic trigger and its leads",
            ["sound", "brittle or rubbing"],
            ["sound"],
            applies={"trigger": ["hall", "optical", "inductive"]},
            source=PRACTICE,
        ),
        measure(
            "capsule-leak",
            "Capsule: vacuum lost in 30 s from 50 kPa",
            "kPa",
            None,
            5,
            required=False,
            quantity="vacuum",
            help="Hand pump, 50 kPa (15 inHg). Needed where the capsule or its pipe is kept, or its curve copied.",
            source=PRACTICE,
        ),
    ),
)
