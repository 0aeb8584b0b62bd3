"""Ten codes on paper. OWASP ASVS 5, 6.5.1 to 6.5.3: good once, kept hashed, from a cryptographic source."""

from django.utils import timezone

from garage.second_factor import recovery_codes
from garage.second_factor.models import RecoveryCode


def test_ten_codes_are_made_each_another(mechanic):
    codes = recovery_codes.make(mechanic)
    assert len(set(codes)) == 10
    assert len(recovery_codes.left(mechanic)) == 10


def test_they_are_kept_hashed(mechanic):
    codes = recovery_codes.make(mechanic)
    kept = " ".join(RecoveryCode.objects.values_list("hashed", flat=True))
    assert [code for code in codes if code in kept or code.replace("-", "") in kept] == []


def test_each_is_good_once_however_it_is_typed(mechanic):
    first, second, *_ = recovery_codes.make(mechanic)
    now = timezone.now()
    assert recovery_codes.takes(mechanic, f" {first.lower().replace('-', ' ')} ", now)
    assert not recovery_codes.takes(mechanic, first, now)
    assert recovery_codes.takes(mechanic, second, now)
    assert len(recovery_codes.left(mechanic)) == 8


def test_another_person_s_code_is_none(mechanic, owner):
    code = recovery_codes.make(owner)[0]
    recovery_codes.make(mechanic)
    assert not recovery_codes.takes(mechanic, code, timezone.now())


def test_new_codes_put_the_old_ones_out_of_use(mechanic):
    old = recovery_codes.make(mechanic)[0]
    recovery_codes.make(mechanic)
    assert not recovery_codes.takes(mechanic, old, timezone.now())
