"""The table of cases that the bench's script is held to (tests/js/curve.test.mjs), by the curves of `timing`."""

import json
from pathlib import Path

import pytest

from timing.curve import AdvanceCurve
from timing.unit import Steps

CASES = json.loads((Path(__file__).resolve().parents[1] / "cases" / "curve.json").read_text(encoding="utf-8"))


def curve_of(points) -> AdvanceCurve:
    return AdvanceCurve([rpm for rpm, _ in points], [degrees for _, degrees in points])


@pytest.mark.parametrize("case", CASES["values"], ids=str)
def test_a_curve_is_straight_between_its_points_and_its_ends_are_held(case):
    assert curve_of(case["points"]).advance(case["rpm"]) == pytest.approx(case["degrees"])


def shifted(points, picked, by):
    return curve_of(points).shift(by).degrees[picked]


def scaled(points, picked, by):
    flat = AdvanceCurve([rpm for rpm, _ in points], [0] * len(points))
    return flat.blend(curve_of(points), by).degrees[picked]


def smoothed(points, picked, by):
    if picked in (0, len(points) - 1):
        return points[picked][1]
    without = curve_of(points[:picked] + points[picked + 1 :])
    return curve_of(points).blend(without, 0.5).advance(points[picked][0])


def copied(points, picked, by):
    return curve_of(by).advance(points[picked][0])


BY_TIMING = {"shift": shifted, "scale": scaled, "smooth": smoothed, "copy": copied}


@pytest.mark.parametrize("case", CASES["operations"], ids=str)
def test_picked_points_are_moved_as_a_curve_is(case):
    operation, points, picked = case["operation"], case["points"], case["picked"]
    if operation == "ramp":
        line = curve_of([points[picked[0]], points[picked[-1]]])
        found = [line.advance(points[place][0]) for place in picked]
    else:
        found = [BY_TIMING[operation](points, place, case.get("by")) for place in picked]
    assert found == pytest.approx(case["degrees"])


@pytest.mark.parametrize("case", CASES["steps"], ids=str)
def test_degrees_go_to_the_nearest_step_as_the_unit_counts(case):
    steps = Steps(-60, 60, case["step"])
    assert steps.nearest(case["degrees"] + case["from"]) - case["from"] == pytest.approx(case["on"])
