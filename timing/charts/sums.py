"""What every cell of a surface is the sum of, in words, for the cursor of `surface_chart`."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from timing import inputs
from timing.charts.marks import degrees
from timing.surface import TotalAdvance


def sums_in_words(total: TotalAdvance, *, rpm: ArrayLike, vacuum: ArrayLike) -> tuple[tuple[str, ...], ...]:
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
    parts = total.parts(rpm=speeds[np.newaxis, :], vacuum=vacua[:, np.newaxis])
    table = np.stack(parts, axis=-1)
    return tuple(tuple(_sum(*cell) for cell in row) for row in table.tolist())


def _sum(base: float, speed: float, vacuum: float, boost: float, total: float) -> str:
    added = f"{degrees(base)} base"
    for part, name in ((speed, "speed"), (vacuum, "vacuum"), (boost, "boost")):
        if part or name == "speed":
            added += f" {'−' if part < 0 else '+'} {degrees(abs(part))} {name}"
    return f"{added} = {degrees(total)}"
