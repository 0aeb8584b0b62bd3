"""The distributor: out, looked over, its own advance locked, in again, and the rotor's place proven at both ends."""

from jobs.checklists.rotor_items import ANY_ROTOR, WITH_A_ROTOR
from jobs.checklists.shipped.cautions import TURNED_BY_HAND
from jobs.checklists.shipped.sources import PRACTICE, UNIT
from jobs.checklists.shipped.spec import Section, choice, measure, photo, reading, tick, words

GEOMETRY = "geometry: tip at the edge, edge and range"

OUT_AND_LOOKED_OVER = Section(
    "Distributor out",
    (
        tick(
            "plugs-out-to-turn",
            "All plugs out before the crank is turned by hand",
            caution=TURNED_BY_HAND,
            source=PRACTICE,
        ),
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
            inspection_key="side-play",
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
            help="Pin, screw or welded plate, so that it can be found and undone in years. Glue and cable ties creep. "
            "At which angle does not matter: cam and rotor move together.",
            source=PRACTICE,
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
    "Distributor in",
    (
        tick(
            "distributor-in",
            "Distributor in on its marks, as it came out",
            help="Crank still on the mark, a rotor towards the lead of cylinder 1. Clamp just tight enough that the "
            "body turns with a firm hand.",
            source=PRACTICE,
        ),
    ),
)

ROTOR = Section(
    "Rotor under the cap",
    (
        words(
            "advance-range",
            "Lowest and highest spark advance the rotor must cover",
            applies=ANY_ROTOR,
            help="Crank degrees before top dead centre: lowest at cranking, highest at light load with all vacuum "
            "advance. For example: 8 to 40.",
            source="the map planned for this car",
        ),
        choice(
            "edge-told",
            "How the unit takes the trigger’s edge",
            ["edge is base timing", "edge entered apart"],
            applies=ANY_ROTOR | {"trigger_place": ["distributor"]},
            help="Most units spark at the edge when they add nothing: then the edge is set to base timing. Some are "
            "told apart where the edge comes.",
            source=UNIT,
        ),
        measure(
            "tip-at-edge",
            "From rotor tip to its terminal at the trigger’s edge, along the rim",
            "mm",
            None,
            None,
            applies=ANY_ROTOR | {"trigger_place": ["distributor"]},
            help="Contacts of cylinder 1: turn until the lamp shows them opening. Sensor: blade or tooth in line, by "
            "eye. Mark tip and terminal on the rim. Plus while the tip is not there yet, minus past it.",
            caution=TURNED_BY_HAND,
            source=PRACTICE,
        ),
        measure(
            "rotor-in-line-at",
            "Crank angle at which rotor tip and terminal of cylinder 1 are in line",
            "° BTDC",
            None,
            None,
            applies=ANY_ROTOR | {"trigger_place": ["crank or camshaft"]},
            help="The distributor triggers nothing: its body sets the rotor alone. Turn the crank the way it runs, "
            "through a window in an old cap, and read the pulley. After the dead centre: minus.",
            caution=TURNED_BY_HAND,
            source=PRACTICE,
        ),
        choice(
            "rotor-remedy",
            "What brought the rotor into line over the whole range",
            [
                "in line as it was",
                "plate, then body",
                "body alone",
                "rotor re-indexed",
                "edge told to the unit",
                "range narrowed",
            ],
            applies=ANY_ROTOR,
            help="The rotor page works out what to move, how far and which way. Body alone serves only where the "
            "distributor triggers nothing. Then measure again, and correct the entry above.",
            source=GEOMETRY,
        ),
        words(
            "rotor-moved",
            "How far plate and body were moved, and which way",
            required=False,
            applies=ANY_ROTOR,
            help="Such as: plate 4.2 mm with the turn, body 4.2 mm against it. It is what finds the setting again.",
            source=GEOMETRY,
        ),
        measure(
            "rotor-overlap-highest",
            "Rotor tip over cap terminal at the highest advance",
            "mm",
            1.0,
            None,
            hold_point=True,
            applies=WITH_A_ROTOR,
            help="With the edge set to base timing, through a window in an old cap. Crank by hand to the highest "
            "advance before the mark of cylinder 1. Measure how much of tip and terminal face each other. Too "
            "little: the rotor page says what to move.",
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
            car_fact="rotor",
            applies={"cylinders": [2], "rotor": [True]},
            help="Turn the crank by hand to both ends of the advance range and look at tip and terminal. Many twins "
            "have no rotor: both plugs fire together.",
            caution=TURNED_BY_HAND,
            source=PRACTICE,
        ),
        reading(
            "rotor-neighbour-ratio",
            "Gap to the next terminal against the gap to its own, read from the rotor page",
            "rotor-neighbour",
            applies={"cylinders": [6, 8, 12], "rotor": [True]},
            help="Many terminals stand close together. The rotor page works it out from rotor, cap and advance range.",
            source=f"5 times or more: {PRACTICE}",
        ),
        choice(
            "cap",
            "Cap inside, brush and rotor arm",
            ["sound", "renewed", "none fitted", "tracked or cracked"],
            ["sound", "renewed", "none fitted"],
            hold_point=True,
            applies=ANY_ROTOR,
            help="A carbon track is a thin grey line between posts, best seen under a lamp from the side. The brush "
            "must spring back.",
            caution="A tracked cap fails whatever the geometry says, and lets high voltage out.",
            source=PRACTICE,
            inspection_key="cap",
        ),
    ),
)
