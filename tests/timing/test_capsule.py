"""The vacuum capsule on the bench: does it hold, and does it pull as the factory says."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from timing.distributor import (
    CapsuleKind,
    CapsuleLimits,
    DistributorError,
    capsule_leak,
    compare_capsule,
)
from timing.errors import TimingError
from timing.vacuum import VacuumRamp


class TestCapsuleLeak:
    @pytest.mark.parametrize(
        ("left", "kind"),
        [(45.0, CapsuleKind.HOLDS), (44.9, CapsuleKind.LEAKS), (50.0, CapsuleKind.HOLDS), (0.0, CapsuleKind.LEAKS)],
    )
    def test_five_kpa_of_fifty_in_thirty_seconds_is_the_limit(self, left, kind):
        found = capsule_leak(50, left, 30)
        assert found.kind is kind, "handbook 11, item 13"
        assert found.lost_kpa == pytest.approx(50 - left)
        assert found.lost_in_full_test_kpa == pytest.approx(50 - left), "this is the full test"
        assert f"{50 - left:.1f} of 50 kPa lost in 30 s" in found.sentence
        assert "5.0 kPa is allowed" in found.sentence

    @given(st.floats(10, 100), st.floats(0.05, 1), st.floats(1, 300))
    def test_another_test_is_brought_to_the_full_one_by_a_steady_share(self, applied, kept, seconds):
        rate = -math.log(kept) / seconds
        left = solve_ivp(lambda _, v: -rate * v, (0, 30), [50.0], rtol=1e-10, atol=1e-12).y[0, -1]
        found = capsule_leak(applied, applied * kept, seconds)
        assert found.lost_in_full_test_kpa == pytest.approx(50 - left, abs=1e-6), "scipy, dv/dt = -v/T"

    @pytest.mark.parametrize(("applied", "left", "seconds"), [(50, 49, 29), (49, 48, 30), (20, 20, 5)])
    def test_a_gentler_test_proves_no_tightness(self, applied, left, seconds):
        found = capsule_leak(applied, left, seconds)
        assert found.kind is CapsuleKind.CANNOT_TELL
        assert "hold 50 kPa for 30 s" in found.sentence

    def test_a_gentler_test_can_prove_a_leak(self):
        found = capsule_leak(40, 30, 10)
        assert found.kind is CapsuleKind.LEAKS
        assert found.lost_in_full_test_kpa == pytest.approx(50 * (1 - 0.75**3)), "by hand: 3/4 is left in each 10 s"

    def test_a_longer_test_may_lose_more(self):
        assert capsule_leak(60, 50, 90).kind is CapsuleKind.HOLDS

    @pytest.mark.parametrize(
        ("arguments", "message"),
        [
            ((50, 51, 30), "51 kPa left is more than the 50 kPa applied"),
            ((0, 0, 30), "the vacuum applied must be above 0 kPa"),
            ((50, -1, 30), "the vacuum left must be 0 kPa or more, not -1"),
            ((50, 45, 0), "the time must be above 0 s, not 0"),
            ((500, 45, 30), "the vacuum applied must be 110 kPa or less, not 500"),
            ((50, math.nan, 30), "the vacuum left must be a finite number"),
        ],
    )
    def test_a_test_that_cannot_be_is_refused(self, arguments, message):
        with pytest.raises(TimingError, match=message):
            capsule_leak(*arguments)

    def test_limits_that_mean_nothing_are_refused(self):
        with pytest.raises(DistributorError, match="may not lose all"):
            CapsuleLimits(applied_kpa=50, lost_kpa=50)
        with pytest.raises(TimingError, match="the limit kpa must be above 0"):
            CapsuleLimits(kpa=0)


class TestCapsuleAdvance:
    # The ramp of handbook section 4: 0, 4.667, 7, 14, 14 at 10, 20, 25, 40, 60 kPa.
    DATA = VacuumRamp(10, 40, 14)

    def compared(self, vacua, advances):
        return compare_capsule(vacua, advances, self.DATA)

    def test_a_capsule_as_its_data_is_found_so(self):
        found = self.compared([60, 10, 20, 25, 40], [14, 0, 4.666667, 7, 14])
        assert found.off == pytest.approx([0] * 5, abs=1e-6), "handbook 4, vacuum ramp"
        assert found.kinds == {CapsuleKind.AS_DATA}
        assert (found.begins_kpa, found.full_deg) == (pytest.approx(10, abs=1e-5), 14)
        assert "begins near 10 kPa and gives 14.0°" in found.findings[0].sentence

    @pytest.mark.parametrize(
        ("shift", "kind"),
        [(3.9, "as_data"), (4.1, "begins_late"), (-3.9, "as_data"), (-4.1, "begins_early"), (9, "begins_late")],
    )
    def test_where_it_begins_is_read_off_the_rise(self, shift, kind):
        vacua = np.arange(0, 70, 5.0)
        advances = VacuumRamp(10 + shift, 40 + shift, 14).advance(vacuum=vacua)
        found = self.compared(vacua, advances)
        assert found.begins_kpa == pytest.approx(10 + shift)
        assert found.kinds == {kind}
        assert kind == "as_data" or f"{abs(shift):.0f} kPa {kind[7:]} against the data" in found.findings[0].sentence

    @pytest.mark.parametrize(
        ("full", "kind"),
        [
            (12.0, "as_data"),
            (11.9, "short_of_full"),
            (16.0, "as_data"),
            (16.1, "too_much"),
        ],
    )
    def test_the_full_advance_may_be_two_degrees_off(self, full, kind):
        found = self.compared([0, 10, 20, 40], [0, 0, full / 3, full])
        assert found.kinds == {kind}, "common practice, no source"
        assert found.full_deg == full
        assert kind == "as_data" or f"The full advance is {full}°, 2.1° " in found.findings[0].sentence

    def test_a_torn_diaphragm_moves_nothing(self):
        found = self.compared([0, 20, 50], [0, 0, 0.2])
        assert found.kinds == {CapsuleKind.DOES_NOT_MOVE}
        assert "0.2° at 50 kPa where 14.0° is due" in found.findings[0].sentence
        assert found.begins_kpa is None

    def test_without_a_reading_at_full_vacuum_the_full_advance_is_not_known(self):
        found = self.compared([0, 10, 20, 30], [0, 0, 4.67, 9.33])
        assert found.full_deg is None
        assert found.kinds == {CapsuleKind.CANNOT_TELL}
        assert "no reading at 40 kPa or more" in found.findings[0].sentence

    def test_without_a_reading_before_it_moves_the_begin_is_not_known(self):
        found = self.compared([30, 50], [9.33, 14])
        assert found.begins_kpa is None
        assert found.kinds == {CapsuleKind.CANNOT_TELL}
        assert "Cannot tell where it begins" in found.findings[0].sentence

    def test_too_little_vacuum_tells_nothing(self):
        found = self.compared([0, 14], [0, 0])
        assert found.kinds == {CapsuleKind.CANNOT_TELL}
        assert "no reading above 10 kPa" in found.findings[0].sentence

    def test_a_next_reading_on_the_stop_does_not_lead_the_begin_astray(self):
        assert self.compared([10, 30, 50], [0, 12, 14]).begins_kpa == 10, "0 there, 12 at 30: no earlier than 10"

    def test_the_begin_is_not_before_a_reading_that_had_not_moved(self):
        assert self.compared([0, 12, 20, 30, 50], [0, 0.2, 8, 10, 14]).begins_kpa == 12

    def test_a_begin_between_two_readings_is_on_the_line_through_them(self):
        found = self.compared([0, 20], [-2, 2])
        assert found.begins_kpa == pytest.approx(10), "half way, by hand"

    @pytest.mark.parametrize(
        ("vacua", "advances", "message"),
        [
            ([10, 20], [1], "2 vacua but 1 advances"),
            ([], [], "must be a list of vacua"),
            (10, 1, "must be a list of vacua"),
            ([-10], [1], "vacuum must be 0 kPa or more, not -10"),
            ([200], [1], "vacuum must be [0-9]+ kPa or less, not 200"),
            ([10], [math.nan], "an advance of the capsule must be a finite number"),
            ([10], [100], "an advance of the capsule must be 90 degrees or less, not 100"),
        ],
    )
    def test_what_is_no_reading_is_refused(self, vacua, advances, message):
        with pytest.raises(TimingError, match=message):
            self.compared(vacua, advances)

    @given(st.lists(st.tuples(st.integers(0, 90), st.integers(-5, 30)), min_size=1, max_size=8))
    def test_every_set_of_readings_gets_a_finding(self, readings):
        found = self.compared(*zip(*readings, strict=True))
        assert found.findings
        assert all("nan" not in finding.sentence for finding in found.findings)
