"""What a unit can hold: steps, nodes, ramps, tables, and a keying order that leaves nothing out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from timing.errors import TimingError
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
)

DEGREES = Steps(0, 40, 1)
RAMP = RampEntries("inHg", Steps(0, 20, 0.5), Steps(1, 25, 0.5), Steps(0, 20, 1))

# ---- Steps -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "nearest", "upper", "below", "above"),
    [
        (3.4, 3.4, 3.4, 3.4, 3.4),
        (3.44, 3.4, 3.4, 3.4, 3.5),
        (3.46, 3.5, 3.5, 3.4, 3.5),
        (3.45, 3.4, 3.5, 3.4, 3.5),
        (0.2, 1.0, 1.0, 1.0, 1.0),
        (9.0, 6.0, 6.0, 6.0, 6.0),
        (3.4 + 1e-12, 3.4, 3.4, 3.4, 3.4),
        (3.4 - 1e-12, 3.4, 3.4, 3.4, 3.4),
    ],
)
def test_a_figure_is_rounded_to_the_steps_of_an_entry(value, nearest, upper, below, above):
    """By hand, for 1 to 6 in tenths."""
    steps = Steps(1, 6, 0.1)
    assert steps.nearest(value) == nearest
    assert steps.nearest_upper(value) == upper
    assert steps.at_or_below(value) == below
    assert steps.at_or_above(value) == above


@given(
    st.integers(-50, 50),
    st.integers(1, 40),
    st.sampled_from([0.05, 0.1, 0.2, 0.25, 0.3, 1, 5, 250]),
    st.floats(-100, 9000),
)
def test_rounding_stays_on_the_steps_and_on_its_side(low, count, step, value):
    steps = Steps(low, low + count * step, step)
    held = min(max(value, steps.low), steps.high)
    assert abs(steps.nearest(value) - held) <= step / 2 * (1 + 1e-5)
    assert steps.at_or_below(value) <= held + step * 1e-5
    assert steps.at_or_above(value) >= held - step * 1e-5
    for figure in (
        steps.nearest(value),
        steps.nearest_upper(value),
        steps.at_or_below(value),
        steps.at_or_above(value),
    ):
        assert steps.holds(figure)
        assert figure in steps.figures()


def test_the_figures_of_an_entry_carry_no_noise():
    assert Steps(0, 0.7, 0.1).figures() == (0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7)
    assert Steps(5, 5, 1).figures() == (5.0,)


@pytest.mark.parametrize(
    ("value", "held"),
    [(3.4, True), (3.4 + 1e-8, True), (3.41, False), (1, True), (6, True), (0.9, False), (6.1, False)],
)
def test_whether_an_entry_can_be_set_to_exactly_that(value, held):
    assert Steps(1, 6, 0.1).holds(value) is held


@pytest.mark.parametrize(("value", "reached"), [(0.5, True), (0.49, False), (6.5, True), (6.51, False), (3, True)])
def test_rounding_brings_in_half_a_step_and_no_more(value, reached):
    assert Steps(1, 6, 1).reaches(value) is reached


@pytest.mark.parametrize(
    ("steps", "value", "text"),
    [
        (Steps(1, 6, 0.1), 3, "3.0"),
        (Steps(0, 9000, 250), 6500, "6500"),
        (Steps(0, 1, 0.25), 0.5, "0.50"),
        (Steps(0.5, 6.5, 1), 2.5, "2.5"),
        (Steps(-10, 30, 1), -0.0, "0"),
        (Steps(-10, 30, 0.5), -4.5, "-4.5"),
    ],
)
def test_a_figure_is_written_with_the_decimals_of_its_entry(steps, value, text):
    assert steps.text(value) == text


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ((6, 1, 0.1), "an entry cannot go from 6 down to 1"),
        ((1, 6, 0), "the step of an entry must be above 0, not 0"),
        ((1, 6, 0.4), r"6 is not on a step of 0\.4 from 1: the last one is 5\.8"),
        ((float("nan"), 6, 1), "the lowest figure of an entry must be a finite number"),
        ((1, float("inf"), 1), "the highest figure of an entry must be a finite number"),
    ],
)
def test_steps_that_lead_nowhere_are_refused(figures, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        Steps(*figures)


# ---- Nodes and parts -------------------------------------------------------------------------------------------------


def test_free_nodes_need_as_many_speeds_to_stand_at():
    assert FreeNodes(4, Steps(500, 2000, 500)).count == 4
    with pytest.raises(UnitError, match=r"^5 nodes need as many speeds to stand at, and there are 4"):
        FreeNodes(5, Steps(500, 2000, 500))


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: FreeNodes(0, Steps(500, 2000, 500)), "the number of nodes must be 1 or more"),
        (lambda: FreeNodes(2.5, Steps(500, 2000, 500)), r"the number of nodes must be a whole number, not 2\.5"),
        (lambda: FreeNodes(2, Steps(-500, 2000, 500)), "the lowest speed of a node must be 0 rpm or more"),
        (lambda: FixedNodes([1000, 500]), "the speeds of the nodes must rise, but 500 rpm comes after 1000 rpm"),
        (lambda: FixedNodes([]), "the speeds of the nodes must be a list of at least one figure"),
        (lambda: FixedNodes([-1, 500]), "the speed of a node must be 0 rpm or more"),
        (lambda: RampEntries("torr", DEGREES, DEGREES, DEGREES), "'torr' is no unit of pressure known here: Pa"),
        (lambda: RampEntries("kPa", Steps(-1, 9, 1), DEGREES, DEGREES), "the pressure of a ramp cannot be below 0"),
        (lambda: RampEntries("kPa", DEGREES, Steps(-1, 9, 1), DEGREES), "the pressure of a ramp cannot be below 0"),
        (lambda: RampEntries("kPa", DEGREES, DEGREES, Steps(-1, 9, 1)), "the degrees of a ramp cannot be below 0"),
        (
            lambda: RampEntries("kPa", Steps(20, 40, 1), Steps(10, 20, 1), DEGREES),
            "a ramp that is full at 20 kPa at the latest cannot begin at 20 kPa at the earliest",
        ),
        (
            lambda: TableEntries("psi", rpm=[500], vacuum=[5, 0], degrees=DEGREES),
            "the vacuum rows of a table must rise, but 0 psi",
        ),
        (lambda: TableEntries("torr", rpm=[500], vacuum=[0], degrees=DEGREES), "'torr' is no unit of pressure"),
        (lambda: TableEntries("kPa", rpm=[500, 500], vacuum=[0], degrees=DEGREES), "the speeds of a table must rise"),
        (
            lambda: TableEntries("kPa", rpm=[-500], vacuum=[0], degrees=DEGREES),
            "the speed of a column must be 0 rpm or more",
        ),
        (lambda: BoostNodes("kPa", [0, 30], Steps(1, 20, 1)), "^a boost retard must be able to be 0 degrees$"),
        (lambda: BoostNodes("kPa", [-5, 30], DEGREES), "a boost node must be 0 kPa or more"),
        (lambda: BoostNodes("psi", [30, 0], DEGREES), "^the boost nodes must rise, but 0 psi comes after 30 psi$"),
        (
            lambda: TableEntries("kPa", rpm=[9, 5], vacuum=[0], degrees=DEGREES),
            "^the speeds of a table must rise, but 5 rpm comes after 9 rpm$",
        ),
        (lambda: BoostNodes("torr", [0, 30], DEGREES), "'torr' is no unit of pressure"),
        (lambda: EntryWord("choke", "choke"), "'choke' is no entry known here"),
        (lambda: EntryWord("base", "  "), "the entry base needs words of its own"),
        (lambda: EntryWord("base", "B", (("on", "yes"),)), "'on' is no choice of the entry base"),
        (lambda: EntryWord("repeated_sparks", "R", (("on", " "),)), "the choice on of the entry repeated_sparks needs"),
    ],
)
def test_a_part_that_cannot_be_is_refused(make, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        make()


# ---- The type --------------------------------------------------------------------------------------------------------

FULL = {
    "nodes": FreeNodes(6, Steps(500, 8000, 100)),
    "degree": DEGREES,
    "base": Steps(0, 20, 1),
    "vacuum": RampEntries("inHg", RAMP.start, RAMP.full, RAMP.degrees, Steps(0, 2000, 100)),
    "boost": RampEntries("kPa", Steps(0, 200, 5), Steps(0, 200, 5), DEGREES),
    "dwell_ms": Steps(1, 6, 0.1),
    "rev_limit_rpm": Steps(3000, 9000, 250),
    "rev_limit_manners": ("soft", "hard"),
    "repeated_sparks": True,
}


def test_left_alone_everything_a_unit_holds_is_keyed_in_the_usual_order():
    assert [entry.key for entry in UnitType(**FULL).entries] == [
        "base",
        "node_rpm",
        "node",
        "vacuum_start",
        "vacuum_full",
        "vacuum_degrees",
        "vacuum_from_rpm",
        "boost_start",
        "boost_full",
        "boost_degrees",
        "dwell",
        "rev_limit",
        "rev_limit_manner",
        "repeated_sparks",
    ]


def test_tables_and_nodes_have_entries_of_their_own():
    unit = UnitType(
        nodes=FixedNodes([500, 1000]),
        degree=DEGREES,
        vacuum=TableEntries("kPa", rpm=[500, 1000], vacuum=[0, 50], degrees=DEGREES),
        boost=BoostNodes("kPa", [0, 50], DEGREES),
    )
    assert [entry.key for entry in unit.entries] == ["node", "vacuum_cell", "boost_node"]


def test_a_manner_is_keyed_in_only_where_there_are_two():
    unit = UnitType(
        FixedNodes([500]), DEGREES, rev_limit_rpm=Steps(3000, 9000, 250), rev_limit_manners=("hard", "hard")
    )
    assert [entry.key for entry in unit.entries] == ["node", "rev_limit"]
    assert unit.rev_limit_manners == ("hard",)


def test_the_workshop_words_an_entry():
    unit = UnitType(FixedNodes([500]), DEGREES, entries=[EntryWord("node", "Rung")])
    assert unit.entries == (EntryWord("node", "Rung"),)


def test_a_choice_is_shown_in_the_units_words_where_it_has_some():
    word = EntryWord("rev_limit_manner", "M", [("soft", "turns")])
    assert (word.shown("soft"), word.shown("hard")) == ("turns", "hard")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"counted_from": "idle"}, "nodes are counted from the base or absolute, not 'idle'"),
        ({"degree": Steps(0.75, 40.75, 1)}, r"the lowest node value, 0\.75, is no multiple of the step of 1 degrees"),
        ({"degree": Steps(0.5, 40.5, 1)}, r"the lowest node value, 0\.5, is no multiple of the step of 1 degrees"),
        ({"rev_limit_manners": ("soft", "gentle")}, "a rev limit is soft or hard, not 'gentle'"),
        (
            {"rev_limit_manners": ()},
            "a unit with a rev limit says whether it is soft or hard, and one without says neither",
        ),
        (
            {"rev_limit_rpm": None},
            "a unit with a rev limit says whether it is soft or hard, and one without says neither",
        ),
        ({"vacuum": RampEntries("kPa", DEGREES, Steps(0, 111, 1), DEGREES)}, "a vacuum entry must be 110 kPa or less"),
        (
            {"vacuum": TableEntries("inHg", rpm=[500], vacuum=[0, 33], degrees=DEGREES)},
            "a vacuum entry must be 110 kPa or less",
        ),
        (
            {"boost": RampEntries("kPa", DEGREES, DEGREES, DEGREES, Steps(0, 900, 100))},
            "^a boost retard has no lowest speed$",
        ),
        ({"entries": (EntryWord("base", "B"), EntryWord("base", "B"))}, "keyed in twice: base"),
        ({"entries": (EntryWord("base", "B"),)}, "the keying order leaves out node_rpm, node, vacuum_start"),
        (
            {"base": None, "entries": tuple(EntryWord(entry.key, "x") for entry in UnitType(**FULL).entries)},
            "the keying order has entries this unit does not hold: base",
        ),
    ],
)
def test_a_unit_that_contradicts_itself_is_refused(change, said):
    with pytest.raises(TimingError, match=f"^{said}"):
        UnitType(**FULL | change)


def test_equal_units_are_equal_and_may_be_keys():
    assert UnitType(**FULL) == UnitType(**FULL)
    assert len({UnitType(**FULL), UnitType(**FULL), UnitType(**FULL | {"dwell_ms": None})}) == 2


def test_the_lowest_node_value_may_be_any_multiple_of_the_step():
    assert UnitType(FixedNodes([500]), Steps(0.5, 40.5, 0.25)).degree.low == 0.5
    assert UnitType(FixedNodes([500]), Steps(-7.5, 40, 2.5)).degree.low == -7.5
