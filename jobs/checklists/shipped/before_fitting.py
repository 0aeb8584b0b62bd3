"""What a fitting begins with, whatever triggers it: the right unit, the car as it was, the battery off."""

from jobs.checklists.rotor_items import ANY_ROTOR
from jobs.checklists.shipped.cautions import SHORT_AT_THE_BATTERY
from jobs.checklists.shipped.sources import CAR, COLOURS, PRACTICE, UNIT, UNIT_AND_COIL
from jobs.checklists.shipped.spec import Section, choice, photo, tick, words

UNIT_AND_CAR = Section(
    "Unit and car",
    (
        tick(
            "unit-matches-card",
            "Unit type and serial number match the job card",
            help="The map will be fitted to what this type can hold. Another type under the lid means another map.",
            caution="These lines are reminders. Local rules and the licensed person decide what may be done.",
            source=PRACTICE,
        ),
        choice(
            "post-to-body",
            "Battery post that goes to the body, measured",
            ["negative", "positive"],
            hold_point=True,
            car_fact="earth_polarity",
            inspection_key="post-to-body",
            help="Meter from each post to bare metal of the body: the post that reads nothing is the earthed one. "
            "Cable colours and stickers have been wrong before.",
            caution="Wired the wrong way round the unit is dead at once, and a wire may burn.",
            source=PRACTICE,
        ),
        choice(
            "positive-earth-way",
            "Positive-earth arrangement",
            [
                "made for it",
                "kept off the body",
                "car changed over",
                "not solved",
            ],
            ["made for it", "kept off the body", "car changed over"],
            hold_point=True,
            second_person=True,
            applies={"earth_polarity": ["positive"]},
            help="Most units want negative earth. Read the unit's data before anything is bolted down. Changed "
            "over: the car goes to negative earth.",
            caution="A negative-earth unit, or its case, bolted to this body is a dead short through the battery.",
            source=UNIT,
        ),
        tick(
            "made-for-six-volts",
            "Unit and coil are made for 6 V",
            hold_point=True,
            applies={"system_volts": [6]},
            help="A 12 V coil never reaches its current on 6 V, and many units drop out below 6 V. The 6 V coil has "
            "about half the primary resistance.",
            source=UNIT_AND_COIL,
        ),
    ),
)

AS_IT_WAS = Section(
    "As found",
    (
        photo(
            "engine-bay",
            "Engine bay as found",
            help="From the front and from the distributor's side. It settles later what was there before.",
            inspection_key="engine-bay",
        ),
        photo(
            "old-wiring",
            "Old wiring at coil, ballast and distributor",
            help="Close enough that colours and terminals can be read. White is the usual ignition feed, white with "
            "black coil to points; cars differ, the meter decides.",
            source=COLOURS,
        ),
        photo(
            "distributor-as-it-sat",
            "Distributor as found: body, clamp, rotor and lead of cylinder 1",
            help="Scribe body to block first, so that the picture shows the mark.",
        ),
        words(
            "firing-order",
            "Firing order as read off the cap",
            car_fact="firing_order",
            applies=ANY_ROTOR,
            help="From cylinder 1 round the cap the way the rotor turns: 1-3-4-2, or 1342.",
            source=CAR,
        ),
        tick(
            "leads-numbered",
            "Plug leads numbered before the first one came off",
            applies={"cylinders": [2, 3, 4, 5, 6, 8, 12]},
            source=PRACTICE,
        ),
    ),
)

MADE_DEAD = Section(
    "Isolated",
    (
        tick(
            "battery-isolated",
            "Battery isolated, the earthed post's lead off first",
            hold_point=True,
            help="Radio code noted? First the lead of the post that goes to the body, tied back so that it cannot "
            "spring onto the post. On a positive-earth car that is the positive one: read the posts, not the habit.",
            caution=SHORT_AT_THE_BATTERY + " A memory saver keeps circuits live: take it off.",
            source=PRACTICE,
        ),
        tick(
            "dead-proven",
            "Proven dead: lamp or meter shows nothing at the coil, key on",
            help="Some cars have a second battery or a live feed past the switch. Key off again and out of the lock.",
            source=PRACTICE,
        ),
        tick(
            "extinguisher",
            "Extinguisher within reach, carburettor closed, no fuel standing",
            caution="Carburettor engines vent fuel. No flame, no grinding and no smoking here from now on.",
            source=PRACTICE,
        ),
        tick(
            "car-stands-safe",
            "Car stands safe: gear out, brake on, wheels chocked",
            caution="If it must go up: locked stands or a lift in its latch. Nobody under a car that hangs on a jack.",
            source=PRACTICE,
        ),
    ),
)
