"""The inspection with the engine standing and whole: papers, battery, coil."""

from jobs.checklists.models import Correction
from jobs.checklists.shipped.cautions import DEAD_BEFORE_TOUCHING, FUEL_VAPOUR, SHORT_AT_THE_BATTERY
from jobs.checklists.shipped.sources import COPPER, LAW, PRACTICE
from jobs.checklists.shipped.spec import Section, choice, measure, photo, tick, words

SURFACE_CHARGE = "surface charge: rest or load it, read again"

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
            "fuel-leaks",
            "Fuel: pipes, pump, carburettor and tank",
            ["dry", "weeping or leaking"],
            ["dry"],
            hold_point=True,
            help="Mend it before a key is turned. Look again with the pump running.",
            caution=FUEL_VAPOUR,
            source=PRACTICE,
        ),
        choice(
            "oil-and-water",
            "Oil and water",
            ["dry", "weeps", "leaks"],
            ["dry", "weeps"],
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
            "system-volts",
            "System voltage, measured across the battery posts",
            ["6 V", "12 V"],
            hold_point=True,
            car_fact="system_volts",
            help="About 6 V is a 6 V car, about 12 V a 12 V car. Two 6 V batteries in line make 12 V.",
            source=PRACTICE,
        ),
        choice(
            "post-to-body",
            "Battery post that goes to the body, measured",
            ["negative", "positive"],
            hold_point=True,
            car_fact="earth_polarity",
            help="Meter from each post to bare metal of the body: the post that reads nothing is the earthed one. "
            "Cable colours and stickers have been wrong before.",
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
            None,
            decimals=2,
            note_above=12.9,
            note_text=SURFACE_CHARGE,
            hold_point=True,
            applies={"system_volts": [12]},
            help="Lower: charge it and come back, a tired battery spoils every other figure. Above 12.9 V: just "
            "charged, or a sealed battery. Lamps on for a minute, rest it, read again.",
            source=PRACTICE,
        ),
        measure(
            "battery-6",
            "Battery at rest, off charge an hour or more",
            "V",
            6.2,
            None,
            decimals=2,
            note_above=6.45,
            note_text=SURFACE_CHARGE,
            hold_point=True,
            applies={"system_volts": [6]},
            help="Lower: charge it and come back. Above 6.45 V: lamps on for a minute, rest it, read again.",
            source=PRACTICE,
        ),
        choice(
            "charging-kind",
            "What charges the battery",
            ["alternator", "dynamo"],
            car_fact="charging",
            help="A dynamo is a plain tube with a regulator box on the wing. The charging limits follow it.",
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
            car_fact="coil_ohm",
            help="One wire off, the meter's leads taken off. A coil that stood overnight is as warm as the shop. What "
            "it is at 20 °C is worked out here.",
            caution=DEAD_BEFORE_TOUCHING,
            source=f"car's record ±10 %: {PRACTICE}; {COPPER}",
        ),
        choice(
            "ballast-found",
            "Ballast: block or resistance wire in the coil's feed",
            ["fitted", "none"],
            car_fact="ballast",
            help="Look for both. Key on, contacts closed: without a ballast the coil's feed stays near the "
            "battery's voltage.",
            source=PRACTICE,
        ),
        measure(
            "ballast-resistance",
            "Ballast, cold, as measured",
            "ohm",
            None,
            None,
            decimals=2,
            car_fact="ballast_ohm",
            applies={"ballast": [True]},
            help="It is not copper: read it cold, without correction. A resistance wire in the "
            "loom is measured end to end.",
            caution="The ballast burns fingers after minutes with the key on.",
            source=f"car's record ±10 %: {PRACTICE}",
        ),
        choice(
            "bypass-found",
            "By-pass of the ballast while cranking",
            ["fitted", "none"],
            car_fact="bypass",
            applies={"ballast": [True]},
            help="A wire from the starter side to the coil's feed. Starter turning, the coil's feed rises with it.",
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
