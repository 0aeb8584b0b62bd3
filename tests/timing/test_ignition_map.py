"""A map as plain data: what it refuses, and that its identity survives noise, JSON and the way back."""

import hashlib
import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from timing.curve import AdvanceCurve
from timing.errors import TimingError
from timing.ignition_map import IgnitionMap, MapError
from timing.vacuum import BoostRetard, VacuumRamp, VacuumTable

CURVE = AdvanceCurve([500, 1000, 1400, 2200, 3500], [0, 2, 9, 15, 22])
FULL = IgnitionMap(
    base_deg=10,
    curve=CURVE,
    vacuum=VacuumRamp(10, 40, 14, 800),
    boost=BoostRetard([0, 50], [0, 10]),
    dwell_ms=3.5,
    rev_limit_rpm=6500,
    rev_limit_manner="soft",
    repeated_sparks=True,
    trigger="hall",
)
BARE = IgnitionMap(10, CURVE)

figures = st.floats(0, 60).map(lambda figure: round(figure, 3))
curves = st.lists(st.tuples(st.integers(0, 9000), figures), min_size=1, max_size=8, unique_by=lambda node: node[0]).map(
    lambda nodes: AdvanceCurve(*zip(*sorted(nodes), strict=True))
)
ramps = st.builds(
    lambda start, reach, degrees, rpm: VacuumRamp(start, start + reach, degrees, rpm),
    st.floats(0, 50),
    st.floats(1, 50),
    st.floats(0, 25),
    st.floats(0, 2000),
)
tables = st.lists(st.lists(st.floats(-10, 30), min_size=3, max_size=3), min_size=2, max_size=2).map(
    lambda degrees: VacuumTable(rpm=[800, 2000, 3500], vacuum=[0, 45.5], degrees=degrees)
)
maps = st.builds(
    IgnitionMap,
    base_deg=st.floats(-10, 30),
    curve=curves,
    vacuum=st.one_of(st.none(), ramps, tables),
    boost=st.one_of(st.none(), st.floats(0, 12).map(lambda degrees: BoostRetard([0, 60], [0, degrees]))),
    dwell_ms=st.one_of(st.none(), st.floats(0.5, 8)),
    rev_limit_rpm=st.one_of(st.none(), st.floats(2000, 9000)),
    rev_limit_manner=st.sampled_from([None, "soft", "hard"]),
    repeated_sparks=st.booleans(),
    trigger=st.sampled_from([None, "contact breaker", "hall", "optical", "inductive"]),
)


# ---- The map itself --------------------------------------------------------------------------------------------------


def test_what_is_not_known_is_none():
    assert (BARE.vacuum, BARE.boost, BARE.dwell_ms, BARE.rev_limit_rpm) == (None,) * 4
    assert (BARE.rev_limit_manner, BARE.trigger, BARE.repeated_sparks) == (None, None, False)


def test_the_total_is_counted_from_the_base():
    assert FULL.total(rpm=1000, vacuum=25) == pytest.approx(19), "10 + 2 + 7, handbook section 4"
    assert FULL.total(rpm=700, vacuum=25) == pytest.approx(10.8), "10 + 0.8, the ramp not yet acting"
    assert FULL.total(rpm=[3500, 3500], vacuum=[0, -25]).tolist() == pytest.approx([32, 27])
    assert FULL.total_advance().advance(rpm=1000, vacuum=25) == FULL.total(rpm=1000, vacuum=25)


@pytest.mark.parametrize(
    ("figure", "said"),
    [
        ({"base_deg": float("nan")}, "base timing must be a finite number"),
        ({"base_deg": 90.1}, r"base timing must be 90 degrees or less, not 90\.1"),
        ({"base_deg": -90.1}, r"base timing must be -90 degrees or more"),
        ({"base_deg": [10]}, "base timing must be one number"),
        ({"curve": "steep"}, "the speed curve must be an AdvanceCurve"),
        ({"vacuum": 14}, "the vacuum part must be"),
        ({"boost": 14}, "the boost part must be"),
        ({"dwell_ms": 0}, "dwell must be above 0 ms, not 0"),
        ({"dwell_ms": 4e-7}, "dwell must be above 0 ms, not 0"),
        ({"rev_limit_rpm": 0}, "the rev limit must be above 0 rpm, not 0"),
        ({"rev_limit_manner": "gentle"}, "the rev limit is soft or hard, not 'gentle'"),
        ({"repeated_sparks": None}, "repeated sparks while cranking are either on or off"),
        ({"trigger": "magnet"}, "the trigger is one of contact breaker, hall, optical, inductive, not 'magnet'"),
    ],
)
def test_a_map_that_cannot_be_is_refused(figure, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        IgnitionMap(**{"base_deg": 10, "curve": CURVE} | figure)


def test_the_widest_base_timing_is_accepted():
    assert IgnitionMap(90, CURVE).base_deg == 90
    assert IgnitionMap(-90, CURVE).base_deg == -90


@pytest.mark.parametrize(
    ("part", "unit"),
    [
        ({"curve": AdvanceCurve([1000, 1000.0000004], [0, 1e-7])}, "rpm"),
        ({"vacuum": VacuumRamp(10, 10.0000004, 14)}, "kPa"),
        ({"vacuum": VacuumTable(rpm=[1000, 1000.0000004], vacuum=[0], degrees=[[0, 1]])}, "rpm"),
        ({"vacuum": VacuumTable(rpm=[1000], vacuum=[0, 0.0000004], degrees=[[0], [1]])}, "kPa"),
        ({"boost": BoostRetard([0, 0.0000004], [0, 1])}, "kPa"),
    ],
)
def test_nodes_the_record_could_not_tell_apart_are_refused(part, unit):
    with pytest.raises(MapError, match=f"two nodes are closer together than a millionth of 1 {unit}"):
        IgnitionMap(**{"base_deg": 10, "curve": CURVE} | part)


def test_equal_maps_are_equal_and_may_be_keys():
    again = IgnitionMap(np.float64(10), AdvanceCurve(np.array(CURVE.rpm), CURVE.degrees))
    assert again == BARE
    assert hash(again) == hash(BARE)
    assert type(again.base_deg) is float
    assert again != FULL


# ---- Its identity ----------------------------------------------------------------------------------------------------


def test_the_canonical_form_is_written_out_in_full():
    assert FULL.canonical() == {
        "form": 1,
        "base_deg": 10.0,
        "curve": {"rpm": [500.0, 1000.0, 1400.0, 2200.0, 3500.0], "degrees": [0.0, 2.0, 9.0, 15.0, 22.0]},
        "vacuum": {"kind": "ramp", "start": 10.0, "full": 40.0, "full_deg": 14.0, "from_rpm": 800.0},
        "boost": {"boost": [0.0, 50.0], "degrees": [0.0, 10.0]},
        "dwell_ms": 3.5,
        "rev_limit_rpm": 6500.0,
        "rev_limit_manner": "soft",
        "repeated_sparks": True,
        "trigger": "hall",
    }
    assert list(FULL.canonical())[:3] == ["form", "base_deg", "curve"]


def test_the_canonical_form_of_a_table_and_of_nothing():
    table = IgnitionMap(10, CURVE, VacuumTable(rpm=[800, 2000], vacuum=[0, 20], degrees=[[0, 0], [2, 6]]))
    assert table.canonical()["vacuum"] == {
        "kind": "table",
        "rpm": [800.0, 2000.0],
        "vacuum": [0.0, 20.0],
        "degrees": [[0.0, 0.0], [2.0, 6.0]],
    }
    assert BARE.canonical()["vacuum"] is None
    assert BARE.canonical()["boost"] is None
    assert BARE.canonical()["dwell_ms"] is None


def test_the_hash_is_sha256_of_json_written_by_hand():
    text = (
        '{"base_deg":10.0,"boost":{"boost":[0.0,50.0],"degrees":[0.0,10.0]},'
        '"curve":{"degrees":[0.0,2.0,9.0,15.0,22.0],"rpm":[500.0,1000.0,1400.0,2200.0,3500.0]},'
        '"dwell_ms":3.5,"form":1,"repeated_sparks":true,"rev_limit_manner":"soft","rev_limit_rpm":6500.0,'
        '"trigger":"hall","vacuum":{"from_rpm":800.0,"full":40.0,"full_deg":14.0,"kind":"ramp","start":10.0}}'
    )
    assert FULL.content_hash() == hashlib.sha256(text.encode("ascii")).hexdigest()


def test_a_released_hash_never_changes():
    """Kept from the day the form was made: a change here breaks the seal of every map ever released."""
    assert BARE.content_hash() == "b1cc7672841f0a2848d9cd12ce94de2e4a34e991ce2d30d03747b9767e76b560"
    assert FULL.content_hash() == "155f14346be3a19b65e217d465e2ff5610fcc9e3db177faaf54b92a54092061a"


@given(maps)
def test_a_map_comes_back_from_its_canonical_form(wanted):
    again = IgnitionMap.from_canonical(wanted.canonical())
    assert again.canonical() == wanted.canonical()
    assert again.content_hash() == wanted.content_hash()


@given(maps)
def test_the_identity_survives_json_and_figures_that_lost_their_fraction(wanted):
    def whole(value):
        return int(value) if isinstance(value, float) and value.is_integer() else value

    stored = json.loads(json.dumps(wanted.canonical()), parse_float=lambda text: whole(float(text)))
    assert IgnitionMap.from_canonical(stored).content_hash() == wanted.content_hash()


@pytest.mark.parametrize(
    "noisy",
    [
        IgnitionMap(0.1 + 0.2, CURVE),
        IgnitionMap(0.3, AdvanceCurve(CURVE.rpm, [figure * 3 / 3 + 1e-13 for figure in CURVE.degrees])),
        IgnitionMap(0.3 - 4e-7, CURVE),
        IgnitionMap(0.3, AdvanceCurve([rpm + 1e-9 for rpm in CURVE.rpm], CURVE.degrees)),
        IgnitionMap(0.3, AdvanceCurve(CURVE.rpm, [-0.0, 2, 9, 15, 22])),
        IgnitionMap(0.3, AdvanceCurve(CURVE.rpm, [-1e-9, 2, 9, 15, 22])),
    ],
)
def test_noise_does_not_change_the_identity(noisy):
    assert noisy.content_hash() == IgnitionMap(0.3, CURVE).content_hash()


@pytest.mark.parametrize(
    "change",
    [
        {"base_deg": 10.000002},
        {"curve": CURVE.shift(0.000002)},
        {"curve": AdvanceCurve([*CURVE.rpm, 4000], [*CURVE.degrees, 22])},
        {"vacuum": VacuumRamp(10, 40, 14)},
        {"vacuum": VacuumRamp(10, 40.1, 14, 800)},
        {"vacuum": None},
        {"boost": BoostRetard([0, 50], [0, 10.5])},
        {"boost": None},
        {"dwell_ms": 3.6},
        {"dwell_ms": None},
        {"rev_limit_rpm": 6501},
        {"rev_limit_manner": "hard"},
        {"rev_limit_manner": None},
        {"repeated_sparks": False},
        {"trigger": "optical"},
    ],
)
def test_whatever_is_set_changes_the_identity(change):
    own = {name: getattr(FULL, name) for name in FULL.__dataclass_fields__}
    assert IgnitionMap(**own | change).content_hash() != FULL.content_hash()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"form": 2}, "the stored map has form 2, this program reads form 1"),
        ({"colour": "red"}, "the map is stored with entries unknown here: colour"),
        ({"curve": {"rpm": [500]}}, "the speed curve is stored without its degrees"),
        ({"curve": [1, 2]}, "the speed curve is not stored as named entries"),
        ({"vacuum": {"kind": "spline"}}, "the stored vacuum part is a ramp or a table, not 'spline'"),
        ({"vacuum": [1]}, "the stored vacuum part is a ramp or a table, not None"),
        ({"vacuum": {"kind": "ramp", "start": 10}}, "the vacuum ramp is stored without its full, full_deg, from_rpm"),
        ({"boost": {"boost": [0]}}, "the boost part is stored without its degrees"),
        ({"curve": {"rpm": [1000, 500], "degrees": [0, 1]}}, "the speeds of the nodes must rise, but 500 rpm"),
        ({"dwell_ms": "long"}, "dwell must be a number"),
    ],
)
def test_a_form_that_is_no_map_is_refused(change, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        IgnitionMap.from_canonical(FULL.canonical() | change)


def test_a_form_with_an_entry_missing_is_refused():
    form = FULL.canonical()
    del form["trigger"], form["dwell_ms"]
    with pytest.raises(MapError, match=r"^the map is stored without its dwell_ms, trigger"):
        IgnitionMap.from_canonical(form)
    with pytest.raises(MapError, match=r"^the map is not stored as named entries"):
        IgnitionMap.from_canonical("map")
