"""The unit's wiring, made with the battery off: mounting, feed, earth, fuse, coil, ballast and tachometer."""

from jobs.checklists.models import Correction
from jobs.checklists.shipped.cautions import DEAD_BEFORE_TOUCHING
from jobs.checklists.shipped.sources import COPPER, LEAD, PRACTICE, TERMINALS, UNIT, UNIT_AND_COIL, WIRE_MAKER
from jobs.checklists.shipped.spec import Section, choice, measure, photo, tick, words

FEED_AND_EARTH = Section(
    "Feed, earth and fuse",
    (
        tick(
            "unit-place",
            "Unit dry and cool, off engine and coil, its screen and buttons in reach",
            source=UNIT,
        ),
        choice(
            "unit-case-isolated",
            "Path from the unit, its case and its screws to the body, measured",
            [
                "no path",
                "made for it",
                "car changed over",
                "path found",
            ],
            ["no path", "made for it", "car changed over"],
            hold_point=True,
            applies={"earth_polarity": ["positive"]},
            help="Meter on ohm from case and screws to bare body, and from the unit's negative lead to the body: "
            "open. A unit made for positive earth: as its data ask.",
            caution="On a positive-earth car a case that touches the body shorts the battery through the unit.",
            source=UNIT,
        ),
        tick(
            "unit-earth",
            "Unit's earth lead goes straight to the block, bright metal, star washer",
            applies={"earth_polarity": ["negative"]},
            help="Not to a painted wing, not shared with lamps or the horn.",
            source=PRACTICE,
        ),
        tick(
            "unit-return-positive",
            "Unit's own return taken to the battery post as its data ask",
            applies={"earth_polarity": ["positive"]},
            help="On a positive-earth car the body is the positive side. Draw the circuit on paper and show it to "
            "someone else before a wire is cut.",
            source=UNIT,
        ),
        tick(
            "engine-strap",
            "Earth strap from engine to body and battery clean, tight and whole",
            help="The starter's whole current goes this way; what it loses, unit and coil lose too.",
            source=PRACTICE,
        ),
        tick(
            "feed-switched",
            "Feed taken from the switched side (terminal 15), alive while cranking",
            help="Some switches drop this side while the starter turns. Proven later, with the meter, while cranking.",
            source=TERMINALS,
        ),
        tick(
            "feed-before-ballast",
            "Unit's own feed taken before the ballast, not after it",
            applies={"ballast": [True]},
            help="After the ballast (15a) the voltage falls each time the coil charges, and the unit resets.",
            source=TERMINALS,
        ),
        words(
            "wires",
            "New wires: cross-section, kind and colours",
            help="Cross-section by the wire maker's data for current, length there and back, and heat. Black for "
            "earth, white for the switched feed, white with black for the coil's switched side are what the next "
            "person expects.",
            caution="Too thin a wire gets hot in the loom. The local code and the licensed person decide.",
            source=WIRE_MAKER,
        ),
        words(
            "fuse",
            "Fuse fitted: rating and where it sits",
            help="It protects the wire, so it sits as near the battery or the switch as can be, and its rating "
            "follows the wire. Feeds of that age are often not fused at all.",
            caution="A wire without a fuse turns a chafed loom into a fire. The local code and the licensed person "
            "decide rating and place.",
            source=WIRE_MAKER,
        ),
    ),
)

COIL = Section(
    "Coil, ballast and tachometer",
    (
        words("coil-type", "Coil fitted now: what is printed on it", inspection_key="coil-type", source=UNIT_AND_COIL),
        measure(
            "coil-primary",
            "Coil primary, as the meter shows it, and the coil's temperature",
            "ohm",
            None,
            None,
            decimals=2,
            correction=Correction.COPPER,
            car_fact="coil_ohm",
            inspection_key="coil-primary",
            help="Take off what the meter's leads read by themselves. What it is at 20 °C is worked out here: within "
            "10 % of its data.",
            caution=DEAD_BEFORE_TOUCHING,
            source=f"car's record ±10 %: {PRACTICE}; {COPPER}",
        ),
        tick(
            "coil-suits-unit",
            "Coil's resistance is one that the unit allows, ballast counted",
            help="Too low and the unit's output burns, too high and the spark is weak at speed.",
            source=UNIT_AND_COIL,
        ),
        choice(
            "coil-wired",
            "Coil's low-voltage leads by their terminals",
            ["+ (15) feed, − (1) unit", "changed over", "not clear"],
            ["+ (15) feed, − (1) unit"],
            applies={"earth_polarity": ["negative"]},
            help="With negative earth terminal 1 is the negative side and goes to the unit. Wired so, the plug's "
            "centre electrode is negative and the spark needs less voltage.",
            source=TERMINALS,
        ),
        choice(
            "coil-wired-positive",
            "Positive earth: coil terminal that lies towards the body",
            ["+ towards the body", "− towards the body", "not clear"],
            ["+ towards the body"],
            applies={"earth_polarity": ["positive"]},
            help="Direct, or through the unit. The body is the battery's positive side here, so the coil's signs turn "
            "over: the negative one is on the live feed. Car changed over: put the polarity right on its card.",
            source=PRACTICE,
        ),
        choice(
            "ballast-route",
            "Ballast, as coil and unit want it",
            ["kept", "out, new coil", "out, old coil"],
            ["kept", "out, new coil"],
            applies={"ballast": [True]},
            help="A coil made for a ballast draws about twice its current without one. Some feeds are a resistance "
            "wire inside the loom: measure, do not look for a block.",
            caution="A ballast coil without its ballast gets hot enough to burst. The ballast itself burns fingers.",
            source=UNIT_AND_COIL,
        ),
        tick(
            "ballast-by-pass",
            "By-pass while cranking (15a) works, and feeds nothing back into the unit",
            applies={"ballast": [True], "bypass": [True]},
            help="With the starter turning, the coil sees nearly the battery's voltage; with the starter at rest, the "
            "by-pass wire is dead.",
            source=TERMINALS,
        ),
        tick(
            "no-ballast-needed",
            "Coil runs without ballast by its own data",
            applies={"ballast": [False]},
            help="Many coils say on the can whether they want an outside resistor.",
            source="the coil's data",
        ),
        choice(
            "changed-to-negative",
            "If the car was changed to negative earth: what depends on it",
            ["all seen to", "work left", "not changed"],
            ["all seen to", "not changed"],
            applies={"earth_polarity": ["positive"]},
            help="Dynamo, radio, clock, tachometer, coil. Re-polarise the dynamo, exchange the coil's low-voltage "
            "leads. A radio, an electric clock or a tachometer of that age may not survive the change. Then put the "
            "polarity right on the car's card.",
            caution="A radio of that age may burn when the polarity changes: take its feed off first.",
            source=PRACTICE,
        ),
        tick(
            "radio-condenser",
            "Radio condenser taken off the coil's switched side",
            help="On the feed side it may stay. On terminal 1 it spoils the switching.",
            source=UNIT,
        ),
        tick(
            "tachometer-current",
            "Tachometer driven by coil current: its loop kept in the coil's feed",
            applies={"tachometer": ["coil current"]},
            help="The coil's whole feed, and no other, passes its loop. Where the unit's data want an adaptor, fit it. "
            "Repeated sparks while cranking make it read nonsense: that is no fault.",
            source=UNIT,
        ),
        tick(
            "tachometer-voltage",
            "Tachometer driven by coil voltage: on terminal 1, or on the unit's own output",
            applies={"tachometer": ["coil voltage"]},
            help="A unit that clips the coil's voltage may not move it. Then use the unit's tachometer output.",
            caution="Terminal 1 kicks to some hundreds of volts with the engine running.",
            source=UNIT,
        ),
    ),
)

LEADS_AND_PLUGS = Section(
    "Leads and plugs",
    (
        choice(
            "lead-kind",
            "Plug and coil leads",
            ["suppressed", "solid wire"],
            ["suppressed"],
            help="Solid wire radiates into the trigger wire: the unit loses count or resets.",
            source=UNIT,
        ),
        measure(
            "lead-longest",
            "Longest plug lead, end to end, and its length",
            "kohm",
            None,
            None,
            correction=Correction.PER_METRE,
            inspection_key="lead-longest",
            help="Worked out per metre here. The lead's own data decide. Usual, from memory: 5 to 20 kohm per metre.",
            source=LEAD,
        ),
        words(
            "plug-type",
            "Plugs fitted: type",
            help="Resistor kind if the unit's data ask.",
            source=UNIT,
            inspection_key="plug-type",
        ),
        measure(
            "plug-gap",
            "Plug gap set",
            "mm",
            None,
            None,
            decimals=2,
            help="To the car's data within 0.05 mm, or to the unit's if they ask for more. All alike.",
            source="the car's data ±0.05 mm; common practice, no source",
            inspection_key="plug-gap",
        ),
        tick(
            "leads-in-order",
            "Leads in firing order, neighbours in the order not side by side",
            applies={"cylinders": [4, 5, 6, 8, 12]},
            help="Two leads that fire one after the other and lie together for long can fire each other's plug.",
            source=PRACTICE,
        ),
    ),
)

VACUUM = Section(
    "Vacuum",
    (
        choice(
            "vacuum-source",
            "Where the unit's vacuum is taken",
            ["manifold", "throttle port", "one barrel"],
            ["manifold", "throttle port"],
            applies={"unit_vacuum": ["ramp", "table"]},
            help="The map must be made for the same place: a port is dead at idle, the manifold is not. One barrel of "
            "several pulses too much.",
            source=UNIT,
        ),
        tick(
            "vacuum-pipe",
            "Vacuum pipe rising to the unit, no loop for fuel to stand in, away from heat",
            applies={"unit_vacuum": ["ramp", "table"]},
            source=PRACTICE,
        ),
        measure(
            "vacuum-leak",
            "Vacuum lost in 30 s from 50 kPa, pipe and unit together",
            "kPa",
            None,
            5,
            quantity="vacuum",
            applies={"unit_vacuum": ["ramp", "table"]},
            help="Hand pump at the engine's end, 50 kPa (15 inHg), wait half a minute.",
            source=PRACTICE,
        ),
        tick(
            "vacuum-closed",
            "Old vacuum port at the engine closed, capsule's pipe taken off",
            applies={"unit_vacuum": ["none"]},
            help="An open port is an air leak: weak mixture, hot plugs, fast idle.",
            source=PRACTICE,
        ),
    ),
)

ROUTING = Section(
    "Routing and second look",
    (
        measure(
            "clearance",
            "Least distance of the new wires from hot parts and plug leads",
            "mm",
            30,
            None,
            decimals=0,
            hold_point=True,
            help="Trigger wires farthest of all. Where they must cross a plug lead, at a right angle.",
            source=PRACTICE,
        ),
        tick(
            "strain-relieved",
            "Wires tied, strain-relieved, grommets in every hole, no joint under tension",
            hold_point=True,
            help="The engine rocks on its mounts: leave slack between engine and body. Crimped or soldered, sleeved.",
            source=PRACTICE,
        ),
        tick(
            "clear-of-moving",
            "Nothing near fan, belt, throttle linkage, steering or exhaust",
            help="Work the throttle to its stop and turn the steering lock to lock while looking.",
            source=PRACTICE,
        ),
        photo(
            "new-wiring",
            "New wiring: unit, fuse, coil and distributor",
            help="With the loom open, before it is wrapped. This picture mends the car in ten years.",
        ),
        tick(
            "wiring-second-look",
            "Feed, earth, trigger, coil and polarity traced from end to end",
            hold_point=True,
            second_person=True,
            help="Finger on each wire from end to end, against the unit's own diagram, aloud. The battery stays off "
            "until this holds.",
            caution="Before the battery goes on, every lead ends at a plug or an earthed gap: an open outlet looks "
            "for a way through a hand, and kills coil and unit.",
            source=PRACTICE,
        ),
    ),
)
