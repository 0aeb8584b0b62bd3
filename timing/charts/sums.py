"""What every cell of a surface is the sum of, in words, for the cursor of `surface_chart`."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from timing import inputs
from timing.charts.marks import degrees
from timing.surface import TotalAdvance


def sums_in_words(total: TotalAdvance, rpm: ArrayLike, vacuum: ArrayLike) -> tuple[tuple[str, ...], ...]:
    """Every cell as a sum: '8° base + 12° speed + 6° vacuum = 26°'.

    Parameters
    ----------
    total : TotalAdvance
        The surface.
    rpm, vacuum : sequence of float, lengths m and n
        Its nodes. [rpm], [kPa below atmosphere]

    Returns
    -------
    n rows of m strings
        Vacuum and boost are named only where they add or take away something.

    Raises
    ------
    TimingError
        As `TotalAdvance.parts`.
    """
    speeds, vacua = np.atleast_1d(inputs.finite(rpm, "engine speed")), np.atleast_1d(inputs.finite(vacuum, "vacuum"))
    parts = total.parts(speeds[np.newaxis, :], vacua[:, np.newaxis])
    shape = (len(vacua), len(speeds))
    base, speed, by_vacuum, by_boost, whole = (np.broadcast_to(part, shape) for part in parts)
    rows = []
    for row in range(shape[0]):
        told = []
        for column in range(shape[1]):
            sentence = f"{degrees(float(base[row, column]))} base"
            for part, name in ((speed, "speed"), (by_vacuum, "vacuum"), (by_boost, "boost")):
                value = float(part[row, column])
                if value or name == "speed":
                    sentence += f" {'−' if value < 0 else '+'} {degrees(abs(value))} {name}"
            told.append(f"{sentence} = {degrees(float(whole[row, column]))}")
        rows.append(tuple(told))
    return tuple(rows)
