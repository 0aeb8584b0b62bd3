"""A published driving cycle as the speed of a road log.

The urban part of the cycle of UN Regulation 83, annex 4a, appendix 1, table 1 (revision 4 and later): 195 s of idling,
accelerating, steady driving and braking, piecewise straight. The table is from memory, and so are the distance, mean
and highest speed that the annex states and `test_cycle` compares. No package of the registry that carries a published
cycle installs beside our test set (`wltp` wants jsonschema below 3).
"""

import numpy as np

# Ends of the operations: second of the cycle, speed there [km/h].
ELEMENTARY = (
    (0, 0), (11, 0), (15, 15), (23, 15), (25, 10), (28, 0), (49, 0), (54, 15), (56, 15), (61, 32), (85, 32), (93, 10),
    (96, 0), (117, 0), (122, 15), (124, 15), (133, 35), (135, 35), (143, 50), (155, 50), (163, 35), (176, 35),
    (178, 32), (185, 10), (188, 0), (195, 0),
)  # fmt: skip
CYCLE_S = 195.0
CYCLE_M, MEAN_KMH, HIGHEST_KMH = 1013.0, 19.0, 50.0


def speed_of_cycle(times: int = 4, samples_per_s: float = 10.0) -> tuple[np.ndarray, np.ndarray]:
    """Seconds and km/h of so many cycles one after the other."""
    t_s = np.arange(int(times * CYCLE_S * samples_per_s) + 1) / samples_per_s
    at, speeds = np.array(ELEMENTARY, dtype=float).T
    return t_s, np.interp(t_s % CYCLE_S, at, speeds)
