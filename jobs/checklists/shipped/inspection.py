"""Inspection on arrival: is this engine fit to be converted, and what did it look like before.

The sweep of the old advance, the compression of each cylinder and the timing mark are recorded on the inspection page
itself; here each is read from there, at the moment when the engine is ready for it.
"""

from jobs.checklists.models import Correction, SheetKind
from jobs.checklists.shipped.cautions import FUEL_VAPOUR, HIGH_VOLTAGE, HOT, RUNNING
from jobs.checklists.shipped.inspection_plugs_out import DISTRIBUTOR, HIGH_TENSION, PLUGS_OUT
from jobs.checklists.shipped.inspection_standing import ARRIVAL, BATTERY, COIL
from jobs.checklists.shipped.sources import CAR_OR_RECORDED, HEIGHT, LAW, PRACTICE
from jobs.checklists.shipped.spec import Section, ShippedList, choice, measure, reading, words

CRANKED = Section(
    "Cranked, fuel off",
    (
        measure(
            "cranking-12",
            "Voltage at the switched feed, before any ballast, cranking 10 s, coil disabled",
            "V",
            9.6,
            None,
            decimals=2,
            applies={"system_volts": [12]},
            help="Fuel off. Lowest figure after the first jerk; lower behind a ballast, by design. Low with a good "
            "battery: starter, cables or switch.",
            caution="Gear out, brake on, nobody near fan and belt. Coil disabled means its lead earthed, never open.",
            source=PRACTICE,
        ),
        measure(
            "cranking-6",
            "Voltage at the switched feed, before any ballast, cranking 10 s, coil disabled",
            "V",
            4.8,
            None,
            decimals=2,
            applies={"system_volts": [6]},
            help="Fuel off. Lowest figure after the first jerk; lower behind a ballast, by design. Thin modern cables "
            "are a common cause on 6 V.",
            caution="Gear out, brake on, nobody near fan and belt. Coil disabled means its lead earthed, never open.",
            source=PRACTICE,
        ),
        measure(
            "earth-drop-cranking",
            "Drop from the engine block to the battery's earthed post, cranking",
            "V",
            None,
            0.2,
            decimals=2,
            help="Meter across the path while the starter turns: it reads what is lost, not what is there.",
            source=PRACTICE,
        ),
    ),
)

ENGINE_RUNS = Section(
    "Engine runs",
    (
        choice(
            "starts-as-found",
            "Starts, and idles warm",
            ["well", "badly", "does not start"],
            ["well"],
            caution=RUNNING,
            source=PRACTICE,
        ),
        measure(
            "charging-12",
            "Charging at 2000 rpm, lights on",
            "V",
            13.5,
            14.6,
            decimals=2,
            applies={"system_volts": [12], "charging": ["alternator"]},
            help="At the battery. High boils the battery and heats the coil; low starves the unit at night.",
            source=PRACTICE,
        ),
        measure(
            "charging-6",
            "Charging at 2000 rpm, lights on",
            "V",
            6.75,
            7.3,
            decimals=2,
            applies={"system_volts": [6], "charging": ["alternator"]},
            help="At the battery.",
            source="half of the 12 V figures; common practice, no source",
        ),
        measure(
            "charging-dynamo-12",
            "Dynamo at 2000 rpm, regulator warm, lights off",
            "V",
            12.8,
            14.5,
            decimals=2,
            applies={"system_volts": [12], "charging": ["dynamo"]},
            help="At the battery, after ten minutes' running.",
            source=PRACTICE,
        ),
        measure(
            "charging-dynamo-lights-12",
            "Dynamo at 2000 rpm, lights on",
            "V",
            12.4,
            None,
            decimals=2,
            applies={"system_volts": [12], "charging": ["dynamo"]},
            help="At the battery. Not below what a sound battery has at rest.",
            source=PRACTICE,
        ),
        measure(
            "charging-dynamo-6",
            "Dynamo at 2000 rpm, regulator warm, lights off",
            "V",
            6.4,
            7.25,
            decimals=2,
            applies={"system_volts": [6], "charging": ["dynamo"]},
            help="At the battery, after ten minutes' running.",
            source="half of the 12 V figures; common practice, no source",
        ),
        measure(
            "charging-dynamo-lights-6",
            "Dynamo at 2000 rpm, lights on",
            "V",
            6.2,
            None,
            decimals=2,
            applies={"system_volts": [6], "charging": ["dynamo"]},
            help="At the battery. Not below what a sound battery has at rest.",
            source=PRACTICE,
        ),
        measure(
            "red-line",
            "Red line, by the tachometer's face or the car's papers",
            "rpm",
            None,
            None,
            decimals=0,
            required=False,
            car_fact="red_line",
            source=f"car's record ±50 rpm: {PRACTICE}",
        ),
        measure(
            "idle-speed",
            "Idle speed, warm",
            "rpm",
            None,
            None,
            decimals=0,
            source=CAR_OR_RECORDED,
        ),
        measure(
            "dwell",
            "Dwell at idle",
            "distributor °",
            None,
            None,
            applies={"trigger": ["contact breaker"]},
            help="The data's figure ±3. Usual, from memory: four cylinders 51 to 60, six 35 to 42, eight 26 to 33.",
            source="the car's data ±3 distributor °; common practice, no source",
        ),
        measure(
            "dwell-change",
            "Dwell at 2000 rpm, and at idle",
            "distributor °",
            -3,
            3,
            correction=Correction.FROM_IDLE,
            applies={"trigger": ["contact breaker"]},
            help="The change is worked out here. More means a worn shaft or a loose plate.",
            source=PRACTICE,
        ),
        measure(
            "idle-vacuum",
            "Idle vacuum, warm, as the gauge shows it",
            "kPa",
            50,
            70,
            decimals=0,
            quantity="vacuum",
            correction=Correction.SEA_LEVEL,
            help="Choose the gauge's unit beside the figure. The limits shown are those for this height. Low and "
            "steady: late timing, air leak, or a camshaft that is meant so.",
            source=HEIGHT,
        ),
        choice(
            "vacuum-needle",
            "Needle of the vacuum gauge at idle",
            ["steady", "ticks regularly", "drifts", "swings with speed"],
            ["steady"],
            help="A regular tick is a valve or one plug, a drift is mixture, a swing that grows is springs or guides.",
            source=PRACTICE,
        ),
        choice(
            "air-leaks",
            "Air leaks at manifold and carburettor",
            ["none", "found and closed", "found, still there"],
            ["none", "found and closed"],
            help="Listen with a length of hose. Idle that changes when a joint is pressed has told you.",
            caution="Nothing that burns is sprayed on a running engine: the manifold lights it. " + FUEL_VAPOUR,
            source=PRACTICE,
        ),
        measure(
            "idle-co",
            "Carbon monoxide at idle",
            "%",
            None,
            None,
            required=False,
            help="Where the law sets a figure, that one. Weak mixture burns slowly: it asks for advance it should "
            "not need.",
            source="the car's data and local law",
        ),
        reading(
            "sweep-read",
            "Old advance swept, vacuum pipe off and closed, and recorded",
            "sweep",
            help="On the inspection page. Six speeds or more, rising and then falling. After the conversion it can "
            "never be read again.",
            caution="Fan, belt and pulley look still in the strobe's light. " + HIGH_VOLTAGE,
            source=PRACTICE,
        ),
        choice(
            "old-vacuum-advance",
            "Vacuum pipe on again, at 2000 rpm",
            ["advance grows", "nothing changes", "no vacuum advance"],
            ["advance grows", "no vacuum advance"],
            source=PRACTICE,
        ),
        choice(
            "stops-at-once",
            "Key off: engine stops",
            ["at once", "runs on"],
            ["at once"],
            help="Running on now is heat or carbon, and will not be the new ignition's doing.",
            source=PRACTICE,
        ),
    ),
)

WARM = Section(
    "Warm, engine off",
    (
        reading(
            "compression-read",
            "Compression of each cylinder read warm, throttle open, and recorded",
            "compression",
            help="On the inspection page. All plugs out, coil disabled with its lead earthed, fuel off. The spread "
            "counts most.",
            caution=HOT + " " + FUEL_VAPOUR,
            source=PRACTICE,
        ),
        choice(
            "cooling",
            "Cooling: level, cap, hoses, fan",
            ["sound", "wants work"],
            ["sound"],
            help="An engine that runs hot pinks first.",
            caution=HOT,
            source=PRACTICE,
        ),
    ),
)

FIT_FOR_THE_ROAD = Section(
    "Fit for a road test",
    (
        choice(
            "belts",
            "Seat-belts and seats",
            ["sound", "not safe", "none by law"],
            ["sound", "none by law"],
            help="Look before someone is needed to drive it hard up a hill.",
            caution="No airbags, often no head restraints, drum brakes: a reason for slow tests.",
            source=LAW,
        ),
        choice(
            "brakes-steering-tyres",
            "Brakes, steering and tyres",
            ["fit for the road", "not fit"],
            ["fit for the road"],
            help="Brake with a pedal that stays up, no pull, tyres not cracked with age.",
            caution="Under the car only on locked stands or a lift in its latch, never on a jack alone.",
            source=LAW,
        ),
        words(
            "to-talk-over",
            "What to talk over with the owner before work begins",
            required=False,
            help="A worn engine stays worn with a new ignition. Say so now, with figures.",
        ),
    ),
)

LIST = ShippedList(
    key="inspection-on-arrival",
    name="Inspection on arrival",
    kind=SheetKind.INSPECTION,
    sections=(
        ARRIVAL,
        BATTERY,
        COIL,
        PLUGS_OUT,
        HIGH_TENSION,
        DISTRIBUTOR,
        CRANKED,
        ENGINE_RUNS,
        WARM,
        FIT_FOR_THE_ROAD,
    ),
)
