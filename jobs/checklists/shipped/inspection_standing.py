"""The inspection with the engine standing: papers, battery, coil, distributor, plugs, high-tension parts."""

from jobs.checklists.models import Correction
from jobs.checklists.shipped.cautions import DEAD_BEFORE_TOUCHING, FUEL_VAPOUR, SHORT_AT_THE_BATTERY, TURNED_BY_HAND
from jobs.checklists.shipped.sources import CAR, CAR_OR_RECORDED, COPPER, LAW, PRACTICE
from jobs.checklists.shipped.spec import Section, choice, measure, photo, tick, words

ARRIVAL = Section(
    "Arrival",
    (
        words(
            "owner-says",
            "What the owner says: faults, fuel used, what was done to the engine",
            help="In the owner's own words. Fuel decides how much advance the engine bears.",
        ),
        tick(
            "owner-told",
            "Owner told that law and insurance may want to know of a changed ignition",
            help="Type approval, emission and historic-vehicle rules differ from place to place.",
            caution="A changed ignition may be forbidden, or void the insurance. Local law and the insurer decide.",
            source=LAW,
        ),
        photo(
            "engine-bay",
            "Engine bay as found",
            help="From the front and from the distributor's side. It settles later what was there before.",
        ),
        choice(
            "leaks",
            "Fuel, oil and water",
            ["dry", "oil or water weeps", "fuel leaks"],
            ["dry", "oil or water weeps"],
            help="A fuel leak is mended before a key is turned.",
            caution=FUEL_VAPOUR,
            source=PRACTICE,
        ),
        choice(
            "wiring-as-found",
            "Wiring of the ignition as found",
            ["sound", "mended but safe", "bare or brittle"],
            ["sound", "mended but safe"],
            help="Bend it: old rubber and cloth break where nobody looks.",
            source=PRACTICE,
        ),
        words(
            "ignition-changed",
            "What is not original: coil, module, distributor, carburettor, camshaft",
            help="A curve from a book fits only the engine in the book. Nothing changed: write 'as made'.",
        ),
        choice(
            "old-materials",
            "Gaskets, linings and paint that may hold asbestos or lead: to be worked on",
            ["left alone", "by local rules"],
            caution="Asbestos in old gaskets, clutches and brake dust, lead in old paint. Do not blow, sand or scrape "
            "dry: local rules say how.",
            source=LAW,
        ),
    ),
)

BATTERY = Section(
    "Battery and earth",
    (
        choice(
            "post-to-body",
            "Battery post that goes to the body, measured",
            ["negative", "positive"],
            hold_point=True,
            help="Meter from each post to bare metal of the body: the post that reads nothing is the earthed one. "
            "Cable colours and stickers have been wrong before. If it is not what the card says, correct the record.",
            caution=SHORT_AT_THE_BATTERY,
            source=PRACTICE,
        ),
        tick(
            "positive-earth-told",
            "Positive earth: owner asked whether the car may be changed, radio and clock noted",
            applies={"earth_polarity": ["positive"]},
            help="Most units want negative earth. What depends on it: dynamo, radio, clock, tachometer, coil leads.",
            caution="Here the positive lead comes off first and goes on last: read the posts, not the habit.",
            source=PRACTICE,
        ),
        measure(
            "battery-12",
            "Battery at rest, off charge an hour or more",
            "V",
            12.4,
            12.8,
            decimals=2,
            hold_point=True,
            applies={"system_volts": [12]},
            help="Higher has just been charged: lamps on for a minute, then read. Lower: charge it and come back, a "
            "tired battery spoils every other figure. Not known whether 6 or 12 V: fill in the car first.",
            source=PRACTICE,
        ),
        measure(
            "battery-6",
            "Battery at rest, off charge an hour or more",
            "V",
            6.2,
            6.4,
            decimals=2,
            hold_point=True,
            applies={"system_volts": [6]},
            help="Lower: charge it and come back. Not known whether 6 or 12 V: fill in the car first.",
            source=PRACTICE,
        ),
        tick(
            "posts-clean",
            "Posts and clamps clean and tight, battery held down, vents open",
            caution="A loose clamp sparks, and the gas over the cells explodes. Acid burns eyes: glasses on.",
            source=PRACTICE,
        ),
        tick(
            "earth-straps",
            "Earth straps battery to body and body to engine: whole, bright, tight",
            source=PRACTICE,
        ),
    ),
)

COIL = Section(
    "Coil, ballast and tachometer",
    (
        words("coil-type", "Coil: what is printed on it", help="Also whether it wants an outside resistor."),
        measure(
            "coil-primary",
            "Coil primary, as the meter shows it, and the coil's temperature",
            "ohm",
            None,
            None,
            decimals=2,
            correction=Correction.COPPER,
            help="One wire off, the meter's leads taken off. A coil that stood overnight is as warm as the shop. What "
            "it is at 20 °C is worked out here.",
            caution=DEAD_BEFORE_TOUCHING,
            source=COPPER,
        ),
        choice(
            "coil-primary-data",
            "Coil primary against its data",
            ["within 10 %", "further off", "no data"],
            ["within 10 %", "no data"],
            source=PRACTICE,
        ),
        measure(
            "ballast-resistance",
            "Ballast, cold, as measured",
            "ohm",
            None,
            None,
            decimals=2,
            applies={"ballast": [True]},
            help="Within 10 % of its data. It is not copper: do not correct for temperature. A resistance wire in the "
            "loom is measured end to end.",
            caution="The ballast burns fingers after minutes with the key on.",
            source="its data ±10 %; common practice, no source",
        ),
        tick(
            "ballast-looked-for",
            "No ballast: block and resistance wire both looked for and not found",
            applies={"ballast": [False]},
            help="Key on, points closed or terminal 1 to earth for a moment: the coil's feed stays near the "
            "battery's voltage.",
            source=PRACTICE,
        ),
        tick(
            "tachometer-current-path",
            "Tachometer driven by coil current: its loop found and its colours noted",
            applies={"tachometer": ["coil current"]},
            help="The coil's feed goes through the instrument or a loop at its back, often white with slate.",
            source="wire colour from memory; the meter decides",
        ),
        tick(
            "tachometer-voltage-path",
            "Tachometer driven by coil voltage: its wire at terminal 1 found",
            applies={"tachometer": ["coil voltage"]},
            source="terminal numbers by DIN 72552",
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
            "rotor-direction",
            "Rotor turns, seen from the cap",
            ["clockwise", "anticlockwise"],
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

PLUGS_OUT = Section(
    "Plugs out, turned by hand",
    (
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
        tick(
            "mark-proven",
            "Timing mark proven with the piston stop, and recorded",
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
        measure(
            "lead-highest",
            "Lead with the highest resistance",
            "kohm",
            None,
            None,
            help="Measure each from end to end and bend it while reading.",
            caution=DEAD_BEFORE_TOUCHING,
            source=CAR_OR_RECORDED,
        ),
        measure(
            "lead-spread",
            "Lead resistance: spread, of the highest",
            "%",
            None,
            20,
            decimals=0,
            hold_point=True,
            applies={"cylinders": [2, 3, 4, 5, 6, 8, 12]},
            help="Compare by length: a lead twice as long reads twice as much. New ones will be fitted anyway: enter "
            "what was found, and the new ones by an entry that corrects it.",
            source=PRACTICE,
        ),
        choice(
            "cap",
            "Cap inside, brush and rotor arm",
            ["sound", "renewed", "none fitted", "tracked or cracked"],
            ["sound", "renewed", "none fitted"],
            hold_point=True,
            applies={"cylinders": [2, 3, 4, 5, 6, 8, 12]},
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
            applies={"cylinders": [2, 3, 4, 5, 6, 8, 12]},
            help="With its radius and the cap terminal's width it says how wide the advance range may be. Put "
            "all three on the car's card.",
            source="measured; for the rotor's phasing",
        ),
    ),
)
