"""Three invented unit types that differ in every respect, for the demo and for tests. None stands for a real one."""

from timing.unit import (
    BoostNodes,
    EntryWord,
    FixedNodes,
    FreeNodes,
    RampEntries,
    Steps,
    TableEntries,
    UnitType,
)

# Plain and small: the distributor alone is turned to the base timing, whole degrees at speeds that are fixed.
TERN = UnitType(
    nodes=FixedNodes([500, 1000, 1500, 2000, 2500, 3000, 4000, 5000]),
    degree=Steps(0, 40, 1),
    counted_from="base",
    base=None,
    vacuum=RampEntries(unit="inHg", start=Steps(0, 20, 1), full=Steps(1, 25, 1), degrees=Steps(0, 20, 1)),
    boost=None,
    dwell_ms=None,
    rev_limit_rpm=Steps(3000, 9000, 250),
    rev_limit_manners=("hard",),
    repeated_sparks=False,
    entries=(
        EntryWord("node", "timing at speed"),
        EntryWord("vacuum_start", "vacuum start"),
        EntryWord("vacuum_full", "vacuum full"),
        EntryWord("vacuum_degrees", "vacuum advance"),
        EntryWord("rev_limit", "rev limit"),
    ),
)

# Everything there is: counted from top dead centre in half degrees, a vacuum table and nodes of boost, both manners.
FALLOW = UnitType(
    nodes=FixedNodes([400, 700, 1000, 1300, 1600, 2000, 2400, 2800, 3200, 3600, 4200, 4800, 5600, 6400]),
    degree=Steps(-10, 60, 0.5),
    counted_from="absolute",
    base=Steps(-5, 25, 0.5),
    vacuum=TableEntries(
        unit="kPa", rpm=[800, 1600, 2400, 3600, 5000], vacuum=[0, 20, 40, 60], degrees=Steps(-5, 25, 0.5)
    ),
    boost=BoostNodes(unit="kPa", boost=[0, 30, 60, 90], degrees=Steps(0, 20, 0.5)),
    dwell_ms=Steps(1, 8, 0.1),
    rev_limit_rpm=Steps(2000, 8000, 50),
    rev_limit_manners=("soft", "hard"),
    repeated_sparks=True,
    entries=(
        EntryWord("dwell", "coil charging time"),
        EntryWord("base", "static timing"),
        EntryWord("node", "spark at speed"),
        EntryWord("vacuum_cell", "vacuum cell"),
        EntryWord("boost_node", "boost retard at"),
        EntryWord("repeated_sparks", "starting sparks", (("on", "many"), ("off", "one"))),
        EntryWord("rev_limit", "highest rpm"),
        EntryWord("rev_limit_manner", "limiter", (("soft", "in turn"), ("hard", "all"))),
    ),
)

# Few nodes that may stand where one likes: their speeds are keyed in as well, and the pressures are in millibars.
QUILL = UnitType(
    nodes=FreeNodes(6, Steps(400, 8000, 200)),
    degree=Steps(0, 45, 0.2),
    counted_from="base",
    base=Steps(0, 20, 0.2),
    vacuum=RampEntries(
        unit="mbar",
        start=Steps(0, 500, 25),
        full=Steps(50, 800, 25),
        degrees=Steps(0, 24, 0.2),
        from_rpm=Steps(0, 3000, 200),
    ),
    boost=RampEntries(unit="psi", start=Steps(0, 10, 0.5), full=Steps(1, 20, 0.5), degrees=Steps(0, 12, 0.2)),
    dwell_ms=Steps(0.5, 6, 0.25),
    rev_limit_rpm=Steps(2500, 9500, 100),
    rev_limit_manners=("soft",),
    repeated_sparks=True,
    entries=(
        EntryWord("base", "timing at rest"),
        EntryWord("node_rpm", "speed point"),
        EntryWord("node", "timing at the point"),
        EntryWord("rev_limit", "engine speed limit"),
        EntryWord("vacuum_from_rpm", "vacuum from speed"),
        EntryWord("vacuum_start", "vacuum begins"),
        EntryWord("vacuum_full", "vacuum ends"),
        EntryWord("vacuum_degrees", "vacuum adds"),
        EntryWord("boost_start", "boost begins"),
        EntryWord("boost_full", "boost ends"),
        EntryWord("boost_degrees", "boost takes off"),
        EntryWord("dwell", "dwell time"),
        EntryWord("repeated_sparks", "multiple sparks", (("on", "yes"), ("off", "no"))),
    ),
)

EXAMPLES: dict[str, UnitType] = {"Tern 8": TERN, "Fallow 14": FALLOW, "Quill 6": QUILL}
