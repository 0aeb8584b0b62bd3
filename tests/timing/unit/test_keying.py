"""The key-in sheet in the unit's own order and words, and a read-back that names whatever is not as it was keyed in."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timing.curve import AdvanceCurve
from timing.ignition_map import IgnitionMap
from timing.unit import (
    BoostNodes,
    EntryWord,
    FixedNodes,
    FreeNodes,
    RampEntries,
    Steps,
    TableEntries,
    UnitError,
    UnitType,
    fit_map,
    key_in_lines,
    read_back,
)
from timing.units import convert
from timing.vacuum import BoostRetard, VacuumRamp

CURVE = AdvanceCurve([500, 1500, 2500], [0, 10, 22])
START, FULL = convert([3, 12], "inHg", "kPa")
MAP = IgnitionMap(
    10, CURVE, VacuumRamp(START, FULL, 14, 800), BoostRetard([10, 60], [0, 9]), 3.5, 6500, "soft", True, "hall"
)
UNIT = UnitType(
    nodes=FixedNodes([500, 1500, 2500]),
    degree=Steps(0, 40, 1),
    base=Steps(0, 20, 0.5),
    vacuum=RampEntries("inHg", Steps(0, 20, 0.5), Steps(1, 25, 0.5), Steps(0, 20, 1), Steps(0, 3000, 100)),
    boost=RampEntries("kPa", Steps(0, 100, 5), Steps(5, 200, 5), Steps(0, 20, 1)),
    dwell_ms=Steps(1, 6, 0.1),
    rev_limit_rpm=Steps(3000, 9000, 250),
    rev_limit_manners=("soft", "hard"),
    repeated_sparks=True,
    entries=(
        EntryWord("dwell", "Soak"),
        EntryWord("node", "node"),
        EntryWord("base", "Still timing"),
        EntryWord("vacuum_degrees", "Pipe gives"),
        EntryWord("vacuum_full", "Pipe to"),
        EntryWord("vacuum_start", "Pipe from"),
        EntryWord("vacuum_from_rpm", "Pipe wakes"),
        EntryWord("boost_start", "Blower from"),
        EntryWord("boost_full", "Blower to"),
        EntryWord("boost_degrees", "Blower takes"),
        EntryWord("rev_limit", "Ceiling"),
        EntryWord("rev_limit_manner", "By", (("soft", "turns"), ("hard", "cut"))),
        EntryWord("repeated_sparks", "Start sparks"),
    ),
)
LINES = key_in_lines(fit_map(MAP, UNIT), UNIT)


def as_shown(lines):
    return {line.position: line.value_text for line in lines}


# ---- The sheet -------------------------------------------------------------------------------------------------------


def test_the_sheet_is_in_keying_order_with_the_workshops_words_and_the_units_decimals():
    assert [(line.words, line.value_text, line.unit) for line in LINES] == [
        ("Soak", "3.5", "ms"),
        ("node 500", "0", "degrees"),
        ("node 1500", "10", "degrees"),
        ("node 2500", "22", "degrees"),
        ("Still timing", "10.0", "degrees"),
        ("Pipe gives", "14", "degrees"),
        ("Pipe to", "12.0", "inHg"),
        ("Pipe from", "3.0", "inHg"),
        ("Pipe wakes", "800", "rpm"),
        ("Blower from", "10", "kPa"),
        ("Blower to", "60", "kPa"),
        ("Blower takes", "9", "degrees"),
        ("Ceiling", "6500", "rpm"),
        ("By", "turns", ""),
        ("Start sparks", "on", ""),
    ]
    assert [line.position for line in LINES] == list(range(1, 16))


def test_a_line_carries_its_key_and_its_figure():
    assert (LINES[0].key, LINES[0].value) == ("dwell", 3.5)
    assert (LINES[3].key, LINES[3].value) == ("node", 22.0)
    assert (LINES[6].key, LINES[6].value) == ("vacuum_full", 12.0), "free of the noise of going through kPa"
    assert (LINES[13].key, LINES[13].value) == ("rev_limit_manner", "soft")


def test_free_nodes_are_keyed_in_as_pairs_where_speed_and_degrees_are_neighbours():
    unit = UnitType(FreeNodes(3, Steps(500, 2500, 500)), Steps(0, 40, 1))
    lines = key_in_lines(fit_map(IgnitionMap(10, CURVE), unit), unit)
    assert [(line.words, line.value_text) for line in lines] == [
        ("node speed 1", "500"),
        ("node 500", "0"),
        ("node speed 2", "1500"),
        ("node 1500", "10"),
        ("node speed 3", "2500"),
        ("node 2500", "22"),
    ]


def test_degrees_may_come_before_their_speed():
    unit = UnitType(
        FreeNodes(3, Steps(500, 2500, 500)),
        Steps(0, 40, 1),
        entries=(EntryWord("node", "n"), EntryWord("node_rpm", "s")),
    )
    lines = key_in_lines(fit_map(IgnitionMap(10, CURVE), unit), unit)
    assert [line.words for line in lines] == ["n 500", "s 1", "n 1500", "s 2", "n 2500", "s 3"]


def test_speeds_kept_apart_from_degrees_are_keyed_in_first():
    unit = UnitType(
        FreeNodes(3, Steps(500, 2500, 500)),
        Steps(0, 40, 1),
        base=Steps(0, 20, 1),
        entries=(EntryWord("node_rpm", "s"), EntryWord("base", "b"), EntryWord("node", "n")),
    )
    lines = key_in_lines(fit_map(IgnitionMap(10, CURVE), unit), unit)
    assert [line.words for line in lines] == ["s 1", "s 2", "s 3", "b", "n 500", "n 1500", "n 2500"]


def test_a_unit_that_counts_absolute_is_keyed_in_absolute():
    unit = replace(UNIT, counted_from="absolute")
    lines = key_in_lines(fit_map(MAP, unit), unit)
    assert [line.value_text for line in lines if line.key == "node"] == ["10", "20", "32"]


def test_a_table_is_keyed_in_row_by_row_of_vacuum():
    unit = UnitType(
        FixedNodes([500, 1500, 2500]),
        Steps(0, 40, 1),
        vacuum=TableEntries("mbar", rpm=[1000, 3000], vacuum=[0, 100, 400], degrees=Steps(0, 20, 0.5)),
        boost=BoostNodes("psi", [0, 5], Steps(0, 20, 1)),
    )
    lines = key_in_lines(fit_map(IgnitionMap(10, CURVE, VacuumRamp(10, 40, 14)), unit), unit)
    assert [(line.words, line.value_text) for line in lines[3:]] == [
        ("vacuum cell 1000 rpm 0 mbar", "0.0"),
        ("vacuum cell 3000 rpm 0 mbar", "0.0"),
        ("vacuum cell 1000 rpm 100 mbar", "0.0"),
        ("vacuum cell 3000 rpm 100 mbar", "0.0"),
        ("vacuum cell 1000 rpm 400 mbar", "14.0"),
        ("vacuum cell 3000 rpm 400 mbar", "14.0"),
        ("boost node 0 psi", "0"),
        ("boost node 5 psi", "0"),
    ]


def test_what_the_map_leaves_open_has_no_line():
    fitted = fit_map(replace(MAP, dwell_ms=None, rev_limit_rpm=None, rev_limit_manner=None), UNIT)
    assert {line.key for line in LINES} - {line.key for line in key_in_lines(fitted, UNIT)} == {
        "dwell",
        "rev_limit",
        "rev_limit_manner",
    }
    assert len(fitted.unset) == 2


def test_no_repeated_sparks_are_keyed_in_as_off():
    lines = key_in_lines(fit_map(replace(MAP, repeated_sparks=False), UNIT), UNIT)
    assert (lines[-1].value, lines[-1].value_text) == ("off", "off")


@pytest.mark.parametrize(
    ("other", "said"),
    [
        (replace(UNIT, degree=Steps(0, 40, 4)), "node 1500: the unit cannot hold 10; fit the map to this unit first"),
        (replace(UNIT, dwell_ms=Steps(1, 3, 0.1)), r"Soak: the unit cannot hold 3\.5"),
        (
            replace(UNIT, vacuum=TableEntries("kPa", rpm=[1000], vacuum=[0], degrees=Steps(0, 20, 1)), entries=()),
            "the vacuum part is not of the unit's kind",
        ),
        (
            replace(UNIT, boost=BoostNodes("kPa", [0, 30, 60], Steps(0, 20, 1)), entries=()),
            "the retard under boost has other nodes than the unit's",
        ),
    ],
)
def test_a_map_fitted_to_another_unit_is_not_keyed_in(other, said):
    with pytest.raises(UnitError, match=f"^{said}"):
        key_in_lines(fit_map(MAP, UNIT), other)


def test_a_table_with_other_nodes_is_not_keyed_in():
    table = TableEntries("kPa", rpm=[1000, 3000], vacuum=[0, 40], degrees=Steps(0, 20, 1))
    unit = UnitType(FixedNodes([500, 1500, 2500]), Steps(0, 40, 1), vacuum=table)
    fitted = fit_map(IgnitionMap(10, CURVE), unit)
    other = replace(unit, vacuum=TableEntries("kPa", rpm=[1000, 3500], vacuum=[0, 40], degrees=Steps(0, 20, 1)))
    with pytest.raises(UnitError, match=r"^the vacuum table has other nodes than the unit's"):
        key_in_lines(fitted, other)
    with pytest.raises(UnitError, match=r"^the retard under boost is not of the unit's kind"):
        key_in_lines(fitted, replace(unit, boost=BoostNodes("kPa", [0, 30], Steps(0, 20, 1)), entries=()))


# ---- The read-back ---------------------------------------------------------------------------------------------------


def test_a_unit_that_shows_everything_as_keyed_in_is_clean():
    assert read_back(LINES, as_shown(LINES)).clean
    assert read_back(LINES, {line.position: line.value for line in LINES}).clean


def test_a_mismatch_is_named_with_what_is_shown_and_what_it_should_be():
    found = read_back(LINES, as_shown(LINES) | {4: "21"})
    assert not found.clean
    assert found.missing == ()
    (mismatch,) = found.mismatches
    assert mismatch.sentence == "node 2500: the unit shows 21, the map says 22"
    assert (mismatch.position, mismatch.words, mismatch.shown, mismatch.expected) == (4, "node 2500", "21", "22")


def test_mismatches_come_in_keying_order():
    found = read_back(LINES, as_shown(LINES) | {14: "cut", 1: 3.4, 15: False})
    assert [mismatch.sentence for mismatch in found.mismatches] == [
        "Soak: the unit shows 3.4, the map says 3.5",
        "By: the unit shows cut, the map says turns",
        "Start sparks: the unit shows off, the map says on",
    ]


@pytest.mark.parametrize("nothing", [None, "", "   "])
def test_an_entry_that_was_not_read_is_missing_and_not_clean(nothing):
    found = read_back(LINES, as_shown(LINES) | {2: nothing})
    assert (found.clean, found.mismatches, found.missing) == (False, (), ("node 500",))


def test_nothing_read_is_not_clean():
    found = read_back(LINES, {})
    assert not found.clean
    assert found.missing == tuple(line.words for line in LINES)


@pytest.mark.parametrize(
    "typed", ["3.5", "3,5", " 3.50 ", "+3.5", "3.5 ms", "3.5ms", "3.5 MS", "03.5", 3.5, 3.5000000001]
)
def test_the_same_dwell_however_it_is_typed(typed):
    assert read_back(LINES, as_shown(LINES) | {1: typed}).clean


@pytest.mark.parametrize(
    "typed",
    [
        "3.51",
        "3.4999",
        "35",
        "-3.5",
        "3.5 s",
        "3.5 degrees",
        "3.5°",
        "3.5.1",
        "three",
        "nan",
        "inf",
        "3 5",
        True,
        float("nan"),
        3.50001,
    ],
)
def test_what_is_not_the_dwell_is_a_mismatch(typed):
    (mismatch,) = read_back(LINES, as_shown(LINES) | {1: typed}).mismatches
    assert mismatch.words == "Soak"
    assert mismatch.sentence.endswith(", the map says 3.5")


@pytest.mark.parametrize("typed", ["22", "22°", "22 °", "22 degrees", "22.0", 22])
def test_degrees_may_be_read_with_their_sign(typed):
    assert read_back(LINES, as_shown(LINES) | {4: typed}).clean


@pytest.mark.parametrize("typed", ["-4", "\u22124", "-4.0", -4])
def test_a_minus_may_be_typed_or_pasted(typed):
    unit = UnitType(FixedNodes([500]), Steps(-10, 40, 1))
    lines = key_in_lines(fit_map(IgnitionMap(10, AdvanceCurve([500], [-4])), unit), unit)
    assert read_back(lines, {1: typed}).clean
    assert not read_back(lines, {1: "4"}).clean


@pytest.mark.parametrize("typed", [".5", "0.5", ",5"])
def test_a_nought_before_the_point_may_be_left_out(typed):
    unit = UnitType(FixedNodes([500]), Steps(0, 40, 0.5))
    lines = key_in_lines(fit_map(IgnitionMap(10, AdvanceCurve([500], [0.5])), unit), unit)
    assert read_back(lines, {1: typed}).clean


@pytest.mark.parametrize(
    ("shown", "clean"), [("turns", True), (" Turns ", True), ("soft", True), ("cut", False), ("hard", False)]
)
def test_a_choice_is_read_in_the_units_words_or_ours(shown, clean):
    assert read_back(LINES, as_shown(LINES) | {14: shown}).clean is clean


@pytest.mark.parametrize(
    ("shown", "clean"), [(True, True), ("on", True), ("ON", True), (False, False), ("1", False), (1, False)]
)
def test_a_switch_is_read_as_on_or_off(shown, clean):
    assert read_back(LINES, as_shown(LINES) | {15: shown}).clean is clean


def test_a_line_that_is_not_on_the_sheet_is_refused():
    with pytest.raises(UnitError, match=r"^the key-in sheet has no line 16"):
        read_back(LINES, {16: "3", 99: "4"})


@given(st.integers(0, 14), st.floats(0, 9000))
def test_no_wrong_figure_ever_passes(place, shown):
    line = LINES[place]
    found = read_back(LINES, as_shown(LINES) | {line.position: shown})
    assert found.clean is (isinstance(line.value, float) and abs(shown - line.value) <= 1e-6)


def test_a_switch_is_not_a_figure():
    unit = UnitType(FixedNodes([500]), Steps(0, 40, 1))
    lines = key_in_lines(fit_map(IgnitionMap(10, AdvanceCurve([500], [1])), unit), unit)
    (mismatch,) = read_back(lines, {1: True}).mismatches
    assert mismatch.sentence == "node 500: the unit shows on, the map says 1"


def test_a_switch_that_is_on_where_it_should_be_off_is_named():
    lines = key_in_lines(fit_map(replace(MAP, repeated_sparks=False), UNIT), UNIT)
    assert read_back(lines, as_shown(lines) | {15: False}).clean
    (mismatch,) = read_back(lines, as_shown(lines) | {15: True}).mismatches
    assert mismatch.sentence == "Start sparks: the unit shows on, the map says off"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"vacuum": None}, "the vacuum part is not of the unit's kind; fit the map to this unit first"),
        ({"boost": None}, "the retard under boost is not of the unit's kind; fit the map to this unit first"),
        (
            {"boost": BoostRetard([0, 30, 60], [0, 4, 9])},
            "the retard under boost is not of the unit's kind; fit the map to this unit first",
        ),
        ({"base_deg": 10.2}, "Still timing: the unit cannot hold 10.2; fit the map to this unit first"),
        ({"rev_limit_rpm": 6501}, "Ceiling: the unit cannot hold 6501; fit the map to this unit first"),
        (
            {"vacuum": VacuumRamp(10, FULL, 14, 800)},
            "Pipe from: the unit cannot hold 2.953; fit the map to this unit first",
        ),
        (
            {"vacuum": VacuumRamp(START, FULL, 14, 850)},
            "Pipe wakes: the unit cannot hold 850; fit the map to this unit first",
        ),
        (
            {"boost": BoostRetard([12, 60], [0, 9])},
            "Blower from: the unit cannot hold 12; fit the map to this unit first",
        ),
    ],
)
def test_a_map_that_was_never_fitted_is_not_keyed_in(changes, said):
    fitted = fit_map(MAP, UNIT)
    with pytest.raises(UnitError) as refusal:
        key_in_lines(replace(fitted, map=replace(fitted.map, **changes)), UNIT)
    assert str(refusal.value) == said


def test_a_table_and_nodes_of_boost_are_of_no_use_to_ramps():
    table = TableEntries("kPa", rpm=[1000, 3000], vacuum=[0, 40], degrees=Steps(0, 20, 1))
    nodes = BoostNodes("kPa", [0, 30, 60], Steps(0, 20, 1))
    plain = UnitType(FixedNodes([500, 1500, 2500]), Steps(0, 40, 1))
    tabled = fit_map(IgnitionMap(10, CURVE), replace(plain, vacuum=table, entries=()))
    with pytest.raises(UnitError, match=r"^the vacuum part is not of the unit's kind; fit the map to this unit first$"):
        key_in_lines(tabled, replace(plain, vacuum=UNIT.vacuum, entries=()))
    for other in (
        TableEntries("kPa", rpm=[1000, 3000], vacuum=[0, 20, 40], degrees=Steps(0, 20, 1)),
        TableEntries("kPa", rpm=[1000, 3500], vacuum=[0, 40], degrees=Steps(0, 20, 1)),
    ):
        said = "^the vacuum table has other nodes than the unit's; fit the map to this unit first$"
        with pytest.raises(UnitError, match=f"^{said}"):
            key_in_lines(tabled, replace(plain, vacuum=other, entries=()))
    noded = fit_map(IgnitionMap(10, CURVE), replace(plain, boost=nodes, entries=()))
    said = "^the retard under boost has other nodes than the unit's; fit the map to this unit first$"
    with pytest.raises(UnitError, match=f"^{said}"):
        key_in_lines(noded, replace(plain, boost=BoostNodes("kPa", [0, 30], Steps(0, 20, 1)), entries=()))
    lines = key_in_lines(noded, replace(plain, boost=nodes, entries=()))
    assert [(line.words, line.value_text, line.unit) for line in lines[3:]] == [
        ("boost node 0 kPa", "0", "degrees"),
        ("boost node 30 kPa", "0", "degrees"),
        ("boost node 60 kPa", "0", "degrees"),
    ]
