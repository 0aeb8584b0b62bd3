"""The battery on again, sparks proven on the bench gap, the first start, and what it leaves for the strobe."""

from jobs.checklists.after_strobe import CLAMP_MARK
from jobs.checklists.get_home import GET_HOME_DECLINED, GET_HOME_KIT
from jobs.checklists.shipped.cautions import FUEL_VAPOUR, HIGH_VOLTAGE, HOT, RUNNING, SHORT_AT_THE_BATTERY
from jobs.checklists.shipped.sources import PRACTICE, UNIT, UNIT_AND_COIL
from jobs.checklists.shipped.spec import Item, Section, choice, measure, photo, reading, tick

SWITCHED_ON = Section(
    "Switched on, engine standing",
    (
        tick(
            "battery-on",
            "Battery on again, the earthed post's lead last",
            help="Tools off the wings, key off. A spark as the lead touches means something is on: stop and look.",
            caution=SHORT_AT_THE_BATTERY,
            source=PRACTICE,
        ),
        measure(
            "coil-off",
            "Coil current at the first key-on, engine standing, after the unit's delay",
            "A",
            None,
            0.1,
            decimals=2,
            hold_point=True,
            help="Clamp meter for direct current on the coil's feed. Under 0.1 A by itself, after the time that the "
            "unit's data give. If it stays: key off at once.",
            caution="A coil left on with the engine standing gets hot enough to burst.",
            source=PRACTICE,
        ),
        tick(
            "nothing-hot",
            "Key on for a minute: unit alive, no smell, nothing gets hot",
            help="A hand on the battery lead, ready to take it off.",
            source=PRACTICE,
        ),
        tick(
            "unit-basics-keyed",
            "Cylinders, trigger, dwell and a low rev limit keyed in; speed part flat",
            help="Dwell no longer than the coil's data bear. The map comes later; with a flat curve the base timing "
            "can be proven.",
            source=UNIT_AND_COIL,
        ),
        choice(
            "spark-turns",
            "Sparks per turn at each plug, keyed in to match",
            ["every second turn", "every turn", "unit not told"],
            ["every second turn", "every turn"],
            applies={"cylinders": [1, 2]},
            help="A trigger on the crank sparks on the exhaust stroke too. A unit told the wrong one shows half or "
            "double the speed, and gives the advance for it.",
            source=UNIT,
        ),
        tick(
            "unit-keeps-settings",
            "Stored, key off and on: the unit still shows the same",
            help="An entry that was not stored is gone when the key is turned.",
            source=UNIT,
        ),
    ),
)

SPARKS = Section(
    "Sparks, before fuel",
    (
        measure(
            "feed-cranking-12",
            "Voltage at the unit's feed, before any ballast, cranking 10 s, coil disabled",
            "V",
            9.6,
            None,
            decimals=2,
            applies={"system_volts": [12]},
            help="Fuel off. Lowest figure after the first jerk. Below it the unit may reset just when it should spark.",
            caution="Fuel off, coil disabled, gear out. Nobody near fan and belt.",
            source=PRACTICE,
        ),
        measure(
            "feed-cranking-6",
            "Voltage at the unit's feed, before any ballast, cranking 10 s, coil disabled",
            "V",
            4.8,
            None,
            decimals=2,
            applies={"system_volts": [6]},
            help="Fuel off. Lowest figure after the first jerk. Read the unit's data for the least it lives on.",
            caution="Fuel off, coil disabled, gear out. Nobody near fan and belt.",
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
            inspection_key="earth-drop-cranking",
        ),
        tick(
            "trigger-seen",
            "Unit sees the trigger: shows a steady cranking speed",
            help="A speed that jumps, or twice the right one, is a trigger fault: noise, bounce, or the wrong edge.",
            source=UNIT,
        ),
        tick(
            "test-gap-earthed",
            "Test gap clipped to the block, away from the carburettor, bay aired",
            help="Plugs out for an easy crank means fuel in the air: leave them in, or air longer.",
            caution="The spark must always have a way to earth: an open lead finds a way through a hand, the cap or "
            "the unit. " + FUEL_VAPOUR,
            source=PRACTICE,
        ),
        choice(
            "spark-every-cylinder",
            "Spark on every cylinder, cranking, at the earthed test gap",
            ["all, steady", "weak or irregular", "one or more without"],
            ["all, steady"],
            hold_point=True,
            second_person=True,
            help="One lead at a time on the gap, key off while it is moved. One turns the key, the other looks.",
            caution=HIGH_VOLTAGE,
            source=PRACTICE,
        ),
        choice(
            "coil-polarity",
            "Coil polarity: plug's centre electrode",
            ["negative", "positive"],
            ["negative"],
            help="Negative needs less voltage. Positive: exchange the coil's low-voltage leads. Read it with a clamp "
            "meter made for it, or by the coil's terminals: never by hand.",
            caution=HIGH_VOLTAGE,
            source=PRACTICE,
        ),
        tick(
            "first-cylinder-first",
            "Strobe on lead 1, cranking: flash falls near the base timing",
            help="180° out is the rotor half a turn wrong. Near is enough: the strobe's own page proves it.",
            caution="The strobe makes fan and pulley look still while the starter turns them.",
            source=PRACTICE,
        ),
    ),
)


def running(*trigger: Item) -> Section:
    """The first start. `trigger` are the items that only this kind of trigger has."""
    return Section(
        "First start",
        (
            tick(
                "starts",
                "Starts and runs, no fuel weeping, a fast idle held by hand",
                help="Short, until the base timing is proven: retarded it glows the manifold, advanced it knocks.",
                caution=RUNNING,
                source=PRACTICE,
            ),
            measure(
                "feed-drop",
                "Drop from the battery's live post to the unit's and coil's feed, whole path, running",
                "V",
                None,
                0.5,
                decimals=2,
                hold_point=True,
                help="Meter from post to feed while current flows. On 6 V half a volt is twice the share: aim lower.",
                caution=HOT,
                source=PRACTICE,
            ),
            measure(
                "switch-drop",
                "Drop across the ignition switch contacts, running",
                "V",
                None,
                0.3,
                decimals=2,
                help="Old switches lose it here. A relay for the new feed spares the switch.",
                source=PRACTICE,
            ),
            measure(
                "joint-drop",
                "Worst single joint or connector of the new wiring, running",
                "V",
                None,
                0.1,
                decimals=2,
                hold_point=True,
                help="Across each crimp, plug and fuse holder in turn; write down the worst.",
                source=PRACTICE,
            ),
            measure(
                "earth-drop",
                "Drop from the unit's earth to the block, running",
                "V",
                None,
                0.1,
                decimals=2,
                hold_point=True,
                applies={"earth_polarity": ["negative"]},
                source=PRACTICE,
            ),
            measure(
                "return-drop-positive",
                "Drop from the unit's return to the battery post it goes to, running",
                "V",
                None,
                0.1,
                decimals=2,
                hold_point=True,
                applies={"earth_polarity": ["positive"]},
                help="Positive earth: the return is the lead your drawing shows, not the body.",
                source=PRACTICE,
            ),
            *trigger,
            choice(
                "tachometer-current-reads",
                "Tachometer driven by coil current, against the unit's speed",
                ["agrees", "reads wrong", "does not move"],
                ["agrees"],
                applies={"tachometer": ["coil current"]},
                help="Compare at idle and at 2000 rpm. Shorter dwell can make an old one under-read.",
                source=PRACTICE,
            ),
            choice(
                "tachometer-voltage-reads",
                "Tachometer driven by coil voltage, against the unit's speed",
                ["agrees", "reads wrong", "does not move"],
                ["agrees"],
                applies={"tachometer": ["coil voltage"]},
                help="Compare at idle and at 2000 rpm.",
                source=PRACTICE,
            ),
            tick(
                "shake-test",
                "Loom moved with an insulated stick at idle: speed stays steady",
                help="A joint that only rests shows itself here and not on the road.",
                caution=HIGH_VOLTAGE + " The strobe and the hands stay clear of fan and belt.",
                source=PRACTICE,
            ),
            choice(
                "stops-with-unit",
                "Key off: engine stops with the new unit",
                ["at once", "runs on"],
                ["at once"],
                help="If it runs on, look whether the charge lamp (61) feeds the unit backwards.",
                source=PRACTICE,
            ),
        ),
    )


LEFT_FOR_THE_STROBE = Section(
    "Left for the strobe",
    (
        tick(
            "clamp-ready",
            "Clamp holds, but the body can still be turned",
            help="The base timing is set and clamped on its own page, and never moved again after.",
            source=PRACTICE,
        ),
        tick("old-parts", "Old parts bagged with the job's number, for the owner", source=PRACTICE),
        choice(
            GET_HOME_KIT,
            "Get-home kit: old points and condenser or module, and how to go back",
            ["in the car", "given to the owner", GET_HOME_DECLINED],
            help="Parts proven, wires labelled, the way back written down and shown to the owner. The customer's "
            "sheet says so.",
            source=PRACTICE,
        ),
        reading(
            "base-timing-proven",
            "Base timing proven with the strobe, and recorded",
            "base-timing",
            required=False,
            help="Read on the base timing page, at the next stage.",
            source=PRACTICE,
        ),
        reading(
            "clamp-proven",
            "Clamp tight, marked and read again, and recorded",
            "clamp",
            required=False,
            help="Read on the base timing page, at the next stage.",
            source=PRACTICE,
        ),
        photo(
            CLAMP_MARK,
            "Clamp and paint mark across it, once the base timing is proven",
            required=False,
            help="Taken with the clamp on the base timing page. In a year it shows whether someone turned the "
            "distributor.",
        ),
    ),
)
