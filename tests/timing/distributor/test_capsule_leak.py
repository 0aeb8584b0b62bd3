"""The vacuum capsule on the bench: does it hold."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from timing.distributor import CapsuleKind, CapsuleLimits, DistributorError, capsule_leak
from timing.errors import TimingError


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

    def test_a_gentler_test_can_prove_a_leak(self):
        found = capsule_leak(40, 30, 10)
        assert found.kind is CapsuleKind.LEAKS
        assert found.lost_in_full_test_kpa == pytest.approx(50 * (1 - 0.75**3)), "by hand: 3/4 is left in each 10 s"

    @pytest.mark.parametrize("seconds", [29.9, 30.0, 31.0])
    def test_exactly_the_allowed_loss_is_allowed(self, seconds):
        # Nine tenths kept in 30 s, in a test of another length, with the rounding of the power.
        left = 50 * 0.9 ** (seconds / 30)
        found = capsule_leak(50, left, seconds)
        assert found.lost_in_full_test_kpa == pytest.approx(5, abs=1e-9), "by hand"
        assert found.kind is not CapsuleKind.LEAKS

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
        with pytest.raises(TimingError, match=f"^{message}"):
            capsule_leak(*arguments)

    def test_limits_that_mean_nothing_are_refused(self):
        with pytest.raises(DistributorError, match=r"^a capsule may not lose all"):
            CapsuleLimits(applied_kpa=50, lost_kpa=50)
        with pytest.raises(TimingError, match=r"^the limit kpa must be above 0"):
            CapsuleLimits(kpa=0)
