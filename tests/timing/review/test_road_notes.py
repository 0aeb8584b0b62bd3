"""Findings about pinking noted on the road, and the retard that was suggested for it."""

import dataclasses

import pytest

from tests.timing.review.reviewed import UNIT, as_set, changed, findings, says
from timing.curve import AdvanceCurve
from timing.review import PinkingNote
from timing.unit import Steps

# The sound map gives 8 + 18 degrees at 3000 rpm and full load, by hand.
NOTED = PinkingNote(rpm=3000, vacuum=3, advance_deg=26, retard_deg=1.5)


def less(by: float):
    """The sound map with `by` degrees less at 2500 and 3500 rpm."""
    return changed(curve=AdvanceCurve([500, 1000, 1500, 2500, 3500, 4500, 6000], [0, 0, 6, 16 - by, 20 - by, 22, 24]))


@pytest.mark.parametrize(("by", "found"), [(0.0, True), (0.1, True), (0.2, False), (-1.0, True)])
def test_pinking_that_this_version_does_not_change_is_a_caution(by, found):
    found_ = as_set(less(by), pinking=[NOTED])
    assert ("pinking-unchanged" in found_) is found
    if found:
        finding = found_["pinking-unchanged"]
        assert (finding.kind, finding.rpm, finding.vacuum) == ("caution", (3000.0, 3000.0), (3.0, 3.0))
        assert says(finding, "3000 rpm", "3 kPa of vacuum", "26°", f"{26 - by:g}°")


def test_what_a_unit_rounds_away_is_unchanged_in_the_car():
    # 0.4 less is held as nothing on a step of 1 degree
    assert says(findings(less(0.4), pinking=[NOTED])["pinking-unchanged"], "26°")


@pytest.mark.parametrize(
    ("by", "step", "said"),
    [
        (2.0, 2, ("1.5°", "steps by 2°", "rounded up to 2°")),
        (1.0, 1, ("1.5°", "steps by 1°", "rounded down to 1°")),
        (1.5, 0.5, None),
        (4.0, 1, ("1.5°", "takes out 4°", "more")),
        (1.0, 0.5, ("1.5°", "takes out 1°", "less")),  # a step of 0.5 holds 1.5: nothing was rounded
    ],
)
def test_a_suggested_retard_says_which_way_the_units_step_rounded_it(by, step, said):
    # issue 10.5: 1.5 degrees were suggested, and the unit steps by 2
    unit = dataclasses.replace(UNIT, degree=Steps(0, 60, step))
    found_ = findings(less(by), unit=unit, pinking=[NOTED])
    assert ("retard-rounded" in found_) is (said is not None)
    assert "pinking-unchanged" not in found_
    if said:
        assert found_["retard-rounded"].kind == "note"
        assert says(found_["retard-rounded"], "3000 rpm", *said)


def test_without_a_unit_the_retard_is_only_compared():
    assert says(as_set(less(0.5), pinking=[NOTED])["retard-rounded"], "0.5°", "less")


def test_notes_without_a_suggestion_and_notes_under_boost_are_heeded():
    boosted = PinkingNote(rpm=3000, vacuum=-20, advance_deg=26)
    assert says(as_set(pinking=[boosted])["pinking-unchanged"], "20 kPa of boost")
    assert "retard-rounded" not in as_set(less(1.0), pinking=[boosted])


def test_a_wide_open_throttle_is_vacuum_and_not_boost():
    at_atmosphere = PinkingNote(rpm=3000, vacuum=0, advance_deg=26)
    assert says(as_set(pinking=[at_atmosphere])["pinking-unchanged"], "0 kPa of vacuum")


def test_a_road_without_pinking_says_nothing():
    assert findings(pinking=()) == {}
