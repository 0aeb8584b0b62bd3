"""Findings about the rev limit, against the red line and against the curve."""

import dataclasses

import pytest

from tests.timing.review.reviewed import UNIT, changed, curve, says
from tests.timing.review.reviewed import as_set as findings
from tests.timing.review.reviewed import findings as findings_with_unit
from timing.review import ReviewLimits
from timing.unit import FixedNodes


class TestRevLimit:
    @pytest.mark.parametrize(
        ("limit", "kind"), [(6000, None), (6001, "caution"), (6100, "caution"), (6300, "caution"), (6301, "stop")]
    )
    def test_a_rev_limit_above_the_red_line_is_a_caution_and_far_above_it_a_stop(self, limit, kind):
        # issue 10.5: a stop begins 5 % above the red line; common practice, no source, and the owner's setting
        found_ = findings(changed(rev_limit_rpm=limit))
        assert ("rev-limit-over-red-line" in found_) is (kind is not None)
        if kind:
            finding = found_["rev-limit-over-red-line"]
            assert (finding.kind, finding.rpm) == (kind, (6000.0, float(limit)))
            assert says(finding, f"{limit} rpm", "6000 rpm")

    def test_where_the_stop_begins_is_a_setting(self):
        stop = findings(changed(rev_limit_rpm=6001), limits=ReviewLimits(over_red_line_percent=0))
        assert stop["rev-limit-over-red-line"].kind == "stop"
        caution = findings(changed(rev_limit_rpm=6600), limits=ReviewLimits(over_red_line_percent=10))
        assert caution["rev-limit-over-red-line"].kind == "caution"

    @pytest.mark.parametrize(
        ("degrees", "found"), [([0, 20, 20], False), ([0, 14, 24], True), ([0, 22, 24], False), ([0, 24, 20], False)]
    )
    def test_a_rev_limit_above_the_last_point_is_spoken_of_only_where_the_curve_still_rises(self, degrees, found):
        # handbook 4: held flat is what was meant; 10 degrees in 2500 rpm would be 3.2 more by 5800: by hand
        found_ = findings(curve([500, 2500, 5000], degrees))
        assert ("rev-limit-beyond-curve" in found_) is found
        if found:
            finding = found_["rev-limit-beyond-curve"]
            assert (finding.kind, finding.rpm) == ("caution", (5000.0, 5800.0))
            assert says(finding, "5000 rpm", "5800 rpm", "24°")

    def test_a_flat_top_is_no_less_flat_for_a_unit_that_keeps_no_point_for_it(self):
        """As set 22° from 4500 rpm on; the unit's last point is there, and it holds what it has."""
        flat = curve([500, 2500, 4500, 5800], [0, 16, 22, 22])
        unit = dataclasses.replace(UNIT, nodes=FixedNodes([500, 1000, 1500, 2500, 3500, 4500]))
        assert "rev-limit-beyond-curve" not in findings_with_unit(flat, unit=unit)
        rising = curve([500, 2500, 4500], [0, 16, 22])
        assert "rev-limit-beyond-curve" in findings_with_unit(rising, unit=unit)

    def test_a_single_point_is_flat(self):
        assert "rev-limit-beyond-curve" not in findings(curve([1000], [20]))

    @pytest.mark.parametrize(("limit", "found"), [(5300, False), (5200, True), (3000, True)])
    def test_a_rev_limit_below_what_the_curve_uses_is_noted(self, limit, found):
        # from 22 at 4500 to 24 at 6000: more than 1 degree is left above 5250 rpm, by hand
        found_ = findings(changed(rev_limit_rpm=limit))
        assert ("rev-limit-below-curve" in found_) is found
        if found:
            assert found_["rev-limit-below-curve"].kind == "note"
            assert found_["rev-limit-below-curve"].rpm == (float(limit), 6000.0)

    def test_the_unused_part_is_said_in_degrees(self):
        assert says(findings(changed(rev_limit_rpm=4500))["rev-limit-below-curve"], "2°", "6000 rpm", "4500 rpm")

    def test_a_map_without_a_rev_limit_is_noted(self):
        found_ = findings(changed(rev_limit_rpm=None))
        assert found_["no-rev-limit"].kind == "note"
        assert "rev-limit-beyond-curve" not in found_
