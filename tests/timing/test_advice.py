"""The advice in whole sentences, as a mechanic reads it: figures, limits and what to do, word for word."""

import numpy as np
import pytest

from timing.distributor import (
    capsule_leak,
    compare_capsule,
    compare_dwell,
    compare_sweep,
    factory_band,
    rotor_phasing,
    sensor_position,
)
from timing.vacuum import VacuumRamp

BAND = factory_band([(400, 0, 0.5), (600, 1, 3), (900, 5, 7), (1500, 8.5, 10.5), (2250, 11, 13)])
SPEEDS = np.array([700, 1000, 1400, 1800, 2500, 3200, 4000, 4600.0])
MIDDLE = BAND.middle.advance(SPEEDS)
RAMP = VacuumRamp(10, 40, 14)


WEAR = [
    (
        MIDDLE,
        [],
        "Within the band at 8 speeds from 700 to 4600 rpm.",
    ),
    (
        BAND.middle.advance(SPEEDS + 600),
        [],
        "Weak or stretched springs: from 700 to 2500 rpm the advance comes too soon, up to 5.8° above the "
        "band (at 1000 rpm), while the full advance is right.",
    ),
    (
        0.6 * MIDDLE,
        [],
        "Seized or sticky weights: from 1400 to 4600 rpm the advance is late and short of full, up to 7.6° "
        "below the band (at 4600 rpm); it moved 14.1° in all.",
    ),
    (
        BAND.middle.advance(SPEEDS - 500),
        [],
        "Sticky weights or too strong springs: from 1400 to 2500 rpm the advance comes late, up to 4.7° below"
        " the band (at 1800 rpm), though it is full in the end.",
    ),
    (
        1.4 * MIDDLE,
        [],
        "Weak or stretched springs: from 1400 to 4000 rpm the advance comes too soon, up to 6.9° above the "
        "band (at 4000 rpm). Too much advance: at 4600 rpm the full advance is up to 7.6° above the band; a "
        "worn or missing stop, or parts or data of another distributor.",
    ),
    (
        MIDDLE + 5,
        [],
        "Base timing or mark: every reading, with the weights at rest as well, is about 5.0° early; check the"
        " base timing taken off, the mark against the piston stop and the setting of the distributor before "
        "springs or weights are blamed.",
    ),
    (
        MIDDLE + 6 * (SPEEDS == 1800),
        [],
        "Cannot tell: only the reading at 1800 rpm is outside, 4.0° above the band; take it again, and one on"
        " either side of it.",
    ),
    (
        MIDDLE,
        [(500, -3), (600, -3)],
        "Base timing or mark: from 500 to 600 rpm, where the weights are at rest, the spark is up to 3.0° "
        "later than base timing alone; the weights cannot do that, so check what was taken off.",
    ),
    (
        MIDDLE,
        [(n, a + 3 * (800 < n < 4500), "falling") for n, a in zip(SPEEDS, MIDDLE, strict=True)],
        "Sticky weights: with the speed falling the advance hangs on, 3.0° more than rising at 1400 rpm, 2.2°"
        " on average over 8 speeds; 2.0° is the limit.",
    ),
    (
        MIDDLE,
        [(1500, 8 + off) for off in (-2, 1, 2, -1)],
        "Worn shaft, drive or chain: at a constant 1500 rpm the readings are 4.0° apart, scatter over all "
        "repeated speeds 1.8°; 2.0° apart and 1.0° of scatter are the limits. Feel the shaft for side play, "
        "and rock the crank for slack in the drive.",
    ),
    (
        np.array([5.0, 9.0]),
        [],
        "Cannot tell how springs and weights are: 2 speeds read, 4 or more are wanted, from idle to full advance.",
    ),
]

BENCH = [
    (
        lambda: capsule_leak(50, 47, 30).sentence,
        "The capsule holds: 3.0 of 50 kPa lost in 30 s, 5.0 kPa is allowed.",
    ),
    (
        lambda: capsule_leak(40, 30, 10).sentence,
        "The capsule leaks: 10.0 of 40 kPa lost in 10 s, in 30 s from 50 kPa that is 28.9 kPa, 5.0 kPa is "
        "allowed; try it without its pipe, and renew whichever leaks.",
    ),
    (
        lambda: capsule_leak(50, 49, 10).sentence,
        "Cannot tell yet: 1.0 of 50 kPa lost in 10 s, in 30 s from 50 kPa that is 2.9 kPa; hold 50 kPa for 30 s.",
    ),
    (
        lambda: _capsule([0, 10, 20, 30, 40], [0, 0, 4.7, 9.3, 14]),
        "The capsule moves as its data say: it begins near 10 kPa and gives 14.0°.",
    ),
    (
        lambda: _capsule([0, 10, 20, 30, 40, 50], [0, 0, 0, 4.7, 9.3, 10]),
        "The advance begins at 20 kPa, 10 kPa late against the data; a stiff plate, a strong spring or a "
        "small leak. The full advance is 10.0°, 4.0° short of the data; a leak, a sticking plate or the "
        "capsule of another distributor.",
    ),
    (
        lambda: _capsule([0, 5, 10, 20, 30, 40], [0, 0, 5, 10, 15, 20]),
        "The advance begins at 5 kPa, 5 kPa early against the data; a weak spring or the capsule of another "
        "distributor. The full advance is 20.0°, 6.0° more than the data; the capsule or the stop of another "
        "distributor.",
    ),
    (
        lambda: _capsule([0, 20, 50], [0, 0, 0.2]),
        "The capsule does not move the plate: 0.2° at 50 kPa where 14.0° is due; a torn diaphragm, a blocked "
        "pipe or a seized plate.",
    ),
    (
        lambda: _capsule([20, 30], [5, 9]),
        "Cannot tell where it begins: a reading below 10 kPa and one just above are missing. Cannot tell "
        "whether it comes to full advance: no reading at 40 kPa or more.",
    ),
    (
        lambda: _capsule([0, 10], [0, 0]),
        "Cannot tell: no reading above 10 kPa, where the advance should begin.",
    ),
    (
        lambda: " ".join(compare_dwell(55, 50, 60).sentences),
        "Dwell is 55 distributor degrees where the data want 60 ± 3: close the points gap. Dwell changes by "
        "-5 distributor degrees between idle and speed, 3 is the limit: the shaft or its bushes are worn, or "
        "the breaker plate is loose.",
    ),
    (
        lambda: " ".join(compare_dwell(55, 60, 50).sentences),
        "Dwell is 55 distributor degrees where the data want 50 ± 3: open the points gap. Dwell changes by +5"
        " distributor degrees between idle and speed, 3 is the limit: the shaft or its bushes are worn, or "
        "the breaker plate is loose.",
    ),
    (
        lambda: " ".join(compare_dwell(55, 56).sentences),
        "Dwell is 55 distributor degrees at idle and changes by +1 at speed.",
    ),
    (
        lambda: sensor_position(60, 24, 46, 4).sentence,
        "With the sensor's edge at 60° the rotor tip must stand 18 distributor degrees before its post; 14° "
        "are left above the highest advance.",
    ),
    (
        lambda: sensor_position(60, 24, 64, 4).sentence,
        "The highest advance, 64°, is not below the sensor's edge at 60°: a unit can only delay, so it would "
        "have to time that spark from the edge before, at 240°. Lower the map or move the sensor.",
    ),
    (
        lambda: _phasing(4, 8, 40, 20, 7, 4, 0.7),
        "The rotor tip covers its post by 2.7 mm or more from 8° to 40°, and is 33.0 times nearer to it than "
        "to any other.",
    ),
    (
        lambda: _phasing(4, 8, 40, 20, 7, 4, 0.7, 40),
        "At 8° the rotor tip is 16.0 distributor degrees past its post and is 0.1 mm clear of its post; 1 mm "
        "of overlap is wanted. Lock the mechanism so that tip and post are in line at 24° instead of 40°, or "
        "re-index the rotor; turning the distributor's body does not change this.",
    ),
    (
        lambda: _phasing(8, 6, 46, 24, 9, 5, 0.7, 6),
        "At 46° the rotor tip is 20.0 distributor degrees before its post and is 1.4 mm clear of its post; 1 "
        "mm of overlap is wanted. At 46° the spark has 1.5 mm to its own post and 3.5 mm to the post just "
        "left, whose cylinder is at the end of its expansion; 5 times as far is wanted. Lock the mechanism so"
        " that tip and post are in line at 26° instead of 6°, or re-index the rotor; turning the "
        "distributor's body does not change this.",
    ),
    (
        lambda: _phasing(8, 6, 46, 24, 9, 5, 0.7, 46),
        "At 6° the rotor tip is 20.0 distributor degrees past its post and is 1.4 mm clear of its post; 1 mm "
        "of overlap is wanted. At 6° the spark has 1.5 mm to its own post and 3.5 mm to the next post, whose "
        "cylinder holds fresh charge: the dangerous side; 5 times as far is wanted. Lock the mechanism so "
        "that tip and post are in line at 26° instead of 46°, or re-index the rotor; turning the "
        "distributor's body does not change this.",
    ),
    (
        lambda: _phasing(6, 6, 42, 21, 8, 4, 0.7, 10),
        "At 42° the rotor tip is 16.0 distributor degrees before its post and covers its post by only 0.1 mm;"
        " 1 mm of overlap is wanted. Lock the mechanism so that tip and post are in line at 24° instead of "
        "10°, or re-index the rotor; turning the distributor's body does not change this.",
    ),
    (
        lambda: _phasing(4, 0, 60, 20, 7, 4, 0.7),
        "At 0° the rotor tip is 15.0 distributor degrees past its post and covers its post by only 0.3 mm; 1 "
        "mm of overlap is wanted. At 60° the rotor tip is 15.0 distributor degrees before its post and covers"
        " its post by only 0.3 mm; 1 mm of overlap is wanted. From 0° to 60° is more than this rotor and cap "
        "can serve even when centred: narrow the range to 51° or fit a rotor with a wider tip.",
    ),
    (
        lambda: _phasing(4, 8, 40, 20, 7, 4, 0.7, least_overlap_mm=6),
        "At 8° the rotor tip is 8.0 distributor degrees past its post and covers its post by only 2.7 mm; 6 "
        "mm of overlap is wanted. At 40° the rotor tip is 8.0 distributor degrees before its post and covers "
        "its post by only 2.7 mm; 6 mm of overlap is wanted. From 8° to 40° is more than this rotor and cap "
        "can serve even when centred: they cannot stay.",
    ),
    (
        lambda: _phasing(8, 24, 24, 24, 9, 5, 4),
        "At 24° the spark has 4.0 mm to its own post and 12.5 mm to either neighbouring post; 5 times as far "
        "is wanted. From 24° to 24° is more than this rotor and cap can serve even when centred: they cannot "
        "stay.",
    ),
]


def _capsule(vacua, advances):
    return " ".join(finding.sentence for finding in compare_capsule(vacua, advances, RAMP).findings)


def _wear(advances, more):
    found = compare_sweep([*zip(SPEEDS, advances, strict=False), *more], BAND)
    return " ".join(finding.sentence for finding in found.findings)


def _phasing(*cap, **limits):
    *advice, proof = rotor_phasing(*cap, **limits).sentences
    assert proof == (
        "Prove it with a cut-open old cap and the strobe on that lead, at cranking, idle and the highest advance. A "
        "cap with carbon tracks inside fails whatever the geometry says."
    )
    return " ".join(advice)


@pytest.mark.parametrize(("advances", "more", "sentence"), WEAR)
def test_a_sweep_is_answered_in_these_words(advances, more, sentence):
    assert _wear(advances, more) == sentence


def test_a_short_sweep_says_all_that_it_cannot_show():
    assert compare_sweep([(1300, 5), (1500, 8)], BAND).not_judged == (
        "No reading with the weights at rest: a wrong base timing cannot be told from the mechanism.",
        "No reading at full advance, near 4500 rpm: whether it is reached is not known.",
        "Rising and falling speed were not both read at two speeds: sticking on the way back is not judged.",
        "No speed was read twice in the same direction: play of shaft and drive is not judged.",
    )


@pytest.mark.parametrize(("advice", "sentence"), BENCH)
def test_the_bench_is_answered_in_these_words(advice, sentence):
    assert advice() == sentence
