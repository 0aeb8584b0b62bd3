"""When a figure is at a limit: a limit is within itself, whatever the last bit of a floating-point sum says."""

# Far below anything a workshop reads (a strobe scale has whole degrees), far above the rounding of float64 sums of
# figures up to some ten thousand (rpm).
LIMIT_TOLERANCE = 1e-9


def exceeds(value: float, limit: float) -> bool:
    """Whether `value` is above `limit` by more than rounding.

    Parameters
    ----------
    value, limit : float
        Figures in one unit.

    Returns
    -------
    bool
        False where they are equal but for the rounding of float64: what lies exactly on a limit keeps it.
    """
    return value - limit > LIMIT_TOLERANCE * max(1.0, abs(limit))


def falls_short(value: float, limit: float) -> bool:
    """Whether `value` is below `limit` by more than rounding.

    Parameters
    ----------
    value, limit : float
        Figures in one unit.

    Returns
    -------
    bool
        False where they are equal but for the rounding of float64.
    """
    return limit - value > LIMIT_TOLERANCE * max(1.0, abs(limit))
