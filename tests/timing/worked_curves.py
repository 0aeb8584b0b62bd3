"""Curves to work with: those of handbook section 4, and any that can be."""

from hypothesis import strategies as st

from timing.curve import AdvanceCurve

KNEED = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
# Mid-line of the factory band, in crank units.
MID_LINE = AdvanceCurve([800, 1200, 1800, 3000, 4500], [0.5, 4, 12, 19, 24])


@st.composite
def curves(draw, most_nodes=6):
    rpm = draw(st.lists(st.integers(0, 8000), min_size=1, max_size=most_nodes, unique=True))
    degrees = draw(st.lists(st.floats(-20, 60), min_size=len(rpm), max_size=len(rpm)))
    return AdvanceCurve(sorted(rpm), degrees)
