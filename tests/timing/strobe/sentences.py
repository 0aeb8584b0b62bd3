"""What a strobe session is answered with, word for word: the one place where the tests quote it.

Each row: a name, a session, and the sentence a mechanic reads.
"""

import math

import numpy as np

from tests.timing.published import rows
from tests.timing.strobe.sessions import NOISE, OLD, fine, fit_of, flat, session
from timing.strobe import LampKind, judge, prove_base

FOUR = np.array([900, 2000, 3000, 4000.0])


def worked(name, odd=None, old=OLD, advice=None, **options):
    """A worked set of handbook section 5; `odd` is (place, degrees) added to one measured advance."""
    chosen = [row for row in rows("strobe_readings.csv") if row["set"] == name]
    rpm, measured, expected = ([row[c] for row in chosen] for c in ("rpm", "measured_deg", "map_deg"))
    if odd is not None:
        measured[odd[0]] += odd[1]
    return judge(fit_of(rpm, measured, expected, old, **options), **(advice or {}))


def proof(rpm, measured, base_deg=10, **options):
    return prove_base(rpm=rpm, measured=measured, base_deg=base_deg, **options).verdict


def scattering(scatter):
    """Four readings that scatter by so much about a level line."""
    shape = flat(np.array([1, -1, -1, 1.0]), FOUR)
    return session(rpm=FOUR, noise=scatter * shape / math.sqrt((shape**2).sum() / 2))


SENTENCES = [
    (
        "a delay that the unit can take",
        lambda: worked("S1", advice={"unit_takes_delay": True}),
        "Suspect a delay: the spark comes later as the speed rises, by 119 µs (likely 85 to 154). At 4000 rpm "
        "it is 4.3° late in all. Repeat with another strobe or lead; a dial-back lamp with its dial at 0. If "
        "it stays, enter it in the unit.",
    ),
    (
        "after a delay",
        lambda: worked("S1").then,
        "Apart from the delay the spark is 1.5° late (likely 0.9 to 2.0° late). Turn the distributor body 0.7 "
        "distributor degrees in the advancing direction, against the turn of the rotor. Clamp it and read "
        "again.",
    ),
    (
        "a delay that the unit cannot take",
        lambda: worked("S1"),
        "Suspect a delay: the spark comes later as the speed rises, by 119 µs (likely 85 to 154). At 4000 rpm "
        "it is 4.3° late in all. Repeat with another strobe or lead; a dial-back lamp with its dial at 0. If "
        "it stays, it is the unit's own: allow for it in the map.",
    ),
    (
        "a delay seen with a dial-back lamp",
        lambda: worked("S1", advice={"lamp": LampKind.DIAL_BACK}),
        "Suspect a delay: the spark comes later as the speed rises, by 119 µs (likely 85 to 154). At 4000 rpm "
        "it is 4.3° late in all. A dial-back lamp adds a delay of its own: set its dial to 0 and read the "
        "scale. If it stays, it is the unit's own: allow for it in the map.",
    ),
    (
        "a delay seen with a plain lamp",
        lambda: worked("S1", advice={"lamp": LampKind.PLAIN, "unit_takes_delay": True}),
        "Suspect a delay: the spark comes later as the speed rises, by 119 µs (likely 85 to 154). At 4000 rpm "
        "it is 4.3° late in all. Repeat with another strobe or lead. If it stays, enter it in the unit.",
    ),
    (
        "within tolerance but for the delay",
        lambda: judge(session(lag_us=70, noise=flat(0.25 * NOISE))).then,
        "Apart from the delay the spark is on its mark (likely 0.6° early to 0.6° late). That passes.",
    ),
    (
        "a spark that comes earlier with speed",
        lambda: judge(session(lag_us=-300, noise=flat(0.1 * NOISE))),
        "The spark comes earlier as the speed rises, by 300 µs (likely 284 to 316). At 4000 rpm it is 7.2° "
        "early in all. A mechanism that still moves looks the same: the old advance curve is not known. Check "
        "the lock first. Repeat with another strobe or lead; a dial-back lamp with its dial at 0. If it "
        "stays, it is the unit's own: allow for it in the map.",
    ),
    (
        "the same where the old curve clears the lock",
        lambda: judge(session(lag_us=-300, noise=flat(0.1 * NOISE), old_curve=OLD)),
        "The spark comes earlier as the speed rises, by 300 µs (likely 284 to 316). At 4000 rpm it is 7.2° "
        "early in all. Repeat with another strobe or lead; a dial-back lamp with its dial at 0. If it stays, "
        "it is the unit's own: allow for it in the map.",
    ),
    (
        "earlier with speed, the unit takes a delay",
        lambda: judge(session(lag_us=-300, noise=flat(0.1 * NOISE), old_curve=OLD), unit_takes_delay=True),
        "The spark comes earlier as the speed rises, by 300 µs (likely 284 to 316). At 4000 rpm it is 7.2° "
        "early in all. Repeat with another strobe or lead; a dial-back lamp with its dial at 0. If it stays, "
        "the delay entered in the unit is too large.",
    ),
    (
        "a fixed offset",
        lambda: worked("S2"),
        "The spark is 3.8° late (likely 3.5 to 4.0° late) from 900 to 4000 rpm. Turn the distributor body 1.9 "
        "distributor degrees in the advancing direction, against the turn of the rotor. Clamp it and read "
        "again.",
    ),
    (
        "a fixed offset the other way",
        lambda: judge(session(sync=-3, noise=flat(0.1 * NOISE))),
        "The spark is 3.0° early (likely 2.9 to 3.1° early) from 900 to 4000 rpm. Turn the distributor body "
        "1.5 distributor degrees in the retarding direction, with the turn of the rotor. Clamp it and read "
        "again.",
    ),
    (
        "an offset that grows a little",
        lambda: judge(session(sync=2, lag_us=30, noise=flat(0.02 * NOISE))),
        "The spark is 2.2° late at 900 rpm and 2.7° late at 4000 rpm. Turn the distributor body 1.2 "
        "distributor degrees in the advancing direction, against the turn of the rotor. Clamp it and read "
        "again.",
    ),
    (
        "a mechanism that moves",
        lambda: worked("S3"),
        "Suspect that the mechanism is not locked: 108 % of the old centrifugal advance shows (likely 88 to "
        "129 %). Check the lock. Do not turn the distributor.",
    ),
    (
        "a mechanism that may move",
        lambda: worked("S3", old=None),
        "Suspect scatter or the mark. The readings scatter by 2.2°, 1.0° is the limit. Check for shaft play, "
        "a worn drive and a weak strobe trigger. Then read again. The mechanism may still move: the old "
        "advance curve is not known. Check the lock too.",
    ),
    (
        "an outlier",
        lambda: worked("S2", odd=(3, 6)),
        "Reading 4 (2000 rpm) is 6.3° early against the line of the others. Take it again before anything is changed.",
    ),
    (
        "an outlier that changes nothing",
        lambda: judge(session(sync=3, rpm=np.arange(900, 4001, 100.0), noise=np.where(np.arange(32) == 20, 1.5, 0))),
        "The spark is 3.0° late (likely 3.0 to 3.0° late) from 900 to 4000 rpm. Turn the distributor body 1.5 "
        "distributor degrees in the advancing direction, against the turn of the rotor. Clamp it and read "
        "again. Reading 21 (2900 rpm) is 1.5° late against the line of the others. It was left out of this: "
        "take it again.",
    ),
    (
        "a mark off the piston stop",
        lambda: worked("S2", mark_error_deg=-1.5),
        "Suspect scatter or the mark. The timing mark is 1.5° off the piston stop, 1.0° is the limit. Mark "
        "top dead centre again and look for a slipped damper ring, then read again.",
    ),
    (
        "scatter and a disagreement",
        lambda: judge(fit_of([900, 1500, 3000, 4000] * 2, [11, 13, 12, 11, 10, 10, 12, 11], 10, tolerance=3)),
        "Suspect scatter or the mark. The readings scatter by 1.1°, 1.0° is the limit. Two readings at 1500 "
        "rpm are 3.0° apart, 2.0° is the limit. Check for shaft play, a worn drive and a weak strobe trigger. "
        "Then read again. The mechanism may still move: the old advance curve is not known. Check the lock "
        "too.",
    ),
    (
        "one speed",
        lambda: judge(fit_of([2000] * 4, [8, 9, 8, 9], 10)),
        "More readings: 4 readings at one speed cannot tell a fixed offset from a delay. On average the spark "
        "is 1.5° late (likely 0.6 to 2.4° late). Take 6 or more over at least 1500 rpm, most at the lowest "
        "and highest speeds, two between.",
    ),
    (
        "one reading",
        lambda: judge(fit_of([900], [8], 10)),
        "More readings: 1 reading at one speed cannot tell a fixed offset from a delay. On average the spark "
        "is 2.0° late. Take 6 or more over at least 1500 rpm, most at the lowest and highest speeds, two "
        "between.",
    ),
    (
        "speeds too close",
        lambda: judge(fit_of([900, 1200, 1500, 2000], [8, 8, 9, 9], 10)),
        "More readings: 4 readings within 1100 rpm are too close together. On average the spark is 1.5° late "
        "(likely 0.6 to 2.4° late). Take 6 or more over at least 1500 rpm, most at the lowest and highest "
        "speeds, two between.",
    ),
    (
        "too few",
        lambda: judge(fit_of([900, 2000, 3000], [8, 8, 9], 10)),
        "More readings: 3 readings are too few. On average the spark is 1.7° late (likely 0.2 to 3.1° late). "
        "Take 6 or more over at least 1500 rpm, most at the lowest and highest speeds, two between.",
    ),
    (
        "not known well enough",
        lambda: judge(scattering(0.96)),
        "More readings: at 900 rpm the average is known only to ±3.5°, 1.0° is the tolerance. About 10 in all "
        "should do, most at the lowest and highest speeds, two between.",
    ),
    (
        "a scatter that readings do not mend",
        lambda: judge(fit_of(FOUR, [2, 18, 2, 18], 10, limits=fine(scatter_deg=90))),
        "More readings: at 900 rpm the average is known only to ±36.7°, 1.0° is the tolerance. The readings "
        "scatter too much for more of them to help: look for the cause first.",
    ),
    (
        "a scale coarse but fine enough",
        lambda: judge(fit_of(FOUR, [10, 11, 10, 10], 10, limits=fine(scale_step_deg=1))),
        "More readings: at 900 rpm the average is known only to ±2.3°, 1.0° is the tolerance. About 8 in all "
        "should do, most at the lowest and highest speeds, two between.",
    ),
    (
        "a scale too coarse",
        lambda: judge(fit_of(FOUR, [10, 10, 10, 10], 10, limits=fine(scale_step_deg=2))),
        "More readings: at 900 rpm the average is known only to ±2.5°, 1.0° is the tolerance. The scale is "
        "too coarse for that: read a finer one.",
    ),
    (
        "a change with speed in too few readings",
        lambda: judge(session(lag_us=300, rpm=FOUR, noise=flat(np.array([1, -1, -1, 1]) * 0.05, FOUR))),
        "More readings: the error changes with speed. But a delay needs 6 readings or more, there are 4. Take "
        "more, most at the lowest and highest speeds, two between.",
    ),
    (
        "within tolerance",
        lambda: judge(session(sync=0.4, noise=flat(0.1 * NOISE))),
        "Pass: on average the spark is 0.4° late (likely 0.3 to 0.5° late) from 900 to 4000 rpm. "
        "1.0° is allowed. Leave the distributor as it is.",
    ),
    (
        "on its mark",
        lambda: judge(session(noise=flat(0.15 * NOISE))),
        "Pass: on average the spark is on its mark (likely 0.1° early to 0.1° late) from 900 to "
        "4000 rpm. 1.0° is allowed. Leave the distributor as it is.",
    ),
    (
        "within tolerance, growing a little",
        lambda: judge(session(sync=-0.2, lag_us=30, noise=flat(0.02 * NOISE))),
        "Pass: the spark is at most 0.5° late (likely 0.5 to 0.6° late), at 4000 rpm. 1.0° is "
        "allowed. Leave the distributor as it is.",
    ),
    (
        "a lean",
        lambda: judge(session(lag_us=60, noise=flat(0.5 * NOISE))),
        "Pass: on average the spark is 0.8° late (likely 0.3 to 1.4° late) from 900 to 4000 rpm. "
        "1.0° is allowed. Leave the distributor as it is. The readings lean to 1.4° late at 4000 rpm, which "
        "scatter may explain. More readings there would tell.",
    ),
    (
        "base proven",
        lambda: proof([900, 900, 1800, 1800], [9.5, 10, 10, 9.8]),
        "Base timing proven: on average the spark is 0.2° late (likely 0.3° early to 0.6° late). No reading "
        "is more than 0.5° off, 1.0° is allowed. Leave the distributor as it is.",
    ),
    (
        "base late",
        lambda: proof([900, 900, 1800, 1800], [7, 7.1, 6.9, 7]),
        "Not proven: on average the spark is 3.0° late (likely 2.7 to 3.3° late). 1.0° is allowed. Turn the "
        "distributor body 1.5 distributor degrees in the advancing direction, against the turn of the rotor. "
        "Clamp it and read again.",
    ),
    (
        "base early",
        lambda: proof([900, 900, 1800, 1800], [10.8, 10.8, 11, 10.8]),
        "Not proven: on average the spark is 0.9° early (likely 0.5 to 1.2° early). The likely range must lie "
        "within 1.0°. Turn the distributor body 0.4 distributor degrees in the retarding direction, with the "
        "turn of the rotor. Clamp it and read again.",
    ),
    (
        "base not known well enough",
        lambda: proof([900, 1800], [10.5, 10]),
        "Not proven yet: on average the spark is 0.2° early, known to ±3.2°. 1.0° is allowed. Read each speed again.",
    ),
    (
        "base, one reading out",
        lambda: proof([900] * 4 + [1800] * 5, [10] * 8 + [8.9]),
        "Not proven yet: on average the spark is 0.1° late, known to ±0.4°. 1.0° is allowed. One reading is "
        "1.1° off. Read each speed again.",
    ),
    (
        "base at one speed",
        lambda: proof([900, 900], [10, 10]),
        "Not proven: all readings are at one speed. On average the spark is on its mark. Read at a second "
        "speed 500 rpm or more away.",
    ),
    (
        "base at speeds too close",
        lambda: proof([900, 1300], [10, 10]),
        "Not proven: the speeds are 400 rpm apart. On average the spark is on its mark. Read at a second "
        "speed 500 rpm or more away.",
    ),
    (
        "base, two readings that disagree",
        lambda: proof([900, 900, 1800], [10, 7, 10]),
        "Not proven: two readings at 900 rpm are 3.0° apart, 2.0° is the limit. Read that speed again. If "
        "they stay apart: check for shaft play, a worn drive and a weak strobe trigger.",
    ),
    (
        "base, the spark earlier with speed",
        lambda: proof([900, 1800], [10, 13]),
        "Not proven: the timing is not flat. At 1800 rpm the spark is 3.0° earlier than at 900 rpm, 1.0° is "
        "allowed. Read both again. If it stays, check that the curve is flat, the vacuum pipe off and the "
        "mechanism locked. Do not turn the distributor.",
    ),
    (
        "base, the spark later with speed",
        lambda: proof([900, 900, 1800, 1800], [10, 10, 8.5, 8.5]),
        "Not proven: the timing is not flat. At 1800 rpm the spark is 1.5° later than at 900 rpm, 1.0° is "
        "allowed. It grows with speed: suspect a delay of about 278 µs, of the lamp or of the unit. Repeat "
        "with another strobe or lead; a dial-back lamp with its dial at 0. If it stays, it is the unit's own: "
        "allow for it in the map. Do not turn the distributor.",
    ),
    (
        "base, later with speed, the unit takes a delay",
        lambda: proof([900, 900, 1800, 1800], [10, 10, 8.5, 8.5], unit_takes_delay=True, lamp=LampKind.PLAIN),
        "Not proven: the timing is not flat. At 1800 rpm the spark is 1.5° later than at 900 rpm, 1.0° is "
        "allowed. It grows with speed: suspect a delay of about 278 µs, of the lamp or of the unit. Repeat "
        "with another strobe or lead. If it stays, enter it in the unit. Do not turn the distributor.",
    ),
    (
        "base, later at the highest speed alone",
        lambda: proof([900, 900, 1300, 1300, 1800, 1800], [10, 10, 10, 10, 8, 8]),
        "Not proven: the timing is not flat. At 1800 rpm the spark is 2.0° later than at 900 rpm, 1.0° is "
        "allowed. Read both again. If it stays, check that the curve is flat and try another strobe. Do not "
        "turn the distributor.",
    ),
    (
        "base, an outlier between two speeds",
        lambda: proof([900, 1300, 1800], [10, 5, 10]),
        "Not proven. Reading 2 (1300 rpm) is 5.0° late against 900 and 1800 rpm. Take it again before "
        "anything is changed.",
    ),
    (
        "base, an outlier at one speed",
        lambda: proof([900, 900, 1800, 1800, 1800], [10, 10, 10, 15, 10]),
        "Not proven. Reading 4 (1800 rpm) is 5.0° early against the others at 1800 rpm. Take it again before "
        "anything is changed.",
    ),
    (
        "base against a wrong mark",
        lambda: proof([900, 1800], [10, 10], mark_error_deg=2),
        "Not proven: the timing mark is 2.0° off the piston stop, 1.0° is the limit. Mark top dead centre "
        "again and look for a slipped damper ring, then read again.",
    ),
]
