"""Any map that a unit could hold, for what has to hold for all of them."""

from hypothesis import strategies as st

from timing.curve import AdvanceCurve
from timing.ignition_map import REV_LIMIT_MANNERS, TRIGGERS, IgnitionMap
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable


def rising(lowest, highest, most):
    return st.lists(
        st.integers(lowest, highest).map(lambda tenths: tenths / 10), min_size=2, max_size=most, unique=True
    ).map(sorted)


@st.composite
def maps(draw):
    """Any map that a unit could hold, to a tenth."""
    degrees = st.integers(-50, 600).map(lambda tenths: tenths / 10)

    def as_many(nodes):
        return draw(st.lists(degrees, min_size=len(nodes), max_size=len(nodes)))

    rpm = draw(rising(0, 90_000, 16))
    vacuum = draw(st.sampled_from(["none", "ramp", "table"]))
    part = None
    if vacuum == "ramp":
        start, full = draw(rising(0, 900, 2))
        part = VacuumRamp(start, full, draw(st.integers(1, 300)) / 10, draw(st.integers(0, 3000)))
    elif vacuum == "table":
        columns, rows = draw(rising(0, 90_000, 10)), draw(rising(-500, 900, 8))
        part = VacuumTable(rpm=columns, vacuum=rows, degrees=[as_many(columns) for _ in rows])
    boost = draw(st.none() | rising(0, 2000, 5))
    return IgnitionMap(
        base_deg=draw(st.integers(-200, 450)) / 10,
        curve=AdvanceCurve(rpm, as_many(rpm)),
        vacuum=part,
        boost=boost and BoostRetard(boost, [0.0, *(n / 2 for n in range(1, len(boost)))]),
        dwell_ms=draw(st.none() | st.integers(1, 90).map(lambda tenths: tenths / 10)),
        rev_limit_rpm=draw(st.none() | st.integers(1000, 9000)),
        rev_limit_manner=draw(st.sampled_from([None, *REV_LIMIT_MANNERS])),
        repeated_sparks=draw(st.booleans()),
        trigger=draw(st.sampled_from([None, *TRIGGERS])),
    )
