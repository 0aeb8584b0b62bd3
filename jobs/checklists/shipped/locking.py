"""The distributor: out, looked over, its own advance locked, in again, and the rotor's place proven at both ends."""

from jobs.checklists.shipped.cautions import TURNED_BY_HAND
from jobs.checklists.shipped.sources import PRACTICE
from jobs.checklists.shipped.spec import Section, choice, measure, photo, tick, words

WITH_A_ROTOR = {"cylinders": [3, 4, 5, 6, 8, 12]}

OUT_AND_LOOKED_OVER = Section(
    "Distributor out",
    (
        tick(
            "at-top-dead-centre",
            "Engine on the proven mark, cylinder 1 on compression",
            help="Both valves of cylinder 1 closed, rotor towards its terminal. The crank is not turned again "
            "until the distributor is back.",
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
            help="Dial gauge against the cam, push and pull across. Play becomes scatter of the spark that no map can "
            "take out: new bushes before going on.",
            source=PRACTICE,
        ),
        choice(
            "drive",
            "Drive gear or dog, and its pin",
            ["sound", "worn or loose"],
            ["sound"],
            help="Backlash here shows at the strobe as a spark that wanders.",
            source=PRACTICE,
        ),
        tick("shaft-oiled", "Shaft and bushes cleaned and oiled, nothing running to the points", source=PRACTICE),
    ),
)

ADVANCE_LOCKED = Section(
    "Advance locked",
    (
        words(
            "lock-method",
            "How the weights are locked",
            help="Pin, screw or welded plate, so that it can be found and undone in years. Glue and cable ties creep.",
            source=PRACTICE,
        ),
        measure(
            "lock-angle",
            "Advance at which the mechanism is locked, from rest",
            "distributor °",
            None,
            None,
            help="Distributor degrees; crank degrees are twice as many. Half way through the range wanted keeps the "
            "rotor near its terminal at both ends.",
            source="geometry; the rotor is set right where advance is half of lowest and highest together",
        ),
        choice(
            "vacuum-plate",
            "Plate that the vacuum capsule moved",
            ["locked", "fixed by design", "still moves"],
            ["locked", "fixed by design"],
            help="A plate that may creep moves the trigger. Lock it even where the capsule's pipe comes off.",
            source=PRACTICE,
        ),
        measure(
            "advance-free-play",
            "Free play left between shaft and rotor, advance locked",
            "distributor °",
            None,
            0.5,
            hold_point=True,
            second_person=True,
            help="Hold the shaft, twist the rotor both ways, read the whole travel. Half a degree here is a whole "
            "degree at the crank. A second hand feels what the first has got used to.",
            caution="A mechanism half locked adds its own advance to the map: pinking, holed pistons.",
            source=PRACTICE,
        ),
        photo("lock", "The lock, before the plate covers it", help="In a year it shows what was done and how."),
    ),
)

BACK_IN = Section(
    "Distributor in, rotor proven",
    (
        tick(
            "distributor-in",
            "Distributor in on its marks, rotor towards the lead of cylinder 1",
            help="Crank still on the mark. Clamp just tight enough that the body turns with a firm hand.",
            source=PRACTICE,
        ),
        words(
            "advance-range",
            "Lowest and highest spark advance the rotor must cover",
            help="Crank degrees before top dead centre: lowest at cranking, highest at light load with all vacuum "
            "advance. For example: 8 to 40.",
            source="the map planned for this car",
        ),
        measure(
            "rotor-overlap-highest",
            "Rotor tip over cap terminal at the highest advance",
            "mm",
            1.0,
            None,
            hold_point=True,
            applies=WITH_A_ROTOR,
            help="Through a window in an old cap. Crank by hand to the highest advance before the mark of cylinder 1; "
            "measure how much of tip and terminal face each other. Turning the body does not help: only the angle of "
            "the lock, or a rotor re-indexed, does.",
            caution=TURNED_BY_HAND,
            source=PRACTICE,
        ),
        measure(
            "rotor-overlap-lowest",
            "Rotor tip over cap terminal at the lowest advance",
            "mm",
            1.0,
            None,
            hold_point=True,
            second_person=True,
            applies=WITH_A_ROTOR,
            help="The same at the lowest advance, as when cranking. Here the tip is nearest the next terminal, whose "
            "cylinder is drawing in fresh charge: the dangerous side.",
            caution="A spark that jumps to the next terminal fires a cylinder that is filling: it spits back "
            "through the carburettor, and kicks at the starter.",
            source=PRACTICE,
        ),
        choice(
            "rotor-of-a-twin",
            "Twin: rotor tip over its terminal, lowest and highest advance, the smaller",
            ["1 mm or more", "less than 1 mm", "no rotor"],
            ["1 mm or more", "no rotor"],
            hold_point=True,
            second_person=True,
            applies={"cylinders": [2]},
            help="Turn the crank by hand to both ends of the advance range and look at tip and terminal. Many "
            "twins have no rotor: both plugs fire together.",
            caution=TURNED_BY_HAND,
            source=PRACTICE,
        ),
        measure(
            "rotor-neighbour-ratio",
            "Gap to the nearer neighbour, as a multiple of the gap to its own, the worse end",
            "times",
            5,
            None,
            applies={"cylinders": [6, 8, 12]},
            help="With six posts or more the neighbour is close. Measure both gaps from the tip's edge at each end of "
            "the range and divide.",
            source=PRACTICE,
        ),
        choice(
            "cap",
            "Cap inside, brush and rotor arm",
            ["sound", "renewed", "none fitted", "tracked or cracked"],
            ["sound", "renewed", "none fitted"],
            hold_point=True,
            applies={"cylinders": [2, 3, 4, 5, 6, 8, 12]},
            help="A carbon track is a thin grey line between posts, best seen under a lamp from the side. The brush "
            "must spring back.",
            caution="A tracked cap fails whatever the geometry says, and lets high voltage out.",
            source=PRACTICE,
        ),
    ),
)
