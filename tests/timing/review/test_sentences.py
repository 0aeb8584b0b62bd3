"""What each finding says, word for word: the one place where the prose of a review is quoted."""

import dataclasses

import pytest

from tests.timing.review.reviewed import COIL, ENGINE, MAP, UNIT, changed, coil, curve, engine
from timing.coil import Primary
from timing.curve import AdvanceCurve
from timing.distributor import TriggerPlace
from timing.review import CoilFacts, PinkingNote, ReviewLimits, RotorFacts, review
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

LEVEL = AdvanceCurve([1000], [0])
LOW_OHM = Primary(0.7, 4.5, 13.8, wiring_ohm=0.15, switch_drop_v=1.0)
RANGE_8_TO_40 = changed(curve=AdvanceCurve([500, 1000, 6000], [0, 0, 32]), vacuum=None, rev_limit_rpm=6000)
STEPS = VacuumTable(rpm=[1000, 2000], vacuum=[20, 40, 60], degrees=[[0, 0], [2, 2], [4, 12]])

SAID = [
    (
        {"map": curve([500, 1000, 5000], [0, 0, 40])},
        "full-load-advance",
        "At full load the total advance is 48° at 5000 rpm; the usual limit is 38°. Take out 10°, or write down why"
        " this engine takes it.",
    ),
    (
        {"map": changed(base_deg=12, curve=LEVEL)},
        "too-little-advance",
        "At full load the total advance is only 12° at 2500 rpm. At least 15° is usual there: check base timing,"
        " signs and missing points.",
    ),
    (
        {"map": changed(base_deg=0.5, curve=LEVEL)},
        "too-little-advance",
        "At full load the total advance is only 0.5° at 2500 rpm. At least 15° is usual there: check base timing,"
        " signs and missing points.",
    ),
    (
        {"map": changed(base_deg=-4, curve=LEVEL)},
        "too-little-advance",
        "At full load the spark comes 4° after top dead centre at 2500 rpm. At least 15° is usual there: check base"
        " timing, signs and missing points.",
    ),
    (
        {"engine": engine(light_load_limit_deg=37)},
        "light-load-advance",
        "At light load the total advance is 37.7° at 5800 rpm and 45 kPa of vacuum. This engine's limit is 37°: take"
        " out 0.7°, from the vacuum part first.",
    ),
    (
        {"map": changed(vacuum=VacuumRamp(15, 45, 23.5, 1200), rev_limit_rpm=6000)},
        "total-advance",
        "The total advance is 55.5° at 6000 rpm and 45 kPa of vacuum. No road engine needs more than 55°. Look for a"
        " slipped digit, or a base counted twice.",
    ),
    (
        {"map": changed(base_deg=12.5)},
        "cranking-advance",
        "Below 500 rpm, at cranking speed, the total advance is 12.5°. Keep it to 12° or less there.",
    ),
    (
        {"map": curve([500, 1000, 2000, 6000], [0, 0, 25.2, 29])},
        "steep-slope",
        "The speed curve rises by 25.2° per 1000 rpm from 1000 to 2000 rpm. More than 25° is unusual: spread the rise"
        " over more speed.",
    ),
    (
        {"map": curve([500, 1000, 2500, 4000, 6000], [0, 0, 18, 16, 22])},
        "dip",
        "The speed curve falls from 18° to 16° from 2500 to 4000 rpm. Check for a mistyped point; if it is meant,"
        " write down why.",
    ),
    (
        {"map": curve([500, 900, 1500, 6000], [4, 2, 6, 24])},
        "falls-through-idle",
        "The speed curve falls from 4° to 2° from 500 to 900 rpm, at idle or below. Leave it if it is meant to hold"
        " the idle steady.",
    ),
    (
        {"map": curve([500, 1000, 1500, 6000], [0, 0, 10, 10])},
        "curve-stops-rising",
        "The speed curve does not rise above 1500 rpm: it adds 10° there and never more. Check that all points were"
        " entered.",
    ),
    (
        {"map": curve([500, 700, 900, 6000], [0, 0, 1.2, 24])},
        "idle-hunting",
        "The speed curve rises by 1.2° from 700 to 900 rpm, across the idle at 800 rpm. Keep it level there, or"
        " within 1°.",
    ),
    (
        {"map": changed(vacuum=VacuumRamp(15, 45, 7, 1200))},
        "vacuum-comes-at-once",
        "At 1200 rpm up to 7° of vacuum advance come at once; more than 6° is felt. Set that speed just above idle,"
        " where nobody drives.",
    ),
    (
        {"map": changed(vacuum=STEPS)},
        "step-between-cells",
        "2 steps between neighbouring cells of the vacuum part are larger than 6°. The largest is 10°, from 2000 rpm"
        " and 40 kPa to 2000 rpm and 60 kPa. Smooth it, or check for a mistyped cell.",
    ),
    (
        {"engine": engine(fuel_ron=94)},
        "low-octane",
        "The owner's fuel has 94 RON, less than 95. Start with less advance at full load. Prove it on the road with a"
        " hot engine before adding any.",
    ),
    (
        {"map": changed(vacuum=VacuumRamp(15, 45, 12)), "engine": engine(vacuum_port="throttle")},
        "no-vacuum-at-idle",
        "The vacuum pipe is on the throttle port, which has no vacuum at idle. Idle at 800 rpm runs on 8°, without"
        " vacuum advance.",
    ),
    (
        {"map": changed(vacuum=VacuumRamp(15, 45, 12)), "engine": engine(idle_vacuum_kpa=30)},
        "vacuum-half-on-at-idle",
        "At idle, 800 rpm and 30 kPa, the vacuum part adds 6° and swings by 4°. Let it act from a higher speed, or"
        " have it off or fully on at idle.",
    ),
    (
        {"map": changed(vacuum=VacuumRamp(20, 20.1, 20, 1200))},
        "steep-vacuum",
        "Near 20 kPa the vacuum part changes by 20°, at 200° per kPa. More than 2° is felt: spread it over more"
        " vacuum.",
    ),
    (
        {"map": changed(vacuum=VacuumRamp(20, 60, 12, 1200)), "altitude_m": 2000},
        "vacuum-never-full",
        "The vacuum advance is full at 60 kPa, but at 2000 m there is never more than 49.5 kPa. It gives 8.9° of its"
        " 12°: let it be full by 49.5 kPa.",
    ),
    (
        {"map": changed(vacuum=STEPS), "altitude_m": 2000},
        "vacuum-rows-never-reached",
        "One row of the vacuum table, from 60 kPa on, is never reached. At 2000 m there is never more than 49.5 kPa:"
        " check the highest row that is.",
    ),
    (
        {"engine": engine(boosted=True)},
        "no-boost-retard",
        "The engine is boosted, and the map takes nothing out under boost. Add retard under boost, and prove it on a"
        " dynamometer.",
    ),
    (
        {"map": changed(boost=BoostRetard([0, 50], [0, 0])), "engine": engine(boosted=True)},
        "no-boost-retard",
        "The engine is boosted, and the map takes nothing out under boost. Add retard under boost, and prove it on a"
        " dynamometer.",
    ),
    (
        {"map": changed(boost=BoostRetard([0, 100], [0, 0.5])), "engine": engine(boosted=True)},
        "no-boost-retard",
        "At 100 kPa of boost the map takes out only 0.5°. Usual is at least 5°. Add retard under boost, and prove it"
        " on a dynamometer.",
    ),
    (
        {"map": changed(boost=BoostRetard([0, 50], [0, 6]))},
        "boost-retard-unused",
        "The map takes out 6° under boost, and the engine has none. Check which is right.",
    ),
    (
        {"map": changed(rev_limit_rpm=None)},
        "no-rev-limit",
        "No rev limit is set. Set one, or write down what else keeps the engine from turning too fast.",
    ),
    (
        {"map": changed(rev_limit_rpm=6100)},
        "rev-limit-over-red-line",
        "The rev limit of 6100 rpm is above the red line of 6000 rpm. Lower it to the red line or less.",
    ),
    (
        {"map": changed(rev_limit_rpm=6400)},
        "rev-limit-over-red-line",
        "The rev limit of 6400 rpm is above the red line of 6000 rpm, by more than 5 %. Lower it to the red line or"
        " less.",
    ),
    (
        {"map": curve([500, 2500, 5000], [0, 14, 24])},
        "rev-limit-beyond-curve",
        "The curve still rises at its last point, 5000 rpm, and is held from there. The rev limit is 5800 rpm: add a"
        " point there, or check that 24° is meant.",
    ),
    (
        {"map": changed(rev_limit_rpm=4500)},
        "rev-limit-below-curve",
        "The curve still changes by 2° above the rev limit, up to 6000 rpm. Check that a limit of 4500 rpm is meant.",
    ),
    (
        {"engine": engine(cylinders=6, rotor=None, has_distributor=False)},
        "dwell-does-not-fit",
        "3.5 ms of dwell beside 1 ms of spark fit up to 4444 rpm. At 5800 rpm 2.45 ms are left: 2.5 A and 25 mJ"
        " instead of 36 mJ. Ask for 2.4 ms or less, or take a coil that charges faster.",
    ),
    (
        {"map": changed(dwell_ms=1.4)},
        "weak-spark-at-top-speed",
        "At 5800 rpm the spark has 11.8 mJ; below 15 mJ it may fail. Give more dwell if it fits, a lower rev limit, or"
        " another coil.",
    ),
    (
        {"map": changed(dwell_ms=2.8)},
        "modest-spark",
        "With its whole dwell the coil holds 29.0 mJ; 30 mJ is ordinary. That is enough for an engine in good order.",
    ),
    (
        {"coil": coil(heat_limit_w=8)},
        "coil-too-hot",
        "The coil's winding takes 8.4 W at 5800 rpm; its limit is 8 W. Ask for less dwell, or fit the ballast or the"
        " coil the unit is meant for.",
    ),
    (
        {"coil": coil(primary=LOW_OHM, most_current_a=6)},
        "coil-current",
        "At 13.8 V, 3.5 ms of dwell bring the coil to 7.3 A. Its limit is 6 A. Ask for less dwell, fit a ballast, or"
        " take a unit that limits the current.",
    ),
    (
        {"coil": coil(primary=dataclasses.replace(LOW_OHM, inductance_mh=None))},
        "coil-current",
        "At 13.8 V the coil's resistance alone allows 15.1 A. No limit is recorded, and 8 A is usual. Ask for less"
        " dwell, fit a ballast, or take a unit that limits the current.",
    ),
    (
        {"coil": coil(primary=dataclasses.replace(COIL.primary, inductance_mh=None))},
        "coil-at-rest",
        "At 13.8 V the coil's resistance alone allows 4.0 A. Left on at that current, its winding takes 48 W.",
    ),
    (
        {
            "map": changed(dwell_ms=5.0, rev_limit_rpm=4800),
            "coil": CoilFacts(Primary(1.5, 6.5, 13.8, 1.5, wiring_ohm=0.2, switch_drop_v=1.0), cranking_v=7),
        },
        "weak-spark-cranking",
        "At 7 V, while cranking, 5 ms charge the coil to 1.7 A and 9.6 mJ. Below 15 mJ it may not start. By-pass the"
        " ballast while cranking.",
    ),
    (
        {"coil": coil(heat_limit_w=40)},
        "coil-left-on",
        "With ignition on and engine stopped the coil would take 4.0 A and 48 W; its limit is 40 W. Prove that the"
        " unit switches it off before the ignition is left on.",
    ),
    (
        {"map": changed(repeated_sparks=True), "engine": engine(tachometer="coil current")},
        "repeated-sparks-tachometer",
        "Repeated sparks are on, and the coil's current drives the tachometer. Switch them off, or give the"
        " tachometer a signal of its own.",
    ),
    (
        {"engine": engine(trigger_deg=37)},
        "beyond-trigger",
        "The total advance reaches 37.7° at 5800 rpm; the trigger's edge comes at 37°. Such sparks are timed from the"
        " edge before, less exactly while the speed changes.",
    ),
    (
        {"engine": engine(trigger_deg=37, times_from_edge_before=False)},
        "beyond-trigger",
        "The total advance reaches 37.7° at 5800 rpm; the trigger's edge comes at 37°. This unit cannot time a spark"
        " from the edge before. Keep the map below the edge, or set it earlier.",
    ),
    (
        {"map": RANGE_8_TO_40, "engine": engine(rotor=RotorFacts(20, 7, 4, 0.7, 8))},
        "rotor-phasing",
        "At 40° the rotor tip clears its terminal by 0.1 mm. Limit: 1 mm of overlap. Set the rotor so that tip "
        "and terminal are in"
        " line at 24°, not 8°.",
    ),
    (
        {
            "map": RANGE_8_TO_40,
            "engine": engine(rotor=RotorFacts(20, 8, 4, 0.7)),
            "limits": ReviewLimits(rotor_ratio=90),
        },
        "rotor-phasing",
        "At 8° the next terminal is only 32.3 times as far as the own; the limit is 90 times. Even centred, "
        "8° to 40° is"
        " too wide for this rotor and cap.",
    ),
    (
        {"engine": engine(rotor=RotorFacts(20, 8, 4, 0.7))},
        "rotor-not-measured",
        "Tip and terminal must be in line at 22.9°: the map goes from 8° to 37.7°. Record where the trigger sits: it"
        " decides what to move.",
    ),
    (
        {"engine": engine(rotor=RotorFacts(20, 8, 4, 0.7, trigger_place=TriggerPlace.DISTRIBUTOR))},
        "rotor-not-measured",
        "Tip and terminal must be in line at 22.9°: the map goes from 8° to 37.7°. Measure how far the tip is from its"
        " terminal at the trigger's edge.",
    ),
    (
        {"engine": engine(rotor=RotorFacts(20, 8, 4, 0.7, trigger_place=TriggerPlace.CRANK_OR_CAMSHAFT))},
        "rotor-not-measured",
        "Tip and terminal must be in line at 22.9°: the map goes from 8° to 37.7°. Measure the crank angle "
        "at which they"
        " are in line; the body sets it.",
    ),
    (
        {"engine": engine(rotor=RotorFacts(tip_radius_mm=20))},
        "missing-rotor",
        "Not recorded: the rotor tip's width, the cap terminal's width and the rotor's air gap. Cannot check without it"
        " whether the rotor tip still faces its terminal at both ends of the advance.",
    ),
    (
        {"engine": engine(rotor=RotorFacts(20, 8, 4))},
        "missing-rotor",
        "Not recorded: the rotor's air gap. Cannot check without it whether the rotor tip still faces its terminal at"
        " both ends of the advance.",
    ),
    (
        {"altitude_m": None},
        "missing-altitude",
        "Not recorded: the workshop's altitude. Cannot check without it whether the engine makes the vacuum the map"
        " needs.",
    ),
    (
        {"pinking": [PinkingNote(3000, 3, 26)]},
        "pinking-unchanged",
        "Pinking was noted at 3000 rpm and 3 kPa of vacuum, with 26° of advance. This version gives 26° there: take"
        " some out, or write down why not.",
    ),
    (
        {"pinking": [PinkingNote(3000, 3, 28, 1.5)], "unit_type": UNIT},
        "retard-rounded",
        "1.5° less was suggested at 3000 rpm and 3 kPa of vacuum. The unit steps by 1°: that was rounded up to 2°.",
    ),
    (
        {"pinking": [PinkingNote(3000, 3, 27, 4)], "unit_type": UNIT},
        "retard-rounded",
        "4° less was suggested at 3000 rpm and 3 kPa of vacuum. This version takes out 1°, which is less.",
    ),
    (
        {
            "map": changed(curve=AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])),
            "unit_type": UNIT,
            "limits": ReviewLimits(deviation_deg=0.5),
        },
        "fit-deviation",
        "The unit's curve is up to 0.6° away from the curve as set, at 1400 rpm. The limit is 0.5°: move a bend of the"
        " curve to one of the unit's points, or accept it.",
    ),
    (
        {"map": changed(dwell_ms=3.52), "unit_type": UNIT},
        "fit-rounding",
        "The unit rounds dwell from 3.52 to 3.5 ms.",
    ),
    (
        {"map": changed(dwell_ms=9), "unit_type": UNIT},
        "unit-cannot-hold",
        "The unit cannot hold this map. Dwell is 9 ms, the unit holds 1.0 to 6.0. Change the map, or take another"
        " unit.",
    ),
    (
        {"engine": engine(fuel_ron=None)},
        "missing-octane",
        "Not recorded: the octane of the fuel. Cannot check without it how close to pinking the full-load advance is.",
    ),
]


@pytest.mark.parametrize(
    ("case", "code", "sentence"), SAID, ids=[f"{code}-{at}" for at, (_, code, _) in enumerate(SAID)]
)
def test_a_finding_is_said_in_these_words(case, code, sentence):
    known = {"map": MAP, "engine": ENGINE, "coil": COIL, "altitude_m": 300} | case
    assert sentence in [found.sentence for found in review(**known) if found.code == code]


def test_every_finding_is_quoted_here():
    quoted = {code for _, code, _ in SAID}
    assert quoted >= {
        found.code
        for case, _, _ in SAID
        for found in review(**({"map": MAP, "engine": ENGINE, "coil": COIL, "altitude_m": 300} | case))
        if not found.code.startswith("missing-")
    }
