"""Fitting a programmable unit to a car whose electronic trigger (Hall, optical or inductive) is kept."""

from jobs.checklists.models import SheetKind
from jobs.checklists.shipped.before_fitting import AS_IT_WAS, MADE_DEAD, UNIT_AND_CAR
from jobs.checklists.shipped.cautions import DEAD_BEFORE_TOUCHING
from jobs.checklists.shipped.first_start import LEFT_FOR_THE_STROBE, SPARKS, SWITCHED_ON, running
from jobs.checklists.shipped.locking import ADVANCE_LOCKED, BACK_IN, OUT_AND_LOOKED_OVER, ROTOR
from jobs.checklists.shipped.sources import CAR_OR_RECORDED, PRACTICE, UNIT
from jobs.checklists.shipped.spec import Section, ShippedList, choice, measure, tick
from jobs.checklists.shipped.wiring import COIL, FEED_AND_EARTH, LEADS_AND_PLUGS, ROUTING, VACUUM

SENSOR_DATA = "the trigger's data; without data it is only recorded"

TRIGGER = Section(
    "Trigger kept",
    (
        choice(
            "trigger-kind",
            "Kind of trigger",
            ["Hall", "optical", "inductive"],
            car_fact="trigger",
            inspection_key="trigger-found",
            help="Three wires and a slotted drum: Hall or optical. Two wires and a toothed wheel: inductive. The "
            "next lines depend on it.",
            source=PRACTICE,
        ),
        choice(
            "teeth",
            "Teeth or windows of the wheel",
            ["even, one a cylinder", "other, unit can", "other"],
            ["even, one a cylinder", "other, unit can"],
            help="Another wheel: only if the unit can use it. Some have one window wider, to tell cylinder 1. The "
            "unit must know.",
            source=UNIT,
        ),
        tick("wheel-sound", "Wheel tight on the shaft, no tooth bent or rubbing", source=PRACTICE),
        choice(
            "old-module",
            "Old ignition module",
            ["taken out", "unit drives it", "it triggers the unit"],
            help="Kept, it may add a delay and a dwell of its own: say so on the map. Taken out, insulate what is "
            "left of its plug.",
            caution=DEAD_BEFORE_TOUCHING,
            source=UNIT,
        ),
        tick(
            "trigger-off-coil",
            "Nothing of the old module or loom left on terminal 1 of the coil",
            help="Two stages on one coil kill each other. A module the unit drives stays where its data say.",
            source=UNIT,
        ),
        tick(
            "trigger-supply-before-ballast",
            "Sensor's supply taken from the unit or before the ballast",
            applies={"trigger": ["hall", "optical"], "ballast": [True]},
            help="After the ballast it sags with every charge of the coil.",
            source=PRACTICE,
        ),
        tick(
            "optical-clean",
            "Lamp and eye clean, dust cover in its place, no daylight on them",
            applies={"trigger": ["optical"]},
            source=PRACTICE,
        ),
        measure(
            "pickup-resistance",
            "Inductive pick-up coil, end to end",
            "ohm",
            None,
            None,
            decimals=0,
            applies={"trigger": ["inductive"]},
            help="Move its leads while reading: they break where the plate used to turn.",
            source=CAR_OR_RECORDED,
        ),
        tick(
            "pickup-insulated",
            "Inductive pick-up: neither lead has a path to the body",
            applies={"trigger": ["inductive"]},
            source=PRACTICE,
        ),
        measure(
            "pickup-gap",
            "Least air gap between tooth and pick-up",
            "mm",
            None,
            None,
            decimals=2,
            applies={"trigger": ["inductive"]},
            help="Non-magnetic feeler, every tooth. Teeth that differ show a bent shaft.",
            source=CAR_OR_RECORDED,
        ),
        choice(
            "pickup-leads",
            "Pick-up's two leads, which way round",
            ["right way round", "wrong way round"],
            ["right way round"],
            applies={"trigger": ["inductive"]},
            help="The sharp edge comes where the unit wants it. Wrong way round the spark moves by degrees as the "
            "speed rises. An oscilloscope shows the steep side.",
            source=UNIT,
        ),
        tick(
            "trigger-wire",
            "Trigger wire away from the plug leads; a screen earthed at one end only",
            source=UNIT,
        ),
        choice(
            "sensor-earth-way",
            "Sensor on positive earth: how its supply and signal are kept off the body",
            ["made for it", "sensor isolated", "car changed over", "not solved"],
            ["made for it", "sensor isolated", "car changed over"],
            hold_point=True,
            applies={"earth_polarity": ["positive"]},
            caution="A sensor supplied the wrong way round is dead at once.",
            source=UNIT,
        ),
    ),
)

PROVEN = Section(
    "Trigger proven, coil off",
    (
        tick(
            "coil-disconnected",
            "Coil's feed wire taken off, plugs out",
            help="The trigger is proven by hand with the key on: the unit must have no coil to fire.",
            caution="With the key on and the coil connected, a turn by hand makes a spark, and a kick breaks thumb and "
            "wrist.",
            source=PRACTICE,
        ),
        measure(
            "trigger-supply",
            "Supply at the sensor, key on",
            "V",
            None,
            None,
            decimals=2,
            applies={"trigger": ["hall", "optical"]},
            help="Many want 5 V from the unit, some the battery's voltage. Read the data first.",
            source=SENSOR_DATA,
        ),
        choice(
            "hall-signal",
            "Hall signal, vane in and vane out of the gap, turned by hand",
            ["switches both ways", "does not switch"],
            ["switches both ways"],
            applies={"trigger": ["hall"]},
            help="It needs a resistor up to the supply, in the unit or for the test. Note which way the vane makes it.",
            source=UNIT,
        ),
        choice(
            "optical-signal",
            "Optical signal, window and blade, turned by hand",
            ["switches both ways", "does not switch"],
            ["switches both ways"],
            applies={"trigger": ["optical"]},
            source=UNIT,
        ),
        tick(
            "edge-keyed",
            "Edge keyed in is the edge the unit times from",
            help="Leading or trailing, rising or falling. The wrong one is off by the width of the window.",
            source=UNIT,
        ),
        measure(
            "trigger-edge",
            "Crank angle of that edge, static, cylinder 1",
            "° BTDC",
            None,
            None,
            help="Turn the crank the way it runs until the unit's light, or a meter on the signal, changes. An "
            "inductive one gives nothing standing: line the tooth up by eye.",
            caution="Coil off, plugs out, gear out, by hand only. Nobody near the starter switch.",
            source=UNIT,
        ),
        choice(
            "trigger-before-spark",
            "Highest advance planned, against the angle of that edge",
            ["after it", "timed from the one before", "before it"],
            ["after it", "timed from the one before"],
            help="A unit can only wait. A spark wanted before its trigger must be timed from the one before.",
            source=UNIT,
        ),
        measure(
            "pickup-signal",
            "Pick-up's alternating voltage, cranking, unit connected",
            "V",
            None,
            None,
            decimals=2,
            applies={"trigger": ["inductive"]},
            help="Compare with the least the unit needs.",
            caution="Fuel off, coil disabled, gear out. Nobody near fan and belt.",
            source=UNIT,
        ),
        tick(
            "coil-reconnected",
            "Coil's feed wire back on, plugs in",
            source=PRACTICE,
        ),
    ),
)

RUNNING = running(
    measure(
        "sensor-earth-drop",
        "Drop from the sensor's return to the unit's earth, running",
        "V",
        None,
        0.1,
        decimals=2,
        applies={"trigger": ["hall", "optical"]},
        help="What is lost here is added to the signal.",
        source=PRACTICE,
    ),
    choice(
        "trigger-steady",
        "Speed on the unit's screen, idle to 3000 rpm",
        ["steady", "jumps or drops out"],
        ["steady"],
        help="Jumps as the speed rises: noise from the leads, a gap too wide, or the screen earthed at both ends.",
        source=PRACTICE,
    ),
)

LIST = ShippedList(
    key="electronic-trigger",
    name="Fitting, electronic trigger kept",
    kind=SheetKind.FITTING,
    suits={"trigger": ["hall", "optical", "inductive"]},
    sections=(
        UNIT_AND_CAR,
        AS_IT_WAS,
        MADE_DEAD,
        OUT_AND_LOOKED_OVER,
        ADVANCE_LOCKED,
        BACK_IN,
        TRIGGER,
        ROTOR,
        FEED_AND_EARTH,
        COIL,
        LEADS_AND_PLUGS,
        VACUUM,
        ROUTING,
        SWITCHED_ON,
        PROVEN,
        SPARKS,
        RUNNING,
        LEFT_FOR_THE_STROBE,
    ),
)
