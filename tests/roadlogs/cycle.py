"""A published driving cycle as the speed of a road log.

The urban part of the cycle of UN Regulation 83, annex 4a, appendix 1, table 1 (revision 4 and later): 195 s of idling,
accelerating, steady driving and braking, piecewise straight. The table is from memory; `test_cycle` holds it to what
the annex says beside it (6.1.1: seconds in each phase, distance, mean speed), read in a public copy of that clause,
lawinsider.com/clause/test-cycle. The highest speed is from memory. No package of the registry that carries a
published cycle installs beside our test set (`wltp` wants jsonschema below 3).
"""

import numpy as np

# Ends of the operations: second of the cycle, speed there [km/h].
ELEMENTARY = (
    (0, 0), (11, 0), (15, 15), (23, 15), (25, 10), (28, 0), (49, 0), (54, 15), (56, 15), (61, 32), (85, 32), (93, 10),
    (96, 0), (117, 0), (122, 15), (124, 15), (133, 35), (135, 35), (143, 50), (155, 50), (163, 35), (176, 35),
    (178, 32), (185, 10), (188, 0), (195, 0),
)  # fmt: skip
CYCLE_S = 195.0
PHASES_S = {"idling": 60, "clutch out": 9, "gear change": 8, "accelerating": 36, "steady": 57, "braking": 25}
CYCLE_M, MEAN_KMH, HIGHEST_KMH = 1013.0, 19.0, 50.0


def speed_of_cycle(times: int = 4, samples_per_s: float = 10.0) -> tuple[np.ndarray, np.ndarray]:
    """Seconds and km/h of so many cycles one after the other."""
    t_s = np.arange(int(times * CYCLE_S * samples_per_s) + 1) / samples_per_s
    at, speeds = np.array(ELEMENTARY, dtype=float).T
    return t_s, np.interp(t_s % CYCLE_S, at, speeds)


def phase(seconds: float, from_kmh: float, to_kmh: float) -> str:
    """What the driver does in one operation. A gear change takes two seconds at hardly another speed."""
    if from_kmh == to_kmh == 0:
        return "idling"
    if seconds == 2 and abs(to_kmh - from_kmh) <= 3:
        return "gear change"
    if to_kmh == from_kmh:
        return "steady"
    if to_kmh > from_kmh:
        return "accelerating"
    return "clutch out" if to_kmh == 0 else "braking"
