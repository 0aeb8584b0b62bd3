"""A sound map in a well-known car, invented, from which the tests of a review change one thing at a time."""

import dataclasses
import re

from timing.coil import Primary
from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.review import CoilFacts, EngineFacts, RotorFacts, review
from timing.unit import FixedNodes, RampEntries, Steps, UnitType
from timing.vacuum import VacuumRamp

# Where the rules of a review come from.
SOURCES = {
    "common practice",
    "US Standard Atmosphere 1976; the lowest manifold pressure is common practice",
    "derived from the coil's resistance and inductance; the limit is common practice",
    "derived from the geometry; the limits are common practice",
    "derived: a delay cannot be negative",
    "the unit type's own figures",
    "the unit type's own figures; the limit is common practice",
}

# The handbook's coil A, and its cap for four cylinders.
COIL = CoilFacts(Primary(3.0, 8.0, 13.8, wiring_ohm=0.2, switch_drop_v=1.0), cranking_v=10.0, heat_limit_w=60.0)
ROTOR = RotorFacts(tip_radius_mm=20, tip_width_mm=8, post_width_mm=4, radial_gap_mm=0.7, aligned_at_deg=27)
ENGINE = EngineFacts(
    cylinders=4,
    idle_rpm=800,
    red_line_rpm=6000,
    idle_vacuum_kpa=60,
    fuel_ron=97,
    boosted=False,
    tachometer="coil voltage",
    trigger_deg=60,
    rotor=ROTOR,
)
UNIT = UnitType(
    nodes=FixedNodes([500, 1000, 1500, 2500, 3500, 4500, 6000]),
    degree=Steps(0, 60, 1),
    base=Steps(0, 30, 1),
    vacuum=RampEntries("kPa", Steps(0, 80, 1), Steps(1, 90, 1), Steps(0, 30, 1), Steps(0, 3000, 100)),
    dwell_ms=Steps(1, 6, 0.1),
    rev_limit_rpm=Steps(3000, 8000, 100),
    rev_limit_manners=("soft",),
    repeated_sparks=True,
)
MAP = IgnitionMap(
    base_deg=8,
    curve=AdvanceCurve([500, 1000, 1500, 2500, 3500, 4500, 6000], [0, 0, 6, 16, 20, 22, 24]),
    vacuum=VacuumRamp(15, 45, 6, 1200),
    dwell_ms=3.5,
    rev_limit_rpm=5800,
    rev_limit_manner="soft",
)


def changed(**figures):
    """The sound map with other figures."""
    return dataclasses.replace(MAP, **figures)


def curve(rpm, degrees):
    """The sound map with another speed curve."""
    return changed(curve=AdvanceCurve(rpm, degrees))


def findings(map_=MAP, engine=ENGINE, unit=UNIT, coil=COIL, altitude_m=300, **more):
    """What a review of it finds, by code."""
    listed = review(map_, engine, unit, coil, altitude_m=altitude_m, **more)
    for found in listed:
        reads_as_prose(found)
    return {found.code: found for found in listed}


def as_set(map_=MAP, engine=ENGINE, coil=COIL, **more):
    """What a review of it finds with no unit to round it, by code."""
    return findings(map_, engine, None, coil, **more)


def says(finding, *values):
    """Whether the finding's sentence has every one of these figures in it."""
    for value in values:
        assert re.search(rf"(?<![\d.]){re.escape(value)}(?!\d)", finding.sentence), (value, finding.sentence)
    return True


def reads_as_prose(found):
    """A finding is whole sentences in ordinary letters, with a reason and a source, and a place that is a range."""
    for text in (found.sentence, found.reason):
        assert re.fullmatch(r"[A-Z0-9].*\.", text), text
        assert not re.search(r"\. [a-z]", text), text
        assert not re.search(r"[A-Z]{2,}", re.sub("RON|BTDC", "", text)), text
        assert not re.search(r"nan|\binf\b|None|_|  ", text), text
        for sentence in re.split(r"(?<=[.!?]) (?=[A-Z0-9])", text):
            assert len(sentence.split()) <= 20, f"words.md: no sentence over 20 words: {sentence}"
    assert found.source in SOURCES
    assert re.fullmatch(r"[a-z0-9-]+", found.code)
    for span in (found.rpm, found.vacuum):
        assert span is None or span[0] <= span[1]


def engine(**figures):
    """The engine with other figures."""
    return dataclasses.replace(ENGINE, **figures)


def coil(**figures):
    """The coil with other figures."""
    return dataclasses.replace(COIL, **figures)
