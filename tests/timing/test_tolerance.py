"""A limit is within itself, whichever way a sum of decimal figures was rounded."""

import pytest

from timing.tolerance import exceeds, falls_short


@pytest.mark.parametrize(
    ("value", "limit", "over", "under"),
    [
        (0.1 + 0.2, 0.3, False, False),  # 0.30000000000000004 in float64 (IEEE 754)
        (1.1 - 0.9, 0.2, False, False),  # 0.20000000000000007
        (2.0, 2.0, False, False),
        (2.000_001, 2.0, True, False),
        (1.999_999, 2.0, False, True),
        (6000.0000001, 6000.0, False, False),  # a part in 6e10 of a speed is no speed
        (-3.1, -3.0, False, True),
        (6000 + 3e-6, 6000.0, False, False),  # rounding grows with the figure,
        (6000 + 9e-6, 6000.0, True, False),
        (-6000 + 3e-6, -6000.0, False, False),  # whatever its sign,
        (-6000 - 3e-6, -6000.0, False, False),
        (5e-10, 0.0, False, False),  # and is not nothing at nought
        (-5e-10, 0.0, False, False),
    ],
)
def test_a_limit_is_within_itself_and_nothing_beyond_it_is(value, limit, over, under):
    assert exceeds(value, limit) is over
    assert falls_short(value, limit) is under
