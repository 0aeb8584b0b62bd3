"""The advice of the distributor in whole sentences, as a mechanic reads it, word for word: quoted here alone."""

import numpy as np
import pytest

from timing.distributor import (
    CrankTrigger,
    DistributorTrigger,
    capsule_leak,
    compare_capsule,
    compare_dwell,
    compare_sweep,
    factory_band,
    rotor_advice,
    rotor_phasing,
)
from timing.vacuum import VacuumRamp

BAND = factory_band([(400, 0, 0.5), (600, 1, 3), (900, 5, 7), (1500, 8.5, 10.5), (2250, 11, 13)])
SPEEDS = np.array([700, 1000, 1400, 1800, 2500, 3200, 4000, 4600.0])
MIDDLE = BAND.middle.advance(SPEEDS)
RAMP = VacuumRamp(10, 40, 14)
EVERY_5, EVERY_10 = np.arange(0, 71, 5.0), np.arange(0, 71, 10.0)
PULLS = RAMP.advance(vacuum=EVERY_5)
FOUR = (4, 8, 40, 20, 7, 4, 0.7)


def wear(advances, more=()):
    found = compare_sweep([*zip(SPEEDS, advances, strict=False), *more], BAND)
    return " ".join(finding.sentence for finding in found.findings)


def capsule(advances, vacua=EVERY_5):
    return " ".join(finding.sentence for finding in compare_capsule(advances, RAMP, vacuum_kpa=vacua).findings)


def pulling(start, full, degrees, vacua=EVERY_5):
    return np.interp(vacua, (start, full), (0, degrees))


def dwell(*figures):
    return " ".join(compare_dwell(*figures).sentences)


def rotor(*cap, **limits):
    *advice, proof = rotor_phasing(*cap, **limits).sentences
    assert proof == PROOF
    return " ".join(advice)


def remedies(setting, cap=FOUR, **options):
    return [" ".join(remedy.sentences) for remedy in rotor_advice(rotor_phasing(*cap), setting, **options).remedies]


PROOF = (
    "Prove it with a cut-open old cap and the strobe on that lead: at cranking, idle and the highest advance. A cap "
    "with carbon tracks inside fails whatever the geometry says."
)

WEAR = [
    (
        lambda: wear(MIDDLE),
        "Within the band at 8 speeds from 700 to 4600 rpm.",
    ),
    (
        lambda: wear(BAND.middle.advance(SPEEDS + 600)),
        "Weak or stretched springs: from 700 to 2500 rpm the advance comes too soon. Most: 5.8° above the "
        "band at 1000 rpm. The full advance is right.",
    ),
    (
        lambda: wear(0.6 * MIDDLE),
        "Seized or sticky weights: from 1400 to 4600 rpm the advance is late and short of full. Most: 7.6° "
        "below the band at 4600 rpm. It moved 14.1° in all.",
    ),
    (
        lambda: wear(BAND.middle.advance(SPEEDS - 500)),
        "Sticky weights or springs too strong: from 1400 to 2500 rpm the advance comes late. Most: 4.7° below"
        " the band at 1800 rpm. It is full in the end.",
    ),
    (
        lambda: wear(1.4 * MIDDLE),
        "Weak or stretched springs: from 1400 to 4000 rpm the advance comes too soon. Most: 6.9° above the "
        "band at 4000 rpm. Too much advance: at 4600 rpm the full advance is up to 7.6° above the band. Look "
        "for a worn or missing stop, or parts or data of another distributor.",
    ),
    (
        lambda: wear(MIDDLE + 5),
        "Base timing or mark: every reading is about 5.0° early, with the weights at rest as well. First "
        "check base timing, the mark against the piston stop, and how the distributor is set.",
    ),
    (
        lambda: wear(MIDDLE + 6 * (SPEEDS == 1800)),
        "Only the reading at 1800 rpm is outside, 4.0° above the band. Take it again, and one on either side.",
    ),
    (
        lambda: wear(MIDDLE, [(500, -3), (600, -3)]),
        "Base timing or mark: from 500 to 600 rpm, at rest, the spark is up to 3.0° below base timing. "
        "Weights cannot do that: check the base timing taken off.",
    ),
    (
        lambda: wear(MIDDLE, [(n, a + 3 * (800 < n < 4500), "falling") for n, a in zip(SPEEDS, MIDDLE, strict=True)]),
        "Sticky weights: with revs falling the advance is up to 3.0° more than rising, at 1400 rpm. Average "
        "2.2° over 8 speeds; limit 2.0°.",
    ),
    (
        lambda: wear(MIDDLE, [(1500, 8 + off) for off in (-2, 1, 2, -1)]),
        "Worn shaft, drive or chain: at a constant 1500 rpm the readings are 4.0° apart; limit 2.0°. Scatter "
        "over all repeated speeds 1.8°; limit 1.0°. Feel the shaft for side play, and rock the crank for "
        "slack in the drive.",
    ),
    (
        lambda: wear(np.array([5.0, 9.0])),
        "Not enough for springs and weights: 2 speeds read, 4 needed, from idle to full advance.",
    ),
    (
        lambda: wear(np.array([0.5, 0.5, 2, 6, 11])),
        "Sticky weights or springs too strong: from 1400 to 2500 rpm the advance comes late. Most: 4.0° below"
        " the band at 1800 rpm. Full advance was not read.",
    ),
]

BENCH = [
    (
        lambda: capsule(PULLS),
        "The capsule moves as its data say. It begins between 8 and 12 kPa and gives 13.3 to 14.8°.",
    ),
    (
        lambda: capsule(pulling(20, 50, 14)),
        "The advance begins late, between 18 and 22 kPa; the data say 10 kPa. Look for a stiff plate, a "
        "strong spring or a small leak.",
    ),
    (
        lambda: capsule(pulling(0, 30, 14)),
        "The advance begins early, between 0 and 2 kPa; the data say 10 kPa. Look for a weak spring or "
        "another distributor's capsule.",
    ),
    (
        lambda: capsule(pulling(10, 60, 14)),
        "The advance rises too slowly: it gains 9.3° or less where the data gain 14.0°. Look for a strong "
        "spring, a leak or a stiff plate.",
    ),
    (
        lambda: capsule(pulling(10, 20, 14)),
        "The advance rises too fast: it gains 37.5° or more where the data gain 14.0°. Look for a weak spring"
        " or another distributor's capsule.",
    ),
    (
        lambda: capsule(pulling(10, 30, 9.5)),
        "The full advance is short, 8.8 to 10.3°; the data say 14.0°. Look for a leak, a sticking plate or "
        "another capsule.",
    ),
    (
        lambda: capsule(pulling(10, 50, 19)),
        "The full advance is too much, 18.2 to 19.9°; the data say 14.0°. Look for another distributor's "
        "capsule or stop.",
    ),
    (
        lambda: capsule(np.where((EVERY_5 >= 25) & (EVERY_5 < 44), 7.0, PULLS)),
        "The plate sticks: from 25 kPa on the advance stays near 7.0°, then catches up. Free the plate and "
        "its pivot, then read again.",
    ),
    (
        lambda: capsule(np.where(EVERY_5 >= 60, 5.0, PULLS)),
        "The advance falls back at 60 kPa, by 8.3 to 9.7°. Look for a diaphragm or pipe that gives way under "
        "high vacuum.",
    ),
    (
        lambda: capsule(np.where(EVERY_5 >= 70, 5.0, PULLS)),
        "The advance falls back at 70 kPa, by 7.9 to 10.1°. Read it again before anything is renewed. Look "
        "for a diaphragm or pipe that gives way under high vacuum.",
    ),
    (
        lambda: capsule(0 * EVERY_5 + 0.2),
        "The capsule does not move the plate: 0.2° at 70 kPa, 14.0° due. Look for a torn diaphragm, a blocked"
        " pipe or a seized plate.",
    ),
    (
        lambda: capsule(PULLS + 5 * (EVERY_5 == 5)),
        "The reading at 5 kPa is 5.0° above the line of the others. Take it again, and one on either side.",
    ),
    (
        lambda: capsule(PULLS + np.tile([3, -3, 0, 2, -2], 3)),
        "The readings scatter too much to show a ramp. Hold the speed steady and read again.",
    ),
    (
        lambda: capsule(np.append(pulling(10, 40, 14, EVERY_10), pulling(10, 30, 14, EVERY_10)), np.tile(EVERY_10, 2)),
        "The plate sticks: two readings at 20 kPa are 2.3° apart. Free the plate and its pivot, then read "
        "again, vacuum rising and falling.",
    ),
    (
        lambda: capsule([9.33, 14], [30, 50]),
        "Not known where the advance begins: between 0 and 29 kPa. Take readings just below and just above 10 kPa.",
    ),
    (
        lambda: capsule([0, 0, 0, 2.33, 4.67, 7, 9.33], [0, 5, 10, 15, 20, 25, 30]),
        "Not known whether it comes to full advance: no reading at 40 kPa or more.",
    ),
    (
        lambda: capsule([0, 0], [0, 10]),
        "Not enough vacuum: take readings above 10 kPa, where the advance should begin.",
    ),
    (
        lambda: capsule_leak(50, 47, 30).sentence,
        "The capsule holds: 3.0 of 50 kPa lost in 30 s. Limit: 5.0 kPa.",
    ),
    (
        lambda: capsule_leak(40, 30, 10).sentence,
        "The capsule leaks: 10.0 of 40 kPa lost in 10 s. That is 28.9 kPa in 30 s from 50 kPa. Limit: 5.0 "
        "kPa. Test it without its pipe and renew whichever leaks.",
    ),
    (
        lambda: capsule_leak(50, 49, 10).sentence,
        "Test too short or too weak: 1.0 of 50 kPa lost in 10 s. That is 2.9 kPa in 30 s from 50 kPa. Hold 50"
        " kPa for 30 s.",
    ),
    (
        lambda: dwell(55, 50, 60),
        "Dwell is 55 distributor degrees; the data say 60 ± 3. Close the points gap. Dwell changes by −5 "
        "distributor degrees from idle to speed. Limit: 3. Look for a worn shaft or bushes, or a loose plate.",
    ),
    (
        lambda: dwell(55, 60, 50),
        "Dwell is 55 distributor degrees; the data say 50 ± 3. Open the points gap. Dwell changes by +5 "
        "distributor degrees from idle to speed. Limit: 3. Look for a worn shaft or bushes, or a loose plate.",
    ),
    (
        lambda: dwell(55, 56),
        "Dwell is 55 distributor degrees at idle and changes by +1 at speed.",
    ),
]

ROTOR = [
    (
        lambda: rotor(*FOUR),
        "From 8° to 40° the tip overlaps its terminal by 2.7 mm or more. Any other terminal is 33.0 times as "
        "far or more.",
    ),
    (
        lambda: rotor(*FOUR, 40),
        "At 8° the rotor tip is 16.0 distributor degrees past its terminal and clears it by 0.1 mm. Limit: 1 mm "
        "of overlap. Set tip and terminal in line at 24° instead of 40°: the middle of the range.",
    ),
    (
        lambda: rotor(8, 6, 46, 24, 9, 5, 0.7, 6),
        "At 46° the rotor tip is 20.0 distributor degrees before its terminal and clears it by 1.4 mm. Limit: 1 "
        "mm of overlap. At 46° the spark has 1.5 mm to its own terminal, 3.5 mm to the terminal just left. The "
        "cylinder of that terminal is at the end of its expansion. Limit: 5 times as far. Set tip and terminal in "
        "line at 26° instead of 6°: the middle of the range.",
    ),
    (
        lambda: rotor(8, 6, 46, 24, 9, 5, 0.7, 46),
        "At 6° the rotor tip is 20.0 distributor degrees past its terminal and clears it by 1.4 mm. Limit: 1 mm "
        "of overlap. At 6° the spark has 1.5 mm to its own terminal, 3.5 mm to the next terminal. The cylinder of "
        "that terminal holds fresh charge: the dangerous side. Limit: 5 times as far. Set tip and terminal in line at"
        " 26° instead of 46°: the middle of the range.",
    ),
    (
        lambda: rotor(6, 6, 42, 21, 8, 4, 0.7, 10),
        "At 42° the rotor tip is 16.0 distributor degrees before its terminal and overlaps it by only 0.1 mm. "
        "Limit: 1 mm of overlap. Set tip and terminal in line at 24° instead of 10°: the middle of the range.",
    ),
    (
        lambda: rotor(4, 0, 60, 20, 7, 4, 0.7),
        "At 0° the rotor tip is 15.0 distributor degrees past its terminal and overlaps it by only 0.3 mm. Limit:"
        " 1 mm of overlap. At 60° the rotor tip is 15.0 distributor degrees before its terminal and overlaps it "
        "by only 0.3 mm. Limit: 1 mm of overlap. From 0° to 60° is too wide for this rotor and cap, even in "
        "line at the middle. Narrow the range to 51°. A rotor with a wider tip serves this range: 8.5 to 31.4"
        " mm wide.",
    ),
    (
        lambda: rotor(4, 8, 9, 20, 0.5, 0.5, 0.7, 8.5),
        "At 8° the rotor tip is 0.2 distributor degrees past its terminal and overlaps it by only 0.4 mm. "
        "Limit: 1 mm of"
        " overlap. At 9° the rotor tip is 0.2 distributor degrees before its terminal and overlaps it by only 0.4 mm."
        " Limit: 1 mm of overlap. This rotor and cap serve no range of advance, however they are set. A rotor with a"
        " wider tip serves this range: 1.7 to 31.4 mm wide.",
    ),
    (
        lambda: rotor(*FOUR, least_overlap_mm=6),
        "At 8° the rotor tip is 8.0 distributor degrees past its terminal and overlaps it by only 2.7 mm. Limit: "
        "6 mm of overlap. At 40° the rotor tip is 8.0 distributor degrees before its terminal and overlaps it by "
        "only 2.7 mm. Limit: 6 mm of overlap. This rotor and cap serve no range of advance, however they are "
        "set. A rotor with a wider tip serves this range: 13.6 to 31.4 mm wide.",
    ),
    (
        lambda: rotor(8, 24, 24, 24, 9, 5, 4),
        "At 24° the spark has 4.0 mm to its own terminal, 12.5 mm to either neighbour. Limit: 5 times as "
        "far. This rotor and cap serve no range of advance, however they are set. No other width of tip "
        "serves this range under this cap.",
    ),
    (
        lambda: rotor(8, 6, 46, 24, 18, 5, 0.7),
        "At 6° the spark has 0.7 mm to its own terminal, 3.2 mm to the next terminal. The cylinder of that "
        "terminal holds"
        " fresh charge: the dangerous side. Limit: 5 times as far. At 46° the spark has 0.7 mm to its own "
        "terminal, 3.2 mm to the terminal just left. The cylinder of that terminal is at the end of its "
        "expansion. Limit:"
        " 5 times as far. From 6° to 46° is too wide for this rotor and cap, even in line at the middle. "
        "Narrow the range to 37°. A rotor with a narrower tip serves this range: 5.4 to 17.4 mm wide.",
    ),
    (
        lambda: rotor(12, 6, 46, 20, 5, 4, 0.7),
        "At 6° the spark has 0.7 mm to its own terminal, 2.6 mm to the next terminal. The cylinder of that "
        "terminal holds"
        " fresh charge: the dangerous side. Limit: 5 times as far. At 46° the spark has 0.7 mm to its own "
        "terminal, 2.6 mm to the terminal just left. The cylinder of that terminal is at the end of its "
        "expansion. Limit:"
        " 5 times as far. From 6° to 46° is too wide for this rotor and cap, even in line at the middle. "
        "Narrow the range to 29°. No other width of tip serves this range under this cap.",
    ),
]

REMEDIES = [
    (
        lambda: remedies(DistributorTrigger(8, 0), rotor_clockwise=True, rim_radius_mm=40, unit_takes_edge=True),
        [
            "Move the plate or pick-up 8.0 distributor degrees (5.6 mm) with the turn of the rotor, clockwise. "
            "Then turn the body 8.0 distributor degrees (5.6 mm) against the turn of the rotor, anticlockwise. "
            "That brings the edge back to 8° BTDC.",
            "Re-index the rotor 8.0 distributor degrees (2.8 mm) with the turn of the rotor, clockwise. A rotor "
            "with its tip offset that way does the same.",
            "Turn the body 8.0 distributor degrees (5.6 mm) against the turn of the rotor, anticlockwise. Tell "
            "the unit that its edge comes at 24° BTDC; base timing stays.",
            "Keep the advance between 8° and 33° BTDC; nothing is moved.",
        ],
    ),
    (
        lambda: remedies(DistributorTrigger(40, 0), rotor_clockwise=False),
        [
            "Move the plate or pick-up 8.0 distributor degrees against the turn of the rotor, clockwise. Then "
            "turn the body 8.0 distributor degrees with the turn of the rotor, anticlockwise. That brings the "
            "edge back to 40° BTDC.",
            "Re-index the rotor 8.0 distributor degrees (2.8 mm) against the turn of the rotor, clockwise. A "
            "rotor with its tip offset that way does the same.",
            "Keep the advance between 15° and 40° BTDC; nothing is moved.",
        ],
    ),
    (
        lambda: remedies(CrankTrigger(8)),
        [
            "Turn the body 8.0 distributor degrees against the turn of the rotor. Check: with cylinder 1 at 24° "
            "BTDC, firing stroke, the tip points at its terminal.",
            "Re-index the rotor 8.0 distributor degrees (2.8 mm) with the turn of the rotor. A rotor with its tip"
            " offset that way does the same.",
            "Keep the advance between 8° and 33° BTDC; nothing is moved.",
        ],
    ),
    (
        lambda: remedies(DistributorTrigger(8, 0), (4, 0, 60, 20, 7, 4, 0.7)),
        [
            "Move the plate or pick-up 11.0 distributor degrees with the turn of the rotor. Then turn the body "
            "11.0 distributor degrees against the turn of the rotor. That brings the edge back to 8° BTDC. Keep "
            "the advance between 5° and 55° BTDC as well.",
            "Re-index the rotor 11.0 distributor degrees (3.8 mm) with the turn of the rotor. A rotor with its "
            "tip offset that way does the same. Keep the advance between 5° and 55° BTDC as well.",
            "Keep the advance between 0° and 33° BTDC; nothing is moved.",
        ],
    ),
    (
        lambda: list(rotor_advice(rotor_phasing(*FOUR), DistributorTrigger(8, 0)).notes),
        [
            "Locking the weights at another angle does not help: cam and rotor move together.",
            "Turning the body alone does not move the tip at the edge: plate and cap move together.",
            "A spark earlier than 8° BTDC is timed from the edge before, at 188° BTDC. That is less exact while "
            "the speed changes.",
        ],
    ),
    (
        lambda: list(rotor_advice(rotor_phasing(*FOUR), CrankTrigger(8)).notes),
        [
            "This distributor triggers nothing: its body sets the rotor under the cap and leaves the timing alone.",
        ],
    ),
]


@pytest.mark.parametrize(("advice", "sentences"), [*WEAR, *BENCH, *ROTOR, *REMEDIES])
def test_it_is_said_in_these_words(advice, sentences):
    assert advice() == sentences


@pytest.mark.parametrize("advice", [advice for advice, _ in [*WEAR, *BENCH, *ROTOR, *REMEDIES]])
def test_no_sentence_is_longer_than_twenty_words(advice):
    said = advice()
    for sentence in (" ".join(said) if isinstance(said, list) else said).split(". "):
        assert len(sentence.split()) <= 20, sentence
